/* SPDX-License-Identifier: GPL-3.0-or-later */
/* `ebb reshape`: what moving a wall or the ceiling does to one room. */
#include "cli.h"

#include <ebb/draw.h>
#include <ebb/report.h>

#include <string.h>

static const cli_option options[] = {
    {"room", 0, "NAME", "the room; may be left out when the job has one"},
    {"plot", 0, "FILE", "also draw the map, .svg, .pdf or .png"},
    {"sizes", 0, "N", "sizes of the map at most, 8 to 100000 (2000)"},
    {"treat", 0, "N", "moves that are also treated, best bare ones first, 0 to 12 (3)"},
    CLI_UNITS,
    {"seed", 0, "N", "start of the random numbers; the same seed gives the same answer"},
    CLI_JSON,
    CLI_OUT,
    CLI_QUIET,
    CLI_NO_COLOR,
    CLI_HELP,
};

#define MOST_SPACES 256

static int read_effort(cli_run *run, const cli_given *given, ebb_reshape_effort *effort)
{
    ebb_reshape_default(effort);
    unsigned long most = effort->most, treated = effort->treated, seed = effort->treat.seed;
    int status = cli_whole(run, given, "sizes", (unsigned long[2]){8, 100000}, &most);
    if (status == CLI_DONE)
        status = cli_whole(run, given, "treat", (unsigned long[2]){0, 12}, &treated);
    if (status == CLI_DONE)
        status = cli_whole(run, given, "seed", (unsigned long[2]){0, 4294967295UL}, &seed);
    effort->most = most;
    effort->treated = treated;
    effort->treat.seed = (unsigned)seed;
    return status;
}

static int deliver(cli_run *run, const cli_given *given, int units, const ebb_reshaped *map)
{
    const char *plot = cli_value(given, "plot"), *text = NULL;
    ebb_status status = plot != NULL ? ebb_reshape_file(run->ctx, plot, map) : EBB_OK;
    if (status == EBB_OK)
        status = cli_flag(given, "json")
                     ? ebb_reshape_json(run->ctx, run->arena, map, &text)
                     : ebb_reshape_text(run->ctx, run->arena, map, units, &text);
    if (status != EBB_OK)
        return cli_status(status);
    return cli_deliver(run, text, strlen(text), cli_value(given, "out"));
}

/* Spaces of the room as it is and of all moved ones that are no boxes. */
typedef struct spaces {
    cli_run *run;
    const ebb_job *job;
    size_t n;
    ebb_prepared *made[MOST_SPACES];
} spaces;

/* A moved room is prepared as the only one of a job of its own. */
static ebb_status make_ready(void *user, ebb_ctx *ctx, ebb_room *room)
{
    spaces *all = user;
    ebb_job *alone = EBB_NEW(all->run->arena, ebb_job, 1);
    const ebb_prepare_wish wish = {0};
    if (alone == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a moved room");
    if (all->n == MOST_SPACES)
        return ebb_fail(ctx, EBB_E_RANGE, "more than %d moves of walls", MOST_SPACES);
    *alone = *all->job;
    alone->n_rooms = 1;
    alone->rooms = room;
    const ebb_status status = ebb_prepare(ctx, alone, NULL, &wish, &all->made[all->n]);
    all->n += status == EBB_OK;
    return status;
}

static int map_room(cli_run *run, const cli_given *given, ebb_job *job, int units,
                    ebb_reshape_effort *effort)
{
    size_t room;
    spaces all = {.run = run, .job = job};
    int status = cli_one_room(run, given, job, &room);
    ebb_reshaped *map = NULL;
    effort->ready = make_ready;
    effort->user = &all;
    if (status == CLI_DONE)
        status = cli_prepare(run, job, &job->rooms[room], 0, &all.made[all.n]);
    all.n += status == CLI_DONE;
    if (status == CLI_DONE)
        status = cli_status(ebb_reshape(run->ctx, job, room, effort, &map));
    if (status == CLI_DONE)
        status = deliver(run, given, units, map);
    while (all.n > 0) /* they point into the moved rooms */
        ebb_prepared_free(all.made[--all.n]);
    ebb_reshaped_free(map);
    cli_show_messages(run);
    return status;
}

static int run_reshape(cli_run *run, const cli_given *given)
{
    ebb_reshape_effort effort;
    const char *plot;
    int units, status = cli_picture(run, given, "plot", &plot);
    if (status == CLI_DONE)
        status = cli_units(run, given, &units);
    if (status == CLI_DONE)
        status = read_effort(run, given, &effort);
    ebb_job *job = NULL;
    if (status == CLI_DONE)
        status = cli_read_job(run, given->input[0], &job);
    if (status != CLI_DONE)
        return status;
    status = map_room(run, given, job, units, &effort);
    ebb_job_free(job);
    return status;
}

const cli_command cli_reshape = {
    .name = "reshape",
    .inputs = "JOB",
    .n_inputs = 1,
    .summary = "what moving a wall or the ceiling does to one room",
    .examples = "  ebb reshape house.yaml --room \"Chart room\"\n"
                "  ebb reshape house.yaml --room \"Chart room\" --plot map.pdf\n"
                "  ebb reshape house.yaml --room \"Chart room\" --treat 0 --json\n",
    .about = "Maps the share of wrong cells over length, width and height within the room's "
             "may_change limits,\nbare; ranks moves of 0.3 m and 0.6 m, also of the walls named "
             "by may_move, by what they mend,\nand treats the best of them.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_reshape,
};
