/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A box while it is projected, and its near fields, which no finite basis carries: exact static
 * answers tell what the basis lacks.
 */
#ifndef EBB_FIELD_NEAR_H
#define EBB_FIELD_NEAR_H

#include "box.h"
#include "build.h"

/* What the point functions need of a box: kept in reduced->space. */
typedef struct ebb_box_space {
    ebb_box box;
    double size[3];
    double kappa[2];
    double *factor[2]; /* Cholesky factors of K + kappa^2 I in the reduced basis */
} ebb_box_space;

typedef struct ebb_box_build {
    const ebb_build *all;
    ebb_arena *scratch;
    const ebb_geometry *geometry;
    ebb_box_space *space;
    ebb_reduced *reduced;
    double *trace[EBB_FACES]; /* [column * n_jk + jk] value of basis function on the face */
} ebb_box_build;

/* Products of two tangent functions on a face. */
size_t ebb_box_face_functions(const ebb_box *box, int face);

/* Basis functions at points, and what the Green function between points lacks. */
void ebb_box_set_points(ebb_box_build *b);

/* What the self field of each port lacks. ports[face]: patterns of the face's ports in the order of
 * their patches. */
ebb_status ebb_box_make_lacks(ebb_box_build *b, double *const ports[EBB_FACES]);

/* Fills reduced->trust. */
ebb_status ebb_box_trust(const ebb_box_build *b, double *const ports[EBB_FACES]);

#endif
