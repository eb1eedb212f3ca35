/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Jobs in, results out.
 *
 * A result is made whole in memory before any of it is written. Thus a calculation that fails
 * half-way prints nothing, an output file is never replaced by half of one, and whether the writing
 * itself worked is known in one place.
 */
#include "cli.h"

#include <ebb/file.h>
#include <ebb/version.h>

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_ROOMS_SUGGESTED 64
#define LARGEST_JOB ((size_t)4 << 20)
#define STANDARD_INPUT "standard input"

/* ---- jobs ------------------------------------------------------------------------------------ */

/* Standard input has no size to ask for: read up to the limit and one byte more. */
static ebb_status read_standard_input(cli_run *run, char **text, size_t *length)
{
    *text = EBB_NEW(run->arena, char, LARGEST_JOB + 1);
    if (*text == NULL)
        return ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for standard input");
    const ebb_place place = {.file = STANDARD_INPUT};
    *length = fread(*text, 1, LARGEST_JOB + 1, stdin);
    if (ferror(stdin))
        return ebb_fail_at(run->ctx, EBB_E_IO, &place, "cannot be read: %s", strerror(errno));
    if (*length > LARGEST_JOB)
        return ebb_fail_at(run->ctx, EBB_E_INPUT, &place, "is longer than 4 MiB");
    return EBB_OK;
}

/* Files named by what comes from standard input are looked up in the working folder, there being no
 * folder of its own. */
int cli_read_job(cli_run *run, const char *path, ebb_job **job)
{
    char *text;
    size_t length;
    ebb_status status;
    *job = NULL;
    if (strcmp(path, "-") != 0) {
        status = ebb_job_read(run->ctx, path, job);
    } else {
        status = read_standard_input(run, &text, &length);
        if (status == EBB_OK)
            status = ebb_job_parse(run->ctx, text, length, STANDARD_INPUT, ".", job);
    }
    if (status != EBB_OK)
        cli_show_messages(run);
    return cli_status(status);
}

int cli_read_library(cli_run *run, const char *path, ebb_library **library)
{
    char *text;
    size_t length;
    ebb_status status;
    *library = NULL;
    if (strcmp(path, "-") != 0) {
        status = ebb_library_read(run->ctx, path, library);
    } else {
        status = read_standard_input(run, &text, &length);
        if (status == EBB_OK)
            status = ebb_library_parse(run->ctx, text, length, STANDARD_INPUT, ".", library);
    }
    if (status != EBB_OK)
        cli_show_messages(run);
    return cli_status(status);
}

/* Names are compared to the letter: two rooms may differ in no more than that. */
size_t cli_find_room(cli_run *run, const ebb_job *job, const char *name)
{
    const char *names[MOST_ROOMS_SUGGESTED] = {NULL};
    size_t n = 0;
    for (size_t i = 0; i < job->n_rooms; i++) {
        if (strcmp(job->rooms[i].name, name) == 0)
            return i;
        if (n < MOST_ROOMS_SUGGESTED)
            names[n++] = job->rooms[i].name;
    }
    const char *nearest = cli_nearest(name, n, names);
    if (nearest != NULL)
        cli_error(run, "the job has no room \"%s\"; did you mean \"%s\"?", name, nearest);
    else
        cli_error(run, "the job has no room \"%s\"; its first is \"%s\"", name,
                  n > 0 ? names[0] : "");
    return job->n_rooms;
}

#define MOST_SUGGESTED 64

/* Index by name; n when there is none, said so. */
static size_t find_named(cli_run *run, const char *what, size_t n, const char *const *name,
                         const char *word)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(name[i], word) == 0)
            return i;
    const char *nearest = cli_nearest(word, n < MOST_SUGGESTED ? n : MOST_SUGGESTED, name);
    if (nearest != NULL)
        cli_error(run, "the file has no %s \"%s\"; did you mean \"%s\"?", what, word, nearest);
    else
        cli_error(run, "the file has no %s \"%s\"; its first is \"%s\"", what, word, name[0]);
    return n;
}

int cli_choose(cli_run *run, const cli_given *given, const char *what, size_t n,
               const char *const *name, size_t **chosen, size_t *n_chosen)
{
    bool *wanted = EBB_NEW(run->arena, bool, n);
    *chosen = EBB_NEW(run->arena, size_t, n);
    *n_chosen = 0;
    if (wanted == NULL || *chosen == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the names"));
    for (size_t i = 1; i < given->n_inputs; i++) {
        const size_t found = find_named(run, what, n, name, given->input[i]);
        if (found == n)
            return CLI_INPUT;
        wanted[found] = true;
    }
    for (size_t i = 0; i < n; i++)
        if (given->n_inputs == 1 || wanted[i])
            (*chosen)[(*n_chosen)++] = i;
    return CLI_DONE;
}

int cli_one_room(cli_run *run, const cli_given *given, const ebb_job *job, size_t *room)
{
    const char *name = cli_value(given, "room");
    if (name == NULL && job->n_rooms > 1)
        return cli_misuse(run, "the job has %zu rooms: name one with --room, such as \"%s\"",
                          job->n_rooms, job->rooms[0].name);
    *room = name != NULL ? cli_find_room(run, job, name) : 0;
    return *room == job->n_rooms ? CLI_INPUT : CLI_DONE;
}

/* ---- rooms that are no box --------------------------------------------------------------------
 */

void cli_tell_step(void *user, const ebb_room *room, const char *step)
{
    cli_run *run = user;
    ebb_progress(run->ctx, ebb_arena_format(run->arena, "%s: %s", room->name, step), 0);
}

int cli_prepare(cli_run *run, ebb_job *job, const ebb_room *room, double highest,
                ebb_prepared **prepared)
{
    const ebb_prepare_wish wish = {
        .highest = highest, .cache = run->cache, .progress = cli_tell_step, .user = run};
    return cli_status(ebb_prepare(run->ctx, job, room ? room->name : NULL, &wish, prepared));
}

/* ---- results --------------------------------------------------------------------------------- */

/* fwrite only fills a buffer; only the flush tells whether the disk or the pipe took it. */
static int deliver_to_stdout(cli_run *run, const char *text, size_t length)
{
    errno = 0;
    if (fwrite(text, 1, length, stdout) == length && fflush(stdout) == 0)
        return CLI_DONE;
    /* Who closed the pipe knows; everybody else is told. */
    if (errno != EPIPE)
        cli_error(run, "standard output cannot be written: %s", strerror(errno));
    return CLI_FAILED;
}

int cli_deliver(cli_run *run, const char *text, size_t length, const char *out)
{
    if (out == NULL || strcmp(out, "-") == 0)
        return deliver_to_stdout(run, text, length);
    /* Beside the target and renamed at the end: a full disk leaves the old file as it was. */
    ebb_draft *draft;
    ebb_status status = ebb_draft_open(run->ctx, out, &draft);
    if (status == EBB_OK) {
        status = ebb_draft_write(run->ctx, draft, text, length);
        if (status == EBB_OK)
            status = ebb_draft_commit(run->ctx, draft);
        else
            ebb_draft_drop(draft);
    }
    return cli_status(status); /* the message is shown with all others at the end */
}

int cli_deliver_json(cli_run *run, json_t *document, const char *out)
{
    /* 17 digits read back to the same double. No line breaks: most of it is arrays of numbers. */
    char *text = document != NULL ? json_dumps(document, JSON_REAL_PRECISION(17)) : NULL;
    json_decref(document);
    if (text == NULL) {
        cli_error(run, "no memory for the JSON document");
        return CLI_FAILED;
    }
    const size_t length = strlen(text);
    text[length] = '\n'; /* in place of the end mark: length is told apart */
    const int status = cli_deliver(run, text, length + 1, out);
    free(text);
    return status;
}

/* Every document starts alike, so that a program can tell what it has got before reading on. */
json_t *cli_document(const char *command, json_t *inputs)
{
    return json_pack("{s:{s:s, s:i, s:s, s:o}}", "ebb", "version", ebb_version(), "schema",
                     EBB_JSON_SCHEMA, "command", command, "inputs", inputs);
}

/* JSON has no NaN and no infinity. What could not be told, such as the lowest right frequency of a
 * room where none is right, is null. */
json_t *cli_json_number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

json_t *cli_json_numbers(size_t n, const double *value, size_t stride)
{
    json_t *list = json_array();
    for (size_t i = 0; i < n; i++)
        json_array_append_new(list, cli_json_number(value[i * stride]));
    return list;
}

/* Texts alone: the place of a warning in the job file is for people, and stands on standard error.
 */
json_t *cli_json_warnings(const ebb_ctx *ctx)
{
    json_t *list = json_array();
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++) {
        const ebb_message *m = ebb_ctx_message(ctx, i);
        if (m->status == EBB_OK)
            json_array_append_new(list, json_string(m->text));
    }
    return list;
}
