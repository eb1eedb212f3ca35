/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * rooms.h - a small room with units, seat and speakers for the tests of the planner. Include after
 * cmocka.h.
 */
#ifndef ROOMS_H
#define ROOMS_H

#include "../../src/plan/climb.h"

#include <complex.h>
#include <math.h>
#include <string.h>

#include "../expect.h"

#define PI 3.14159265358979323846

/* 12 m3 with its corner away from the origin of the job, a door in wall_2, a window in wall_1. */
static const char room_text[] =
    "job: test\nuse: music\nlowest: 50 Hz\n"
    "absorbers:\n"
    "  front: {face: [0.6 m, 1.1 m], depth: 280 mm, mass: 38 kg, cost: 400, layers: [{lumped: "
    "{mass: 3.6 kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n"
    "  wool: {face: [0.6 m, 1.1 m], depth: 150 mm, mass: 11 kg, cost: 120, hangs: [walls, "
    "ceiling], layers: [{porous: 145 mm, resistivity: 10 kPa.s/m2}]}\n"
    "rooms:\n"
    "  - name: small\n"
    "    plan: [[10 m, 5 m], [12.6 m, 5 m], [12.6 m, 7 m], [10 m, 7 m]]\n"
    "    ceiling: 2.3 m\n"
    "    surfaces: {all: brick}\n"
    "    openings:\n"
    "      - {on: wall_2, at: [0.5 m, 0 m], size: [0.8 m, 2 m], as: door}\n"
    "      - {on: wall_1, at: [0.8 m, 1 m], size: [0.9 m, 0.8 m], as: window}\n"
    "    seats: [{name: seat, at: [11.5 m, 6 m, 1.2 m], zone: 0.2 m}]\n"
    "    speakers:\n"
    "      - {name: left, at: [10.6 m, 6.5 m, 1.2 m], zone: 0.1 m}\n"
    "      - {name: right, at: [10.6 m, 5.5 m, 1.2 m], zone: 0.1 m}\n";

enum { FRONT, WOOL };

typedef struct scene {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_job *job;
    ebb_room *room;
    ebb_limits limits;
    ebb_stations stations;
    ebb_spots spots;
} scene;

static int set_up_scene(void **state)
{
    scene *s = test_calloc(1, sizeof *s);
    *state = s;
    s->ctx = ebb_ctx_new();
    s->arena = ebb_arena_new(s->ctx);
    assert_ok(s->ctx, ebb_job_parse(s->ctx, room_text, strlen(room_text), "test", NULL, &s->job));
    s->room = &s->job->rooms[0];
    ebb_limits_of(s->job, &s->limits);
    return 0;
}

static int tear_down_scene(void **state)
{
    scene *s = *state;
    ebb_job_free(s->job);
    ebb_arena_free(s->arena);
    ebb_ctx_free(s->ctx);
    test_free(s);
    return 0;
}

static inline void make_stations(scene *s, ebb_use use)
{
    assert_ok(s->ctx,
              ebb_stations_make(s->ctx, s->arena, s->job, s->room, &s->limits, use, &s->stations));
}

static inline void make_spots(scene *s)
{
    assert_ok(s->ctx, ebb_spots_make(s->ctx, s->arena, s->job, s->room, &s->spots));
}

#endif
