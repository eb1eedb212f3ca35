/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The air of the cells as a closed solid: what lies in one plane, faces one way and hangs together
 * is one facet, with its holes. A corner stays in the loops through it only where some loop turns,
 * so that facets have whole edges in common and the mesher is bound to no line that is not there.
 */
#include "private.h"

#define NONE ((size_t)-1)

/* A loop of grid corners, all that it runs through. */
typedef struct loop {
    struct loop *next;
    size_t facet, n;
    size_t *at; /* [n] */
    bool hole;
} loop;

typedef struct tracer {
    const ebb_cells *c;
    ebb_arena *keep, *scratch;
    bool *turns; /* [corners of the grid] */
    loop *first, **last;
    size_t n_facets, n_loops;
    size_t surface_room;
    size_t *surface; /* [n_facets], of surface_room */
    bool failed;     /* out of memory */
    /* the plane at hand */
    int axis, side;
    size_t plane, n[2]; /* cells along the two axes in it */
    size_t *part;       /* [n[0] * n[1]] of what hangs together, 0: no facet */
    size_t *queue;
    bool *cut;   /* [n[1] + 1] lines across which nothing hangs together */
    size_t *way; /* [(n[0] + 1) * (n[1] + 1)] to which corner the outline goes on */
} tracer;

/* ---- the grid -------------------------------------------------------------------------------- */

/* Corner of the grid at a corner of the plane. The two axes in the plane and the third make a
 * right-handed frame. */
static size_t corner_of(const tracer *t, size_t u, size_t v)
{
    size_t i[3];
    i[t->axis] = t->plane;
    i[(t->axis + 1) % 3] = u;
    i[(t->axis + 2) % 3] = v;
    return (i[0] * (t->c->n[1] + 1) + i[1]) * (t->c->n[2] + 1) + i[2];
}

static ebb_vec3 place_of(const ebb_cells *c, size_t corner)
{
    const size_t nj = c->n[1] + 1, nk = c->n[2] + 1;
    return (ebb_vec3){c->at[0][corner / (nj * nk)], c->at[1][corner / nk % nj],
                      c->at[2][corner % nk]};
}

static bool is_air(const tracer *t, size_t layer, size_t u, size_t v)
{
    size_t i[3];
    i[t->axis] = layer;
    i[(t->axis + 1) % 3] = u;
    i[(t->axis + 2) % 3] = v;
    return t->c->kind[ebb_cell(t->c, i)] == EBB_CELL_AIR;
}

/* Does the air end in this plane, on the side that is looked for? */
static bool ends_here(const tracer *t, size_t u, size_t v)
{
    const size_t p = t->plane, n = t->c->n[t->axis];
    const bool below = p > 0 && is_air(t, p - 1, u, v), above = p < n && is_air(t, p, u, v);
    return t->side == 0 ? above && !below : below && !above;
}

/* ---- facets of a plane ------------------------------------------------------------------------
 */

/* Where two cells of a facet touch in a corner alone its outline would run through that corner
 * twice: the facet is divided along the line there. */
static void find_cuts(tracer *t)
{
    for (size_t v = 0; v <= t->n[1]; v++)
        t->cut[v] = false;
    for (size_t v = 1; v < t->n[1]; v++)
        for (size_t u = 1; u < t->n[0]; u++) {
            const bool a = ends_here(t, u - 1, v - 1), b = ends_here(t, u, v - 1);
            const bool c = ends_here(t, u - 1, v), d = ends_here(t, u, v);
            if (a == d && b == c && a != b)
                t->cut[v] = true;
        }
}

static void flood(tracer *t, size_t u, size_t v, size_t mark)
{
    size_t n = 0;
    t->part[v * t->n[0] + u] = mark;
    t->queue[n++] = v * t->n[0] + u;
    while (n > 0) {
        const size_t cell = t->queue[--n];
        u = cell % t->n[0];
        v = cell / t->n[0];
        const size_t beside[4] = {u > 0 ? cell - 1 : NONE, u + 1 < t->n[0] ? cell + 1 : NONE,
                                  t->cut[v] || v == 0 ? NONE : cell - t->n[0],
                                  t->cut[v + 1] || v + 1 == t->n[1] ? NONE : cell + t->n[0]};
        for (int k = 0; k < 4; k++) {
            const size_t b = beside[k];
            if (b == NONE || t->part[b] != 0 || !ends_here(t, b % t->n[0], b / t->n[0]))
                continue;
            t->part[b] = mark;
            t->queue[n++] = b;
        }
    }
}

static size_t find_parts(tracer *t)
{
    size_t parts = 0;
    find_cuts(t);
    for (size_t i = 0; i < t->n[0] * t->n[1]; i++)
        t->part[i] = 0;
    for (size_t v = 0; v < t->n[1]; v++)
        for (size_t u = 0; u < t->n[0]; u++)
            if (t->part[v * t->n[0] + u] == 0 && ends_here(t, u, v))
                flood(t, u, v, ++parts);
    return parts;
}

/* ---- outlines -------------------------------------------------------------------------------- */

static bool in_part(const tracer *t, size_t u, size_t v, size_t mark)
{
    return u < t->n[0] && v < t->n[1] && t->part[v * t->n[0] + u] == mark;
}

/* The outline of a part as a way from corner to corner, the part on its left. */
static void lay_way(tracer *t, size_t mark)
{
    const size_t wide = t->n[0] + 1;
    for (size_t i = 0; i < wide * (t->n[1] + 1); i++)
        t->way[i] = NONE;
    for (size_t v = 0; v < t->n[1]; v++)
        for (size_t u = 0; u < t->n[0]; u++) {
            if (!in_part(t, u, v, mark))
                continue;
            const size_t at = v * wide + u;
            if (!in_part(t, u, v - 1, mark)) /* below 0 is beyond the end, too */
                t->way[at] = at + 1;
            if (!in_part(t, u + 1, v, mark))
                t->way[at + 1] = at + 1 + wide;
            if (!in_part(t, u, v + 1, mark))
                t->way[at + 1 + wide] = at + wide;
            if (!in_part(t, u - 1, v, mark))
                t->way[at + wide] = at;
        }
}

/* Follows the way once round and takes it away. Twice the area that a loop runs round, in cells,
 * tells outlines from holes. */
static void take_loop(tracer *t, size_t from)
{
    const size_t wide = t->n[0] + 1;
    loop *made = EBB_NEW(t->scratch, loop, 1);
    size_t *at = EBB_NEW(t->scratch, size_t, wide * (t->n[1] + 1));
    if (made == NULL || at == NULL) {
        t->failed = true;
        return;
    }
    double area = 0;
    size_t before = NONE;
    *made = (loop){.facet = t->n_facets, .at = at};
    for (size_t i = from; t->way[i] != NONE;) {
        const size_t to = t->way[i];
        t->way[i] = NONE;
        area += (double)(i % wide) * (double)(to / wide) - (double)(to % wide) * (double)(i / wide);
        if (before != NONE && to - i != i - before)
            t->turns[corner_of(t, i % wide, i / wide)] = true;
        at[made->n++] = corner_of(t, i % wide, i / wide);
        before = i;
        i = to;
    }
    made->hole = area < 0;
    *t->last = made;
    t->last = &made->next;
    t->n_loops++;
}

static void take_part(tracer *t, size_t mark)
{
    lay_way(t, mark);
    /* The first corner met, row by row, is one where the outline turns; so it is of every hole. */
    for (size_t i = 0; i < (t->n[0] + 1) * (t->n[1] + 1) && !t->failed; i++)
        if (t->way[i] != NONE) {
            t->turns[corner_of(t, i % (t->n[0] + 1), i / (t->n[0] + 1))] = true;
            take_loop(t, i);
        }
    if (t->n_facets == t->surface_room)
        t->failed = true;
    if (t->failed)
        return;
    const bool wall = t->plane == (t->side == 0 ? 0 : t->c->n[t->axis]);
    t->surface[t->n_facets++] = (wall ? 0 : EBB_FACES) + 2 * (size_t)t->axis + (size_t)t->side;
}

static void take_plane(tracer *t)
{
    t->n[0] = t->c->n[(t->axis + 1) % 3];
    t->n[1] = t->c->n[(t->axis + 2) % 3];
    const size_t parts = find_parts(t);
    for (size_t p = 1; p <= parts && !t->failed; p++)
        take_part(t, p);
}

/* ---- the solid ------------------------------------------------------------------------------- */

/* Corners of a loop that stay, outlines counter-clockwise seen from the air. */
static size_t put_loop(const tracer *t, const loop *l, const size_t *number, size_t *out)
{
    size_t n = 0;
    for (size_t i = 0; i < l->n; i++) {
        const size_t at = l->at[t->surface[l->facet] % 2 == 0 ? i : l->n - 1 - i];
        if (number[at] != NONE)
            out[n++] = number[at];
    }
    return n;
}

/* Outline first, then the holes. */
static bool put_facet(const tracer *t, const size_t *number, size_t index, const loop **at,
                      ebb_facet *facet)
{
    const loop *const from = *at;
    size_t n_loops = 0, n = 0;
    for (; *at != NULL && (*at)->facet == index; *at = (*at)->next) {
        n_loops++;
        n += (*at)->n;
    }
    size_t *count = EBB_NEW(t->keep, size_t, n_loops), *corner = EBB_NEW(t->keep, size_t, n);
    if (count == NULL || corner == NULL)
        return false;
    *facet = (ebb_facet){t->surface[index], n_loops, count, corner};
    for (int holes = 0; holes < 2; holes++)
        for (const loop *l = from; l != *at; l = l->next)
            if (l->hole == (holes == 1)) {
                *count = put_loop(t, l, number, corner);
                corner += *count++;
            }
    return true;
}

static bool put_solid(const tracer *t, size_t corners, ebb_solid *solid)
{
    size_t *number = EBB_NEW(t->scratch, size_t, corners), n = 0;
    for (size_t i = 0; number != NULL && i < corners; i++)
        number[i] = t->turns[i] ? n++ : NONE;
    ebb_vec3 *corner = EBB_NEW(t->keep, ebb_vec3, n);
    ebb_facet *facet = EBB_NEW(t->keep, ebb_facet, t->n_facets);
    if (number == NULL || corner == NULL || facet == NULL)
        return false;
    for (size_t i = 0; i < corners; i++)
        if (number[i] != NONE)
            corner[number[i]] = place_of(t->c, i);
    const loop *at = t->first;
    for (size_t f = 0; f < t->n_facets; f++)
        if (!put_facet(t, number, f, &at, &facet[f]))
            return false;
    *solid = (ebb_solid){n, corner, t->n_facets, facet, EBB_BODY_SURFACES};
    return true;
}

ebb_status ebb_cells_solid(ebb_ctx *ctx, ebb_arena *arena, const ebb_cells *cells, ebb_solid *solid)
{
    const size_t *n = cells->n,
                 most = n[0] > n[1] ? (n[0] > n[2] ? n[0] : n[2]) : (n[1] > n[2] ? n[1] : n[2]);
    const size_t corners = (n[0] + 1) * (n[1] + 1) * (n[2] + 1), flat = (most + 1) * (most + 1);
    ebb_arena *scratch = ebb_arena_new(ctx);
    tracer t = {.c = cells, .keep = arena, .scratch = scratch, .surface_room = 6 * corners};
    t.last = &t.first;
    t.turns = EBB_NEW(scratch, bool, corners);
    t.surface = EBB_NEW(scratch, size_t, t.surface_room);
    t.part = EBB_NEW(scratch, size_t, flat);
    t.queue = EBB_NEW(scratch, size_t, flat);
    t.way = EBB_NEW(scratch, size_t, flat);
    t.cut = EBB_NEW(scratch, bool, most + 1);
    t.failed = !t.turns || !t.surface || !t.part || !t.queue || !t.way || !t.cut;
    for (t.axis = 0; t.axis < 3 && !t.failed; t.axis++)
        for (t.plane = 0; t.plane <= n[t.axis]; t.plane++)
            for (t.side = 0; t.side < 2 && !t.failed; t.side++)
                take_plane(&t);
    const bool ok = !t.failed && put_solid(&t, corners, solid);
    ebb_arena_free(scratch);
    return ok ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "no memory for a room with units cut out");
}
