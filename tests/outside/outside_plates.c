/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Plates against the tables and series of the textbooks.
 */
#include <ebb/cabinet.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "outside.h"

#define PI 3.14159265358979323846

static const char NAVIER[] = "Navier's solution, any textbook on plates";
static const char TIMOSHENKO[] = "Timoshenko and Woinowsky-Krieger, tables (from memory)";
static const char LEISSA[] = "Leissa, Vibration of Plates, tables (from memory)";

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
} fixture;

static int set_up(void **state)
{
    static fixture f;
    f.ctx = ebb_ctx_new();
    f.arena = ebb_arena_new(f.ctx);
    *state = &f;
    return f.ctx && f.arena ? 0 : -1;
}

static int tear_down(void **state)
{
    fixture *f = *state;
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
    return 0;
}

/* Plate 1 m x `length` with D = 1 N m and 1 kg/m2, Poisson's ratio 0.3, no loss: its numbers are
 * those of the tables. */
static const ebb_plate *unit_plate(fixture *f, double length, double turning)
{
    const double side[2] = {1, length};
    const ebb_board board = {"", 0.01, 100, 12 * (1 - 0.09) * 1e6, 0.3, 0};
    const ebb_mount mount = {1e10, turning, 0};
    ebb_plate *plate;
    assert_int_equal(ebb_plate_make(f->ctx, f->arena, side, &board, 0, &mount, 9, &plate), EBB_OK);
    return plate;
}

static double frequency(const ebb_plate *plate, size_t mode)
{
    return sqrt(creal(plate->lambda[mode]));
}

/* Deflection of the centre under 1 Pa: velocity over j w, far below the first mode. */
static double centre_deflection(const ebb_plate *plate)
{
    const double omega = 1e-3;
    return cimag(ebb_plate_centre(plate, 1, omega)) / omega;
}

static void simply_supported(void **state)
{
    const ebb_plate *square = unit_plate(*state, 1, 0), *twice = unit_plate(*state, 2, 0);
    outside_value("simply supported square plate, w a^2 sqrt(m/D)", NAVIER, 2 * PI * PI,
                  frequency(square, 0), 1e-4);
    outside_value("the same, second symmetric mode", NAVIER, 10 * PI * PI, frequency(square, 1),
                  1e-2);
    outside_value("the same, share of mean pressure in the first mode, 64/pi^4", NAVIER, 0.65702,
                  creal(square->share[0]), 1e-5);
    outside_value("the same, moving mass over mass", NAVIER, 1.522, 1 / creal(square->share[0]),
                  5e-4);
    outside_value("the same, mean over centre, 4/pi^2", NAVIER, 0.40528,
                  creal(square->share[0] / square->middle[0]), 1e-5);
    outside_value("the same, deflection of the centre, q a^4/D", TIMOSHENKO, 0.00406,
                  centre_deflection(square), 5e-6);
    outside_value("simply supported plate 1:2, w a^2 sqrt(m/D)", NAVIER, 1.25 * PI * PI,
                  frequency(twice, 0), 1e-4);
    outside_value("the same, deflection of the centre, q a^4/D", TIMOSHENKO, 0.01013,
                  centre_deflection(twice), 5e-6);
}

static void clamped(void **state)
{
    const ebb_plate *square = unit_plate(*state, 1, 1e10), *twice = unit_plate(*state, 2, 1e10);
    outside_value("clamped square plate, w a^2 sqrt(m/D)", LEISSA, 35.99, frequency(square, 0),
                  0.01);
    outside_value("the same, deflection of the centre, q a^4/D", TIMOSHENKO, 0.00126,
                  centre_deflection(square), 6e-6);
    outside_value("clamped plate 1:2, w a^2 sqrt(m/D)", LEISSA, 24.58, frequency(twice, 0), 0.005);
    outside_value("the same, deflection of the centre, q a^4/D", TIMOSHENKO, 0.00254,
                  centre_deflection(twice), 8e-6);
}

/* Mean velocity per pressure of a simply supported plate by its double series of sines. */
static double _Complex navier(double length, double loss, double omega)
{
    double _Complex sum = 0;
    for (int i = 1; i < 400; i += 2)
        for (int k = 1; k < 400; k += 2) {
            const double share = 64 / (pow(PI, 4) * i * i * k * k);
            const double root = PI * PI * (i * i + k * k / (length * length));
            sum += share * I * omega / (root * root * (1 + I * loss) - omega * omega);
        }
    return sum;
}

static void over_frequency(void **state)
{
    fixture *f = *state;
    const double side[2] = {1, 1.7};
    const ebb_board board = {"", 0.01, 100, 12 * (1 - 0.09) * 1e6, 0.3, 0.04};
    const ebb_mount mount = {1e10, 0, 0.04};
    ebb_plate *plate;
    double worst = 0;
    assert_int_equal(ebb_plate_make(f->ctx, f->arena, side, &board, 0, &mount, 10, &plate), EBB_OK);
    /* up to beyond the third symmetric mode */
    for (double omega = 1; omega < 110; omega *= 1.07) {
        const double _Complex want = navier(1.7, 0.04, omega);
        worst = fmax(worst, cabs(ebb_plate_mobility(plate, 1, omega) / want - 1));
    }
    outside_below("simply supported plate 1:1.7, mean velocity per pressure, largest error", NAVIER,
                  2e-3, worst);
}

static void soft_rims(void **state)
{
    fixture *f = *state;
    const double side[2] = {0.6, 1.2};
    const ebb_board board = {"", 0.006, 680, 6e9, 0.3, 0.02};
    const ebb_mount mount = {ebb_mount_bending(2e6, 0.002, 0.02), 0, 0.1};
    ebb_plate *plate;
    outside_value("rim of 2 mm rubber, E 2 MPa, 20 mm free, N/m per m",
                  "guided beam, 12 E I/b^3 with I = t^3/12, any textbook", 2000, mount.stiffness,
                  1e-9);
    outside_value("rim of foam pressed 10 x 10 mm, E 0.2 MPa, N/m per m",
                  "bar in compression, E w/t, any textbook", 2e5,
                  ebb_mount_pressed(2e5, 0.01, 0.01), 1e-6);
    assert_int_equal(ebb_plate_make(f->ctx, f->arena, side, &board, 0, &mount, 9, &plate), EBB_OK);
    outside_value("6 mm plywood on that rubber: it moves as one, share of the first mode",
                  "1 for a panel much stiffer than its rim", 1, creal(plate->share[0]), 0.03);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(simply_supported),
        cmocka_unit_test(clamped),
        cmocka_unit_test(over_frequency),
        cmocka_unit_test(soft_rims),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
