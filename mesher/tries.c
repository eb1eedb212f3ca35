/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The mesh, as the best of several tries.
 *
 * Coarse meshes of rooms leave the mesher little freedom, and now and then a sliver stays. The
 * other algorithm or a slightly different length of the edges gives quite another mesh, so a few
 * are made and the one whose worst element is best is kept. A mesh that is good enough ends the
 * search; nearly always it is the first.
 */
#include "ebb-mesh.h"
#include "quality.h"

#include <gmshc.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define GOOD 0.12   /* worst quality that ends the search */
#define USEFUL 0.06 /* that ebb accepts */
/* Gmsh's numbers of element types and algorithms. */
#define TRIANGLE 2
#define TETRAHEDRON 4
#define DELAUNAY 1
#define HXT 10

void check(int error, const char *what)
{
    if (error == 0)
        return;
    char *why = NULL;
    int again = 0;
    gmshLoggerGetLastError(&why, &again);
    die("%s: %s", what, again == 0 && why != NULL && why[0] != '\0' ? why : "no reason given");
}

static void set(const char *name, double value)
{
    int error = 0;
    gmshOptionSetNumber(name, value, &error);
    check(error, name);
}

static double size_here(int dim, int tag, double x, double y, double z, void *data)
{
    (void)dim, (void)tag;
    return size_at(data, (ebb_vec3){x, y, z});
}

/* Lengths come from the callback alone: Gmsh's own ways would let edges of the solid decide, and a
 * room of large walls would get a mesh that is too coarse at its small parts. */
static void start(request *r)
{
    int error = 0;
    gmshInitialize(0, NULL, 0, &error);
    check(error, "Gmsh does not start");
    set("General.Terminal", 0);
    set("General.NumThreads", 1);
    /* An exception out of the parallel parts of Gmsh could be caught by nobody: errors end the try,
     * and what came of it is looked at. */
    set("General.AbortOnError", 1);
    set("Mesh.MeshSizeExtendFromBoundary", 0);
    set("Mesh.MeshSizeFromPoints", 0);
    set("Mesh.MeshSizeMin", 0);
    make_geometry(r);
    gmshModelMeshSetSizeCallback(size_here, r, &error);
    check(error, "lengths of edges");
}

/* ---- what has come out ----------------------------------------------------------------------- */

typedef struct tags {
    size_t most; /* highest tag of a node */
    size_t *index;
} tags;

static tags take_nodes(tetrahedra *mesh)
{
    size_t *tag, n, n_at, n_place;
    double *at, *place;
    int error = 0;
    gmshModelMeshGetNodes(&tag, &n, &at, &n_at, &place, &n_place, -1, -1, 0, 0, &error);
    check(error, "nodes");
    tags t = {0};
    for (size_t i = 0; i < n; i++)
        t.most = tag[i] > t.most ? tag[i] : t.most;
    t.index = need(t.most + 1, sizeof *t.index);
    mesh->n_nodes = n;
    mesh->at = need(n, sizeof *mesh->at);
    for (size_t i = 0; i < n; i++) {
        t.index[tag[i]] = i;
        mesh->at[i] = (ebb_vec3){at[3 * i], at[3 * i + 1], at[3 * i + 2]};
    }
    gmshFree(tag), gmshFree(at), gmshFree(place);
    return t;
}

/* Nodes of all elements of a type, `corners` each, on one surface or in the volume. */
/* Gmsh numbers nodes from 1 with gaps; ours count from 0 without. An element must not lead outside
 * the table, whatever Gmsh says. */
static size_t *take_elements(int type, int tag, const tags *t, size_t corners, size_t *n)
{
    size_t *element, n_elements, *node, n_nodes;
    int error = 0;
    gmshModelMeshGetElementsByType(type, &element, &n_elements, &node, &n_nodes, tag, 0, 1, &error);
    check(error, "elements");
    size_t *out = need(n_nodes, sizeof *out);
    for (size_t i = 0; i < n_nodes; i++) {
        if (node[i] > t->most)
            die("an element of an unknown node");
        out[i] = t->index[node[i]];
    }
    *n = n_nodes / corners;
    gmshFree(element), gmshFree(node);
    return out;
}

/* Facet by facet, since only there Gmsh tells which triangle is whose. */
static void take_faces(const request *r, const tags *t, tetrahedra *mesh)
{
    size_t room = 0;
    for (size_t f = 0; f < r->solid.n_facets; f++) {
        size_t n, *node = take_elements(TRIANGLE, (int)f + 1, t, 3, &n);
        if (mesh->n_faces + n > room) {
            room = 2 * (mesh->n_faces + n);
            mesh->face = realloc(mesh->face, room * sizeof *mesh->face);
            mesh->facet = realloc(mesh->facet, room * sizeof *mesh->facet);
            if (mesh->face == NULL || mesh->facet == NULL)
                die("out of memory");
        }
        memcpy(mesh->face + mesh->n_faces, node, n * sizeof *mesh->face);
        for (size_t i = 0; i < n; i++)
            mesh->facet[mesh->n_faces++] = f;
        free(node);
    }
}

static double worst_of(const tetrahedra *m)
{
    double worst = m->n > 0 ? 1 : 0;
    for (size_t i = 0; i < m->n; i++) {
        const size_t *k = m->node[i];
        worst = fmin(worst, ebb_mesh_quality(m->at[k[0]], m->at[k[1]], m->at[k[2]], m->at[k[3]]));
    }
    return worst;
}

/* ---- tries ----------------------------------------------------------------------------------- */

/* Makes a mesh with edges `times` as long; false when Gmsh can not. */
static bool make_one(const request *r, int algorithm, double times, tetrahedra *mesh)
{
    int error = 0;
    *mesh = (tetrahedra){0};
    set("Mesh.Algorithm3D", algorithm);
    set("Mesh.MeshSizeFactor", times);
    gmshModelMeshClear(NULL, 0, &error);
    check(error, "clearing");
    gmshModelMeshGenerate(3, &error);
    if (error == 0)
        gmshModelMeshOptimize("", 0, 1, NULL, 0, &error);
    if (error != 0)
        return false;
    tags names = take_nodes(mesh);
    mesh->node = (size_t(*)[4])take_elements(TETRAHEDRON, 1, &names, 4, &mesh->n);
    take_faces(r, &names, mesh);
    free(names.index);
    mesh->worst = worst_of(mesh);
    return true;
}

/* Tries one algorithm until a mesh has the quality wanted. */
static void try_all(const request *r, int algorithm, double wanted, tetrahedra *best)
{
    static const double times[] = {1, 0.96, 0.92, 0.86};
    for (size_t i = 0; i < sizeof times / sizeof times[0] && best->worst < wanted; i++) {
        tetrahedra mesh;
        if (make_one(r, algorithm, times[i], &mesh) && mesh.worst > best->worst)
            *best = mesh;
    }
}

/* Some parts of Gmsh end the program when they are at a loss. */
static void say_why(void)
{
    fputs("ebb-mesh: Gmsh has given up on this solid\n", stderr);
}

/* HXT is such a part: it comes last, when nothing of use is there to be lost. Memory of the meshes
 * not kept is left to the end of the program: they are few. */
void make_mesh(request *r, tetrahedra *best)
{
    if (atexit(say_why) != 0)
        die("out of memory");
    start(r);
    *best = (tetrahedra){0};
    try_all(r, DELAUNAY, GOOD, best);
    try_all(r, HXT, USEFUL, best);
    if (best->n == 0)
        check(1, "no mesh");
}
