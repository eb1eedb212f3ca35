/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A regular mesh of a box: bricks, each of six tetrahedra around the diagonal from its lowest to
 * its highest corner. They reach that corner along the three axes in one of six orders (Kuhn's
 * triangulation), which fits from brick to brick.
 */
#include "private.h"

#include <math.h>

#define MOST_BRICKS 100000

static const int orders[6][3] = {{0, 1, 2}, {1, 2, 0}, {2, 0, 1}, {0, 2, 1}, {2, 1, 0}, {1, 0, 2}};

typedef struct grid {
    const size_t *n; /* bricks along the axes */
    ebb_mesh *mesh;
} grid;

static size_t node_at(const grid *g, const size_t at[3])
{
    return at[0] + (g->n[0] + 1) * (at[1] + (g->n[1] + 1) * at[2]);
}

static void add_nodes(const grid *g, const double size[3])
{
    size_t i[3];
    for (i[2] = 0; i[2] <= g->n[2]; i[2]++)
        for (i[1] = 0; i[1] <= g->n[1]; i[1]++)
            for (i[0] = 0; i[0] <= g->n[0]; i[0]++)
                /* In this order of operations the last node is on the wall to the last digit. */
                g->mesh->node[node_at(g, i)] =
                    (ebb_vec3){size[0] * ((double)i[0] / (double)g->n[0]),
                               size[1] * ((double)i[1] / (double)g->n[1]),
                               size[2] * ((double)i[2] / (double)g->n[2])};
}

/* The face of a tetrahedron opposite node `side` lies on the box's face `surface`. */
static void add_face(const grid *g, size_t tet, int side, int surface)
{
    ebb_mesh *m = g->mesh;
    for (int k = 0; k < 3; k++)
        m->face[m->n_faces][k] = m->tet[tet][ebb_mesh_sides[side][k]];
    m->owner[m->n_faces] = tet;
    m->surface[m->n_faces++] = (size_t)surface;
}

/* The first step's axis is left at the upper side by nodes 1 to 3, the last one's entered at the
 * lower side by nodes 0 to 2. */
static void add_tet(const grid *g, const size_t brick[3], const int order[3])
{
    ebb_mesh *m = g->mesh;
    const size_t tet = m->n_tets++;
    size_t at[3] = {brick[0], brick[1], brick[2]};
    m->tet[tet][0] = node_at(g, at);
    for (int k = 0; k < 3; k++) {
        at[order[k]]++;
        m->tet[tet][k + 1] = node_at(g, at);
    }
    const bool turned = ebb_mesh_six_volumes(m, m->tet[tet]) < 0;
    if (turned) {
        const size_t kept = m->tet[tet][1];
        m->tet[tet][1] = m->tet[tet][2];
        m->tet[tet][2] = kept;
    }
    if (brick[order[0]] + 1 == g->n[order[0]])
        add_face(g, tet, 0, 2 * order[0] + 1);
    if (brick[order[2]] == 0)
        add_face(g, tet, 3, 2 * order[2]);
}

ebb_status ebb_mesh_box(ebb_ctx *ctx, const double size[3], const size_t bricks[3], ebb_mesh **mesh)
{
    *mesh = NULL;
    double count = 1;
    for (int d = 0; d < 3; d++) {
        if (!(size[d] > 0) || !isfinite(size[d]) || bricks[d] == 0)
            return ebb_fail(ctx, EBB_E_RANGE, "a box to be meshed has a size and bricks");
        count *= (double)bricks[d];
    }
    if (count > MOST_BRICKS)
        return ebb_fail(ctx, EBB_E_RANGE, "a box is meshed with at most %d bricks", MOST_BRICKS);
    const size_t *n = bricks;
    const size_t faces = 4 * (n[0] * n[1] + n[1] * n[2] + n[2] * n[0]);
    grid g = {
        n, ebb_mesh_new(ctx, (n[0] + 1) * (n[1] + 1) * (n[2] + 1), 6 * n[0] * n[1] * n[2], faces)};
    if (g.mesh == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a mesh");
    add_nodes(&g, size);
    g.mesh->n_tets = g.mesh->n_faces = 0; /* they are counted up again */
    g.mesh->n_surfaces = 6;
    size_t i[3];
    for (i[2] = 0; i[2] < n[2]; i[2]++)
        for (i[1] = 0; i[1] < n[1]; i[1]++)
            for (i[0] = 0; i[0] < n[0]; i[0]++)
                for (int k = 0; k < 6; k++)
                    add_tet(&g, i, orders[k]);
    *mesh = g.mesh;
    return EBB_OK;
}
