/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One draw: the room a little larger, its walls a little softer, a head a little aside.
 */
#include "vary.h"

#include <math.h>

/* The order of the deviates of a draw. */
enum { DIM_SIZE = 0, DIM_WALLS = 3, DIM_AIR = 4, DIM_MID = 5, DIM_UNITS = 6 };

void ebb_spreads_default(ebb_spreads *spreads)
{
    *spreads = (ebb_spreads){.size = 0.01,
                             .stiffness = 0.08,
                             .resistance = 0.15,
                             .walls = 0.3507, /* times or over 1.42 */
                             .place = 0.05,
                             .temperature = 2,
                             .mid = 0.1};
}

static size_t point_count(const ebb_drawing *d)
{
    return d->solved->state.n_sources + d->solved->state.n_receivers;
}

size_t ebb_draw_dims(const ebb_drawing *d)
{
    return DIM_UNITS + 2 * d->job->n_units + 3 * point_count(d);
}

ebb_unknown ebb_draw_unknown(const ebb_drawing *d, size_t dim)
{
    if (dim < DIM_WALLS)
        return EBB_UNKNOWN_SIZE;
    if (dim == DIM_WALLS)
        return EBB_UNKNOWN_WALLS;
    if (dim == DIM_AIR)
        return EBB_UNKNOWN_AIR;
    if (dim == DIM_MID)
        return EBB_UNKNOWN_MID;
    return dim < DIM_UNITS + 2 * d->job->n_units ? EBB_UNKNOWN_UNITS : EBB_UNKNOWN_PLACES;
}

/* A relative change that cannot turn negative. */
static double factor(double spread, double deviate)
{
    return exp(spread * deviate);
}

static void vary_units(const ebb_drawing *d, const double *x, ebb_variation *vary)
{
    const size_t kinds = d->job->n_units;
    vary[0] = (ebb_variation){1, 1, factor(d->spreads.walls, x[DIM_WALLS])};
    x += DIM_UNITS;
    for (size_t u = 0; u < kinds; u++)
        vary[1 + u] = (ebb_variation){factor(d->spreads.stiffness, x[u]),
                                      factor(d->spreads.resistance, x[kinds + u]), 1};
}

/* A step aside within the room. Where the walls are no box it may lead out of the air: then none is
 * taken. */
static ebb_vec3 step(const ebb_drawing *d, ebb_vec3 at, const double x[3])
{
    const double from[3] = {at.x, at.y, at.z};
    double to[3];
    for (int i = 0; i < 3; i++)
        to[i] = fmin(fmax(from[i] + d->spreads.place * x[i], 0.01), d->room->size[i] - 0.01);
    const ebb_vec3 moved = {to[0], to[1], to[2]};
    return d->room->shaped && !ebb_room_holds(d->room, moved, 0.01) ? at : moved;
}

static ebb_status read_draw(const ebb_drawing *d, ebb_arena *arena, const ebb_state *state,
                            ebb_reading *reading)
{
    const ebb_case *made = d->made;
    const double volume = ebb_layout_volume(d->room, &made->layout);
    const size_t shape[2] = {made->n_sources, made->n_receivers};
    double _Complex *h;
    ebb_modes *modes = NULL;
    ebb_status status = ebb_solved_read(NULL, arena, d->solved->small, d->solved, state,
                                        &made->grid, made->modes, shape, &h, &modes);
    if (status == EBB_OK)
        status = ebb_reading_make(NULL, arena, &made->grid, d->limits, made->use, volume, shape[0],
                                  shape[1], h, modes, reading);
    ebb_modes_free(modes);
    return status;
}

static void judge(const ebb_drawing *d, const ebb_reading *reading, const ebb_mid *mid,
                  ebb_drawn *drawn)
{
    const double volume = ebb_layout_volume(d->room, &d->made->layout);
    const bool mid_right = ebb_mid_is_right(d->limits, d->made->use, volume, mid);
    *drawn = (ebb_drawn){.right = reading->right && mid_right,
                         .reading_right = reading->right,
                         .mid_right = mid_right,
                         .inside = reading->inside,
                         .worst_level = reading->worst_level,
                         .worst_decay = reading->worst_decay,
                         .wrong = reading->wrong,
                         .margin = reading->margin,
                         .speech_index = mid->speech_index};
}

void ebb_draw_nominal(const ebb_drawing *d, ebb_drawn *drawn)
{
    judge(d, &d->made->reading, &d->made->mid, drawn);
}

/* The middle band with a little more or less absorption everywhere. */
static ebb_mid vary_mid(const ebb_drawing *d, double deviate)
{
    ebb_mid mid = d->made->mid;
    for (int o = 0; o < EBB_OCTAVES; o++)
        mid.t60[o] /= factor(d->spreads.mid, deviate);
    mid.speech_index = ebb_speech_index(mid.t60, INFINITY);
    return mid;
}

ebb_status ebb_draw_one(const ebb_drawing *d, const double *x, ebb_drawn *drawn)
{
    const size_t kinds = d->job->n_units, n_points = point_count(d);
    ebb_arena *arena = ebb_arena_new(NULL);
    ebb_variation *vary = EBB_NEW(arena, ebb_variation, 1 + kinds);
    ebb_vec3 *points = EBB_NEW(arena, ebb_vec3, n_points);
    ebb_status status = vary && points ? EBB_OK : EBB_E_NOMEM;
    if (status == EBB_OK) {
        vary_units(d, x, vary);
        for (size_t i = 0; i < n_points; i++)
            points[i] = step(d, d->solved->points[i], x + DIM_UNITS + 2 * kinds + 3 * i);
        ebb_state state = d->solved->state;
        for (int axis = 0; axis < 3; axis++)
            state.scale[axis] *= factor(d->spreads.size, x[DIM_SIZE + axis]);
        const double kelvin = d->job->air.temperature + 273.15;
        state.air.speed *= sqrt((kelvin + d->spreads.temperature * x[DIM_AIR]) / kelvin);
        state.n_vary = 1 + kinds;
        state.vary = vary;
        state.sources = points;
        state.receivers = points + state.n_sources;
        ebb_reading reading;
        status = read_draw(d, arena, &state, &reading);
        const ebb_mid mid = vary_mid(d, x[DIM_MID]);
        if (status == EBB_OK)
            judge(d, &reading, &mid, drawn);
    }
    ebb_arena_free(arena);
    return status;
}
