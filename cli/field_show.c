/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The result of `ebb field` as text and as JSON.
 *
 * The text is for reading: levels in dB with a tenth, frequencies with a hundredth. The JSON is for
 * further calculation: complex responses with every digit. Both are made from the same numbers; the
 * tests compare them.
 */
#include "field.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

/* Rigid-wall modes within the band: the first index in *first, the count returned. The basis holds
 * more, up to well beyond the band, which belong to the method and not to the answer. */
static size_t rigid_in_band(const field_task *task, const field_result *result, size_t *first,
                            const double **hz, const int **labels)
{
    size_t n = 0;
    *hz = ebb_reduced_rigid(result->reduced, &n, labels);
    size_t from = 0, to;
    while (from < n && (*hz)[from] < task->from)
        from++;
    for (to = from; to < n && (*hz)[to] <= task->to;)
        to++;
    *first = from;
    return to - from;
}

/* ---- text ------------------------------------------------------------------------------------ */

/* The room as it was understood: the first thing to compare when a result looks odd. */
static void put_room(FILE *to, const field_task *task)
{
    const ebb_room *room = task->room;
    char x[64], y[64], z[64];
    fprintf(to, "Room %s: %s x %s x %s", room->name,
            ebb_quantity_print(EBB_Q_LENGTH, room->size[0], task->units, x, sizeof x),
            ebb_quantity_print(EBB_Q_LENGTH, room->size[1], task->units, y, sizeof y),
            ebb_quantity_print(EBB_Q_LENGTH, room->size[2], task->units, z, sizeof z));
    if (room->shaped) {
        const bool feet = task->units == EBB_UNITS_IMPERIAL;
        const double volume = ebb_room_volume(room);
        fprintf(to, " around it, %.4g %s, surfaces: %zu",
                feet ? volume / (0.3048 * 0.3048 * 0.3048) : volume, feet ? "ft3" : "m3",
                room->n_surfaces);
    }
    fprintf(to, "; openings: %zu, units: %zu, speed of sound %s\n", room->n_openings,
            room->n_placed,
            ebb_quantity_print(EBB_Q_SPEED, task->job->air.speed, task->units, x, sizeof x));
}

/* What the answer hangs on, in a line each: the elements of a room that is no box, and how far off
 * the calculation itself may be. It says nothing of how well the job describes the room. */
static void put_trust(FILE *to, const field_task *task, const field_result *result)
{
    const ebb_trust trust = ebb_reduced_trust(result->reduced);
    ebb_prepared_note note;
    if (ebb_prepared_about(result->prepared, task->index, &note))
        fprintf(to, "Elements: %zu tetrahedra of order %zu, %zu unknowns, %zu modes\n", note.tets,
                note.order, note.freedoms, note.modes);
    fprintf(to, "Estimated error of the calculation: levels %.2g dB (more in deep dips), ",
            20 * log10(1 + trust.truncation));
    if (trust.mesh > 0)
        fprintf(to, "frequencies of modes %.2g %%\n", 100 * trust.mesh);
    else
        fputs("frequencies of rigid-wall modes none\n", to);
}

/* Modes of a box are named by their half-waves, others by their number alone. */
static void put_label(FILE *to, const int label[3])
{
    if (label[1] < 0)
        fprintf(to, "%d", label[0]);
    else
        fprintf(to, "%d %d %d", label[0], label[1], label[2]);
}

static void put_rigid(FILE *to, const field_task *task, const field_result *result)
{
    const double *hz;
    const int *labels;
    size_t first;
    const size_t n = rigid_in_band(task, result, &first, &hz, &labels);
    fprintf(to, "\nRigid-wall modes from %g Hz to %g Hz: %zu\n", task->from, task->to, n);
    fprintf(to, "mode       Hz%s\n", task->room->shaped ? "" : "   half-waves along x y z");
    for (size_t i = first; i < first + n; i++) {
        fprintf(to, "%4zu %8.2f", i, hz[i]);
        if (!task->room->shaped) {
            fputs("   ", to);
            put_label(to, &labels[3 * i]);
        }
        fputc('\n', to);
    }
}

static void put_modes(FILE *to, const field_task *task, const ebb_modes *modes)
{
    fprintf(to, "\nDamped modes from %g Hz to %g Hz: %zu\n", task->from, task->to, modes->n);
    fputs("      Hz    T60 s        Q   most like rigid mode\n", to);
    for (size_t i = 0; i < modes->n; i++) {
        const ebb_mode *m = &modes->mode[i];
        fprintf(to, "%8.2f %8.3f %8.1f   ", m->hz, m->t60, m->q);
        put_label(to, m->label);
        fprintf(to, " (%.0f %%)\n", 100 * m->likeness);
    }
}

/* One column a path under a number: names would make the columns too wide to compare. */
static void put_responses(FILE *to, const field_task *task, const double _Complex *h)
{
    const ebb_room *room = task->room;
    const size_t n_paths = room->n_speakers * room->n_seats;
    if (h == NULL)
        return;
    fputs("\nResponses |p/Q|, dB re 1 Pa.s/m3\n", to);
    for (size_t p = 0; p < n_paths; p++)
        fprintf(to, "  %zu: %s to %s\n", p + 1, room->speakers[p / room->n_seats].name,
                room->seats[p % room->n_seats].name);
    fputs("      Hz", to);
    for (size_t p = 0; p < n_paths; p++)
        fprintf(to, "%8zu", p + 1);
    for (size_t f = 0; f < task->n_hz; f++) {
        fprintf(to, "\n%8.2f", task->hz[f]);
        for (size_t p = 0; p < n_paths; p++)
            fprintf(to, "%8.1f", 20 * log10(cabs(h[p * task->n_hz + f])));
    }
    fputc('\n', to);
}

/* A stream in memory: its length need not be known, and nothing is shown before all is there. */
int cli_field_text(cli_run *run, const field_task *task, const field_result *result,
                   const char *out)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    if (to == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the table"));
    put_room(to, task);
    put_trust(to, task, result);
    put_rigid(to, task, result);
    put_modes(to, task, result->modes);
    put_responses(to, task, result->h);
    cli_field_impulse_text(to, task, result);
    const bool whole = !ferror(to);
    int status = CLI_FAILED;
    if (fclose(to) == 0 && whole)
        status = cli_deliver(run, text, length, out);
    else
        cli_error(run, "no memory for the table");
    free(text);
    return status;
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static json_t *json_modes(const ebb_modes *modes)
{
    json_t *list = json_array();
    for (size_t i = 0; i < modes->n; i++) {
        const ebb_mode *m = &modes->mode[i];
        json_array_append_new(list, json_pack("{s:o, s:o, s:o, s:[iii], s:o}", "hz",
                                              cli_json_number(m->hz), "t60_s",
                                              cli_json_number(m->t60), "q", cli_json_number(m->q),
                                              "label", m->label[0], m->label[1], m->label[2],
                                              "likeness", cli_json_number(m->likeness)));
    }
    return list;
}

static json_t *json_responses(const field_task *task, const double _Complex *h)
{
    const ebb_room *room = task->room;
    const size_t n_paths = h != NULL ? room->n_speakers * room->n_seats : 0;
    json_t *list = json_array();
    for (size_t p = 0; p < n_paths; p++) {
        /* A complex number is laid out as its two parts (C17 6.2.5). */
        const double *parts = (const double *)(h + p * task->n_hz);
        json_array_append_new(list, json_pack("{s:s, s:s, s:o, s:o, s:o}", "source",
                                              room->speakers[p / room->n_seats].name, "receiver",
                                              room->seats[p % room->n_seats].name, "hz",
                                              cli_json_numbers(task->n_hz, task->hz, 1), "re",
                                              cli_json_numbers(task->n_hz, parts, 2), "im",
                                              cli_json_numbers(task->n_hz, parts + 1, 2)));
    }
    return list;
}

/* Null for a box, which has none. Nothing here that a second run could have otherwise. */
static json_t *json_elements(const field_task *task, const field_result *result)
{
    ebb_prepared_note note;
    if (!ebb_prepared_about(result->prepared, task->index, &note))
        return json_null();
    return json_pack("{s:I, s:I, s:I, s:I}", "tetrahedra", (json_int_t)note.tets, "order",
                     (json_int_t)note.order, "unknowns", (json_int_t)note.freedoms, "modes",
                     (json_int_t)note.modes);
}

int cli_field_json(cli_run *run, const field_task *task, const field_result *result,
                   const char *out)
{
    const double *hz;
    const int *labels;
    size_t first;
    const size_t n = rigid_in_band(task, result, &first, &hz, &labels);
    const ebb_air *air = &task->job->air;
    const ebb_trust trust = ebb_reduced_trust(result->reduced);
    json_t *document = cli_document(
        "field", json_pack("{s:s, s:s, s:f, s:f, s:f}", "job", task->path, "room", task->room->name,
                           "from_hz", task->from, "to_hz", task->to, "step_hz", task->step));
    /* Each call frees what it could not take, so one test at the end is enough. */
    const int bad =
        json_object_set_new(document, "size_m", cli_json_numbers(3, task->room->size, 1)) +
        json_object_set_new(document, "volume_m3", cli_json_number(ebb_room_volume(task->room))) +
        json_object_set_new(document, "shaped", json_boolean(task->room->shaped)) +
        json_object_set_new(document, "elements", json_elements(task, result)) +
        json_object_set_new(document, "trust",
                            json_pack("{s:o, s:o}", "truncation", cli_json_number(trust.truncation),
                                      "mesh", cli_json_number(trust.mesh))) +
        json_object_set_new(
            document, "air",
            json_pack("{s:f, s:f}", "speed_m_s", air->speed, "density_kg_m3", air->density)) +
        json_object_set_new(document, "rigid_modes_hz", cli_json_numbers(n, hz + first, 1)) +
        json_object_set_new(document, "modes", json_modes(result->modes)) +
        json_object_set_new(document, "response", json_responses(task, result->h)) +
        json_object_set_new(document, "impulse", cli_field_impulse_json(task, result)) +
        json_object_set_new(document, "warnings", cli_json_warnings(run->ctx));
    if (bad != 0) {
        json_decref(document);
        document = NULL;
    }
    return cli_deliver_json(run, document, out);
}
