/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where speakers, heads, talkers and microphones stand, and how they may move. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

static double distance(ebb_vec3 a, ebb_vec3 b)
{
    return sqrt(pow(a.x - b.x, 2) + pow(a.y - b.y, 2) + pow(a.z - b.z, 2));
}

static void music_has_every_speaker_and_three_heads(void **state)
{
    scene *s = *state;
    make_stations(s, EBB_USE_MUSIC);
    const ebb_stations *st = &s->stations;
    assert_int_equal(st->n_sources, 2);
    assert_int_equal(st->n_receivers, 3);
    assert_int_equal(st->n_paths, 6);
    assert_int_equal(st->shape[0] * st->shape[1], 6);
    assert_false(st->tied);
    assert_null(st->squeeze);
    assert_string_equal(st->source_names[0], "left");
    assert_string_equal(st->receiver_names[0], "seat");
    /* room coordinates: the corner at (10, 5) is the origin */
    assert_near(distance(st->source[0], (ebb_vec3){0.6, 1.5, 1.2}), 0, 1e-9);
    assert_near(distance(st->receiver[0], (ebb_vec3){1.5, 1, 1.2}), 0, 1e-9);
    /* looking to lower x, the left hand is at lower y */
    assert_string_equal(st->receiver_names[1], "seat, head to the left");
    assert_near(distance(st->receiver[1], (ebb_vec3){1.5, 1 - s->limits.head_offset, 1.2}), 0,
                1e-9);
    assert_near(distance(st->receiver[2], (ebb_vec3){1.5, 1 + s->limits.head_offset, 1.2}), 0,
                1e-9);
    for (size_t p = 0; p < st->n_paths; p++) {
        assert_int_equal(st->path[p][0], p / 3);
        assert_int_equal(st->path[p][1], p % 3);
    }
}

static void moves_stay_within_their_zones(void **state)
{
    scene *s = *state;
    make_stations(s, EBB_USE_MUSIC);
    const ebb_stations *st = &s->stations;
    assert_int_equal(st->source_options, 9);
    assert_int_equal(st->receiver_options, 9);
    double widest = 0;
    for (size_t o = 0; o < 9; o++) {
        const ebb_vec3 *pair = st->speaker_at + o * 2;
        for (size_t i = 0; i < 2; i++) {
            assert_true(distance(pair[i], s->room->speakers[i].at) <= 0.1 + 1e-9);
            assert_near(pair[i].z, 1.2, 1e-12);
            widest = fmax(widest, distance(pair[i], s->room->speakers[i].at));
        }
        assert_near(pair[0].x, pair[1].x, 1e-9); /* a pair stays a pair */
        assert_near(pair[0].y + pair[1].y, 12, 1e-9);
        assert_true(distance(st->seat_at[o], s->room->seats[0].at) <= 0.2 + 1e-9);
    }
    assert_true(widest > 0.05);
}

static void what_may_not_move_has_one_place(void **state)
{
    scene *s = *state;
    s->room->seats[0].zone = 0;
    s->room->speakers[0].zone = s->room->speakers[1].zone = 0;
    make_stations(s, EBB_USE_MUSIC);
    assert_int_equal(s->stations.source_options, 1);
    assert_int_equal(s->stations.receiver_options, 1);
    assert_near(distance(s->stations.speaker_at[1], s->room->speakers[1].at), 0, 1e-12);
}

static void nobody_sits_in_a_wall(void **state)
{
    scene *s = *state;
    s->room->seats[0].at.y = 5.05;
    make_stations(s, EBB_USE_MUSIC);
    const ebb_stations *st = &s->stations;
    assert_non_null(st->squeeze);
    for (size_t i = 0; i < st->receiver_options * st->n_receivers; i++)
        assert_true(st->receiver[i].y >= 0.1 - 1e-9 && st->receiver[i].y <= 1.9 + 1e-9);
}

static void a_talker_faces_the_space(void **state)
{
    scene *s = *state;
    make_stations(s, EBB_USE_VOICE);
    const ebb_stations *st = &s->stations;
    assert_true(st->tied);
    assert_int_equal(st->n_sources, 5);
    assert_int_equal(st->n_receivers, 10);
    assert_int_equal(st->n_paths, 10);
    assert_int_equal(st->shape[0], 1);
    assert_int_equal(st->source_options, st->receiver_options);
    for (size_t p = 0; p < 10; p++) { /* only to the own microphone and listener */
        assert_int_equal(st->path[p][0], p / 2);
        assert_int_equal(st->path[p][1], p);
    }
    /* from (1.5, 1) most space is towards lower x */
    assert_near(distance(st->receiver[0], (ebb_vec3){1.5 - s->limits.voice_mic, 1, 1.2}), 0, 1e-9);
    assert_near(distance(st->source[0], st->source[1]), s->limits.voice_move, 1e-9);
    assert_true(st->source[1].x < st->source[0].x); /* forward */
}

static void without_people_there_is_nothing_to_judge(void **state)
{
    scene *s = *state;
    ebb_stations st;
    s->room->n_speakers = 0;
    assert_int_equal(
        ebb_stations_make(s->ctx, s->arena, s->job, s->room, &s->limits, EBB_USE_MUSIC, &st),
        EBB_E_INPUT);
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, "no speaker"));
    assert_ok(s->ctx,
              ebb_stations_make(s->ctx, s->arena, s->job, s->room, &s->limits, EBB_USE_VOICE, &st));
    s->room->n_seats = 0;
    assert_int_equal(
        ebb_stations_make(s->ctx, s->arena, s->job, s->room, &s->limits, EBB_USE_VOICE, &st),
        EBB_E_INPUT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(music_has_every_speaker_and_three_heads, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(moves_stay_within_their_zones, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(what_may_not_move_has_one_place, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(nobody_sits_in_a_wall, set_up_scene, tear_down_scene),
        cmocka_unit_test_setup_teardown(a_talker_faces_the_space, set_up_scene, tear_down_scene),
        cmocka_unit_test_setup_teardown(without_people_there_is_nothing_to_judge, set_up_scene,
                                        tear_down_scene),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
