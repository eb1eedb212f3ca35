/* SPDX-License-Identifier: GPL-3.0-or-later */
/* pages_table.c - tables on pages. */
#include "pages.h"

#include <math.h>

#define SIZE 7.5
#define PAD 3.5
/* A cell as long as this is cut with an ellipsis: a row must fit a page. */
#define MOST_LINES 12

/* Left edge and width of column k. */
static void column_at(const ebb_report_table *table, size_t k, double *x, double *width)
{
    double sum = 0.0, before = 0.0;
    for (size_t i = 0; i < table->n_columns; i++) {
        before += i < k ? table->column[i].weight : 0.0;
        sum += table->column[i].weight;
    }
    *x = EBB_REPORT_LEFT + EBB_REPORT_WIDTH * before / sum;
    *width = EBB_REPORT_WIDTH * table->column[k].weight / sum;
}

/* The first column names the row, so it is bold like the head. */
static ebb_label cell_label(const ebb_report_table *table, size_t k, const char *text, bool head)
{
    double x, width;
    column_at(table, k, &x, &width);
    return (ebb_label){.text = text,
                       .size = SIZE,
                       .bold = head || k == 0,
                       .width = width - 2.0 * PAD,
                       .align = table->column[k].right ? 1.0 : 0.0,
                       .lines = MOST_LINES};
}

/* The highest cell sets the height of a row. */
static double row_height(ebb_report_pages *pages, const ebb_report_table *table,
                         const char *const *cell, bool head)
{
    double most = 0.0;
    for (size_t k = 0; k < table->n_columns; k++) {
        const ebb_label label = cell_label(table, k, cell[k], head);
        double size[2];
        ebb_label_size(pages->cr, &label, size);
        most = fmax(most, size[1]);
    }
    return most + 2.0 * PAD - 1.0;
}

/* Hairlines between rows and none between columns: numbers are compared down, not across. */
static void draw_row(ebb_report_pages *pages, const ebb_report_table *table,
                     const char *const *cell, bool head)
{
    cairo_t *cr = pages->cr;
    const double height = row_height(pages, table, cell, head);
    if (head) {
        ebb_draw_ink(cr, EBB_INK_SHADE);
        cairo_rectangle(cr, EBB_REPORT_LEFT, pages->y, EBB_REPORT_WIDTH, height);
        cairo_fill(cr);
    }
    for (size_t k = 0; k < table->n_columns; k++) {
        double x, width;
        column_at(table, k, &x, &width);
        const ebb_label label = cell_label(table, k, cell[k], head);
        ebb_draw_ink(cr, EBB_INK_TEXT);
        ebb_label_draw(cr, &label, x + PAD, pages->y + PAD - 0.5);
    }
    pages->y += height;
    ebb_draw_ink(cr, head ? EBB_INK_QUIET : EBB_INK_RULE);
    cairo_set_line_width(cr, head ? 0.8 : 0.5);
    cairo_move_to(cr, EBB_REPORT_LEFT, pages->y);
    cairo_line_to(cr, EBB_REPORT_LEFT + EBB_REPORT_WIDTH, pages->y);
    cairo_stroke(cr);
}

double ebb_report_table_height(ebb_report_pages *pages, const ebb_report_table *table)
{
    const char *head[EBB_REPORT_MOST_COLUMNS];
    for (size_t k = 0; k < table->n_columns; k++) {
        head[k] = table->column[k].head;
    }
    double sum = row_height(pages, table, head, true) + 8.0;
    for (size_t i = 0; i < table->n_rows; i++) {
        sum += row_height(pages, table, table->cell + i * table->n_columns, false);
    }
    return sum;
}

/* The head is drawn with the first row that follows it on a page, so that it never stands alone. */
void ebb_report_table_draw(ebb_report_pages *pages, const ebb_report_table *table)
{
    const char *head[EBB_REPORT_MOST_COLUMNS];
    for (size_t k = 0; k < table->n_columns; k++) {
        head[k] = table->column[k].head;
    }
    const double top = row_height(pages, table, head, true);
    bool fresh = true; /* the head is still to be drawn on this page */
    const double whole = ebb_report_table_height(pages, table);
    if (whole < EBB_REPORT_KEEP) {
        ebb_report_need(pages, whole);
    }
    pages->y += 3.0;
    for (size_t i = 0; i < table->n_rows; i++) {
        const char *const *cell = table->cell + i * table->n_columns;
        const double height = row_height(pages, table, cell, false);
        const double wanted = height + (fresh ? top : 0.0);
        if (pages->y + wanted > EBB_REPORT_BOTTOM && pages->y > EBB_REPORT_TOP) {
            ebb_report_next_page(pages);
            fresh = true;
        }
        if (fresh) {
            draw_row(pages, table, head, true);
            fresh = false;
        }
        draw_row(pages, table, cell, false);
    }
    if (table->n_rows == 0) {
        draw_row(pages, table, head, true);
    }
    pages->y += 5.0;
}
