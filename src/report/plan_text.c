/* SPDX-License-Identifier: GPL-3.0-or-later */
/* plan_text.c - one plan in detail, for a terminal. */
#include "column.h"
#include "plan.h"

#include <math.h>

typedef struct writer {
    ebb_report_text_buffer out;
    ebb_arena *arena;
    const ebb_plan_papers *papers;
    const ebb_planned *plan;
    const ebb_job *job;
    const ebb_room *room;
    ebb_units units;
} writer;

/* A column of a table. */
typedef struct column {
    const char *head;
    size_t width;
    bool right;
} column;

/* Numbers stand right, words left; a missing text makes the whole fail, not the cell. */
static void put_row(writer *w, size_t n, const column *table, const char *const *cell)
{
    for (size_t i = 0; i < n; i++) {
        const char *text = ebb_report_must(&w->out, cell[i]);
        const bool open = i + 1 == n && !table[i].right; /* no blanks at the end of a line */
        ebb_report_puts(&w->out, "  ");
        if (open) {
            ebb_report_puts(&w->out, text);
        } else {
            ebb_report_field(&w->out, text, table[i].width, table[i].right);
        }
    }
    ebb_report_puts(&w->out, "\n");
}

static void put_head(writer *w, const char *title, size_t n, const column *table)
{
    const char *head[8];
    for (size_t i = 0; i < n; i++) {
        head[i] = table[i].head;
    }
    ebb_report_putf(&w->out, "\n%s\n", title);
    put_row(w, n, table, head);
}

static const char *number(writer *w, size_t n)
{
    return ebb_arena_format(w->arena, "%zu", n);
}

/* ---- where everything goes ------------------------------------------------------------------- */

static void units(writer *w)
{
    static const column TABLE[] = {{"No", 3, true},      {"Unit", 16, false}, {"On", 8, false},
                                   {"Place", 47, false}, {"Mass", 7, true},   {"Cost", 6, true}};
    const ebb_layout *layout = &w->plan->treatment->after.layout;
    if (layout->n_placed == 0) {
        ebb_report_puts(&w->out, "\nUnits\n  None.\n");
        return;
    }
    put_head(
        w, "Units (to the left and right ends of the wall as seen from inside, and from the floor)",
        6, TABLE);
    for (size_t p = 0; p < layout->n_placed; p++) {
        const ebb_placed *placed = &layout->placed[p];
        const ebb_unit *unit =
            placed->unit < w->job->n_units ? &w->job->absorbers[placed->unit] : NULL;
        const char *cell[] = {
            number(w, p + 1),
            ebb_arena_format(w->arena, "%s%s", ebb_plan_unit(w->arena, w->job, placed),
                             placed->turned ? ", turned" : ""),
            placed->surface < w->room->n_surfaces ? w->room->surfaces[placed->surface].name : "?",
            ebb_place_words(w->arena, w->job, w->room, placed, w->units),
            ebb_report_mass(w->arena, unit ? unit->mass : NAN, w->units),
            ebb_report_money(w->arena, unit ? unit->cost : NAN)};
        put_row(w, 6, TABLE, cell);
    }
    if (w->room->n_placed > 0) {
        ebb_report_putf(&w->out, "  The first %zu %s there already.\n", w->room->n_placed,
                        w->room->n_placed == 1 ? "is" : "are");
    }
}

/* What is used beside what is allowed: the first thing that a client checks. */
static void totals(writer *w)
{
    static const column TABLE[] = {{"", 28, false}, {"Plan", 12, true}, {"Allowed", 12, true}};
    ebb_plan_total total[EBB_PLAN_TOTALS];
    ebb_plan_totals(w->arena, w->job, w->room, &w->plan->treatment->after.layout, w->units, total);
    put_head(w, "Totals", 3, TABLE);
    for (int i = 0; i < EBB_PLAN_TOTALS; i++) {
        put_row(w, 3, TABLE,
                (const char *[]){total[i].what, total[i].used_words, total[i].allowed_words});
    }
}

/* Wrapped beside its name: feet and inches of three walls can be long. */
static void station(writer *w, const char *what, const ebb_station *wished, const ebb_vec3 *now)
{
    const ebb_vec3 at = now ? *now : wished->at;
    const double moved = hypot(at.x - wished->at.x, at.y - wished->at.y);
    ebb_report_text_buffer lead = {.arena = w->arena};
    ebb_report_puts(&lead, "  ");
    ebb_report_field(&lead, ebb_report_clean(w->arena, wished->name, "(unnamed)"), 14, false);
    ebb_report_putf(&lead, "  %-7s  ", what);
    const char *place = ebb_station_words(w->arena, w->room, at, w->units);
    const char *by = ebb_report_measure(w->arena, moved, w->units);
    const char *text = place && by && moved >= 0.0005
                           ? ebb_arena_format(w->arena, "%s (moved %s)", place, by)
                           : place;
    ebb_report_wrap(&w->out, lead.failed ? "" : lead.data, ebb_report_must(&w->out, text));
}

static void stations(writer *w)
{
    const ebb_layout *layout = &w->plan->treatment->after.layout;
    ebb_report_puts(&w->out, "\nSeats and speakers\n");
    for (size_t i = 0; i < w->room->n_seats; i++) {
        station(w, "seat", &w->room->seats[i], layout->seats ? &layout->seats[i] : NULL);
    }
    for (size_t i = 0; i < w->room->n_speakers; i++) {
        station(w, "speaker", &w->room->speakers[i],
                layout->speakers ? &layout->speakers[i] : NULL);
    }
}

/* ---- what it is worth ------------------------------------------------------------------------ */

static void slow_modes(writer *w)
{
    static const column TABLE[] = {
        {"Slowest modes", 24, false}, {"Limit", 8, true}, {"Before", 8, true}, {"After", 8, true}};
    if (w->plan->n_slow == 0) {
        return;
    }
    put_head(w, "Decay", 4, TABLE);
    for (size_t i = 0; i < w->plan->n_slow; i++) {
        const ebb_slow_mode *m = &w->plan->slow[i];
        put_row(w, 4, TABLE,
                (const char *[]){ebb_plan_mode(w->arena, m), ebb_plan_seconds(w->arena, m->limit),
                                 ebb_plan_seconds(w->arena, m->before),
                                 ebb_plan_seconds(w->arena, m->after)});
    }
}

/* "0.42 / 0.37 / 0.61 s": decay of the slow modes in their order. */
static const char *slow_list(writer *w, const ebb_gain *gain)
{
    const char *text = "";
    for (size_t i = 0; i < w->plan->n_slow && text; i++) {
        text = isfinite(gain->slow[i])
                   ? ebb_arena_format(w->arena, "%s%s%.2f", text, i > 0 ? " / " : "", gain->slow[i])
                   : ebb_arena_format(w->arena, "%s%s\u2013", text, i > 0 ? " / " : "");
    }
    return text;
}

/* The plan without the unit stands here and not the difference: "still right" is what decides
 * whether it may be left out. */
static void gains(writer *w)
{
    static const column TABLE[] = {{"No", 3, true},
                                   {"Unit", 14, false},
                                   {"On", 9, false},
                                   {"Wrong", 6, true},
                                   {"Margin", 7, true},
                                   {"Still right", 11, false},
                                   {"Slowest modes, s", 24, false}};
    const ebb_reading *r = &w->plan->treatment->after.reading;
    if (w->plan->n_gains == 0) {
        return;
    }
    put_head(w, "What each unit is worth: the plan calculated without it", 7, TABLE);
    for (size_t i = 0; i < w->plan->n_gains; i++) {
        const ebb_gain *g = &w->plan->gain[i];
        const ebb_placed *placed = &w->plan->treatment->after.layout.placed[g->placed];
        const char *cell[] = {number(w, g->placed + 1),
                              ebb_plan_unit(w->arena, w->job, placed),
                              w->room->surfaces[placed->surface].name,
                              ebb_report_percent(w->arena, g->wrong),
                              ebb_arena_format(w->arena, "%+.2f", g->margin),
                              g->right ? "yes" : "no",
                              slow_list(w, g)};
        put_row(w, 7, TABLE, cell);
    }
    ebb_report_putf(&w->out, "  With all of them: wrong %s, margin %+.2f.\n",
                    ebb_report_must(&w->out, ebb_report_percent(w->arena, r->wrong)), r->margin);
}

/* ---- what else would do ---------------------------------------------------------------------- */

/* The plan itself leads the list, so that what is saved can be seen. */
static void alternatives(writer *w)
{
    static const column TABLE[] = {{"Plan", 10, false},  {"Units", 5, true}, {"Mass", 9, true},
                                   {"Cost", 8, true},    {"Wrong", 6, true}, {"Margin", 7, true},
                                   {"Right in", 9, true}};
    put_head(w, "Alternatives (each calculated and drawn like the plan)", 7, TABLE);
    for (size_t i = 0; i < w->plan->n_alternatives; i++) {
        const ebb_alternative *a = &w->plan->alternative[i];
        const char *cell[] = {ebb_alternative_name(a->kind),
                              number(w, a->layout.n_placed),
                              ebb_report_mass(w->arena, a->layout.mass, w->units),
                              ebb_report_money(w->arena, a->layout.cost),
                              ebb_report_percent(w->arena, a->wrong),
                              ebb_arena_format(w->arena, "%+.2f", a->margin),
                              a->odds.draws > 0 ? ebb_report_percent(w->arena, a->odds.share)
                              : a->passes       ? "nominal"
                                                : "no"};
        put_row(w, 7, TABLE, cell);
    }
    if (!w->plan->passes) {
        ebb_report_wrap(&w->out, "  ",
                        "Nothing passes, so there is no cheapest or lightest plan to show: what is "
                        "above is the best found within the allowance.");
    }
}

static void say(writer *w, const char *sentence)
{
    if (sentence && *sentence) {
        ebb_report_wrap(&w->out, "  ", ebb_report_clean(w->arena, sentence, ""));
    }
}

/* A line for each number of units; the mark stands where the return falls off. */
static void curve(writer *w)
{
    const ebb_curve *c = w->plan->curve;
    if (!c) {
        return;
    }
    ebb_report_puts(&w->out, "\nWhat more units mend\n");
    for (size_t i = 0; i < c->n; i++) {
        const ebb_curve_point *p = &c->point[i];
        ebb_report_putf(&w->out, "  %3zu unit%s %8s wrong%s%s\n", p->n, p->n == 1 ? " " : "s",
                        ebb_report_must(&w->out, ebb_report_percent(w->arena, p->wrong)),
                        p->right ? ", right" : "",
                        i == c->enough ? "  <- more of the same mends little from here" : "");
    }
    say(w, c->sentence);
    say(w, w->plan->bound ? w->plan->bound->sentence : NULL);
}

/* The sentence first: the table is for who doubts it. */
static void doubt(writer *w)
{
    static const column TABLE[] = {
        {"If it were known", 16, false}, {"Explains", 9, true}, {"Right in", 9, true}};
    const ebb_doubt *d = &w->plan->doubt;
    ebb_report_puts(&w->out, "\nWhat is worth measuring before it is built\n");
    say(w, d->measure);
    if (d->draws == 0) {
        return;
    }
    put_row(w, 3, TABLE, (const char *[]){TABLE[0].head, TABLE[1].head, TABLE[2].head});
    for (int u = 0; u < EBB_UNKNOWNS; u++) {
        put_row(w, 3, TABLE,
                (const char *[]){ebb_unknown_name((ebb_unknown)u),
                                 ebb_report_percent(w->arena, d->part[u].explained),
                                 ebb_report_percent(w->arena, d->part[u].share)});
    }
}

/* ---- the whole ------------------------------------------------------------------------------- */

static void list(writer *w, const char *head, size_t n, const char *const *item)
{
    ebb_report_putf(&w->out, "\n%s\n", head);
    for (size_t i = 0; i < n; i++) {
        ebb_report_wrap(&w->out, "  - ", ebb_report_clean(w->arena, item[i], "-"));
    }
}

/* Short, but in every output: text may be all that is ever read. */
static void cautions(writer *w)
{
    ebb_report_puts(&w->out, "\nCautions\n");
    ebb_report_wrap(
        &w->out, "  ",
        "Cabinets of this weight pull at walls and ceilings: an engineer checks wall, anchors and "
        "floor before anything is bought, and two people lift. Doors, exits, smoke alarms and "
        "ventilation stay free. Measure on site before drilling: a room is never quite square. "
        "The report (--report FILE.pdf or FILE.html) has all cautions.");
}

/* Two models of one room: where they differ, neither is to be trusted blindly. */
static void verified(writer *w)
{
    if (w->papers->verified == NULL) {
        return;
    }
    ebb_report_puts(&w->out, "\nThe same plan with its units as boxes\n");
    ebb_report_wrap(&w->out, "  ", ebb_report_must(&w->out, w->papers->verified->sentence));
}

static void opening(writer *w)
{
    const ebb_answer *one[1];
    const ebb_answers answers = ebb_plan_answers(w->papers, one);
    const char *title = ebb_arena_format(
        w->arena, "%s: %s, %s", ebb_report_clean(w->arena, w->job->name, "(unnamed job)"),
        ebb_report_must(&w->out, ebb_report_room_name(w->arena, w->plan->answer)),
        ebb_report_use(w->plan->treatment->use));
    ebb_report_wrap(&w->out, "", ebb_report_must(&w->out, title));
    ebb_report_wrap(&w->out, "", ebb_report_must(&w->out, ebb_report_trace(w->arena, &answers)));
    ebb_report_puts(&w->out, "\n");
    ebb_report_wrap(&w->out, "", ebb_report_must(&w->out, ebb_plan_outcome(w->arena, w->plan)));
}

ebb_status ebb_plan_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_plan_papers *papers, int units_,
                         const char **text)
{
    const ebb_answer *answer = papers->plan->answer;
    writer w = {.out = {.arena = arena},
                .arena = arena,
                .papers = papers,
                .plan = papers->plan,
                .job = answer->job,
                .room = answer->room};
    w.units = units_ < 0 ? answer->job->units : (ebb_units)units_;
    *text = NULL;
    opening(&w);
    list(&w, "Why", answer->n_reasons, answer->reasons);
    units(&w);
    totals(&w);
    stations(&w);
    slow_modes(&w);
    gains(&w);
    alternatives(&w);
    curve(&w);
    doubt(&w);
    verified(&w);
    list(&w, "What stays wrong", answer->n_stays, answer->stays);
    cautions(&w);
    if (w.out.failed) {
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the text");
    }
    *text = w.out.data;
    return EBB_OK;
}
