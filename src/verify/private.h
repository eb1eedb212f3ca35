/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of this module share. */
#ifndef EBB_VERIFY_PRIVATE_H
#define EBB_VERIFY_PRIVATE_H

#include <ebb/verify.h>

/* What fills a cell. */
enum { EBB_CELL_AIR, EBB_CELL_UNIT, EBB_CELL_CLOSED };

/* A unit's box by the planes that bound it; empty for units too flat to have one. */
typedef struct ebb_verify_box {
    bool body;
    double low[3], high[3];   /* m, room coordinates */
    size_t from[3], until[3]; /* indices of planes */
    int axis;                 /* across its front */
    bool up;                  /* the front faces rising coordinates */
} ebb_verify_box;

/* A room cut by all planes that bound something in it. */
typedef struct ebb_cells {
    size_t n[3];         /* cells along each axis; there is one plane more */
    double *at[3];       /* coordinates of the planes, rising */
    unsigned char *kind; /* [(i * n[1] + j) * n[2] + k] */
    size_t n_boxes;
    ebb_verify_box *box;
} ebb_cells;

static inline size_t ebb_cell(const ebb_cells *c, const size_t i[3])
{
    return (i[0] * c->n[1] + i[1]) * c->n[2] + i[2];
}

/* Cuts the room; arrays in arena. EBB_E_NOMEM, EBB_E_RANGE. */
ebb_status ebb_cells_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                          size_t n, const ebb_placed *placed, ebb_cells *cells);

/* Closes what can not be solved: narrow gaps, edges and corners where boxes touch and nothing more,
 * places without a way to the rest of the air. *n places of *volume m3. */
ebb_status ebb_cells_close(ebb_ctx *ctx, ebb_arena *arena, ebb_cells *cells, size_t *n,
                           double *volume);

/* The air of the cells as a solid; arrays in arena. */
ebb_status ebb_cells_solid(ebb_ctx *ctx, ebb_arena *arena, const ebb_cells *cells,
                           ebb_solid *solid);

/* What is free of the front of a box. */
void ebb_cells_front(const ebb_cells *cells, size_t box, ebb_body_front *front);

/* Puts the comparison into words. */
ebb_status ebb_verify_words(ebb_ctx *ctx, ebb_arena *arena, ebb_verified *verified);

#endif
