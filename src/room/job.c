/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The job as a whole: from file or memory to ebb_job. */
#include <ebb/file.h>
#include <ebb/limits.h>

#include "build.h"

#include <math.h>

/* What is not limited is infinite, so that every comparison with it holds without a special case.
 */
static void build_allowance(ebb_room_builder *builder, const ebb_room_record *job)
{
    const ebb_room_field *field = ebb_room_get(job, "allowance");
    ebb_allowance *out = &builder->job->allowance;
    *out = (ebb_allowance){INFINITY, INFINITY, INFINITY, INFINITY, INFINITY, INFINITY};
    if (!field->good)
        return;
    const ebb_room_record *record = field->record;
    out->mass = ebb_room_number(record, "mass", INFINITY);
    out->cover = ebb_room_number(record, "cover", INFINITY);
    out->depth = ebb_room_number(record, "depth", INFINITY);
    out->cost = ebb_room_number(record, "cost", INFINITY);
    out->count = ebb_room_number(record, "count", INFINITY);
    out->floor = ebb_room_number(record, "floor", INFINITY);
    const ebb_room_field *count = ebb_room_get(record, "count");
    if (count->good)
        (void)ebb_room_check_whole(builder, count, count->number[0]);
}

/* Keys and ranges are those of the table of limits; the values were checked against them. */
static void build_overrides(ebb_room_builder *builder, const ebb_room_record *job)
{
    const ebb_room_field *field = ebb_room_get(job, "limits");
    if (!field->good)
        return;
    const ebb_room_record *record = field->record;
    ebb_override *override = EBB_KEEP(builder, ebb_override, record->form->n);
    if (override == NULL)
        return;
    builder->job->overrides = override;
    for (size_t i = 0; i < record->form->n; i++)
        if (record->field[i].good)
            override[builder->job->n_overrides++] = (ebb_override){
                ebb_limit_index(record->form->rules[i].key), record->field[i].number[0]};
}

/* Rooms come last: they refer to constructions and absorbers by name. Every part is built even when
 * one before had faults, unless memory ran out or the file was given up. */
static void build_job(ebb_room_builder *builder, const ebb_room_record *record)
{
    ebb_job *job = builder->job;
    const ebb_room_field *name = ebb_room_get(record, "job"), *note = ebb_room_get(record, "note");
    job->name = ebb_room_keep_text(builder, name->good ? name->text : "");
    job->note = ebb_room_keep_text(builder, note->good ? note->text : "");
    job->use = (ebb_use)ebb_room_word(record, "use", EBB_USE_MUSIC);
    job->lowest = ebb_room_number(record, "lowest", 40);
    job->units = (ebb_units)ebb_room_word(record, "units", EBB_UNITS_METRIC);
    ebb_room_build_air(builder, record, &job->air);
    build_allowance(builder, record);
    build_overrides(builder, record);
    ebb_room_build_stock(builder, NULL);
    if (builder->reader->status != EBB_OK)
        return;
    ebb_room_build_constructions(builder, record);
    if (builder->reader->status != EBB_OK)
        return;
    ebb_room_build_units(builder, record, &job->absorbers, &job->n_units);
    if (builder->reader->status != EBB_OK)
        return;
    ebb_room_build_rooms(builder, record);
}

/* ---- the whole ------------------------------------------------------------------------------- */

/* The job lives in its own arena, so that it can be freed in one go and outlives the reading. */
static ebb_job *new_job(const ebb_ctx *ctx, const char *name)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_job *job = EBB_NEW(arena, ebb_job, 1);
    char *file = ebb_arena_text(arena, name);
    if (job == NULL || file == NULL) {
        ebb_arena_free(arena);
        return NULL;
    }
    job->arena = arena;
    job->file = file;
    return job;
}

/* Reads into `job`, reports what is wrong with it. */
static ebb_status read_into(ebb_room_builder *builder, const char *text, size_t length)
{
    ebb_room_reader *reader = builder->reader;
    ebb_room_record *record;
    if (length > EBB_ROOM_MOST_BYTES)
        return ebb_fail_at(reader->ctx, EBB_E_INPUT, &(const ebb_place){.file = reader->file},
                           "has %zu bytes; at most %zu are read", length, EBB_ROOM_MOST_BYTES);
    ebb_room_read(reader, &ebb_room_job_form, text, length, &record);
    if (record != NULL && reader->status == EBB_OK)
        build_job(builder, record);
    if (reader->status == EBB_E_NOMEM)
        return ebb_fail(reader->ctx, EBB_E_NOMEM, "no memory to read %s", reader->file);
    ebb_room_report(reader);
    if (reader->status == EBB_E_NUMERIC)
        return EBB_E_NUMERIC;
    return reader->n_faults > 0 ? EBB_E_INPUT : EBB_OK;
}

/* Everything that is needed only while reading is in one scratch arena and freed on the single way
 * out; the job is handed over whole or not at all. */
ebb_status ebb_job_parse(ebb_ctx *ctx, const char *text, size_t length, const char *name,
                         const char *folder, ebb_job **job)
{
    *job = NULL;
    const char *file = name != NULL ? name : "job";
    ebb_room_reader reader = {.ctx = ctx, .file = file};
    ebb_room_builder builder = {.reader = &reader, .folder = folder};
    ebb_status status;
    reader.arena = ebb_arena_new(ctx);
    reader.aside = ebb_ctx_new_with(ebb_ctx_allocator(ctx));
    builder.job = new_job(ctx, file);
    builder.arena = builder.job != NULL ? builder.job->arena : NULL;
    if (reader.arena == NULL || reader.aside == NULL || builder.job == NULL)
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory to read %s", file);
    else
        status = read_into(&builder, text, length);
    ebb_arena_free(reader.arena);
    ebb_ctx_free(reader.aside);
    if (status == EBB_OK)
        *job = builder.job;
    else
        ebb_job_free(builder.job);
    return status;
}

ebb_status ebb_job_read(ebb_ctx *ctx, const char *path, ebb_job **job)
{
    *job = NULL;
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
        status = ebb_job_parse(ctx, text, length, path, folder, job);
    ebb_arena_free(arena);
    return status;
}

void ebb_job_free(ebb_job *job)
{
    if (job != NULL)
        ebb_arena_free(job->arena);
}
