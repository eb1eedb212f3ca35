/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "pages.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Looks of the text blocks. */
typedef struct look {
    double size, above, below, indent;
    bool bold;
    int lines; /* most lines, 0: any number, split between pages */
    ebb_ink ink;
} look;

static const look LOOKS[] = {
    [EBB_REPORT_TITLE] = {21.0, 0.0, 4.0, 0.0, true, 3, EBB_INK_TEXT},
    [EBB_REPORT_HEADING] = {16.0, 0.0, 8.0, 0.0, true, 2, EBB_INK_TEXT},
    [EBB_REPORT_SUBHEADING] = {11.0, 10.0, 3.0, 0.0, true, 2, EBB_INK_AFTER},
    [EBB_REPORT_TEXT] = {9.0, 2.0, 4.0, 0.0, false, 0, EBB_INK_TEXT},
    [EBB_REPORT_QUIET] = {7.5, 2.0, 5.0, 0.0, false, 0, EBB_INK_QUIET},
    [EBB_REPORT_BANNER] = {11.0, 2.0, 6.0, 10.0, true, 4, EBB_INK_PAPER},
    [EBB_REPORT_LIST] = {9.0, 1.0, 2.0, 11.0, false, 0, EBB_INK_TEXT},
};

/* Input and version on every page: sheets get separated. */
static void footer(ebb_report_pages *pages)
{
    cairo_t *cr = pages->cr;
    char number[48];
    if (pages->total > 0) {
        snprintf(number, sizeof number, "page %d of %d", pages->page, pages->total);
    } else {
        snprintf(number, sizeof number, "page %d", pages->page);
    }
    const double y = EBB_REPORT_BOTTOM + 14.0;
    const ebb_label trace = {
        .text = pages->doc->trace, .size = 7.0, .width = EBB_REPORT_WIDTH - 80.0, .lines = 1};
    const ebb_label page = {.text = number, .size = 7.0, .align = 1.0};
    ebb_draw_ink(cr, EBB_INK_RULE);
    cairo_set_line_width(cr, 0.5);
    cairo_move_to(cr, EBB_REPORT_LEFT, y - 4.0);
    cairo_line_to(cr, EBB_REPORT_LEFT + EBB_REPORT_WIDTH, y - 4.0);
    cairo_stroke(cr);
    ebb_draw_ink(cr, EBB_INK_QUIET);
    ebb_label_draw(cr, &trace, EBB_REPORT_LEFT, y);
    ebb_label_draw(cr, &page, EBB_REPORT_LEFT + EBB_REPORT_WIDTH, y);
}

void ebb_report_next_page(ebb_report_pages *pages)
{
    footer(pages);
    cairo_show_page(pages->cr);
    pages->page++;
    pages->y = EBB_REPORT_TOP;
}

void ebb_report_need(ebb_report_pages *pages, double height)
{
    if (pages->y + height > EBB_REPORT_BOTTOM && pages->y > EBB_REPORT_TOP) {
        ebb_report_next_page(pages);
    }
}

/* Text that may go on over pages, line by line. */
static void flow_text(ebb_report_pages *pages, const look *how, const char *text)
{
    size_t left = strlen(text);
    while (left > 0) {
        ebb_label label = {.text = text,
                           .length = left,
                           .size = how->size,
                           .bold = how->bold,
                           .width = EBB_REPORT_WIDTH - how->indent,
                           .lines = how->lines};
        /* Two lines at least stay together. */
        ebb_report_need(pages, 2.6 * how->size);
        double size[2];
        ebb_label_size(pages->cr, &label, size);
        size_t bytes = left;
        if (pages->y + size[1] > EBB_REPORT_BOTTOM) {
            bytes = ebb_label_fit(pages->cr, &label, EBB_REPORT_BOTTOM - pages->y);
        }
        if (bytes == 0) {
            /* Not one line fits an empty page: can not be with our sizes, but never loop. */
            return;
        }
        label.length = bytes;
        ebb_draw_ink(pages->cr, how->ink);
        pages->y += ebb_label_draw(pages->cr, &label, EBB_REPORT_LEFT + how->indent, pages->y);
        text += bytes;
        left -= bytes;
        const size_t blank = strspn(text, " \n");
        text += blank;
        left -= blank;
        if (left > 0) {
            ebb_report_next_page(pages);
        }
    }
}

/* The bullet goes where the first line goes; the text may go on over pages. */
static void flow_list(ebb_report_pages *pages, const ebb_report_block *block)
{
    const look *how = &LOOKS[EBB_REPORT_LIST];
    for (size_t i = 0; i < block->n_items; i++) {
        pages->y += how->above;
        ebb_report_need(pages, 2.6 * how->size);
        const ebb_label bullet = {.text = "\u2022", .size = how->size};
        ebb_draw_ink(pages->cr, EBB_INK_AFTER);
        ebb_label_draw(pages->cr, &bullet, EBB_REPORT_LEFT + 1.0, pages->y);
        flow_text(pages, how, block->item[i]);
        pages->y += how->below;
    }
}

/* White words on a dark ground also survive a black-and-white print. */
static void flow_banner(ebb_report_pages *pages, const ebb_report_block *block)
{
    const look *how = &LOOKS[EBB_REPORT_BANNER];
    const ebb_label label = {.text = block->text,
                             .size = how->size,
                             .bold = true,
                             .width = EBB_REPORT_WIDTH - 2.0 * how->indent,
                             .lines = how->lines};
    double size[2];
    ebb_label_size(pages->cr, &label, size);
    ebb_report_need(pages, size[1] + 14.0);
    ebb_draw_ink(pages->cr, block->ink);
    cairo_rectangle(pages->cr, EBB_REPORT_LEFT, pages->y, EBB_REPORT_WIDTH, size[1] + 14.0);
    cairo_fill(pages->cr);
    ebb_draw_ink(pages->cr, EBB_INK_PAPER);
    ebb_label_draw(pages->cr, &label, EBB_REPORT_LEFT + how->indent, pages->y + 7.0);
    pages->y += size[1] + 14.0 + how->below;
}

/* A figure takes what the page has left between its least and its full height, else the next page.
 */
static void flow_figure(ebb_report_pages *pages, const ebb_report_figure *figure)
{
    ebb_report_need(pages, figure->least);
    const double height = fmin(figure->height, EBB_REPORT_BOTTOM - pages->y);
    const ebb_frame frame = {EBB_REPORT_LEFT, pages->y + 2.0, EBB_REPORT_WIDTH, height - 4.0};
    cairo_save(pages->cr);
    const ebb_status status = figure->paint(pages->ctx, pages->cr, &frame, figure->what);
    cairo_restore(pages->cr);
    if (pages->status == EBB_OK) {
        pages->status = status;
    }
    pages->y += height;
}

/* Each part starts on a page of its own and in the outline of the file. */
static void flow_heading(ebb_report_pages *pages, const ebb_report_block *block)
{
    const look *how = &LOOKS[EBB_REPORT_HEADING];
    if (pages->y > EBB_REPORT_TOP) {
        ebb_report_next_page(pages);
    }
    if (pages->on_heading) {
        pages->on_heading(pages->user, block->text, pages->page);
    }
    flow_text(pages, how, block->text);
    ebb_draw_ink(pages->cr, EBB_INK_AFTER);
    cairo_rectangle(pages->cr, EBB_REPORT_LEFT, pages->y + 2.0, EBB_REPORT_WIDTH, 1.2);
    cairo_fill(pages->cr);
    pages->y += how->below;
}

/* A heading never stands alone at the foot of a page: how much of what follows goes with it. */
static double companion(ebb_report_pages *pages, const ebb_report_block *next)
{
    if (next && next->kind == EBB_REPORT_FIGURE) {
        return next->figure.least;
    }
    if (next && next->kind == EBB_REPORT_TABLE) {
        const double whole = ebb_report_table_height(pages, next->table);
        return whole < EBB_REPORT_KEEP ? whole : 80.0;
    }
    return 40.0;
}

/* One case for each kind; the looks of plain text are in the table above. */
static void flow_block(ebb_report_pages *pages, const ebb_report_block *block)
{
    switch (block->kind) {
    case EBB_REPORT_LIST:
        flow_list(pages, block);
        break;
    case EBB_REPORT_BANNER:
        flow_banner(pages, block);
        break;
    case EBB_REPORT_TABLE:
        ebb_report_table_draw(pages, block->table);
        break;
    case EBB_REPORT_FIGURE:
        flow_figure(pages, &block->figure);
        break;
    case EBB_REPORT_HEADING:
        flow_heading(pages, block);
        break;
    case EBB_REPORT_PAGE:
        if (pages->y > EBB_REPORT_TOP) {
            ebb_report_next_page(pages);
        }
        break;
    case EBB_REPORT_SUBHEADING:
        ebb_report_need(pages, 30.0 + companion(pages, block->next));
        pages->y += pages->y > EBB_REPORT_TOP ? LOOKS[block->kind].above : 0.0;
        flow_text(pages, &LOOKS[block->kind], block->text);
        pages->y += LOOKS[block->kind].below;
        break;
    case EBB_REPORT_TITLE:
    case EBB_REPORT_TEXT:
    case EBB_REPORT_QUIET:
        pages->y += LOOKS[block->kind].above;
        flow_text(pages, &LOOKS[block->kind], block->text);
        pages->y += LOOKS[block->kind].below;
        break;
    }
}

/* Laid out from top to bottom once; nothing is moved afterwards. */
void ebb_report_flow(ebb_report_pages *pages)
{
    pages->page = 1;
    pages->y = EBB_REPORT_TOP;
    pages->status = EBB_OK;
    for (const ebb_report_block *b = pages->doc->first; b; b = b->next) {
        flow_block(pages, b);
    }
    footer(pages);
    cairo_show_page(pages->cr);
}
