/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * `ebb plan`: how many units for one room, where, and what goes with them.
 *
 * It answers for one use: a plan for music that fails is not saved by one for voice that passes.
 */
#include "cli.h"

#include <ebb/draw.h>
#include <ebb/report.h>

#include <errno.h>
#include <string.h>
#include <sys/stat.h>

static const cli_option options[] = {
    {"room", 0, "NAME", "the room; may be left out when the job has one"},
    {"use", 0, "voice|music", "what it is to be right for; the job's own if not given"},
    {"report", 0, "FILE", "also write a report for client and builder, .pdf or .html"},
    {"drawings", 0, "FILE|FOLDER", "also write working drawings: pages of a .pdf, or SVG files"},
    CLI_UNITS,
    CLI_EFFORT,
    {"brief", 0, NULL, "the plan alone: no worth of units, no other plans, no curve, no doubt"},
    {"no-boxes", 0, NULL, "do not solve the plan again with its units as boxes in the room"},
    CLI_CACHE,
    CLI_JSON,
    CLI_OUT,
    CLI_QUIET,
    CLI_NO_COLOR,
    CLI_HELP,
};

/* What was asked. */
typedef struct plan_task {
    const cli_given *given;
    ebb_detail_effort effort;
    int units;
    const char *report, *drawings;
    bool pages; /* the drawings go into one file */
} plan_task;

/* ---- what is asked --------------------------------------------------------------------------- */

/* A wrong ending is said before the long work, not after it. */
static int read_files(cli_run *run, plan_task *task)
{
    task->report = cli_value(task->given, "report");
    task->drawings = cli_value(task->given, "drawings");
    if (task->report && !cli_ends_in(task->report, ".pdf") && !cli_ends_in(task->report, ".html"))
        return cli_misuse(run, "--report %s: its name must end in .pdf or .html", task->report);
    if (task->drawings == NULL)
        return CLI_DONE;
    task->pages = cli_ends_in(task->drawings, ".pdf");
    const char *dot = strrchr(task->drawings, '.'), *slash = strrchr(task->drawings, '/');
    if (!task->pages && dot != NULL && dot[1] != '\0' && (slash == NULL || dot > slash + 1))
        return cli_misuse(run, "--drawings %s: give a .pdf file or a folder", task->drawings);
    return CLI_DONE;
}

static int read_effort(cli_run *run, plan_task *task)
{
    ebb_detail_default(&task->effort);
    const int status = cli_effort(run, task->given, &task->effort.search);
    if (cli_flag(task->given, "brief"))
        task->effort.gains = task->effort.alternatives = task->effort.curve = task->effort.doubt =
            task->effort.search.relaxed = false;
    return status;
}

static int read_use(cli_run *run, const cli_given *given, ebb_use *use)
{
    const char *word = cli_value(given, "use");
    if (word == NULL)
        return CLI_DONE;
    if (strcmp(word, "voice") == 0)
        *use = EBB_USE_VOICE;
    else if (strcmp(word, "music") == 0)
        *use = EBB_USE_MUSIC;
    else
        return cli_misuse(run, "--use %s: it is voice or music", word);
    return CLI_DONE;
}

/* ---- what is written ------------------------------------------------------------------------- */

/* One SVG file for each sheet, named by its surface. */
static ebb_status draw_folder(cli_run *run, const char *folder, ebb_work *work)
{
    if (mkdir(folder, 0777) != 0 && errno != EEXIST)
        return ebb_fail(run->ctx, EBB_E_IO, "%s: the folder cannot be made: %s", folder,
                        strerror(errno));
    const ebb_room *room = work->answer->room;
    size_t list[EBB_MOST_SURFACES + 1];
    const size_t n = ebb_work_surfaces(room, work->layout, list);
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < n && status == EBB_OK; i++) {
        const char *name = list[i] == EBB_WORK_PLAN ? "plan" : room->surfaces[list[i]].name;
        const char *path = ebb_arena_format(run->arena, "%s/%s.svg", folder, name);
        work->surface = list[i];
        status = path != NULL ? ebb_work_file(run->ctx, path, work)
                              : ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for a name");
    }
    return status;
}

/* Files come before the answer is printed: when that is seen, the files are there. */
static ebb_status write_files(cli_run *run, const plan_task *task, const ebb_plan_papers *papers)
{
    const ebb_answer *answer = papers->plan->answer;
    ebb_status status = EBB_OK;
    if (task->report != NULL)
        status = cli_ends_in(task->report, ".pdf")
                     ? ebb_plan_pdf(run->ctx, papers, task->units, task->report)
                     : ebb_plan_html(run->ctx, papers, task->units, task->report);
    if (status != EBB_OK || task->drawings == NULL)
        return status;
    ebb_work work = {.answer = answer,
                     .layout = &papers->plan->treatment->after.layout,
                     .surface = EBB_WORK_PLAN,
                     .units = task->units < 0 ? answer->job->units : (ebb_units)task->units};
    return task->pages ? ebb_work_pages(run->ctx, task->drawings, &work)
                       : draw_folder(run, task->drawings, &work);
}

/* The plan is printed even when a file could not be written, but that stays a failure. That no plan
 * passes is said by the exit status only when all else went well. */
static int deliver(cli_run *run, const plan_task *task, const ebb_planned *plan,
                   const ebb_verified *verified)
{
    const ebb_plan_papers papers = {plan, &task->effort, verified};
    const int written = cli_status(write_files(run, task, &papers));
    const char *text = NULL;
    const ebb_status status =
        cli_flag(task->given, "json")
            ? ebb_plan_json(run->ctx, run->arena, &papers, &text)
            : ebb_plan_text(run->ctx, run->arena, &papers, task->units, &text);
    if (status != EBB_OK)
        return cli_status(status);
    const int delivered = cli_deliver(run, text, strlen(text), cli_value(task->given, "out"));
    if (written != CLI_DONE || delivered != CLI_DONE)
        return written != CLI_DONE ? written : delivered;
    const bool refuted = verified != NULL && verified->solved && !verified->right;
    return plan->passes && !refuted ? CLI_DONE : CLI_NO_SOLUTION;
}

/* ---- the work -------------------------------------------------------------------------------- */

/* The full engine has the last word on the plan. Nothing is kept of it: the mesh of
 * one plan helps no other. */
static int verify(cli_run *run, ebb_planned *plan, ebb_verified *verified)
{
    const ebb_prepare_wish wish = {.cache = "", .progress = cli_tell_step, .user = run};
    return cli_status(ebb_verify_plan(run->ctx, run->arena, plan, &wish, verified));
}

static int plan_room(cli_run *run, const plan_task *task, ebb_job *job)
{
    ebb_verified verified = {0};
    size_t room;
    ebb_planned *plan = NULL;
    ebb_prepared *prepared = NULL;
    int status = read_use(run, task->given, &job->use);
    if (status == CLI_DONE)
        status = cli_one_room(run, task->given, job, &room);
    if (status == CLI_DONE)
        status = cli_prepare(run, job, &job->rooms[room], 0, &prepared);
    if (status == CLI_DONE)
        status = cli_status(ebb_plan_room(run->ctx, job, room, &task->effort, &plan));
    const bool boxes = !cli_flag(task->given, "no-boxes");
    if (status == CLI_DONE && boxes)
        status = verify(run, plan, &verified);
    if (status == CLI_DONE)
        status = deliver(run, task, plan, boxes ? &verified : NULL);
    ebb_planned_free(plan);
    ebb_prepared_free(prepared);
    cli_show_messages(run);
    return status;
}

static int run_plan(cli_run *run, const cli_given *given)
{
    plan_task task = {.given = given};
    ebb_use use;
    int status = read_files(run, &task);
    if (status == CLI_DONE)
        status = read_use(run, given, &use);
    if (status == CLI_DONE)
        status = cli_units(run, given, &task.units);
    if (status == CLI_DONE)
        status = cli_cache(run, given);
    if (status == CLI_DONE)
        status = read_effort(run, &task);
    ebb_job *job = NULL;
    if (status == CLI_DONE)
        status = cli_read_job(run, given->input[0], &job);
    if (status != CLI_DONE)
        return status;
    status = plan_room(run, &task, job);
    ebb_job_free(job);
    return status;
}

const cli_command cli_plan = {
    .name = "plan",
    .inputs = "JOB",
    .n_inputs = 1,
    .summary = "how many units for one room, where, and what else would do",
    .examples = "  ebb plan house.yaml --room \"Chart room\"\n"
                "  ebb plan house.yaml --room \"Chart room\" --report plan.pdf\n"
                "  ebb plan house.yaml --room \"Chart room\" --use voice --drawings sheets\n",
    .about =
        "Places units, seats and speakers within the allowance, with measures that a builder "
        "can take on site;\nsays what each unit is worth, what is cheaper or lighter and still "
        "passes, and what is worth\nmeasuring first. Then solves the plan again with its units "
        "as boxes that stand in the room.\nExit status 4 when no plan makes the room right for the "
        "use, or the boxes say so.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_plan,
};
