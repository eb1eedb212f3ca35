/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What projecting a geometry means whatever its shape: checks, ports of patches, near fields. The
 * two ways to do it, closed forms of a box and finite elements, meet here.
 */
#ifndef EBB_FIELD_BUILD_H
#define EBB_FIELD_BUILD_H

#include "reduced.h"

/* Everything while building. */
typedef struct ebb_build {
    ebb_ctx *ctx;
    ebb_arena *scratch;
    const ebb_geometry *geometry;
    ebb_reduced *reduced; /* patches allocated, all else empty */
} ebb_build;

/* Fill the reduced model. Those messages that say more than the status are recorded. */
ebb_status ebb_build_box(const ebb_build *b);
ebb_status ebb_build_shaped(const ebb_build *b);

/* Wave number at the highest frequency, 1/m. */
double ebb_build_wave_number(const ebb_build *b);

/* Rigid modes up to this frequency stay as they are, Hz. */
double ebb_build_cut(const ebb_geometry *geometry);

/* Smallest relative size of an enriching vector that is kept. */
double ebb_build_tolerance(const ebb_geometry *geometry);

/* Legendre patterns of a cell, total degree <= 2. */
extern const int ebb_pattern_degree[EBB_CELL_PATTERNS][2];

/* Length and width of a patch, m. */
void ebb_patch_size(const ebb_geometry *geometry, const ebb_patch *patch, double size[2]);

/* A patch is cut into equal cells, each small enough for its patterns. */
size_t ebb_cell_count(const double size[2]);
void ebb_cell_at(const double size[2], size_t cell, double from[2], double to[2]);

/* One port for the whole patch, then the patterns of each cell. */
size_t ebb_port_count(const double size[2]);

/* A port set without vectors. */
ebb_port_set ebb_port_set_of(const ebb_geometry *geometry, const ebb_patch *patch);

/* A value known at two squared wave numbers, as a straight line in k^2. */
void ebb_lack_line(const double k2[2], const double value[2], double lack[2]);

#endif
