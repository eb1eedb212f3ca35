/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The near field of a point. Elements of a quarter wave length can not carry 1/r. So a point and
 * its images in the walls beside it are taken in closed form, and the elements answer only what is
 * left: the smooth field that makes up for the slope of these on all walls. How far they are from
 * that by themselves is found at the lower shift, where no mode is near: it hardly depends on
 * frequency.
 */
#include "shaped.h"

#include <math.h>

#define PI 3.14159265358979323846
#define BESIDE 0.8 /* m, from a wall that gets an image */
#define PLANES 3   /* most walls with images */
#define GAUSS 10   /* points per direction of a triangle */

/* ---- the closed form ------------------------------------------------------------------------- */

/* Real part of e^{-jkr}/(4 pi r), or e^{-kappa r}/(4 pi r) for k2 = -kappa^2; its slope over r in
 * *slope. */
static double wave(double k2, double r, double *slope)
{
    double k = sqrt(fabs(k2)), far = k2 < 0 ? exp(-k * r) : cos(k * r);
    *slope = (k2 < 0 ? -k * far : -k * sin(k * r)) / (4 * PI * r) - far / (4 * PI * r * r);
    return far / (4 * PI * r);
}

double ebb_shaped_near_field(const ebb_shaped_point *point, ebb_vec3 at, double k2)
{
    double sum = 0, slope;
    for (size_t i = 0; i < point->n_images; i++)
        sum += wave(k2, ebb_length(ebb_minus(at, point->image[i])), &slope);
    return sum;
}

static double normal_slope(const ebb_shaped_point *point, ebb_vec3 at, const double normal[3],
                           double k2)
{
    double sum = 0;
    for (size_t i = 0; i < point->n_images; i++) {
        ebb_vec3 arm = ebb_minus(at, point->image[i]);
        double r = ebb_length(arm), slope;
        wave(k2, r, &slope);
        sum += slope * (arm.x * normal[0] + arm.y * normal[1] + arm.z * normal[2]) / r;
    }
    return sum;
}

/* ---- images ---------------------------------------------------------------------------------- */

static ebb_vec3 normal_of(const ebb_shaped_build *b, size_t t)
{
    const double *n = b->reduced->normal[t];
    return (ebb_vec3){n[0], n[1], n[2]};
}

/* How far a point is before the plane of a surface, m. */
static double before(const ebb_shaped_build *b, size_t t, ebb_vec3 at)
{
    const ebb_space *space = b->shaped->space;
    const ebb_wall *wall = &space->wall[space->wall_from[t]];
    return ebb_dot(ebb_minus(space->mesh.node[wall->corner[0]], at), normal_of(b, t));
}

/* The nearest planes that stand before a point and beside it; returns how many. */
static size_t planes_beside(const ebb_shaped_build *b, ebb_vec3 at, size_t found[PLANES])
{
    size_t n = 0;
    double reach[PLANES];
    for (size_t t = 0; t < b->reduced->n_faces; t++) {
        if (b->face[t].n_rows == 0)
            continue;
        double d = before(b, t, at);
        if (d < 0 || d > BESIDE || (n == PLANES && d >= reach[n - 1]))
            continue;
        size_t place = n < PLANES ? n++ : n - 1;
        while (place > 0 && reach[place - 1] > d) {
            reach[place] = reach[place - 1];
            found[place] = found[place - 1];
            place--;
        }
        reach[place] = d;
        found[place] = t;
    }
    return n;
}

/* A point and its reflections in every choice of the planes beside it. Whatever lies in the room
 * would be a second source: only what is outside it is an image. */
static void set_images(const ebb_shaped_build *b, ebb_shaped_point *point)
{
    size_t plane[PLANES], n = planes_beside(b, point->at, plane);
    point->image[point->n_images++] = point->at;
    for (size_t choice = 1; choice < (size_t)1 << n; choice++) {
        ebb_vec3 at = point->at, inside[1];
        size_t element;
        double place[4];
        for (size_t i = 0; i < n; i++)
            if (choice >> i & 1)
                at = ebb_plus(at, 2 * before(b, plane[i], at), normal_of(b, plane[i]));
        inside[0] = at;
        if (ebb_space_find(b->shaped->space, inside[0], &element, place) != EBB_OK)
            point->image[point->n_images++] = at;
    }
}

/* ---- what the elements answer ---------------------------------------------------------------- */

/* Points on a triangle, their weights for unit area, and the shape functions there. */
typedef struct rule {
    double place[GAUSS * GAUSS][3], weight[GAUSS * GAUSS];
    double value[GAUSS * GAUSS][EBB_TRI_MOST];
} rule;

/* A square folded to a triangle. The same for all triangles, and dear. */
static void fill_rule(const ebb_simplex *simplex, rule *r)
{
    double at[GAUSS], weight[GAUSS];
    ebb_gauss01(GAUSS, at, weight);
    for (int i = 0; i < GAUSS * GAUSS; i++) {
        const double u = at[i / GAUSS], v = at[i % GAUSS] * (1 - u);
        r->place[i][0] = 1 - u - v;
        r->place[i][1] = u;
        r->place[i][2] = v;
        r->weight[i] = 2 * (1 - u) * weight[i / GAUSS] * weight[i % GAUSS];
        ebb_simplex_face_at(simplex, r->place[i], r->value[i]);
    }
}

/* Adds what a wall's triangle makes of the slope: load -= integral of phi d/dn(near field). */
static void add_triangle(const ebb_shaped_build *b, const ebb_wall *wall, const rule *r,
                         const ebb_shaped_point *point, double k2, double *load)
{
    const ebb_space *space = b->shaped->space;
    const double *normal = b->reduced->normal[wall->surface];
    for (int i = 0; i < GAUSS * GAUSS; i++) {
        ebb_vec3 x = {0, 0, 0};
        for (int c = 0; c < 3; c++)
            x = ebb_plus(x, r->place[i][c], space->mesh.node[wall->corner[c]]);
        const double part = wall->area * r->weight[i] * normal_slope(point, x, normal, k2);
        for (size_t k = 0; k < space->simplex.n_face; k++)
            load[wall->freedom[k]] -= part * r->value[i][k];
    }
}

static void set_points(ebb_shaped_build *b)
{
    const ebb_geometry *geometry = b->geometry;
    for (size_t p = 0; p < geometry->n_points; p++) {
        b->shaped->point[p].at = geometry->points[p];
        set_images(b, &b->shaped->point[p]);
    }
}

/* What elements make of a point too much: their answer to what its closed form leaves to the walls,
 * less that to the point itself. Both hold all modes alike, so these need no care. */
static ebb_status near_errors(const ebb_shaped_build *b, const double *load)
{
    ebb_shaped *shaped = b->shaped;
    size_t length = shaped->length;
    double *rest = EBB_RAW(b->scratch, double, length);
    rule *r = EBB_RAW(b->scratch, rule, 1);
    if (!rest || !r)
        return EBB_E_NOMEM;
    fill_rule(&shaped->space->simplex, r);
    ebb_status status = EBB_OK;
    for (size_t p = 0; p < shaped->n_points && status == EBB_OK; p++) {
        ebb_shaped_point *point = &shaped->point[p];
        if (!(point->error = EBB_RAW(b->reduced->arena, double, length)))
            return EBB_E_NOMEM;
        for (size_t i = 0; i < length; i++)
            rest[i] = -load[p * length + i];
        for (size_t w = 0; w < shaped->space->mesh.n_faces; w++)
            add_triangle(b, &shaped->space->wall[w], r, point, shaped->shift[0], rest);
        status = ebb_shaped_solve(b->all->ctx, shaped->space, 0, 1, rest, point->error);
    }
    return status;
}

ebb_status ebb_shaped_points(ebb_shaped_build *b)
{
    ebb_shaped *shaped = b->shaped;
    size_t n = shaped->n_points = b->geometry->n_points;
    ebb_residuals answer = {0};
    double *load = EBB_RAW(b->scratch, double, n * shaped->length);
    shaped->point = EBB_NEW(b->reduced->arena, ebb_shaped_point, n);
    if (!load || !shaped->point)
        return EBB_E_NOMEM;
    set_points(b);
    ebb_status status = ebb_space_points(b->all->ctx, shaped->space, n, b->geometry->points, load);
    if (status == EBB_OK)
        status = ebb_shaped_residuals(b, b->reduced->arena, b->scratch, n, load, &answer);
    if (status != EBB_OK)
        return status;
    shaped->answer[0] = answer.vector[0];
    shaped->answer[1] = answer.vector[1];
    return near_errors(b, load);
}
