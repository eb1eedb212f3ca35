/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The medium against published formulas and tables.
 */
#include <ebb/air.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "outside.h"

#define CRAMER "Cramer 1993, J. Acoust. Soc. Am. 93, 2510-2516; formula evaluated separately"
#define DAVIS "Davis 1992 (CIPM-81/91 density of moist air), from memory"
#define ISO_1 "ISO 9613-1:1993; formula evaluated separately at exact midbands"
#define ISO_2 "ISO 9613-2:1996, table 2, from memory"

static ebb_air at(double temperature, double humidity)
{
    ebb_air air;
    assert_int_equal(ebb_air_at(NULL, temperature, humidity, 101325, &air), EBB_OK);
    return air;
}

static void speed_of_sound(void **unused)
{
    (void)unused;
    static const double value[][3] = {{0, 0, 331.448},  {20, 0, 343.359},   {20, 0.5, 343.987},
                                      {20, 1, 344.614}, {25, 0.5, 347.127}, {30, 0.6, 350.542}};
    char what[80];
    for (size_t i = 0; i < sizeof value / sizeof value[0]; i++) {
        snprintf(what, sizeof what, "speed of sound at %g C, %g %% humidity, m/s", value[i][0],
                 100 * value[i][1]);
        outside_value(what, CRAMER, value[i][2], at(value[i][0], value[i][1]).speed, 1e-3);
    }
    /* the simple dry formula of the standard, which is 0.05 % lower */
    for (double t = 0; t <= 30; t += 10) {
        snprintf(what, sizeof what, "speed of sound in dry air at %g C, m/s", t);
        outside_value(what, "ISO 9613-1:1993, 343.2 sqrt(T/293.15)",
                      343.2 * sqrt((t + 273.15) / 293.15), at(t, 0).speed, 0.25);
    }
}

/* The separate evaluation used the later molar mass of air, which is 7e-5 higher. */
static void density(void **unused)
{
    (void)unused;
    static const double value[][3] = {
        {0, 0, 1.2930}, {20, 0, 1.2046}, {20, 0.5, 1.1993}, {25, 0.5, 1.1773}};
    static const double rho_c[] = {428.6, 413.6, 412.6, 408.7};
    char what[80];
    for (size_t i = 0; i < sizeof value / sizeof value[0]; i++) {
        const ebb_air air = at(value[i][0], value[i][1]);
        snprintf(what, sizeof what, "density of air at %g C, %g %% humidity, kg/m3", value[i][0],
                 100 * value[i][1]);
        outside_value(what, DAVIS, value[i][2], air.density, 1.5e-4);
        snprintf(what, sizeof what, "rho c of air at %g C, %g %% humidity, Pa s/m", value[i][0],
                 100 * value[i][1]);
        outside_value(what, CRAMER " and " DAVIS, rho_c[i], air.density * air.speed, 0.1);
    }
}

static void other_properties(void **unused)
{
    (void)unused;
    const ebb_air air = at(20, 0.5);
    outside_value("viscosity of air at 20 C, 1e-5 Pa s", "common practice, no source", 1.82,
                  1e5 * air.viscosity, 0.015);
    outside_value("ratio of specific heats of air at 20 C", "common practice, no source", 1.401,
                  air.gamma, 0.002);
    outside_value("gamma P0 at 20 C, Pa", "1.4 times 101325 Pa", 141855, air.gamma * air.pressure,
                  150);
}

static const double octave[8] = {63.0957, 125.893, 251.189, 501.187,
                                 1000,    1995.26, 3981.07, 7943.28};

static void loss(const ebb_air *air, const char *source, const double *expected,
                 const double *tolerance)
{
    char what[100];
    for (int i = 0; i < 8; i++) {
        snprintf(what, sizeof what, "loss of air at %g C, %g %%, %.0f Hz, dB/km", air->temperature,
                 100 * air->humidity, octave[i]);
        outside_value(what, source, expected[i],
                      10 * log10(exp(1)) * 1000 * ebb_air_loss(air, octave[i]), tolerance[i]);
    }
}

static void loss_of_air(void **unused)
{
    (void)unused;
    static const double digits[8] = {1e-4, 1e-4, 1e-3, 1e-3, 1e-3, 1e-3, 1e-2, 0.1};
    static const double rounded[8] = {0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.05, 0.5};
    static const double at50[8] = {0.1228, 0.4453, 1.318, 2.734, 4.665, 9.855, 29.42, 103.9};
    static const double at70[8] = {0.0897, 0.3395, 1.132, 2.798, 4.978, 9.016, 22.91, 76.62};
    static const double cool[8] = {0.1217, 0.411, 1.043, 1.928, 3.658, 9.664, 32.77, 116.9};
    static const double table[8] = {0.1, 0.4, 1.0, 1.9, 3.7, 9.7, 32.8, 117};
    const ebb_air warm50 = at(20, 0.5), warm70 = at(20, 0.7), cool70 = at(10, 0.7);
    loss(&warm50, ISO_1, at50, digits);
    loss(&warm70, ISO_1, at70, digits);
    loss(&cool70, ISO_1, cool, digits);
    loss(&cool70, ISO_2, table, rounded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(speed_of_sound),
        cmocka_unit_test(density),
        cmocka_unit_test(other_properties),
        cmocka_unit_test(loss_of_air),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
