/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * From a box and its residual vectors to the reduced model.
 */
#include "near.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define REACH 1.15 /* modes just above the band answer in it: their shapes at walls count too */
#define MOST_FULL 90000 /* product functions; keeps the residual vectors below 1 GiB */

/* ---- ports ------------------------------------------------------------------------------------
 */

/* out = a (n_b) outer b (n_c) */
static void outer(const double *a, size_t n_b, const double *b, size_t n_c, double *out)
{
    for (size_t j = 0; j < n_b; j++)
        for (size_t k = 0; k < n_c; k++)
            out[j * n_c + k] = a[j] * b[k];
}

/* Patterns of one rectangle of the face: the first n of total degree <= 2. */
static ebb_status rectangle(ebb_box_build *b, int face, const double from[2], const double to[2],
                            size_t n, double *out)
{
    int tangent[2];
    ebb_box_tangents(face / 2, tangent);
    const ebb_line *line[2] = {&b->space->box.axis[tangent[0]], &b->space->box.axis[tangent[1]]};
    double *part[2];
    for (int d = 0; d < 2; d++) {
        part[d] = EBB_NEW(b->scratch, double, 3 * line[d]->n);
        if (!part[d])
            return EBB_E_NOMEM;
        ebb_status status = ebb_line_ports(b->scratch, line[d], from[d], to[d], 3, part[d]);
        if (status != EBB_OK)
            return status;
    }
    for (size_t q = 0; q < n; q++)
        outer(part[0] + (size_t)ebb_pattern_degree[q][0] * line[0]->n, line[0]->n,
              part[1] + (size_t)ebb_pattern_degree[q][1] * line[1]->n, line[1]->n,
              out + q * line[0]->n * line[1]->n);
    return EBB_OK;
}

/* All ports of a patch as patterns on its face: the whole as one, then each cell's. */
static ebb_status patch_patterns(ebb_box_build *b, const ebb_patch *patch, size_t n_jk, double *out)
{
    double end[2] = {patch->at[0] + patch->size[0], patch->at[1] + patch->size[1]};
    ebb_status status = rectangle(b, patch->face, patch->at, end, 1, out);
    out += n_jk;
    for (size_t c = 0; c < ebb_cell_count(patch->size) && status == EBB_OK; c++) {
        double from[2], to[2];
        ebb_cell_at(patch->size, c, from, to);
        for (int d = 0; d < 2; d++) {
            from[d] += patch->at[d];
            to[d] += patch->at[d];
        }
        status = rectangle(b, patch->face, from, to, EBB_CELL_PATTERNS, out);
        out += EBB_CELL_PATTERNS * n_jk;
    }
    return status;
}

size_t ebb_box_face_functions(const ebb_box *box, int face)
{
    int tangent[2];
    ebb_box_tangents(face / 2, tangent);
    return box->axis[tangent[0]].n * box->axis[tangent[1]].n;
}

/* Load patterns of a face: wall damping of every mode shape in the band, and the ports of patches.
 * Weights follow what each load can be at most: k beta phi for walls, less for small patches. */
static ebb_status face_patterns(ebb_box_build *b, int face, ebb_patterns *patterns, double *ports)
{
    const ebb_box *box = &b->space->box;
    int tangent[2];
    ebb_box_tangents(face / 2, tangent);
    const ebb_line *first = &box->axis[tangent[0]], *second = &box->axis[tangent[1]];
    double k = ebb_build_wave_number(b->all), hint = b->geometry->wall[face];
    double weight = 0.6 * (hint > 0 ? hint : 1);
    size_t n_jk = first->n * second->n, n_ports = 0, n = 0;
    for (size_t p = 0; p < b->geometry->n_patches; p++)
        n_ports +=
            b->geometry->patches[p].face == face ? ebb_port_count(b->geometry->patches[p].size) : 0;
    patterns->pattern = EBB_NEW(b->scratch, double, (n_jk + n_ports) * n_jk);
    if (!patterns->pattern)
        return EBB_E_NOMEM;
    for (size_t j = 0; j < first->n; j++)
        for (size_t m = 0; m < second->n; m++)
            if (first->lambda[j] + second->lambda[m] <= REACH * k * k)
                patterns->pattern[n++ * n_jk + j * second->n + m] = weight;
    for (size_t i = 0; i < n_ports * n_jk; i++)
        patterns->pattern[n * n_jk + i] = 0.3 * ports[i];
    patterns->n = n + n_ports;
    return EBB_OK;
}

/* ---- traces and matrices ----------------------------------------------------------------------
 */

/* Values of every basis function on a face, in the product of the face's tangent functions. */
static ebb_status make_trace(ebb_box_build *b, int face)
{
    const ebb_box *box = &b->space->box;
    int axis = face / 2, tangent[2];
    ebb_box_tangents(axis, tangent);
    size_t n2 = box->axis[tangent[1]].n, n_jk = ebb_box_face_functions(box, face);
    size_t size = b->reduced->size;
    const double *end = box->axis[axis].end[face % 2];
    double *trace = b->trace[face] = EBB_NEW(b->scratch, double, size *n_jk);
    if (!trace)
        return EBB_E_NOMEM;
    for (size_t m = 0; m < box->n_kept; m++) {
        size_t index[3] = {box->kept[m] / box->stride[0],
                           box->kept[m] / box->stride[1] % box->axis[1].n,
                           box->kept[m] % box->axis[2].n};
        trace[m * n_jk + index[tangent[0]] * n2 + index[tangent[1]]] = end[index[axis]];
    }
    for (size_t v = 0; v < box->n_extra; v++)
        for (size_t i = 0; i < box->axis[axis].n; i++) {
            const double *from = box->extra + v * box->n_full + i * box->stride[axis];
            double *to = trace + (box->n_kept + v) * n_jk;
            for (size_t jk = 0; jk < n_jk; jk++)
                to[jk] +=
                    end[i] *
                    from[jk / n2 * box->stride[tangent[0]] + jk % n2 * box->stride[tangent[1]]];
        }
    return EBB_OK;
}

static void mirror(size_t n, double *a)
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++)
            a[i * n + j] = a[j * n + i];
}

static ebb_status make_faces(ebb_box_build *b)
{
    ebb_reduced *reduced = b->reduced;
    int size = (int)reduced->size;
    if (ebb_reduced_make_faces(reduced, EBB_FACES) != EBB_OK)
        return EBB_E_NOMEM;
    for (int face = 0; face < EBB_FACES; face++) {
        reduced->normal[face][face / 2] = face % 2 ? 1 : -1;
        ebb_status status = make_trace(b, face);
        reduced->face[face] = EBB_NEW(reduced->arena, double, reduced->size * reduced->size);
        if (status != EBB_OK || !reduced->face[face])
            return EBB_E_NOMEM;
        int n_jk = (int)ebb_box_face_functions(&b->space->box, face);
        cblas_dsyrk(CblasRowMajor, CblasUpper, CblasNoTrans, size, n_jk, 1, b->trace[face], n_jk, 0,
                    reduced->face[face], size);
        mirror(reduced->size, reduced->face[face]);
    }
    return EBB_OK;
}

/* Stiffness of one axis: diagonal for kept modes, full for the residual vectors, no coupling. */
static ebb_status make_stiffness(ebb_box_build *b, int axis)
{
    ebb_reduced *reduced = b->reduced;
    const ebb_box *box = &b->space->box;
    size_t size = reduced->size, n = box->n_extra;
    double *k = reduced->stiffness[axis] = EBB_NEW(reduced->arena, double, size *size);
    double *scaled = EBB_NEW(b->scratch, double, n * box->n_full);
    if (!k || !scaled)
        return EBB_E_NOMEM;
    const double *lambda = box->axis[axis].lambda;
    for (size_t m = 0; m < box->n_kept; m++)
        k[m * size + m] = lambda[box->kept[m] / box->stride[axis] % box->axis[axis].n];
    for (size_t v = 0; v < n; v++)
        for (size_t i = 0; i < box->n_full; i++)
            scaled[v * box->n_full + i] =
                box->extra[v * box->n_full + i] * lambda[i / box->stride[axis] % box->axis[axis].n];
    if (n > 0)
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)n, (int)n, (int)box->n_full, 1,
                    scaled, (int)box->n_full, box->extra, (int)box->n_full, 0,
                    k + box->n_kept * size + box->n_kept, (int)size);
    mirror(size, k);
    return EBB_OK;
}

static ebb_status make_rigid(ebb_box_build *b)
{
    ebb_reduced *reduced = b->reduced;
    const ebb_box *box = &b->space->box;
    reduced->n_rigid = box->n_kept;
    reduced->rigid_hz = EBB_NEW(reduced->arena, double, box->n_kept);
    reduced->label = EBB_NEW(reduced->arena, int, 3 * box->n_kept);
    if (!reduced->rigid_hz || !reduced->label)
        return EBB_E_NOMEM;
    for (size_t m = 0; m < box->n_kept; m++) {
        int *label = reduced->label + 3 * m;
        for (int d = 0; d < 3; d++)
            label[d] = (int)(box->kept[m] / box->stride[d] % box->axis[d].n);
        reduced->rigid_hz[m] = ebb_box_hz(reduced->extent, label, reduced->speed);
    }
    return EBB_OK;
}

/* Port vectors of all patches from the patterns already made per face. */
static ebb_status make_ports(ebb_box_build *b, double *const ports[EBB_FACES])
{
    ebb_reduced *reduced = b->reduced;
    size_t used[EBB_FACES] = {0};
    for (size_t p = 0; p < reduced->n_patches; p++) {
        const ebb_patch *from = &b->geometry->patches[p];
        ebb_port_set *to = &reduced->patch[p];
        size_t n_jk = ebb_box_face_functions(&b->space->box, from->face);
        to->vector = EBB_NEW(reduced->arena, double, to->n * reduced->size);
        if (!to->vector)
            return EBB_E_NOMEM;
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)to->n, (int)reduced->size,
                    (int)n_jk, 1, ports[from->face] + used[from->face] * n_jk, (int)n_jk,
                    b->trace[from->face], (int)n_jk, 0, to->vector, (int)reduced->size);
        used[from->face] += to->n;
    }
    return EBB_OK;
}

/* ---- putting it together ----------------------------------------------------------------------
 */

/* Patterns of all patch ports of one face, in the order of the patches. */
static ebb_status port_patterns(ebb_box_build *b, int face, double **ports)
{
    size_t n_jk = ebb_box_face_functions(&b->space->box, face), n = 0;
    for (size_t p = 0; p < b->geometry->n_patches; p++)
        n +=
            b->geometry->patches[p].face == face ? ebb_port_count(b->geometry->patches[p].size) : 0;
    double *out = *ports = EBB_NEW(b->scratch, double, n *n_jk);
    ebb_status status = out ? EBB_OK : EBB_E_NOMEM;
    for (size_t p = 0; p < b->geometry->n_patches && status == EBB_OK; p++)
        if (b->geometry->patches[p].face == face) {
            status = patch_patterns(b, &b->geometry->patches[p], n_jk, out);
            out += n_jk * ebb_port_count(b->geometry->patches[p].size);
        }
    return status;
}

/* A large room at a fine resolution is given less than was asked for: that must not go unsaid. */
static void warn_coarse(const ebb_box_build *b, double wanted)
{
    double got = 0;
    for (int d = 0; d < 3; d++)
        got = fmax(got, b->geometry->size[d] / (double)(b->space->box.axis[d].n - 1));
    if (got > 1.1 * wanted && b->all->ctx)
        ebb_warn_at(b->all->ctx, NULL,
                    "the room is so large that near fields are resolved to %.2f m only, not to "
                    "%.2f m: levels near units are less sure",
                    got, wanted);
}

static ebb_status make_basis(ebb_box_build *b, double *ports[EBB_FACES])
{
    const ebb_geometry *geometry = b->geometry;
    double wanted = 0.17 / geometry->richness;
    double volume = geometry->size[0] * geometry->size[1] * geometry->size[2];
    double resolution = fmax(wanted, cbrt(volume / MOST_FULL));
    ebb_status status = ebb_box_make(b->reduced->arena, geometry, resolution,
                                     ebb_build_cut(geometry), &b->space->box);
    if (status == EBB_OK)
        warn_coarse(b, wanted);
    ebb_patterns patterns[EBB_FACES];
    for (int face = 0; face < EBB_FACES && status == EBB_OK; face++) {
        status = port_patterns(b, face, &ports[face]);
        if (status == EBB_OK)
            status = face_patterns(b, face, &patterns[face], ports[face]);
    }
    if (status == EBB_OK)
        status = ebb_box_enrich(b->scratch, &b->space->box, patterns, geometry->n_points,
                                geometry->points, ebb_build_tolerance(geometry));
    size_t n = b->space->box.n_extra * b->space->box.n_full;
    double *extra = EBB_NEW(b->reduced->arena, double, n);
    if (status == EBB_OK && !extra)
        status = EBB_E_NOMEM;
    if (status == EBB_OK && n > 0)
        memcpy(extra, b->space->box.extra, n * sizeof *extra);
    b->space->box.extra = extra; /* out of the scratch arena */
    b->reduced->size = b->space->box.n_kept + b->space->box.n_extra;
    return status;
}

ebb_status ebb_build_box(const ebb_build *all)
{
    ebb_box_build b = {all, all->scratch, all->geometry, NULL, all->reduced, {NULL}};
    double *ports[EBB_FACES] = {NULL};
    if (!(b.space = EBB_NEW(all->reduced->arena, ebb_box_space, 1)))
        return EBB_E_NOMEM;
    ebb_status status = make_basis(&b, ports);
    if (status == EBB_OK)
        status = make_rigid(&b);
    if (status == EBB_OK)
        status = make_faces(&b);
    for (int axis = 0; axis < 3 && status == EBB_OK; axis++)
        status = make_stiffness(&b, axis);
    if (status == EBB_OK)
        status = make_ports(&b, ports);
    if (status == EBB_OK)
        status = ebb_box_make_lacks(&b, ports);
    ebb_box_set_points(&b);
    return status == EBB_OK ? ebb_box_trust(&b, ports) : status;
}
