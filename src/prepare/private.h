/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of this module share. */
#ifndef EBB_PREPARE_PRIVATE_H
#define EBB_PREPARE_PRIVATE_H

#include <ebb/prepare.h>
#include <ebb/space.h>

/* What is wanted of the elements of a room. */
typedef struct ebb_prepare_want {
    ebb_mesh_wish mesh;
    ebb_space_wish space;
} ebb_prepare_want;

/* Decides how fine, for a job's air; highest and error as in ebb_prepare_wish. EBB_E_RANGE when
 * they can not be. */
ebb_status ebb_prepare_decide(ebb_ctx *ctx, const ebb_job *job, double highest, double error,
                              ebb_prepare_want *want);

/* Another order of the elements, as in ebb_prepare_wish, for the same error. EBB_E_RANGE. */
ebb_status ebb_prepare_order(ebb_ctx *ctx, size_t order, double error, ebb_prepare_want *want);

/* And how much finer at the re-entrant edges of this solid. EBB_E_NOMEM; scratch in arena. */
ebb_status ebb_prepare_grade(ebb_ctx *ctx, ebb_arena *arena, const ebb_solid *solid,
                             ebb_mesh_wish *mesh);

/* All that the elements of a shape depend on, as bytes; in arena. */
ebb_status ebb_prepare_key(ebb_ctx *ctx, ebb_arena *arena, const ebb_solid *solid,
                           const ebb_prepare_want *want, const char **key, size_t *n);

#endif
