/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ebb/air.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include "../expect.h"

static int new_context(void **state)
{
    *state = ebb_ctx_new();
    return *state ? 0 : -1;
}

static int free_context(void **state)
{
    ebb_ctx_free(*state);
    return 0;
}

static void fields_belong_together(void **state)
{
    for (double t = 0; t <= 30; t += 5)
        for (double h = 0; h <= 1; h += 0.25)
            for (double p = 75e3; p <= 102e3; p += 9e3) {
                ebb_air air;
                assert_int_equal(ebb_air_at(*state, t, h, p, &air), EBB_OK);
                assert_true(air.temperature == t && air.humidity == h && air.pressure == p);
                assert_near(air.density * air.speed * air.speed, air.gamma * p, 1e-9 * p);
                assert_near(air.gamma, 1.4, 0.005);
                /* near the ideal dry gas */
                assert_near(air.speed, 331.3 * sqrt(1 + t / 273.15), 3.5);
                assert_near(air.density, p / (287.05 * (t + 273.15)), 0.03 * air.density);
            }
    assert_int_equal(ebb_ctx_messages(*state), 0);
}

static void moisture_makes_air_lighter_and_faster(void **state)
{
    ebb_air dry, moist;
    ebb_air_at(*state, 25, 0, 101325, &dry);
    ebb_air_at(*state, 25, 1, 101325, &moist);
    assert_true(moist.speed > dry.speed + 1);
    assert_true(moist.density < dry.density - 0.01);
}

static void warned_outside_the_formula(void **state)
{
    static const double outside[][3] = {
        {-5, 0.5, 101325}, {40, 0.2, 101325}, {20, 0.5, 70e3}, {20, 0.5, 105e3}, {30, 1, 60e3}};
    for (size_t i = 0; i < sizeof outside / sizeof outside[0]; i++) {
        ebb_air air;
        ebb_ctx_clear(*state);
        assert_int_equal(ebb_air_at(*state, outside[i][0], outside[i][1], outside[i][2], &air),
                         EBB_OK);
        assert_true(air.speed > 300 && air.density > 0.6);
        assert_int_equal(ebb_ctx_errors(*state), 0);
        assert_int_equal(ebb_ctx_messages(*state), 1);
        assert_non_null(strstr(ebb_ctx_message(*state, 0)->text, "0..30 C and 75..102 kPa"));
    }
}

static void refused_far_outside(void **state)
{
    static const struct {
        double t, h, p;
        const char *says;
    } bad[] = {{-11, 0.5, 101325, "temperature -11 C"}, {46, 0.5, 101325, "temperature 46 C"},
               {NAN, 0.5, 101325, "temperature"},       {20, -0.01, 101325, "humidity -1 %"},
               {20, 1.5, 101325, "humidity 150 %"},     {20, 0.5, 101.325, "pressure 0.101325 kPa"},
               {20, 0.5, 111e3, "pressure 111 kPa"}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ebb_air air = {.speed = 1};
        ebb_ctx_clear(*state);
        assert_int_equal(ebb_air_at(*state, bad[i].t, bad[i].h, bad[i].p, &air), EBB_E_RANGE);
        assert_true(air.speed == 0 && air.density == 0);
        assert_int_equal(ebb_ctx_errors(*state), 1);
        assert_non_null(strstr(ebb_ctx_message(*state, 0)->text, bad[i].says));
    }
}

static void given_values_are_kept(void **state)
{
    ebb_air air, room;
    assert_int_equal(ebb_air_given(*state, 343, 1.204, &air), EBB_OK);
    assert_true(air.speed == 343 && air.density == 1.204 && air.gamma == 1.4);
    assert_near(air.gamma * air.pressure, 1.204 * 343 * 343, 1e-6);
    assert_int_equal(ebb_air_at(*state, 20, 0.5, 101325, &room), EBB_OK);
    assert_true(air.temperature == 20 && air.humidity == 0.5);
    assert_near(air.viscosity, room.viscosity, 1e-18);
    assert_near(air.prandtl, room.prandtl, 0);
    assert_near(ebb_air_loss(&air, 4000), ebb_air_loss(&room, 4000),
                0.01 * ebb_air_loss(&room, 4000));
}

static void given_values_are_checked(void **state)
{
    static const double bad[][2] = {{299, 1.2}, {381, 1.2}, {NAN, 1.2},
                                    {343, 0.6}, {343, 1.7}, {343, NAN}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        ebb_air air = {.speed = 1};
        ebb_ctx_clear(*state);
        assert_int_equal(ebb_air_given(*state, bad[i][0], bad[i][1], &air), EBB_E_RANGE);
        assert_true(air.speed == 0);
        assert_int_equal(ebb_ctx_errors(*state), 1);
    }
}

static void loss_rises_with_frequency(void **state)
{
    ebb_air air;
    ebb_air_at(*state, 20, 0.5, 101325, &air);
    for (double hz = 20; hz < 20000; hz *= 1.3)
        assert_true(ebb_air_loss(&air, 1.3 * hz) > ebb_air_loss(&air, hz));
    /* far below both relaxations the loss goes with the square of frequency */
    assert_near(ebb_air_loss(&air, 2) / ebb_air_loss(&air, 1), 4, 0.01);
}

#define TEST(f) cmocka_unit_test_setup_teardown(f, new_context, free_context)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(fields_belong_together),     TEST(moisture_makes_air_lighter_and_faster),
        TEST(warned_outside_the_formula), TEST(refused_far_outside),
        TEST(given_values_are_kept),      TEST(given_values_are_checked),
        TEST(loss_rises_with_frequency),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
