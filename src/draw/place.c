/* SPDX-License-Identifier: GPL-3.0-or-later */
/* place.c - finding a free place for a name beside its point. */
#include "sheet.h"

#include <math.h>

/* When the list is full, later texts may cover each other: better than none at all. */
void ebb_draw_take(ebb_draw_taken *taken, const ebb_frame *box)
{
    if (taken->n < EBB_DRAW_MOST_TAKEN) {
        taken->box[taken->n++] = *box;
    }
}

/* Area that two rectangles share. */
static double shared(const ebb_frame *a, const ebb_frame *b)
{
    const double wide = fmin(a->x + a->width, b->x + b->width) - fmax(a->x, b->x);
    const double high = fmin(a->y + a->height, b->y + b->height) - fmax(a->y, b->y);
    return wide > 0.0 && high > 0.0 ? wide * high : 0.0;
}

/* How bad a place is: what it covers, and what of it lies outside. */
static double badness(const ebb_draw_taken *taken, const ebb_frame *box)
{
    double sum = box->width * box->height - shared(box, &taken->bounds);
    for (size_t i = 0; i < taken->n; i++) {
        sum += shared(box, &taken->box[i]);
    }
    return sum;
}

/* Tries places ring by ring, so that a name stays as near to its point as it can. */
ebb_frame ebb_draw_beside(ebb_draw_taken *taken, const double at[2], const double size[2])
{
    /* Offsets of the box's centre in half widths and half heights; nearest and most readable
     * first. */
    static const double SIDES[8][2] = {{1, 0}, {-1, 0}, {0, 1},  {0, -1},
                                       {1, 1}, {1, -1}, {-1, 1}, {-1, -1}};
    const double gap = 5.0;
    ebb_frame best = {0};
    double least = INFINITY;
    for (int ring = 0; ring < 4 && least > 0.0; ring++) {
        for (int i = 0; i < 8 && least > 0.0; i++) {
            const double reach = gap + (double)ring * 8.0;
            const double x = at[0] + SIDES[i][0] * (size[0] / 2.0 + reach);
            const double y = at[1] + SIDES[i][1] * (size[1] / 2.0 + reach);
            const ebb_frame box = {x - size[0] / 2.0, y - size[1] / 2.0, size[0], size[1]};
            const double bad = badness(taken, &box);
            if (bad < least) {
                least = bad;
                best = box;
            }
        }
    }
    ebb_draw_take(taken, &best);
    return best;
}
