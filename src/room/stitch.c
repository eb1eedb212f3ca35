/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * From parts of planes to a closed solid: corners that are the same point become one, and corners
 * that lie on another facet's edge are put into that edge, so that every edge is shared whole.
 */
#include "shape.h"

#include "vector.h"

/* The corner at a place, new if there is none. */
static size_t corner_at(ebb_room_corners *all, ebb_vec3 at)
{
    for (size_t i = 0; i < all->n; i++)
        if (ebb_length(ebb_minus(all->at[i], at)) <= EBB_ROOM_SAME)
            return i;
    all->at[all->n] = at;
    return all->n++;
}

/* A corner on the way from a to b, beyond `after` metres: the next one and how far it is. */
static size_t next_between(const ebb_room_corners *all, size_t a, size_t b, double *after)
{
    const ebb_vec3 o = all->at[a], way = ebb_minus(all->at[b], o);
    const double length = ebb_length(way);
    double best = length - EBB_ROOM_SAME;
    size_t found = b;
    for (size_t i = 0; i < all->n; i++) {
        const ebb_vec3 to = ebb_minus(all->at[i], o);
        const double s = ebb_dot(to, way) / length;
        if (!(s > *after + EBB_ROOM_SAME && s < best))
            continue;
        if (ebb_length(ebb_plus(to, -s / length, way)) > 2 * EBB_ROOM_SAME)
            continue;
        best = s;
        found = i;
    }
    *after = best;
    return found;
}

/* Ways of a loop from corner to corner, by all that lie between; way[0..n), n returned. There are
 * never near `most` unless the loop is beyond help, which the check of the solid then tells. */
static size_t walk(ebb_room_corners *all, const ebb_room_loop *loop, size_t (*way)[2], size_t most)
{
    size_t n = 0;
    for (size_t i = 0; i < loop->n; i++) {
        size_t a = corner_at(all, loop->point[i]);
        const size_t b = corner_at(all, loop->point[(i + 1) % loop->n]);
        if (a == b)
            continue;
        double after = 0;
        const size_t from = a;
        while (a != b && n < most) {
            const size_t c = next_between(all, from, b, &after);
            way[n][0] = a;
            way[n++][1] = c;
            a = c;
        }
    }
    return n;
}

/* Every loop that is no hole begins a facet. */
static bool build_facets(ebb_arena *keep, const ebb_room_parts *parts, ebb_solid *solid,
                         ebb_facet *facet)
{
    for (size_t p = 0; p < parts->n; p++)
        for (size_t l = 0; l < parts->part[p].n_loops;) {
            const ebb_room_part *part = &parts->part[p];
            size_t n = 0, end = l + 1;
            while (end < part->n_loops && part->loop[end].hole)
                end++;
            for (size_t k = l; k < end; k++)
                n += part->loop[k].n;
            size_t *count = EBB_NEW(keep, size_t, end - l), *corner = EBB_NEW(keep, size_t, n);
            if (count == NULL || corner == NULL)
                return false;
            facet[solid->n_facets++] = (ebb_facet){p, end - l, count, corner};
            for (size_t k = l; k < end; k++) {
                *count++ = part->loop[k].n;
                for (size_t i = 0; i < part->loop[k].n; i++)
                    *corner++ = part->loop[k].corner[i];
            }
            l = end;
        }
    return true;
}

/* Replaces the loops of a part by those along the corners of all parts. */
static bool join_part(ebb_arena *arena, ebb_room_corners *all, ebb_room_part *part)
{
    size_t points = 0, n = 0;
    for (size_t l = 0; l < part->n_loops; l++)
        points += part->loop[l].n;
    const size_t most = points + 4 * part->n_loops * all->n;
    size_t(*way)[2] = ebb_arena_alloc(arena, most, sizeof *way);
    if (way == NULL)
        return false;
    for (size_t l = 0; l < part->n_loops; l++)
        n += walk(all, &part->loop[l], way + n, most - n);
    return ebb_room_trace(arena, all, way, n, part);
}

/* All corners first: only then is it known which lie on the edges of others. */
ebb_solid *ebb_room_stitch(ebb_arena *keep, ebb_arena *arena, ebb_room_parts *parts)
{
    size_t points = 0, loops = 0;
    for (size_t p = 0; p < parts->n; p++)
        for (size_t l = 0; l < parts->part[p].n_loops; l++)
            points += parts->part[p].loop[l].n;
    ebb_room_corners all = {0, EBB_NEW(keep, ebb_vec3, points)};
    if (all.at == NULL)
        return NULL;
    for (size_t p = 0; p < parts->n; p++)
        for (size_t l = 0; l < parts->part[p].n_loops; l++)
            for (size_t i = 0; i < parts->part[p].loop[l].n; i++)
                (void)corner_at(&all, parts->part[p].loop[l].point[i]);
    for (size_t p = 0; p < parts->n; p++) {
        if (!join_part(arena, &all, &parts->part[p]))
            return NULL;
        loops += parts->part[p].n_loops;
    }
    ebb_solid *solid = EBB_NEW(keep, ebb_solid, 1);
    ebb_facet *facet = EBB_NEW(keep, ebb_facet, loops);
    if (solid == NULL || facet == NULL || !build_facets(keep, parts, solid, facet))
        return NULL;
    solid->n_surfaces = parts->n;
    solid->corner = all.at;
    solid->facet = facet;
    solid->n_corners = all.n;
    return solid;
}
