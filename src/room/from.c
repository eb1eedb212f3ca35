/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units that a job takes from a library. */
#include "build.h"

#include <math.h>
#include <string.h>

/* Stock and units of a library; its claims and targets are no concern of a job. A library takes no
 * units from elsewhere, so this goes no deeper. */
static void read_shelf(ebb_room_builder *builder, const ebb_room_beside *file,
                       ebb_room_shelf *shelf)
{
    ebb_room_reader *reader = builder->reader;
    const char *name = reader->file;
    const size_t number = reader->file_number, faults = reader->n_faults;
    ebb_room_builder inner = {.reader = reader, .arena = builder->arena, .folder = file->folder};
    const ebb_room_record *record =
        ebb_room_read_file(&inner, &ebb_room_library_form, file->name, file->text, file->length);
    if (record != NULL) {
        ebb_unit *units = NULL;
        reader->file = file->name;
        reader->file_number = reader->n_files;
        ebb_room_build_stock(&inner, record);
        if (reader->status == EBB_OK)
            ebb_room_build_units(&inner, record, &units, &shelf->n);
        shelf->unit = units;
        reader->file = name;
        reader->file_number = number;
    }
    shelf->good = record != NULL && reader->n_faults == faults;
}

/* The library named at `field`, read when it is named first. */
static const ebb_room_shelf *find_shelf(ebb_room_builder *builder, const ebb_room_field *field)
{
    ebb_room_reader *reader = builder->reader;
    for (const ebb_room_shelf *s = builder->shelves; s != NULL; s = s->next)
        if (strcmp(s->path, field->text) == 0)
            return s;
    ebb_room_shelf *shelf = ebb_room_alloc(reader, 1, sizeof *shelf);
    ebb_room_beside file = {.text = NULL};
    if (shelf == NULL)
        return NULL;
    *shelf = (ebb_room_shelf){.next = builder->shelves, .path = field->text};
    builder->shelves = shelf;
    if (!ebb_room_open_beside(builder, field, EBB_ROOM_MOST_BYTES, &file))
        return shelf;
    shelf->name = ebb_room_keep_text(builder, file.name);
    if (ebb_room_kind_of_file(file.text, file.length) == EBB_ROOM_IS_JOB)
        ebb_room_fault(reader, &field->place, "the file %s is a job; units come from a library",
                       file.name);
    else
        read_shelf(builder, &file, shelf);
    return shelf;
}

/* A unit of a library is what the library says; the job knows what it costs there. */
static void refuse_own_keys(ebb_room_builder *builder, const ebb_room_record *record)
{
    static const char *const keys[] = {"face",    "depth", "back",      "fronts", "gap",
                                       "between", "fill",  "leak",      "cells",  "mass",
                                       "moves",   "hangs", "absorption"};
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
        ebb_room_refuse_key(builder, record, keys[i], "it is as the library says");
}

void ebb_room_take_unit(ebb_room_builder *builder, const ebb_room_record *record, ebb_unit *unit)
{
    const ebb_room_field *from = ebb_room_get(record, "from");
    const char *name = unit->name;
    unit->face[0] = unit->face[1] = unit->depth = unit->mass = NAN;
    refuse_own_keys(builder, record);
    if (builder->job == NULL) {
        ebb_room_fault(builder->reader, &from->place,
                       "a library gives its units itself; only a job takes them from another file");
        return;
    }
    if (!from->good)
        return;
    const ebb_room_shelf *shelf = find_shelf(builder, from);
    ebb_room_field wanted = *ebb_room_get(record, "named");
    if (shelf == NULL || !shelf->good || wanted.given != wanted.good || wanted.meant)
        return;
    if (!wanted.given) {
        wanted.place = from->place;
        wanted.text = name;
        wanted.good = true;
    }
    const char *what = ebb_room_format(builder->reader, "absorber in %s called", shelf->name);
    const ebb_room_names names = {what, shelf->unit, shelf->n, sizeof *shelf->unit};
    const ebb_unit *found = what != NULL ? ebb_room_find(builder, &wanted, &names) : NULL;
    if (found == NULL)
        return;
    *unit = *found;
    unit->name = name;
    unit->from = shelf->name;
    unit->cost = ebb_room_number(record, "cost", found->cost);
}
