/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * plan_report.c - a plan as a report for client and builder: what a room's report has, then where
 * to measure from, the working drawings, and what goes with the plan.
 */
#include "plan.h"

#include <math.h>

/* ---- for the builder ------------------------------------------------------------------------- */

/* The table goes with the drawings: same numbers, same ends, same edges. */
static void places(ebb_report_source *source, const ebb_planned *plan)
{
    static const ebb_report_column COLUMNS[] = {{"No.", 0.4, true},  {"Unit", 1.3, false},
                                                {"On", 0.8, false},  {"Place", 3.6, false},
                                                {"Mass", 0.7, true}, {"Cost", 0.6, true}};
    ebb_report_doc *doc = source->doc;
    const ebb_job *job = source->answers->job;
    const ebb_room *room = plan->answer->room;
    const ebb_layout *layout = &plan->treatment->after.layout;
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Where to measure from");
    if (layout->n_placed == 0) {
        ebb_report_say(doc, EBB_REPORT_TEXT, "The plan places no units.");
        return;
    }
    ebb_report_table *table = ebb_report_table_start(doc, "Units and their measures", 6, COLUMNS);
    for (size_t p = 0; p < layout->n_placed; p++) {
        const ebb_placed *placed = &layout->placed[p];
        const ebb_unit *unit = placed->unit < job->n_units ? &job->absorbers[placed->unit] : NULL;
        const char *cell[] = {
            ebb_arena_format(doc->arena, "%zu", p + 1),
            ebb_arena_format(doc->arena, "%s%s",
                             ebb_report_got(doc, ebb_plan_unit(doc->arena, job, placed)),
                             placed->turned ? ", turned" : ""),
            placed->surface < room->n_surfaces ? room->surfaces[placed->surface].name : "?",
            ebb_place_words(doc->arena, job, room, placed, source->units),
            ebb_report_mass(doc->arena, unit ? unit->mass : NAN, source->units),
            ebb_report_money(doc->arena, unit ? unit->cost : NAN)};
        ebb_report_row(doc, table, cell);
    }
    ebb_report_say(
        doc, EBB_REPORT_QUIET,
        "To the left and the right end of the wall as seen from inside the room, facing "
        "it; up: from the floor to the lower edge. Measures go to the nearer edge of the "
        "unit.");
}

/* From two walls across each other and the floor, which is how a stand is set up. */
static void station_row(ebb_report_source *source, ebb_report_table *table, const ebb_room *room,
                        const ebb_station *wished, const ebb_vec3 *now)
{
    ebb_report_doc *doc = source->doc;
    const ebb_vec3 at = now ? *now : wished->at;
    const char *cell[] = {ebb_report_clean(doc->arena, wished->name, "(unnamed)"),
                          ebb_station_words(doc->arena, room, at, source->units)};
    ebb_report_row(doc, table, cell);
}

static void stations(ebb_report_source *source, const ebb_planned *plan)
{
    static const ebb_report_column COLUMNS[] = {{"Seat or speaker", 1.2, false},
                                                {"Place", 3.6, false}};
    const ebb_room *room = plan->answer->room;
    const ebb_layout *layout = &plan->treatment->after.layout;
    ebb_report_table *table =
        ebb_report_table_start(source->doc, "Seats and speakers from the walls", 2, COLUMNS);
    for (size_t i = 0; i < room->n_seats; i++) {
        station_row(source, table, room, &room->seats[i], layout->seats ? &layout->seats[i] : NULL);
    }
    for (size_t i = 0; i < room->n_speakers; i++) {
        station_row(source, table, room, &room->speakers[i],
                    layout->speakers ? &layout->speakers[i] : NULL);
    }
}

/* Weight, money and cover before anything else: they decide whether the plan is read on. */
static void totals(ebb_report_source *source, const ebb_planned *plan)
{
    static const ebb_report_column COLUMNS[] = {
        {"In all", 2.4, false}, {"Plan", 1.0, true}, {"Allowed", 1.0, true}};
    ebb_plan_total total[EBB_PLAN_TOTALS];
    ebb_plan_totals(source->doc->arena, source->answers->job, plan->answer->room,
                    &plan->treatment->after.layout, source->units, total);
    ebb_report_say(source->doc, EBB_REPORT_SUBHEADING, "What it takes");
    ebb_report_table *table =
        ebb_report_table_start(source->doc, "Totals against the allowance", 3, COLUMNS);
    for (int i = 0; i < EBB_PLAN_TOTALS; i++) {
        const char *cell[] = {total[i].what, total[i].used_words, total[i].allowed_words};
        ebb_report_row(source->doc, table, cell);
    }
}

static ebb_status paint_work(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    return ebb_draw_work(ctx, cr, frame, what);
}

/* A sheet for the plan and for every surface that carries units, a page each. */
static void drawings(ebb_report_source *source, const ebb_planned *plan)
{
    ebb_report_doc *doc = source->doc;
    const ebb_room *room = plan->answer->room;
    const ebb_layout *layout = &plan->treatment->after.layout;
    size_t list[EBB_MOST_SURFACES + 1];
    const size_t n = ebb_work_surfaces(room, layout, list);
    ebb_work *work = EBB_NEW(doc->arena, ebb_work, n);
    if (!work) {
        doc->failed = true;
        return;
    }
    for (size_t i = 0; i < n; i++) {
        const char *name = list[i] == EBB_WORK_PLAN ? "plan" : room->surfaces[list[i]].name;
        work[i] = (ebb_work){plan->answer, layout, list[i], source->units};
        ebb_report_say(doc, EBB_REPORT_PAGE, "%s", "");
        ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Working drawing: %s", name);
        const ebb_report_figure figure = {
            paint_work, &work[i], 400.0, 620.0,
            ebb_report_got(doc, ebb_arena_format(doc->arena,
                                                 "Working drawing of %s to scale with running "
                                                 "measures; they are in the table of units.",
                                                 name))};
        ebb_report_figure_add(doc, &figure);
    }
}

/* ---- for the client -------------------------------------------------------------------------- */

/* A client who can not pay for the best wants to know what the least is. */
static void alternatives(ebb_report_source *source, const ebb_planned *plan)
{
    static const ebb_report_column COLUMNS[] = {
        {"Plan", 1.0, false}, {"Units", 0.7, true},  {"Mass", 0.9, true},    {"Cost", 0.9, true},
        {"Wrong", 0.8, true}, {"Margin", 0.8, true}, {"Right in", 1.2, true}};
    ebb_report_doc *doc = source->doc;
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "Other plans");
    ebb_report_table *table = ebb_report_table_start(doc, "Alternatives", 7, COLUMNS);
    for (size_t i = 0; i < plan->n_alternatives; i++) {
        const ebb_alternative *a = &plan->alternative[i];
        const char *cell[] = {ebb_alternative_name(a->kind),
                              ebb_arena_format(doc->arena, "%zu", a->layout.n_placed),
                              ebb_report_mass(doc->arena, a->layout.mass, source->units),
                              ebb_report_money(doc->arena, a->layout.cost),
                              ebb_report_percent(doc->arena, a->wrong),
                              ebb_arena_format(doc->arena, "%+.2f", a->margin),
                              a->odds.draws > 0
                                  ? ebb_arena_format(doc->arena, "%.0f %% of %zu draws",
                                                     100.0 * a->odds.share, a->odds.draws)
                                  : "\u2013"};
        ebb_report_row(doc, table, cell);
    }
    ebb_report_say(doc, EBB_REPORT_QUIET, "%s",
                   plan->passes ? "Cheapest and lightest are the least that a search found to "
                                  "pass, each calculated and drawn like the plan itself."
                                : "Nothing passes, so there is no cheapest or lightest plan: this "
                                  "is the best found within the allowance.");
}

/* The plot of the curve, in the arena of the document. */
typedef struct curve_plot {
    ebb_plot plot;
    ebb_series series[2];
    double enough[2];
} curve_plot;

static ebb_status paint_curve(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const void *what)
{
    return ebb_draw_plot(ctx, cr, frame, &((const curve_plot *)what)->plot);
}

/* The axis starts at nought: a curve that seems to fall to nothing must do so. */
static curve_plot *plot_of(ebb_arena *arena, const ebb_curve *curve)
{
    curve_plot *p = EBB_NEW(arena, curve_plot, 1);
    double *xy = EBB_NEW(arena, double, 2 * curve->n);
    if (!p || !xy) {
        return NULL;
    }
    double most = 0.0;
    for (size_t i = 0; i < curve->n; i++) {
        xy[i] = (double)curve->point[i].n;
        xy[curve->n + i] = 100.0 * curve->point[i].wrong;
        most = fmax(most, xy[curve->n + i]);
    }
    p->enough[0] = xy[curve->enough];
    p->enough[1] = xy[curve->n + curve->enough];
    p->series[0] = (ebb_series){"wrong cells", curve->n, xy, xy + curve->n, false};
    p->series[1] =
        (ebb_series){"more mends little from here", 1, &p->enough[0], &p->enough[1], true};
    p->plot = (ebb_plot){"", "units",  "cells wrong, %", false, {0.0, NAN}, {0.0, fmax(most, 10.0)},
                         2,  p->series};
    return p;
}

/* The picture, then what it comes to; the bound belongs here, for it answers "and with more?". */
static void curve(ebb_report_source *source, const ebb_planned *plan)
{
    ebb_report_doc *doc = source->doc;
    const ebb_curve *c = plan->curve;
    if (!c) {
        return;
    }
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "What more units mend");
    if (c->n > 1) {
        const curve_plot *p = plot_of(doc->arena, c);
        const ebb_report_figure figure = {paint_curve, p, 150.0, 165.0,
                                          "Share of wrong cells over the number of units."};
        if (p) {
            ebb_report_figure_add(doc, &figure);
        } else {
            doc->failed = true;
        }
    }
    ebb_report_say(doc, EBB_REPORT_TEXT, "%s",
                   ebb_report_got(doc, ebb_report_clean(doc->arena, c->sentence, "")));
    if (plan->bound && plan->bound->sentence) {
        ebb_report_say(
            doc, EBB_REPORT_TEXT, "%s",
            ebb_report_got(doc, ebb_report_clean(doc->arena, plan->bound->sentence, "")));
    }
}

/* ---- for whoever checks ---------------------------------------------------------------------- */

/* As many columns of modes as there are slow modes. */
static void gains(ebb_report_source *source, const ebb_planned *plan)
{
    static const ebb_report_column COLUMNS[] = {
        {"No.", 0.5, true},          {"Unit", 1.4, false},  {"On", 0.9, false},
        {"Wrong", 0.8, true},        {"Margin", 0.8, true}, {"Still right", 0.9, false},
        {"Slowest mode", 1.0, true}, {"Second", 0.9, true}, {"Third", 0.9, true}};
    ebb_report_doc *doc = source->doc;
    const ebb_room *room = plan->answer->room;
    if (plan->n_gains == 0) {
        return;
    }
    ebb_report_say(doc, EBB_REPORT_PAGE, "%s", "");
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "What each unit is worth");
    ebb_report_say(
        doc, EBB_REPORT_TEXT,
        "The plan is calculated again without each unit, everything else as it is. With "
        "all of them %s of the cells are wrong and the margin is %+.2f.",
        ebb_report_got(doc, ebb_report_percent(doc->arena, plan->treatment->after.reading.wrong)),
        plan->treatment->after.reading.margin);
    ebb_report_table *table =
        ebb_report_table_start(doc, "The plan without each unit", 6 + plan->n_slow, COLUMNS);
    for (size_t i = 0; i < plan->n_gains; i++) {
        const ebb_gain *g = &plan->gain[i];
        const ebb_placed *placed = &plan->treatment->after.layout.placed[g->placed];
        const char *cell[6 + EBB_MOST_SLOW] = {
            ebb_arena_format(doc->arena, "%zu", g->placed + 1),
            ebb_plan_unit(doc->arena, source->answers->job, placed),
            room->surfaces[placed->surface].name,
            ebb_report_percent(doc->arena, g->wrong),
            ebb_arena_format(doc->arena, "%+.2f", g->margin),
            g->right ? "yes" : "no"};
        for (size_t k = 0; k < plan->n_slow; k++) {
            cell[6 + k] = ebb_plan_seconds(doc->arena, g->slow[k]);
        }
        ebb_report_row(doc, table, cell);
    }
}

static void slow_modes(ebb_report_source *source, const ebb_planned *plan)
{
    static const ebb_report_column COLUMNS[] = {{"Slowest modes of the bare room", 2.0, false},
                                                {"Limit", 0.8, true},
                                                {"Before", 0.8, true},
                                                {"After", 0.8, true}};
    ebb_report_doc *doc = source->doc;
    if (plan->n_slow == 0) {
        return;
    }
    ebb_report_table *table = ebb_report_table_start(doc, "Decay of the slowest modes", 4, COLUMNS);
    for (size_t i = 0; i < plan->n_slow; i++) {
        const ebb_slow_mode *m = &plan->slow[i];
        const char *cell[] = {ebb_plan_mode(doc->arena, m), ebb_plan_seconds(doc->arena, m->limit),
                              ebb_plan_seconds(doc->arena, m->before),
                              ebb_plan_seconds(doc->arena, m->after)};
        ebb_report_row(doc, table, cell);
    }
}

/* Before the evidence: a measurement that is made first can save the whole plan. */
static void doubt(ebb_report_source *source, const ebb_planned *plan)
{
    static const ebb_report_column COLUMNS[] = {{"If it were known", 1.2, false},
                                                {"Explains of the spread", 1.2, true},
                                                {"Plan right in", 1.0, true}};
    ebb_report_doc *doc = source->doc;
    const ebb_doubt *d = &plan->doubt;
    ebb_report_say(doc, EBB_REPORT_SUBHEADING, "What is worth measuring before it is built");
    ebb_report_say(doc, EBB_REPORT_TEXT, "%s",
                   ebb_report_got(doc, ebb_report_clean(doc->arena, d->measure, "")));
    if (d->draws == 0) {
        return;
    }
    ebb_report_table *table = ebb_report_table_start(doc, "What each unknown is worth", 3, COLUMNS);
    for (int u = 0; u < EBB_UNKNOWNS; u++) {
        const char *cell[] = {ebb_unknown_name((ebb_unknown)u),
                              ebb_report_percent(doc->arena, d->part[u].explained),
                              ebb_report_percent(doc->arena, d->part[u].share)};
        ebb_report_row(doc, table, cell);
    }
    ebb_report_say(doc, EBB_REPORT_QUIET,
                   "The draws are made again with one unknown held at its nominal value, as if it "
                   "had been measured and found to be what the job says. Few draws have noise of "
                   "their own: a share a little below zero means none.");
}

/* ---- the whole ------------------------------------------------------------------------------- */

/* For the client first, then the room's own evidence, then what a builder takes to the site. */
static ebb_status compose(ebb_report_source *source, const ebb_plan_papers *papers)
{
    const ebb_planned *plan = papers->plan;
    ebb_report_doc *doc = source->doc;
    const char *job = ebb_report_clean(doc->arena, source->answers->job->name, "(unnamed job)");
    const char *room = ebb_report_room_name(doc->arena, plan->answer);
    doc->title = job && room ? ebb_arena_format(doc->arena, "%s: plan for %s", job, room) : NULL;
    doc->trace = ebb_report_trace(doc->arena, source->answers);
    doc->failed = !doc->title || !doc->trace;
    if (!doc->failed) {
        ebb_report_say(doc, EBB_REPORT_TITLE, "%s", doc->title);
        ebb_report_say(doc, EBB_REPORT_QUIET, "%s. Calculated, not measured.", doc->trace);
        ebb_report_say(doc, EBB_REPORT_TEXT, "%s",
                       ebb_report_got(doc, ebb_plan_outcome(doc->arena, plan)));
        if (papers->verified != NULL) {
            ebb_report_say(doc, EBB_REPORT_TEXT, "%s",
                           ebb_report_got(doc, papers->verified->sentence));
        }
        totals(source, plan);
        alternatives(source, plan);
        curve(source, plan);
        doubt(source, plan);
        ebb_report_room(source, plan->answer);
        slow_modes(source, plan);
        gains(source, plan);
        ebb_report_say(doc, EBB_REPORT_HEADING, "For the builder");
        places(source, plan);
        stations(source, plan);
        drawings(source, plan);
        ebb_report_method(source);
        ebb_report_closing(source);
    }
    return doc->failed ? ebb_fail(source->ctx, EBB_E_NOMEM, "out of memory for the report")
                       : EBB_OK;
}

static ebb_status write(ebb_ctx *ctx, const ebb_plan_papers *papers, int units, const char *path,
                        ebb_status (*print)(ebb_ctx *, const ebb_report_doc *, const char *))
{
    const ebb_answer *one[1];
    const ebb_answers answers = ebb_plan_answers(papers, one);
    ebb_report_doc doc = {.arena = ebb_arena_new(ctx)};
    ebb_report_source source = {ctx, &doc, &answers, ebb_report_units(&answers, units)};
    ebb_status status = doc.arena ? compose(&source, papers)
                                  : ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the report");
    if (status == EBB_OK) {
        status = print(ctx, &doc, path);
    }
    ebb_arena_free(doc.arena);
    return status;
}

ebb_status ebb_plan_pdf(ebb_ctx *ctx, const ebb_plan_papers *papers, int units, const char *path)
{
    return write(ctx, papers, units, path, ebb_report_print_pdf);
}

ebb_status ebb_plan_html(ebb_ctx *ctx, const ebb_plan_papers *papers, int units, const char *path)
{
    return write(ctx, papers, units, path, ebb_report_print_html);
}
