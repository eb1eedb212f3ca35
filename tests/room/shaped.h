/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rooms of any shape for tests: their text, their solid, and what must hold of every one. */
#ifndef TESTS_ROOM_SHAPED_H
#define TESTS_ROOM_SHAPED_H

#include "helper.h"

#include <math.h>

/* A job with one room of these shape keys, a seat and a speaker at the same place. */
static inline const char *shaped_text(const char *shape, const char *place, char *out, size_t size)
{
    const int n = snprintf(out, size,
                           HEAD ROOM_HEAD "%s" ROOM_SURFACES "    seats: [{name: lead, at: [%s]}]\n"
                                          "    speakers: [{name: left, at: [%s]}]\n",
                           shape, place, place);
    assert_true(n > 0 && (size_t)n < size);
    return out;
}

static inline const ebb_room *shaped_room(fixture *f, const char *shape, const char *place)
{
    char text[8192];
    return good_job(f, shaped_text(shape, place, text, sizeof text))->rooms;
}

static inline void assert_close(double got, double wanted, double within)
{
    if (!(fabs(got - wanted) <= within))
        print_error("got %.15g, wanted %.15g\n", got, wanted);
    assert_true(fabs(got - wanted) <= within);
}

static inline size_t surface_named(const ebb_room *room, const char *name)
{
    for (size_t i = 0; i < room->n_surfaces; i++)
        if (strcmp(room->surfaces[i].name, name) == 0)
            return i;
    print_error("there is no %s\n", name);
    fail();
    return 0;
}

static inline void assert_area(const ebb_room *room, const char *name, double wanted)
{
    assert_close(ebb_surface_area(&room->surfaces[surface_named(room, name)]), wanted, 1e-7);
}

/* Corners less edges plus facets, less the holes of facets: 2 for a ball, 0 with one hole through
 * it. Every edge is in two facets. */
static inline int euler_number(const ebb_solid *solid)
{
    int edges = 0, holes = 0;
    bool used[1024] = {false};
    assert_true(solid->n_corners <= 1024);
    for (size_t f = 0; f < solid->n_facets; f++) {
        size_t n = 0;
        for (size_t l = 0; l < solid->facet[f].n_loops; l++)
            n += solid->facet[f].loop[l];
        for (size_t i = 0; i < n; i++)
            used[solid->facet[f].corner[i]] = true;
        edges += (int)n;
        holes += (int)solid->facet[f].n_loops - 1;
    }
    int corners = 0;
    for (size_t i = 0; i < solid->n_corners; i++)
        corners += used[i];
    assert_int_equal(edges % 2, 0);
    return corners - edges / 2 + (int)solid->n_facets - holes;
}

/* What the surfaces say must be what the solid says. */
static inline void check_room(const ebb_room *room)
{
    const char *why = NULL;
    ebb_arena *arena = ebb_arena_new(NULL);
    assert_true(room->shaped);
    assert_non_null(room->solid);
    const ebb_status status = ebb_solid_check(arena, room->solid, &why);
    if (status != EBB_OK)
        print_error("%s\n", why);
    assert_int_equal(status, EBB_OK);
    ebb_arena_free(arena);
    assert_int_equal(room->solid->n_surfaces, room->n_surfaces);
    double sum[3] = {0}, whole = 0;
    for (size_t i = 0; i < room->n_surfaces; i++) {
        const ebb_surface *s = &room->surfaces[i];
        const double area = ebb_surface_area(s);
        const ebb_vec3 n = ebb_surface_normal(s);
        assert_close(ebb_solid_area(room->solid, i), area, 1e-6);
        assert_int_equal(s->axis, -1);
        assert_true(area > 0 && s->n_loops > 0);
        assert_close(n.x * n.x + n.y * n.y + n.z * n.z, 1, 1e-12);
        sum[0] += n.x * area;
        sum[1] += n.y * area;
        sum[2] += n.z * area;
        whole += area;
    }
    /* The normals of a closed solid, weighed by their areas, cancel. */
    for (int d = 0; d < 3; d++)
        assert_close(sum[d], 0, 1e-6);
    assert_close(ebb_room_area(room), whole, 1e-9);
}

/* Points of the outline of a surface lie on the solid. */
static inline void check_outlines(const ebb_room *room)
{
    for (size_t i = 0; i < room->n_surfaces; i++) {
        const ebb_surface *s = &room->surfaces[i];
        const double(*p)[2] = s->point;
        for (size_t l = 0; l < s->n_loops; p += s->loop[l++])
            for (size_t k = 0; k < s->loop[l]; k++) {
                ebb_vec3 at = ebb_surface_point(s, p[k][0], p[k][1]);
                double nearest = INFINITY;
                for (size_t c = 0; c < room->solid->n_corners; c++) {
                    const ebb_vec3 q = room->solid->corner[c];
                    nearest =
                        fmin(nearest,
                             hypot(hypot(q.x + room->origin.x - at.x, q.y + room->origin.y - at.y),
                                   q.z - at.z));
                }
                assert_close(nearest, 0, 2e-6);
            }
    }
}

#endif
