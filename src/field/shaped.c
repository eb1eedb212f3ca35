/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The reduced model of a meshed room: rigid modes of its space, residual vectors, points.
 */
#include "shaped.h"

#include <math.h>

#define REACH 1.15 /* modes just above the band answer in it: their shapes at walls count too */
#define SAME 0.03  /* relative difference of wave numbers that does not matter */

/* ---- points ---------------------------------------------------------------------------------- */

static bool holds(const ebb_space *space, ebb_vec3 at)
{
    size_t element;
    double place[4];
    return ebb_space_find(space, at, &element, place) == EBB_OK;
}

static bool shaped_holds(const ebb_reduced *reduced, const ebb_vec3 *at)
{
    const ebb_shaped *shaped = reduced->space;
    return holds(shaped->space, *at);
}

static ebb_status shaped_points(const ebb_reduced *reduced, size_t n, const ebb_vec3 *at,
                                double *out)
{
    const ebb_shaped *shaped = reduced->space;
    size_t n_modes = shaped->n_modes, n_extra = shaped->n_extra;
    const double *lambda, *shape;
    ebb_space_modes(shaped->space, &lambda, &shape, NULL);
    ebb_arena *scratch = ebb_arena_new(NULL);
    double *modes = EBB_RAW(scratch, double, n *n_modes);
    double *extra = EBB_RAW(scratch, double, n *n_extra);
    ebb_status status = modes && extra ? EBB_OK : EBB_E_NOMEM;
    if (status == EBB_OK)
        status = ebb_space_values(NULL, shaped->space, n_modes, shape, n, at, modes);
    if (status == EBB_OK)
        status = ebb_space_values(NULL, shaped->space, n_extra, shaped->extra, n, at, extra);
    for (size_t p = 0; p < n && status == EBB_OK; p++) {
        memcpy(out + p * reduced->size, modes + p * n_modes, n_modes * sizeof *out);
        memcpy(out + p * reduced->size + n_modes, extra + p * n_extra, n_extra * sizeof *out);
    }
    ebb_arena_free(scratch);
    return status;
}

/* ---- modes and shifts ------------------------------------------------------------------------ */

static size_t modes_below(const double *lambda, size_t n, double k2)
{
    size_t m = 0;
    while (m < n && lambda[m] <= k2 * (1 + 1e-9))
        m++;
    return m;
}

/* The space decides what the basis is good for: a lower band gets the same one. */
static ebb_status open_space(ebb_shaped_build *b)
{
    ebb_shaped *shaped = b->shaped;
    const ebb_geometry *geometry = b->geometry;
    double k = ebb_build_wave_number(b->all);
    shaped->space = geometry->space;
    b->k = ebb_space_highest(geometry->space);
    if (k > (1 + SAME) * b->k)
        return ebb_fail(b->all->ctx, EBB_E_RANGE,
                        "the room's elements were made for %.4g Hz, not for %g Hz",
                        b->k / k * geometry->highest, geometry->highest);
    shaped->length = ebb_space_size(geometry->space);
    shaped->n_modes = ebb_space_modes(geometry->space, &b->lambda, &b->shape, NULL);
    b->n_low = modes_below(b->lambda, shaped->n_modes, REACH * b->k * b->k);
    b->weight = 0.09 * b->k * b->k;
    for (int i = 0; i < 2; i++)
        shaped->shift[i] = ebb_space_shift(geometry->space, i);
    for (size_t p = 0; p < geometry->n_points; p++)
        if (!holds(geometry->space, geometry->points[p]))
            return ebb_fail(b->all->ctx, EBB_E_RANGE, "point %zu lies outside the room", p);
    return EBB_OK;
}

static ebb_status set_rigid(ebb_shaped_build *b)
{
    ebb_reduced *reduced = b->reduced;
    size_t n = reduced->n_rigid = b->shaped->n_modes;
    reduced->rigid_hz = EBB_NEW(reduced->arena, double, n);
    reduced->label = EBB_NEW(reduced->arena, int, 3 * n);
    if (!reduced->rigid_hz || !reduced->label)
        return EBB_E_NOMEM;
    double hz = b->geometry->highest / ebb_build_wave_number(b->all);
    for (size_t m = 0; m < n; m++) {
        reduced->rigid_hz[m] = hz * sqrt(fmax(0, b->lambda[m]));
        reduced->label[3 * m] = (int)m;
        reduced->label[3 * m + 1] = reduced->label[3 * m + 2] = -1;
    }
    return EBB_OK;
}

/* ---- faces ----------------------------------------------------------------------------------- */

/* Sum of the area vectors of all triangles of each surface, made unit vectors. */
static ebb_status set_normals(ebb_shaped_build *b)
{
    const ebb_mesh *mesh = ebb_space_mesh(b->shaped->space);
    ebb_reduced *reduced = b->reduced;
    if (ebb_reduced_make_faces(reduced, ebb_space_surfaces(b->shaped->space)) != EBB_OK)
        return EBB_E_NOMEM;
    for (size_t f = 0; f < mesh->n_faces; f++) {
        const size_t *corner = mesh->face[f], *tet = mesh->tet[mesh->owner[f]];
        ebb_vec3 a = mesh->node[corner[0]], inside = {0, 0, 0};
        ebb_vec3 n =
            ebb_cross(ebb_minus(mesh->node[corner[1]], a), ebb_minus(mesh->node[corner[2]], a));
        for (int i = 0; i < 4; i++) { /* the triangle's own corners add nothing along n */
            ebb_vec3 arm = ebb_minus(mesh->node[tet[i]], a);
            inside = (ebb_vec3){inside.x + arm.x, inside.y + arm.y, inside.z + arm.z};
        }
        double out = ebb_dot(n, inside) > 0 ? -1 : 1, *normal = reduced->normal[mesh->surface[f]];
        normal[0] += out * n.x;
        normal[1] += out * n.y;
        normal[2] += out * n.z;
    }
    for (size_t t = 0; t < reduced->n_faces; t++) {
        double *n = reduced->normal[t], norm = sqrt(n[0] * n[0] + n[1] * n[1] + n[2] * n[2]);
        for (int d = 0; d < 3 && norm > 0; d++)
            n[d] /= norm;
    }
    return EBB_OK;
}

/* Ports were made before it was known how many faces there are. */
static ebb_status check_faces(const ebb_shaped_build *b)
{
    for (size_t p = 0; p < b->reduced->n_patches; p++)
        if ((size_t)b->reduced->patch[p].face >= b->reduced->n_faces)
            return ebb_fail(b->all->ctx, EBB_E_RANGE, "patch %zu: no such face", p);
    if (b->reduced->n_faces > EBB_MOST_SURFACES)
        return ebb_fail(b->all->ctx, EBB_E_RANGE, "%zu surfaces are more than %d",
                        b->reduced->n_faces, EBB_MOST_SURFACES);
    return EBB_OK;
}

ebb_status ebb_build_shaped(const ebb_build *all)
{
    ebb_shaped_build b = {.all = all,
                          .scratch = all->scratch,
                          .geometry = all->geometry,
                          .reduced = all->reduced,
                          .shaped = EBB_NEW(all->reduced->arena, ebb_shaped, 1),
                          .seed = 20011};
    ebb_status status = b.shaped ? open_space(&b) : EBB_E_NOMEM;
    if (status == EBB_OK)
        status = set_normals(&b);
    if (status == EBB_OK)
        status = check_faces(&b);
    if (status == EBB_OK)
        status = set_rigid(&b);
    if (status == EBB_OK)
        status = ebb_shaped_loads(&b);
    if (status == EBB_OK)
        status = ebb_shaped_enrich(&b);
    if (status == EBB_OK)
        status = ebb_shaped_points(&b);
    if (status == EBB_OK)
        status = ebb_shaped_matrices(&b);
    if (status == EBB_OK)
        status = ebb_shaped_port_lacks(&b);
    all->reduced->space = b.shaped;
    all->reduced->holds = shaped_holds;
    all->reduced->points = shaped_points;
    all->reduced->lack = ebb_shaped_lack;
    return status == EBB_OK ? ebb_shaped_trust(&b) : status;
}
