/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * `ebb field`: modes, decays and responses of one room as it stands in the job.
 *
 * Nothing is searched or moved here: it is the wave engine laid open, to be compared with a
 * measurement or with another method. Hence one point per seat and speaker, exactly where the job
 * has it, and units flush with their surface.
 */
#include "field.h"

/* Where the engine's error was measured (docs/validation.md); beyond it works, but unproven. */
#define PROVEN_LOW 20.0
#define PROVEN_HIGH 200.0
#define MOST_POINTS 20000

static const cli_option options[] = {
    {"room", 0, "NAME", "the room; may be left out when the job has one"},
    {"from", 0, "FREQUENCY", "lowest frequency, 5 Hz to 400 Hz (20 Hz)"},
    {"to", 0, "FREQUENCY", "highest frequency, 20 Hz to 400 Hz (200 Hz)"},
    {"step", 0, "FREQUENCY", "step of the responses, 0.01 Hz to 100 Hz (1 Hz)"},
    {"picture", 0, "FILE", "also draw a cut through the room, .svg, .pdf or .png"},
    {"mode", 0, "N|FREQUENCY", "draw rigid-wall mode N, or the damped mode nearest"},
    {"pressure", 0, "FREQUENCY", "draw the level of the pressure at this frequency"},
    {"speaker", 0, "NAME", "this speaker alone (all of them; of the pressure, in phase)"},
    {"cut", 0, "PLACE", "\"height 1.2 m\", \"length 2 m\", \"width 1 m\" (first seat's ears)"},
    {"impulse", 0, "FILE", "also write impulse responses, as sound .wav or table .csv"},
    {"seat", 0, "NAME", "of the impulse responses: this seat alone (all of them)"},
    CLI_CACHE,
    CLI_UNITS,
    CLI_JSON,
    CLI_OUT,
    CLI_QUIET,
    CLI_NO_COLOR,
    CLI_HELP,
};

/* ---- what is asked --------------------------------------------------------------------------- */

/* The bounds keep a slip (kHz for Hz, a step of a thousandth) from becoming an hour of work. */
static int read_band(cli_run *run, const cli_given *given, field_task *task)
{
    static const double from[2] = {5, 400}, to[2] = {20, 400}, step[2] = {0.01, 100};
    int status = cli_frequency(run, given, "from", from, &task->from);
    if (status == CLI_DONE)
        status = cli_frequency(run, given, "to", to, &task->to);
    if (status == CLI_DONE)
        status = cli_frequency(run, given, "step", step, &task->step);
    if (status != CLI_DONE)
        return status;
    if (task->from >= task->to)
        return cli_misuse(run, "--from %g Hz does not lie below --to %g Hz", task->from, task->to);
    /* The last point may fall short of `to` by rounding alone. */
    task->n_hz = (size_t)((task->to - task->from) / task->step + 1e-9) + 1;
    if (task->n_hz > MOST_POINTS)
        return cli_misuse(run, "these are %zu frequencies; at most %d are calculated", task->n_hz,
                          MOST_POINTS);
    task->hz = EBB_NEW(run->arena, double, task->n_hz);
    for (size_t i = 0; task->hz != NULL && i < task->n_hz; i++)
        task->hz[i] = task->from + (double)i * task->step;
    return task->hz != NULL ? CLI_DONE
                            : cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the band"));
}

static int choose_room(cli_run *run, const cli_given *given, field_task *task)
{
    const int status = cli_one_room(run, given, task->job, &task->index);
    if (status != CLI_DONE)
        return status;
    task->room = &task->job->rooms[task->index];
    const int placed = cli_field_place(run, task);
    return placed == CLI_DONE ? cli_field_impulse_place(run, task) : placed;
}

/* ---- warnings -------------------------------------------------------------------------------- */

/* Formulas and tables hold within limits. Outside a value is still given, since it is often near
 * enough, but never without saying so. */
static void warn_about(cli_run *run, const field_task *task, const char *what, const char *name,
                       const ebb_assembly *assembly)
{
    double low, high;
    const char *why = NULL;
    ebb_assembly_range(assembly, &low, &high, &why);
    if (task->from < low || task->to > high)
        ebb_warn_at(run->ctx, NULL,
                    "%s \"%s\": %s holds from %.4g Hz to %.4g Hz; values outside are less sure",
                    what, name, why != NULL ? why : "its data", low, high);
}

/* Says where the answer leaves what its formulas and checks cover. */
static void warn_of_ranges(cli_run *run, const field_task *task)
{
    const ebb_job *job = task->job;
    const ebb_room *room = task->room;
    if (task->from < PROVEN_LOW || task->to > PROVEN_HIGH)
        ebb_warn_at(run->ctx, NULL,
                    "the method is checked from %g Hz to %g Hz; values outside are less sure",
                    PROVEN_LOW, PROVEN_HIGH);
    for (size_t i = 0; i < room->n_surfaces; i++) {
        const ebb_construction *c = &job->constructions[room->surfaces[i].construction];
        warn_about(run, task, "construction", c->name, &c->assembly);
    }
    for (size_t i = 0; i < room->n_openings; i++) {
        const ebb_construction *c = &job->constructions[room->openings[i].construction];
        warn_about(run, task, "construction", c->name, &c->assembly);
    }
    for (size_t i = 0; i < room->n_placed; i++) {
        const ebb_unit *u = &job->absorbers[room->placed[i].unit];
        warn_about(run, task, "absorber", u->name, &u->assembly);
    }
    if (room->n_seats == 0 || room->n_speakers == 0)
        ebb_warn_at(run->ctx, NULL, "room \"%s\" has no %s: modes only, no responses", room->name,
                    room->n_seats == 0 ? "seats" : "speakers");
}

/* ---- the engine's input ---------------------------------------------------------------------- */

/* Stations relative to the lower corner of the room. */
static void fill_points(const ebb_room *room, size_t n, const ebb_station *station, ebb_vec3 *point)
{
    for (size_t i = 0; i < n; i++)
        point[i] = (ebb_vec3){station[i].at.x - room->origin.x, station[i].at.y - room->origin.y,
                              station[i].at.z - room->origin.z};
}

/* Geometry and state borrow the same points and patches. */
static ebb_status fill_input(cli_run *run, const field_task *task, ebb_geometry *geometry,
                             ebb_state *state)
{
    const ebb_room *room = task->room;
    const size_t n_patches = room->n_openings + room->n_placed;
    const size_t n_points = room->n_speakers + room->n_seats;
    ebb_patch *patch = EBB_NEW(run->arena, ebb_patch, n_patches);
    size_t *used = EBB_NEW(run->arena, size_t, n_patches);
    ebb_vec3 *point = EBB_NEW(run->arena, ebb_vec3, n_points);
    if (patch == NULL || used == NULL || point == NULL)
        return ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the room");
    for (size_t i = 0; i < n_patches; i++)
        used[i] = i;
    fill_points(room, room->n_speakers, room->speakers, point);
    fill_points(room, room->n_seats, room->seats, point + room->n_speakers);
    ebb_state_of(task->job, room, state);
    state->n_used = n_patches;
    state->used = used;
    state->n_sources = room->n_speakers;
    state->n_receivers = room->n_seats;
    state->sources = point;
    state->receivers = point + room->n_speakers;
    ebb_status status = ebb_geometry_of(run->ctx, task->job, room, task->to, NULL, geometry);
    geometry->n_points = n_points;
    geometry->points = point;
    geometry->n_patches = n_patches;
    geometry->patches = patch;
    geometry->richness = 1; /* one answer is wanted, and it may take its time */
    if (status != EBB_OK)
        return status;
    return ebb_room_patches(run->ctx, task->job, room, room->n_placed, room->placed, patch);
}

/* Projects once; modes, responses and pictures then come from the same reduced model and agree. */
static ebb_status solve(cli_run *run, const field_task *task, field_result *result)
{
    ebb_geometry geometry = {0};
    ebb_state *state = &result->state;
    ebb_status status = fill_input(run, task, &geometry, state);
    if (status == EBB_OK)
        status = ebb_reduced_new(run->ctx, &geometry, &result->reduced);
    if (status == EBB_OK)
        status =
            ebb_modes_new(run->ctx, result->reduced, state, task->from, task->to, &result->modes);
    const size_t n_paths = state->n_sources * state->n_receivers;
    if (status != EBB_OK || n_paths == 0)
        return status;
    result->h = EBB_NEW(run->arena, double _Complex, n_paths * task->n_hz);
    if (result->h == NULL)
        return ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the responses");
    return ebb_response(run->ctx, result->reduced, state, task->n_hz, task->hz, result->h);
}

/* ---- the command ----------------------------------------------------------------------------- */

/* From here on there is something to free, so there is one way out. Pictures and sounds
 * come before the numbers are printed: when those are seen, they are there. */
static int answer(cli_run *run, const cli_given *given, ebb_job *job, field_task *task)
{
    field_result result = {0};
    const char *out = cli_value(given, "out");
    int status = choose_room(run, given, task);
    if (status != CLI_DONE)
        return status;
    warn_of_ranges(run, task);
    status = cli_prepare(run, job, task->room, task->to, &result.prepared);
    ebb_progress(run->ctx, "solving the field", 0);
    if (status == CLI_DONE)
        status = cli_status(solve(run, task, &result));
    if (status == CLI_DONE)
        status = cli_field_picture(run, task, &result);
    if (status == CLI_DONE)
        status = cli_field_impulse(run, task, &result);
    if (status == CLI_DONE)
        status = cli_flag(given, "json") ? cli_field_json(run, task, &result, out)
                                         : cli_field_text(run, task, &result, out);
    ebb_modes_free(result.modes);
    ebb_reduced_free(result.reduced);
    ebb_prepared_free(result.prepared);
    cli_show_messages(run);
    return status;
}

/* The command line is checked whole before the job is read: it is the cheaper to mend. */
static int run_field(cli_run *run, const cli_given *given)
{
    field_task task = {.path = given->input[0], .from = 20, .to = 200, .step = 1};
    int units, status = cli_units(run, given, &units);
    if (status == CLI_DONE)
        status = cli_cache(run, given);
    if (status == CLI_DONE)
        status = read_band(run, given, &task);
    if (status == CLI_DONE)
        status = cli_field_ask(run, given, &task);
    if (status == CLI_DONE)
        status = cli_field_impulse_ask(run, given, &task);
    ebb_job *job = NULL;
    if (status == CLI_DONE)
        status = cli_read_job(run, task.path, &job);
    if (status != CLI_DONE)
        return status;
    task.job = job;
    task.units = units < 0 ? job->units : (ebb_units)units;
    status = answer(run, given, job, &task);
    ebb_job_free(job);
    return status;
}

const cli_command cli_field = {
    .name = "field",
    .inputs = "JOB",
    .n_inputs = 1,
    .summary = "modes, decay times and responses of one room",
    .examples = "  ebb field house.yaml --room \"Chart room\"\n"
                "  ebb field house.yaml --room \"Chart room\" --from 30Hz --to 120Hz --step 0.5Hz\n"
                "  ebb field house.yaml --room \"Chart room\" --json --out field.json\n"
                "  ebb field house.yaml --room \"Chart room\" --picture mode.svg --mode 3\n"
                "  ebb field house.yaml --room \"Chart room\" --picture map.png --pressure 63Hz\n"
                "  ebb field house.yaml --room \"Chart room\" --impulse seat.wav --seat lead\n",
    .about = "The room is taken as it stands in the job, with the units under `placed`. Printed "
             "are its\nrigid-wall modes, its damped modes with decay time T60 and Q, and the "
             "response p/Q from\nevery speaker to every seat. A picture shows one mode or the "
             "pressure at one frequency on a cut;\nimpulse responses are for listening and for "
             "decay plots. Play them quietly first: low\n"
             "frequencies harm loudspeakers and ears before they sound loud.\n",
    .n_options = sizeof options / sizeof options[0],
    .options = options,
    .run = run_field,
};
