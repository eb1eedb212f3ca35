/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Is a polyhedron one that a room can be? Checked for whoever made it, by other means than it was
 * made by. */
#include <ebb/solid.h>

#include "vector.h"

#define FLAT 1e-6     /* m that a corner may lie off the plane of its facet */
#define SMALLEST 1e-9 /* m2 and m3 of facets and solids */

static const char no_memory[] = "no memory";

/* What is being checked, and where it found what. */
typedef struct check {
    ebb_arena *arena;
    const ebb_solid *solid;
    const char *why;
} check;

static bool wrong(check *c, const char *why)
{
    c->why = why != NULL ? why : no_memory;
    return false;
}

static const char *at_corner(check *c, const char *what, size_t corner)
{
    const ebb_vec3 p = c->solid->corner[corner];
    return ebb_arena_format(c->arena, "%s at %.6g m, %.6g m, %.6g m", what, p.x, p.y, p.z);
}

/* ---- one facet ------------------------------------------------------------------------------- */

static size_t corners_of(const ebb_facet *facet)
{
    size_t n = 0;
    for (size_t l = 0; l < facet->n_loops; l++)
        n += facet->loop[l];
    return n;
}

/* Area times the unit normal of one loop, into the room for outer loops. */
static ebb_vec3 loop_area(const ebb_solid *solid, const size_t *corner, size_t n)
{
    ebb_vec3 sum = {0, 0, 0};
    for (size_t i = 1; i + 1 < n; i++) {
        const ebb_vec3 a = ebb_minus(solid->corner[corner[i]], solid->corner[corner[0]]);
        const ebb_vec3 b = ebb_minus(solid->corner[corner[i + 1]], solid->corner[corner[0]]);
        sum = ebb_plus(sum, 0.5, ebb_cross(a, b));
    }
    return sum;
}

/* Numbers first: everything after relies on them. */
static bool check_numbers(check *c, const ebb_facet *facet)
{
    if (facet->surface >= c->solid->n_surfaces)
        return wrong(c, ebb_arena_format(c->arena, "a facet names surface %zu of %zu",
                                         facet->surface, c->solid->n_surfaces));
    if (facet->n_loops == 0)
        return wrong(c, "a facet has no outline");
    for (size_t l = 0; l < facet->n_loops; l++)
        if (facet->loop[l] < 3)
            return wrong(c, "an outline has less than three corners");
    for (size_t i = 0; i < corners_of(facet); i++) {
        if (facet->corner[i] >= c->solid->n_corners)
            return wrong(c, ebb_arena_format(c->arena, "a facet names corner %zu of %zu",
                                             facet->corner[i], c->solid->n_corners));
        const ebb_vec3 p = c->solid->corner[facet->corner[i]];
        if (!isfinite(p.x) || !isfinite(p.y) || !isfinite(p.z))
            return wrong(c, "a corner is not a finite point");
    }
    return true;
}

/* The plane is that of the outer loop; holes turn the other way and are smaller. */
static bool check_flat(check *c, const ebb_facet *facet)
{
    const ebb_vec3 outer = loop_area(c->solid, facet->corner, facet->loop[0]);
    const double area = ebb_length(outer);
    if (!(area > SMALLEST))
        return wrong(c, at_corner(c, "a facet has no area", facet->corner[0]));
    const ebb_vec3 from = c->solid->corner[facet->corner[0]];
    for (size_t i = 0; i < corners_of(facet); i++) {
        const ebb_vec3 way = ebb_minus(c->solid->corner[facet->corner[i]], from);
        if (fabs(ebb_dot(way, outer)) > FLAT * area)
            return wrong(c, at_corner(c, "a facet is not flat", facet->corner[i]));
    }
    double holes = 0;
    const size_t *corner = facet->corner + facet->loop[0];
    for (size_t l = 1; l < facet->n_loops; corner += facet->loop[l++]) {
        const double hole = ebb_dot(loop_area(c->solid, corner, facet->loop[l]), outer) / area;
        if (!(hole < 0))
            return wrong(c, at_corner(c, "a hole runs the same way as its outline", *corner));
        holes -= hole;
    }
    return holes < area ||
           wrong(c, at_corner(c, "holes leave nothing of a facet", facet->corner[0]));
}

/* ---- crossing lines -------------------------------------------------------------------------- */

/* An edge, seen along the axis that its facet faces most. */
typedef struct edge {
    size_t from, to;
    double a[2], b[2];
} edge;

static void seen_along(ebb_vec3 p, int axis, double out[2])
{
    out[0] = axis == 0 ? p.y : p.x;
    out[1] = axis == 2 ? p.y : p.z;
}

static edge *edges_of(check *c, const ebb_facet *facet)
{
    const ebb_vec3 n = loop_area(c->solid, facet->corner, facet->loop[0]);
    const double x = fabs(n.x), y = fabs(n.y), z = fabs(n.z);
    const int axis = x >= y && x >= z ? 0 : y >= z ? 1 : 2;
    edge *all = EBB_NEW(c->arena, edge, corners_of(facet));
    const size_t *corner = facet->corner;
    size_t k = 0;
    for (size_t l = 0; all != NULL && l < facet->n_loops; corner += facet->loop[l++])
        for (size_t i = 0; i < facet->loop[l]; i++, k++) {
            all[k].from = corner[i];
            all[k].to = corner[(i + 1) % facet->loop[l]];
            seen_along(c->solid->corner[all[k].from], axis, all[k].a);
            seen_along(c->solid->corner[all[k].to], axis, all[k].b);
        }
    return all;
}

/* Do two edges without a common corner have a point in common? Or do two with one lie on each
 * other? */
static bool cross(const edge *e, const edge *f)
{
    const bool joined =
        e->from == f->from || e->from == f->to || e->to == f->from || e->to == f->to;
    const double *const end[4] = {f->a, f->b, e->a, e->b};
    const size_t name[4] = {f->from, f->to, e->from, e->to};
    for (int i = 0; i < 4; i++) {
        const edge *on = i < 2 ? e : f;
        if (name[i] != on->from && name[i] != on->to &&
            ebb_room_distance(on->a, on->b, end[i]) < 1e-9)
            return true;
    }
    return !joined && ebb_room_divides(e->a, e->b, f->a, f->b) &&
           ebb_room_divides(f->a, f->b, e->a, e->b);
}

static bool check_lines(check *c, const ebb_facet *facet)
{
    const size_t n = corners_of(facet);
    const edge *all = edges_of(c, facet);
    if (all == NULL)
        return wrong(c, NULL);
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++)
            if (cross(&all[i], &all[j]))
                return wrong(
                    c, at_corner(c, "lines of a facet cross, one from the corner", all[i].from));
    return true;
}

/* Is every hole within its outline? By one corner, since no lines cross. */
static bool check_holes(check *c, const ebb_facet *facet)
{
    const edge *all = edges_of(c, facet);
    if (all == NULL)
        return wrong(c, NULL);
    size_t first = facet->loop[0];
    for (size_t l = 1; l < facet->n_loops; first += facet->loop[l++]) {
        bool inside = false;
        for (size_t i = 0; i < facet->loop[0]; i++)
            inside = inside != ebb_room_crosses_ray(all[i].a, all[i].b, all[first].a);
        if (!inside)
            return wrong(c, at_corner(c, "a hole lies outside its outline", all[first].from));
    }
    return true;
}

/* ---- the whole ------------------------------------------------------------------------------- */

/* Each directed edge once, and its opposite once. */
static bool check_closed(check *c)
{
    const ebb_solid *solid = c->solid;
    size_t n = 0, k = 0;
    for (size_t f = 0; f < solid->n_facets; f++)
        n += corners_of(&solid->facet[f]);
    size_t(*way)[2] = ebb_arena_alloc(c->arena, n, sizeof *way);
    if (way == NULL)
        return wrong(c, NULL);
    for (size_t f = 0; f < solid->n_facets; f++) {
        const ebb_facet *facet = &solid->facet[f];
        const size_t *corner = facet->corner;
        for (size_t l = 0; l < facet->n_loops; corner += facet->loop[l++])
            for (size_t i = 0; i < facet->loop[l]; i++, k++) {
                way[k][0] = corner[i];
                way[k][1] = corner[(i + 1) % facet->loop[l]];
            }
    }
    for (size_t i = 0; i < n; i++) {
        size_t same = 0, back = 0;
        for (size_t j = 0; j < n; j++) {
            same += way[j][0] == way[i][0] && way[j][1] == way[i][1];
            back += way[j][0] == way[i][1] && way[j][1] == way[i][0];
        }
        if (same != 1)
            return wrong(c, at_corner(c,
                                      "more than two facets meet in one edge, or two run the "
                                      "same way along it, from the corner",
                                      way[i][0]));
        if (back != 1)
            return wrong(
                c, at_corner(c, "the solid is open along an edge from the corner", way[i][0]));
    }
    return true;
}

ebb_status ebb_solid_check(ebb_arena *arena, const ebb_solid *solid, const char **why)
{
    check c = {arena, solid, NULL};
    bool good = solid->n_facets >= 4 || wrong(&c, "a solid has at least four facets");
    for (size_t f = 0; f < solid->n_facets && good; f++) {
        const ebb_facet *facet = &solid->facet[f];
        good = check_numbers(&c, facet) && check_flat(&c, facet) && check_lines(&c, facet) &&
               check_holes(&c, facet);
    }
    good = good && check_closed(&c);
    if (good && !(ebb_solid_volume(solid) > SMALLEST))
        good = wrong(&c, "the facets face outwards, or the solid has no volume");
    *why = c.why;
    return good ? EBB_OK : c.why == no_memory ? EBB_E_NOMEM : EBB_E_NUMERIC;
}
