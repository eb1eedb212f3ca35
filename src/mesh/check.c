/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Is a mesh what it should be?
 *
 * All tetrahedra are the right way round and fit face to face; what is left over are the boundary
 * triangles, which cover the facets once: each lies within one, and the areas agree. Then any place
 * of the air is covered as often as its neighbour, once in all, since nothing is covered outside.
 * The hollow of a column could still be filled twice over: the volume tells.
 */
#include "private.h"

#include <math.h>

#define WORST_QUALITY 0.05
#define CLOSE 3e-6 /* m, off the plane of a facet, which is itself flat within 1e-6 m */
#define ALIKE 1e-6 /* relative, of volume and areas */

typedef struct checker {
    ebb_ctx *ctx;
    const ebb_solid *solid;
    const ebb_mesh *mesh;
    ebb_arena *scratch;
    ebb_mesh_flat *flat; /* of every facet */
} checker;

/* With the place: mostly it is a corner of the plan that is too sharp, and can be looked up. */
static ebb_status bad(const checker *c, ebb_vec3 at, const char *what)
{
    return ebb_fail(c->ctx, EBB_E_NUMERIC, "the mesh is no good: %s, near %.3f %.3f %.3f m", what,
                    at.x, at.y, at.z);
}

/* ---- counts and tetrahedra ------------------------------------------------------------------- */

/* First of all: everything after this follows indices. */
static ebb_status check_numbers(const checker *c)
{
    const ebb_mesh *m = c->mesh;
    if (m->n_tets == 0 || m->n_nodes < 4 || m->n_faces < 4)
        return ebb_fail(c->ctx, EBB_E_NUMERIC, "the mesh is empty");
    if (m->n_surfaces != c->solid->n_surfaces)
        return ebb_fail(c->ctx, EBB_E_NUMERIC, "the mesh has other surfaces than the room");
    bool ok = true;
    for (size_t i = 0; i < m->n_nodes; i++)
        ok &= isfinite(m->node[i].x) && isfinite(m->node[i].y) && isfinite(m->node[i].z);
    for (size_t i = 0; i < 4 * m->n_tets; i++)
        ok &= m->tet[i / 4][i % 4] < m->n_nodes;
    for (size_t i = 0; i < m->n_faces; i++) {
        ok &= m->surface[i] < m->n_surfaces && m->owner[i] <= m->n_tets;
        for (int k = 0; k < 3; k++)
            ok &= m->face[i][k] < m->n_nodes;
    }
    return ok ? EBB_OK : ebb_fail(c->ctx, EBB_E_NUMERIC, "numbers of the mesh lie out of range");
}

/* Flat elements are refused because they spoil the accuracy of all around them; nodes that belong
 * to nothing would be freedoms that no equation holds. */
static ebb_status check_tets(const checker *c)
{
    const ebb_mesh *m = c->mesh;
    bool *used = EBB_NEW(c->scratch, bool, m->n_nodes);
    if (used == NULL)
        return ebb_fail(c->ctx, EBB_E_NOMEM, "no memory to check a mesh");
    double sum = 0;
    for (size_t i = 0; i < m->n_tets; i++) {
        const size_t *k = m->tet[i];
        const ebb_vec3 a = m->node[k[0]];
        const double volume = ebb_mesh_six_volumes(m, k) / 6;
        if (!(volume > 0))
            return bad(c, a, "a tetrahedron is flat or turned inside out");
        if (!(ebb_mesh_quality(a, m->node[k[1]], m->node[k[2]], m->node[k[3]]) > WORST_QUALITY))
            return bad(c, a, "a tetrahedron is nearly flat");
        sum += volume;
        for (int j = 0; j < 4; j++)
            used[k[j]] = true;
    }
    for (size_t i = 0; i < m->n_nodes; i++)
        if (!used[i])
            return bad(c, m->node[i], "a node belongs to nothing");
    const double wanted = ebb_solid_volume(c->solid);
    if (!(fabs(sum - wanted) <= ALIKE * wanted))
        return ebb_fail(c->ctx, EBB_E_NUMERIC, "the mesh has %.9g m3 and the room %.9g m3", sum,
                        wanted);
    return EBB_OK;
}

/* ---- how they fit together ------------------------------------------------------------------- */

/* Each face of a tetrahedron is that of one other, or a boundary triangle. */
static ebb_status check_sides(const checker *c)
{
    const ebb_mesh *m = c->mesh;
    const size_t n = 4 * m->n_tets;
    const ebb_mesh_side *all = ebb_mesh_all_sides(c->scratch, m);
    bool *taken = EBB_NEW(c->scratch, bool, m->n_tets * 4);
    if (all == NULL || taken == NULL)
        return ebb_fail(c->ctx, EBB_E_NOMEM, "no memory to check a mesh");
    for (size_t i = 0; i < m->n_faces; i++) {
        size_t found;
        const ebb_mesh_side *side = ebb_mesh_find_side(all, n, m->face[i], &found);
        const ebb_vec3 at = m->node[m->face[i][0]];
        if (found != 1 || side->tet != m->owner[i])
            return bad(c, at, "a triangle of a surface is not the face of one tetrahedron");
        if (taken[side - all])
            return bad(c, at, "a triangle of a surface is there twice");
        taken[side - all] = true;
    }
    for (size_t i = 0; i < n;) {
        size_t found;
        (void)ebb_mesh_find_side(all, n, all[i].node, &found);
        const ebb_vec3 at = m->node[all[i].node[0]];
        if (found > 2)
            return bad(c, at, "more than two tetrahedra share a face");
        if (found == 1 && !taken[i])
            return bad(c, at, "a tetrahedron ends where no surface is");
        i += found;
    }
    return EBB_OK;
}

/* ---- the surfaces ---------------------------------------------------------------------------- */

/* Does a boundary triangle lie within a facet of its surface? Several facets may share a plane, so
 * its middle has to be within the outline, too. */
static bool lies_on_surface(const checker *c, size_t index)
{
    const ebb_mesh *m = c->mesh;
    const ebb_vec3 a = m->node[m->face[index][0]], b = m->node[m->face[index][1]],
                   d = m->node[m->face[index][2]];
    const ebb_vec3 middle = {(a.x + b.x + d.x) / 3, (a.y + b.y + d.y) / 3, (a.z + b.z + d.z) / 3};
    for (size_t f = 0; f < c->solid->n_facets; f++) {
        const ebb_facet *facet = &c->solid->facet[f];
        const ebb_mesh_flat *flat = &c->flat[f];
        const double off = fmax(fmax(fabs(ebb_mesh_off(flat, a)), fabs(ebb_mesh_off(flat, b))),
                                fabs(ebb_mesh_off(flat, d)));
        if (facet->surface == m->surface[index] && off <= CLOSE &&
            ebb_mesh_facet_holds(c->solid, facet, flat, middle))
            return true;
    }
    return false;
}

static ebb_status check_face(const checker *c, size_t index, double *area)
{
    const ebb_mesh *m = c->mesh;
    const size_t *k = m->face[index];
    const ebb_vec3 a = m->node[k[0]];
    if (!lies_on_surface(c, index))
        return bad(c, a, "a triangle does not lie on its surface");
    const ebb_vec3 twice = ebb_cross(ebb_minus(m->node[k[1]], a), ebb_minus(m->node[k[2]], a));
    area[m->surface[index]] += sqrt(ebb_dot(twice, twice)) / 2;
    return EBB_OK;
}

/* Areas per surface: constructions and units act through them, and two surfaces in one plane differ
 * in nothing else. */
static ebb_status check_surfaces(const checker *c)
{
    double *area = EBB_NEW(c->scratch, double, c->solid->n_surfaces);
    if (area == NULL)
        return ebb_fail(c->ctx, EBB_E_NOMEM, "no memory to check a mesh");
    for (size_t i = 0; i < c->mesh->n_faces; i++) {
        const ebb_status status = check_face(c, i, area);
        if (status != EBB_OK)
            return status;
    }
    for (size_t s = 0; s < c->solid->n_surfaces; s++) {
        const double wanted = ebb_solid_area(c->solid, s);
        if (!(fabs(area[s] - wanted) <= ALIKE * wanted))
            return ebb_fail(c->ctx, EBB_E_NUMERIC,
                            "surface %zu has %.9g m2 in the mesh and %.9g m2 in the room", s,
                            area[s], wanted);
    }
    return EBB_OK;
}

ebb_status ebb_mesh_check(ebb_ctx *ctx, const ebb_solid *solid, const ebb_mesh *mesh)
{
    checker c = {ctx, solid, mesh, ebb_arena_new(ctx), NULL};
    c.flat = EBB_NEW(c.scratch, ebb_mesh_flat, solid->n_facets);
    ebb_status status = EBB_OK;
    if (c.flat == NULL)
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory to check a mesh");
    for (size_t f = 0; f < solid->n_facets && status == EBB_OK; f++)
        c.flat[f] = ebb_mesh_flat_of(solid, &solid->facet[f]);
    if (status == EBB_OK)
        status = check_numbers(&c);
    if (status == EBB_OK)
        status = check_tets(&c);
    if (status == EBB_OK)
        status = check_sides(&c);
    if (status == EBB_OK)
        status = check_surfaces(&c);
    ebb_arena_free(c.scratch);
    return status;
}
