/* SPDX-License-Identifier: GPL-3.0-or-later */
/* scene.h - a hand-made room, its modes and limits for the tests of the judge module. */
#ifndef SCENE_H
#define SCENE_H

#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include <ebb/judge.h>

#define NONE ((size_t)-1)
static const double pi = 3.14159265358979323846;

static inline void assert_near(double got, double wanted, double tolerance)
{
    if (!(fabs(got - wanted) <= tolerance))
        fail_msg("wanted %.12g, got %.12g, difference %.3g > %.3g", wanted, got, got - wanted,
                 tolerance);
}

/* Limits like those of the default table, kept apart from it so that these tests stand alone. */
static inline ebb_limits plain_limits(void)
{
    return (ebb_limits){.response_deviation = 3,
                        .response_worst = 5,
                        .response_inside = 0.9,
                        .response_highest = 200,
                        .decay_factor = 1.25,
                        .decay_highest = 125,
                        .decay_music_32 = 0.9,
                        .decay_music_63 = 0.51,
                        .decay_music_250 = 0.12,
                        .spread = 6,
                        .head_offset = 0.3,
                        .voice_lowest = 80,
                        .voice_mic = 0.3,
                        .voice_listener = 1.1,
                        .voice_move = 0.25,
                        .speech_index = 0.6,
                        .mid_upper = 1.2,
                        .mid_lower = 0.8};
}

/* Two speakers, two seats in a box of 5 x 4 x 3 m. Fixed arrays, no allocation. */
typedef struct stage {
    ebb_job job;
    ebb_room room;
    ebb_surface surfaces[6];
    ebb_limits limits;
    ebb_grid grid;
    ebb_mode mode[24];
    double _Complex residue[24 * 4];
    ebb_modes modes;
    ebb_mid mid;
    const char *sources[2], *receivers[2];
    ebb_vec3 source_at[2], receiver_at[2];
    double level[4 * 160], mean[4], decay[4 * 16], decay_limit[16];
    ebb_reading reading;
    ebb_scene scene;
} stage;

static inline void stage_surface(stage *s, size_t i, const char *name, int axis, int side)
{
    strcpy(s->surfaces[i].name, name);
    ebb_surface *made = &s->surfaces[i];
    const double out = side ? 1 : -1;
    made->axis = axis;
    made->side = side;
    made->normal = (ebb_vec3){axis == 0 ? out : 0, axis == 1 ? out : 0, axis == 2 ? out : 0};
    made->origin =
        (ebb_vec3){axis == 0 && side ? s->room.size[0] : 0, axis == 1 && side ? s->room.size[1] : 0,
                   axis == 2 && side ? s->room.size[2] : 0};
}

/* Where the surfaces of a box of the room's size lie: again after another size. */
static inline void stage_surfaces(stage *s)
{
    stage_surface(s, 0, "floor", 2, 0);
    stage_surface(s, 1, "ceiling", 2, 1);
    stage_surface(s, 2, "wall_1", 1, 0);
    stage_surface(s, 3, "wall_2", 0, 1);
    stage_surface(s, 4, "wall_3", 1, 1);
    stage_surface(s, 5, "wall_4", 0, 0);
}

static inline void stage_room(stage *s)
{
    s->room =
        (ebb_room){.name = "box", .size = {5, 4, 3}, .n_surfaces = 6, .surfaces = s->surfaces};
    stage_surfaces(s);
    s->job.air.speed = 343;
    s->job.air.density = 1.2;
    s->job.units = EBB_UNITS_METRIC;
}

/* A stage with a quiet reading: no level off, no mode, no decay. */
static inline void stage_make(stage *s, size_t n_sources, size_t n_receivers)
{
    memset(s, 0, sizeof *s);
    stage_room(s);
    s->limits = plain_limits();
    ebb_grid_make(&s->limits, 40, &s->grid);
    s->sources[0] = "left", s->sources[1] = "right";
    s->receivers[0] = "lead", s->receivers[1] = "guest";
    s->source_at[0] = (ebb_vec3){0.5, 0.6, 1.1}, s->source_at[1] = (ebb_vec3){0.5, 3.4, 1.1};
    s->receiver_at[0] = (ebb_vec3){3.1, 1.7, 1.2}, s->receiver_at[1] = (ebb_vec3){3.1, 2.9, 1.2};
    s->modes = (ebb_modes){
        .mode = s->mode, .n_sources = n_sources, .n_receivers = n_receivers, .residue = s->residue};
    size_t paths = n_sources * n_receivers;
    s->reading = (ebb_reading){.n_paths = paths,
                               .n_sources = n_sources,
                               .n_receivers = n_receivers,
                               .level = s->level,
                               .mean = s->mean,
                               .decay = s->decay,
                               .decay_limit = s->decay_limit};
    for (size_t b = 0; b < s->grid.n_bands; b++) {
        s->decay_limit[b] = ebb_decay_limit(&s->limits, EBB_USE_MUSIC, 60, s->grid.band_hz[b]);
        for (size_t p = 0; p < paths; p++)
            s->decay[p * s->grid.n_bands + b] = NAN;
    }
    s->scene = (ebb_scene){.job = &s->job,
                           .room = &s->room,
                           .grid = &s->grid,
                           .limits = &s->limits,
                           .use = EBB_USE_MUSIC,
                           .modes = &s->modes,
                           .n_sources = n_sources,
                           .n_receivers = n_receivers,
                           .source_names = s->sources,
                           .receiver_names = s->receivers,
                           .sources = s->source_at,
                           .receivers = s->receiver_at};
}

static inline double shape_at(const stage *s, const int label[3], ebb_vec3 at)
{
    return cos(label[0] * pi * at.x / s->room.size[0]) *
           cos(label[1] * pi * at.y / s->room.size[1]) *
           cos(label[2] * pi * at.z / s->room.size[2]);
}

/* Adds the box mode with these half waves; call with rising frequency. Residue from the mode sum
 * of a box with rigid walls and light damping. */
static inline void stage_mode(stage *s, int nx, int ny, int nz, double t60)
{
    size_t m = s->modes.n++;
    int label[3] = {nx, ny, nz};
    double f = hypot(hypot(nx / s->room.size[0], ny / s->room.size[1]), nz / s->room.size[2]) *
               s->job.air.speed / 2;
    double delta = 3 * log(10) / t60;
    s->mode[m] = (ebb_mode){.hz = f,
                            .delta = delta,
                            .t60 = t60,
                            .q = pi * f / delta,
                            .share = 1,
                            .label = {nx, ny, nz},
                            .likeness = 1};
    for (size_t k = 0; k < s->modes.n_sources; k++)
        for (size_t r = 0; r < s->modes.n_receivers; r++)
            s->residue[(m * s->modes.n_sources + k) * s->modes.n_receivers + r] =
                1000 * shape_at(s, label, s->source_at[k]) * shape_at(s, label, s->receiver_at[r]);
}

/* The first twelve or so modes of the box, one decay time for all. */
static inline void stage_box_modes(stage *s, double t60)
{
    stage_mode(s, 1, 0, 0, t60); /* 34.3 Hz */
    stage_mode(s, 0, 1, 0, t60); /* 42.9 */
    stage_mode(s, 1, 1, 0, t60); /* 54.9 */
    stage_mode(s, 0, 0, 1, t60); /* 57.2 */
    stage_mode(s, 1, 0, 1, t60); /* 66.7 */
    stage_mode(s, 2, 0, 0, t60); /* 68.6 */
    stage_mode(s, 0, 1, 1, t60); /* 71.5 */
    stage_mode(s, 1, 1, 1, t60); /* 79.3 */
    stage_mode(s, 2, 1, 0, t60); /* 80.9 */
    stage_mode(s, 0, 2, 0, t60); /* 85.8 */
    stage_mode(s, 2, 0, 1, t60); /* 89.3 */
    stage_mode(s, 1, 2, 0, t60); /* 92.4 */
}

/* Response of the staged modes on the grid, one path. */
static inline void stage_response(const stage *s, size_t path, double _Complex *h)
{
    size_t paths = s->modes.n_sources * s->modes.n_receivers;
    for (size_t f = 0; f < s->grid.n_hz; f++) {
        double _Complex jw = 2 * pi * I * s->grid.hz[f], sum = 0;
        for (size_t m = 0; m < s->modes.n; m++) {
            double _Complex pole = -s->mode[m].delta + 2 * pi * I * s->mode[m].hz;
            double _Complex r = s->residue[m * paths + path];
            sum += r / (jw - pole) + conj(r) / (jw - conj(pole));
        }
        h[f] = sum;
    }
}

/* Deterministic numbers in (0, 1) for property tests. */
static inline double uniform(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return ((double)(*state >> 8) + 0.5) / 16777216.0;
}

/* An allocator that fails at its nth call and counts what is still held. */
typedef struct failing {
    size_t left; /* calls that succeed */
    long held;
    bool hit;
} failing;

static inline void *failing_resize(void *user, void *pointer, size_t size)
{
    failing *f = user;
    if (size == 0) {
        f->held -= pointer != NULL;
        free(pointer);
        return NULL;
    }
    if (f->left == 0) {
        f->hit = true;
        return NULL;
    }
    f->left--;
    void *fresh = realloc(pointer, size);
    f->held += fresh && !pointer;
    return fresh;
}

#endif
