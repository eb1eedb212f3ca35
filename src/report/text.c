/* SPDX-License-Identifier: GPL-3.0-or-later */
/* text.c - the answer as a table and sentences for a terminal. */
#include "column.h"
#include "document.h"
#include "words.h"

#include <math.h>
#include <string.h>

/* What all parts of the text need. */
typedef struct writer {
    ebb_report_text_buffer out;
    ebb_arena *arena;
    const ebb_answers *answers;
    ebb_units units;
} writer;

/* Columns of the table; their widths and the two blanks between them add up to 100. */
enum { ROOM, VERDICT, SURE, MARGIN, FAULTS, MENDED, FROM, MASS, COST, COLUMNS };
static const struct {
    const char *head;
    size_t width;
    bool right;
} TABLE[COLUMNS] = {
    {"Room", 16, false},      {"Verdict", 7, false}, {"Sure", 16, false},
    {"Margin", 6, true},      {"Faults", 8, true},   {"Mended", 6, true},
    {"Right from", 10, true}, {"Mass", 8, true},     {"Cost", 7, true},
};

/* Two blanks between columns, so that neighbours can be told apart even when both are full. */
static void put_row(writer *w, const char *const cell[COLUMNS])
{
    for (int i = 0; i < COLUMNS; i++) {
        ebb_report_puts(&w->out, i ? "  " : "");
        ebb_report_field(&w->out, cell[i], TABLE[i].width, TABLE[i].right);
    }
    ebb_report_puts(&w->out, "\n");
}

static const char *room_name(writer *w, const ebb_answer *answer)
{
    return ebb_report_must(&w->out, ebb_report_room_name(w->arena, answer));
}

static const char *measure(writer *w, double metres)
{
    return ebb_report_must(&w->out, ebb_report_measure(w->arena, metres, w->units));
}

/* The table has no room for words. */
static const char *mended_short(writer *w, const ebb_treatment *t)
{
    return isfinite(t->mended) ? ebb_report_mended(w->arena, t) : "\u2013";
}

/* The reason stands under its row and not in a column of its own, where it would be broken into
 * many short lines. */
static void answer_row(writer *w, const ebb_answer *answer)
{
    const ebb_treatment *t = ebb_report_shown(answer);
    const bool drawn = t->odds.draws > 0;
    const char *cell[COLUMNS] = {
        [ROOM] = room_name(w, answer),
        [VERDICT] = ebb_verdict_name(answer->verdict),
        [SURE] = drawn ? ebb_arena_format(w->arena, "%.0f %%%s", 100.0 * answer->sure,
                                          answer->near_border ? " near border" : "")
                       : "no draws",
        [MARGIN] = isfinite(answer->margin) ? ebb_arena_format(w->arena, "%+.2f", answer->margin)
                                            : "\u2013",
        [FAULTS] = ebb_report_fault_counts(w->arena, t),
        [MENDED] = mended_short(w, t),
        [FROM] = ebb_report_from(w->arena, &t->after),
        [MASS] = ebb_report_mass(w->arena, t->after.layout.mass, w->units),
        [COST] = ebb_report_money(w->arena, t->after.layout.cost),
    };
    put_row(w, cell);
    const char *reason = answer->n_reasons > 0 ? answer->reasons[0] : NULL;
    ebb_report_wrap(&w->out, "  ", ebb_report_clean(w->arena, reason, "(no reason given)"));
}

/* The head is there even without rooms: the reader sees what would be told. */
static void table(writer *w)
{
    const char *head[COLUMNS];
    for (int i = 0; i < COLUMNS; i++) {
        head[i] = TABLE[i].head;
    }
    put_row(w, head);
    for (int i = 0; i < EBB_REPORT_COLUMNS; i++) {
        ebb_report_puts(&w->out, "-");
    }
    ebb_report_puts(&w->out, "\n");
    for (size_t i = 0; i < w->answers->n; i++) {
        answer_row(w, w->answers->answer[i]);
    }
    if (w->answers->n == 0) {
        ebb_report_puts(&w->out, "The job has no rooms.\n");
    }
}

static void list(writer *w, const char *head, size_t n, const char *const *item)
{
    if (n == 0) {
        return;
    }
    ebb_report_putf(&w->out, "  %s\n", head);
    for (size_t i = 0; i < n; i++) {
        ebb_report_wrap(&w->out, "    - ", ebb_report_clean(w->arena, item[i], "-"));
    }
}

/* Short form of the table of units in the report: enough to see whether a plan makes sense. */
static void placements(writer *w, const ebb_answer *answer, const ebb_layout *layout)
{
    const ebb_job *job = w->answers->job;
    if (layout->n_placed == 0) {
        return;
    }
    ebb_report_puts(&w->out, "  Units (their lower corner nearest to the corner named)\n");
    for (size_t p = 0; p < layout->n_placed; p++) {
        const ebb_placed *placed = &layout->placed[p];
        const bool known = placed->unit < job->n_units;
        const char *name = ebb_report_clean(
            w->arena, known ? job->absorbers[placed->unit].name : NULL, "(unnamed unit)");
        const ebb_report_spot spot = ebb_report_spot_of(w->arena, answer->room, placed, w->units);
        ebb_report_putf(&w->out, "    %3zu  ", p + 1);
        ebb_report_field(&w->out, name, 16, false);
        ebb_report_puts(&w->out, "  ");
        ebb_report_field(&w->out, spot.surface, 8, false);
        ebb_report_puts(&w->out, "  ");
        ebb_report_puts(&w->out, spot.along);
        ebb_report_puts(&w->out, ", ");
        ebb_report_puts(&w->out, spot.up);
        ebb_report_puts(&w->out, placed->turned ? ", turned" : "");
        ebb_report_puts(&w->out, p < answer->room->n_placed ? ", already there\n" : "\n");
    }
}

static void station(writer *w, const ebb_answer *answer, const ebb_station *wished,
                    const ebb_vec3 *now)
{
    const ebb_vec3 at = now ? *now : wished->at;
    const ebb_vec3 *o = &answer->room->origin;
    ebb_report_puts(&w->out, "         ");
    ebb_report_field(&w->out, ebb_report_clean(w->arena, wished->name, "(unnamed)"), 16, false);
    ebb_report_putf(&w->out, "  %s right, %s up the plan, %s high\n", measure(w, at.x - o->x),
                    measure(w, at.y - o->y), measure(w, at.z - o->z));
}

static void stations(writer *w, const ebb_answer *answer, const ebb_layout *layout)
{
    const ebb_room *room = answer->room;
    if (room->n_seats + room->n_speakers == 0) {
        return;
    }
    ebb_report_putf(&w->out, "  Seats and speakers (from corner %zu, the lower left of the plan)\n",
                    ebb_report_lower_corner(room));
    for (size_t i = 0; i < room->n_seats; i++) {
        station(w, answer, &room->seats[i], layout->seats ? &layout->seats[i] : NULL);
    }
    for (size_t i = 0; i < room->n_speakers; i++) {
        station(w, answer, &room->speakers[i], layout->speakers ? &layout->speakers[i] : NULL);
    }
}

static void answer_part(writer *w, const ebb_answer *answer)
{
    const ebb_layout *layout = &ebb_report_shown(answer)->after.layout;
    const char *sure = ebb_report_must(&w->out, ebb_report_sure(w->arena, answer));
    const char *line = ebb_arena_format(w->arena, "%s: %s (%s)", room_name(w, answer),
                                        ebb_report_verdict(answer), sure);
    ebb_report_puts(&w->out, "\n");
    ebb_report_wrap(&w->out, "", line);
    list(w, "Why", answer->n_reasons, answer->reasons);
    list(w, "What stays wrong", answer->n_stays, answer->stays);
    placements(w, answer, layout);
    stations(w, answer, layout);
}

/* Short, but in every output: text may be all that is ever read. */
static void closing(writer *w)
{
    ebb_report_puts(&w->out, "\nAssumptions\n");
    ebb_report_wrap(&w->out, "  ", ebb_report_assumptions_short());
    ebb_report_puts(&w->out, "\nCautions\n");
    ebb_report_wrap(
        &w->out, "  ",
        "Before anything is built: an engineer checks the weight on floors, walls, ceilings and "
        "anchors; two people lift; exits and ventilation stay free; carbon and fibres need "
        "protection, ventilation and care with fire; sweeps harm hearing; wiring is for an "
        "electrician. Local codes and licensed practice hold. The report has the details "
        "(--report FILE.pdf or FILE.html).");
}

ebb_status ebb_report_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_answers *answers, int units,
                           const char **text)
{
    writer w = {.out = {.arena = arena},
                .arena = arena,
                .answers = answers,
                .units = ebb_report_units(answers, units)};
    const ebb_job *job = answers->job;
    *text = NULL;
    ebb_report_wrap(&w.out, "", ebb_report_clean(arena, job->name, "(unnamed job)"));
    ebb_report_wrap(&w.out, "", ebb_report_trace(arena, answers));
    ebb_report_puts(&w.out, "\n");
    table(&w);
    for (size_t i = 0; i < answers->n; i++) {
        answer_part(&w, answers->answer[i]);
    }
    closing(&w);
    if (w.out.failed) {
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the report");
    }
    *text = w.out.data;
    return EBB_OK;
}
