/* SPDX-License-Identifier: GPL-3.0-or-later */
/* craft_text.c - designed boxes for a terminal: picks, trade-offs, layouts. */
#include "craft_sheet.h"
#include "craft_words.h"
#include "words.h"

#include <math.h>

typedef ebb_report_craft_writer writer;

static void put(writer *w, const char *text, size_t columns, bool right)
{
    ebb_report_puts(&w->out, "  ");
    ebb_report_field(&w->out, ebb_report_must(&w->out, text), columns, right);
}

static const char *number(writer *w, const char *format, double value)
{
    return isfinite(value) ? ebb_arena_format(w->arena, format, value) : "\u2013";
}

/* Three digits tell a coefficient, one a level. */
static const char *absorption(writer *w, const ebb_craft *craft, double value)
{
    const bool mode = craft->target->goal == EBB_GOAL_MODE;
    return number(w, mode ? "%.1f dB" : "%.3f", value);
}

static const char *mass(writer *w, double kg)
{
    return isfinite(kg) ? ebb_report_quantity(w->arena, EBB_Q_MASS, kg, w->units) : "\u2013";
}

static const char *depth(writer *w, double metres)
{
    return isfinite(metres) ? ebb_report_measure(w->arena, metres, w->units) : "\u2013";
}

static const char *money(writer *w, const ebb_craft_merit *m)
{
    return m->priced ? ebb_report_money(w->arena, m->cost) : "\u2013";
}

/* ---- tables ---------------------------------------------------------------------------------- */

static void head_of_picks(writer *w, const ebb_craft *craft)
{
    const bool mode = craft->target->goal == EBB_GOAL_MODE;
    put(w, "pick", 12, false);
    put(w, "mass", 9, true);
    put(w, "depth", 9, true);
    put(w, "cost", 7, true);
    put(w, mode ? "peak falls" : "mean", 10, true);
    for (size_t k = 0; k < craft->pick[0].n && k < 7; k++) {
        put(w, number(w, "%.4g Hz", craft->pick[0].hz[k]), 7, true);
    }
    ebb_report_puts(&w->out, "\n");
}

static void row_of_pick(writer *w, const ebb_craft *craft, const ebb_craft_pick *p)
{
    put(w, ebb_craft_aim_name(p->aim), 12, false);
    put(w, mass(w, p->merit.mass), 9, true);
    put(w, depth(w, p->merit.depth), 9, true);
    put(w, money(w, &p->merit), 7, true);
    put(w, absorption(w, craft, p->merit.absorption), 10, true);
    for (size_t k = 0; k < p->n && k < 7; k++) {
        put(w, number(w, "%.3f", p->alpha[k]), 7, true);
    }
    ebb_report_puts(&w->out, "\n");
}

static void table_of_picks(writer *w, const ebb_craft *craft)
{
    ebb_report_puts(&w->out, "\nPicks (absorption at normal incidence)\n");
    head_of_picks(w, craft);
    for (size_t i = 0; i < craft->n_picks; i++) {
        row_of_pick(w, craft, &craft->pick[i]);
    }
    if (craft->required > 0) {
        ebb_report_wrap(
            &w->out, "  ",
            ebb_arena_format(w->arena,
                             "All but the best are taken from what reaches 90 %% of it, "
                             "%s (our choice).",
                             absorption(w, craft, craft->required)));
    }
}

static void table_of_trades(writer *w, const ebb_craft *craft)
{
    if (craft->n_front == 0) {
        return;
    }
    ebb_report_puts(&w->out, "\nBest trade-offs found\n");
    put(w, "mass", 9, true);
    put(w, "depth", 9, true);
    put(w, "cost", 7, true);
    put(w, craft->target->goal == EBB_GOAL_MODE ? "peak falls" : "mean", 10, true);
    put(w, "layout", 34, false);
    put(w, "grains", 8, true);
    ebb_report_puts(&w->out, "\n");
    for (size_t i = 0; i < craft->n_front; i++) {
        const ebb_craft_merit *m = &craft->front_merit[i];
        const ebb_craft_recipe *r = &craft->front[i];
        const double grains = r->cell[0].grains + r->cell[1].grains;
        put(w, mass(w, m->mass), 9, true);
        put(w, depth(w, m->depth), 9, true);
        put(w, money(w, m), 7, true);
        put(w, absorption(w, craft, m->absorption), 10, true);
        put(w, ebb_report_craft_layout(r->cells, r->fronts), 34, false);
        put(w, grains > 0 ? mass(w, grains) : "none", 8, true);
        ebb_report_puts(&w->out, "\n");
    }
}

static void table_of_layouts(writer *w, const ebb_craft *craft)
{
    ebb_report_puts(&w->out, "\nWhat each layout reached in the search\n");
    put(w, "layout", 34, false);
    put(w, craft->target->goal == EBB_GOAL_CURVE ? "short by" : "", 8, true);
    put(w, "most", 8, true);
    put(w, "lightest", 9, true);
    put(w, "shallowest", 10, true);
    put(w, "cheapest", 8, true);
    ebb_report_puts(&w->out, "\n");
    for (size_t i = 0; i < craft->n_layouts; i++) {
        const ebb_craft_layout *l = &craft->layout[i];
        const bool curve = craft->target->goal == EBB_GOAL_CURVE;
        put(w, ebb_report_craft_layout(l->cells, l->fronts), 34, false);
        put(w,
            !curve             ? ""
            : l->shortfall > 0 ? number(w, "%.3f", l->shortfall)
                               : "nothing",
            8, true);
        put(w, absorption(w, craft, l->absorption), 8, true);
        put(w, mass(w, l->mass), 9, true);
        put(w, depth(w, l->depth), 10, true);
        put(w, isfinite(l->cost) ? ebb_report_money(w->arena, l->cost) : "\u2013", 8, true);
        ebb_report_puts(&w->out, "\n");
    }
}

/* ---- one target ------------------------------------------------------------------------------ */

static void say_stops(writer *w, const ebb_craft *craft)
{
    ebb_report_puts(&w->out, "\nWhich limit is in the way (short searches, one limit freed at a "
                             "time)\n");
    if (craft->n_stops == 0) {
        ebb_report_wrap(&w->out, "  - ",
                        "The target sets no limit that could be freed: what is at "
                        "hand does not do it.");
    }
    for (size_t i = 0; i < craft->n_stops; i++) {
        const ebb_craft_stop *s = &craft->stop[i];
        const char *text =
            s->passes
                ? ebb_arena_format(w->arena, "without the limit on %s: a box passes", s->limit)
                : ebb_arena_format(w->arena,
                                   "without the limit on %s: nothing passes, %.3f is lacking",
                                   s->limit, s->shortfall);
        ebb_report_wrap(&w->out, "  - ", ebb_report_must(&w->out, text));
    }
}

static void say_mode(writer *w, const ebb_craft *craft)
{
    const ebb_craft_mode *m = &craft->mode;
    if (!m->room) {
        return;
    }
    const char *text = ebb_arena_format(
        w->arena,
        "The mode %d, %d, %d lies at %.2f Hz and decays in %.2f s without the units; they hang "
        "where it presses most on the walls.",
        m->label[0], m->label[1], m->label[2], m->hz, m->t60);
    ebb_report_wrap(&w->out, "  ", ebb_report_must(&w->out, text));
}

static void say_verdict(writer *w, const ebb_craft *craft)
{
    const char *bound = ebb_report_craft_bound(w->arena, craft, w->units);
    if (!craft->passes) {
        const ebb_craft_merit *m = &craft->pick[0].merit;
        const char *over = m->excess > 0 ? ", and above the limits of mass or cost" : "";
        ebb_report_wrap(&w->out, "  ",
                        ebb_arena_format(w->arena,
                                         "NOTHING PASSES. The nearest miss is %.3f short%s. A "
                                         "search is not a proof.",
                                         m->shortfall, over));
    }
    if (bound) {
        ebb_report_wrap(&w->out, "  ", bound);
    }
    say_mode(w, craft);
    ebb_report_wrap(&w->out, "  ",
                    ebb_arena_format(w->arena,
                                     "%zu boxes judged by the search, %zu checked with fronts that "
                                     "bend and walls that give way.",
                                     craft->evaluated, craft->checked));
}

static void target_part(writer *w, const ebb_craft *craft)
{
    const ebb_target *t = craft->target;
    const char *name = ebb_report_clean(w->arena, t->name, "(unnamed target)");
    ebb_report_puts(&w->out, "\n");
    ebb_report_wrap(&w->out, "", ebb_report_must(&w->out, name));
    ebb_report_wrap(&w->out,
                    "  asked: ", ebb_report_must(&w->out, ebb_report_craft_goal(w->arena, t)));
    ebb_report_wrap(&w->out, "  within: ",
                    ebb_report_must(&w->out, ebb_report_craft_limits(w->arena, t, w->units)));
    say_verdict(w, craft);
    table_of_picks(w, craft);
    if (craft->passes) {
        table_of_trades(w, craft);
    }
    table_of_layouts(w, craft);
    if (!craft->passes) {
        say_stops(w, craft);
    }
    for (size_t i = 0; i < craft->n_picks && craft->passes; i++) {
        ebb_report_craft_sheet(w, craft, &craft->pick[i]);
    }
}

ebb_status ebb_report_crafts_text(ebb_ctx *ctx, ebb_arena *arena, const ebb_crafts *crafts,
                                  int units, const char **text)
{
    writer w = {.out = {.arena = arena},
                .arena = arena,
                .units = units < 0 ? crafts->library->units : (ebb_units)units};
    *text = NULL;
    ebb_report_wrap(&w.out, "", ebb_report_must(&w.out, ebb_report_craft_trace(arena, crafts)));
    for (size_t i = 0; i < crafts->n; i++) {
        target_part(&w, crafts->craft[i]);
    }
    ebb_report_puts(&w.out, "\n");
    ebb_report_wrap(&w.out, "",
                    "Nothing here was compared with a measured absorber below 100 Hz. A search "
                    "finds good boxes, not provably the best.");
    if (w.out.failed) {
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the text");
    }
    *text = w.out.data;
    return EBB_OK;
}
