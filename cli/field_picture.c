/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The picture of `ebb field`: which mode it is, at which points of the cut, and what is said of it.
 * The values come from field_values.c, the drawing from the library.
 */
#include "field_paint.h"

#include <ebb/draw.h>

#include <math.h>

#define POINTS 40         /* along the longer side of the cut, at least */
#define MOST_POINTS 200   /* along one side */
#define PER_WAVELENGTH 10 /* points */
#define FAINT 0.3         /* of the largest pressure, below which a cut is said to be poor */

/* ---- where ----------------------------------------------------------------------------------- */

static ebb_vec3 point_of(const double at[3])
{
    return (ebb_vec3){at[0], at[1], at[2]};
}

/* Fine enough for the frequency, and for the field of a speaker. */
static void choose_points(field_painter *p)
{
    const field_task *task = p->task;
    const double *size = task->room->size;
    const double wave = task->job->air.speed / p->hz;
    const double longer = fmax(size[p->axis[0]], size[p->axis[1]]);
    const double step = fmin(longer / POINTS, wave / PER_WAVELENGTH);
    for (int d = 0; d < 2; d++) {
        const double n = ceil(size[p->axis[d]] / step) + 1;
        p->n[d] = (size_t)fmin(fmax(n, 8), MOST_POINTS);
    }
}

/* The points of the cut that lie in the room. */
static bool lay_cut(field_painter *p)
{
    const field_task *task = p->task;
    const ebb_room *room = task->room;
    const size_t most = p->n[0] * p->n[1];
    p->cell = EBB_NEW(p->run->arena, size_t, most);
    if (p->cell == NULL || !cli_field_spots(p->run->arena, most, &p->cut))
        return false;
    for (size_t k = 0; k < most; k++) {
        const size_t i[2] = {k % p->n[0], k / p->n[0]};
        double at[3];
        at[task->picture.axis] = task->picture.at;
        for (int d = 0; d < 2; d++)
            at[p->axis[d]] = room->size[p->axis[d]] * (double)i[d] / (double)(p->n[d] - 1);
        if (ebb_room_holds(room, point_of(at), 0)) {
            p->cell[p->cut.n] = k;
            p->cut.at[p->cut.n++] = point_of(at);
        }
    }
    return true;
}

/* ---- which mode ------------------------------------------------------------------------------ */

/* Numbers count from 0 Hz, as in the list that is printed. */
static int find_rigid(field_painter *p)
{
    size_t n, last = 0;
    const double *hz = ebb_reduced_rigid(p->result->reduced, &n, NULL);
    while (last + 1 < n && hz[last + 1] <= p->task->to)
        last++;
    p->mode = p->task->picture.mode;
    p->hz = hz[p->mode <= last ? p->mode : last];
    if (p->mode <= last)
        return CLI_DONE;
    if (last == 0)
        cli_error(p->run, "there is no rigid-wall mode up to %g Hz", p->task->to);
    else
        cli_error(p->run,
                  "there is no rigid-wall mode %zu up to %g Hz: the last is %zu at %.2f Hz; --to "
                  "goes further",
                  p->mode, p->task->to, last, hz[last]);
    return CLI_INPUT;
}

static int find_damped(field_painter *p)
{
    const ebb_modes *modes = p->result->modes;
    const double hz = p->task->picture.hz;
    for (size_t i = 1; i < modes->n; i++)
        if (fabs(modes->mode[i].hz - hz) < fabs(modes->mode[p->mode].hz - hz))
            p->mode = i;
    p->hz = modes->n > 0 ? modes->mode[p->mode].hz : hz;
    if (modes->n > 0)
        return CLI_DONE;
    cli_error(p->run, "there is no damped mode from %g Hz to %g Hz", p->task->from, p->task->to);
    return CLI_INPUT;
}

/* ---- words ----------------------------------------------------------------------------------- */

static const char *label_text(ebb_arena *arena, const int label[3])
{
    return label[1] < 0 ? ebb_arena_format(arena, "%d", label[0])
                        : ebb_arena_format(arena, "%d %d %d", label[0], label[1], label[2]);
}

/* A cut along a node looks empty, and should say that the mode is not. */
static const char *if_faint(const field_painter *p)
{
    const double most = cli_field_largest(&p->cut);
    return most > FAINT ? ""
                        : ebb_arena_format(p->run->arena,
                                           " On this cut there is no more than %.2g of the largest "
                                           "pressure: others show more.",
                                           most);
}

static void name_rigid(const field_painter *p, ebb_field_map *map)
{
    size_t n;
    const int *label;
    ebb_arena *arena = p->run->arena;
    const double *hz = ebb_reduced_rigid(p->result->reduced, &n, &label);
    map->title = ebb_arena_format(arena, "%s: rigid-wall mode %zu, %.2f Hz", p->task->room->name,
                                  p->mode, hz[p->mode]);
    const char *waves =
        p->task->room->shaped
            ? ""
            : ebb_arena_format(arena, " Half-waves along length, width and height: %s.",
                               label_text(arena, label + 3 * p->mode));
    map->note = ebb_arena_format(arena, "Pressure with rigid walls.%s%s", waves, if_faint(p));
}

static void name_damped(const field_painter *p, ebb_field_map *map)
{
    ebb_arena *arena = p->run->arena;
    const ebb_mode *m = &p->result->modes->mode[p->mode];
    map->title = ebb_arena_format(arena, "%s: damped mode at %.2f Hz, T60 %.2f s",
                                  p->task->room->name, m->hz, m->t60);
    map->note = ebb_arena_format(arena,
                                 "Pressure at the moment when there is most of it. Most like "
                                 "rigid-wall mode %s (%.0f %%).%s",
                                 label_text(arena, m->label), 100 * m->likeness, if_faint(p));
}

static void name_pressure(const field_painter *p, ebb_field_map *map)
{
    const field_picture *picture = &p->task->picture;
    const ebb_room *room = p->task->room;
    ebb_arena *arena = p->run->arena;
    char beside[32];
    const char *who =
        p->task->speaker != NULL
            ? ebb_arena_format(arena, "speaker %s alone", room->speakers[picture->first].name)
            : "all speakers in phase";
    map->title =
        ebb_arena_format(arena, "%s: pressure at %.5g Hz, %s", room->name, picture->hz, who);
    ebb_quantity_print(EBB_Q_LENGTH, CLI_FIELD_BESIDE, map->units, beside, sizeof beside);
    map->note = ebb_arena_format(
        arena, "Loudest: of the points of this cut that are %s or more from a speaker.", beside);
}

/* ---- the picture ----------------------------------------------------------------------------- */

/* Values of the cut at their places in the whole grid, the rest of which lies outside. */
static const double *on_grid(const field_painter *p, const double *value)
{
    const size_t n = p->n[0] * p->n[1];
    double *grid = EBB_NEW(p->run->arena, double, n);
    for (size_t i = 0; i < n && grid != NULL; i++)
        grid[i] = NAN;
    for (size_t i = 0; i < p->cut.n && grid != NULL; i++)
        grid[p->cell[i]] = value[i];
    return grid;
}

static int draw(field_painter *p)
{
    const field_picture *picture = &p->task->picture;
    const bool pressure = picture->shown == FIELD_PRESSURE;
    ebb_field_map map = {.room = p->task->room,
                         .axis = picture->axis,
                         .at = picture->at,
                         .n = {p->n[0], p->n[1]},
                         .value = on_grid(p, p->cut.value),
                         .imaginary = pressure ? on_grid(p, p->imaginary) : NULL,
                         .loudest = p->loudest,
                         .units = p->task->units};
    if (pressure)
        name_pressure(p, &map);
    else if (picture->shown == FIELD_RIGID_MODE)
        name_rigid(p, &map);
    else
        name_damped(p, &map);
    if (map.value == NULL || (pressure && map.imaginary == NULL) || map.title == NULL ||
        map.note == NULL)
        return cli_status(ebb_fail(p->run->ctx, EBB_E_NOMEM, "no memory for the picture"));
    return cli_status(ebb_field_file(p->run->ctx, picture->file, &map));
}

int cli_field_picture(cli_run *run, const field_task *task, const field_result *result)
{
    field_painter p = {.run = run, .task = task, .result = result, .hz = task->picture.hz};
    if (task->picture.file == NULL)
        return CLI_DONE;
    p.axis[0] = task->picture.axis == 0 ? 1 : 0;
    p.axis[1] = task->picture.axis == 2 ? 1 : 2;
    int status = CLI_DONE;
    if (task->picture.shown == FIELD_RIGID_MODE)
        status = find_rigid(&p);
    else if (task->picture.shown == FIELD_DAMPED_MODE)
        status = find_damped(&p);
    if (status != CLI_DONE)
        return status;
    choose_points(&p);
    if (!lay_cut(&p))
        return cli_status(ebb_fail(run->ctx, EBB_E_NOMEM, "no memory for the picture"));
    if (p.cut.n == 0) {
        cli_error(run, "the cut goes through no air of room \"%s\"", task->room->name);
        return CLI_INPUT;
    }
    ebb_progress(run->ctx, "drawing the picture", 0.9);
    status = cli_status(task->picture.shown == FIELD_PRESSURE ? cli_field_pressure_values(&p)
                                                              : cli_field_mode_values(&p));
    return status == CLI_DONE ? draw(&p) : status;
}
