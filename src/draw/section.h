/* SPDX-License-Identifier: GPL-3.0-or-later */
/* section.h - the section of a unit: rectangles in metres, and the list of what they are. */
#ifndef EBB_DRAW_SECTION_H
#define EBB_DRAW_SECTION_H

#include "pen.h"

#include <ebb/unit.h>

enum {
    EBB_DRAW_MOST_PARTS = 96,
    EBB_DRAW_MOST_ITEMS = 24,
    EBB_DRAW_ITEM = 200, /* bytes of a text */
    EBB_DRAW_MOST_STEPS = 12
};

/* What a rectangle is made of, and so how it is filled. */
typedef enum ebb_draw_stuff {
    EBB_DRAW_BOARD, /* walls, frames */
    EBB_DRAW_MOVING,
    EBB_DRAW_MOUNT,
    EBB_DRAW_WOOL,
    EBB_DRAW_GRAINS,
    EBB_DRAW_AIR,
    EBB_DRAW_SHEET, /* cloth, perforated sheets */
    EBB_DRAW_SLIT
} ebb_draw_stuff;

/* One rectangle: across from the left, deep from the outer face inwards, m. */
typedef struct ebb_draw_part {
    ebb_draw_stuff stuff;
    double across[2], deep[2];
    size_t item; /* row of the list, or EBB_DRAW_MOST_ITEMS for none */
} ebb_draw_part;

/* A section with its list. Depths of the first cell are the steps of the dimension chain. */
typedef struct ebb_draw_cut {
    const ebb_unit *unit;
    ebb_units units;
    double width, depth; /* m */
    size_t n_parts;
    ebb_draw_part part[EBB_DRAW_MOST_PARTS];
    size_t n_items;
    char item[EBB_DRAW_MOST_ITEMS][EBB_DRAW_ITEM];
    ebb_draw_stuff stuff[EBB_DRAW_MOST_ITEMS]; /* of the items */
    size_t n_steps;
    double step[EBB_DRAW_MOST_STEPS]; /* m, rising, from 0 to depth */
} ebb_draw_cut;

/* Fills the section; false when there is nothing to be drawn (an admittance alone). */
bool ebb_draw_cut_make(ebb_draw_cut *section, const ebb_unit *unit, ebb_units units);
/* A length as a builder reads it: whole millimetres, tenths below 10 mm; or inches. */
const char *ebb_draw_measure(double metres, ebb_units units, char *text, size_t size);
/* Fills a rectangle on the page as what it is. */
void ebb_draw_stuff_fill(cairo_t *cr, ebb_draw_stuff stuff, const ebb_frame *box);

#endif
