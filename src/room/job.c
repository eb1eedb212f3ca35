/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The job as a whole: from file or memory to ebb_job. */
#include <ebb/file.h>
#include <ebb/limits.h>

#include "build.h"

#include <math.h>
#include <string.h>

#define MOST_BYTES ((size_t)4 << 20)

void *ebb_room_keep(ebb_room_builder *builder, size_t count, size_t size)
{
    void *memory = ebb_arena_alloc(builder->job->arena, count, size);
    if (memory == NULL)
        ebb_room_nomem(builder->reader);
    return memory;
}

const char *ebb_room_keep_text(ebb_room_builder *builder, const char *text)
{
    const char *copy = ebb_arena_text(builder->job->arena, text);
    if (copy == NULL)
        ebb_room_nomem(builder->reader);
    return copy != NULL ? copy : "";
}

/* ---- the small parts ------------------------------------------------------------------------- */

/* Speed and density together describe a measured or published case as it stands; mixed with the
 * other keys they could contradict them. Half an air is not built: its faults are told already. */
static void build_air(ebb_room_builder *builder, const ebb_room_record *job)
{
    const ebb_room_field *field = ebb_room_get(job, "air");
    ebb_room_reader *reader = builder->reader;
    double t = 20, h = 0.5, p = 101325; /* a usual room at sea level */
    if (field->given && !(field->good && ebb_room_is_whole(field->record)))
        return;
    if (field->given) {
        const ebb_room_record *air = field->record;
        const bool speed = ebb_room_get(air, "speed")->given;
        const bool density = ebb_room_get(air, "density")->given;
        if (speed != density && ebb_room_is_absent(air, speed ? "density" : "speed"))
            ebb_room_fault(reader, &field->place, "speed and density go together");
        if (speed && density) {
            static const char why[] = "give either this or speed and density";
            ebb_room_refuse_key(builder, air, "temperature", why);
            ebb_room_refuse_key(builder, air, "humidity", why);
            ebb_room_refuse_key(builder, air, "pressure", why);
            (void)ebb_air_given(reader->aside, ebb_room_number(air, "speed", 0),
                                ebb_room_number(air, "density", 0), &builder->job->air);
            (void)ebb_room_take_aside(reader, &field->place);
            return;
        }
        t = ebb_room_number(air, "temperature", t);
        h = ebb_room_number(air, "humidity", h);
        p = ebb_room_number(air, "pressure", p);
    }
    (void)ebb_air_at(reader->aside, t, h, p, &builder->job->air);
    (void)ebb_room_take_aside(reader, &field->place);
}

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
    if (count->good && count->number[0] != floor(count->number[0]))
        ebb_room_fault(builder->reader, &count->place, "%.6g is not a whole number",
                       count->number[0]);
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
    build_air(builder, record);
    build_allowance(builder, record);
    build_overrides(builder, record);
    ebb_room_build_constructions(builder, record);
    if (builder->reader->status != EBB_OK)
        return;
    ebb_room_build_units(builder, record);
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
    if (length > MOST_BYTES)
        return ebb_fail_at(reader->ctx, EBB_E_INPUT, &(const ebb_place){.file = reader->file},
                           "has %zu bytes; at most %zu are read", length, MOST_BYTES);
    ebb_room_read(reader, &ebb_room_job_form, text, length, &record);
    if (record != NULL && reader->status == EBB_OK)
        build_job(builder, record);
    if (reader->status == EBB_E_NOMEM)
        return ebb_fail(reader->ctx, EBB_E_NOMEM, "no memory to read %s", reader->file);
    ebb_room_report(reader);
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

/* The folder of a path, "." when it has none; new text in arena. */
static const char *folder_of(ebb_arena *arena, const char *path)
{
    const char *slash = strrchr(path, '/');
    if (slash == NULL)
        return ".";
    return ebb_arena_format(arena, "%.*s", (int)(slash - path) + 1, path);
}

ebb_status ebb_job_read(ebb_ctx *ctx, const char *path, ebb_job **job)
{
    *job = NULL;
    char *text = NULL;
    size_t length = 0;
    ebb_arena *arena = ebb_arena_new(ctx);
    const char *folder = arena != NULL ? folder_of(arena, path) : NULL;
    ebb_status status;
    if (folder == NULL)
        status = ebb_fail(ctx, EBB_E_NOMEM, "no memory to read %s", path);
    else
        status = ebb_file_read(ctx, arena, path, MOST_BYTES, &text, &length);
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
