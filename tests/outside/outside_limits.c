/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Limits against the standards and papers they are taken from.
 */
#include <ebb/judge.h>

#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "outside.h"

/* The table as it stands, without a job's overrides. */
static ebb_limits defaults(void)
{
    const ebb_job job = {0};
    ebb_limits limits;
    ebb_limits_of(&job, &limits);
    return limits;
}

static void listening_room_target(void **unused)
{
    (void)unused;
    static const double table[][2] = {{25, .158},  {30, .167}, {40, .184},  {50, .198},
                                      {60, .211},  {80, .232}, {100, .250}, {150, .286},
                                      {200, .315}, {300, .361}};
    char what[80];
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        snprintf(what, sizeof what, "target decay of a listening room of %g m3, s", table[i][0]);
        outside_value(what, "ITU-R BS.1116-3, Tm = 0.25 (V/100 m3)^(1/3), from memory", table[i][1],
                      ebb_mid_target(EBB_USE_MUSIC, table[i][0]), 5.1e-4);
    }
    /* the range another standard asks for in rooms below 300 m3 */
    double largest = ebb_mid_target(EBB_USE_MUSIC, 300);
    outside_fact("target decay of 300 m3 lies between 0.2 and 0.4 s",
                 "EBU Tech 3276 (1998), from memory", "yes",
                 largest > 0.2 && largest < 0.4 ? "yes" : "no");
}

static void listening_room_mask(void **unused)
{
    (void)unused;
    const char *source = "ITU-R BS.1116-3, tolerance of the decay, from memory";
    ebb_limits limits = defaults();
    double mask[2];
    ebb_mid_mask(&limits, EBB_USE_MUSIC, 100, 3, mask);
    outside_value("shortest decay at 1 kHz in 100 m3, s", source, 0.20, mask[0], 1e-9);
    outside_value("longest decay at 1 kHz in 100 m3, s", source, 0.30, mask[1], 1e-9);
    /* where the mask is the larger of the two decay limits */
    outside_value("decay limit at 63 Hz in 300 m3, s", source, 0.361 + 0.30,
                  ebb_decay_limit(&limits, EBB_USE_MUSIC, 300, 63), 5.1e-4);
    outside_value("decay limit at 200 Hz in 50 m3, s", source, 0.198 + 0.05,
                  ebb_decay_limit(&limits, EBB_USE_MUSIC, 50, 200), 5.1e-4);
}

static void speech_target(void **unused)
{
    (void)unused;
    static const double table[][2] = {{30, .407}, {50, .489}, {100, .600}};
    char what[80];
    for (size_t i = 0; i < 3; i++) {
        snprintf(what, sizeof what, "target decay for speech in %g m3, s", table[i][0]);
        outside_value(what, "DIN 18041:2004, 0.37 lg V - 0.14", table[i][1],
                      ebb_mid_target(EBB_USE_VOICE, table[i][0]), 5.1e-4);
    }
}

static void speech_tolerance(void **unused)
{
    (void)unused;
    static const double factor[EBB_OCTAVES][2] = {{0.65, 1.45}, {0.8, 1.2}, {0.8, 1.2},
                                                  {0.8, 1.2},   {0.8, 1.2}, {0.65, 1.2}};
    ebb_limits limits = defaults();
    char what[80];
    for (int k = 0; k < EBB_OCTAVES; k++) {
        double mask[2];
        ebb_mid_mask(&limits, EBB_USE_VOICE, 100, k, mask);
        for (int side = 0; side < 2; side++) {
            snprintf(what, sizeof what, "%s decay for speech over its target at %d Hz",
                     side ? "longest" : "shortest", 125 << k);
            outside_value(what, "DIN 18041:2016, tolerance of the decay, from memory",
                          factor[k][side], mask[side] / 0.600, 1e-9);
        }
    }
    outside_value("longest decay for speech over its target at 63 Hz",
                  "DIN 18041:2016, tolerance of the decay, from memory", 1.7,
                  ebb_decay_limit(&limits, EBB_USE_VOICE, 100, 63) / 0.600, 1e-9);
}

/* In a volume so small that only the audibility line is left of the music limit. */
static double audible(double hz)
{
    ebb_limits limits = defaults();
    return ebb_decay_limit(&limits, EBB_USE_MUSIC, 0.05, hz);
}

static void audibility_of_decay(void **unused)
{
    (void)unused;
    const char *source =
        "Fazenda, Stephenson & Goldberg, JASA 137(3), 1088-1098 (2015), from memory";
    outside_value("decay just heard at 32 Hz, unmasked tones, s", source, 0.9, audible(32), 1e-9);
    outside_value("decay just heard at 63 Hz, music, s", source, 0.51, audible(63), 1e-9);
    outside_value("decay just heard at 250 Hz, music, s", source, 0.12, audible(250), 1e-9);
    /* what we put between those points, against another study: modes of one Q, 16, for music */
    const char *other = "Avis, Fazenda & Davies, JAES 55(7/8) (2007), Q of 16";
    outside_value("decay just heard at 63 Hz, between studies, s", other, 0.56, audible(63), 0.06);
    outside_value("decay just heard at 125 Hz, between studies, s", other, 0.28, audible(125),
                  0.04);
}

static void response_limit(void **unused)
{
    (void)unused;
    outside_value("deviation of the response allowed from 50 Hz to 2 kHz, dB",
                  "ITU-R BS.1116-3 and EBU Tech 3276, operational response, from memory", 3,
                  defaults().response_deviation, 0);
}

static void midbands(void **unused)
{
    (void)unused;
    static const double exact[] = {25.119, 31.623, 39.811, 50.119, 63.096, 79.433, 100, 125.893};
    ebb_limits limits = defaults();
    ebb_grid grid;
    ebb_grid_make(&limits, 25, &grid);
    assert_int_equal(grid.n_bands, sizeof exact / sizeof exact[0]);
    char what[80];
    for (size_t b = 0; b < grid.n_bands; b++) {
        snprintf(what, sizeof what, "exact midband %zu of the decay test, Hz", b + 1);
        outside_value(what, "IEC 61260-1:2014, base-ten system, from memory", exact[b],
                      grid.band_hz[b], 5.1e-4);
    }
}

static void decay_time(void **unused)
{
    (void)unused;
    ebb_mode mode = {.hz = 63, .delta = 1};
    double _Complex residue = 1;
    const ebb_modes modes = {
        .n = 1, .mode = &mode, .n_sources = 1, .n_receivers = 1, .residue = &residue};
    outside_value("decay time at an amplitude decay of 1/s, s",
                  "T = 3 ln 10 / delta; Kuttruff, Room Acoustics", 6.9078,
                  ebb_band_decay(&modes, 0, 0, 63.096), 5.1e-5);
    mode.delta = 3.14159265 * 63 / 15;
    outside_value("decay time at 63 Hz of a Q of 15, s",
                  "T = 2.2 Q / f, common practice, no source", 2.2 * 15 / 63,
                  ebb_band_decay(&modes, 0, 0, 63.096), 1e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(listening_room_target),
        cmocka_unit_test(listening_room_mask),
        cmocka_unit_test(speech_target),
        cmocka_unit_test(speech_tolerance),
        cmocka_unit_test(audibility_of_decay),
        cmocka_unit_test(response_limit),
        cmocka_unit_test(midbands),
        cmocka_unit_test(decay_time),
    };
    return cmocka_run_group_tests_name("limits", tests, NULL, NULL);
}
