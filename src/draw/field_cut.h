/* SPDX-License-Identifier: GPL-3.0-or-later */
/* field_cut.h - where a plane cuts a room, and what is drawn on the cut. */
#ifndef EBB_DRAW_FIELD_CUT_H
#define EBB_DRAW_FIELD_CUT_H

#include <ebb/draw.h>

/* The outline of the air on a cut: closed loops of points in m along the two axes that are not
 * held, lower axis first. */
typedef struct ebb_draw_outline_of_cut {
    size_t n_loops;
    const size_t *loop; /* [n_loops] points in each */
    double (*point)[2]; /* of all loops, one after another */
} ebb_draw_outline_of_cut;

/* The two axes that are not held, lower first. */
void ebb_draw_cut_axes(int held, int axis[2]);
/* Cuts a room where coordinate `held` (0 x, 1 y, 2 z) is `at` m from its lower corner. Memory in
 * arena. EBB_E_NOMEM, without a message. */
ebb_status ebb_draw_cut_room(ebb_arena *arena, const ebb_room *room, int held, double at,
                             ebb_draw_outline_of_cut *cut);
/* What is drawn of a map, on a grid of n[0] x n[1]: carried on a little beyond the outline, which
 * cuts it off; of a pressure its level, on a finer grid than the map's. In arena; NULL when out of
 * memory. */
double *ebb_draw_field_values(ebb_arena *arena, const ebb_field_map *map, size_t n[2]);

#endif
