/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"

static double music_limit(double volume, double hz)
{
    ebb_limits limits = plain_limits();
    return ebb_decay_limit(&limits, EBB_USE_MUSIC, volume, hz);
}

static double voice_limit(double volume, double hz)
{
    ebb_limits limits = plain_limits();
    return ebb_decay_limit(&limits, EBB_USE_VOICE, volume, hz);
}

/* 1 m3 makes the mask so small that only the audibility line is left at low frequencies. */
static void music_follows_the_audibility_line_in_small_rooms(void **state)
{
    (void)state;
    assert_near(music_limit(1, 32), 0.9, 1e-12);
    assert_near(music_limit(1, 63), 0.51, 1e-12);
    assert_near(music_limit(1, 20), 0.9, 1e-12); /* held below the lowest published point */
    /* halfway on a log-log scale is the geometric mean */
    assert_near(music_limit(1, sqrt(32. * 63.)), sqrt(0.9 * 0.51), 1e-12);
    assert_near(music_limit(1, 100),
                exp(log(0.51) + log(0.12 / 0.51) * log(100. / 63) / log(250. / 63)), 1e-12);
}

static void music_follows_the_mask_where_it_is_higher(void **state)
{
    (void)state;
    double target = 0.25 * cbrt(0.5); /* 50 m3 */
    assert_near(music_limit(50, 200), target + 0.05, 1e-12);
    assert_near(music_limit(50, 300), target + 0.05, 1e-12);
    assert_near(music_limit(50, sqrt(63. * 200.)), target + 0.175, 1e-12);
    assert_near(music_limit(1000, 40), 0.25 * cbrt(10.) + 0.30, 1e-12);
    assert_near(music_limit(1000, 63), 0.25 * cbrt(10.) + 0.30, 1e-12);
}

static void overrides_move_the_corners(void **state)
{
    (void)state;
    ebb_limits limits = plain_limits();
    limits.decay_music_63 = 0.8;
    assert_near(ebb_decay_limit(&limits, EBB_USE_MUSIC, 10, 63), 0.8, 1e-12);
    limits.decay_music_32 = 1.5;
    assert_near(ebb_decay_limit(&limits, EBB_USE_MUSIC, 10, 30), 1.5, 1e-12);
    limits.decay_music_250 = 0.7;
    assert_near(ebb_decay_limit(&limits, EBB_USE_MUSIC, 10, 260), 0.7, 1e-12);
}

static void voice_scales_the_speech_target(void **state)
{
    (void)state;
    double target = 0.37 * 2 - 0.14; /* 100 m3 */
    assert_near(voice_limit(100, 63), target * 1.7, 1e-12);
    assert_near(voice_limit(100, 40), target * 1.7, 1e-12);
    assert_near(voice_limit(100, 125), target * 1.45, 1e-12);
    assert_near(voice_limit(100, 250), target * 1.2, 1e-12);
    assert_near(voice_limit(100, 800), target * 1.2, 1e-12);
    assert_near(voice_limit(100, sqrt(63. * 125.)), target * (1.7 + 1.45) / 2, 1e-12);
}

static void tiny_rooms_keep_a_target_above_nothing(void **state)
{
    (void)state;
    assert_near(ebb_mid_target(EBB_USE_VOICE, 2), 0.1, 0);
    assert_near(ebb_mid_target(EBB_USE_VOICE, 1e-3), 0.1, 0);
    assert_true(ebb_mid_target(EBB_USE_VOICE, 8) > 0.1);
}

static void limits_fall_with_frequency_and_rise_with_volume(void **state)
{
    (void)state;
    for (double v = 8; v < 200; v *= 1.3)
        for (double f = 20; f < 300; f *= 1.05) {
            assert_true(music_limit(v, f * 1.05) <= music_limit(v, f));
            assert_true(voice_limit(v, f * 1.05) <= voice_limit(v, f));
            assert_true(music_limit(v * 1.3, f) >= music_limit(v, f));
            assert_true(voice_limit(v * 1.3, f) >= voice_limit(v, f));
        }
}

static void what_can_not_be_is_no_number(void **state)
{
    (void)state;
    const double bad[] = {0, -3, NAN};
    for (size_t i = 0; i < 3; i++) {
        assert_true(isnan(ebb_mid_target(EBB_USE_VOICE, bad[i])));
        assert_true(isnan(ebb_mid_target(EBB_USE_MUSIC, bad[i])));
        assert_true(isnan(voice_limit(bad[i], 63)));
        assert_true(isnan(music_limit(bad[i], 63)));
        assert_true(isnan(music_limit(50, bad[i])));
        assert_true(isnan(voice_limit(50, bad[i])));
    }
}

static void music_mask_opens_towards_the_bass(void **state)
{
    (void)state;
    ebb_limits limits = plain_limits();
    double mask[2], target = 0.25; /* 100 m3 */
    for (int k = 1; k < EBB_OCTAVES; k++) {
        ebb_mid_mask(&limits, EBB_USE_MUSIC, 100, k, mask);
        assert_near(mask[0], target - 0.05, 1e-12);
        assert_near(mask[1], target + 0.05, 1e-12);
    }
    ebb_mid_mask(&limits, EBB_USE_MUSIC, 100, 0, mask);
    assert_near(mask[0], target - 0.05, 1e-12);
    assert_near(mask[1], target + 0.05 + 0.25 * log(200. / 125) / log(200. / 63), 1e-12);
    ebb_mid_mask(&limits, EBB_USE_MUSIC, 0.05, 3, mask);
    assert_near(mask[0], 0, 0);
}

static void voice_mask_is_wider_at_its_edges(void **state)
{
    (void)state;
    ebb_limits limits = plain_limits();
    double mask[2], target = 0.37 * 2 - 0.14;
    const double factor[EBB_OCTAVES][2] = {{0.65, 1.45}, {0.8, 1.2}, {0.8, 1.2},
                                           {0.8, 1.2},   {0.8, 1.2}, {0.65, 1.2}};
    for (int k = 0; k < EBB_OCTAVES; k++) {
        ebb_mid_mask(&limits, EBB_USE_VOICE, 100, k, mask);
        assert_near(mask[0], target * factor[k][0], 1e-12);
        assert_near(mask[1], target * factor[k][1], 1e-12);
    }
    limits.mid_lower = 0.5;
    limits.mid_upper = 1.6;
    for (int k = 0; k < EBB_OCTAVES; k++) {
        ebb_mid_mask(&limits, EBB_USE_VOICE, 100, k, mask);
        assert_near(mask[0], target * 0.5, 1e-12);
        assert_near(mask[1], target * 1.6, 1e-12);
    }
}

static void other_octaves_have_no_mask(void **state)
{
    (void)state;
    ebb_limits limits = plain_limits();
    const int bad[] = {-1, EBB_OCTAVES};
    for (size_t i = 0; i < 2; i++) {
        double mask[2] = {1, 1};
        ebb_mid_mask(&limits, EBB_USE_VOICE, 100, bad[i], mask);
        assert_true(isnan(mask[0]) && isnan(mask[1]));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(music_follows_the_audibility_line_in_small_rooms),
        cmocka_unit_test(music_follows_the_mask_where_it_is_higher),
        cmocka_unit_test(overrides_move_the_corners),
        cmocka_unit_test(voice_scales_the_speech_target),
        cmocka_unit_test(tiny_rooms_keep_a_target_above_nothing),
        cmocka_unit_test(limits_fall_with_frequency_and_rise_with_volume),
        cmocka_unit_test(what_can_not_be_is_no_number),
        cmocka_unit_test(music_mask_opens_towards_the_bass),
        cmocka_unit_test(voice_mask_is_wider_at_its_edges),
        cmocka_unit_test(other_octaves_have_no_mask),
    };
    return cmocka_run_group_tests_name("limit", tests, NULL, NULL);
}
