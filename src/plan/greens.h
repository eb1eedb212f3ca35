/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Green matrices of one start, kept exact while units come and go.
 *
 * Adding a unit at spot p changes the Green matrix by
 *   G' = G - G_p (D^-1 + G_pp)^-1 G_p^T,   D = j k (beta_unit - beta_wall) / scale,
 * and taking it away is the same with -D. G' is kept only where it is read: blocks of all spots
 * with themselves, all spots with all stations, stations with stations. A column G'_p is rebuilt
 * from the original matrix and the stack of all updates so far.
 */
#ifndef EBB_PLAN_GREENS_H
#define EBB_PLAN_GREENS_H

#include "climb.h"

/* What is read, and how much of the stack of updates it has in it. */
typedef struct ebb_greens_read {
    double _Complex *block;   /* [f][spot][port][port] */
    double _Complex *station; /* [f][station][n_ports]: sources of all options, then receivers */
    double _Complex *direct;  /* [f][source][receiver] */
    size_t rank;              /* rows of the stack in use */
} ebb_greens_read;

typedef struct ebb_greens {
    const ebb_base *base;
    ebb_greens_read now, kept;
    size_t room;             /* rows that the stack can hold */
    double _Complex *column; /* [f][room][n_ports]: columns of the updates */
    double _Complex *weight; /* [f][room][ports]: rows of their middle matrices, 0 beyond */
    unsigned char *first;    /* [room] distance back to the first row of the same update */
    unsigned char *width;    /* [room] rank of that update */
    double _Complex *work;   /* scratch */
} ebb_greens;

/* Memory in arena; call ebb_greens_reset before use. */
bool ebb_greens_make(ebb_arena *arena, const ebb_base *base, ebb_greens *greens);
/* The room as it stands. */
void ebb_greens_reset(ebb_greens *greens);
/* Is there room on the stack for so many more updates? If not: reset and apply the layout again. */
bool ebb_greens_has_room(const ebb_greens *greens, size_t updates);
/* Keeps what is read now; return goes back to it, undoing the updates since. There must be no reset
 * between the two. */
void ebb_greens_keep(ebb_greens *greens);
void ebb_greens_return(ebb_greens *greens);
/* Adds (sign 1) or removes (sign -1) a unit. */
void ebb_greens_apply(ebb_greens *greens, ebb_pick pick, double sign);
/* Responses of the judged paths, h[path * n_hz + f], as if pick (NULL: none) came or went. */
void ebb_greens_responses(const ebb_greens *greens, const ebb_pick *pick, double sign,
                          const size_t option[2], double _Complex *h);

#endif
