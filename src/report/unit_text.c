/* SPDX-License-Identifier: GPL-3.0-or-later */
/* unit_text.c - studies of units as tables and sentences for a terminal. */
#include "column.h"
#include "unit_words.h"
#include "words.h"

#include <complex.h>
#include <math.h>
#include <string.h>

enum { FRONTS_A_TABLE = 4 };

/* What all parts of the text need. */
typedef struct writer {
    ebb_report_text_buffer out;
    ebb_arena *arena;
    ebb_units units;
} writer;

/* A blank line before each part, so that it can be found by scrolling. */
static void heading(writer *w, const char *text)
{
    ebb_report_putf(&w->out, "\n%s\n", text);
}

/* A list of sentences. */
static void item(writer *w, const char *text)
{
    ebb_report_wrap(&w->out, "  - ", ebb_report_clean(w->arena, text, "-"));
}

/* ---- frequencies ----------------------------------------------------------------------------- */

/* 31.5 keeps its half, the others have none. */
static void put_hz(writer *w, double hz)
{
    ebb_report_field(&w->out, ebb_arena_format(w->arena, "%.4g", hz), 8, true);
}

/* A dash where nothing is known: a zero would be a number. */
static void put_number(writer *w, const char *format, double value, size_t width)
{
    const char *text = isfinite(value) ? ebb_arena_format(w->arena, format, value) : "\u2013";
    ebb_report_puts(&w->out, "  ");
    ebb_report_field(&w->out, text, width, true);
}

/* Does any row let power through? */
static bool transmits(const ebb_spectrum *s)
{
    for (size_t i = 0; i < s->n; i++) {
        if (s->transmitted[i] > 0.0) {
            return true;
        }
    }
    return false;
}

/* The columns that a unit has; the text below says what they mean. */
static void absorption(writer *w, const ebb_study *study)
{
    const ebb_spectrum *s = &study->table;
    const bool leaves = transmits(s);
    heading(w, "Absorption");
    ebb_report_puts(&w->out, "      Hz  normal  random");
    ebb_report_puts(&w->out, s->bulk ? "  inside" : "");
    ebb_report_puts(&w->out, "  one unit        area       g");
    ebb_report_puts(&w->out, leaves ? "  behind\n" : "\n");
    for (size_t i = 0; i < s->n; i++) {
        put_hz(w, s->hz[i]);
        put_number(w, "%.2f", s->normal[i], 6);
        put_number(w, "%.2f", s->diffuse[i], 6);
        if (s->bulk) {
            put_number(w, "%.2f", s->bulk[i], 6);
        }
        put_number(w, "%.2f", s->patch[i], 8);
        ebb_report_puts(&w->out, "  ");
        ebb_report_field(&w->out, ebb_report_quantity(w->arena, EBB_Q_AREA, s->area[i], w->units),
                         10, true);
        put_number(w, "%.3f", s->conductance[i], 6);
        if (leaves) {
            put_number(w, "%.3f", s->transmitted[i], 6);
        }
        ebb_report_puts(&w->out, "\n");
    }
    ebb_report_wrap(&w->out, "  ", ebb_report_unit_columns(s->bulk != NULL, leaves));
}

/* ---- fronts ---------------------------------------------------------------------------------- */

/* Up to four fronts beside each other, at 30 to 100 Hz. */
static void front_table(writer *w, const ebb_study *study, size_t first, size_t n)
{
    const ebb_spectrum *s = &study->table;
    ebb_report_puts(&w->out, "      Hz");
    for (size_t k = 0; k < n; k++) {
        ebb_report_putf(&w->out, "  front %zu   behind", first + k + 1);
    }
    ebb_report_puts(&w->out, "\n");
    for (size_t i = 0; i < s->n; i++) {
        if (s->hz[i] < EBB_DEEP_LOW || s->hz[i] > 100.0) {
            continue;
        }
        put_hz(w, s->hz[i]);
        for (size_t k = 0; k < n; k++) {
            const ebb_front_view *f = &study->front[first + k];
            put_number(w, "%.2f", 1000.0 * cabs(f->velocity[i]), 7);
            put_number(w, "%.2f", f->pressure ? cabs(f->pressure[i]) : NAN, 7);
        }
        ebb_report_puts(&w->out, "\n");
    }
}

/* What a maker weighs and measures of a front before it is put in. */
static void front_line(writer *w, const ebb_study *study, size_t i)
{
    const ebb_front_view *f = &study->front[i];
    const char *mass = ebb_report_quantity(w->arena, EBB_Q_AREA_MASS, f->mass, w->units);
    const char *wide = ebb_report_measure(w->arena, f->side[0], w->units);
    const char *high = ebb_report_measure(w->arena, f->side[1], w->units);
    const char *mount =
        isfinite(f->mount_hz)
            ? ebb_arena_format(w->arena, ", %.1f Hz alone on its mount", f->mount_hz)
            : "";
    ebb_report_wrap(
        &w->out, "  ",
        ebb_arena_format(w->arena, "front %zu: %s x %s, %s%s%s%s", i + 1, wide, high, mass, mount,
                         f->front > 0 ? ", the inner one" : "",
                         study->n_fronts > 1 && f->cell > 0 ? ", in the next cell" : ""));
}

/* In groups that fit the width of a terminal. */
static void fronts(writer *w, const ebb_study *study)
{
    if (study->n_fronts == 0) {
        return;
    }
    heading(w, "Movement per pascal at the face: velocity in mm/s, pressure behind in Pa");
    for (size_t first = 0; first < study->n_fronts; first += FRONTS_A_TABLE) {
        const size_t left = study->n_fronts - first;
        front_table(w, study, first, left < FRONTS_A_TABLE ? left : FRONTS_A_TABLE);
    }
    for (size_t i = 0; i < study->n_fronts; i++) {
        front_line(w, study, i);
    }
}

/* ---- what it weighs, what it uses ------------------------------------------------------------ */

/* Shares show where weight can be saved; parts that weigh nothing are left out. */
static void weight(writer *w, const ebb_study *study)
{
    const ebb_weights *kg = &study->weights;
    const struct {
        const char *what;
        double kg;
    } rows[] = {{"walls", kg->walls},           {"fronts", kg->fronts},
                {"frames and rims", kg->frame}, {"fill", kg->porous},
                {"grains", kg->grains},         {"fixings, trays, cloth", kg->extra},
                {"complete", kg->total}};
    heading(w, "Weight");
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (!(rows[i].kg > 0.0)) {
            continue;
        }
        ebb_report_puts(&w->out, "  ");
        ebb_report_field(&w->out, rows[i].what, 22, false);
        ebb_report_field(&w->out, ebb_report_quantity(w->arena, EBB_Q_MASS, rows[i].kg, w->units),
                         10, true);
        ebb_report_putf(&w->out, "  %3.0f %%\n", 100.0 * rows[i].kg / kg->total);
    }
}

/* ---- slips ----------------------------------------------------------------------------------- */

/* The designed values come first, so that each difference has its measure above it. */
static void changes(writer *w, const ebb_study *study)
{
    if (study->n_changes == 0) {
        return;
    }
    heading(w, "If it is not built as designed (change of the coefficient at normal incidence)");
    ebb_report_puts(&w->out, "                                              30 Hz   40 Hz   50 Hz"
                             "    mean   peak Hz\n");
    ebb_report_puts(&w->out, "  ");
    ebb_report_field(&w->out, "as designed", 40, false);
    for (size_t k = 0; k < EBB_CHANGE_HZ; k++) {
        put_number(w, "%.2f", study->alpha[k], 6);
    }
    put_number(w, "%.2f", study->band.mean, 6);
    put_number(w, "%.1f", study->band.inside ? study->band.peak_hz : NAN, 8);
    ebb_report_puts(&w->out, "\n");
    for (size_t i = 0; i < study->n_changes; i++) {
        const ebb_change *c = &study->change[i];
        ebb_report_puts(&w->out, "  ");
        ebb_report_field(&w->out, c->what, 40, false);
        for (size_t k = 0; k < EBB_CHANGE_HZ; k++) {
            put_number(w, "%+.2f", c->alpha[k], 6);
        }
        put_number(w, "%+.3f", c->mean, 6);
        put_number(w, "%.1f", c->peak_hz, 8);
        ebb_report_puts(&w->out, "\n");
    }
}

/* ---- one unit -------------------------------------------------------------------------------- */

/* Whether a weight was measured or added up matters to those who lift. */
static void unit_head(writer *w, const ebb_study *study)
{
    const ebb_unit *unit = study->unit;
    const char *wide = ebb_report_measure(w->arena, unit->face[0], w->units);
    const char *high = ebb_report_measure(w->arena, unit->face[1], w->units);
    const char *deep = ebb_report_measure(w->arena, unit->depth, w->units);
    const char *mass = ebb_report_quantity(w->arena, EBB_Q_MASS, unit->mass, w->units);
    ebb_report_puts(&w->out, "\n");
    ebb_report_wrap(&w->out, "", ebb_report_clean(w->arena, unit->name, "(unnamed unit)"));
    ebb_report_wrap(&w->out, "  ",
                    ebb_arena_format(w->arena, "face %s x %s, %s deep, %s%s", wide, high, deep,
                                     mass, unit->weighed ? "" : " (from its parts)"));
}

/* What it does, what it is, what it could be, what goes wrong, what to mind. */
static void unit_part(writer *w, const ebb_study *study)
{
    unit_head(w, study);
    absorption(w, study);
    heading(w, "Band");
    ebb_report_wrap(&w->out, "  ", ebb_report_unit_band(w->arena, study));
    fronts(w, study);
    weight(w, study);
    heading(w, "Depth limit of passive absorbers");
    ebb_report_wrap(&w->out, "  ", ebb_report_unit_budget(w->arena, study));
    changes(w, study);
    if (study->n_remarks > 0) {
        heading(w, "Warnings");
    }
    for (size_t i = 0; i < study->n_remarks; i++) {
        item(w, study->remark[i].text);
    }
    heading(w, "For those who build, carry and hang it");
    for (size_t i = 0; i < study->n_cautions; i++) {
        item(w, study->caution[i]);
    }
}

/* The closing lines stand under every answer, however short: they are what is quoted last. */
ebb_status ebb_report_studies_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_studies *studies,
                                   int units, const char **text)
{
    writer w = {.out = {.arena = arena},
                .arena = arena,
                .units = units < 0 ? studies->library->units : (ebb_units)units};
    *text = NULL;
    ebb_report_wrap(&w.out, "", ebb_report_unit_trace(arena, studies->library, w.units));
    for (size_t i = 0; i < studies->n; i++) {
        unit_part(&w, studies->study[i]);
    }
    ebb_report_puts(&w.out, "\n");
    ebb_report_wrap(&w.out, "", ebb_report_unit_closing());
    if (w.out.failed) {
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the text");
    }
    *text = w.out.data;
    return EBB_OK;
}
