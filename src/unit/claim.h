/* SPDX-License-Identifier: GPL-3.0-or-later */
/* claim.h - a claim on the desk: its figures read in two ways, and what is to be said of them. */
#ifndef EBB_UNIT_CLAIM_H
#define EBB_UNIT_CLAIM_H

#include "private.h"

/* Paris' integral at its best real impedance: what a large locally reacting surface can show. */
#define EBB_UNIT_LARGEST_DIFFUSE 0.9512

/* One reading of all figures. */
typedef struct ebb_unit_read {
    bool done;
    ebb_box box;
    double *want, *got, *normal, *alone, *alone_normal, *limit;
} ebb_unit_read;

/* The work on one claim. */
typedef struct ebb_unit_desk {
    ebb_ctx *ctx;
    ebb_arena *arena, *scratch;
    const ebb_claim *claim;
    const ebb_air *air;
    ebb_units units;
    ebb_claim_check *check;
    ebb_claim_figure *figure;
    bool *forbidden;              /* by the depth limit, read at normal incidence */
    bool face;                    /* known */
    ebb_unit_read plain, diffuse; /* at normal and at random incidence */
    bool failed;                  /* out of memory */
} ebb_unit_desk;

/* claim_read.c: works out the readings that the kind of figure allows: what is wanted, what the
 * depth limit forbids, what boxes reach. */
ebb_status ebb_unit_read_figures(ebb_unit_desk *desk);

#endif
