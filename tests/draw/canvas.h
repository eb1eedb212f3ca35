/* SPDX-License-Identifier: GPL-3.0-or-later */
/* canvas.h - an image to draw on, and questions about its pixels. */
#ifndef TESTS_CANVAS_H
#define TESTS_CANVAS_H

#include <cairo.h>
#include <ebb/draw.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

typedef struct canvas {
    cairo_surface_t *surface;
    cairo_t *cr;
    int width, height;
} canvas;

static inline canvas canvas_open(int width, int height)
{
    canvas c = {.width = width, .height = height};
    c.surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    c.cr = cairo_create(c.surface);
    cairo_set_source_rgb(c.cr, 1.0, 1.0, 1.0);
    cairo_paint(c.cr);
    return c;
}

static inline void canvas_close(canvas *c)
{
    cairo_destroy(c->cr);
    cairo_surface_destroy(c->surface);
}

/* Is the pixel within 2 % of an ink? */
static inline bool canvas_is(const canvas *c, int x, int y, ebb_ink ink)
{
    double rgb[3];
    ebb_ink_rgb(ink, rgb);
    cairo_surface_flush(c->surface);
    const unsigned char *row =
        cairo_image_surface_get_data(c->surface) + y * cairo_image_surface_get_stride(c->surface);
    uint32_t pixel;
    memcpy(&pixel, row + 4 * x, 4);
    for (int i = 0; i < 3; i++) {
        const double part = (double)(pixel >> (16 - 8 * i) & 0xff) / 255.0;
        if (fabs(part - rgb[i]) > 0.02) {
            return false;
        }
    }
    return true;
}

/* Pixels of an ink, and the rectangle around them. */
typedef struct canvas_found {
    int n, left, top, right, bottom;
} canvas_found;

static inline canvas_found canvas_find(const canvas *c, ebb_ink ink)
{
    canvas_found f = {0, c->width, c->height, -1, -1};
    for (int y = 0; y < c->height; y++) {
        for (int x = 0; x < c->width; x++) {
            if (canvas_is(c, x, y, ink)) {
                f.n++;
                f.left = x < f.left ? x : f.left;
                f.right = x > f.right ? x : f.right;
                f.top = y < f.top ? y : f.top;
                f.bottom = y > f.bottom ? y : f.bottom;
            }
        }
    }
    return f;
}

/* Number of pixels in which two canvases of one size differ. */
static inline int canvas_differ(const canvas *a, const canvas *b)
{
    int n = 0;
    cairo_surface_flush(a->surface);
    cairo_surface_flush(b->surface);
    const int stride = cairo_image_surface_get_stride(a->surface);
    for (int y = 0; y < a->height; y++) {
        const unsigned char *p = cairo_image_surface_get_data(a->surface) + y * stride;
        const unsigned char *q = cairo_image_surface_get_data(b->surface) + y * stride;
        for (int x = 0; x < a->width; x++) {
            n += memcmp(p + 4 * x, q + 4 * x, 3) != 0;
        }
    }
    return n;
}

/* Is every pixel outside a frame still white? Drawings must not leave their frame. */
static inline bool canvas_clean_outside(const canvas *c, const ebb_frame *frame)
{
    for (int y = 0; y < c->height; y++) {
        for (int x = 0; x < c->width; x++) {
            const bool inside = x >= frame->x - 1.0 && x < frame->x + frame->width + 1.0 &&
                                y >= frame->y - 1.0 && y < frame->y + frame->height + 1.0;
            if (!inside && !canvas_is(c, x, y, EBB_INK_PAPER)) {
                return false;
            }
        }
    }
    return true;
}

#endif
