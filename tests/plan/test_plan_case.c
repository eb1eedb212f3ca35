/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layouts counted, one configuration solved and judged. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

/* Two fronts on walls across x and y, one wool unit overhead. */
static ebb_layout three_units(const scene *s)
{
    ebb_placed *placed = EBB_NEW(s->arena, ebb_placed, 3);
    placed[0] = (ebb_placed){FRONT, ebb_room_face(s->room, 0, 0), {0, 0}, false};
    placed[1] = (ebb_placed){FRONT, ebb_room_face(s->room, 1, 1), {0, 0}, false};
    placed[2] = (ebb_placed){WOOL, 1, {11, 6}, true};
    return (ebb_layout){.n_placed = 3, .placed = placed};
}

static void layouts_are_counted(void **state)
{
    scene *s = *state;
    ebb_layout layout = three_units(s);
    ebb_layout_count(s->job, s->room, &layout);
    assert_near(layout.mass, 38 + 38 + 11, 1e-12);
    assert_near(layout.cost, 400 + 400 + 120, 1e-12);
    /* walls 2 (2.6 + 2) 2.3 and ceiling 2.6 x 2; three faces of 0.6 x 1.1 */
    assert_near(layout.cover, 3 * 0.66 / (2 * 4.6 * 2.3 + 5.2), 1e-12);
    assert_near(layout.size[0], 2.6 - 0.66 * 0.28 / (2 * 2.3), 1e-12);
    assert_near(layout.size[1], 2.0 - 0.66 * 0.28 / (2.6 * 2.3), 1e-12);
    assert_near(layout.size[2], 2.3 - 0.66 * 0.15 / (2.6 * 2.0), 1e-12);
    double scale[3];
    ebb_layout_scale(s->room, &layout, scale);
    for (int d = 0; d < 3; d++)
        assert_near(scale[d] * s->room->size[d], layout.size[d], 1e-12);
}

static void an_empty_layout_takes_nothing(void **state)
{
    scene *s = *state;
    ebb_layout layout = {.mass = 7, .cost = 7, .cover = 7};
    ebb_layout_count(s->job, s->room, &layout);
    assert_true(layout.mass == 0 && layout.cost == 0 && layout.cover == 0);
    for (int d = 0; d < 3; d++)
        assert_true(layout.size[d] == s->room->size[d]);
}

static void the_middle_stays_where_it_is(void **state)
{
    const scene *s = *state;
    const double one[3] = {1, 1, 1}, less[3] = {0.9, 0.8, 1};
    ebb_vec3 middle = {1.3, 1, 1.15}, off = {0.5, 1.5, 1.2};
    ebb_vec3 same = ebb_scaled_point(s->room, one, off);
    assert_true(same.x == off.x && same.y == off.y && same.z == off.z);
    ebb_vec3 kept = ebb_scaled_point(s->room, less, middle);
    assert_near(kept.x, 1.3, 1e-12);
    assert_near(kept.y, 1, 1e-12);
    /* 0.13 m of wall units on either side: 0.37 m from the new wall */
    assert_near(ebb_scaled_point(s->room, less, off).x * 0.9, 0.37, 1e-12);
}

static void the_mid_band_counts_for_voice_only(void **state)
{
    const scene *s = *state;
    const double volume = 12;
    ebb_mid mid = {.speech_index = s->limits.speech_index};
    for (int o = 0; o < EBB_OCTAVES; o++) {
        double mask[2];
        ebb_mid_mask(&s->limits, EBB_USE_VOICE, volume, o, mask);
        mid.t60[o] = (mask[0] + mask[1]) / 2;
    }
    assert_true(ebb_mid_is_right(&s->limits, EBB_USE_VOICE, volume, &mid));
    for (int o = 0; o < EBB_OCTAVES; o++) {
        ebb_mid off = mid;
        off.t60[o] = 10;
        bool judged = o >= 1 && o <= 4; /* 250 to 2000 Hz */
        assert_int_equal(ebb_mid_is_right(&s->limits, EBB_USE_VOICE, volume, &off), !judged);
        off.t60[o] = 1e-3;
        assert_int_equal(ebb_mid_is_right(&s->limits, EBB_USE_VOICE, volume, &off), !judged);
        assert_true(ebb_mid_is_right(&s->limits, EBB_USE_MUSIC, volume, &off));
    }
    mid.speech_index -= 1e-6;
    assert_false(ebb_mid_is_right(&s->limits, EBB_USE_VOICE, volume, &mid));
}

static void a_case_is_solved_and_judged(void **state)
{
    scene *s = *state;
    const size_t option[2] = {0, 0};
    ebb_layout layout = three_units(s);
    ebb_case bare, with;
    ebb_layout none = {0};
    ebb_layout_count(s->job, s->room, &layout);
    ebb_layout_count(s->job, s->room, &none);
    make_stations(s, EBB_USE_MUSIC);
    assert_ok(s->ctx, ebb_case_make(s->ctx, s->arena, s->job, s->room, &s->limits, &s->stations,
                                    option, &none, &bare, NULL));
    assert_ok(s->ctx, ebb_case_make(s->ctx, s->arena, s->job, s->room, &s->limits, &s->stations,
                                    option, &layout, &with, NULL));
    assert_int_equal(with.n_sources * with.n_receivers, 6);
    assert_int_equal(with.reading.n_paths, 6);
    assert_true(with.modes->n > 0);
    for (size_t i = 0; i < 6 * with.grid.n_hz; i++)
        assert_true(isfinite(cabs(with.h[i])) && cabs(with.h[i]) > 0);
    /* units take energy: decays below and above 200 Hz shorten */
    assert_true(with.reading.worst_decay < bare.reading.worst_decay);
    for (int o = 0; o < EBB_OCTAVES; o++)
        assert_true(with.mid.t60[o] < bare.mid.t60[o]);
    ebb_modes_free(bare.modes);
    ebb_modes_free(with.modes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(layouts_are_counted, set_up_scene, tear_down_scene),
        cmocka_unit_test_setup_teardown(an_empty_layout_takes_nothing, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(the_middle_stays_where_it_is, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(the_mid_band_counts_for_voice_only, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(a_case_is_solved_and_judged, set_up_scene, tear_down_scene),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
