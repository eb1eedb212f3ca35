/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A whole answer for a small room: what it may spend, where units may hang, the same twice. */
#include "../../src/plan/stage.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

static const char job_text[] =
    "job: test\nuse: music\nlowest: 50 Hz\nallowance: {mass: 150 kg, cover: 30 %, depth: 300 mm}\n"
    "absorbers:\n"
    "  front: {face: [0.6 m, 1.2 m], depth: 280 mm, mass: 38 kg, layers: [{lumped: {mass: 3.6 "
    "kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n"
    "  deep: {face: [0.6 m, 1.2 m], depth: 350 mm, mass: 48 kg, layers: [{lumped: {mass: 5 kg/m2, "
    "resonance: 45 Hz, resistance: 413 Pa.s/m}}]}\n"
    "  wool: {face: [0.6 m, 1.2 m], depth: 150 mm, mass: 11 kg, hangs: [walls, ceiling], layers: "
    "[{porous: 145 mm, resistivity: 10 kPa.s/m2}]}\n"
    "rooms:\n  - name: small\n    size: [2.6 m, 2 m, 2.3 m]\n    surfaces: {all: brick}\n"
    "    openings: [{on: wall_2, at: [0.5 m, 0 m], size: [0.8 m, 2 m], as: door}]\n"
    "    seats: [{name: seat, at: [1.5 m, 1 m, 1.2 m], zone: 0.2 m}]\n"
    "    speakers: [{name: left, at: [0.6 m, 1.5 m, 1.2 m]}, {name: right, at: [0.6 m, 0.5 m, 1.2 "
    "m]}]\n";

typedef struct scene {
    ebb_ctx *ctx;
    ebb_job *job;
    ebb_effort effort;
} scene;

static int set_up(void **state)
{
    static const ebb_effort quick = {.seed = 1, .starts = 1, .draws = 4, .swaps = 1};
    scene *s = test_malloc(sizeof *s);
    *s = (scene){.ctx = ebb_ctx_new(), .effort = quick};
    *state = s;
    return ebb_job_parse(s->ctx, job_text, strlen(job_text), "test", NULL, &s->job) != EBB_OK;
}

static int tear_down(void **state)
{
    scene *s = *state;
    ebb_job_free(s->job);
    ebb_ctx_free(s->ctx);
    test_free(s);
    return 0;
}

static ebb_answer *answer(scene *s)
{
    ebb_answer *made = NULL;
    assert_int_equal(ebb_answer_room(s->ctx, s->job, 0, &s->effort, &made), EBB_OK);
    assert_non_null(made);
    return made;
}

static ebb_block block_of(const ebb_job *job, const ebb_room *room, const ebb_placed *p)
{
    ebb_spot spot = {.surface = p->surface, .at = {p->at[0], p->at[1]}};
    ebb_placed_size(&job->absorbers[p->unit], p, spot.size);
    return ebb_spot_block(room, &spot, job->absorbers[p->unit].depth);
}

/* All corners within the box of the room. */
static bool is_inside(const ebb_room *room, const ebb_block *block)
{
    for (int i = 0; i < 8; i++) {
        double at[3] = {block->at.x, block->at.y, block->at.z};
        for (int e = 0; e < 3; e++) {
            double step = i >> e & 1 ? block->length[e] : 0;
            at[0] += step * block->way[e].x;
            at[1] += step * block->way[e].y;
            at[2] += step * block->way[e].z;
        }
        for (int d = 0; d < 3; d++)
            if (at[d] < -1e-9 || at[d] > room->size[d] + 1e-9)
                return false;
    }
    return true;
}

static void a_plan_keeps_to_its_allowance(void **state)
{
    scene *s = *state;
    ebb_answer *a = answer(s);
    const ebb_layout *layout = &a->music.after.layout;
    double mass = 0;
    assert_true(layout->n_placed > 0);
    for (size_t i = 0; i < layout->n_placed; i++) {
        mass += s->job->absorbers[layout->placed[i].unit].mass;
        assert_true(s->job->absorbers[layout->placed[i].unit].depth <= 0.3);
    }
    assert_true(fabs(layout->mass - mass) < 1e-9);
    assert_true(layout->mass <= 150 && layout->cover <= 0.30 + 1e-9);
    ebb_answer_free(a);
}

static void units_share_no_space_and_leave_the_door_free(void **state)
{
    scene *s = *state;
    const ebb_room *room = &s->job->rooms[0];
    ebb_answer *a = answer(s);
    const ebb_layout *layout = &a->music.after.layout;
    ebb_block door = {{2.6 - 0.9, 0.5, 0}, {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, {0.9, 0.8, 2}};
    for (size_t i = 0; i < layout->n_placed; i++) {
        ebb_block block = block_of(s->job, room, &layout->placed[i]);
        assert_false(ebb_blocks_meet(&block, &door));
        assert_true(is_inside(room, &block));
        for (size_t j = 0; j < i; j++) {
            ebb_block other = block_of(s->job, room, &layout->placed[j]);
            assert_false(ebb_blocks_meet(&block, &other));
        }
    }
    ebb_answer_free(a);
}

/* The room that is left is smaller by exactly the units' volume, to first order in each axis. */
static void units_take_their_depth(void **state)
{
    scene *s = *state;
    const ebb_room *room = &s->job->rooms[0];
    ebb_placed placed = {.unit = 0, .surface = ebb_room_face(room, 0, 0), .at = {0, 0}};
    ebb_layout layout = {.n_placed = 1, .placed = &placed};
    ebb_layout_count(s->job, room, &layout);
    double left = layout.size[0] * layout.size[1] * layout.size[2];
    assert_true(fabs(ebb_room_volume(room) - left - 0.6 * 1.2 * 0.28) < 1e-9);
    assert_true(layout.size[1] == room->size[1] && layout.size[2] == room->size[2]);
    assert_true(layout.mass == 38);
}

static void the_same_twice(void **state)
{
    scene *s = *state;
    ebb_answer *a = answer(s), *b = answer(s);
    assert_int_equal(a->verdict, b->verdict);
    assert_true(a->music.after.reading.wrong == b->music.after.reading.wrong);
    assert_true(a->music.odds.margin_median == b->music.odds.margin_median);
    assert_int_equal(a->music.after.layout.n_placed, b->music.after.layout.n_placed);
    for (size_t i = 0; i < a->music.after.layout.n_placed; i++)
        assert_memory_equal(a->music.after.layout.placed[i].at, b->music.after.layout.placed[i].at,
                            sizeof(double[2]));
    ebb_answer_free(a);
    ebb_answer_free(b);
}

/* Treatment is chosen for what it mends: the plan must not be worse than the bare room. */
static void a_plan_mends(void **state)
{
    ebb_answer *a = answer(*state);
    assert_true(a->music.after.reading.wrong < a->music.before.reading.wrong);
    assert_true(a->music.after.reading.worst_decay < a->music.before.reading.worst_decay);
    assert_true(a->n_reasons > 0 && a->n_stays > 0);
    assert_int_equal(a->verdict, EBB_NO); /* 12 m3 and 150 kg: nobody could */
    ebb_answer_free(a);
}

static void no_absorbers_is_an_answer_too(void **state)
{
    scene *s = *state;
    size_t kept = s->job->n_units;
    s->job->n_units = 0;
    ebb_answer *a = answer(s);
    assert_int_equal(a->music.after.layout.n_placed, 0);
    assert_int_equal(a->verdict, EBB_NO);
    ebb_answer_free(a);
    s->job->n_units = kept;
}

static void nonsense_is_refused(void **state)
{
    scene *s = *state;
    ebb_answer *a = NULL;
    assert_int_equal(ebb_answer_room(s->ctx, s->job, 7, &s->effort, &a), EBB_E_RANGE);
    assert_null(a);
    s->effort.starts = 0;
    assert_int_equal(ebb_answer_room(s->ctx, s->job, 0, &s->effort, &a), EBB_E_RANGE);
    assert_null(a);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_plan_keeps_to_its_allowance, set_up, tear_down),
        cmocka_unit_test_setup_teardown(units_share_no_space_and_leave_the_door_free, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(units_take_their_depth, set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_same_twice, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_plan_mends, set_up, tear_down),
        cmocka_unit_test_setup_teardown(no_absorbers_is_an_answer_too, set_up, tear_down),
        cmocka_unit_test_setup_teardown(nonsense_is_refused, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
