/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What other units leave free of a unit's front. */
#include "private.h"

#include <math.h>

/* A front as a rectangle of cells. */
typedef struct face {
    const ebb_cells *c;
    const ebb_verify_box *box;
    int along, up; /* axes in its plane */
    size_t plane;  /* of the grid */
} face;

static double width(const face *f, int axis, size_t from, size_t until)
{
    return f->c->at[axis][until] - f->c->at[axis][from];
}

/* Is there air before the front at this cell of it? */
static bool is_free(const face *f, size_t u, size_t v)
{
    size_t i[3];
    const int axis = f->box->axis;
    if (f->box->up ? f->plane == f->c->n[axis] : f->plane == 0)
        return false;
    i[axis] = f->box->up ? f->plane : f->plane - 1;
    i[f->along] = u;
    i[f->up] = v;
    return f->c->kind[ebb_cell(f->c, i)] == EBB_CELL_AIR;
}

static double free_area(const face *f)
{
    double area = 0;
    for (size_t u = f->box->from[f->along]; u < f->box->until[f->along]; u++)
        for (size_t v = f->box->from[f->up]; v < f->box->until[f->up]; v++)
            if (is_free(f, u, v))
                area += width(f, f->along, u, u + 1) * width(f, f->up, v, v + 1);
    return area;
}

/* How far up columns of cells from `u` on are free, from cell v of both. */
static size_t free_until(const face *f, size_t u, size_t v, size_t most)
{
    size_t end = v;
    while (end < most && is_free(f, u, end))
        end++;
    return end;
}

/* The largest free rectangle by all of its lower corners and widths: fronts have few cells. */
static double largest(const face *f, size_t from[2], size_t until[2])
{
    const ebb_verify_box *box = f->box;
    double best = 0;
    for (size_t u = box->from[f->along]; u < box->until[f->along]; u++)
        for (size_t v = box->from[f->up]; v < box->until[f->up]; v++) {
            size_t top = box->until[f->up];
            for (size_t w = u; w < box->until[f->along] && top > v; w++) {
                top = free_until(f, w, v, top);
                const double area = width(f, f->along, u, w + 1) * width(f, f->up, v, top);
                if (!(area > best))
                    continue;
                best = area;
                from[0] = u;
                from[1] = v;
                until[0] = w + 1;
                until[1] = top;
            }
        }
    return best;
}

static ebb_vec3 along_axis(int axis, double length)
{
    return (ebb_vec3){axis == 0 ? length : 0, axis == 1 ? length : 0, axis == 2 ? length : 0};
}

void ebb_cells_front(const ebb_cells *cells, size_t box, ebb_body_front *front)
{
    const ebb_verify_box *b = &cells->box[box];
    const face f = {cells, b, (b->axis + 1) % 3, (b->axis + 2) % 3,
                    b->up ? b->until[b->axis] : b->from[b->axis]};
    size_t from[2] = {0, 0}, until[2] = {0, 0};
    *front = (ebb_body_front){.body = b->body};
    if (!b->body)
        return;
    const double whole = width(&f, f.along, b->from[f.along], b->until[f.along]) *
                         width(&f, f.up, b->from[f.up], b->until[f.up]);
    front->covered = fmax(0, 1 - free_area(&f) / whole);
    if (front->covered < 1e-9)
        front->covered = 0;
    if (!(largest(&f, from, until) > 0)) {
        front->covered = 1;
        return;
    }
    ebb_vec3 at = along_axis(b->axis, cells->at[b->axis][f.plane]);
    at = ebb_plus(at, 1, along_axis(f.along, cells->at[f.along][from[0]]));
    at = ebb_plus(at, 1, along_axis(f.up, cells->at[f.up][from[1]]));
    front->rect = (ebb_rect){EBB_FACES + 2 * (size_t)b->axis + (b->up ? 0 : 1), at,
                             along_axis(f.along, width(&f, f.along, from[0], until[0])),
                             along_axis(f.up, width(&f, f.up, from[1], until[1]))};
}
