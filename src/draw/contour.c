/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * contour.c - marching squares: each cell of four points by itself.
 *
 * Areas and lines come from the same walk round the cell, so that a line always lies on the border
 * of its area, saddles included. Areas are meant to be painted from the lowest level upwards, each
 * over the one before: then nothing shows through between them.
 */
#include "contour.h"

#include <math.h>
#include <stdbool.h>

/* A point of the page with its value. */
typedef struct corner {
    double x, y, value;
} corner;

static corner corner_at(const ebb_draw_grid *grid, size_t i, size_t j)
{
    return (corner){grid->x[i], grid->y[j], grid->value[j * grid->n[0] + i]};
}

/* The four corners of cell (i, j), going round; false when one has no value. */
static bool cell_at(const ebb_draw_grid *grid, size_t i, size_t j, corner c[4])
{
    c[0] = corner_at(grid, i, j);
    c[1] = corner_at(grid, i + 1, j);
    c[2] = corner_at(grid, i + 1, j + 1);
    c[3] = corner_at(grid, i, j + 1);
    return isfinite(c[0].value) && isfinite(c[1].value) && isfinite(c[2].value) &&
           isfinite(c[3].value);
}

static int corners_above(const corner c[4], double level)
{
    int n = 0;
    for (int k = 0; k < 4; k++) {
        n += c[k].value >= level;
    }
    return n;
}

/* Where the level lies between a corner and the next; they are on either side of it. */
static corner crossing(const corner *a, const corner *b, double level)
{
    const double t = (level - a->value) / (b->value - a->value);
    return (corner){a->x + t * (b->x - a->x), a->y + t * (b->y - a->y), level};
}

static void area_of_cell(cairo_t *cr, const corner c[4], double level)
{
    cairo_new_sub_path(cr);
    for (int k = 0; k < 4; k++) {
        const corner *a = &c[k], *b = &c[(k + 1) % 4];
        if (a->value >= level) {
            cairo_line_to(cr, a->x, a->y);
        }
        if ((a->value >= level) != (b->value >= level)) {
            const corner p = crossing(a, b, level);
            cairo_line_to(cr, p.x, p.y);
        }
    }
    cairo_close_path(cr);
}

/* From every crossing where the walk leaves the area to the next, where it enters it again: the
 * sides of area_of_cell that are not sides of the cell. */
static void lines_of_cell(cairo_t *cr, const corner c[4], double level)
{
    corner left = {0};
    bool out = false;
    for (int k = 0; k < 8; k++) {
        const corner *a = &c[k % 4], *b = &c[(k + 1) % 4];
        const bool from = a->value >= level, to = b->value >= level;
        if (from && !to && k < 4) {
            left = crossing(a, b, level);
            out = true;
        } else if (!from && to && out) {
            const corner back = crossing(a, b, level);
            cairo_move_to(cr, left.x, left.y);
            cairo_line_to(cr, back.x, back.y);
            out = false;
        }
    }
}

/* Cells that lie above as a whole are joined to one rectangle per row: pictures stay small. */
void ebb_draw_above(cairo_t *cr, const ebb_draw_grid *grid, double level)
{
    for (size_t j = 0; j + 1 < grid->n[1]; j++) {
        size_t run = 0; /* whole cells just before cell i */
        for (size_t i = 0; i + 1 <= grid->n[0]; i++) {
            corner c[4];
            const bool there = i + 1 < grid->n[0] && cell_at(grid, i, j, c);
            const int n = there ? corners_above(c, level) : 0;
            if (n == 4) {
                run++;
                continue;
            }
            if (run > 0) {
                cairo_move_to(cr, grid->x[i - run], grid->y[j]);
                cairo_line_to(cr, grid->x[i], grid->y[j]);
                cairo_line_to(cr, grid->x[i], grid->y[j + 1]);
                cairo_line_to(cr, grid->x[i - run], grid->y[j + 1]);
                cairo_close_path(cr);
            }
            run = 0;
            if (n > 0) {
                area_of_cell(cr, c, level);
            }
        }
    }
}

void ebb_draw_contour(cairo_t *cr, const ebb_draw_grid *grid, double level)
{
    for (size_t j = 0; j + 1 < grid->n[1]; j++) {
        for (size_t i = 0; i + 1 < grid->n[0]; i++) {
            corner c[4];
            if (cell_at(grid, i, j, c)) {
                lines_of_cell(cr, c, level);
            }
        }
    }
}
