/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "column.h"

#include <glib.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Doubles its room when it runs out, as everything else in an arena; a failure is remembered and
 * told once at the end. */
void ebb_report_put(ebb_report_text_buffer *out, const char *text, size_t length)
{
    if (out->failed) {
        return;
    }
    if (out->length + length + 1 > out->room) {
        const size_t room = 2 * (out->length + length) + 1024;
        char *larger = EBB_NEW(out->arena, char, room);
        if (!larger) {
            out->failed = true;
            return;
        }
        if (out->length) {
            memcpy(larger, out->data, out->length);
        }
        out->data = larger;
        out->room = room;
    }
    memcpy(out->data + out->length, text, length);
    out->length += length;
    out->data[out->length] = '\0';
}

void ebb_report_puts(ebb_report_text_buffer *out, const char *text)
{
    /* A NULL comes from a text that could not be allocated. */
    if (!text) {
        out->failed = true;
        return;
    }
    ebb_report_put(out, text, strlen(text));
}

/* Measured first and printed then: no line is ever cut at the size of a buffer. */
void ebb_report_putf(ebb_report_text_buffer *out, const char *format, ...)
{
    va_list list, again;
    va_start(list, format);
    va_copy(again, list);
    const int length = vsnprintf(NULL, 0, format, list);
    char *text = length < 0 ? NULL : EBB_NEW(out->arena, char, (size_t)length + 1);
    if (text) {
        vsnprintf(text, (size_t)length + 1, format, again);
    }
    va_end(again);
    va_end(list);
    ebb_report_puts(out, text);
}

const char *ebb_report_must(ebb_report_text_buffer *out, const char *text)
{
    out->failed = out->failed || !text;
    return text ? text : "";
}

/* Columns of one character. The table of the C library depends on the locale, this one does not. */
static size_t columns_of(gunichar c)
{
    if (g_unichar_iszerowidth(c)) {
        return 0;
    }
    return g_unichar_iswide(c) ? 2 : 1;
}

/* Only for text that has been cleaned: it must be valid UTF-8. */
size_t ebb_report_width(const char *text, size_t length)
{
    size_t width = 0;
    for (const char *at = text; at < text + length; at = g_utf8_next_char(at)) {
        width += columns_of(g_utf8_get_char(at));
    }
    return width;
}

/* A combining mark takes no column, so it always stays with the letter before it. */
size_t ebb_report_cut(const char *text, size_t columns)
{
    const char *at = text;
    size_t width = 0;
    while (*at) {
        width += columns_of(g_utf8_get_char(at));
        if (width > columns) {
            break;
        }
        at = g_utf8_next_char(at);
    }
    return (size_t)(at - text);
}

static void blanks(ebb_report_text_buffer *out, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        ebb_report_put(out, " ", 1);
    }
}

/* A cut field ends in an ellipsis: a name that is not whole must not look like another name. */
void ebb_report_field(ebb_report_text_buffer *out, const char *text, size_t columns, bool right)
{
    static const char MORE[] = "\u2026";
    if (!text) {
        out->failed = true;
        return;
    }
    const bool cut = ebb_report_width(text, strlen(text)) > columns;
    const size_t bytes = ebb_report_cut(text, cut ? columns - 1 : columns);
    const size_t width = ebb_report_width(text, bytes) + (cut ? 1 : 0);
    if (right) {
        blanks(out, columns - width);
    }
    ebb_report_put(out, text, bytes);
    ebb_report_put(out, MORE, cut ? sizeof MORE - 1 : 0);
    if (!right) {
        blanks(out, columns - width);
    }
}

/* Bytes of the next line of text within columns: up to a blank, or as many as fit. */
static size_t line_length(const char *text, size_t columns)
{
    const size_t fits = ebb_report_cut(text, columns);
    if (text[fits] == '\0' || text[fits] == ' ') {
        return fits;
    }
    size_t end = fits;
    while (end > 0 && text[end - 1] != ' ') {
        end--;
    }
    while (end > 0 && text[end - 1] == ' ') {
        end--;
    }
    return end > 0 ? end : fits;
}

void ebb_report_wrap(ebb_report_text_buffer *out, const char *lead, const char *text)
{
    if (!text) {
        out->failed = true;
        return;
    }
    const size_t indent = ebb_report_width(lead, strlen(lead));
    ebb_report_puts(out, lead);
    for (;;) {
        const size_t n = line_length(text, EBB_REPORT_COLUMNS - indent);
        ebb_report_put(out, text, n);
        ebb_report_put(out, "\n", 1);
        text += n;
        text += strspn(text, " ");
        if (*text == '\0') {
            return;
        }
        blanks(out, indent);
    }
}
