/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The mesh of a space: copied, not trusted, and taken apart into vertices, edges, faces and
 * insides.
 */
#include "space.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* ---- the copy -------------------------------------------------------------------------------- */

static void *copy(ebb_arena *arena, const void *from, size_t count, size_t size)
{
    void *to = ebb_arena_raw(arena, count, size);
    if (to)
        memcpy(to, from, count * size);
    return to;
}

/* A space outlives the mesh that it was made from. */
static bool copy_mesh(ebb_arena *arena, const ebb_mesh *from, ebb_mesh *to)
{
    *to = *from;
    to->arena = NULL;
    to->node = copy(arena, from->node, from->n_nodes, sizeof *from->node);
    to->tet = copy(arena, from->tet, from->n_tets, sizeof *from->tet);
    to->face = copy(arena, from->face, from->n_faces, sizeof *from->face);
    to->surface = copy(arena, from->surface, from->n_faces, sizeof *from->surface);
    to->owner = copy(arena, from->owner, from->n_faces, sizeof *from->owner);
    return to->node && to->tet && to->face && to->surface && to->owner;
}

/* Before anything is looked up with them. */
static ebb_status check_indices(ebb_ctx *ctx, const ebb_mesh *mesh)
{
    for (size_t i = 0; i < mesh->n_nodes; i++)
        if (!isfinite(mesh->node[i].x + mesh->node[i].y + mesh->node[i].z))
            return ebb_fail(ctx, EBB_E_RANGE, "node %zu of the mesh has no finite place", i);
    for (size_t t = 0; t < mesh->n_tets; t++)
        for (int c = 0; c < 4; c++)
            if (mesh->tet[t][c] >= mesh->n_nodes)
                return ebb_fail(ctx, EBB_E_RANGE, "tetrahedron %zu has a node that is not there",
                                t);
    for (size_t f = 0; f < mesh->n_faces; f++) {
        if (mesh->surface[f] >= mesh->n_surfaces)
            return ebb_fail(ctx, EBB_E_RANGE, "boundary triangle %zu lies on no surface", f);
        for (int c = 0; c < 3; c++)
            if (mesh->face[f][c] >= mesh->n_nodes)
                return ebb_fail(ctx, EBB_E_RANGE,
                                "boundary triangle %zu has a node that is not there", f);
    }
    return EBB_OK;
}

/* ---- elements -------------------------------------------------------------------------------- */

/* Sorts up to four numbers. */
static void sort_few(size_t n, size_t *v)
{
    for (size_t i = 1; i < n; i++)
        for (size_t j = i; j > 0 && v[j] < v[j - 1]; j--) {
            const size_t swap = v[j];
            v[j] = v[j - 1];
            v[j - 1] = swap;
        }
}

/* Small vectors as arrays, so that sums over axes are loops. */
static void edge_of(ebb_vec3 a, ebb_vec3 b, double out[3])
{
    out[0] = b.x - a.x;
    out[1] = b.y - a.y;
    out[2] = b.z - a.z;
}

static void cross(const double a[3], const double b[3], double out[3])
{
    for (int d = 0; d < 3; d++)
        out[d] = a[(d + 1) % 3] * b[(d + 2) % 3] - a[(d + 2) % 3] * b[(d + 1) % 3];
}

static double dot(const double a[3], const double b[3])
{
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Size and slopes of an element; false when it is flat. The order of its corners may have turned
 * it inside out: integrals need only the size of the determinant. */
static bool shape_element(const ebb_vec3 *node, ebb_element *element)
{
    double edge[3][3];
    for (int a = 0; a < 3; a++)
        edge_of(node[element->corner[0]], node[element->corner[a + 1]], edge[a]);
    double normal[3], longest = 0;
    cross(edge[1], edge[2], normal);
    const double det = dot(edge[0], normal);
    for (int a = 0; a < 3; a++) {
        longest = fmax(longest, dot(edge[a], edge[a]));
        cross(edge[(a + 1) % 3], edge[(a + 2) % 3], element->slope[a]);
        for (int d = 0; d < 3; d++)
            element->slope[a][d] /= det;
    }
    element->det = fabs(det);
    return element->det > 1e-9 * longest * sqrt(longest);
}

/* Corners are sorted here, once, and everything after relies on it. */
static ebb_status make_elements(ebb_ctx *ctx, ebb_space *space)
{
    const ebb_mesh *mesh = &space->mesh;
    space->element = EBB_NEW(space->arena, ebb_element, mesh->n_tets);
    if (!space->element)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the elements");
    for (size_t t = 0; t < mesh->n_tets; t++) {
        ebb_element *element = &space->element[t];
        memcpy(element->corner, mesh->tet[t], sizeof element->corner);
        sort_few(4, element->corner);
        if (!shape_element(mesh->node, element))
            return ebb_fail(ctx, EBB_E_RANGE, "tetrahedron %zu of the mesh is flat", t);
        space->volume += element->det / 6;
    }
    return EBB_OK;
}

/* ---- parts ----------------------------------------------------------------------------------- */

/* A part of one element, to be matched with those of its neighbours. */
typedef struct part_key {
    size_t corner[4]; /* rising; those not there hold SIZE_MAX */
    size_t element, place, kind;
} part_key;

/* By kind first, so that parts of one kind have neighbouring numbers; then by corners, which brings
 * equal parts together. */
static int compare_keys(const void *left, const void *right)
{
    const part_key *a = left, *b = right;
    if (a->kind != b->kind)
        return a->kind < b->kind ? -1 : 1;
    for (int c = 0; c < 4; c++)
        if (a->corner[c] != b->corner[c])
            return a->corner[c] < b->corner[c] ? -1 : 1;
    return a->element < b->element ? -1 : a->element > b->element;
}

static bool same_part(const part_key *a, const part_key *b)
{
    return memcmp(a->corner, b->corner, sizeof a->corner) == 0;
}

/* Corners of an element rise, so those of its parts do. */
static part_key key_of(const ebb_element *element, size_t index, size_t place)
{
    part_key key = {
        .corner = {SIZE_MAX, SIZE_MAX, SIZE_MAX, SIZE_MAX}, .element = index, .place = place};
    for (unsigned c = 0; c < 4; c++)
        if (ebb_tet_part[place] >> c & 1)
            key.corner[key.kind++] = element->corner[c];
    return key;
}

/* All parts of all elements, equal ones side by side; NULL when out of memory. */
static part_key *sorted_keys(ebb_arena *scratch, const ebb_space *space)
{
    const size_t n = EBB_PARTS * space->mesh.n_tets;
    part_key *key = EBB_RAW(scratch, part_key, n);
    for (size_t i = 0; key && i < n; i++)
        key[i] = key_of(&space->element[i / EBB_PARTS], i / EBB_PARTS, i % EBB_PARTS);
    if (key)
        qsort(key, n, sizeof *key, compare_keys);
    return key;
}

/* Gives equal parts one number; faces of a single element are counted. */
static bool number_parts(ebb_space *space, const part_key *key, size_t *n_outer)
{
    const size_t n = EBB_PARTS * space->mesh.n_tets;
    space->part_kind = EBB_NEW(space->arena, unsigned char, n);
    space->part_uses = EBB_NEW(space->arena, size_t, n);
    if (!space->part_kind || !space->part_uses)
        return false;
    *n_outer = 0;
    for (size_t i = 0, same = 1; i < n; i += same) {
        for (same = 1; i + same < n && same_part(&key[i], &key[i + same]);)
            same++;
        for (size_t j = i; j < i + same; j++)
            space->element[key[j].element].part[key[j].place] = space->n_parts;
        *n_outer += key[i].kind == 3 && same == 1;
        space->part_kind[space->n_parts] = (unsigned char)key[i].kind;
        space->part_uses[space->n_parts++] = same;
    }
    return true;
}

/* Two faults of a mesh come to light here: nodes that nothing holds, which would be freedoms
 * without an equation, and outer triangles that no surface claims, which would be walls that nobody
 * knows of.
 */
static ebb_status make_parts(ebb_ctx *ctx, ebb_space *space)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    const part_key *key = sorted_keys(scratch, space);
    ebb_status status = EBB_OK;
    size_t n_outer, n_vertices = 0;
    if (!key || !number_parts(space, key, &n_outer)) {
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the parts of the mesh");
    } else {
        while (n_vertices < space->n_parts && space->part_kind[n_vertices] == 1)
            n_vertices++;
        if (n_vertices != space->mesh.n_nodes)
            status = ebb_fail(ctx, EBB_E_RANGE, "%zu nodes of the mesh belong to no tetrahedron",
                              space->mesh.n_nodes - n_vertices);
        else if (n_outer != space->mesh.n_faces)
            status = ebb_fail(ctx, EBB_E_RANGE,
                              "the mesh has %zu outer triangles, but %zu lie on surfaces", n_outer,
                              space->mesh.n_faces);
    }
    ebb_arena_free(scratch);
    return status;
}

/* ---- walls ----------------------------------------------------------------------------------- */

/* Takes the outer face of an element with the given corners; false when it has none, or when
 * another triangle took it before. */
static bool claim_face(ebb_space *space, size_t owner, const size_t corner[3])
{
    for (size_t p = 10; owner < space->mesh.n_tets && p < 14; p++) {
        const part_key key = key_of(&space->element[owner], 0, p);
        size_t *uses = &space->part_uses[space->element[owner].part[p]];
        if (memcmp(key.corner, corner, 3 * sizeof *corner) == 0 && *uses == 1) {
            *uses = 0;
            return true;
        }
    }
    return false;
}

static double area_of(const ebb_vec3 *node, const size_t corner[3])
{
    double a[3], b[3], normal[3];
    edge_of(node[corner[0]], node[corner[1]], a);
    edge_of(node[corner[0]], node[corner[2]], b);
    cross(a, b, normal);
    return sqrt(dot(normal, normal)) / 2;
}

/* Sorts the walls by surface, counts first. */
static ebb_status make_walls(ebb_ctx *ctx, ebb_space *space)
{
    const ebb_mesh *mesh = &space->mesh;
    space->wall = EBB_NEW(space->arena, ebb_wall, mesh->n_faces);
    space->wall_from = EBB_NEW(space->arena, size_t, mesh->n_surfaces + 2);
    space->area = EBB_NEW(space->arena, double, mesh->n_surfaces);
    if (!space->wall || !space->wall_from || !space->area)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the walls");
    for (size_t f = 0; f < mesh->n_faces; f++)
        space->wall_from[mesh->surface[f] + 2]++;
    for (size_t s = 0; s < mesh->n_surfaces; s++)
        space->wall_from[s + 2] += space->wall_from[s + 1];
    for (size_t f = 0; f < mesh->n_faces; f++) {
        ebb_wall *wall = &space->wall[space->wall_from[mesh->surface[f] + 1]++];
        wall->surface = mesh->surface[f];
        wall->owner = mesh->owner[f];
        memcpy(wall->corner, mesh->face[f], sizeof wall->corner);
        sort_few(3, wall->corner);
        wall->area = area_of(mesh->node, wall->corner);
        space->area[wall->surface] += wall->area;
        if (!claim_face(space, mesh->owner[f], wall->corner))
            return ebb_fail(ctx, EBB_E_RANGE,
                            "boundary triangle %zu is no outer face of the tetrahedron it names",
                            f);
    }
    return EBB_OK;
}

/* In an order in which each step may rely on what those before have checked. */
ebb_status ebb_space_take_mesh(ebb_ctx *ctx, const ebb_mesh *mesh, ebb_space *space)
{
    if (mesh->n_tets == 0 || mesh->n_tets > EBB_FREEDOMS_MOST ||
        mesh->n_nodes > EBB_FREEDOMS_MOST || mesh->n_faces > EBB_FREEDOMS_MOST)
        return ebb_fail(ctx, EBB_E_RANGE, "a mesh of %zu tetrahedra; 1 to %d can be computed with",
                        mesh->n_tets, EBB_FREEDOMS_MOST);
    ebb_status status = check_indices(ctx, mesh);
    if (status == EBB_OK && !copy_mesh(space->arena, mesh, &space->mesh))
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a mesh");
    if (status == EBB_OK)
        status = make_elements(ctx, space);
    if (status == EBB_OK)
        status = make_parts(ctx, space);
    return status == EBB_OK ? make_walls(ctx, space) : status;
}
