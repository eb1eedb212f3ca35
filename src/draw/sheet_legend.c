/* SPDX-License-Identifier: GPL-3.0-or-later */
/* sheet_legend.c - what the symbols of the room drawing mean, and its scale bar. */
#include "sheet.h"

#include <math.h>
#include <stdio.h>

#define SWATCH 20.0
#define ROW 13.0

typedef enum sign { SIGN_UNIT, SIGN_OLD, SIGN_SEAT, SIGN_SPEAKER, SIGN_ZONE, SIGN_OPENING } sign;

/* A pen that moves through the rows of the legend. */
typedef struct cursor {
    const ebb_draw_sheet *sheet;
    ebb_frame frame;
    double x, y;
    bool draw;
} cursor;

/* The symbols are drawn by the code that draws them in the views. */
static void draw_sign(const ebb_draw_sheet *sheet, sign kind, size_t which, const ebb_frame *box)
{
    static const ebb_draw_style OLD = {.ink = EBB_INK_AFTER, .width = 1.8};
    static const ebb_draw_style ZONE = {.ink = EBB_INK_QUIET, .width = 0.6, .dash = {1.5, 1.5}};
    static const ebb_draw_style SEAT = {.ink = EBB_INK_TEXT, .marker = EBB_DRAW_RING};
    static const ebb_draw_style SPEAKER = {.ink = EBB_INK_MARK, .marker = EBB_DRAW_SQUARE};
    static const ebb_draw_style EDGE = {.ink = EBB_INK_AFTER, .width = 0.8};
    cairo_t *cr = sheet->cr;
    const double x = box->x + box->width / 2.0, y = box->y + box->height / 2.0;
    cairo_new_path(cr);
    switch (kind) {
    case SIGN_UNIT:
        ebb_draw_hatch(cr, box, which);
        /* fall through */
    case SIGN_OLD:
        ebb_draw_pen(cr, kind == SIGN_OLD ? &OLD : &EDGE);
        cairo_rectangle(cr, box->x, box->y, box->width, box->height);
        cairo_stroke(cr);
        break;
    case SIGN_SEAT:
        ebb_draw_mark(cr, &SEAT, x, y);
        break;
    case SIGN_SPEAKER:
        ebb_draw_mark(cr, &SPEAKER, x, y);
        break;
    case SIGN_ZONE:
        ebb_draw_pen(cr, &ZONE);
        cairo_arc(cr, x, y, box->height / 2.0, 0.0, 2.0 * 3.14159265358979323846);
        cairo_stroke(cr);
        break;
    case SIGN_OPENING:
        ebb_draw_opening(cr, box, (ebb_opening_kind)which);
        break;
    }
}

/* One entry; starts a new row when it does not fit. */
static void entry(cursor *c, sign kind, size_t which, const char *text)
{
    ebb_label label = {.text = text, .size = EBB_DRAW_SMALL};
    double size[2];
    ebb_label_size(c->sheet->cr, &label, size);
    if (size[0] > c->frame.width - SWATCH - 5.0) {
        label.lines = 1;
        label.width = size[0] = c->frame.width - SWATCH - 5.0;
    }
    const double width = SWATCH + 5.0 + size[0];
    if (c->x > 0.0 && c->x + width > c->frame.width) {
        c->x = 0.0;
        c->y += ROW;
    }
    if (c->draw) {
        const double x = c->frame.x + c->x, y = c->frame.y + c->y;
        const ebb_frame box = {x, y + 1.5, SWATCH, ROW - 4.0};
        draw_sign(c->sheet, kind, which, &box);
        ebb_draw_word(c->sheet->cr, EBB_INK_TEXT, &label, x + SWATCH + 5.0, y + 0.5);
    }
    c->x += width + 14.0;
}

/* "deep, 600 x 1200 mm, 300 mm deep": what stands for each hatch. */
static void unit_entries(cursor *c)
{
    const ebb_draw_sheet *sheet = c->sheet;
    for (size_t t = 0; t < sheet->n_types; t++) {
        const ebb_placed probe = {.unit = sheet->type[t]};
        const ebb_unit *unit = ebb_draw_unit_of(sheet, &probe);
        if (!unit) {
            continue;
        }
        char wide[40], high[40], deep[40], text[320];
        ebb_quantity_print(EBB_Q_LENGTH, unit->face[0], sheet->units, wide, sizeof wide);
        ebb_quantity_print(EBB_Q_LENGTH, unit->face[1], sheet->units, high, sizeof high);
        ebb_quantity_print(EBB_Q_LENGTH, unit->depth, sheet->units, deep, sizeof deep);
        snprintf(text, sizeof text, "%.150s: %s \u00d7 %s, %s deep", unit->name, wide, high, deep);
        entry(c, SIGN_UNIT, t, text);
    }
    if (sheet->room->n_placed > 0) {
        entry(c, SIGN_OLD, 0, "heavy edge: already there");
    }
}

/* Only what is in the drawing is explained. */
static void station_entries(cursor *c)
{
    const ebb_room *room = c->sheet->room;
    bool zone = false;
    for (size_t i = 0; i < room->n_seats; i++) {
        zone = zone || room->seats[i].zone > 0.0;
    }
    for (size_t i = 0; i < room->n_speakers; i++) {
        zone = zone || room->speakers[i].zone > 0.0;
    }
    if (room->n_seats > 0) {
        entry(c, SIGN_SEAT, 0, "seat");
    }
    if (room->n_speakers > 0) {
        entry(c, SIGN_SPEAKER, 0, "speaker");
    }
    if (zone) {
        entry(c, SIGN_ZONE, 0, "may be moved within");
    }
    bool seen[3] = {false, false, false};
    for (size_t i = 0; i < room->n_openings; i++) {
        const ebb_opening_kind kind = room->openings[i].kind;
        if (kind <= EBB_OPENING_VENT && !seen[kind]) {
            seen[kind] = true;
            entry(c, SIGN_OPENING, kind, ebb_draw_opening_name(kind));
        }
    }
}

/* The longest round length that stays under 110 points, drawn in two halves. */
static void scale_bar(const cursor *c)
{
    static const double ROUND[] = {0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0};
    const ebb_draw_sheet *sheet = c->sheet;
    const double unit = sheet->units == EBB_UNITS_IMPERIAL ? 0.3048 : 1.0;
    double metres = 0.0;
    for (size_t i = 0; i < sizeof ROUND / sizeof ROUND[0]; i++) {
        if (ROUND[i] * unit * sheet->view[0].scale <= 110.0) {
            metres = ROUND[i] * unit;
        }
    }
    if (metres <= 0.0) {
        return;
    }
    const double width = metres * sheet->view[0].scale, y = c->frame.y + c->y + 4.0;
    const ebb_draw_style line = {.ink = EBB_INK_TEXT, .width = 0.7};
    const ebb_frame half = {c->frame.x, y, width / 2.0, 3.5};
    ebb_draw_fill(sheet->cr, EBB_INK_TEXT, &half);
    ebb_draw_pen(sheet->cr, &line);
    cairo_rectangle(sheet->cr, c->frame.x, y, width, 3.5);
    cairo_stroke(sheet->cr);
    char length[32], text[160];
    ebb_quantity_print(EBB_Q_LENGTH, metres, sheet->units, length, sizeof length);
    snprintf(text, sizeof text, "%s.  Numbers in circles are the corners of the plan.", length);
    const ebb_label label = {
        .text = text, .size = EBB_DRAW_SMALL, .width = c->frame.width - width - 6.0, .lines = 1};
    ebb_draw_word(sheet->cr, EBB_INK_TEXT, &label, c->frame.x + width + 6.0, y - 3.0);
}

/* Units first and on rows of their own: their names can be long. Measured before the views are
 * arranged, then drawn in what they left. */
double ebb_draw_sheet_legend(const ebb_draw_sheet *sheet, const ebb_frame *frame, bool draw)
{
    cursor c = {.sheet = sheet, .frame = *frame, .draw = draw};
    unit_entries(&c);
    if (c.x > 0.0) {
        c.x = 0.0;
        c.y += ROW;
    }
    station_entries(&c);
    if (c.x > 0.0) {
        c.y += ROW;
    }
    if (draw) {
        scale_bar(&c);
    }
    return c.y + ROW;
}
