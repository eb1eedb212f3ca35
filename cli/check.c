/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * `ebb check`: all faults of a job file, or that it is fine.
 *
 * The same reader as everywhere, so that a job that passes here is not refused by another command.
 * Faults go to standard error in the form editors understand; with --json they are a result too.
 */
#include "cli.h"

#include <string.h>

static const cli_option options[] = {CLI_JSON, CLI_OUT, CLI_QUIET, CLI_NO_COLOR, CLI_HELP};

/* Places that are not known stay 0 or null, as the library gives them. */
static json_t *json_message(const ebb_message *m)
{
    const ebb_place *p = &m->place;
    return json_pack("{s:s, s:s?, s:i, s:i, s:s?, s:s}", "kind",
                     m->status == EBB_OK ? "warning" : "error", "file", p->file, "line", p->line,
                     "column", p->column, "key", p->key, "text", m->text);
}

/* Names of the rooms, for programs that go on to ask about each. */
static json_t *json_rooms(const ebb_job *job)
{
    json_t *list = json_array();
    for (size_t i = 0; job != NULL && i < job->n_rooms; i++)
        json_array_append_new(list, json_string(job->rooms[i].name));
    return list;
}

static int deliver_messages(cli_run *run, const char *path, const ebb_job *job, const char *out)
{
    json_t *list = json_array(), *warnings = cli_json_warnings(run->ctx);
    for (size_t i = 0; i < ebb_ctx_messages(run->ctx); i++)
        json_array_append_new(list, json_message(ebb_ctx_message(run->ctx, i)));
    json_t *document = cli_document("check", json_pack("{s:s}", "job", path));
    const int bad =
        json_object_set_new(document, "fine", json_boolean(ebb_ctx_errors(run->ctx) == 0)) +
        json_object_set_new(document, "rooms", json_rooms(job)) +
        json_object_set_new(document, "messages", list) +
        json_object_set_new(document, "warnings", warnings);
    if (bad != 0) {
        json_decref(document);
        document = NULL;
    }
    return cli_deliver_json(run, document, out);
}

/* Says how much was read: "no fault" about an empty job would mislead. */
static int deliver_summary(cli_run *run, const char *path, const ebb_job *job, const char *out)
{
    const size_t warnings = ebb_ctx_messages(run->ctx) - ebb_ctx_errors(run->ctx);
    const char *text = ebb_arena_format(
        run->arena, "%s: no fault found (%zu room%s, %zu absorber%s, %zu warning%s)\n", path,
        job->n_rooms, job->n_rooms == 1 ? "" : "s", job->n_units, job->n_units == 1 ? "" : "s",
        warnings, warnings == 1 ? "" : "s");
    if (text == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the summary"));
    return cli_deliver(run, text, strlen(text), out);
}

static int run_check(cli_run *run, const cli_given *given)
{
    const char *path = given->input[0], *out = cli_value(given, "out");
    ebb_job *job = NULL;
    const int read = cli_read_job(run, path, &job); /* shows the faults */
    int status = CLI_DONE;
    if (cli_flag(given, "json"))
        status = deliver_messages(run, path, job, out);
    else if (job != NULL)
        status = deliver_summary(run, path, job, out);
    if (job != NULL || status != CLI_DONE)
        cli_show_messages(run);
    ebb_job_free(job);
    /* A result that could not be written weighs more than what it would have said. */
    return status != CLI_DONE ? status : read;
}

const cli_command cli_check = {
    .name = "check",
    .inputs = "JOB",
    .n_inputs = 1,
    .summary = "what is wrong with a job file",
    .examples = "  ebb check house.yaml\n"
                "  ebb check house.yaml --json\n",
    .about = "Reads a job without judging it and lists all its faults, each with line, column and "
             "key.\nExit status 3 when there are any.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_check,
};
