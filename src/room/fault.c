/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Faults of the input: collected while reading, reported together in the order of the file. */
#include "record.h"

#include <stdio.h>

/* Remembered here, told once at the end: messages about the input that was left unread would only
 * mislead, and there is no memory to keep them in. */
void ebb_room_nomem(ebb_room_reader *reader)
{
    reader->status = EBB_E_NOMEM;
}

void *ebb_room_alloc(ebb_room_reader *reader, size_t count, size_t size)
{
    void *memory = ebb_arena_alloc(reader->arena, count, size);
    if (memory == NULL)
        ebb_room_nomem(reader);
    return memory;
}

static char *format_list(ebb_room_reader *reader, const char *format, va_list values)
{
    va_list again;
    va_copy(again, values);
    const int length = vsnprintf(NULL, 0, format, again);
    va_end(again);
    char *text = length >= 0 ? ebb_room_alloc(reader, (size_t)length + 1, 1) : NULL;
    if (text != NULL)
        vsnprintf(text, (size_t)length + 1, format, values);
    return text;
}

const char *ebb_room_format(ebb_room_reader *reader, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    const char *text = format_list(reader, format, values);
    va_end(values);
    return text;
}

/* Does a come after b in the order of reporting? */
static bool is_after(const ebb_room_fault_entry *a, const ebb_room_fault_entry *b)
{
    if (a->file != b->file)
        return a->file > b->file;
    if (a->place.line != b->place.line)
        return a->place.line > b->place.line;
    return a->place.column > b->place.column;
}

void ebb_room_fault(ebb_room_reader *reader, const ebb_place *place, const char *format, ...)
{
    reader->n_faults++;
    /* A hostile file can have a fault per byte; nobody reads more than the first few. */
    if (reader->n_faults > 10 * (size_t)EBB_ROOM_MOST_FAULTS)
        return;
    va_list values;
    va_start(values, format);
    char *text = format_list(reader, format, values);
    va_end(values);
    ebb_room_fault_entry *entry = EBB_NEW(reader->arena, ebb_room_fault_entry, 1);
    if (text == NULL || entry == NULL) {
        ebb_room_nomem(reader);
        return;
    }
    *entry = (ebb_room_fault_entry){.file = reader->file_number, .place = *place, .text = text};
    ebb_room_fault_entry **where = &reader->faults;
    while (*where != NULL && !is_after(*where, entry))
        where = &(*where)->next;
    entry->next = *where;
    *where = entry;
}

/* The count goes into the last message, so that nobody believes the list to be complete. */
void ebb_room_report(ebb_room_reader *reader)
{
    size_t listed = 0;
    for (const ebb_room_fault_entry *f = reader->faults; f != NULL; f = f->next) {
        if (listed == EBB_ROOM_MOST_FAULTS)
            break;
        ebb_fail_at(reader->ctx, EBB_E_INPUT, &f->place, "%s", f->text);
        listed++;
    }
    if (reader->n_faults > listed)
        ebb_fail(reader->ctx, EBB_E_INPUT, "and %zu more faults that are not listed",
                 reader->n_faults - listed);
}

/* Calls of lower modules (air, assemblies, files) know values but not where they were written.
 * Their messages are caught in a context of their own and given a place here. */
bool ebb_room_take_aside(ebb_room_reader *reader, const ebb_place *place)
{
    bool failed = false;
    for (size_t i = 0; i < ebb_ctx_messages(reader->aside); i++) {
        const ebb_message *message = ebb_ctx_message(reader->aside, i);
        if (message->status == EBB_E_NOMEM) {
            ebb_room_nomem(reader);
        } else if (message->status == EBB_OK) {
            ebb_warn_at(reader->ctx, place, "%s", message->text);
            continue;
        } else {
            ebb_room_fault(reader, place, "%s", message->text);
        }
        failed = true;
    }
    ebb_ctx_clear(reader->aside);
    return failed;
}

ebb_place ebb_room_place(ebb_room_reader *reader, const char *parent, const char *key, int line,
                         int column)
{
    ebb_place place = {.file = reader->file, .line = line, .column = column, .key = key};
    if (parent != NULL)
        place.key = ebb_room_format(reader, "%s%s%s", parent, key[0] == '[' ? "" : ".", key);
    return place;
}
