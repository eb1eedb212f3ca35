/* SPDX-License-Identifier: GPL-3.0-or-later */
/* plan_words.c - a plan in words and sums, the same in every kind of output. */
#include "plan.h"

#include <math.h>
#include <string.h>

#define GRAVITY 9.81 /* m/s2 */

/* ---- sums ------------------------------------------------------------------------------------ */

/* Depth of the deepest unit, m. */
static double deepest(const ebb_job *job, const ebb_layout *layout)
{
    double most = 0.0;
    for (size_t p = 0; p < layout->n_placed; p++) {
        if (layout->placed[p].unit < job->n_units) {
            most = fmax(most, job->absorbers[layout->placed[p].unit].depth);
        }
    }
    return most;
}

static const char *in_words(ebb_arena *arena, int row, double value, ebb_units units)
{
    if (!isfinite(value)) {
        return "no limit";
    }
    switch (row) {
    case 0:
        return ebb_report_mass(arena, value, units);
    case 1:
        return ebb_report_percent(arena, value);
    case 2:
        return ebb_report_measure(arena, value, units);
    case 3:
        return ebb_report_money(arena, value);
    case 4:
        return ebb_arena_format(arena, "%.0f", value);
    default:
        return ebb_report_quantity(arena, EBB_Q_PRESSURE, value, units);
    }
}

void ebb_plan_totals(ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                     const ebb_layout *layout, ebb_units units,
                     ebb_plan_total total[EBB_PLAN_TOTALS])
{
    const ebb_allowance *a = &job->allowance;
    const double load = layout->mass * GRAVITY / ebb_surface_area(&room->surfaces[0]);
    const ebb_plan_total rows[EBB_PLAN_TOTALS] = {
        {"Mass", "mass_kg", layout->mass, a->mass, NULL, NULL},
        {"Cover of walls and ceiling", "cover", layout->cover, a->cover, NULL, NULL},
        {"Deepest unit", "depth_m", deepest(job, layout), a->depth, NULL, NULL},
        {"Cost", "cost", layout->cost, a->cost, NULL, NULL},
        {"Units", "count", (double)layout->n_placed, a->count, NULL, NULL},
        {"Load spread over the floor", "floor_pa", load, a->floor, NULL, NULL}};
    for (int i = 0; i < EBB_PLAN_TOTALS; i++) {
        total[i] = rows[i];
        total[i].used_words = in_words(arena, i, rows[i].used, units);
        total[i].allowed_words = in_words(arena, i, rows[i].allowed, units);
    }
}

/* ---- sentences ------------------------------------------------------------------------------- */

const char *ebb_plan_outcome(ebb_arena *arena, const ebb_planned *plan)
{
    return ebb_arena_format(arena,
                            plan->passes ? "The plan makes the room right for %s."
                                         : "No plan we found makes the room right for %s; the best "
                                           "within the allowance is shown.",
                            ebb_report_use(plan->treatment->use));
}

const char *ebb_plan_mode(ebb_arena *arena, const ebb_slow_mode *mode)
{
    const int *n = mode->label;
    if (n[1] < 0) {
        return ebb_arena_format(arena, "mode %d, %.1f Hz", n[0], mode->hz);
    }
    return ebb_arena_format(arena, "mode %d-%d-%d, %.1f Hz", n[0], n[1], n[2], mode->hz);
}

const char *ebb_plan_seconds(ebb_arena *arena, double seconds)
{
    return isfinite(seconds) ? ebb_arena_format(arena, "%.2f s", seconds)
                             : ebb_arena_text(arena, "\u2013");
}

const char *ebb_plan_unit(ebb_arena *arena, const ebb_job *job, const ebb_placed *placed)
{
    const char *name = placed->unit < job->n_units ? job->absorbers[placed->unit].name : NULL;
    return ebb_report_clean(arena, name, "(unnamed unit)");
}

ebb_answers ebb_plan_answers(const ebb_plan_papers *papers, const ebb_answer *answer[1])
{
    answer[0] = papers->plan->answer;
    return (ebb_answers){answer[0]->job, &papers->effort->search, 1, answer};
}
