/* SPDX-License-Identifier: GPL-3.0-or-later */
/* unit_json.c - the JSON documents of `ebb unit`; see docs/json.md. */
#include "json.h"
#include "unit_words.h"

#include <complex.h>
#include <ebb/version.h>

static void number(ebb_report_json_maker *m, json_t *object, const char *key, double value)
{
    ebb_report_json_set(m, object, key, ebb_report_json_number(value));
}

/* What a unit does not have is null, not an empty list: that would be a list of nothing. */
static void numbers(ebb_report_json_maker *m, json_t *object, const char *key, size_t n,
                    const double *value)
{
    ebb_report_json_set(m, object, key, value ? ebb_report_json_numbers(m, n, value) : json_null());
}

/* Two arrays for one of complex numbers: key_re, key_im. */
static void complexes(ebb_report_json_maker *m, json_t *object, const char *key, size_t n,
                      const double _Complex *value)
{
    for (int part = 0; part < 2; part++) {
        json_t *array = value ? json_array() : json_null();
        for (size_t i = 0; value && i < n; i++) {
            const double x = part ? cimag(value[i]) : creal(value[i]);
            ebb_report_json_push(m, array, ebb_report_json_number(x));
        }
        const char *name = ebb_arena_format(m->arena, "%s_%s", key, part ? "im" : "re");
        if (name) {
            ebb_report_json_set(m, object, name, array);
        } else {
            json_decref(array);
            m->failed = true;
        }
    }
}

/* ---- studies --------------------------------------------------------------------------------- */

/* The same members for the table and the fine curve, so that one reader reads both. */
static void set_spectrum(ebb_report_json_maker *m, json_t *object, const ebb_spectrum *s)
{
    numbers(m, object, "hz", s->n, s->hz);
    complexes(m, object, "z", s->n, s->z);
    numbers(m, object, "alpha_normal", s->n, s->normal);
    numbers(m, object, "alpha_diffuse", s->n, s->diffuse);
    numbers(m, object, "alpha_diffuse_bulk", s->n, s->bulk);
    numbers(m, object, "alpha_unit", s->n, s->patch);
    numbers(m, object, "area_diffuse_m2", s->n, s->area);
    numbers(m, object, "conductance", s->n, s->conductance);
    numbers(m, object, "transmitted", s->n, s->transmitted);
}

/* Numbers alone; how they are put in words is the text's matter. */
static json_t *band(ebb_report_json_maker *m, const ebb_study *study)
{
    const ebb_band *b = &study->band;
    json_t *object = json_object();
    number(m, object, "peak_hz", b->peak_hz);
    number(m, object, "peak", b->peak);
    ebb_report_json_set(m, object, "is_peak", json_boolean(b->inside));
    numbers(m, object, "half_hz", 2, b->half);
    numbers(m, object, "useful_hz", 2, b->useful);
    number(m, object, "mean_30_60", b->mean);
    number(m, object, "match", b->match);
    return object;
}

static json_t *weights(ebb_report_json_maker *m, const ebb_study *study)
{
    const ebb_weights *w = &study->weights;
    json_t *object = json_object();
    number(m, object, "walls_kg", w->walls);
    number(m, object, "fronts_kg", w->fronts);
    number(m, object, "frame_kg", w->frame);
    number(m, object, "porous_kg", w->porous);
    number(m, object, "grains_kg", w->grains);
    number(m, object, "extra_kg", w->extra);
    return object;
}

/* `unknown` tells a program why a value is null, where the text has a sentence. */
static json_t *budget(ebb_report_json_maker *m, const ebb_study *study)
{
    const ebb_budget *b = &study->budget;
    json_t *object = json_object();
    number(m, object, "used", b->used);
    number(m, object, "available", b->available);
    number(m, object, "share_30_60", b->deep);
    number(m, object, "flat_30_60", b->flat);
    number(m, object, "compliance_m_pa", b->compliance);
    number(m, object, "mounts", b->mounts);
    ebb_report_json_set(m, object, "unknown", b->unknown ? json_string(b->unknown) : json_null());
    return object;
}

/* Counted from 1, as in the text and in the drawing. */
static json_t *fronts(ebb_report_json_maker *m, const ebb_study *study)
{
    json_t *array = json_array();
    for (size_t i = 0; i < study->n_fronts; i++) {
        const ebb_front_view *f = &study->front[i];
        json_t *object = json_object();
        ebb_report_json_set(m, object, "cell", ebb_report_json_count(f->cell + 1));
        ebb_report_json_set(m, object, "front", ebb_report_json_count(f->front + 1));
        number(m, object, "mass_kg_m2", f->mass);
        numbers(m, object, "side_m", 2, f->side);
        number(m, object, "mount_hz", f->mount_hz);
        number(m, object, "panel_hz", f->panel_hz);
        number(m, object, "radiation_kg_m2", f->radiation);
        complexes(m, object, "velocity_m_s_pa", study->table.n, f->velocity);
        complexes(m, object, "centre_m_s_pa", study->table.n, f->centre);
        complexes(m, object, "pressure", study->table.n, f->pressure);
        ebb_report_json_push(m, array, object);
    }
    return array;
}

static json_t *changes(ebb_report_json_maker *m, const ebb_study *study)
{
    json_t *array = json_array();
    for (size_t i = 0; i < study->n_changes; i++) {
        const ebb_change *c = &study->change[i];
        json_t *object = json_object();
        ebb_report_json_set(m, object, "what", ebb_report_json_text(m, c->what));
        numbers(m, object, "alpha_30_40_50", EBB_CHANGE_HZ, c->alpha);
        number(m, object, "mean_30_60", c->mean);
        number(m, object, "peak_hz", c->peak_hz);
        ebb_report_json_push(m, array, object);
    }
    return array;
}

/* A key to sort by and a sentence to show. */
static json_t *remarks(ebb_report_json_maker *m, const ebb_study *study)
{
    json_t *array = json_array();
    for (size_t i = 0; i < study->n_remarks; i++) {
        json_t *object = json_object();
        ebb_report_json_set(m, object, "kind",
                            json_string(ebb_report_remark_key(study->remark[i].kind)));
        ebb_report_json_set(m, object, "text", ebb_report_json_text(m, study->remark[i].text));
        ebb_report_json_push(m, array, object);
    }
    return array;
}

/* The members of the contract come first, then what explains them. */
static json_t *unit(ebb_report_json_maker *m, const ebb_study *study)
{
    json_t *object = json_object(), *fine = json_object();
    const ebb_unit *u = study->unit;
    ebb_report_json_set(m, object, "name", ebb_report_json_text(m, u->name));
    numbers(m, object, "face_m", 2, u->face);
    number(m, object, "depth_m", u->depth);
    number(m, object, "mass_kg", u->mass);
    ebb_report_json_set(m, object, "weighed", json_boolean(u->weighed));
    set_spectrum(m, object, &study->table);
    ebb_report_json_set(m, object, "band", band(m, study));
    ebb_report_json_set(m, object, "masses", weights(m, study));
    ebb_report_json_set(m, object, "depth_limit", budget(m, study));
    ebb_report_json_set(m, object, "fronts", fronts(m, study));
    ebb_report_json_set(m, object, "tolerances", changes(m, study));
    ebb_report_json_set(m, object, "remarks", remarks(m, study));
    ebb_report_json_set(m, object, "cautions",
                        ebb_report_json_texts(m, study->n_cautions, study->caution));
    set_spectrum(m, fine, &study->fine);
    ebb_report_json_set(m, object, "fine", fine);
    return object;
}

/* ---- documents ------------------------------------------------------------------------------- */

/* Head and air; `claims` tells the two documents of the command apart. */
static json_t *document(ebb_report_json_maker *m, const ebb_library *library, bool claims)
{
    json_t *whole = json_object(), *ebb = json_object(), *inputs = json_object();
    json_t *air = json_object();
    ebb_report_json_set(m, inputs, "file", ebb_report_json_text(m, library->file));
    ebb_report_json_set(m, inputs, "claims", json_boolean(claims));
    ebb_report_json_set(m, ebb, "version", json_string(ebb_version()));
    ebb_report_json_set(m, ebb, "schema", json_integer(EBB_JSON_SCHEMA));
    ebb_report_json_set(m, ebb, "command", json_string("unit"));
    ebb_report_json_set(m, ebb, "inputs", inputs);
    number(m, air, "temperature_c", library->air.temperature);
    number(m, air, "speed_m_s", library->air.speed);
    number(m, air, "density_kg_m3", library->air.density);
    ebb_report_json_set(m, whole, "ebb", ebb);
    ebb_report_json_set(m, whole, "air", air);
    return whole;
}

ebb_status ebb_report_studies_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_studies *studies,
                                   const char **text)
{
    ebb_report_json_maker m = {.arena = arena};
    json_t *whole = document(&m, studies->library, false), *units = json_array();
    for (size_t i = 0; i < studies->n; i++) {
        ebb_report_json_push(&m, units, unit(&m, studies->study[i]));
    }
    ebb_report_json_set(&m, whole, "units", units);
    ebb_report_json_set(&m, whole, "warnings", ebb_report_json_warnings(&m, ctx));
    return ebb_report_json_print(ctx, &m, whole, text);
}

/* As many masses as there are fronts; a box without one still has its cloth. */
static json_t *box(ebb_report_json_maker *m, const ebb_box *b)
{
    json_t *object = json_object();
    ebb_report_json_set(m, object, "fronts", ebb_report_json_count(b->n_fronts));
    ebb_report_json_set(m, object, "behind", json_boolean(b->behind));
    number(m, object, "share", b->share);
    number(m, object, "gap", b->gap);
    numbers(m, object, "mass_kg_m2", b->n_fronts, b->mass);
    numbers(m, object, "resistance_pa_s_m", b->n_fronts > 0 ? b->n_fronts : 1, b->resistance);
    number(m, object, "resistivity_pa_s_m2", b->resistivity);
    number(m, object, "frame_kg_m3", b->frame);
    number(m, object, "grains", b->grains);
    return object;
}

static json_t *figures(ebb_report_json_maker *m, const ebb_claim_check *check)
{
    json_t *array = json_array();
    for (size_t i = 0; i < check->n; i++) {
        const ebb_claim_figure *f = &check->figure[i];
        json_t *object = json_object();
        number(m, object, "hz", f->hz);
        number(m, object, "value", f->value);
        ebb_report_json_set(m, object, "verdict", json_string(ebb_report_claim_key(f->word)));
        number(m, object, "reached", f->reached);
        number(m, object, "alone", f->alone);
        number(m, object, "alpha_normal", f->normal);
        number(m, object, "limit", f->limit);
        ebb_report_json_set(m, object, "why", ebb_report_json_text(m, f->why));
        ebb_report_json_push(m, array, object);
    }
    return array;
}

/* What the label says is echoed, so that the document can be read without the file. */
static json_t *claim(ebb_report_json_maker *m, const ebb_claim_check *check)
{
    json_t *object = json_object();
    const ebb_claim *c = check->claim;
    ebb_report_json_set(m, object, "name", ebb_report_json_text(m, c->name));
    ebb_report_json_set(m, object, "kind", json_string(ebb_report_figure_key(c->kind)));
    numbers(m, object, "face_m", 2, c->face);
    number(m, object, "depth_m", c->depth);
    number(m, object, "mass_kg", c->mass);
    number(m, object, "front_mass_kg_m2", c->front_mass);
    number(m, object, "stiffness_ratio", check->ratio);
    number(m, object, "depth_needed_m", check->needed);
    number(m, object, "depth_needed_air_m", check->needed_air);
    number(m, object, "flat", check->flat);
    ebb_report_json_set(m, object, "figures", figures(m, check));
    ebb_report_json_set(m, object, "best_box", check->searched ? box(m, &check->box) : json_null());
    ebb_report_json_set(m, object, "summary", ebb_report_json_text(m, check->summary));
    return object;
}

ebb_status ebb_report_claims_json(ebb_ctx *ctx, ebb_arena *arena, const ebb_claim_checks *checks,
                                  const char **text)
{
    ebb_report_json_maker m = {.arena = arena};
    json_t *whole = document(&m, checks->library, true), *claims = json_array();
    for (size_t i = 0; i < checks->n; i++) {
        ebb_report_json_push(&m, claims, claim(&m, checks->check[i]));
    }
    ebb_report_json_set(&m, whole, "claims", claims);
    ebb_report_json_set(&m, whole, "warnings", ebb_report_json_warnings(&m, ctx));
    return ebb_report_json_print(ctx, &m, whole, text);
}
