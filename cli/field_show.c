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
static void put_room(FILE *to, const field_task *task, ebb_units units)
{
    char x[64], y[64], z[64];
    const double *size = task->room->size;
    fprintf(to, "Room %s: %s x %s x %s", task->room->name,
            ebb_quantity_print(EBB_Q_LENGTH, size[0], units, x, sizeof x),
            ebb_quantity_print(EBB_Q_LENGTH, size[1], units, y, sizeof y),
            ebb_quantity_print(EBB_Q_LENGTH, size[2], units, z, sizeof z));
    fprintf(to, "; openings: %zu, units: %zu, speed of sound %s\n", task->room->n_openings,
            task->room->n_placed,
            ebb_quantity_print(EBB_Q_SPEED, task->job->air.speed, units, x, sizeof x));
}

static void put_rigid(FILE *to, const field_task *task, const field_result *result)
{
    const double *hz;
    const int *labels;
    size_t first;
    const size_t n = rigid_in_band(task, result, &first, &hz, &labels);
    fprintf(to, "\nRigid-wall modes from %g Hz to %g Hz: %zu\n", task->from, task->to, n);
    fputs("      Hz   half-waves along x y z\n", to);
    for (size_t i = first; i < first + n; i++)
        fprintf(to, "%8.2f   %d %d %d\n", hz[i], labels[3 * i], labels[3 * i + 1],
                labels[3 * i + 2]);
}

static void put_modes(FILE *to, const field_task *task, const ebb_modes *modes)
{
    fprintf(to, "\nDamped modes from %g Hz to %g Hz: %zu\n", task->from, task->to, modes->n);
    fputs("      Hz    T60 s        Q   most like rigid mode\n", to);
    for (size_t i = 0; i < modes->n; i++) {
        const ebb_mode *m = &modes->mode[i];
        fprintf(to, "%8.2f %8.3f %8.1f   %d %d %d (%.0f %%)\n", m->hz, m->t60, m->q, m->label[0],
                m->label[1], m->label[2], 100 * m->likeness);
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
int cli_field_text(cli_run *run, const field_task *task, const field_result *result, int units,
                   const char *out)
{
    char *text = NULL;
    size_t length = 0;
    FILE *to = open_memstream(&text, &length);
    if (to == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the table"));
    put_room(to, task, (ebb_units)units);
    put_rigid(to, task, result);
    put_modes(to, task, result->modes);
    put_responses(to, task, result->h);
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

int cli_field_json(cli_run *run, const field_task *task, const field_result *result,
                   const char *out)
{
    const double *hz;
    const int *labels;
    size_t first;
    const size_t n = rigid_in_band(task, result, &first, &hz, &labels);
    const ebb_air *air = &task->job->air;
    json_t *document = cli_document(
        "field", json_pack("{s:s, s:s, s:f, s:f, s:f}", "job", task->path, "room", task->room->name,
                           "from_hz", task->from, "to_hz", task->to, "step_hz", task->step));
    /* Each call frees what it could not take, so one test at the end is enough. */
    const int bad =
        json_object_set_new(document, "size_m", cli_json_numbers(3, task->room->size, 1)) +
        json_object_set_new(
            document, "air",
            json_pack("{s:f, s:f}", "speed_m_s", air->speed, "density_kg_m3", air->density)) +
        json_object_set_new(document, "rigid_modes_hz", cli_json_numbers(n, hz + first, 1)) +
        json_object_set_new(document, "modes", json_modes(result->modes)) +
        json_object_set_new(document, "response", json_responses(task, result->h)) +
        json_object_set_new(document, "warnings", cli_json_warnings(run->ctx));
    if (bad != 0) {
        json_decref(document);
        document = NULL;
    }
    return cli_deliver_json(run, document, out);
}
