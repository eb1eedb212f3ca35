/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Statistical decay and speech index against published formulas.
 */
#include <ebb/mid.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "outside.h"

/* A room of 5 x 4 x 3 m (60 m3, 94 m2) with the same absorption everywhere. */
static ebb_mid room_of(double alpha, ebb_assembly assembly)
{
    ebb_construction construction = {"wall", "", assembly, {0}, false};
    for (int i = 0; i < EBB_OCTAVES; i++)
        construction.alpha[i] = alpha;
    const double extent[6][2] = {{5, 4}, {5, 4}, {5, 3}, {4, 3}, {5, 3}, {4, 3}};
    ebb_surface surfaces[6] = {{.name = "surface"}};
    for (int i = 0; i < 6; i++) {
        surfaces[i].range[0][1] = extent[i][0];
        surfaces[i].range[1][1] = extent[i][1];
    }
    const ebb_room room = {
        .name = "room", .size = {5, 4, 3}, .n_surfaces = 6, .surfaces = surfaces};
    ebb_job job = {.n_constructions = 1, .constructions = &construction};
    ebb_mid mid;
    assert_int_equal(ebb_air_given(NULL, 343, 1.204, &job.air), EBB_OK);
    assert_int_equal(ebb_mid_room(NULL, &job, &room, 0, NULL, &mid), EBB_OK);
    return mid;
}

static void decay(void **unused)
{
    (void)unused;
    const ebb_assembly none = {.kind = EBB_ASSEMBLY_CONSTANT};
    /* little absorption: Eyring goes over into Sabine; the air adds 4 m V */
    outside_value("decay of 60 m3, 94 m2, alpha 0.01 at 125 Hz, s",
                  "Sabine, 0.161 V/(A + 4 m V); loss of air by ISO 9613-1:1993",
                  0.161 * 60 / (0.94 + 4 * 0.4453e-3 / 4.343 * 60), room_of(0.01, none).t60[0],
                  0.06);
    outside_value("decay of 60 m3, 94 m2, alpha 0.3 at 125 Hz, s",
                  "Eyring, 0.161 V/(-S ln(1 - alpha)); Kuttruff, Room Acoustics",
                  0.161 * 60 / (-94 * log(0.7)), room_of(0.3, none).t60[0], 1e-3);
    /* hard walls at 4 kHz: 4 m V alone (30 dB/km, see the loss of air) stands against 0.94 m2 */
    const double air_area = 4 * 29.42e-3 / 4.343 * 60;
    outside_value("decay of 60 m3, 94 m2, alpha 0.01 at 4000 Hz, s",
                  "Eyring with 4 m V; loss of air by ISO 9613-1:1993",
                  0.161 * 60 / (-94 * log(0.99) + air_area), room_of(0.01, none).t60[5], 0.06);

    const ebb_assembly hard = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.01};
    outside_value("absorption area of 94 m2 of admittance 0.01, m2",
                  "Paris' integral by quadrature: 0.0734", 94 * 0.0734, room_of(NAN, hard).area[2],
                  0.01);
}

static void schroeder(void **unused)
{
    (void)unused;
    const ebb_assembly none = {.kind = EBB_ASSEMBLY_CONSTANT};
    const ebb_mid mid = room_of(0.2, none);
    outside_value("Schroeder frequency of 60 m3, alpha 0.2, Hz",
                  "Schroeder 1996: 2000 sqrt(T/V), from memory; Eyring",
                  2000 * sqrt(0.161 / (-94 * log(0.8))), mid.schroeder, 1.5);
}

static void speech_index(void **unused)
{
    (void)unused;
    static const double decay_s[] = {0.2, 0.3, 0.4, 0.5, 0.8, 1.0, 2.0};
    static const double snr[] = {INFINITY, 15, 10, 0};
    static const double value[][4] = {{.8876, .8496, .7500, .4751}, {.8275, .7893, .7075, .4569},
                                      {.7779, .7409, .6716, .4395}, {.7363, .7006, .6407, .4233},
                                      {.6389, .6100, .5679, .3817}, {.5885, .5653, .5304, .3585},
                                      {.4374, .4268, .4071, .2737}};
    char what[100];
    for (int i = 0; i < 7; i++)
        for (int k = 0; k < 4; k++) {
            const double t = decay_s[i], t60[EBB_OCTAVES] = {t, t, t, t, t, t};
            snprintf(what, sizeof what, "speech index, decay %g s, signal to noise %g dB", t,
                     snr[k]);
            outside_value(what,
                          "IEC 60268-16, male weighting from memory, nominal modulation "
                          "frequencies; evaluated separately",
                          value[i][k], ebb_speech_index(t60, snr[k]), 6e-5);
        }
    const double dry[EBB_OCTAVES] = {0};
    outside_value("speech index without decay at 0 dB", "by definition of the index", 0.5,
                  ebb_speech_index(dry, 0), 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(decay),
        cmocka_unit_test(schroeder),
        cmocka_unit_test(speech_index),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
