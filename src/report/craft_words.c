/* SPDX-License-Identifier: GPL-3.0-or-later */
/* craft_words.c - a designed box in words. */
#include "craft_words.h"
#include "words.h"

#include <ebb/unit.h>
#include <ebb/version.h>
#include <math.h>

const char *ebb_report_craft_layout(int cells, int fronts)
{
    static const char *const words[2][2] = {
        {"one front", "two fronts, one behind the other"},
        {"two cells, a front each", "two cells, two fronts each"},
    };
    return words[cells > 1][fronts > 1];
}

/* ---- the target ------------------------------------------------------------------------------ */

static const char *curve(ebb_arena *arena, const ebb_target *t)
{
    const char *text = "";
    for (size_t i = 0; i < t->n && text; i++) {
        text = ebb_arena_format(arena, "%s%s%.3g at %.4g Hz", text, i ? ", " : "",
                                t->curve[i].value, t->curve[i].hz);
    }
    return text;
}

const char *ebb_report_craft_goal(ebb_arena *arena, const ebb_target *t)
{
    if (t->goal == EBB_GOAL_CURVE) {
        const char *points = curve(arena, t);
        return points ? ebb_arena_format(arena, "absorption at normal incidence of at least %s",
                                         points)
                      : NULL;
    }
    if (t->goal == EBB_GOAL_MEAN) {
        return ebb_arena_format(arena,
                                "the highest mean absorption at normal incidence from %.4g to "
                                "%.4g Hz",
                                t->band[0], t->band[1]);
    }
    const char *room =
        ebb_report_clean(arena, t->tuning.job->rooms[t->tuning.room].name, "(unnamed room)");
    return room ? ebb_arena_format(arena,
                                   "the lowest peak of the mode near %.4g Hz of \"%s\", with "
                                   "%zu unit%s",
                                   t->tuning.hz, room, t->tuning.units,
                                   t->tuning.units == 1 ? "" : "s")
                : NULL;
}

static const char *limit(ebb_arena *arena, const char *before, const char *what, const char *value)
{
    return before && value ? ebb_arena_format(arena, "%s, %s %s", before, what, value) : NULL;
}

const char *ebb_report_craft_limits(ebb_arena *arena, const ebb_target *t, ebb_units units)
{
    const char *wide = ebb_report_measure(arena, t->face[0], units);
    const char *high = ebb_report_measure(arena, t->face[1], units);
    const char *least = ebb_report_measure(arena, t->depth[0], units);
    const char *most = ebb_report_measure(arena, t->depth[1], units);
    if (!wide || !high || !least || !most) {
        return NULL;
    }
    const char *text =
        t->depth[1] > t->depth[0]
            ? ebb_arena_format(arena, "face %s x %s, depth %s to %s", wide, high, least, most)
            : ebb_arena_format(arena, "face %s x %s, depth %s", wide, high, most);
    if (isfinite(t->mass)) {
        text =
            limit(arena, text, "at most", ebb_report_quantity(arena, EBB_Q_MASS, t->mass, units));
    }
    if (isfinite(t->cost)) {
        text = limit(arena, text, "cost at most", ebb_report_money(arena, t->cost));
    }
    if (t->grains <= 0) {
        text = text ? ebb_arena_format(arena, "%s, no grains", text) : NULL;
    } else if (isfinite(t->grains)) {
        text = limit(arena, text, "grains at most",
                     ebb_report_quantity(arena, EBB_Q_MASS, t->grains, units));
    }
    return text && t->robust
               ? ebb_arena_format(arena, "%s; judged by the worst of boxes built badly", text)
               : text;
}

/* ---- how sure -------------------------------------------------------------------------------- */

static const char *value_of(ebb_arena *arena, ebb_craft_aim aim, double value, ebb_units units)
{
    switch (aim) {
    case EBB_CRAFT_LIGHT:
        return ebb_report_quantity(arena, EBB_Q_MASS, value, units);
    case EBB_CRAFT_SHALLOW:
        return ebb_report_measure(arena, value, units);
    case EBB_CRAFT_CHEAP:
        return ebb_report_money(arena, value);
    case EBB_CRAFT_NEAREST:
        return ebb_arena_format(arena, "%.3f short", value);
    case EBB_CRAFT_BEST:
    case EBB_CRAFT_AIMS:
        break;
    }
    return ebb_arena_format(arena, "%.3g", value);
}

const char *ebb_report_craft_sure(ebb_arena *arena, const ebb_craft_pick *pick, ebb_units units)
{
    const char *best = value_of(arena, pick->aim, pick->sure.best, units);
    const char *worst = value_of(arena, pick->aim, pick->sure.worst, units);
    const double agree = pick->sure.agree * (double)pick->sure.starts;
    if (!best || !worst) {
        return NULL;
    }
    if (pick->sure.starts == 1) {
        return ebb_arena_format(arena,
                                "one start, which ended at %s: that tells nothing of how near "
                                "it is to the best",
                                best);
    }
    return ebb_arena_format(arena,
                            "%.0f of %zu starts came within 1 %% of the best (%s); the worst of "
                            "them ended at %s%s",
                            agree, pick->sure.starts, best, worst,
                            agree > 1.5 ? ""
                                        : ". They do not agree: a better box may well exist, more "
                                          "starts would look for it");
}

const char *ebb_report_craft_worst(ebb_arena *arena, const ebb_craft *craft,
                                   const ebb_craft_pick *pick)
{
    const ebb_goal goal = craft->target->goal;
    if (goal == EBB_GOAL_MODE) {
        return ebb_arena_format(arena, "the peak falls by %.1f dB, not %.1f dB",
                                pick->worst.absorption, pick->merit.absorption);
    }
    const char *mean = ebb_arena_format(arena, "mean %.2f, not %.2f", pick->worst.absorption,
                                        pick->merit.absorption);
    return mean && goal == EBB_GOAL_CURVE
               ? ebb_arena_format(arena, "%s; up to %.2f short of the curve", mean,
                                  pick->worst.shortfall)
               : mean;
}

const char *ebb_report_craft_trace(ebb_arena *arena, const ebb_crafts *crafts)
{
    const char *name = ebb_report_clean(arena, crafts->library->name, "(unnamed library)");
    const ebb_craft_effort *e = crafts->n ? &crafts->craft[0]->effort : NULL;
    if (!name || !e) {
        return name;
    }
    return ebb_arena_format(arena, "ebb %s, %s, seed %u, %zu start%s", ebb_version(), name, e->seed,
                            e->starts, e->starts == 1 ? "" : "s");
}

const char *ebb_report_craft_bound(ebb_arena *arena, const ebb_craft *craft, ebb_units units)
{
    if (!isfinite(craft->depth_needed)) {
        return NULL;
    }
    const char *needed = ebb_report_measure(arena, craft->depth_needed, units);
    const bool forbids = craft->depth_needed > craft->target->depth[1];
    return needed ? ebb_arena_format(arena,
                                     "No passive absorber filled with wool or air reaches the "
                                     "curve, with straight lines between its points and nothing "
                                     "outside them, in less than %s inside%s.",
                                     needed,
                                     forbids ? ": more than the depth allowed, so only grains "
                                               "could"
                                             : "; boxes that can be built need about twice that")
                  : NULL;
}

/* ---- steps and cautions ---------------------------------------------------------------------- */

size_t ebb_report_craft_steps(const ebb_craft_pick *pick, const char *list[EBB_REPORT_CRAFT_NOTES])
{
    const ebb_craft_recipe *r = &pick->recipe;
    const bool carbon = r->batch != NULL;
    const struct {
        bool when;
        const char *text;
    } all[] = {
        {true, "Cut, then weigh every front with its weights before it goes in: within 3 % of the "
               "list. A front that is too heavy tunes low and narrow."},
        {true, "Glue and seal all joints of the cabinet airtight inside; half a millimetre of slit "
               "around a front is already heard of, one millimetre spoils the box."},
        {true,
         "Weights go on the hidden side, spread evenly. A strip in bending is listed with the "
         "width that stays free between front and frame: add what is glued."},
        {true, "Glue the rim all along front and frame, closed at the corners, so that the front "
               "touches nothing else and moves freely by hand."},
        {r->cells > 1, "Seal the divider on all edges: the cells must not share their air."},
        {r->wool != NULL, "Fix the wool, in cloth, so that it can not sink or lean against a "
                          "front: 10 mm clear."},
        {carbon, "Weigh the grains bag by bag, spread them evenly and flat on the back, tied so "
                 "that they can not slide down; close the box only when all else is dry."},
        {carbon && !pick->recipe.batch->measured,
         "The batch was not tested. Measure one box with a weighed bag and without it before "
         "building more: batches differ by a factor of six."},
    };
    size_t n = 0;
    for (size_t i = 0; i < sizeof all / sizeof all[0]; i++) {
        if (all[i].when) {
            list[n++] = all[i].text;
        }
    }
    return n;
}

size_t ebb_report_craft_cautions(const ebb_craft_pick *pick,
                                 const char *list[EBB_REPORT_CRAFT_NOTES])
{
    return ebb_unit_cautions(&pick->unit, list);
}
