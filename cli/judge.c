/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * `ebb judge`: verdict, plan and evidence for every room of a job.
 *
 * Rooms are judged one after the other, each with all threads, and in the order of the job whatever
 * the order of --room: the same job gives the same document. What the answer looks like is decided
 * in the report module, so that terminal, JSON, PDF and HTML can not drift apart.
 */
#include "cli.h"

#include <ebb/report.h>

#include <string.h>

static const cli_option options[] = {
    {"room", 0, "NAME", "only this room; may be given more than once"},
    {"report", 0, "FILE", "also write a report for the client, .pdf or .html; more than once"},
    CLI_UNITS,
    CLI_EFFORT,
    {"no-relaxed", 0, NULL, "leave out the search with ideal absorbers"},
    CLI_JSON,
    CLI_OUT,
    CLI_QUIET,
    CLI_NO_COLOR,
    CLI_HELP,
};

/* What was asked. */
typedef struct judge_task {
    const cli_given *given;
    const ebb_job *job;
    ebb_effort effort;
    int units;
    size_t n_rooms;
    size_t *room; /* indices of the rooms to judge, rising */
    ebb_answer **answer;
} judge_task;

/* ---- what is asked --------------------------------------------------------------------------- */

/* A wrong ending is said before the long work, not after it. */
static int check_reports(cli_run *run, const cli_given *given)
{
    for (size_t i = 0; i < given->n_options; i++) {
        if (strcmp(given->option[i]->name, "report") != 0)
            continue;
        const char *file = given->value[i];
        if (!cli_ends_in(file, ".pdf") && !cli_ends_in(file, ".html"))
            return cli_misuse(run, "--report %s: its name must end in .pdf or .html", file);
    }
    return CLI_DONE;
}

static int read_effort(cli_run *run, const cli_given *given, ebb_effort *effort)
{
    const int status = cli_effort(run, given, effort);
    if (cli_flag(given, "no-relaxed"))
        effort->relaxed = false;
    return status;
}

/* The rooms named, in the order of the job; all when none is named. One named twice is judged once;
 * one that is not there ends the run before the long work. */
static int choose_rooms(cli_run *run, judge_task *task)
{
    const size_t n = task->job->n_rooms;
    bool *wanted = EBB_NEW(run->arena, bool, n), some = false;
    task->room = EBB_NEW(run->arena, size_t, n);
    task->answer = EBB_NEW(run->arena, ebb_answer *, n);
    if (wanted == NULL || task->room == NULL || task->answer == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the rooms"));
    for (size_t i = 0; i < task->given->n_options; i++) {
        if (strcmp(task->given->option[i]->name, "room") != 0)
            continue;
        const size_t r = cli_find_room(run, task->job, task->given->value[i]);
        if (r == n)
            return CLI_INPUT;
        wanted[r] = some = true;
    }
    for (size_t r = 0; r < n; r++)
        if (!some || wanted[r])
            task->room[task->n_rooms++] = r;
    return CLI_DONE;
}

/* ---- the work -------------------------------------------------------------------------------- */

/* Each room is an equal part of the progress shown; rooms of one job are of similar size. */
static ebb_status judge_rooms(cli_run *run, judge_task *task)
{
    ebb_status status = EBB_OK;
    run->progress_span = 1.0 / (double)task->n_rooms;
    for (size_t i = 0; i < task->n_rooms && status == EBB_OK; i++) {
        run->progress_from = (double)i * run->progress_span;
        ebb_progress(run->ctx, task->job->rooms[task->room[i]].name, 0);
        status =
            ebb_answer_room(run->ctx, task->job, task->room[i], &task->effort, &task->answer[i]);
    }
    return status;
}

/* Reports come before the answer is printed: when that is seen, the files are there. One that
 * can not be written does not keep the others from being. */
static int write_reports(cli_run *run, const judge_task *task, const ebb_answers *answers)
{
    ebb_status first = EBB_OK;
    for (size_t i = 0; i < task->given->n_options; i++) {
        if (strcmp(task->given->option[i]->name, "report") != 0)
            continue;
        const char *file = task->given->value[i];
        const ebb_status status = cli_ends_in(file, ".pdf")
                                      ? ebb_report_pdf(run->ctx, answers, task->units, file)
                                      : ebb_report_html(run->ctx, answers, task->units, file);
        if (first == EBB_OK)
            first = status;
    }
    return cli_status(first);
}

static int write_answers(cli_run *run, const judge_task *task)
{
    const ebb_answers answers = {task->job, &task->effort, task->n_rooms,
                                 (const ebb_answer *const *)task->answer};
    const int reported = write_reports(run, task, &answers);
    const char *text = NULL;
    ebb_status status = cli_flag(task->given, "json")
                            ? ebb_report_json(run->ctx, run->arena, &answers, &text)
                            : ebb_report_text(run->ctx, run->arena, &answers, task->units, &text);
    if (status != EBB_OK)
        return cli_status(status);
    /* A report that failed does not take the answer away, but it stays a failure. */
    const int delivered = cli_deliver(run, text, strlen(text), cli_value(task->given, "out"));
    return reported != CLI_DONE ? reported : delivered;
}

/* One way out, so that every answer made is freed and every message shown. */
static int answer(cli_run *run, ebb_job *job, judge_task *task)
{
    ebb_prepared *prepared = NULL;
    int status = choose_rooms(run, task);
    if (status == CLI_DONE)
        status = cli_prepare(run, job, task->n_rooms == 1 ? &job->rooms[task->room[0]] : NULL, 0,
                             &prepared);
    if (status == CLI_DONE)
        status = cli_status(judge_rooms(run, task));
    if (status == CLI_DONE)
        status = write_answers(run, task);
    for (size_t i = 0; i < task->n_rooms; i++)
        ebb_answer_free(task->answer[i]);
    ebb_prepared_free(prepared);
    cli_show_messages(run);
    return status;
}

/* Everything that can be wrong with the call is said before the job is read. */
static int run_judge(cli_run *run, const cli_given *given)
{
    judge_task task = {.given = given};
    int status = check_reports(run, given);
    if (status == CLI_DONE)
        status = cli_units(run, given, &task.units);
    if (status == CLI_DONE)
        status = read_effort(run, given, &task.effort);
    ebb_job *job = NULL;
    if (status == CLI_DONE)
        status = cli_read_job(run, given->input[0], &job);
    if (status != CLI_DONE)
        return status;
    task.job = job;
    status = answer(run, job, &task);
    ebb_job_free(job);
    return status;
}

const cli_command cli_judge = {
    .name = "judge",
    .inputs = "JOB",
    .n_inputs = 1,
    .summary = "verdict, best plan and what stays wrong, for every room",
    .examples = "  ebb judge house.yaml\n"
                "  ebb judge house.yaml --room \"Chart room\" --report answer.pdf\n"
                "  ebb judge house.yaml --json --out answer.json\n",
    .about = "Says for each room whether it can be made right: `music`, `voice` or `no`. The "
             "evidence stands\nbeside it: faults before and after the best plan found, how sure "
             "the verdict is, what decided.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_judge,
};
