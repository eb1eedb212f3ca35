/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "reduced.h"

#include "box.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

void ebb_reduced_free(ebb_reduced *reduced)
{
    if (reduced)
        ebb_arena_free(reduced->arena);
}

size_t ebb_reduced_faces(const ebb_reduced *reduced)
{
    return reduced->n_faces;
}

ebb_trust ebb_reduced_trust(const ebb_reduced *reduced)
{
    return reduced->trust;
}

ebb_status ebb_reduced_make_faces(ebb_reduced *reduced, size_t n_faces)
{
    reduced->n_faces = n_faces;
    reduced->face = EBB_NEW(reduced->arena, double *, n_faces);
    reduced->normal = ebb_arena_alloc(reduced->arena, n_faces, sizeof *reduced->normal);
    return reduced->face && reduced->normal ? EBB_OK : EBB_E_NOMEM;
}

double ebb_face_scale(const ebb_reduced *reduced, size_t face, const double scale[3])
{
    double sum = 0;
    for (int d = 0; d < 3; d++)
        sum += reduced->normal[face][d] / scale[d] * (reduced->normal[face][d] / scale[d]);
    return sqrt(sum);
}

size_t ebb_reduced_size(const ebb_reduced *reduced)
{
    return reduced->size;
}

size_t ebb_reduced_ports(const ebb_reduced *reduced, size_t patch)
{
    return patch < reduced->n_patches ? reduced->patch[patch].n : 0;
}

const double *ebb_reduced_port(const ebb_reduced *reduced, size_t patch, size_t port)
{
    if (port >= ebb_reduced_ports(reduced, patch) || !reduced->patch[patch].valid)
        return NULL;
    return reduced->patch[patch].vector + port * reduced->size;
}

void ebb_reduced_port_lack(const ebb_reduced *reduced, size_t patch, size_t port, double lack[2])
{
    lack[0] = lack[1] = 0;
    if (port < ebb_reduced_ports(reduced, patch) && reduced->patch[patch].lack)
        memcpy(lack, reduced->patch[patch].lack[port], 2 * sizeof *lack);
}

ebb_status ebb_reduced_points(ebb_ctx *ctx, const ebb_reduced *reduced, size_t n,
                              const ebb_vec3 *points, double *out)
{
    ebb_status status = reduced->points(reduced, n, points, out);
    if (status == EBB_OK)
        return EBB_OK;
    memset(out, 0, n * reduced->size * sizeof *out);
    if (status == EBB_E_RANGE)
        return ebb_fail(ctx, status, "a point lies outside the room");
    return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for %zu points of a room", n);
}

const double *ebb_reduced_rigid(const ebb_reduced *reduced, size_t *n, const int **labels)
{
    *n = reduced->n_rigid;
    if (labels)
        *labels = reduced->label;
    return reduced->rigid_hz;
}

int ebb_face_of(const ebb_room *room, size_t surface)
{
    const ebb_surface *on = &room->surfaces[surface];
    return room->shaped ? (int)surface : 2 * on->axis + on->side;
}

ebb_status ebb_patch_on(ebb_ctx *ctx, const ebb_room *room, size_t surface, const double at[2],
                        const double size[2], ebb_patch *patch)
{
    if (surface >= room->n_surfaces)
        return ebb_fail(ctx, EBB_E_RANGE, "room %s has no surface %zu", room->name, surface);
    const ebb_surface *on = &room->surfaces[surface];
    ebb_vec3 a = ebb_minus(ebb_surface_point(on, at[0], at[1]), room->origin);
    ebb_vec3 b = ebb_minus(ebb_surface_point(on, at[0] + size[0], at[1] + size[1]), room->origin);
    patch->face = ebb_face_of(room, surface);
    patch->rect = (ebb_rect){(size_t)patch->face, a, ebb_times(size[0], on->along),
                             ebb_times(size[1], on->up)};
    memcpy(patch->at, at, sizeof patch->at);
    memcpy(patch->size, size, sizeof patch->size);
    if (room->shaped)
        return EBB_OK;
    const double from[3] = {a.x, a.y, a.z}, to[3] = {b.x, b.y, b.z};
    int tangent[2];
    ebb_box_tangents(on->axis, tangent);
    for (int d = 0; d < 2; d++) {
        patch->at[d] = fmin(from[tangent[d]], to[tangent[d]]);
        patch->size[d] = fabs(to[tangent[d]] - from[tangent[d]]);
    }
    return EBB_OK;
}

size_t ebb_compress(ebb_arena *arena, size_t size, size_t n, double *vectors, double tolerance,
                    double **kept)
{
    double *g = EBB_NEW(arena, double, n *n), *value = EBB_NEW(arena, double, n);
    *kept = NULL;
    if (!g || !value || n == 0)
        return 0;
    for (size_t v = 0; v < n; v++) { /* unit length: a weak solution counts as much as a strong */
        double norm = cblas_dnrm2((int)size, vectors + v * size, 1);
        if (norm > 0)
            cblas_dscal((int)size, 1 / norm, vectors + v * size, 1);
    }
    cblas_dsyrk(CblasColMajor, CblasUpper, CblasTrans, (int)n, (int)size, 1, vectors, (int)size, 0,
                g, (int)n);
    if (LAPACKE_dsyevd(LAPACK_COL_MAJOR, 'V', 'U', (int)n, g, (int)n, value) != 0)
        return 0;
    size_t first = n > size ? n - size : 0;
    while (first < n && value[first] < tolerance * tolerance * value[n - 1])
        first++;
    for (size_t v = first; v < n; v++)
        cblas_dscal((int)n, 1 / sqrt(value[v]), g + v * n, 1);
    double *out = EBB_NEW(arena, double, (n - first) * size);
    if (!out)
        return 0;
    cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, (int)size, (int)(n - first), (int)n, 1,
                vectors, (int)size, g + first * n, (int)n, 0, out, (int)size);
    *kept = out;
    return n - first;
}

double *ebb_restricted(ebb_arena *arena, ebb_arena *scratch, size_t size, size_t small,
                       const double *basis, const double *large)
{
    double *half = EBB_NEW(scratch, double, small *size);
    double *out = EBB_NEW(arena, double, small *small);
    if (!half || !out)
        return NULL;
    cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasNoTrans, (int)small, (int)size, (int)size, 1,
                basis, (int)size, large, (int)size, 0, half, (int)size);
    cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)small, (int)small, (int)size, 1, half,
                (int)size, basis, (int)size, 0, out, (int)small);
    return out;
}
