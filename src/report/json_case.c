/* SPDX-License-Identifier: GPL-3.0-or-later */
/* json_case.c - one configuration as JSON: layout, readings, faults, modes, responses. */
#include "json.h"

#include "words.h"

#include <math.h>

/* Mass, depth and size are said again at each unit: a program that draws or adds up needs no second
 * look-up. */
static json_t *placed_unit(ebb_report_json_maker *m, const ebb_answer *answer,
                           const ebb_placed *placed, bool existing)
{
    const ebb_job *job = answer->job;
    const ebb_unit *unit = placed->unit < job->n_units ? &job->absorbers[placed->unit] : NULL;
    const bool on = placed->surface < answer->room->n_surfaces;
    json_t *object = json_object();
    ebb_report_json_set(m, object, "unit",
                        unit ? ebb_report_json_text(m, unit->name) : json_null());
    ebb_report_json_set(m, object, "on",
                        on ? ebb_report_json_text(m, answer->room->surfaces[placed->surface].name)
                           : json_null());
    ebb_report_json_set(m, object, "at_m", ebb_report_json_numbers(m, 2, placed->at));
    double size[2] = {NAN, NAN};
    if (unit) {
        ebb_placed_size(unit, placed, size);
    }
    ebb_report_json_set(m, object, "size_m", ebb_report_json_numbers(m, 2, size));
    ebb_report_json_set(m, object, "depth_m", ebb_report_json_number(unit ? unit->depth : NAN));
    ebb_report_json_set(m, object, "turned", json_boolean(placed->turned));
    ebb_report_json_set(m, object, "existing", json_boolean(existing));
    ebb_report_json_set(m, object, "mass_kg", ebb_report_json_number(unit ? unit->mass : NAN));
    ebb_report_json_set(m, object, "cost", ebb_report_json_number(unit ? unit->cost : NAN));
    return object;
}

/* Where they stand now, not where the job wished them. */
static json_t *stations(ebb_report_json_maker *m, size_t n, const ebb_station *station,
                        const ebb_vec3 *now)
{
    json_t *array = json_array();
    for (size_t i = 0; i < n; i++) {
        json_t *one = json_object();
        ebb_report_json_set(m, one, "name", ebb_report_json_text(m, station[i].name));
        ebb_report_json_set(m, one, "at_m", ebb_report_json_point(m, now ? now[i] : station[i].at));
        ebb_report_json_push(m, array, one);
    }
    return array;
}

/* Largest depth of the units of a layout, 0 without any. */
static double deepest(const ebb_answer *answer, const ebb_layout *layout)
{
    double most = 0.0;
    for (size_t p = 0; p < layout->n_placed; p++) {
        if (layout->placed[p].unit < answer->job->n_units) {
            most = fmax(most, answer->job->absorbers[layout->placed[p].unit].depth);
        }
    }
    return most;
}

/* Coordinates are the job's own, those of the job file. */
json_t *ebb_report_json_layout(ebb_report_json_maker *m, const ebb_answer *answer,
                               const ebb_layout *layout)
{
    const ebb_room *room = answer->room;
    json_t *object = json_object(), *units = json_array();
    for (size_t p = 0; p < layout->n_placed; p++) {
        ebb_report_json_push(m, units,
                             placed_unit(m, answer, &layout->placed[p], p < room->n_placed));
    }
    ebb_report_json_set(m, object, "units", units);
    ebb_report_json_set(m, object, "mass_kg", ebb_report_json_number(layout->mass));
    ebb_report_json_set(m, object, "cost", ebb_report_json_number(layout->cost));
    ebb_report_json_set(m, object, "cover", ebb_report_json_number(layout->cover));
    ebb_report_json_set(m, object, "depth_m", ebb_report_json_number(deepest(answer, layout)));
    ebb_report_json_set(m, object, "size_left_m", ebb_report_json_numbers(m, 3, layout->size));
    ebb_report_json_set(m, object, "seats", stations(m, room->n_seats, room->seats, layout->seats));
    ebb_report_json_set(m, object, "speakers",
                        stations(m, room->n_speakers, room->speakers, layout->speakers));
    return object;
}

/* With `after`, each fault also says what is left of it. */
json_t *ebb_report_json_faults(ebb_report_json_maker *m, const ebb_faults *faults,
                               const ebb_faults *after)
{
    json_t *array = json_array();
    for (size_t i = 0; i < faults->n; i++) {
        const ebb_fault *f = &faults->fault[i];
        json_t *one = json_object();
        ebb_report_json_set(m, one, "kind", json_string(ebb_fault_name(f->kind)));
        ebb_report_json_set(m, one, "hz", ebb_report_json_number(f->hz));
        ebb_report_json_set(m, one, "low_hz", ebb_report_json_number(f->low));
        ebb_report_json_set(m, one, "high_hz", ebb_report_json_number(f->high));
        ebb_report_json_set(m, one, "seat", ebb_report_json_text(m, f->place));
        ebb_report_json_set(m, one, "value", ebb_report_json_number(f->value));
        ebb_report_json_set(m, one, "limit", ebb_report_json_number(f->limit));
        ebb_report_json_set(m, one, "size", ebb_report_json_number(f->size));
        ebb_report_json_set(m, one, "cause", ebb_report_json_text(m, f->cause));
        ebb_report_json_set(m, one, "equalisable", json_boolean(f->equalisable));
        ebb_report_json_set(m, one, "also_rings", json_boolean(f->also_rings));
        if (after) {
            const ebb_fault *rest = ebb_report_rest(f, after);
            ebb_report_json_set(m, one, "after", ebb_report_json_number(rest ? rest->size : NAN));
        }
        ebb_report_json_push(m, array, one);
    }
    return array;
}

/* Residues and shapes of the modes stay out: they are large, and mean nothing without the basis. */
static json_t *modes(ebb_report_json_maker *m, const ebb_modes *modes)
{
    if (!modes) {
        return json_null();
    }
    json_t *array = json_array();
    for (size_t i = 0; i < modes->n; i++) {
        const ebb_mode *mode = &modes->mode[i];
        json_t *one = json_object(), *label = json_array();
        for (int axis = 0; axis < 3; axis++) {
            ebb_report_json_push(m, label, json_integer(mode->label[axis]));
        }
        ebb_report_json_set(m, one, "hz", ebb_report_json_number(mode->hz));
        ebb_report_json_set(m, one, "t60_s", ebb_report_json_number(mode->t60));
        ebb_report_json_set(m, one, "q", ebb_report_json_number(mode->q));
        ebb_report_json_set(m, one, "share", ebb_report_json_number(mode->share));
        ebb_report_json_set(m, one, "label", label);
        ebb_report_json_push(m, array, one);
    }
    return array;
}

/* Rows per path: "source", "receiver" and one array of numbers under `key`. */
static json_t *paths(ebb_report_json_maker *m, const ebb_case *one, const char *key,
                     const double *value, size_t n)
{
    json_t *array = json_array();
    for (size_t p = 0; value && p < one->reading.n_paths; p++) {
        const size_t receivers = one->n_receivers ? one->n_receivers : 1;
        const size_t s = p / receivers, r = p % receivers;
        json_t *row = json_object();
        ebb_report_json_set(m, row, "source",
                            one->source_names && s < one->n_sources
                                ? ebb_report_json_text(m, one->source_names[s])
                                : json_null());
        ebb_report_json_set(m, row, "receiver",
                            one->receiver_names && r < one->n_receivers
                                ? ebb_report_json_text(m, one->receiver_names[r])
                                : json_null());
        ebb_report_json_set(m, row, key, ebb_report_json_numbers(m, n, value + p * n));
        ebb_report_json_push(m, array, row);
    }
    return array;
}

/* Levels at the cells that were judged, not the complex response: that is what `ebb field` gives.
 */
static json_t *response(ebb_report_json_maker *m, const ebb_case *one)
{
    json_t *object = json_object();
    const ebb_grid *grid = &one->grid;
    ebb_report_json_set(m, object, "hz",
                        ebb_report_json_numbers(m, grid->n_cells, grid->hz + grid->first));
    ebb_report_json_set(m, object, "paths",
                        paths(m, one, "level_db", one->reading.level, grid->n_cells));
    return object;
}

/* A band in which no mode is heard has no decay: null, which is not 0 s. */
static json_t *decay(ebb_report_json_maker *m, const ebb_case *one)
{
    json_t *object = json_object();
    const ebb_grid *grid = &one->grid;
    const size_t limits = one->reading.decay_limit ? grid->n_bands : 0;
    ebb_report_json_set(m, object, "hz", ebb_report_json_numbers(m, grid->n_bands, grid->band_hz));
    ebb_report_json_set(m, object, "limit_s",
                        ebb_report_json_numbers(m, limits, one->reading.decay_limit));
    ebb_report_json_set(m, object, "paths",
                        paths(m, one, "t60_s", one->reading.decay, grid->n_bands));
    return object;
}

static json_t *mid(ebb_report_json_maker *m, const ebb_mid *mid)
{
    if (!(mid->t60[2] > 0.0)) {
        return json_null();
    }
    json_t *object = json_object();
    ebb_report_json_set(m, object, "hz", ebb_report_json_numbers(m, EBB_OCTAVES, mid->hz));
    ebb_report_json_set(m, object, "t60_s", ebb_report_json_numbers(m, EBB_OCTAVES, mid->t60));
    ebb_report_json_set(m, object, "area_m2", ebb_report_json_numbers(m, EBB_OCTAVES, mid->area));
    ebb_report_json_set(m, object, "speech_index", ebb_report_json_number(mid->speech_index));
    ebb_report_json_set(m, object, "schroeder_hz", ebb_report_json_number(mid->schroeder));
    return object;
}

/* A reading without levels means that the case was not calculated; its zeros would look like
 * results. */
json_t *ebb_report_json_case(ebb_report_json_maker *m, const ebb_answer *answer,
                             const ebb_case *one)
{
    const ebb_reading *r = &one->reading;
    if (!r->level) {
        return json_null();
    }
    json_t *object = json_object();
    ebb_report_json_set(m, object, "right", json_boolean(r->right));
    ebb_report_json_set(m, object, "inside", ebb_report_json_number(r->inside));
    ebb_report_json_set(m, object, "worst_level_db", ebb_report_json_number(r->worst_level));
    ebb_report_json_set(m, object, "worst_decay", ebb_report_json_number(r->worst_decay));
    ebb_report_json_set(m, object, "wrong", ebb_report_json_number(r->wrong));
    ebb_report_json_set(m, object, "wrong_level", ebb_report_json_number(r->wrong_level));
    ebb_report_json_set(m, object, "wrong_decay", ebb_report_json_number(r->wrong_decay));
    ebb_report_json_set(m, object, "lowest_right_hz", ebb_report_json_number(r->lowest_right));
    ebb_report_json_set(m, object, "margin", ebb_report_json_number(r->margin));
    ebb_report_json_set(m, object, "layout", ebb_report_json_layout(m, answer, &one->layout));
    ebb_report_json_set(m, object, "faults", ebb_report_json_faults(m, &one->faults, NULL));
    ebb_report_json_set(m, object, "modes", modes(m, one->modes));
    ebb_report_json_set(m, object, "response", response(m, one));
    ebb_report_json_set(m, object, "decay", decay(m, one));
    ebb_report_json_set(m, object, "mid", mid(m, &one->mid));
    return object;
}
