/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Loads that a meshed room must be able to answer: the damping of each low mode by each wall, and
 * the patterns of all patches. A face touches few of the freedoms, so its loads are kept short.
 */
#include "shaped.h"

#include <cblas.h>
#include <math.h>

#define COLUMNS 64 /* of long vectors at a time */

/* -1..1 by xorshift64*: the same on every machine. */
static double draw(uint64_t *seed)
{
    *seed ^= *seed >> 12;
    *seed ^= *seed << 25;
    *seed ^= *seed >> 27;
    return (double)((*seed * 2685821657736338717ULL) >> 11) * 0x1p-52 - 1;
}

/* Which rows of B_t are not empty: a vector without pattern finds them all. */
static ebb_status find_rows(ebb_shaped_build *b, size_t t)
{
    size_t length = b->shaped->length;
    double *x = EBB_NEW(b->scratch, double, 2 * length), *y = x + length;
    ebb_shaped_face *face = &b->face[t];
    face->row = EBB_NEW(b->scratch, size_t, length);
    if (!x || !face->row)
        return EBB_E_NOMEM;
    for (size_t i = 0; i < length; i++)
        x[i] = draw(&b->seed);
    ebb_space_boundary(b->shaped->space, t, 1, x, y);
    for (size_t i = 0; i < length; i++)
        if (y[i] != 0)
            face->row[face->n_rows++] = i;
    return EBB_OK;
}

static void gather(const ebb_shaped_face *face, const double *from, double *to)
{
    for (size_t i = 0; i < face->n_rows; i++)
        to[i] = from[face->row[i]];
}

static ebb_status wall_loads(ebb_shaped_build *b, size_t t)
{
    ebb_shaped_face *face = &b->face[t];
    size_t length = b->shaped->length;
    face->wall = EBB_NEW(b->scratch, double, b->n_low * face->n_rows);
    double *y = EBB_RAW(b->scratch, double, COLUMNS *length);
    if (!face->wall || !y)
        return EBB_E_NOMEM;
    for (size_t m = 0; m < b->n_low; m += COLUMNS) {
        size_t n = b->n_low - m < COLUMNS ? b->n_low - m : COLUMNS;
        ebb_space_boundary(b->shaped->space, t, n, b->shape + m * length, y);
        for (size_t v = 0; v < n; v++)
            gather(face, y + v * length, face->wall + (m + v) * face->n_rows);
    }
    return EBB_OK;
}

/* The part from..to (m along its edges) of a patch's rectangle. */
static ebb_rect part_of(const ebb_rect *rect, const double size[2], const double from[2],
                        const double to[2])
{
    ebb_rect part = *rect;
    part.at =
        ebb_plus(ebb_plus(rect->at, from[0] / size[0], rect->along), from[1] / size[1], rect->up);
    part.along = ebb_times((to[0] - from[0]) / size[0], rect->along);
    part.up = ebb_times((to[1] - from[1]) / size[1], rect->up);
    return part;
}

/* All ports of a patch as rows of its face: the whole as one, then each cell's patterns. */
static ebb_status patch_loads(ebb_shaped_build *b, const ebb_patch *patch, double *work,
                              double *out)
{
    const ebb_shaped_face *face = &b->face[patch->face];
    size_t length = b->shaped->length;
    double size[2];
    ebb_patch_size(b->geometry, patch, size);
    ebb_rect whole = patch->rect;
    whole.surface = (size_t)patch->face;
    ebb_status status =
        ebb_space_rect(b->all->ctx, b->shaped->space, &whole, 1, ebb_pattern_degree, work);
    gather(face, work, out);
    out += face->n_rows;
    for (size_t c = 0; c < ebb_cell_count(size) && status == EBB_OK; c++) {
        double from[2], to[2];
        ebb_cell_at(size, c, from, to);
        ebb_rect cell = part_of(&whole, size, from, to);
        status = ebb_space_rect(b->all->ctx, b->shaped->space, &cell, EBB_CELL_PATTERNS,
                                ebb_pattern_degree, work);
        for (size_t q = 0; q < EBB_CELL_PATTERNS; q++, out += face->n_rows)
            gather(face, work + q * length, out);
    }
    return status;
}

/* A mode of unit size moves a port by about its square root of area over that of the volume, times
 * its two or three standing waves; patterns of higher degree less (measured on many placements: the
 * smallest basis for the same error). */
static void weigh(const ebb_shaped_build *b, const ebb_port_set *ports, double *weight)
{
    double cells = ((double)ports->n - 1) / EBB_CELL_PATTERNS;
    double volume = ebb_space_volume(b->shaped->space);
    for (size_t q = 0; q < ports->n; q++) {
        const int *degree = ebb_pattern_degree[q == 0 ? 0 : (q - 1) % EBB_CELL_PATTERNS];
        double area = q == 0 ? ports->area : ports->area / cells;
        weight[q] = sqrt(4 * area / volume) * pow(0.3, degree[0] + degree[1]);
    }
}

static ebb_status port_loads(ebb_shaped_build *b, double *work)
{
    const ebb_reduced *reduced = b->reduced;
    for (size_t p = 0; p < reduced->n_patches; p++)
        b->face[reduced->patch[p].face].n_ports += reduced->patch[p].n;
    for (size_t t = 0; t < reduced->n_faces; t++) {
        ebb_shaped_face *face = &b->face[t];
        face->port = EBB_NEW(b->scratch, double, face->n_ports * face->n_rows);
        face->weight = EBB_NEW(b->scratch, double, face->n_ports);
        if (!face->port || !face->weight)
            return EBB_E_NOMEM;
        face->n_ports = 0;
    }
    ebb_status status = EBB_OK;
    for (size_t p = 0; p < reduced->n_patches && status == EBB_OK; p++) {
        const ebb_port_set *set = &reduced->patch[p];
        ebb_shaped_face *face = &b->face[set->face];
        status = patch_loads(b, &b->geometry->patches[p], work,
                             face->port + face->n_ports * face->n_rows);
        weigh(b, set, face->weight + face->n_ports);
        face->n_ports += set->n;
    }
    return status;
}

ebb_status ebb_shaped_loads(ebb_shaped_build *b)
{
    double *work = EBB_RAW(b->scratch, double, EBB_CELL_PATTERNS * b->shaped->length);
    b->face = EBB_NEW(b->scratch, ebb_shaped_face, b->reduced->n_faces);
    if (!b->face || !work)
        return EBB_E_NOMEM;
    ebb_status status = EBB_OK;
    for (size_t t = 0; t < b->reduced->n_faces && status == EBB_OK; t++) {
        status = find_rows(b, t);
        if (status == EBB_OK)
            status = wall_loads(b, t);
    }
    return status == EBB_OK ? port_loads(b, work) : status;
}

size_t ebb_shaped_load_count(const ebb_shaped_build *b)
{
    size_t n = 0;
    for (size_t t = 0; t < b->reduced->n_faces; t++)
        n += b->n_low + b->face[t].n_ports;
    return n;
}

/* rows[v * n_rows + i] += mixtures of n_loads loads; weight NULL: all 1. */
static void mix(ebb_shaped_build *b, size_t n, size_t n_rows, size_t n_loads, const double *load,
                const double *weight, double factor, double *random, double *rows)
{
    for (size_t i = 0; i < n * n_loads; i++)
        random[i] = sqrt(3) * factor * draw(&b->seed) * (weight ? weight[i % n_loads] : 1);
    if (n_loads > 0 && n_rows > 0)
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasNoTrans, (int)n, (int)n_rows, (int)n_loads, 1,
                    random, (int)n_loads, load, (int)n_rows, 1, rows, (int)n_rows);
}

ebb_status ebb_shaped_mix(ebb_shaped_build *b, size_t n, double *out)
{
    size_t length = b->shaped->length;
    double k = b->k;
    memset(out, 0, n * length * sizeof *out);
    for (size_t t = 0; t < b->reduced->n_faces; t++) {
        const ebb_shaped_face *face = &b->face[t];
        double hint = b->geometry->wall[t] > 0 ? b->geometry->wall[t] : 1;
        ebb_arena *scratch = ebb_arena_new(b->all->ctx);
        double *rows = EBB_NEW(scratch, double, n * face->n_rows);
        double *random = EBB_RAW(scratch, double, n *(b->n_low + face->n_ports));
        if (rows && random) {
            mix(b, n, face->n_rows, b->n_low, face->wall, NULL, k * hint, random, rows);
            mix(b, n, face->n_rows, face->n_ports, face->port, face->weight, k, random, rows);
            for (size_t v = 0; v < n; v++)
                for (size_t i = 0; i < face->n_rows; i++)
                    out[v * length + face->row[i]] += rows[v * face->n_rows + i];
        }
        ebb_arena_free(scratch);
        if (!rows || !random)
            return EBB_E_NOMEM;
    }
    return EBB_OK;
}
