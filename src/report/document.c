/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "document.h"

#include "words.h"

#include <glib.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

const char *ebb_report_got(ebb_report_doc *doc, const char *text)
{
    doc->failed = doc->failed || !text;
    return text ? text : "";
}

/* Does a unit start here, and end after it? */
static bool unit_at(const char *text)
{
    static const char *const UNITS[] = {
        "%",  "mm", "m\u00b3", "m\u00b2", "m",   "dBA", "dB",  "Hz",      "s",       "kg", "lb",
        "ft", "in", "kPa",     "Pa",      "psf", "ppm", "L/s", "\u00b0C", "\u00b0F", "mg", "times"};
    for (size_t i = 0; i < sizeof UNITS / sizeof UNITS[0]; i++) {
        const size_t n = strlen(UNITS[i]);
        if (strncmp(text, UNITS[i], n) == 0 && !g_ascii_isalnum(text[n])) {
            return true;
        }
    }
    return false;
}

/* Done when blocks are added and not where texts are made, so that sentences from other modules are
 * tied as well. A no-break space is two bytes, hence the doubled room. */
const char *ebb_report_tie(ebb_arena *arena, const char *text)
{
    const size_t length = text ? strlen(text) : 0;
    char *tied = text ? EBB_NEW(arena, char, 2 * length + 1) : NULL;
    if (!tied) {
        return NULL;
    }
    size_t n = 0;
    for (size_t i = 0; i < length; i++) {
        const bool tie =
            text[i] == ' ' && i > 0 && g_ascii_isdigit(text[i - 1]) && unit_at(text + i + 1);
        if (tie) {
            memcpy(tied + n, "\u00a0", 2);
            n += 2;
        } else {
            tied[n++] = text[i];
        }
    }
    return tied;
}

/* Blocks are only ever appended, so a chain is all the document needs. */
static ebb_report_block *add(ebb_report_doc *doc, ebb_report_kind kind)
{
    ebb_report_block *block = EBB_NEW(doc->arena, ebb_report_block, 1);
    if (!block) {
        doc->failed = true;
        return NULL;
    }
    block->kind = kind;
    if (doc->last) {
        doc->last->next = block;
    } else {
        doc->first = block;
    }
    doc->last = block;
    return block;
}

ebb_report_block *ebb_report_say(ebb_report_doc *doc, ebb_report_kind kind, const char *format, ...)
{
    va_list list, again;
    va_start(list, format);
    va_copy(again, list);
    const int length = vsnprintf(NULL, 0, format, list);
    char *text = length < 0 ? NULL : EBB_NEW(doc->arena, char, (size_t)length + 1);
    if (text) {
        vsnprintf(text, (size_t)length + 1, format, again);
    }
    va_end(again);
    va_end(list);
    const char *tied = ebb_report_tie(doc->arena, text);
    ebb_report_block *block = tied ? add(doc, kind) : NULL;
    if (!block) {
        doc->failed = true;
        return NULL;
    }
    block->text = tied;
    return block;
}

/* Makes room for one more of `n` pointers; the arena keeps the old array until it is freed. */
static const char **more(ebb_report_doc *doc, const char **old, size_t n, size_t *room, size_t by)
{
    if (n + by <= *room) {
        return old;
    }
    const size_t wanted = 2 * (n + by) + 16;
    const char **larger = EBB_NEW(doc->arena, const char *, wanted);
    if (!larger) {
        doc->failed = true;
        return NULL;
    }
    if (n) {
        memcpy(larger, old, n * sizeof *old);
    }
    *room = wanted;
    return larger;
}

/* Lists grow by items that follow each other; anything between them ends the list. */
void ebb_report_item(ebb_report_doc *doc, const char *text)
{
    ebb_report_block *block = doc->last;
    if (!block || block->kind != EBB_REPORT_LIST) {
        block = add(doc, EBB_REPORT_LIST);
    }
    const char *tied = ebb_report_tie(doc->arena, text);
    const char **larger =
        block && tied ? more(doc, block->item, block->n_items, &block->room, 1) : NULL;
    if (!larger) {
        doc->failed = true;
        return;
    }
    block->item = larger;
    block->item[block->n_items++] = tied;
}

ebb_report_table *ebb_report_table_start(ebb_report_doc *doc, const char *caption, size_t n_columns,
                                         const ebb_report_column *column)
{
    ebb_report_table *table = EBB_NEW(doc->arena, ebb_report_table, 1);
    ebb_report_block *block = table ? add(doc, EBB_REPORT_TABLE) : NULL;
    if (!block) {
        doc->failed = true;
        return NULL;
    }
    table->caption = caption;
    table->n_columns = n_columns;
    table->column = column;
    block->table = table;
    return table;
}

/* Cells are copied tied; the head and its weights stay with whoever described the table. */
void ebb_report_row(ebb_report_doc *doc, ebb_report_table *table, const char *const *cell)
{
    if (!table) {
        return;
    }
    const size_t used = table->n_rows * table->n_columns;
    const char **larger = more(doc, table->cell, used, &table->room, table->n_columns);
    if (!larger) {
        return;
    }
    table->cell = larger;
    for (size_t k = 0; k < table->n_columns; k++) {
        table->cell[used + k] = ebb_report_got(doc, ebb_report_tie(doc->arena, cell[k]));
    }
    table->n_rows++;
}

void ebb_report_figure_add(ebb_report_doc *doc, const ebb_report_figure *figure)
{
    ebb_report_block *block = add(doc, EBB_REPORT_FIGURE);
    if (block) {
        block->figure = *figure;
    }
}

/* The parts are written without looking for failures; the first is remembered by the document and
 * told here. */
ebb_status ebb_report_compose(ebb_report_source *source)
{
    ebb_report_doc *doc = source->doc;
    doc->title = ebb_report_clean(doc->arena, source->answers->job->name, "(unnamed job)");
    doc->trace = ebb_report_trace(doc->arena, source->answers);
    doc->failed = !doc->title || !doc->trace;
    if (!doc->failed) {
        ebb_report_summary(source);
        for (size_t i = 0; i < source->answers->n; i++) {
            ebb_report_room(source, source->answers->answer[i]);
        }
        ebb_report_method(source);
        ebb_report_closing(source);
    }
    return doc->failed ? ebb_fail(source->ctx, EBB_E_NOMEM, "out of memory for the report")
                       : EBB_OK;
}
