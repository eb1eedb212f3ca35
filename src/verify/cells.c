/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A rectangular room cut into cells by the faces of all units, each cell air or solid.
 */
#include "private.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SAME 2e-3 /* m, faces closer than that are one: units may stick out by a millimetre */
#define PLUG 0.1  /* m */
#define FLATTEST                                                                                   \
    10e-3 /* m, units of less depth stay patches: a mesh would be spent on their rims */

/* ---- boxes ----------------------------------------------------------------------------------- */

static void set_bound(double a, double b, double length, double *low, double *high)
{
    *low = fmin(fmax(fmin(a, b), 0), length);
    *high = fmin(fmax(fmax(a, b), 0), length);
}

/* The box over a unit's face, kept within the room. */
static void set_box(const ebb_job *job, const ebb_room *room, const ebb_placed *placed,
                    ebb_verify_box *box)
{
    const ebb_unit *unit = &job->absorbers[placed->unit];
    const ebb_surface *on = &room->surfaces[placed->surface];
    double size[2];
    ebb_placed_size(unit, placed, size);
    const ebb_vec3 a = ebb_minus(ebb_surface_point(on, placed->at[0], placed->at[1]), room->origin);
    const ebb_vec3 b =
        ebb_minus(ebb_plus(ebb_surface_point(on, placed->at[0] + size[0], placed->at[1] + size[1]),
                           -unit->depth, ebb_surface_normal(on)),
                  room->origin);
    box->axis = on->axis;
    box->up = on->side == 0;
    box->body = unit->depth >= FLATTEST;
    set_bound(a.x, b.x, room->size[0], &box->low[0], &box->high[0]);
    set_bound(a.y, b.y, room->size[1], &box->low[1], &box->high[1]);
    set_bound(a.z, b.z, room->size[2], &box->low[2], &box->high[2]);
}

/* ---- planes ---------------------------------------------------------------------------------- */

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* Walls first and last; what is close to one of them, or to the plane before, is the same. */
static bool set_planes(ebb_arena *arena, ebb_cells *c, int axis, double length)
{
    double *value = EBB_NEW(arena, double, 2 * c->n_boxes), *at;
    size_t n = 0, m = 0;
    c->at[axis] = at = EBB_NEW(arena, double, 2 * c->n_boxes + 2);
    if (value == NULL || at == NULL)
        return false;
    for (size_t b = 0; b < c->n_boxes; b++)
        if (c->box[b].body) {
            value[n++] = c->box[b].low[axis];
            value[n++] = c->box[b].high[axis];
        }
    qsort(value, n, sizeof *value, by_value);
    at[m++] = 0;
    for (size_t i = 0; i < n; i++)
        if (value[i] - at[m - 1] > SAME && length - value[i] > SAME)
            at[m++] = value[i];
    at[m] = length;
    c->n[axis] = m;
    return true;
}

/* Where boxes touch in a line alone a plug of this width closes the place; it needs planes of its
 * own, none of them too close to another. */
static bool add_plug_planes(ebb_arena *arena, ebb_cells *c, int axis)
{
    const size_t n = c->n[axis];
    double *at = EBB_NEW(arena, double, 3 * n + 1);
    size_t m = n + 1;
    if (at == NULL)
        return false;
    memcpy(at, c->at[axis], (n + 1) * sizeof *at);
    for (size_t i = 2; i < 2 * n; i++) { /* both sides of every plane within the room */
        const double value = at[i / 2] + (i % 2 ? PLUG : -PLUG);
        bool clear = value > 0 && value < at[n];
        for (size_t k = 0; k < m; k++)
            clear = clear && fabs(at[k] - value) > PLUG / 4;
        if (clear)
            at[m++] = value;
    }
    qsort(at, m, sizeof *at, by_value);
    c->at[axis] = at;
    c->n[axis] = m - 1;
    return true;
}

/* Number of the plane nearest to a coordinate. */
static size_t plane_of(const ebb_cells *c, int axis, double value)
{
    size_t best = 0;
    for (size_t i = 1; i <= c->n[axis]; i++)
        if (fabs(c->at[axis][i] - value) < fabs(c->at[axis][best] - value))
            best = i;
    return best;
}

static void fill_box(ebb_cells *c, ebb_verify_box *box)
{
    for (int d = 0; d < 3; d++) {
        box->from[d] = plane_of(c, d, box->low[d]);
        box->until[d] = plane_of(c, d, box->high[d]);
    }
    size_t i[3];
    for (i[0] = box->from[0]; box->body && i[0] < box->until[0]; i[0]++)
        for (i[1] = box->from[1]; i[1] < box->until[1]; i[1]++)
            for (i[2] = box->from[2]; i[2] < box->until[2]; i[2]++)
                c->kind[ebb_cell(c, i)] = EBB_CELL_UNIT;
}

/* ---- all ------------------------------------------------------------------------------------- */

ebb_status ebb_cells_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                          size_t n, const ebb_placed *placed, ebb_cells *cells)
{
    *cells = (ebb_cells){.n_boxes = n, .box = EBB_NEW(arena, ebb_verify_box, n)};
    if (room->shaped)
        return ebb_fail(ctx, EBB_E_RANGE,
                        "the room is no box, and units as bodies are cut out of boxes only");
    bool ok = cells->box != NULL;
    for (size_t b = 0; ok && b < n; b++) {
        if (placed[b].unit >= job->n_units || placed[b].surface >= room->n_surfaces)
            return ebb_fail(ctx, EBB_E_RANGE, "unit %zu or its surface does not exist", b + 1);
        set_box(job, room, &placed[b], &cells->box[b]);
    }
    for (int d = 0; ok && d < 3; d++)
        ok = set_planes(arena, cells, d, room->size[d]) && add_plug_planes(arena, cells, d);
    if (ok)
        cells->kind = EBB_NEW(arena, unsigned char, cells->n[0] * cells->n[1] * cells->n[2]);
    if (!ok || cells->kind == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory to cut units out of a room");
    for (size_t b = 0; b < n; b++)
        fill_box(cells, &cells->box[b]);
    return EBB_OK;
}
