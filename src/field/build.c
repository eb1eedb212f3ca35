/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "build.h"

#include <cblas.h>
#include <math.h>

#define PI 3.14159265358979323846
#define CELL 1.3 /* m, largest side carried by one set of Legendre patterns */

const int ebb_pattern_degree[EBB_CELL_PATTERNS][2] = {{0, 0}, {1, 0}, {0, 1},
                                                      {2, 0}, {1, 1}, {0, 2}};

double ebb_build_wave_number(const ebb_build *b)
{
    return 2 * PI * b->geometry->highest / b->geometry->speed;
}

double ebb_build_cut(const ebb_geometry *geometry)
{
    return geometry->highest * (1.1 + 0.1 * geometry->richness);
}

double ebb_build_tolerance(const ebb_geometry *geometry)
{
    return 6e-3 / pow(geometry->richness, 3);
}

/* ---- ports ----------------------------------------------------------------------------------- */

static double length_of(ebb_vec3 v)
{
    return sqrt(v.x * v.x + v.y * v.y + v.z * v.z);
}

void ebb_patch_size(const ebb_geometry *geometry, const ebb_patch *patch, double size[2])
{
    size[0] = geometry->space ? length_of(patch->rect.along) : patch->size[0];
    size[1] = geometry->space ? length_of(patch->rect.up) : patch->size[1];
}

static size_t cells(double length)
{
    return (size_t)ceil(length / CELL - 1e-9);
}

size_t ebb_cell_count(const double size[2])
{
    return cells(size[0]) * cells(size[1]);
}

void ebb_cell_at(const double size[2], size_t cell, double from[2], double to[2])
{
    const size_t n[2] = {cells(size[0]), cells(size[1])};
    const size_t index[2] = {cell / n[1], cell % n[1]};
    for (int d = 0; d < 2; d++) {
        from[d] = size[d] * (double)index[d] / (double)n[d];
        to[d] = from[d] + size[d] / (double)n[d];
    }
}

size_t ebb_port_count(const double size[2])
{
    return 1 + EBB_CELL_PATTERNS * ebb_cell_count(size);
}

ebb_port_set ebb_port_set_of(const ebb_geometry *geometry, const ebb_patch *patch)
{
    double size[2];
    ebb_patch_size(geometry, patch, size);
    return (ebb_port_set){.valid = true,
                          .face = patch->face,
                          .piston = patch->piston,
                          .area = size[0] * size[1],
                          .vary = patch->vary,
                          .assembly = patch->assembly,
                          .n = ebb_port_count(size)};
}

void ebb_lack_line(const double k2[2], const double value[2], double lack[2])
{
    lack[1] = (value[0] - value[1]) / (k2[0] - k2[1]);
    lack[0] = value[0] - lack[1] * k2[0];
}

/* ---- checks ---------------------------------------------------------------------------------- */

static ebb_status check_patch(ebb_ctx *ctx, const ebb_geometry *geometry, size_t p)
{
    const ebb_patch *patch = &geometry->patches[p];
    int n_faces = geometry->space ? EBB_MOST_SURFACES : EBB_FACES;
    if (patch->face < 0 || patch->face >= n_faces || !patch->assembly)
        return ebb_fail(ctx, EBB_E_RANGE, "patch %zu: no such face, or no assembly", p);
    double size[2];
    ebb_patch_size(geometry, patch, size);
    if (geometry->space) /* whether it lies on its face is known when it is integrated */
        return size[0] > 1e-3 && size[1] > 1e-3 && size[0] <= 40 && size[1] <= 40
                   ? EBB_OK
                   : ebb_fail(ctx, EBB_E_RANGE, "patch %zu is %g x %g m large", p, size[0],
                              size[1]);
    /* tangent axes of the face, rising */
    const int axis = patch->face / 2, tangent[2] = {axis == 0 ? 1 : 0, axis == 2 ? 1 : 2};
    for (int d = 0; d < 2; d++) {
        double end = patch->at[d] + patch->size[d], length = geometry->size[tangent[d]];
        if (!(patch->at[d] >= -1e-6 && patch->size[d] > 1e-3 && end <= length + 1e-6))
            return ebb_fail(ctx, EBB_E_RANGE,
                            "patch %zu does not lie on its face: %g to %g m of %g m", p,
                            patch->at[d], end, length);
    }
    return EBB_OK;
}

static ebb_status check_range(ebb_ctx *ctx, const ebb_geometry *geometry)
{
    for (int d = 0; d < 3; d++)
        if (!(geometry->size[d] >= 0.5 && geometry->size[d] <= 40))
            return ebb_fail(ctx, EBB_E_RANGE, "room size %g m is outside 0.5 to 40 m",
                            geometry->size[d]);
    if (!(geometry->highest >= 20 && geometry->highest <= 400))
        return ebb_fail(ctx, EBB_E_RANGE, "highest frequency %g Hz is outside 20 to 400 Hz",
                        geometry->highest);
    if (!(geometry->speed >= 300 && geometry->speed <= 380))
        return ebb_fail(ctx, EBB_E_RANGE, "speed of sound %g m/s is outside 300 to 380 m/s",
                        geometry->speed);
    if (!(geometry->richness >= 0.2 && geometry->richness <= 1))
        return ebb_fail(ctx, EBB_E_RANGE, "richness %g is outside 0.2 to 1", geometry->richness);
    return EBB_OK;
}

static ebb_status check(ebb_ctx *ctx, const ebb_geometry *geometry)
{
    ebb_status status = check_range(ctx, geometry);
    if (status != EBB_OK)
        return status;
    for (size_t p = 0; p < geometry->n_points; p++) {
        const ebb_vec3 *at = &geometry->points[p];
        const double *size = geometry->size;
        if (!(at->x >= 0 && at->x <= size[0] && at->y >= 0 && at->y <= size[1] && at->z >= 0 &&
              at->z <= size[2]))
            return ebb_fail(ctx, EBB_E_RANGE, "point %zu lies outside the room", p);
    }
    for (size_t p = 0; p < geometry->n_patches; p++) {
        status = check_patch(ctx, geometry, p);
        if (status != EBB_OK)
            return status;
    }
    return EBB_OK;
}

/* ---- putting it together --------------------------------------------------------------------- */

/* An empty model in its own arena, or NULL. */
static ebb_reduced *open_model(ebb_ctx *ctx, const ebb_geometry *geometry)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_reduced *made = EBB_NEW(arena, ebb_reduced, 1);
    ebb_port_set *patches = EBB_NEW(arena, ebb_port_set, geometry->n_patches);
    if (!made || !patches) {
        ebb_arena_free(arena);
        return NULL;
    }
    *made = (ebb_reduced){.arena = arena,
                          .highest = geometry->highest,
                          .speed = geometry->speed,
                          .n_patches = geometry->n_patches,
                          .patch = patches};
    memcpy(made->extent, geometry->size, sizeof made->extent);
    for (size_t p = 0; p < geometry->n_patches; p++)
        patches[p] = ebb_port_set_of(geometry, &geometry->patches[p]);
    return made;
}

ebb_status ebb_reduced_new(ebb_ctx *ctx, const ebb_geometry *geometry, ebb_reduced **reduced)
{
    *reduced = NULL;
    /* Frequencies and draws are shared out to threads here; BLAS threads on top only get in the
     * way. */
    openblas_set_num_threads(1);
    ebb_status status = check(ctx, geometry);
    if (status != EBB_OK)
        return status;
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_reduced *made = open_model(ctx, geometry);
    status = EBB_E_NOMEM;
    if (scratch && made) {
        const ebb_build b = {ctx, scratch, geometry, made};
        status = geometry->space ? ebb_build_shaped(&b) : ebb_build_box(&b);
    }
    ebb_arena_free(scratch);
    if (status != EBB_OK) {
        ebb_reduced_free(made);
        return ebb_fail(ctx, status, "the room could not be projected: %s",
                        ebb_status_text(status));
    }
    *reduced = made;
    return EBB_OK;
}
