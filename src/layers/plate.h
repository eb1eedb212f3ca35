/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The eigenvalue problem of a plate.
 */
#ifndef EBB_LAYERS_PLATE_H
#define EBB_LAYERS_PLATE_H

#include "chain.h"

#include <ebb/cabinet.h>

#define EBB_PLATE_ORDER 10 /* functions per side, at most */
#define EBB_PLATE_SIZE (EBB_PLATE_ORDER * EBB_PLATE_ORDER)
#define EBB_PLATE_MODES 16 /* that are kept, at most */

/* n = order^2 coordinates; the first one is the mean. Matrices by rows. */
typedef struct ebb_plate_problem {
    size_t n;
    double *elastic;               /* n x n, Re K */
    double *lossy;                 /* n x n, Im K */
    double *factor;                /* n x n, work: Cholesky factor of Re K */
    double *basis;                 /* EBB_PLATE_MODES x n, zeroed: orthonormal rows */
    double middle[EBB_PLATE_SIZE]; /* values of the coordinates at the centre */
    bool one_loss;                 /* Im K = loss Re K */
    double loss;
} ebb_plate_problem;

typedef struct ebb_plate_modes {
    size_t n;
    double _Complex lambda[EBB_PLATE_MODES], share[EBB_PLATE_MODES], middle[EBB_PLATE_MODES];
} ebb_plate_modes;

/* Modes that an even pressure drives, rising; false when they cannot be found. */
bool ebb_layers_plate_modes(ebb_plate_problem *problem, ebb_plate_modes *modes);

/* Can such a plate be computed? EBB_E_RANGE with a text. */
ebb_status ebb_layers_plate_check(ebb_ctx *ctx, const double side[2], const ebb_board *board,
                                  double added, const ebb_mount *mount, size_t order);

#endif
