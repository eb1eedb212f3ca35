/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * document.h - the client report as a list of blocks, made once and printed twice: as PDF pages
 * and as HTML. So both say the same.
 */
#ifndef EBB_REPORT_DOCUMENT_H
#define EBB_REPORT_DOCUMENT_H

#include <ebb/draw.h>
#include <ebb/report.h>

typedef enum ebb_report_kind {
    EBB_REPORT_TITLE,
    EBB_REPORT_HEADING, /* a part of the report; a new page in print */
    EBB_REPORT_SUBHEADING,
    EBB_REPORT_TEXT,
    EBB_REPORT_QUIET,  /* small grey text: captions, notes */
    EBB_REPORT_BANNER, /* the verdict: coloured ground, white words */
    EBB_REPORT_LIST,
    EBB_REPORT_TABLE,
    EBB_REPORT_FIGURE,
    EBB_REPORT_PAGE /* a new page in print */
} ebb_report_kind;

enum { EBB_REPORT_MOST_COLUMNS = 10 };

/* A column of a table. */
typedef struct ebb_report_column {
    const char *head;
    double weight; /* share of the width */
    bool right;    /* numbers */
} ebb_report_column;

/* A table; row i, column k is cell[i * n_columns + k]. */
typedef struct ebb_report_table {
    const char *caption; /* for those who can not see it */
    size_t n_columns;
    const ebb_report_column *column;
    size_t n_rows, room;
    const char **cell;
} ebb_report_table;

/* A drawing. */
typedef struct ebb_report_figure {
    ebb_paint_fn paint;
    const void *what;
    double least;    /* points: it takes what the page has left from here up */
    double height;   /* points, at full width, when it has room */
    const char *alt; /* what it shows, in words */
} ebb_report_figure;

typedef struct ebb_report_block {
    ebb_report_kind kind;
    ebb_ink ink;      /* banner */
    const char *text; /* UTF-8, cleaned */
    size_t n_items, room;
    const char **item; /* list */
    ebb_report_table *table;
    ebb_report_figure figure;
    struct ebb_report_block *next;
} ebb_report_block;

/* The document. Everything lives in arena. */
typedef struct ebb_report_doc {
    ebb_arena *arena;
    const char *title, *trace;
    ebb_report_block *first, *last;
    bool failed; /* memory ran out */
} ebb_report_doc;

/* What the parts of the content need. */
typedef struct ebb_report_source {
    ebb_ctx *ctx;
    ebb_report_doc *doc;
    const ebb_answers *answers;
    ebb_units units;
} ebb_report_source;

/* The text, or "" when it is NULL because memory ran out: the document then counts as failed. */
const char *ebb_report_got(ebb_report_doc *doc, const char *text);
/* A copy with numbers tied to their units by no-break spaces: "2.70 m" never breaks. NULL for NULL
 * or when memory ran out. */
const char *ebb_report_tie(ebb_arena *arena, const char *text);
/* Adds a block with formatted text; returns NULL when memory ran out. */
ebb_report_block *ebb_report_say(ebb_report_doc *doc, ebb_report_kind kind, const char *format, ...)
    EBB_PRINTF(3, 4);
/* Adds an item to the list that ends the document, starting one when there is none. The text is
 * borrowed; NULL marks the document as failed. */
void ebb_report_item(ebb_report_doc *doc, const char *text);
/* Starts a table; columns are borrowed. */
ebb_report_table *ebb_report_table_start(ebb_report_doc *doc, const char *caption, size_t n_columns,
                                         const ebb_report_column *column);
/* Adds a row of n_columns cells, borrowed. A NULL cell marks the document as failed. */
void ebb_report_row(ebb_report_doc *doc, ebb_report_table *table, const char *const *cell);
/* Adds a figure; what is borrowed. */
void ebb_report_figure_add(ebb_report_doc *doc, const ebb_report_figure *figure);

/* The assumptions in two lines, for the terminal. Constant. */
const char *ebb_report_assumptions_short(void);

/* A document as a file, written beside and renamed. */
ebb_status ebb_report_print_pdf(ebb_ctx *ctx, const ebb_report_doc *doc, const char *path);
ebb_status ebb_report_print_html(ebb_ctx *ctx, const ebb_report_doc *doc, const char *path);

/* The whole report, in parts. */
ebb_status ebb_report_compose(ebb_report_source *source);
void ebb_report_summary(ebb_report_source *source);
void ebb_report_room(ebb_report_source *source, const ebb_answer *answer);
void ebb_report_faults(ebb_report_source *source, const ebb_answer *answer);
void ebb_report_stays(ebb_report_source *source, const ebb_answer *answer);
void ebb_report_unit_places(ebb_report_source *source, const ebb_answer *answer);
void ebb_report_stations(ebb_report_source *source, const ebb_answer *answer);
void ebb_report_method(ebb_report_source *source);
void ebb_report_closing(ebb_report_source *source);

#endif
