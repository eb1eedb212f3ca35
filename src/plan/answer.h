/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Steps of the answer for a room. */
#ifndef EBB_PLAN_ANSWER_H
#define EBB_PLAN_ANSWER_H

#include "stage.h"

/* Fills t->before alone: the room as it stands, at its best seats. */
ebb_status ebb_answer_bare(ebb_ctx *ctx, ebb_answer *answer, ebb_use use, ebb_treatment *t);

/* Judges one use before and after treatment. */
ebb_status ebb_answer_treat(ebb_ctx *ctx, ebb_answer *answer, ebb_use use, const ebb_effort *effort,
                            ebb_treatment *t);

/* Reasons and what stays wrong, as sentences. */
ebb_status ebb_answer_words(ebb_ctx *ctx, ebb_answer *answer);

#endif
