/* SPDX-License-Identifier: GPL-3.0-or-later */
/* column.h - text in columns of a terminal. */
#ifndef EBB_REPORT_COLUMN_H
#define EBB_REPORT_COLUMN_H

#include <ebb/arena.h>

#define EBB_REPORT_COLUMNS 100 /* of the text report */

/* A growing text. */
typedef struct ebb_report_text_buffer {
    ebb_arena *arena;
    char *data;
    size_t length, room;
    bool failed; /* memory ran out; data is then not to be used */
} ebb_report_text_buffer;

void ebb_report_put(ebb_report_text_buffer *out, const char *text, size_t length);
void ebb_report_puts(ebb_report_text_buffer *out, const char *text);
void ebb_report_putf(ebb_report_text_buffer *out, const char *format, ...) EBB_PRINTF(2, 3);

/* The text, or "" when it is NULL because memory ran out: the buffer then counts as failed. */
const char *ebb_report_must(ebb_report_text_buffer *out, const char *text);

/* Columns that UTF-8 text of `length` bytes takes: 2 for wide characters, 0 for combining ones. */
size_t ebb_report_width(const char *text, size_t length);
/* Bytes of text that fit into `columns`, whole characters only. */
size_t ebb_report_cut(const char *text, size_t columns);
/* Text in a field of `columns`, padded on the right (left when `right`), cut with an ellipsis. */
void ebb_report_field(ebb_report_text_buffer *out, const char *text, size_t columns, bool right);
/* Text wrapped at blanks to EBB_REPORT_COLUMNS: the first line after `lead`, the others indented
 * as far. Words longer than a line are broken. Ends with a newline. */
void ebb_report_wrap(ebb_report_text_buffer *out, const char *lead, const char *text);

#endif
