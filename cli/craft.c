/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * `ebb craft`: designs boxes for the targets of a library.
 *
 * Targets are worked on one after the other, each with all threads. Sentences and tables are the
 * report module's: here it is only chosen what to ask for.
 */
#include "cli.h"

#include <ebb/craft.h>
#include <ebb/draw.h>
#include <ebb/report.h>

#include <string.h>

static const cli_option options[] = {
    {"plot", 0, "FILE", "also draw the trade-offs of one target, .svg, .pdf or .png"},
    {"write", 0, "FILE", "also write the picks as a library file that jobs can use"},
    CLI_UNITS,
    {"seed", 0, "N", "start of the random numbers; the same seed gives the same answer"},
    {"starts", 0, "N", "starts of the search, 1 to 64"},
    CLI_JSON,
    CLI_OUT,
    CLI_QUIET,
    CLI_NO_COLOR,
    CLI_HELP,
};

/* What was asked. */
typedef struct craft_task {
    const cli_given *given;
    const ebb_library *library;
    ebb_craft_effort effort;
    int units; /* as cli_units */
    size_t n;
    size_t *chosen; /* indices of targets, rising */
    ebb_craft **craft;
} craft_task;

/* ---- what is asked --------------------------------------------------------------------------- */

/* What can not be written is said before the work, not after it. */
static int check_files(cli_run *run, const cli_given *given)
{
    const char *file, *library = cli_value(given, "write");
    if (library != NULL && strcmp(library, "-") == 0)
        return cli_misuse(run, "--write wants a file: standard output is for the answer");
    return cli_picture(run, given, "plot", &file);
}

static int read_effort(cli_run *run, const cli_given *given, ebb_craft_effort *effort)
{
    ebb_craft_effort_default(effort);
    unsigned long seed = effort->seed, starts = effort->starts;
    int status = cli_whole(run, given, "seed", (unsigned long[2]){0, 4294967295UL}, &seed);
    if (status == CLI_DONE)
        status = cli_whole(run, given, "starts", (unsigned long[2]){1, 64}, &starts);
    effort->seed = (unsigned)seed;
    effort->starts = starts;
    return status;
}

static int choose(cli_run *run, craft_task *task)
{
    const size_t n = task->library->n_targets;
    const char **name = EBB_NEW(run->arena, const char *, n);
    task->craft = EBB_NEW(run->arena, ebb_craft *, n);
    if (name == NULL || task->craft == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the targets"));
    if (n == 0) {
        cli_error(run, "%s has no targets", task->library->file);
        return CLI_INPUT;
    }
    for (size_t i = 0; i < n; i++)
        name[i] = task->library->target[i].name;
    const int status = cli_choose(run, task->given, "target", n, name, &task->chosen, &task->n);
    if (status == CLI_DONE && cli_value(task->given, "plot") != NULL && task->n > 1)
        return cli_misuse(run,
                          "a plot shows one target and there are %zu: name one, such as \"%s\"",
                          task->n, name[0]);
    return status;
}

/* ---- the work -------------------------------------------------------------------------------- */

static ebb_status craft_targets(cli_run *run, craft_task *task)
{
    ebb_status status = EBB_OK;
    run->progress_span = 1.0 / (double)task->n;
    for (size_t i = 0; i < task->n && status == EBB_OK; i++) {
        const ebb_target *target = &task->library->target[task->chosen[i]];
        run->progress_from = (double)i * run->progress_span;
        ebb_progress(run->ctx, target->name, 0);
        status =
            ebb_craft_new(run->ctx, target, &task->library->air, &task->effort, &task->craft[i]);
    }
    return status;
}

/* No target without a box: the status tells a script that there is work left. */
static int all_pass(const craft_task *task)
{
    for (size_t i = 0; i < task->n; i++)
        if (!task->craft[i]->passes)
            return CLI_NO_SOLUTION;
    return CLI_DONE;
}

static bool any_passes(const craft_task *task)
{
    for (size_t i = 0; i < task->n; i++)
        if (task->craft[i]->passes)
            return true;
    return false;
}

static int write_library(cli_run *run, const ebb_crafts *crafts, const char *file)
{
    const char *text = NULL;
    const ebb_status status = ebb_report_crafts_library(run->ctx, run->arena, crafts, &text);
    return status == EBB_OK ? cli_deliver(run, text, strlen(text), file) : cli_status(status);
}

/* Files come before the text is printed: when that is seen, they are there. Without a box there is
 * nothing to draw or write, and the text says so. */
static int write_files(cli_run *run, const craft_task *task, const ebb_crafts *crafts)
{
    const char *plot = cli_value(task->given, "plot"), *file = cli_value(task->given, "write");
    int first = CLI_DONE, second = CLI_DONE;
    if (!any_passes(task))
        return CLI_DONE;
    if (plot != NULL)
        first = cli_status(ebb_trade_file(run->ctx, plot, task->craft[0]));
    if (file != NULL)
        second = write_library(run, crafts, file);
    return first != CLI_DONE ? first : second;
}

static int write_answer(cli_run *run, const craft_task *task)
{
    const ebb_crafts crafts = {task->library, task->n, (const ebb_craft *const *)task->craft};
    const char *text = NULL;
    const int written = write_files(run, task, &crafts);
    int status =
        cli_status(cli_flag(task->given, "json")
                       ? ebb_report_crafts_json(run->ctx, run->arena, &crafts, &text)
                       : ebb_report_crafts_text(run->ctx, run->arena, &crafts, task->units, &text));
    if (status == CLI_DONE)
        status = cli_deliver(run, text, strlen(text), cli_value(task->given, "out"));
    if (status == CLI_DONE)
        status = written; /* a file that failed does not take the text away */
    return status == CLI_DONE ? all_pass(task) : status;
}

/* One way out, so that every answer made is freed and every message shown. */
static int answer(cli_run *run, craft_task *task)
{
    int status = choose(run, task);
    if (status == CLI_DONE)
        status = cli_status(craft_targets(run, task));
    if (status == CLI_DONE)
        status = write_answer(run, task);
    for (size_t i = 0; task->craft != NULL && i < task->n; i++)
        ebb_craft_free(task->craft[i]);
    cli_show_messages(run);
    return status;
}

/* Everything that can be wrong with the call is said before the file is read. */
static int run_craft(cli_run *run, const cli_given *given)
{
    craft_task task = {.given = given};
    ebb_library *library = NULL;
    int status = check_files(run, given);
    if (status == CLI_DONE)
        status = cli_units(run, given, &task.units);
    if (status == CLI_DONE)
        status = read_effort(run, given, &task.effort);
    if (status == CLI_DONE)
        status = cli_read_library(run, given->input[0], &library);
    if (status != CLI_DONE)
        return status;
    task.library = library;
    status = answer(run, &task);
    ebb_library_free(library);
    return status;
}

const cli_command cli_craft = {
    .name = "craft",
    .inputs = "FILE [TARGET]...",
    .n_inputs = 1,
    .more = true,
    .summary = "design boxes for the targets of a library",
    .examples = "  ebb craft boxes.yaml\n"
                "  ebb craft boxes.yaml good-unit --plot trade.svg --write designs.yaml\n"
                "  ebb craft boxes.yaml good-unit --starts 12 --seed 7\n"
                "  ebb craft boxes.yaml --json --out designs.json\n",
    .about =
        "Designs boxes for the targets of a library file, or those named: the best, the "
        "lightest, the\nshallowest and the cheapest that pass, each with a build sheet, and the "
        "best trade-offs between\nthem. When nothing passes it shows the nearest miss and which "
        "limit is in the way, and ends\nwith status 4.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_craft,
};
