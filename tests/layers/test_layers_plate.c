/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Plates: against a dense solution written here with other functions, closed forms, scaling.
 */
#include <ebb/cabinet.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include <lapacke.h>

#include "check.h"
#include "samples.h"

#define N 8       /* functions per side in the dense solution */
#define POINTS 24 /* of its quadrature, exact for their products */

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

static ebb_plate *make(fixture *f, const double side[2], const ebb_board *board, double added,
                       const ebb_mount *mount, size_t order)
{
    ebb_plate *plate;
    const ebb_status status =
        ebb_plate_make(f->ctx, f->arena, side, board, added, mount, order, &plate);
    if (status != EBB_OK)
        fail_msg("%s", ebb_ctx_message(f->ctx, 0)->text);
    return plate;
}

static const ebb_board ply = {"", 0.006, 680, 6e9, 0.3, 0.02};

/* ---- dense solution: cosines and powers would be as good; here plain Legendre polynomials from
 * their recurrence, all integrals by Gauss quadrature, no scaling, a dense complex solve ---------
 */

typedef struct sampled {
    double f[N][POINTS + 2], d[N][POINTS + 2], dd[N][POINTS + 2]; /* last two: end and middle */
    double weight[POINTS];
} sampled;

static void legendre(int degree, double x, double out[3])
{
    double p[40] = {1, x}, d[40] = {0, 1}, e[40] = {0, 0};
    for (int n = 2; n <= degree; n++) {
        p[n] = ((2 * n - 1) * x * p[n - 1] - (n - 1) * p[n - 2]) / n;
        d[n] = d[n - 2] + (2 * n - 1) * p[n - 1];
        e[n] = e[n - 2] + (2 * n - 1) * d[n - 1];
    }
    out[0] = p[degree];
    out[1] = d[degree];
    out[2] = e[degree];
}

static double gauss_node(int i, double *weight)
{
    double x = cos(PI * (i + 0.75) / (POINTS + 0.5)), out[3];
    for (int step = 0; step < 60; step++) {
        legendre(POINTS, x, out);
        x -= out[0] / out[1];
    }
    legendre(POINTS, x, out);
    *weight = 2 / ((1 - x * x) * out[1] * out[1]);
    return x;
}

static void sample(sampled *s)
{
    for (int i = 0; i < POINTS + 2; i++) {
        const double x = i < POINTS ? gauss_node(i, &s->weight[i]) : i == POINTS ? 1 : 0;
        for (int k = 0; k < N; k++) {
            double out[3];
            legendre(2 * k, x, out);
            s->f[k][i] = out[0];
            s->d[k][i] = out[1];
            s->dd[k][i] = out[2];
        }
    }
}

static double integral(const sampled *s, const double *a, const double *b)
{
    double sum = 0;
    for (int i = 0; i < POINTS; i++)
        sum += s->weight[i] * a[i] * b[i];
    return sum;
}

/* Stiffness entry between x-functions i, k and y-functions j, l on a plate a x b. */
static double _Complex entry(const sampled *s, const int at[4], const double side[2],
                             const ebb_board *board, const ebb_mount *mount)
{
    const int i = at[0], j = at[1], k = at[2], l = at[3];
    const double a = side[0], b = side[1], nu = board->poisson;
    const double bending = board->modulus * pow(board->thickness, 3) / 12 / (1 - nu * nu);
    const double x00 = integral(s, s->f[i], s->f[k]) * a / 2;
    const double y00 = integral(s, s->f[j], s->f[l]) * b / 2;
    const double x11 = integral(s, s->d[i], s->d[k]) * 2 / a;
    const double y11 = integral(s, s->d[j], s->d[l]) * 2 / b;
    const double x22 = integral(s, s->dd[i], s->dd[k]) * pow(2 / a, 3);
    const double y22 = integral(s, s->dd[j], s->dd[l]) * pow(2 / b, 3);
    const double x20 = integral(s, s->dd[i], s->f[k]) * 2 / a;
    const double x02 = integral(s, s->f[i], s->dd[k]) * 2 / a;
    const double y20 = integral(s, s->dd[j], s->f[l]) * 2 / b;
    const double y02 = integral(s, s->f[j], s->dd[l]) * 2 / b;
    const double plate =
        bending * (x22 * y00 + x00 * y22 + nu * (x20 * y02 + x02 * y20) + 2 * (1 - nu) * x11 * y11);
    const double move =
        2 * (s->f[i][POINTS] * s->f[k][POINTS] * y00 + s->f[j][POINTS] * s->f[l][POINTS] * x00);
    const double turn = 2 * (s->d[i][POINTS] * s->d[k][POINTS] * 4 / (a * a) * y00 +
                             s->d[j][POINTS] * s->d[l][POINTS] * 4 / (b * b) * x00);
    return plate * (1 + I * board->loss) +
           (mount->stiffness * move + mount->rotation * turn) * (1 + I * mount->loss);
}

/* Mean (0) and centre (1) velocity per pressure. */
static void dense(const sampled *s, const double side[2], const ebb_board *board, double mass,
                  const ebb_mount *mount, double hz, double _Complex y[2])
{
    static double _Complex matrix[N * N * N * N], right[N * N], load[N * N];
    const double area = side[0] * side[1], omega = TWO_PI * hz;
    lapack_int pivot[N * N];
    for (int p = 0; p < N * N; p++) {
        for (int q = 0; q < N * N; q++) {
            const int at[4] = {p / N, p % N, q / N, q % N};
            const double same = integral(s, s->f[at[0]], s->f[at[2]]) *
                                integral(s, s->f[at[1]], s->f[at[3]]) * area / 4;
            matrix[p * N * N + q] = entry(s, at, side, board, mount) - omega * omega * mass * same;
        }
        load[p] = right[p] = p == 0 ? area : 0;
    }
    assert_int_equal(LAPACKE_zgesv(LAPACK_ROW_MAJOR, N * N, 1, matrix, N * N, pivot, right, 1), 0);
    y[0] = y[1] = 0;
    for (int p = 0; p < N * N; p++) {
        y[0] += I * omega * load[p] * right[p] / area;
        y[1] += I * omega * s->f[p / N][POINTS + 1] * s->f[p % N][POINTS + 1] * right[p];
    }
}

static void agrees_with_a_dense_solution(void **state)
{
    static sampled s;
    static const struct {
        double side[2];
        ebb_mount mount;
        double added, tolerance;
    } value[] = {
        {{0.5, 1.1}, {2e3, 0, 0.2}, 0, 1e-6},   /* soft rim, other loss than the panel's */
        {{0.7, 0.4}, {2e5, 5, 0.3}, 2.5, 2e-3}, /* rim as stiff as the panel */
        {{0.6, 0.6}, {1e9, 1e7, 0.02}, 0, 1e-8} /* clamped, one loss */
    };
    sample(&s);
    for (size_t i = 0; i < sizeof value / sizeof *value; i++) {
        const ebb_plate *plate =
            make(*state, value[i].side, &ply, value[i].added, &value[i].mount, N);
        for (double hz = 5; hz < 350; hz *= 1.9) {
            double _Complex y[2];
            dense(&s, value[i].side, &ply, 0.006 * 680 + value[i].added, &value[i].mount, hz, y);
            assert_close(ebb_plate_mobility(plate, 1, TWO_PI * hz), y[0], value[i].tolerance);
            assert_close(ebb_plate_centre(plate, 1, TWO_PI * hz), y[1], 10 * value[i].tolerance);
        }
    }
}

/* ---- limits ---------------------------------------------------------------------------------- */

static void one_function_is_a_piston(void **state)
{
    const double side[2] = {0.4, 0.9};
    const ebb_mount mount = {3e3, 50, 0.25};
    const ebb_plate *plate = make(*state, side, &ply, 1.5, &mount, 1);
    const double m = 0.006 * 680 + 1.5, k = 3e3 * 2 * (0.4 + 0.9) / (0.4 * 0.9);
    const double _Complex jw = I * TWO_PI * 33;
    assert_int_equal(plate->n, 1);
    assert_near(plate->mass, m, 1e-12);
    assert_close(ebb_plate_mobility(plate, 1, TWO_PI * 33), 1 / (jw * m + k * (1 + 0.25 * I) / jw),
                 1e-13);
    assert_close(ebb_plate_centre(plate, 1, TWO_PI * 33), ebb_plate_mobility(plate, 1, TWO_PI * 33),
                 1e-14);
}

/* Shares that add to 1 are what makes a plate its mass far above its modes. */
static void shares_add_to_one(void **state)
{
    fixture *f = *state;
    uint64_t random = 5;
    for (int trial = 0; trial < 60; trial++) {
        const double side[2] = {draw_log(&random, 0.1, 3), draw_log(&random, 0.1, 3)};
        const ebb_board board = {"",
                                 draw_log(&random, 1e-3, 0.05),
                                 draw_log(&random, 100, 8000),
                                 draw_log(&random, 1e8, 2e11),
                                 0.45 * draw(&random),
                                 0.2 * draw(&random)};
        const ebb_mount mount = {draw_log(&random, 1e2, 1e8), draw_log(&random, 1e-2, 1e5),
                                 0.4 * draw(&random)};
        const ebb_plate *plate =
            make(f, side, &board, 5 * draw(&random), &mount, 3 + (size_t)(8 * draw(&random)));
        double _Complex mean = 0, middle = 0;
        for (size_t k = 0; k < plate->n; k++) {
            mean += plate->share[k];
            middle += plate->middle[k];
            assert_true(creal(plate->lambda[k]) > 0 && cimag(plate->lambda[k]) >= 0);
            assert_true(k == 0 || creal(plate->lambda[k]) >= creal(plate->lambda[k - 1]));
        }
        assert_close(mean, 1, 1e-8);
        assert_close(middle, 1, 1e-6);
        for (int i = 0; i < 20; i++) {
            const double omega = TWO_PI * draw_log(&random, 1, 3000);
            const double _Complex y = ebb_plate_mobility(plate, 1, omega);
            if (!(creal(y) >= -1e-9 * cabs(y)))
                fail_msg("plate %d gives energy: %g%+gj", trial, creal(y), cimag(y));
        }
    }
}

static void a_stiff_panel_on_a_soft_rim_moves_as_one(void **state)
{
    const double side[2] = {0.5, 0.6};
    const ebb_board steel = {"", 0.01, 7800, 2e11, 0.3, 0.01};
    const ebb_mount mount = {1e4, 0, 0.1};
    const ebb_plate *plate = make(*state, side, &steel, 0, &mount, 8);
    const double k = 1e4 * 2 * 1.1 / 0.3;
    assert_near(creal(plate->share[0]), 1, 1e-4);
    assert_near(sqrt(creal(plate->lambda[0]) / (k / 78)), 1, 1e-3);
    assert_close(ebb_plate_mobility(plate, 1, TWO_PI * 2000), 1 / (I * TWO_PI * 2000 * 78), 0.01);
}

static void stiffness_and_size_scale(void **state)
{
    const double side[2] = {0.5, 1.1}, turned[2] = {1.1, 0.5};
    const ebb_mount mount = {2e4, 3, 0.2}, twice = {4e4, 6, 0.2};
    ebb_board stiffer = ply;
    stiffer.modulus *= 2;
    const ebb_plate *one = make(*state, side, &ply, 1, &mount, 7);
    const ebb_plate *two = make(*state, side, &stiffer, 1, &twice, 7);
    const ebb_plate *other = make(*state, turned, &ply, 1, &mount, 7);
    for (double hz = 7; hz < 300; hz *= 1.7) {
        const double _Complex omega = TWO_PI * hz + 3 * I;
        assert_close(ebb_plate_mobility(one, 2, omega), ebb_plate_mobility(two, 1, omega), 1e-9);
        assert_close(ebb_plate_centre(one, 2, omega), ebb_plate_centre(two, 1, omega), 1e-8);
        assert_close(ebb_plate_mobility(one, 1, omega), ebb_plate_mobility(other, 1, omega), 1e-7);
    }
}

static void a_layer_in_a_chain(void **state)
{
    const double side[2] = {0.5, 1.1};
    const ebb_mount mount = {2e4, 0, 0.2};
    const ebb_plate *plate = make(*state, side, &ply, 1, &mount, 7);
    const ebb_layer layers[2] = {{.kind = EBB_LAYER_FRONT, .plate = plate},
                                 {.kind = EBB_LAYER_AIR, .thickness = 0.2}};
    const double _Complex omega = TWO_PI * 45;
    const double rho_c = sample_air.density * sample_air.speed;
    const double _Complex gap = rho_c / (I * ctan(omega * 0.2 / sample_air.speed));
    assert_close(impedance(layers, 2, EBB_BACK_RIGID, omega) * rho_c,
                 1 / ebb_plate_mobility(plate, 1, omega) + gap, 1e-11);
    const ebb_assembly assembly = stack(layers, 2, EBB_BACK_RIGID);
    assert_near(ebb_assembly_mass(&assembly), 0.006 * 680 + 1, 1e-12);
    const ebb_layer bare = {.kind = EBB_LAYER_FRONT};
    const ebb_assembly missing = stack(&bare, 1, EBB_BACK_RIGID);
    assert_int_equal(ebb_assembly_check(NULL, &missing), EBB_E_RANGE);
}

static void bad_plates_are_refused(void **state)
{
    fixture *f = *state;
    const struct {
        double side, thickness, poisson, added, stiffness;
        size_t order;
        const char *says;
    } value[] = {{0, 0.006, 0.3, 0, 1e3, 8, "first side is 0"},
                 {0.5, 0, 0.3, 0, 1e3, 8, "thickness is 0"},
                 {0.5, NAN, 0.3, 0, 1e3, 8, "thickness is nan"},
                 {0.5, 0.006, 0.5, 0, 1e3, 8, "poisson is 0.5"},
                 {0.5, 0.006, 0.3, -1, 1e3, 8, "added mass is -1"},
                 {0.5, 0.006, 0.3, 0, 0, 8, "mount stiffness is 0"},
                 {0.5, 0.006, 0.3, 0, 1e3, 0, "number of functions is 0"},
                 {0.5, 0.006, 0.3, 0, 1e3, 11, "number of functions is 11"}};
    for (size_t i = 0; i < sizeof value / sizeof *value; i++) {
        const double side[2] = {value[i].side, 1};
        const ebb_board board = {"", value[i].thickness, 680, 6e9, value[i].poisson, 0.02};
        const ebb_mount mount = {value[i].stiffness, 0, 0.1};
        ebb_plate *plate = (ebb_plate *)f;
        ebb_ctx_clear(f->ctx);
        assert_int_equal(ebb_plate_make(f->ctx, f->arena, side, &board, value[i].added, &mount,
                                        value[i].order, &plate),
                         EBB_E_RANGE);
        assert_null(plate);
        if (!strstr(ebb_ctx_message(f->ctx, 0)->text, value[i].says))
            fail_msg("\"%s\" does not say \"%s\"", ebb_ctx_message(f->ctx, 0)->text, value[i].says);
    }
}

static void rims_from_strips(void **unused)
{
    (void)unused;
    /* E t^3/b^3 and E w/t by hand */
    assert_near(ebb_mount_bending(2e6, 0.002, 0.02), 2e3, 1e-9);
    assert_near(ebb_mount_pressed(2e5, 0.01, 0.01), 2e5, 1e-9);
    assert_near(ebb_mount_pressed(2e5, 0.02, 0.01), 1e5, 1e-9);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agrees_with_a_dense_solution),
        cmocka_unit_test(one_function_is_a_piston),
        cmocka_unit_test(shares_add_to_one),
        cmocka_unit_test(a_stiff_panel_on_a_soft_rim_moves_as_one),
        cmocka_unit_test(stiffness_and_size_scale),
        cmocka_unit_test(a_layer_in_a_chain),
        cmocka_unit_test(bad_plates_are_refused),
        cmocka_unit_test(rims_from_strips),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
