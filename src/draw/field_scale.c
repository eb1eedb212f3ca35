/* SPDX-License-Identifier: GPL-3.0-or-later */
/* field_scale.c - the shades of a field map, and what stands beside and below it. */
#include "field_scale.h"

#include <math.h>
#include <stdio.h>

#define MOST_BANDS 20

double ebb_draw_field_size(const ebb_draw_field_view *v, int d)
{
    return v->map->room->size[v->axis[d]];
}

/* ---- shades ---------------------------------------------------------------------------------- */

/* As fine as ten bands allow; what lies more than 30 dB down is alike however deep it is. */
ebb_draw_bands ebb_draw_bands_of(const ebb_field_map *map, const ebb_draw_grid *grid)
{
    static const double STEPS[] = {0.5, 1.0, 2.0, 3.0};
    if (!map->imaginary) {
        return (ebb_draw_bands){-1.0, 0.1, MOST_BANDS, 2, false};
    }
    double least = 0.0;
    for (size_t i = 0; i < grid->n[0] * grid->n[1]; i++) {
        if (isfinite(grid->value[i])) {
            least = fmin(least, grid->value[i]);
        }
    }
    size_t s = 0;
    while (s < 3 && STEPS[s] * 10.0 < -least) {
        s++;
    }
    return (ebb_draw_bands){-10.0 * STEPS[s], STEPS[s], 10, 2, true};
}

/* Colours at even distances; between them straight. Blue and orange are told apart by nearly
 * everybody; the ramp of levels falls in luminance from end to end. */
static void colour_of(const ebb_draw_bands *b, double part, double rgb[3])
{
    static const double MODE[5][3] = {{0.12, 0.34, 0.58},
                                      {0.55, 0.72, 0.86},
                                      {0.99, 0.99, 0.98},
                                      {0.96, 0.74, 0.46},
                                      {0.80, 0.40, 0.08}};
    static const double LEVEL[5][3] = {{0.98, 0.96, 0.90},
                                       {0.78, 0.86, 0.80},
                                       {0.50, 0.71, 0.71},
                                       {0.25, 0.52, 0.58},
                                       {0.07, 0.31, 0.40}};
    const double x = 4.0 * fmin(fmax(part, 0.0), 1.0);
    const int i = x < 3.0 ? (int)x : 3;
    const double(*table)[3] = b->levels ? LEVEL : MODE;
    for (int k = 0; k < 3; k++) {
        rgb[k] = table[i][k] + (x - i) * (table[i + 1][k] - table[i][k]);
    }
}

void ebb_draw_band_colour(cairo_t *cr, const ebb_draw_bands *b, int band)
{
    double rgb[3];
    colour_of(b, (band + 0.5) / b->n, rgb);
    cairo_set_source_rgb(cr, rgb[0], rgb[1], rgb[2]);
}

/* ---- scales ---------------------------------------------------------------------------------- */

/* Upright, the highest on top; its numbers at the edges that have lines. */
void ebb_draw_field_scale(const ebb_draw_field_view *v, double x)
{
    static const ebb_draw_style EDGE = {.ink = EBB_INK_QUIET, .width = 0.6};
    cairo_t *cr = v->chart.cr;
    const ebb_draw_bands *b = &v->bands;
    const ebb_label about = {.text =
                                 b->levels ? "dB re the\nloudest" : "re the largest\nin the room",
                             .size = EBB_DRAW_TINY,
                             .width = EBB_DRAW_SCALE_WIDTH - 8.0};
    const double top = v->chart.area.y;
    const double from = top + ebb_label_draw(cr, &about, x, top - 2.0) + 5.0;
    const double height = fmin(v->chart.area.y + v->chart.area.height - from - 4.0, 180.0);
    for (int k = 0; k < b->n; k++) {
        cairo_rectangle(cr, x, from + height * (1.0 - (k + 1.0) / b->n), 12.0, height / b->n + 0.2);
        ebb_draw_band_colour(cr, b, k);
        cairo_fill(cr);
    }
    ebb_draw_pen(cr, &EDGE);
    cairo_rectangle(cr, x, from, 12.0, height);
    cairo_stroke(cr);
    double free_below = from + height + 20.0;
    for (int k = 0; k <= b->n; k += b->every) {
        char text[16];
        const double value = b->low + k * b->step, y = from + height * (1.0 - (double)k / b->n);
        snprintf(text, sizeof text, "%s%.*f", value < -1e-9 ? "\u2212" : "", b->step < 1.0 ? 1 : 0,
                 fabs(value));
        const ebb_label label = {.text = text, .size = EBB_DRAW_TINY};
        double size[2];
        ebb_label_size(cr, &label, size);
        if (y + size[1] / 2.0 > free_below) {
            continue;
        }
        ebb_draw_word(cr, EBB_INK_TEXT, &label, x + 16.0, y - size[1] / 2.0);
        free_below = y - size[1] / 2.0;
    }
}

/* The longest round length of at most a quarter of the map, in two halves. */
void ebb_draw_field_bar(const ebb_draw_field_view *v, double y)
{
    static const double ROUND[] = {0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0};
    static const ebb_draw_style LINE = {.ink = EBB_INK_TEXT, .width = 0.7};
    cairo_t *cr = v->chart.cr;
    const ebb_frame *area = &v->chart.area;
    const double points = area->width / (ebb_draw_field_size(v, 0) / v->unit); /* in one unit */
    double length = 0.0;
    for (size_t i = 0; i < sizeof ROUND / sizeof ROUND[0]; i++) {
        if (ROUND[i] * points <= fmax(area->width / 4.0, 40.0)) {
            length = ROUND[i];
        }
    }
    const ebb_frame half = {area->x, y + 2.0, length * points / 2.0, 3.5};
    ebb_draw_fill(cr, EBB_INK_TEXT, &half);
    ebb_draw_pen(cr, &LINE);
    cairo_rectangle(cr, area->x, y + 2.0, length * points, 3.5);
    cairo_stroke(cr);
    char text[32];
    ebb_quantity_print(EBB_Q_LENGTH, length * v->unit, v->map->units, text, sizeof text);
    const ebb_label label = {.text = text, .size = EBB_DRAW_TINY};
    ebb_draw_word(cr, EBB_INK_TEXT, &label, area->x + length * points + 5.0, y - 0.5);
}

/* Behind the bar's number, which is short. */
void ebb_draw_field_note(const ebb_draw_field_view *v, const ebb_frame *frame, double y)
{
    const double x = v->chart.area.x + fmax(v->chart.area.width / 4.0, 40.0) + 44.0;
    const ebb_label note = {.text = v->map->note ? v->map->note : "",
                            .size = EBB_DRAW_TINY,
                            .width = fmax(frame->x + frame->width - x, 40.0),
                            .lines = 2};
    ebb_draw_word(v->chart.cr, EBB_INK_QUIET, &note, x, y - 0.5);
}
