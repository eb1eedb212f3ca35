/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Boxes that are to be designed, and the jobs they are tuned for. */
#include "build.h"

#include <math.h>
#include <string.h>

/* Jobs that have been read, by the path that targets give. */
typedef struct job_list {
    ebb_library *library;
    const char **path;
    ebb_job **job; /* NULL: it has faults, which are told already */
    size_t n;
} job_list;

/* ---- jobs ------------------------------------------------------------------------------------ */

/* Texts of a message are those of a context that is freed. */
static ebb_place keep_place(ebb_room_reader *reader, const ebb_place *place)
{
    ebb_place kept = *place;
    kept.file = place->file != NULL ? ebb_room_format(reader, "%s", place->file) : NULL;
    kept.key = place->key != NULL ? ebb_room_format(reader, "%s", place->key) : NULL;
    return kept;
}

/* Faults of a job are told with those of the library, each at its own place. */
static void take_messages(ebb_room_reader *reader, const ebb_ctx *ctx)
{
    const size_t number = reader->file_number;
    reader->file_number = ++reader->n_files;
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++) {
        const ebb_message *message = ebb_ctx_message(ctx, i);
        const ebb_place place = keep_place(reader, &message->place);
        if (message->status == EBB_E_NOMEM)
            ebb_room_nomem(reader);
        else if (message->status == EBB_OK)
            ebb_warn_at(reader->ctx, &place, "%s", message->text);
        else
            ebb_room_fault(reader, &place, "%s", message->text);
    }
    reader->file_number = number;
}

static ebb_job *read_job(ebb_room_builder *builder, const ebb_room_field *field)
{
    ebb_room_reader *reader = builder->reader;
    ebb_room_beside file = {.text = NULL};
    ebb_job *job = NULL;
    if (!ebb_room_open_beside(builder, field, EBB_ROOM_MOST_BYTES, &file))
        return NULL;
    if (ebb_room_kind_of_file(file.text, file.length) == EBB_ROOM_IS_LIBRARY) {
        ebb_room_fault(reader, &field->place, "the file %s is a library; a job is wanted",
                       file.name);
        return NULL;
    }
    ebb_ctx *ctx = ebb_ctx_new_with(ebb_ctx_allocator(reader->ctx));
    if (ctx == NULL) {
        ebb_room_nomem(reader);
        return NULL;
    }
    (void)ebb_job_parse(ctx, file.text, file.length, file.name, file.folder, &job);
    take_messages(reader, ctx);
    ebb_ctx_free(ctx);
    return job;
}

/* The job named at `field`, read when it is named first. The library owns it from then on. */
static const ebb_job *find_job(ebb_room_builder *builder, const ebb_room_field *field,
                               job_list *jobs)
{
    for (size_t i = 0; i < jobs->n; i++)
        if (strcmp(jobs->path[i], field->text) == 0)
            return jobs->job[i];
    ebb_job *job = read_job(builder, field);
    jobs->path[jobs->n] = field->text;
    jobs->job[jobs->n++] = job;
    if (job != NULL)
        jobs->library->jobs[jobs->library->n_jobs++] = job;
    return job;
}

/* ---- goals ----------------------------------------------------------------------------------- */

static void build_mode(ebb_room_builder *builder, const ebb_room_record *record, job_list *jobs,
                       ebb_tuning *tuning)
{
    const ebb_room_field *room = ebb_room_get(record, "room");
    tuning->hz = ebb_room_number(record, "hz", NAN);
    tuning->units = (size_t)ebb_room_whole_number(builder, record, "units", 1);
    const ebb_room_field *file = ebb_room_get(record, "job");
    tuning->job = file->good ? find_job(builder, file, jobs) : NULL;
    if (tuning->job == NULL)
        return;
    const ebb_room_names names = {"room", tuning->job->rooms, tuning->job->n_rooms,
                                  sizeof *tuning->job->rooms};
    const ebb_room *found = ebb_room_find(builder, room, &names);
    tuning->room = found != NULL ? (size_t)(found - tuning->job->rooms) : 0;
}

static void build_goal(ebb_room_builder *builder, const ebb_room_record *record, job_list *jobs,
                       ebb_target *target)
{
    static const char *const ways[] = {"curve", "mean", "mode", NULL};
    const ebb_room_field *way = ebb_room_one_of(builder, record, ways);
    if (way == NULL || !way->good)
        return;
    if (way == ebb_room_get(record, "curve")) {
        target->goal = EBB_GOAL_CURVE;
        target->curve = ebb_room_build_figures(builder, way, &target->n);
    } else if (way == ebb_room_get(record, "mean")) {
        target->goal = EBB_GOAL_MEAN;
        target->band[0] = way->number[0];
        target->band[1] = way->number[1];
        if (!(target->band[0] < target->band[1]))
            ebb_room_fault(builder->reader, &way->place,
                           "the band must rise: from %g Hz to %g Hz leaves nothing",
                           target->band[0], target->band[1]);
    } else {
        target->goal = EBB_GOAL_MODE;
        build_mode(builder, way->record, jobs, &target->tuning);
    }
}

/* ---- targets --------------------------------------------------------------------------------- */

/* [least, most] of a span; one value is both. */
static void build_span(const ebb_room_field *field, double span[2])
{
    if (!field->good)
        return;
    span[0] = field->number[0];
    span[1] = field->number[field->n - 1];
}

/* The defaults are those of the table of keys (forms_library.c). */
static void build_limits(ebb_room_builder *builder, const ebb_room_record *record,
                         ebb_target *target)
{
    const ebb_room_field *face = ebb_room_get(record, "face");
    const ebb_room_field *fronts = ebb_room_get(record, "fronts");
    double count[2] = {1, EBB_FRONTS};
    for (size_t i = 0; i < 2 && face->good; i++)
        target->face[i] = face->number[i];
    build_span(ebb_room_get(record, "depth"), target->depth);
    build_span(fronts, count);
    for (size_t i = 0; i < 2; i++)
        if (ebb_room_check_whole(builder, fronts, count[i]))
            target->fronts[i] = (int)count[i];
    target->mass = ebb_room_number(record, "mass", INFINITY);
    target->cost = ebb_room_number(record, "cost", INFINITY);
    target->grains = ebb_room_number(record, "grains", INFINITY);
    target->cells = ebb_room_whole_number(builder, record, "cells", 2);
    target->thinnest = ebb_room_number(record, "thinnest", 0.004);
    target->lightest = ebb_room_number(record, "lightest", 2.5);
    target->robust = ebb_room_word(record, "robust", 0) == 1;
}

/* Nothing can be designed without a board that comes in a thickness, or without a rim. */
static void build_use(ebb_room_builder *builder, const ebb_room_record *record, ebb_target *target)
{
    const ebb_room_field *use = ebb_room_get(record, "use");
    const size_t faults = builder->reader->n_faults;
    size_t boards = 0;
    ebb_room_build_use(builder, use->good ? use->record : NULL, &target->stock);
    if (!use->good || builder->reader->n_faults > faults || !ebb_room_is_whole(use->record))
        return;
    for (size_t i = 0; i < target->stock.n_materials; i++)
        boards += target->stock.material[i].n_sheets > 0;
    if (boards == 0)
        ebb_room_fault(builder->reader, &use->place,
                       "none of these materials has thicknesses; a box needs boards");
    if (target->stock.n_strips == 0)
        ebb_room_fault(builder->reader, &use->place, "a box needs a strip for the rim");
}

static void build_target(ebb_room_builder *builder, const ebb_room_record *record, job_list *jobs,
                         ebb_target *target)
{
    target->name = ebb_room_keep_text(builder, record->name);
    if (record->form == NULL)
        return;
    target->line = record->place.line;
    build_goal(builder, record, jobs, target);
    build_limits(builder, record, target);
    build_use(builder, record, target);
}

void ebb_room_build_targets(ebb_room_builder *builder, const ebb_room_record *record,
                            ebb_library *library)
{
    const ebb_room_field *list = ebb_room_get(record, "targets");
    const size_t n = list->good ? list->n : 0;
    ebb_target *target = EBB_KEEP(builder, ebb_target, n);
    job_list jobs = {.library = library};
    jobs.path = ebb_room_alloc(builder->reader, n, sizeof *jobs.path);
    jobs.job = ebb_room_alloc(builder->reader, n, sizeof(ebb_job *));
    library->jobs = EBB_KEEP(builder, ebb_job *, n);
    library->target = target;
    if (builder->reader->status != EBB_OK)
        return;
    library->n_targets = n;
    for (size_t i = 0; i < n && builder->reader->status == EBB_OK; i++)
        build_target(builder, &list->record[i], &jobs, &target[i]);
}
