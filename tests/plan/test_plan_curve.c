/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The curve of wrong share against units: its ends are the answer's, its steps are possible. */
#include "../../src/plan/stage.h"

#include <ebb/reach.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

static const char job_text[] =
    "job: test\nuse: music\nlowest: 50 Hz\nallowance: {mass: 150 kg, cover: 30 %, depth: 300 mm}\n"
    "absorbers:\n"
    "  front: {face: [0.6 m, 1.2 m], depth: 280 mm, mass: 38 kg, cost: 400, layers: [{lumped: "
    "{mass: 3.6 kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n"
    "  deep: {face: [0.6 m, 1.2 m], depth: 350 mm, mass: 48 kg, layers: [{lumped: {mass: 5 kg/m2, "
    "resonance: 45 Hz, resistance: 413 Pa.s/m}}]}\n"
    "  wool: {face: [0.6 m, 1.2 m], depth: 150 mm, mass: 11 kg, cost: 120, hangs: [walls, "
    "ceiling], layers: [{porous: 145 mm, resistivity: 10 kPa.s/m2}]}\n"
    "rooms:\n  - name: small\n    size: [2.6 m, 2 m, 2.3 m]\n    surfaces: {all: brick}\n"
    "    openings: [{on: wall_2, at: [0.5 m, 0 m], size: [0.8 m, 2 m], as: door}]\n"
    "    seats: [{name: seat, at: [1.5 m, 1 m, 1.2 m], zone: 0.2 m}]\n"
    "    speakers: [{name: left, at: [0.6 m, 1.5 m, 1.2 m]}, {name: right, at: [0.6 m, 0.5 m, 1.2 "
    "m]}]\n";

enum { FRONT, DEEP, WOOL };

typedef struct scene {
    ebb_ctx *ctx;
    ebb_job *job;
    ebb_effort effort;
    ebb_answer *answer;
    ebb_curve *curve;
} scene;

static int set_up(void **state)
{
    static const ebb_effort quick = {.seed = 1, .starts = 1, .swaps = 1};
    scene *s = test_calloc(1, sizeof *s);
    *s = (scene){.ctx = ebb_ctx_new(), .effort = quick};
    *state = s;
    return ebb_job_parse(s->ctx, job_text, strlen(job_text), "test", NULL, &s->job) != EBB_OK ||
           ebb_answer_room(s->ctx, s->job, 0, &s->effort, &s->answer) != EBB_OK ||
           ebb_plan_curve(s->ctx, s->answer, &s->answer->music, &s->effort, &s->curve) != EBB_OK;
}

static int tear_down(void **state)
{
    scene *s = *state;
    ebb_curve_free(s->curve);
    ebb_answer_free(s->answer);
    ebb_job_free(s->job);
    ebb_ctx_free(s->ctx);
    test_free(s);
    return 0;
}

static void both_ends_are_the_answers(void **state)
{
    const scene *s = *state;
    const ebb_curve *c = s->curve;
    const ebb_case *after = &s->answer->music.after;
    assert_true(c->n > 3); /* there is a plan to speak of */
    assert_int_equal(c->n, after->layout.n_placed + 1);
    assert_true(c->point[0].wrong == s->answer->music.before.reading.wrong);
    assert_true(c->point[c->n - 1].wrong == after->reading.wrong);
    assert_true(c->point[c->n - 1].mass == after->layout.mass);
    assert_true(c->point[0].mass == 0);
    assert_true(c->point[0].wrong > after->reading.wrong);
}

/* Number, weight and money of every point are those of its layout. */
static void every_point_counts_its_units(void **state)
{
    const scene *s = *state;
    for (size_t i = 0; i < s->curve->n; i++) {
        const ebb_curve_point *p = &s->curve->point[i];
        double mass = 0, cost = 0;
        assert_int_equal(p->n, i);
        assert_int_equal(p->layout.n_placed, i);
        for (size_t u = 0; u < i; u++) {
            mass += s->job->absorbers[p->layout.placed[u].unit].mass;
            cost += s->job->absorbers[p->layout.placed[u].unit].cost;
        }
        assert_true(fabs(p->mass - mass) < 1e-9 && fabs(p->cost - cost) < 1e-9);
        assert_true(p->wrong >= 0 && p->wrong <= 1);
    }
}

/* A point solved again by itself. */
static void every_point_is_solved_truly(void **state)
{
    scene *s = *state;
    ebb_curve_point *p = &s->curve->point[2];
    ebb_arena *arena = ebb_arena_new(s->ctx);
    ebb_stations stations;
    const ebb_room *room = s->answer->room;
    assert_int_equal(ebb_stations_make(s->ctx, arena, s->job, room, &s->answer->limits,
                                       EBB_USE_MUSIC, &stations),
                     EBB_OK);
    size_t option[2] = {0, 0};
    while (stations.seat_at[option[1]].x != p->layout.seats[0].x ||
           stations.seat_at[option[1]].y != p->layout.seats[0].y)
        assert_true(++option[1] < stations.receiver_options);
    while (stations.speaker_at[2 * option[0]].y != p->layout.speakers[0].y)
        assert_true(++option[0] < stations.source_options);
    ebb_case made = {0};
    assert_int_equal(ebb_case_make(s->ctx, arena, s->job, room, &s->answer->limits, &stations,
                                   option, &p->layout, &made, NULL),
                     EBB_OK);
    assert_true(fabs(made.reading.wrong - p->wrong) < 1e-12);
    ebb_modes_free(made.modes);
    ebb_arena_free(arena);
}

/* After `enough` no unit mends its share of the whole; the one at `enough` does. */
static void enough_is_where_the_return_falls_off(void **state)
{
    const scene *s = *state;
    const ebb_curve *c = s->curve;
    double least = 1;
    for (size_t i = 0; i < c->n; i++)
        least = fmin(least, c->point[i].wrong);
    double share = EBB_CURVE_SHARE * (c->point[0].wrong - least);
    assert_true(c->enough > 0 && c->enough < c->n);
    assert_true(c->point[c->enough - 1].wrong - c->point[c->enough].wrong >= share);
    for (size_t i = c->enough + 1; i < c->n; i++)
        assert_true(c->point[i - 1].wrong - c->point[i].wrong < share);
}

static void the_next_unit_is_asked_of_every_kind(void **state)
{
    const scene *s = *state;
    const ebb_curve *c = s->curve;
    const double from = c->point[c->enough].wrong;
    unsigned seen = 0;
    assert_int_equal(c->n_next, 3);
    for (size_t i = 0; i < 3; i++) {
        const ebb_curve_next *next = &c->next[i];
        seen |= 1u << next->unit;
        assert_int_equal(next->fits, next->unit != DEEP); /* too deep for the allowance */
        if (next->fits)
            assert_true(fabs(from - next->wrong - next->mended) < 1e-12);
        if (i > 0 && next->fits)
            assert_true(c->next[i - 1].mended >= next->mended);
    }
    assert_int_equal(seen, 7);
    assert_non_null(strstr(c->sentence, "unit"));
}

static void a_use_without_a_plan_is_refused(void **state)
{
    scene *s = *state;
    ebb_treatment none = {.asked = false};
    ebb_curve *curve = NULL;
    assert_int_equal(ebb_plan_curve(s->ctx, s->answer, &none, &s->effort, &curve), EBB_E_RANGE);
    assert_null(curve);
}

static void a_plan_of_another_room_is_refused(void **state)
{
    scene *s = *state;
    ebb_treatment other = s->answer->music;
    ebb_placed moved[16];
    assert_true(other.after.layout.n_placed <= 16);
    memcpy(moved, other.after.layout.placed, other.after.layout.n_placed * sizeof *moved);
    moved[0].at[0] += 0.017;
    other.after.layout.placed = moved;
    ebb_curve *curve = NULL;
    assert_int_equal(ebb_plan_curve(s->ctx, s->answer, &other, &s->effort, &curve), EBB_E_RANGE);
    assert_null(curve);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(both_ends_are_the_answers),
        cmocka_unit_test(every_point_counts_its_units),
        cmocka_unit_test(every_point_is_solved_truly),
        cmocka_unit_test(enough_is_where_the_return_falls_off),
        cmocka_unit_test(the_next_unit_is_asked_of_every_kind),
        cmocka_unit_test(a_use_without_a_plan_is_refused),
        cmocka_unit_test(a_plan_of_another_room_is_refused),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
