/* SPDX-License-Identifier: GPL-3.0-or-later */
/* label.c - text through pango, laid out alike on every kind of surface. */
#include "pen.h"

#include <math.h>
#include <pango/pangocairo.h>
#include <string.h>

#define FONT "DejaVu Sans"

/* Hinting would move glyphs by the pixel grid of the device: the same page must break its lines
 * at the same words in PDF, SVG and PNG, whatever the language of the process. */
static void neutral_context(cairo_t *cr, PangoLayout *layout)
{
    PangoContext *context = pango_layout_get_context(layout);
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    pango_cairo_context_set_font_options(context, options);
    cairo_font_options_destroy(options);
    pango_cairo_context_set_resolution(context, 72.0);
    pango_context_set_language(context, pango_language_from_string("en"));
    pango_cairo_update_context(cr, context);
    pango_layout_context_changed(layout);
}

/* Pango would complain on stderr about broken UTF-8; a library must not print. */
static void set_text(PangoLayout *layout, const char *text, size_t length)
{
    if (g_utf8_validate(text, (gssize)length, NULL)) {
        pango_layout_set_text(layout, text, (int)length);
        return;
    }
    gchar *mended = g_utf8_make_valid(text, (gssize)length);
    pango_layout_set_text(layout, mended, -1);
    g_free(mended);
}

/* New layout of a label; the caller unreferences it. */
static PangoLayout *lay_out(cairo_t *cr, const ebb_label *label)
{
    PangoLayout *layout = pango_cairo_create_layout(cr);
    neutral_context(cr, layout);
    PangoFontDescription *font = pango_font_description_new();
    pango_font_description_set_family_static(font, FONT);
    pango_font_description_set_absolute_size(font, label->size * PANGO_SCALE);
    pango_font_description_set_weight(font, label->bold ? PANGO_WEIGHT_BOLD : PANGO_WEIGHT_NORMAL);
    pango_layout_set_font_description(layout, font);
    pango_font_description_free(font);

    const char *text = label->text ? label->text : "";
    const size_t length = label->length ? label->length : strlen(text);
    set_text(layout, text, length);
    if (label->align > 0.0) {
        pango_layout_set_alignment(layout,
                                   label->align < 1.0 ? PANGO_ALIGN_CENTER : PANGO_ALIGN_RIGHT);
    }
    if (label->width > 0.0) {
        pango_layout_set_width(layout, (int)(label->width * PANGO_SCALE));
        pango_layout_set_wrap(layout, PANGO_WRAP_WORD_CHAR);
    }
    /* A limit on lines counts per paragraph, so there must be only one. */
    pango_layout_set_single_paragraph_mode(layout, label->width <= 0.0 || label->lines > 0);
    if (label->lines > 0) {
        pango_layout_set_height(layout, -label->lines);
        pango_layout_set_ellipsize(layout, PANGO_ELLIPSIZE_END);
    }
    return layout;
}

/* Measured and drawn from the same layout, made twice: keeping layouts would tie them to a surface.
 */
void ebb_label_size(cairo_t *cr, const ebb_label *label, double size[2])
{
    PangoLayout *layout = lay_out(cr, label);
    int width, height;
    pango_layout_get_size(layout, &width, &height);
    size[0] = (double)width / PANGO_SCALE;
    size[1] = (double)height / PANGO_SCALE;
    g_object_unref(layout);
}

double ebb_label_draw(cairo_t *cr, const ebb_label *label, double x, double y)
{
    PangoLayout *layout = lay_out(cr, label);
    int width, height;
    pango_layout_get_size(layout, &width, &height);
    /* With a width pango aligns inside the box; without one the box itself is shifted. */
    const double shift = label->width > 0.0 ? 0.0 : label->align * (double)width / PANGO_SCALE;
    cairo_move_to(cr, x - shift, y);
    pango_cairo_show_layout(cr, layout);
    cairo_new_path(cr);
    g_object_unref(layout);
    return (double)height / PANGO_SCALE;
}

/* Whole lines only, as pango lays them out; the caller goes on behind the last one. */
size_t ebb_label_fit(cairo_t *cr, const ebb_label *label, double height)
{
    PangoLayout *layout = lay_out(cr, label);
    PangoLayoutIter *iter = pango_layout_get_iter(layout);
    size_t bytes = 0;
    do {
        PangoRectangle box;
        pango_layout_iter_get_line_extents(iter, NULL, &box);
        if ((double)(box.y + box.height) / PANGO_SCALE > height) {
            break;
        }
        const PangoLayoutLine *line = pango_layout_iter_get_line_readonly(iter);
        bytes = (size_t)line->start_index + (size_t)line->length;
    } while (pango_layout_iter_next_line(iter));
    pango_layout_iter_free(iter);
    g_object_unref(layout);
    return bytes;
}
