/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The library as a whole: from file or memory to ebb_library. */
#include <ebb/file.h>

#include "build.h"

/* The library lives in its own arena, as a job does. */
static ebb_library *new_library(const ebb_ctx *ctx, const char *name)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_library *library = EBB_NEW(arena, ebb_library, 1);
    char *file = ebb_arena_text(arena, name);
    if (library == NULL || file == NULL) {
        ebb_arena_free(arena);
        return NULL;
    }
    library->arena = arena;
    library->file = file;
    return library;
}

/* Units and targets name things of the stock, so that comes first. */
static void build_library(ebb_room_builder *builder, const ebb_room_record *record,
                          ebb_library *library)
{
    const ebb_room_reader *reader = builder->reader;
    const ebb_room_field *name = ebb_room_get(record, "library");
    const ebb_room_field *note = ebb_room_get(record, "note");
    ebb_unit *units = NULL;
    library->name = ebb_room_keep_text(builder, name->good ? name->text : "");
    library->note = ebb_room_keep_text(builder, note->good ? note->text : "");
    library->units = (ebb_units)ebb_room_word(record, "units", EBB_UNITS_METRIC);
    ebb_room_build_air(builder, record, &library->air);
    ebb_room_build_stock(builder, record);
    library->stock = builder->stock;
    if (reader->status == EBB_OK)
        ebb_room_build_units(builder, record, &units, &library->n_units);
    library->unit = units;
    if (reader->status == EBB_OK)
        ebb_room_build_claims(builder, record, library);
    if (reader->status == EBB_OK)
        ebb_room_build_targets(builder, record, library);
}

/* A job has no stock of its own; its units are shown and drawn like those of a library. */
static ebb_status take_job(ebb_room_builder *builder, const char *text, size_t length,
                           ebb_library *library)
{
    ebb_room_reader *reader = builder->reader;
    ebb_job **jobs = EBB_KEEP(builder, ebb_job *, 1);
    if (jobs == NULL)
        return EBB_E_NOMEM;
    const ebb_status status =
        ebb_job_parse(reader->ctx, text, length, reader->file, builder->folder, &jobs[0]);
    library->jobs = jobs;
    library->n_jobs = status == EBB_OK;
    if (status != EBB_OK)
        return status;
    const ebb_job *job = jobs[0];
    library->name = job->name;
    library->note = job->note;
    library->units = job->units;
    library->air = job->air;
    library->unit = job->absorbers;
    library->n_units = job->n_units;
    ebb_room_build_stock(builder, NULL);
    library->stock = builder->stock;
    return EBB_OK;
}

/* Reads into `library`, reports what is wrong with it. */
static ebb_status read_into(ebb_room_builder *builder, const char *text, size_t length,
                            ebb_library *library)
{
    ebb_room_reader *reader = builder->reader;
    ebb_room_record *record;
    ebb_status status = EBB_OK;
    if (length > EBB_ROOM_MOST_BYTES)
        return ebb_fail_at(reader->ctx, EBB_E_INPUT, &(const ebb_place){.file = reader->file},
                           "has %zu bytes; at most %zu are read", length, EBB_ROOM_MOST_BYTES);
    if (ebb_room_kind_of_file(text, length) == EBB_ROOM_IS_JOB) {
        status = take_job(builder, text, length, library);
    } else {
        ebb_room_read(reader, &ebb_room_library_form, text, length, &record);
        if (record != NULL && reader->status == EBB_OK)
            build_library(builder, record, library);
    }
    if (reader->status == EBB_E_NOMEM)
        return ebb_fail(reader->ctx, EBB_E_NOMEM, "no memory to read %s", reader->file);
    ebb_room_report(reader);
    return reader->n_faults > 0 ? EBB_E_INPUT : status;
}

ebb_status ebb_library_parse(ebb_ctx *ctx, const char *text, size_t length, const char *name,
                             const char *folder, ebb_library **library)
{
    *library = NULL;
    const char *file = name != NULL ? name : "library";
    ebb_room_reader reader = {.ctx = ctx, .file = file};
    ebb_room_builder builder = {.reader = &reader, .folder = folder};
    ebb_library *made = new_library(ctx, file);
    ebb_status status;
    reader.arena = ebb_arena_new(ctx);
    reader.aside = ebb_ctx_new_with(ebb_ctx_allocator(ctx));
    builder.arena = made != NULL ? made->arena : NULL;
    if (reader.arena == NULL || reader.aside == NULL || made == NULL)
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory to read %s", file);
    else
        status = read_into(&builder, text, length, made);
    ebb_arena_free(reader.arena);
    ebb_ctx_free(reader.aside);
    if (status == EBB_OK)
        *library = made;
    else
        ebb_library_free(made);
    return status;
}

ebb_status ebb_library_read(ebb_ctx *ctx, const char *path, ebb_library **library)
{
    *library = NULL;
    char *text = NULL;
    size_t length = 0;
    ebb_arena *arena = ebb_arena_new(ctx);
    const char *folder = arena != NULL ? ebb_room_folder_of(arena, path) : NULL;
    ebb_status status;
    if (folder == NULL)
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory to read %s", path);
    else
        status = ebb_file_read(ctx, arena, path, EBB_ROOM_MOST_BYTES, &text, &length);
    if (status == EBB_OK)
        status = ebb_library_parse(ctx, text, length, path, folder, library);
    ebb_arena_free(arena);
    return status;
}

void ebb_library_free(ebb_library *library)
{
    if (library == NULL)
        return;
    for (size_t i = 0; i < library->n_jobs; i++)
        ebb_job_free(library->jobs[i]);
    ebb_arena_free(library->arena);
}
