/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Where a mesh has to be finer than in the open room: at re-entrant edges, where the pressure is
 * not smooth; at edges that are themselves short; and in narrow gaps, such as under a body that
 * hangs a hand's breadth above the floor. In the latter two, elements as long as elsewhere would be
 * flat.
 */
#include "fine.h"

#include "flat.h"
#include <ebb/vec3.h>

#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846
#define SHARP (190.0 * PI / 180.0) /* air around an edge from which it counts as re-entrant */
#define FLATTEST 6.0               /* length of elements over the width of their gap */
#define INSIDE 1e-3                /* m: how far within its facet a border is looked from */
#define LOOKS 12                   /* places along a border */

/* An edge as a facet runs it. */
typedef struct border {
    size_t from, to, facet;
} border;

typedef struct finder {
    const ebb_solid *solid;
    const ebb_mesh_wish *wish;
    ebb_mesh_flat *flat; /* of every facet */
    double *widest;      /* widest gap in front of a facet's outline */
    border *border;
    size_t n;
} finder;

/* ---- gaps ------------------------------------------------------------------------------------ */

/* A corner in common: where facets meet at an angle there is no gap, however close they are. */
static bool do_meet(const ebb_facet *a, const ebb_facet *b)
{
    size_t n_a = 0, n_b = 0;
    for (size_t l = 0; l < a->n_loops; l++)
        n_a += a->loop[l];
    for (size_t l = 0; l < b->n_loops; l++)
        n_b += b->loop[l];
    for (size_t i = 0; i < n_a * n_b; i++)
        if (a->corner[i % n_a] == b->corner[i / n_a])
            return true;
    return false;
}

/* Width of the air in front of a point of a facet: to the nearest facet that looks back at it. */
static double gap_at(const finder *f, size_t facet, ebb_vec3 at)
{
    double gap = INFINITY;
    for (size_t o = 0; o < f->solid->n_facets; o++) {
        const double off = ebb_mesh_off(&f->flat[o], at);
        const double facing = ebb_dot(f->flat[o].normal, f->flat[facet].normal);
        if (off > 0 && off < gap && facing < -0.5 && FLATTEST * off < f->wish->edge &&
            !do_meet(&f->solid->facet[facet], &f->solid->facet[o]) &&
            ebb_mesh_facet_holds(f->solid, &f->solid->facet[o], &f->flat[o], at))
            gap = off;
    }
    return gap;
}

/* Looks at the air in front of a border from places along it. The part of it from the first to the
 * last place with a gap becomes a line. */
static void look_from(const finder *f, const border *b, ebb_mesh_fine *fine)
{
    const ebb_vec3 from = f->solid->corner[b->from];
    const ebb_vec3 along = ebb_minus(f->solid->corner[b->to], from);
    const ebb_vec3 inwards = ebb_cross(f->flat[b->facet].normal, along);
    const double length = sqrt(ebb_dot(along, along));
    double narrowest = INFINITY, first = 1, last = 0;
    for (int i = 0; i < LOOKS && length > 0; i++) {
        const double t = (i + 0.5) / LOOKS;
        const ebb_vec3 at = ebb_plus(ebb_plus(from, t, along), INSIDE / length, inwards);
        const double gap = gap_at(f, b->facet, at);
        f->widest[b->facet] = fmax(f->widest[b->facet], gap);
        narrowest = fmin(narrowest, gap);
        first = isfinite(gap) ? fmin(first, t - 0.5 / LOOKS) : first;
        last = isfinite(gap) ? t + 0.5 / LOOKS : last;
    }
    if (first < last)
        fine->line[fine->n_lines++] = (ebb_mesh_line){
            ebb_plus(from, first, along), ebb_plus(from, last, along), FLATTEST * narrowest};
}

/* ---- edges ----------------------------------------------------------------------------------- */

static void list_borders(finder *f)
{
    border *out = f->border;
    for (size_t i = 0; i < f->solid->n_facets; i++) {
        const size_t *corner = f->solid->facet[i].corner;
        for (size_t l = 0; l < f->solid->facet[i].n_loops; l++) {
            const size_t length = f->solid->facet[i].loop[l];
            for (size_t k = 0; k < length; k++)
                *out++ = (border){.from = corner[k], .to = corner[(k + 1) % length], .facet = i};
            corner += length;
        }
    }
}

/* The two facets of an edge become neighbours. */
static int compare(const void *left, const void *right)
{
    const border *a = left, *b = right;
    const size_t low_a = a->from < a->to ? a->from : a->to;
    const size_t low_b = b->from < b->to ? b->from : b->to;
    const size_t high_a = a->from + a->to - low_a, high_b = b->from + b->to - low_b;
    if (low_a != low_b)
        return low_a < low_b ? -1 : 1;
    if (high_a != high_b)
        return high_a < high_b ? -1 : 1;
    return (a->facet > b->facet) - (a->facet < b->facet);
}

/* Angle of the air around an edge: from the one facet through the air to the other. Each facet
 * extends to the left of the edge as it runs it, seen from the air. */
static double air_angle(const finder *f, const border *a, const border *b)
{
    const ebb_vec3 along = ebb_minus(f->solid->corner[a->to], f->solid->corner[a->from]);
    const ebb_vec3 up = f->flat[a->facet].normal;
    const ebb_vec3 out = ebb_cross(up, along);
    const ebb_vec3 other = ebb_cross(along, f->flat[b->facet].normal);
    const double length = sqrt(ebb_dot(along, along));
    const double angle = atan2(ebb_dot(other, up) * length, ebb_dot(other, out));
    return angle < 0 ? angle + 2 * PI : angle;
}

static double length_of(const finder *f, const border *b)
{
    return ebb_length(ebb_minus(f->solid->corner[b->to], f->solid->corner[b->from]));
}

/* An element can not be longer than an edge of the solid that it lies on; where one is short its
 * neighbours must not be much longer either. */
static double size_along(const finder *f, const border *a, const border *b)
{
    double size = fmin(f->wish->edge, length_of(f, a));
    if (f->wish->edge_min > 0 && air_angle(f, a, b) > SHARP)
        size = fmin(size, f->wish->edge_min);
    return size;
}

/* The other border of the edge of the i-th, if that is the first of the two; borders are sorted. */
static const border *other_of(const finder *f, size_t i)
{
    const border *a = &f->border[i];
    const bool pair = i + 1 < f->n && a[0].from == a[1].to && a[0].to == a[1].from;
    return pair ? a + 1 : NULL;
}

static bool start(finder *f, ebb_arena *arena)
{
    const ebb_solid *solid = f->solid;
    for (size_t i = 0; i < solid->n_facets; i++)
        for (size_t l = 0; l < solid->facet[i].n_loops; l++)
            f->n += solid->facet[i].loop[l];
    f->flat = EBB_NEW(arena, ebb_mesh_flat, solid->n_facets);
    f->border = EBB_NEW(arena, border, f->n);
    if (!f->flat || !f->border)
        return false;
    for (size_t i = 0; i < solid->n_facets; i++)
        f->flat[i] = ebb_mesh_flat_of(solid, &solid->facet[i]);
    list_borders(f);
    return true;
}

bool ebb_mesh_find_fine(ebb_arena *arena, const ebb_solid *solid, const ebb_mesh_wish *wish,
                        ebb_mesh_fine *fine)
{
    finder f = {.solid = solid, .wish = wish};
    *fine = (ebb_mesh_fine){0};
    if (!start(&f, arena))
        return false;
    f.widest = EBB_NEW(arena, double, solid->n_facets);
    fine->line = EBB_NEW(arena, ebb_mesh_line, 2 * f.n);
    fine->area = EBB_NEW(arena, ebb_mesh_area, solid->n_facets);
    if (!f.widest || !fine->line || !fine->area)
        return false;
    for (size_t i = 0; i < f.n; i++)
        look_from(&f, &f.border[i], fine);
    qsort(f.border, f.n, sizeof *f.border, compare);
    for (size_t i = 0; i < f.n; i++) {
        const border *a = &f.border[i], *b = other_of(&f, i);
        const double size = b != NULL ? size_along(&f, a, b) : wish->edge;
        if (size < wish->edge)
            fine->line[fine->n_lines++] =
                (ebb_mesh_line){solid->corner[a->from], solid->corner[a->to], size};
    }
    for (size_t i = 0; i < solid->n_facets; i++)
        if (FLATTEST * f.widest[i] < wish->edge)
            fine->area[fine->n_areas++] = (ebb_mesh_area){i, FLATTEST * f.widest[i]};
    return true;
}

double ebb_mesh_reentrant(ebb_arena *arena, const ebb_solid *solid)
{
    finder f = {.solid = solid};
    if (!start(&f, arena))
        return NAN;
    qsort(f.border, f.n, sizeof *f.border, compare);
    double sum = 0;
    for (size_t i = 0; i < f.n; i++) {
        const border *b = other_of(&f, i);
        if (b != NULL && air_angle(&f, &f.border[i], b) > SHARP)
            sum += length_of(&f, b);
    }
    return sum;
}
