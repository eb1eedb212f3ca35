/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The map over dimensions: against the same room judged alone, and what must not change. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/plan/remap.h"

#include <math.h>
#include <string.h>

static const char *const text =
    "job: test\nuse: music\nlowest: 40 Hz\nrooms:\n"
    "  - name: room\n    size: [3.6 m, 2.8 m, 2.4 m]\n"
    "    surfaces: {all: brick, floor: timber-floor}\n"
    "    openings: [{on: wall_1, at: [2.5 m, 0 m], size: [0.9 m, 2.0 m], as: door}]\n"
    "    seats: [{name: lead, at: [2.2 m, 1.4 m, 1.2 m], zone: 0.3 m}]\n"
    "    speakers: [{name: left, at: [0.6 m, 0.8 m, 1.2 m]}, {name: right, at: [0.6 m, 2.0 m, 1.2 "
    "m]}]\n"
    "    may_change: {length: [3.2 m, 4.0 m], height: [2.3 m, 2.5 m]}\n";

typedef struct rig {
    ebb_ctx *ctx;
    ebb_job *job;
} rig;

static int set_up(void **state)
{
    static rig r;
    r = (rig){.ctx = ebb_ctx_new()};
    if (ebb_job_parse(r.ctx, text, strlen(text), "test", NULL, &r.job) != EBB_OK)
        fail_msg("%s", ebb_ctx_message(r.ctx, 0)->text);
    *state = &r;
    return 0;
}

static int tear_down(void **state)
{
    rig *r = *state;
    ebb_job_free(r->job);
    ebb_ctx_free(r->ctx);
    return 0;
}

static ebb_reshaped *mapped(rig *r, size_t most)
{
    ebb_reshape_effort effort;
    ebb_reshaped *map = NULL;
    ebb_reshape_default(&effort);
    effort.most = most;
    effort.treated = 0;
    if (ebb_reshape(r->ctx, r->job, 0, &effort, &map) != EBB_OK)
        fail_msg("%s", ebb_ctx_message(r->ctx, 0)->text);
    return map;
}

static void the_map_covers_the_limits(void **state)
{
    ebb_reshaped *map = mapped(*state, 40);
    assert_true(map->n[0] * map->n[1] * map->n[2] <= 40);
    assert_true(map->n[0] > 1 && map->n[2] > 1);
    assert_int_equal(map->n[1], 1);
    assert_true(fabs(map->value[0][0] - 3.2) < 1e-12);
    assert_true(fabs(map->value[0][map->n[0] - 1] - 4.0) < 1e-12);
    assert_true(fabs(map->value[1][0] - 2.8) < 1e-12);
    for (size_t i = 0; i < map->n[0] * map->n[2]; i++) {
        assert_true(map->shape[i].wrong >= map->best.wrong);
        assert_true(map->shape[i].wrong >= map->shape[i].wrong_level - 1e-12);
        assert_true(map->shape[i].wrong <=
                    map->shape[i].wrong_level + map->shape[i].wrong_decay + 1e-12);
    }
    ebb_reshaped_free(map);
}

/* Moves of 0.3 m of the length lie within the limits; those of the height and of 0.6 m do not. */
static void only_moves_within_the_limits_are_listed(void **state)
{
    ebb_reshaped *map = mapped(*state, 8);
    assert_int_equal(map->n_moves, 3);
    assert_true(map->move[0].delta == 0);
    for (size_t i = 1; i < 3; i++) {
        assert_int_equal(map->move[i].axis, 0);
        assert_true(fabs(fabs(map->move[i].delta) - 0.3) < 1e-12);
    }
    assert_true(map->move[1].bare.wrong <= map->move[2].bare.wrong);
    ebb_reshaped_free(map);
}

/* The model stretched to a size against a model made for it alone: few cells may differ. */
static void a_stretched_model_reads_as_one_of_its_own(void **state)
{
    rig *r = *state;
    ebb_remap stretched, own;
    const double size[3] = {3.9, 2.8, 2.31};
    ebb_room resized;
    ebb_arena *arena = ebb_arena_new(r->ctx);
    ebb_shape a, b;
    ebb_modes *track = NULL;
    assert_int_equal(ebb_room_resized(arena, r->job, &r->job->rooms[0], size, &resized), EBB_OK);
    for (int d = 0; d < 3; d++)
        resized.may_change[d][0] = resized.may_change[d][1] = NAN;
    assert_int_equal(ebb_remap_open(r->ctx, r->job, &r->job->rooms[0], EBB_USE_MUSIC, &stretched),
                     EBB_OK);
    assert_int_equal(ebb_remap_open(r->ctx, r->job, &resized, EBB_USE_MUSIC, &own), EBB_OK);
    assert_int_equal(ebb_remap_at(&stretched, size, &track, &a), EBB_OK);
    ebb_modes_free(track);
    track = NULL;
    assert_int_equal(ebb_remap_at(&own, size, &track, &b), EBB_OK);
    ebb_modes_free(track);
    assert_true(fabs(a.wrong_level - b.wrong_level) < 0.03);
    assert_true(fabs(a.wrong_decay - b.wrong_decay) < 0.03);
    ebb_remap_close(&stretched);
    ebb_remap_close(&own);
    ebb_arena_free(arena);
}

/* Following modes along a line ends in the same reading as finding them anew. */
static void followed_modes_are_those_found(void **state)
{
    rig *r = *state;
    ebb_remap map;
    ebb_shape followed, found;
    ebb_modes *track = NULL, *fresh = NULL;
    assert_int_equal(ebb_remap_open(r->ctx, r->job, &r->job->rooms[0], EBB_USE_MUSIC, &map),
                     EBB_OK);
    for (int i = 0; i <= 8; i++) {
        const double size[3] = {3.2 + 0.05 * i, 2.8, 2.4};
        assert_int_equal(ebb_remap_at(&map, size, &track, &followed), EBB_OK);
    }
    const double last[3] = {3.6, 2.8, 2.4};
    assert_int_equal(ebb_remap_at(&map, last, &fresh, &found), EBB_OK);
    assert_true(fabs(followed.wrong_decay - found.wrong_decay) < 0.05);
    assert_true(followed.wrong_level == found.wrong_level);
    ebb_modes_free(track);
    ebb_modes_free(fresh);
    ebb_remap_close(&map);
}

static void resizing_keeps_things_in_place(void **state)
{
    rig *r = *state;
    const ebb_room *room = &r->job->rooms[0];
    ebb_arena *arena = ebb_arena_new(r->ctx);
    ebb_room same, wide, narrow;
    assert_int_equal(ebb_room_resized(arena, r->job, room, room->size, &same), EBB_OK);
    assert_true(fabs(same.seats[0].at.x - 2.2) < 1e-12);
    assert_true(fabs(same.openings[0].at[0] - 2.5) < 1e-9);
    const double larger[3] = {7.2, 2.8, 2.4}, slit[3] = {0.8, 2.8, 2.4};
    assert_int_equal(ebb_room_resized(arena, r->job, room, larger, &wide), EBB_OK);
    assert_true(fabs(wide.seats[0].at.x - 4.4) < 1e-12);
    assert_true(wide.seats[0].at.z == 1.2);
    assert_true(wide.openings[0].at[1] == 0); /* the door stays on the floor */
    assert_true(fabs(wide.openings[0].at[0] - (2 * 2.95 - 0.45)) < 1e-9);
    ebb_vec3 end = ebb_surface_point(&wide.surfaces[2], wide.surfaces[2].range[0][1], 0);
    ebb_vec3 was = ebb_surface_point(&room->surfaces[2], room->surfaces[2].range[0][1], 0);
    assert_true(fabs(fabs(end.x - room->origin.x) - 2 * fabs(was.x - room->origin.x)) < 1e-9);
    assert_int_equal(ebb_room_resized(arena, r->job, room, slit, &narrow), EBB_E_RANGE);
    ebb_arena_free(arena);
}

static void what_can_not_be_mapped_is_refused(void **state)
{
    rig *r = *state;
    ebb_reshape_effort effort;
    ebb_reshaped *map = NULL;
    ebb_reshape_default(&effort);
    assert_int_equal(ebb_reshape(r->ctx, r->job, 1, &effort, &map), EBB_E_RANGE);
    effort.most = 1;
    assert_int_equal(ebb_reshape(r->ctx, r->job, 0, &effort, &map), EBB_E_RANGE);
    ebb_reshape_default(&effort);
    for (int d = 0; d < 3; d++)
        r->job->rooms[0].may_change[d][0] = r->job->rooms[0].may_change[d][1] = NAN;
    assert_int_equal(ebb_reshape(r->ctx, r->job, 0, &effort, &map), EBB_E_RANGE);
    assert_null(map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_map_covers_the_limits, set_up, tear_down),
        cmocka_unit_test_setup_teardown(only_moves_within_the_limits_are_listed, set_up, tear_down),
        cmocka_unit_test_setup_teardown(a_stretched_model_reads_as_one_of_its_own, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(followed_modes_are_those_found, set_up, tear_down),
        cmocka_unit_test_setup_teardown(resizing_keeps_things_in_place, set_up, tear_down),
        cmocka_unit_test_setup_teardown(what_can_not_be_mapped_is_refused, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
