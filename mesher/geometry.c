/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The solid in Gmsh's own geometry: points, straight lines, flat surfaces with holes, one volume.
 * Nothing is cut or joined there, so every surface stays the facet that it was made from.
 */
#include "ebb-mesh.h"

#include <gmshc.h>
#include <stdlib.h>
#include <string.h>

/* An edge of the solid from its lower to its higher corner; line i + 1 of Gmsh is edge i. */
typedef struct edge {
    size_t low, high;
} edge;

typedef struct edges {
    size_t n;
    edge *edge;
} edges;

/* Edge i of a loop of n corners. */
static edge edge_of(const size_t *corner, size_t n, size_t i)
{
    const size_t a = corner[i], b = corner[(i + 1) % n];
    return a < b ? (edge){a, b} : (edge){b, a};
}

static int compare(const void *left, const void *right)
{
    const edge *a = left, *b = right;
    if (a->low != b->low)
        return a->low < b->low ? -1 : 1;
    return (a->high > b->high) - (a->high < b->high);
}

/* The edges of all loops, each once, sorted. */
static edges edges_of(const request *r)
{
    edges all = {.edge = need(r->n_links, sizeof(edge))};
    size_t n = 0;
    for (size_t f = 0; f < r->solid.n_facets; f++) {
        const ebb_facet *facet = &r->solid.facet[f];
        const size_t *corner = facet->corner;
        for (size_t l = 0; l < facet->n_loops; corner += facet->loop[l++])
            for (size_t i = 0; i < facet->loop[l]; i++)
                all.edge[n++] = edge_of(corner, facet->loop[l], i);
    }
    qsort(all.edge, n, sizeof(edge), compare);
    for (size_t i = 0; i < n; i++)
        if (i == 0 || compare(&all.edge[i], &all.edge[i - 1]) != 0)
            all.edge[all.n++] = all.edge[i];
    return all;
}

/* Every edge once, whichever facet runs it: two facets that share a line share its nodes, and so
 * the mesh has no cracks. */
static void add_lines(const request *r, const edges *all)
{
    int error = 0;
    for (size_t i = 0; i < r->solid.n_corners; i++) {
        const ebb_vec3 at = r->solid.corner[i];
        gmshModelGeoAddPoint(at.x, at.y, at.z, 0, (int)i + 1, &error);
        check(error, "a corner");
    }
    for (size_t i = 0; i < all->n; i++) {
        gmshModelGeoAddLine((int)all->edge[i].low + 1, (int)all->edge[i].high + 1, (int)i + 1,
                            &error);
        check(error, "an edge");
    }
}

/* Lines of a loop, negative where they are run against their own direction. */
static void add_loop(const edges *all, const size_t *corner, size_t n, int tag)
{
    int *line = need(n, sizeof *line), error = 0;
    for (size_t i = 0; i < n; i++) {
        const edge wanted = edge_of(corner, n, i);
        const edge *found = bsearch(&wanted, all->edge, all->n, sizeof(edge), compare);
        const int number = (int)(found - all->edge) + 1;
        line[i] = wanted.low == corner[i] ? number : -number;
    }
    gmshModelGeoAddCurveLoop(line, n, tag, 0, &error);
    check(error, "a loop");
    free(line);
}

static void add_facet(const request *r, const edges *all, size_t index)
{
    const ebb_facet *f = &r->solid.facet[index];
    const int first = (int)(f->loop - r->solid.facet[0].loop) + 1;
    int *loops = need(f->n_loops, sizeof *loops), error = 0;
    const size_t *corner = f->corner;
    for (size_t l = 0; l < f->n_loops; corner += f->loop[l++]) {
        loops[l] = first + (int)l;
        add_loop(all, corner, f->loop[l], loops[l]);
    }
    gmshModelGeoAddPlaneSurface(loops, f->n_loops, (int)index + 1, &error);
    check(error, "a facet");
    free(loops);
}

void make_geometry(const request *r)
{
    int error = 0, shell = 1;
    gmshModelAdd("room", &error);
    check(error, "the model");
    const edges all = edges_of(r);
    add_lines(r, &all);
    int *facets = need(r->solid.n_facets, sizeof *facets);
    for (size_t f = 0; f < r->solid.n_facets; f++) {
        add_facet(r, &all, f);
        facets[f] = (int)f + 1;
    }
    free(all.edge);
    gmshModelGeoAddSurfaceLoop(facets, r->solid.n_facets, shell, &error);
    check(error, "the shell");
    free(facets);
    gmshModelGeoAddVolume(&shell, 1, 1, &error);
    check(error, "the volume");
    gmshModelGeoSynchronize(&error);
    check(error, "the geometry");
}
