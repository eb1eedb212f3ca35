/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * `ebb unit`: what the absorbers of a file do, and what labels can claim.
 *
 * Sentences and tables are the report module's, pictures the drawing module's: here it is only
 * chosen what to ask for.
 */
#include "cli.h"

#include <ebb/draw.h>
#include <ebb/report.h>

#include <string.h>

static const cli_option options[] = {
    {"claims", 0, NULL, "judge the claims of the file instead of its units"},
    {"plot", 0, "FILE", "also draw the absorption, .svg, .pdf or .png"},
    {"section", 0, "FILE", "also draw a section of one unit, .svg, .pdf or .png"},
    CLI_UNITS,
    CLI_JSON,
    CLI_OUT,
    CLI_QUIET,
    CLI_NO_COLOR,
    CLI_HELP,
};

/* What was asked. */
typedef struct unit_task {
    const cli_given *given;
    const ebb_library *library;
    bool claims;
    int units; /* as cli_units */
    size_t n;
    size_t *chosen; /* indices of units or claims, rising */
    ebb_study **study;
    const ebb_claim_check **check;
} unit_task;

/* ---- what is asked --------------------------------------------------------------------------- */

/* A wrong ending is said before the work, not after it. */
static int check_pictures(cli_run *run, const cli_given *given)
{
    static const char *const NAMES[] = {"plot", "section"};
    for (size_t i = 0; i < 2; i++) {
        const char *file;
        const int status = cli_picture(run, given, NAMES[i], &file);
        if (file != NULL && cli_flag(given, "claims"))
            return cli_misuse(run, "--%s draws units, --claims judges labels: one of them",
                              NAMES[i]);
        if (status != CLI_DONE)
            return status;
    }
    return CLI_DONE;
}

static const char *name_of(const unit_task *task, size_t i)
{
    return task->claims ? task->library->claim[i].name : task->library->unit[i].name;
}

static size_t count_of(const unit_task *task)
{
    return task->claims ? task->library->n_claims : task->library->n_units;
}

/* A file with nothing of the kind asked for is told what it has of the other. */
static int refuse_empty(cli_run *run, const unit_task *task)
{
    if (task->claims)
        cli_error(run, "%s has no claims", task->library->file);
    else if (task->library->n_claims > 0)
        cli_error(run, "%s has no absorbers, but claims: --claims judges them",
                  task->library->file);
    else
        cli_error(run, "%s has no absorbers", task->library->file);
    return CLI_INPUT;
}

static int choose(cli_run *run, unit_task *task)
{
    const size_t n = count_of(task);
    const char **name = EBB_NEW(run->arena, const char *, n);
    task->study = EBB_NEW(run->arena, ebb_study *, n);
    task->check = EBB_NEW(run->arena, const ebb_claim_check *, n);
    if (name == NULL || task->study == NULL || task->check == NULL)
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the units"));
    if (n == 0)
        return refuse_empty(run, task);
    for (size_t i = 0; i < n; i++)
        name[i] = name_of(task, i);
    const char *what = task->claims ? "claim" : "absorber";
    const int status = cli_choose(run, task->given, what, n, name, &task->chosen, &task->n);
    if (status == CLI_DONE && cli_value(task->given, "section") != NULL && task->n > 1)
        return cli_misuse(run,
                          "a section shows one unit and there are %zu: name one, such as \"%s\"",
                          task->n, name[0]);
    return status;
}

/* ---- the work -------------------------------------------------------------------------------- */

/* Sentences inside a study carry measures, so the units are settled before it is made. */
static ebb_units units_of(const unit_task *task)
{
    return task->units < 0 ? task->library->units : (ebb_units)task->units;
}

/* Studies are made one after the other; each takes some hundredths of a second. */
static ebb_status study_units(cli_run *run, unit_task *task)
{
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < task->n && status == EBB_OK; i++) {
        const ebb_unit *unit = &task->library->unit[task->chosen[i]];
        ebb_progress(run->ctx, unit->name, (double)i / (double)task->n);
        status =
            ebb_study_new(run->ctx, unit, &task->library->air, units_of(task), &task->study[i]);
    }
    return status;
}

/* Checks live in the arena of the run and need no freeing. */
static ebb_status judge_claims(cli_run *run, unit_task *task)
{
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < task->n && status == EBB_OK; i++) {
        const ebb_claim *claim = &task->library->claim[task->chosen[i]];
        ebb_claim_check *check = NULL;
        ebb_progress(run->ctx, claim->name, (double)i / (double)task->n);
        status = ebb_claim_judge(run->ctx, run->arena, claim, &task->library->air, units_of(task),
                                 &check);
        task->check[i] = check;
    }
    return status;
}

/* Pictures come before the text is printed: when that is seen, the files are there. One that can
 * not be written does not keep the other from being. */
static ebb_status draw(cli_run *run, const unit_task *task)
{
    const char *plot = cli_value(task->given, "plot");
    const char *section = cli_value(task->given, "section");
    ebb_status first = EBB_OK, second = EBB_OK;
    if (plot != NULL)
        first = ebb_absorption_file(run->ctx, plot, task->n, (const ebb_study *const *)task->study);
    if (section != NULL)
        second = ebb_section_file(run->ctx, section, task->study[0]->unit, units_of(task));
    return first != EBB_OK ? first : second;
}

/* Four documents, one way to ask for each. */
static ebb_status write_text(cli_run *run, const unit_task *task, const char **text)
{
    const bool json = cli_flag(task->given, "json");
    const ebb_studies studies = {task->library, task->n, (const ebb_study *const *)task->study};
    const ebb_claim_checks checks = {task->library, task->n, task->check};
    if (task->claims)
        return json ? ebb_report_claims_json(run->ctx, run->arena, &checks, text)
                    : ebb_report_claims_text(run->ctx, run->arena, &checks, task->units, text);
    return json ? ebb_report_studies_json(run->ctx, run->arena, &studies, text)
                : ebb_report_studies_text(run->ctx, run->arena, &studies, task->units, text);
}

/* One way out, so that every study made is freed and every message shown. */
static int answer(cli_run *run, unit_task *task)
{
    int status = choose(run, task);
    if (status == CLI_DONE)
        status = cli_status(task->claims ? judge_claims(run, task) : study_units(run, task));
    if (status == CLI_DONE) {
        const char *text = NULL;
        const int drawn = cli_status(draw(run, task));
        status = cli_status(write_text(run, task, &text));
        if (status == CLI_DONE)
            status = cli_deliver(run, text, strlen(text), cli_value(task->given, "out"));
        /* A picture that failed does not take the text away, but it stays a failure. */
        status = drawn != CLI_DONE ? drawn : status;
    }
    for (size_t i = 0; task->study != NULL && i < task->n; i++)
        ebb_study_free(task->study[i]);
    cli_show_messages(run);
    return status;
}

/* Everything that can be wrong with the call is said before the file is read. */
static int run_unit(cli_run *run, const cli_given *given)
{
    unit_task task = {.given = given, .claims = cli_flag(given, "claims")};
    ebb_library *library = NULL;
    int status = check_pictures(run, given);
    if (status == CLI_DONE)
        status = cli_units(run, given, &task.units);
    if (status == CLI_DONE)
        status = cli_read_library(run, given->input[0], &library);
    if (status != CLI_DONE)
        return status;
    task.library = library;
    status = answer(run, &task);
    ebb_library_free(library);
    return status;
}

const cli_command cli_unit = {
    .name = "unit",
    .inputs = "FILE [NAME]...",
    .n_inputs = 1,
    .more = true,
    .summary = "what absorbers do, and what labels can claim",
    .examples = "  ebb unit boxes.yaml\n"
                "  ebb unit boxes.yaml light-front --plot light.svg --section light.pdf\n"
                "  ebb unit boxes.yaml --claims\n"
                "  ebb unit boxes.yaml light-front --json --out light.json\n",
    .about = "Calculates the absorbers of a library file or job file, or those named: absorption "
             "at normal\nand random incidence and of one unit alone, how the fronts move, the "
             "honest band, weight, how\nmuch of the depth limit is used, what slips in building "
             "do, warnings. With --claims it says\nwhich figures of a label are possible.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_unit,
};
