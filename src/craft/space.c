/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What a search may choose from: boards, wools, grains and strips of the target's stock, layouts,
 * and the frequencies it judges by.
 */
#include "private.h"

#include <stdlib.h>

#define THINNEST_WALL 0.009 /* m: thinner boards are no cabinet; our choice */
#define BAND_STEPS 16       /* points of the mean, evenly over the band */
#define MODE_STEPS 60       /* and around a mode */
#define MODE_SPAN 1.4       /* times and over the frequency of the mode */

static double sheet_mass(const ebb_craft_sheet *s)
{
    return s->material->board.density * s->thickness;
}

/* Equal keys keep the order of the stock: sorting must not depend on the C library. */
static int by_thickness(const void *left, const void *right)
{
    const ebb_craft_sheet *a = left, *b = right;
    if (a->thickness != b->thickness)
        return a->thickness < b->thickness ? -1 : 1;
    return a->material < b->material ? -1 : a->material > b->material;
}

static int by_mass(const void *left, const void *right)
{
    const ebb_craft_sheet *a = left, *b = right;
    const double x = sheet_mass(a), y = sheet_mass(b);
    return x != y ? (x < y ? -1 : 1) : by_thickness(left, right);
}

static int by_resistivity(const void *left, const void *right)
{
    const ebb_wool *a = *(const ebb_wool *const *)left, *b = *(const ebb_wool *const *)right;
    if (a->layer.resistivity != b->layer.resistivity)
        return a->layer.resistivity < b->layer.resistivity ? -1 : 1;
    return a < b ? -1 : a > b;
}

static int by_grain(const void *left, const void *right)
{
    const ebb_batch *a = *(const ebb_batch *const *)left, *b = *(const ebb_batch *const *)right;
    const double x = a->layer.grains.diameter, y = b->layer.grains.diameter;
    return x != y ? (x < y ? -1 : 1) : (a < b ? -1 : a > b);
}

static int by_stiffness(const void *left, const void *right)
{
    const ebb_strip *a = *(const ebb_strip *const *)left, *b = *(const ebb_strip *const *)right;
    const double x = ebb_craft_strip_stiffness(a), y = ebb_craft_strip_stiffness(b);
    return x != y ? (x < y ? -1 : 1) : (a < b ? -1 : a > b);
}

/* ---- lists ----------------------------------------------------------------------------------- */

static bool is_front(const ebb_target *t, const ebb_craft_sheet *s, bool trim)
{
    /* a board too light by itself may be made heavy enough by weights on it */
    return s->thickness >= t->thinnest && (trim || sheet_mass(s) >= t->lightest);
}

static bool list_boards(ebb_arena *arena, const ebb_target *t, ebb_craft_space *space)
{
    size_t most = 0;
    for (size_t i = 0; i < t->stock.n_materials; i++)
        most += t->stock.material[i].n_sheets;
    space->wall = EBB_NEW(arena, ebb_craft_sheet, most);
    space->board = EBB_NEW(arena, ebb_craft_sheet, most);
    if (space->wall == NULL || space->board == NULL)
        return false;
    for (size_t i = 0; i < t->stock.n_materials; i++)
        for (size_t k = 0; k < t->stock.material[i].n_sheets; k++) {
            const ebb_material *m = &t->stock.material[i];
            const ebb_craft_sheet s = {m, m->sheet[k].thickness, m->sheet[k].price};
            if (s.thickness >= THINNEST_WALL)
                space->wall[space->n_walls++] = s;
            if (is_front(t, &s, space->trim))
                space->board[space->n_boards++] = s;
        }
    qsort(space->wall, space->n_walls, sizeof *space->wall, by_thickness);
    qsort(space->board, space->n_boards, sizeof *space->board, by_mass);
    return true;
}

static bool list_rest(ebb_arena *arena, const ebb_target *t, ebb_craft_space *space)
{
    const ebb_stock *s = &t->stock;
    space->n_wools = s->n_wools;
    space->n_batches = t->grains > 0 ? s->n_batches : 0;
    space->n_strips = s->n_strips;
    space->wool = EBB_NEW(arena, const ebb_wool *, s->n_wools);
    space->batch = EBB_NEW(arena, const ebb_batch *, s->n_batches);
    space->strip = EBB_NEW(arena, const ebb_strip *, s->n_strips);
    if (space->wool == NULL || space->batch == NULL || space->strip == NULL)
        return false;
    for (size_t i = 0; i < space->n_wools; i++)
        space->wool[i] = &s->wool[i];
    for (size_t i = 0; i < space->n_batches; i++)
        space->batch[i] = &s->batch[i];
    for (size_t i = 0; i < space->n_strips; i++)
        space->strip[i] = &s->strip[i];
    qsort(space->wool, space->n_wools, sizeof *space->wool, by_resistivity);
    qsort(space->batch, space->n_batches, sizeof *space->batch, by_grain);
    qsort(space->strip, space->n_strips, sizeof *space->strip, by_stiffness);
    return true;
}

static void list_layouts(const ebb_target *t, ebb_craft_space *space)
{
    for (int cells = 1; cells <= t->cells && cells <= EBB_CRAFT_CELLS; cells++)
        for (int fronts = t->fronts[0]; fronts <= t->fronts[1]; fronts++) {
            space->cells[space->n_layouts] = cells;
            space->fronts[space->n_layouts++] = fronts;
        }
}

/* ---- frequencies ----------------------------------------------------------------------------- */

/* Even steps from low to high with trapezoid weights. */
static void even_grid(ebb_craft_space *space, double low, double high, size_t steps)
{
    space->n_hz = steps + 1;
    for (size_t i = 0; i <= steps; i++) {
        space->hz[i] = low + (high - low) * (double)i / (double)steps;
        space->weight[i] = (i == 0 || i == steps ? 0.5 : 1) / (double)steps;
        space->need[i] = NAN;
    }
}

/* The points of a curve stand beside the grid of its mean, with no weight in it. */
static void add_curve(const ebb_target *t, ebb_craft_space *space)
{
    for (size_t i = 0; i < t->n && space->n_hz < EBB_CRAFT_MOST_HZ; i++) {
        space->hz[space->n_hz] = t->curve[i].hz;
        space->weight[space->n_hz] = 0;
        space->need[space->n_hz++] = t->curve[i].value;
    }
}

void ebb_craft_space_grid(ebb_craft_space *space)
{
    const ebb_target *t = space->target;
    double low = t->band[0], high = t->band[1];
    if (t->goal == EBB_GOAL_CURVE) {
        low = t->curve[0].hz;
        high = t->curve[t->n - 1].hz;
    } else if (t->goal == EBB_GOAL_MODE) {
        low = space->mode->hz / MODE_SPAN;
        high = space->mode->hz * MODE_SPAN;
    }
    space->highest = high;
    even_grid(space, low, high, t->goal == EBB_GOAL_MODE ? MODE_STEPS : BAND_STEPS);
    if (t->goal == EBB_GOAL_CURVE)
        add_curve(t, space);
}

/* ---- the whole ------------------------------------------------------------------------------- */

ebb_status ebb_craft_space_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_target *target,
                                const ebb_air *air, const ebb_craft_mode *mode,
                                ebb_craft_space *space)
{
    space->target = target;
    space->air = *air;
    space->mode = mode;
    if (!list_boards(arena, target, space) || !list_rest(arena, target, space))
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the stock");
    list_layouts(target, space);
    ebb_craft_space_grid(space);
    if (space->n_walls == 0)
        return ebb_fail(ctx, EBB_E_NOSOLUTION,
                        "%s: no board of at least %g mm for a cabinet among what may be used",
                        target->name, 1000 * THINNEST_WALL);
    if (space->n_boards == 0)
        return ebb_fail(ctx, EBB_E_NOSOLUTION,
                        "%s: no board for a front (at least %g mm, %g kg/m2) among what may be "
                        "used",
                        target->name, 1000 * target->thinnest, target->lightest);
    if (space->n_strips == 0 || space->n_layouts == 0)
        return ebb_fail(ctx, EBB_E_NOSOLUTION, "%s: no strip for a rim among what may be used",
                        target->name);
    return EBB_OK;
}
