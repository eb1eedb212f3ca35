/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Finds the element that holds a point, and evaluates there.
 */
#include "space.h"

#include <cblas.h>
#include <math.h>
#include <string.h>

#define OUTSIDE 1e-6 /* m, a point may lie outside the mesh */
#define CELLS_MOST 64

/* A grid over the box around the mesh; each cell lists the elements whose boxes touch it. */
struct ebb_finder {
    double low[3], cell[3]; /* m */
    size_t n[3];
    size_t *from;    /* [cells + 1] */
    size_t *element; /* [from[cells]] */
};

/* Coordinates by number, for loops over axes. */
static void put_point(ebb_vec3 at, double out[3])
{
    out[0] = at.x;
    out[1] = at.y;
    out[2] = at.z;
}

/* Boxes are grown by more than a point may lie outside, so that the cell of such a point still
 * lists its element. */
static void widen(const ebb_space *space, const ebb_element *element, double low[3], double high[3])
{
    for (int c = 0; c < 4; c++) {
        double at[3];
        put_point(space->mesh.node[element->corner[c]], at);
        for (int d = 0; d < 3; d++) {
            low[d] = fmin(low[d], at[d] - 2 * OUTSIDE);
            high[d] = fmax(high[d], at[d] + 2 * OUTSIDE);
        }
    }
}

/* Cell of a coordinate along an axis; what lies beyond the grid counts as its edge. */
static size_t cell_of(const struct ebb_finder *f, int d, double x)
{
    const double cell = (x - f->low[d]) / f->cell[d];
    if (!(cell > 0))
        return 0;
    return cell < (double)f->n[d] ? (size_t)cell : f->n[d] - 1;
}

/* About one cell per element. */
static void lay_grid(const ebb_space *space, struct ebb_finder *f)
{
    double high[3] = {-INFINITY, -INFINITY, -INFINITY};
    for (int d = 0; d < 3; d++)
        f->low[d] = INFINITY;
    for (size_t t = 0; t < space->mesh.n_tets; t++)
        widen(space, &space->element[t], f->low, high);
    const double box = (high[0] - f->low[0]) * (high[1] - f->low[1]) * (high[2] - f->low[2]);
    const double side = cbrt(box / (double)space->mesh.n_tets);
    for (int d = 0; d < 3; d++) {
        const double n = ceil((high[d] - f->low[d]) / side);
        f->n[d] = n >= 1 ? n < CELLS_MOST ? (size_t)n : CELLS_MOST : 1;
        f->cell[d] = (high[d] - f->low[d]) / (double)f->n[d];
    }
}

/* Walks over the cells that an element's box touches: counts them, or writes the element down. */
static void enter(const ebb_space *space, size_t t, struct ebb_finder *f, size_t *next)
{
    double low[3] = {INFINITY, INFINITY, INFINITY}, high[3] = {-INFINITY, -INFINITY, -INFINITY};
    size_t a[3], b[3];
    widen(space, &space->element[t], low, high);
    for (int d = 0; d < 3; d++) {
        a[d] = cell_of(f, d, low[d]);
        b[d] = cell_of(f, d, high[d]);
    }
    for (size_t k = a[2]; k <= b[2]; k++)
        for (size_t j = a[1]; j <= b[1]; j++)
            for (size_t i = a[0]; i <= b[0]; i++) {
                size_t *at = &next[(k * f->n[1] + j) * f->n[0] + i];
                if (f->element)
                    f->element[*at] = t;
                ++*at;
            }
}

/* Counted first, then filled: two walks over the same cells instead of lists that grow. */
ebb_status ebb_space_index(ebb_ctx *ctx, ebb_space *space)
{
    struct ebb_finder *f = EBB_NEW(space->arena, struct ebb_finder, 1);
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_status status = EBB_E_NOMEM;
    if (f) {
        lay_grid(space, f);
        const size_t cells = f->n[0] * f->n[1] * f->n[2];
        size_t *next = EBB_NEW(scratch, size_t, cells + 1);
        f->from = EBB_NEW(space->arena, size_t, cells + 1);
        for (size_t t = 0; next && f->from && t < space->mesh.n_tets; t++)
            enter(space, t, f, f->from + 1);
        for (size_t c = 0; next && f->from && c < cells; c++)
            f->from[c + 1] += f->from[c];
        if (next && f->from)
            f->element = EBB_NEW(space->arena, size_t, f->from[cells]);
        if (f->element) {
            memcpy(next, f->from, cells * sizeof *next);
            for (size_t t = 0; t < space->mesh.n_tets; t++)
                enter(space, t, f, next);
            space->finder = f;
            status = EBB_OK;
        }
    }
    ebb_arena_free(scratch);
    return status == EBB_OK ? EBB_OK
                            : ebb_fail(ctx, status, "out of memory for a grid of elements");
}

/* Barycentric place of a point, and how far, in metres, it is beyond the worst face. */
static double place_in(const ebb_space *space, const ebb_element *element, const double at[3],
                       double place[4])
{
    double origin[3], worst = -INFINITY, sum[3] = {0};
    put_point(space->mesh.node[element->corner[0]], origin);
    place[0] = 1;
    for (int a = 0; a < 3; a++) {
        double length = 0;
        place[a + 1] = 0;
        for (int d = 0; d < 3; d++) {
            place[a + 1] += element->slope[a][d] * (at[d] - origin[d]);
            length += element->slope[a][d] * element->slope[a][d];
            sum[d] += element->slope[a][d];
        }
        place[0] -= place[a + 1];
        worst = fmax(worst, -place[a + 1] / sqrt(length));
    }
    const double length = sqrt(sum[0] * sum[0] + sum[1] * sum[1] + sum[2] * sum[2]);
    return fmax(worst, -place[0] / length);
}

/* The element that a point is deepest in, or least outside of: on shared faces any of them is
 * right, the field is continuous. The first that holds it ends the search. */
ebb_status ebb_space_find(const ebb_space *space, ebb_vec3 point, size_t *element, double place[4])
{
    const struct ebb_finder *f = space->finder;
    double at[3], least = INFINITY;
    put_point(point, at);
    if (!isfinite(at[0] + at[1] + at[2]))
        return EBB_E_RANGE;
    const size_t cell =
        (cell_of(f, 2, at[2]) * f->n[1] + cell_of(f, 1, at[1])) * f->n[0] + cell_of(f, 0, at[0]);
    for (size_t i = f->from[cell]; i < f->from[cell + 1] && least > 0; i++) {
        double here[4];
        const double beyond = place_in(space, &space->element[f->element[i]], at, here);
        if (beyond < least) {
            least = beyond;
            *element = f->element[i];
            memcpy(place, here, sizeof here);
        }
    }
    return least <= OUTSIDE ? EBB_OK : EBB_E_RANGE;
}

/* ---- values ---------------------------------------------------------------------------------- */

/* Where it is, so that whoever asked can find his mistake. */
static ebb_status refuse(ebb_ctx *ctx, size_t p, ebb_vec3 at)
{
    return ebb_fail(ctx, EBB_E_RANGE, "point %zu at (%.4g, %.4g, %.4g) m lies outside the room", p,
                    at.x, at.y, at.z);
}

/* All or nothing: a row left half filled could pass for a value. */
ebb_status ebb_space_points(ebb_ctx *ctx, const ebb_space *space, size_t n, const ebb_vec3 *at,
                            double *out)
{
    memset(out, 0, n * space->size * sizeof *out);
    for (size_t p = 0; p < n; p++) {
        double place[4], value[EBB_TET_MOST];
        size_t element = 0;
        if (ebb_space_find(space, at[p], &element, place) != EBB_OK) {
            memset(out, 0, n * space->size * sizeof *out);
            return refuse(ctx, p, at[p]);
        }
        ebb_simplex_at(&space->simplex, place, value);
        for (size_t i = 0; i < space->simplex.n; i++)
            out[p * space->size + (size_t)space->element[element].freedom[i]] = value[i];
    }
    return EBB_OK;
}

/* Values of n functions at a place in an element. */
static void values_at(const ebb_space *space, size_t element, const double place[4], size_t n,
                      const double *x, double *out)
{
    const int *freedom = space->element[element].freedom;
    double value[EBB_TET_MOST];
    ebb_simplex_at(&space->simplex, place, value);
    for (size_t v = 0; v < n; v++) {
        out[v] = 0;
        for (size_t i = 0; i < space->simplex.n; i++)
            out[v] += value[i] * x[v * space->size + (size_t)freedom[i]];
    }
}

/* For pictures and checks, which have many points and few functions. */
ebb_status ebb_space_values(ebb_ctx *ctx, const ebb_space *space, size_t n, const double *x,
                            size_t n_points, const ebb_vec3 *at, double *out)
{
    for (size_t p = 0; p < n_points; p++) {
        double place[4];
        size_t element = 0;
        if (ebb_space_find(space, at[p], &element, place) != EBB_OK) {
            memset(out, 0, n * n_points * sizeof *out);
            return refuse(ctx, p, at[p]);
        }
        values_at(space, element, place, n, x, out + p * n);
    }
    return EBB_OK;
}

/* Share of the way along n points. */
static double part_way(size_t i, size_t n)
{
    return n > 1 ? (double)i / (double)(n - 1) : 0;
}

/* Points outside are no error here: the plane of a picture is larger than the room. */
ebb_status ebb_space_cut(ebb_ctx *ctx, const ebb_space *space, const double *x,
                         const ebb_rect *plane, const size_t n[2], double *out)
{
    if (n[0] == 0 || n[1] == 0)
        return ebb_fail(ctx, EBB_E_RANGE, "a cut of %zu by %zu points", n[0], n[1]);
    for (size_t j = 0; j < n[1]; j++)
        for (size_t i = 0; i < n[0]; i++) {
            const double a = part_way(i, n[0]), b = part_way(j, n[1]);
            const ebb_vec3 at = {plane->at.x + a * plane->along.x + b * plane->up.x,
                                 plane->at.y + a * plane->along.y + b * plane->up.y,
                                 plane->at.z + a * plane->along.z + b * plane->up.z};
            double place[4], *value = &out[j * n[0] + i];
            size_t element = 0;
            *value = NAN;
            if (ebb_space_find(space, at, &element, place) == EBB_OK)
                values_at(space, element, place, 1, x, value);
        }
    return EBB_OK;
}
