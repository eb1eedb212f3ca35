/* SPDX-License-Identifier: GPL-3.0-or-later */
/* pages.h - blocks flowing down A4 pages. */
#ifndef EBB_REPORT_PAGES_H
#define EBB_REPORT_PAGES_H

#include "document.h"

#include <cairo.h>

/* A4 and its margins, points. */
#define EBB_REPORT_PAGE_WIDTH 595.28
#define EBB_REPORT_PAGE_HEIGHT 841.89
#define EBB_REPORT_LEFT 50.0
#define EBB_REPORT_TOP 48.0
#define EBB_REPORT_BOTTOM 788.0 /* the footer is below */
#define EBB_REPORT_WIDTH (EBB_REPORT_PAGE_WIDTH - 2.0 * EBB_REPORT_LEFT)
/* A table lower than this is not broken between pages. */
#define EBB_REPORT_KEEP 200.0

/* The state of the flow. */
typedef struct ebb_report_pages {
    ebb_ctx *ctx;
    cairo_t *cr;
    const ebb_report_doc *doc;
    double y;          /* next free line */
    int page;          /* from 1 */
    int total;         /* pages of the finished report, 0: not known yet */
    ebb_status status; /* of the figures */
    void (*on_heading)(void *user, const char *text, int page); /* may be NULL */
    void *user;
} ebb_report_pages;

/* Lays out the whole document; ends its last page. */
void ebb_report_flow(ebb_report_pages *pages);
/* Ends the page: footer, next page. */
void ebb_report_next_page(ebb_report_pages *pages);
/* Goes to the next page when less than `height` is left and the page is not empty. */
void ebb_report_need(ebb_report_pages *pages, double height);
/* Height of a table when it is not broken. */
double ebb_report_table_height(ebb_report_pages *pages, const ebb_report_table *table);
/* Draws a table, its head again on every page. */
void ebb_report_table_draw(ebb_report_pages *pages, const ebb_report_table *table);

#endif
