/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A rectangular room and units of any size put up in it by hand. Include after cmocka.h. */
#ifndef TESTS_VERIFY_HANGAR_H
#define TESTS_VERIFY_HANGAR_H

#include <ebb/verify.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../expect.h"

#define MOST_UNITS 8

/* 2.6 x 2 x 2.3 m with its corner away from the origin of the job. wall_1 runs along x from
 * (10, 5), wall_2 along y at x = 12.6, wall_3 back along x at y = 7, wall_4 back along y. */
static const char hangar_text[] =
    "job: test\nuse: music\nlowest: 50 Hz\n"
    "absorbers:\n"
    "  front: {face: [0.6 m, 1.1 m], depth: 280 mm, mass: 38 kg, cost: 400, hangs: [walls, "
    "ceiling], layers: [{lumped: {mass: 3.6 kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n"
    "rooms:\n"
    "  - name: small\n"
    "    plan: [[10 m, 5 m], [12.6 m, 5 m], [12.6 m, 7 m], [10 m, 7 m]]\n"
    "    ceiling: 2.3 m\n"
    "    surfaces: {all: brick}\n"
    "    openings:\n"
    "      - {on: wall_2, at: [0.5 m, 0 m], size: [0.8 m, 2 m], as: door}\n"
    "    seats: [{name: seat, at: [11.5 m, 6 m, 1.2 m], zone: 0 m}]\n"
    "    speakers: [{name: left, at: [10.6 m, 6.5 m, 1.2 m], zone: 0 m}]\n";

enum { FLOOR, CEILING, WALL_1, WALL_2, WALL_3, WALL_4 };

typedef struct hangar {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_job *job;
    ebb_room *room;
    size_t n;
    ebb_unit unit[MOST_UNITS];
    ebb_placed placed[MOST_UNITS];
    ebb_bodies bodies;
} hangar;

static int open_hangar(void **state)
{
    hangar *h = calloc(1, sizeof *h);
    *state = h;
    h->ctx = ebb_ctx_new();
    h->arena = ebb_arena_new(h->ctx);
    assert_ok(h->ctx,
              ebb_job_parse(h->ctx, hangar_text, strlen(hangar_text), "test", NULL, &h->job));
    h->room = &h->job->rooms[0];
    return 0;
}

static int close_hangar(void **state)
{
    hangar *h = *state;
    h->job->n_units = 1; /* as it was read */
    ebb_job_free(h->job);
    ebb_arena_free(h->arena);
    ebb_ctx_free(h->ctx);
    free(h);
    return 0;
}

#define HANGAR_TEST(name) cmocka_unit_test_setup_teardown(name, open_hangar, close_hangar)

/* Puts up a unit of its own size. */
static inline void hang(hangar *h, size_t surface, double along, double up, double width,
                        double height, double depth)
{
    assert_true(h->n < MOST_UNITS);
    h->unit[h->n] = h->job->absorbers[0];
    h->unit[h->n].face[0] = width;
    h->unit[h->n].face[1] = height;
    h->unit[h->n].depth = depth;
    h->placed[h->n] = (ebb_placed){h->n, surface, {along, up}, false};
    h->n++;
}

/* The job with the units that were put up; borrowed from the hangar. */
static inline ebb_job hangar_job(const hangar *h)
{
    ebb_job job = *h->job;
    job.n_units = h->n;
    job.absorbers = (ebb_unit *)h->unit;
    return job;
}

#endif
