/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * field_cut.c - the outline of a room on a plane.
 *
 * The plane goes through every facet of the solid along pieces of one straight line, which begin
 * and end on edges. An edge belongs to two facets, so the pieces are chained into loops by the
 * edges they end on: no distances are compared, and nothing depends on rounding.
 */
#include "field_cut.h"

#include <math.h>
#include <string.h>

/* A cut just in the floor or ceiling has no inside; it is moved by this share of the room. */
#define ASIDE 1e-6

/* Where the plane meets an edge. */
typedef struct meeting {
    size_t edge[2]; /* its corners, lower index first */
    double at[2];   /* m, along the two axes of the cut */
} meeting;

/* Ends of a piece of outline. */
typedef struct piece {
    meeting end[2];
    bool used;
} piece;

/* The work of one cut. */
typedef struct cutter {
    const ebb_solid *solid;
    int held, axis[2];
    double at;
    meeting *met; /* of the facet at hand */
    size_t n_met;
    piece *piece;
    size_t n_pieces;
} cutter;

void ebb_draw_cut_axes(int held, int axis[2])
{
    axis[0] = held == 0 ? 1 : 0;
    axis[1] = held == 2 ? 1 : 2;
}

static double along(ebb_vec3 p, int axis)
{
    return axis == 0 ? p.x : axis == 1 ? p.y : p.z;
}

/* From the lower corner index to the higher, so that both facets of an edge get the same point. A
 * corner in the plane counts as above it. */
static void meet(cutter *c, size_t a, size_t b)
{
    const size_t low = a < b ? a : b, high = a < b ? b : a;
    const ebb_vec3 p = c->solid->corner[low], q = c->solid->corner[high];
    const double from = along(p, c->held), to = along(q, c->held);
    if ((from < c->at) == (to < c->at)) {
        return;
    }
    const double t = (c->at - from) / (to - from);
    meeting *m = &c->met[c->n_met++];
    m->edge[0] = low;
    m->edge[1] = high;
    for (int d = 0; d < 2; d++) {
        const double u = along(p, c->axis[d]);
        m->at[d] = u + t * (along(q, c->axis[d]) - u);
    }
}

/* All meetings of a facet lie on one line: in order along the axis on which they are furthest
 * apart. There are few, so the plainest sort will do. */
static void sort_met(cutter *c)
{
    double span[2] = {0.0, 0.0};
    for (size_t i = 1; i < c->n_met; i++) {
        for (int d = 0; d < 2; d++) {
            span[d] = fmax(span[d], fabs(c->met[i].at[d] - c->met[0].at[d]));
        }
    }
    const int by = span[1] > span[0];
    for (size_t i = 1; i < c->n_met; i++) {
        const meeting m = c->met[i];
        size_t j = i;
        for (; j > 0 && c->met[j - 1].at[by] > m.at[by]; j--) {
            c->met[j] = c->met[j - 1];
        }
        c->met[j] = m;
    }
}

/* Along the line, inside and outside of the facet take turns, holes included. */
static void cut_facet(cutter *c, const ebb_facet *facet)
{
    const size_t *corner = facet->corner;
    c->n_met = 0;
    for (size_t l = 0; l < facet->n_loops; corner += facet->loop[l++]) {
        for (size_t i = 0; i < facet->loop[l]; i++) {
            meet(c, corner[i], corner[(i + 1) % facet->loop[l]]);
        }
    }
    sort_met(c);
    for (size_t i = 0; i + 1 < c->n_met; i += 2) {
        c->piece[c->n_pieces++] = (piece){.end = {c->met[i], c->met[i + 1]}};
    }
}

static bool same_edge(const meeting *a, const meeting *b)
{
    return a->edge[0] == b->edge[0] && a->edge[1] == b->edge[1];
}

/* The unused piece that goes on from an edge, and its far end; NULL when the loop is closed. */
static const meeting *go_on(cutter *c, const meeting *from)
{
    for (size_t i = 0; i < c->n_pieces; i++) {
        piece *p = &c->piece[i];
        for (int e = 0; e < 2 && !p->used; e++) {
            if (same_edge(&p->end[e], from)) {
                p->used = true;
                return &p->end[1 - e];
            }
        }
    }
    return NULL;
}

/* Every piece adds the point at its far end; a loop is over when no unused piece goes on. */
static void chain(cutter *c, size_t *loop, ebb_draw_outline_of_cut *cut)
{
    size_t n = 0;
    for (size_t i = 0; i < c->n_pieces; i++) {
        if (c->piece[i].used) {
            continue;
        }
        const size_t first = n;
        for (const meeting *m = go_on(c, &c->piece[i].end[0]); m; m = go_on(c, m)) {
            memcpy(cut->point[n++], m->at, sizeof m->at);
        }
        loop[cut->n_loops++] = n - first;
    }
    cut->loop = loop;
}

static ebb_status cut_solid(ebb_arena *arena, cutter *c, ebb_draw_outline_of_cut *cut)
{
    size_t edges = 0;
    for (size_t f = 0; f < c->solid->n_facets; f++) {
        for (size_t l = 0; l < c->solid->facet[f].n_loops; l++) {
            edges += c->solid->facet[f].loop[l];
        }
    }
    c->met = EBB_NEW(arena, meeting, edges);
    c->piece = EBB_NEW(arena, piece, edges);
    size_t *loop = EBB_NEW(arena, size_t, edges);
    cut->point = ebb_arena_alloc(arena, edges, sizeof *cut->point);
    if (!c->met || !c->piece || !loop || !cut->point) {
        return EBB_E_NOMEM;
    }
    for (size_t f = 0; f < c->solid->n_facets; f++) {
        cut_facet(c, &c->solid->facet[f]);
    }
    chain(c, loop, cut);
    return EBB_OK;
}

/* A box has the same outline on every cut. */
static ebb_status cut_box(ebb_arena *arena, const double size[2], ebb_draw_outline_of_cut *cut)
{
    size_t *loop = EBB_NEW(arena, size_t, 1);
    cut->point = ebb_arena_alloc(arena, 4, sizeof *cut->point);
    if (!loop || !cut->point) {
        return EBB_E_NOMEM;
    }
    for (int i = 0; i < 4; i++) {
        cut->point[i][0] = i == 1 || i == 2 ? size[0] : 0.0;
        cut->point[i][1] = i >= 2 ? size[1] : 0.0;
    }
    *loop = 4;
    cut->loop = loop;
    cut->n_loops = 1;
    return EBB_OK;
}

ebb_status ebb_draw_cut_room(ebb_arena *arena, const ebb_room *room, int held, double at,
                             ebb_draw_outline_of_cut *cut)
{
    const double aside = ASIDE * room->size[held];
    cutter c = {.solid = room->solid, .held = held};
    *cut = (ebb_draw_outline_of_cut){0};
    ebb_draw_cut_axes(held, c.axis);
    c.at = fmin(fmax(at, aside), room->size[held] - aside);
    if (!room->shaped) {
        return cut_box(arena, (double[2]){room->size[c.axis[0]], room->size[c.axis[1]]}, cut);
    }
    return cut_solid(arena, &c, cut);
}
