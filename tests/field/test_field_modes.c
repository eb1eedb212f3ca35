/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Damped modes: each is a root of the true problem, and together they are the response.
 */
#include "../../src/field/nonlinear.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#ifdef _OPENMP
#include <omp.h>
#endif

#include "rooms.h"

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    treated room;
    ebb_reduced *reduced;
    ebb_modes *modes;
} fixture;

/* Call after the room has been put together. */
static void open_modes(fixture *f, double low, double high)
{
    f->ctx = ebb_ctx_new();
    f->arena = ebb_arena_new(f->ctx);
    f->reduced = project(f->ctx, &f->room.geometry);
    assert_ok(f->ctx, ebb_modes_new(f->ctx, f->reduced, &f->room.state, low, high, &f->modes));
    assert_int_equal(ebb_ctx_messages(f->ctx), 0);
}

static void close_modes(fixture *f)
{
    ebb_modes_free(f->modes);
    ebb_reduced_free(f->reduced);
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
}

static double _Complex omega_of(const ebb_mode *mode)
{
    return 2 * PI * mode->hz + I * mode->delta;
}

/* ---- the equation ---------------------------------------------------------------------------- */

/* |T(w) x| over |w / c|^2 |x| for every mode: T from the state, not from the eigenvalue code. */
static double worst_residual(fixture *f)
{
    size_t size = f->reduced->size;
    ebb_operator op;
    double worst = 0;
    double _Complex *a = EBB_NEW(f->arena, double _Complex, size *size);
    assert_ok(f->ctx, ebb_operator_make(f->ctx, f->arena, f->reduced, &f->room.state, &op));
    for (size_t m = 0; m < f->modes->n; m++) {
        const double _Complex *x = f->modes->vector + m * size;
        double _Complex omega = omega_of(&f->modes->mode[m]);
        double residual = 0, norm = 0;
        ebb_operator_at(&op, &f->room.state.air, omega, a);
        for (size_t i = 0; i < size; i++) {
            double _Complex sum = 0;
            for (size_t j = 0; j < size; j++)
                sum += (i >= j ? a[j * size + i] : a[i * size + j]) * x[j];
            residual += creal(sum * conj(sum));
            norm += creal(x[i] * conj(x[i]));
        }
        worst = fmax(worst, sqrt(residual / norm) / pow(cabs(omega) / test_air.speed, 2));
    }
    return worst;
}

static const ebb_layer porous = {.kind = EBB_LAYER_POROUS,
                                 .thickness = 0.15,
                                 .resistivity = 6000,
                                 .porosity = 0.98,
                                 .tortuosity = 1};

static void modes_solve_the_true_problem(void **state)
{
    (void)state;
    fixture f;
    const ebb_assembly soft = on_rigid_back(&porous);
    treated_make(&f.room, 0.4);
    f.room.state.face[1] = &soft; /* depends on frequency in its own way */
    open_modes(&f, 20, 160);
    assert_true(f.modes->n > 20);
    assert_below(worst_residual(&f), 1e-6);
    close_modes(&f);
}

static void a_mode_is_described_consistently(void **state)
{
    (void)state;
    fixture f;
    treated_make(&f.room, 0.4);
    open_modes(&f, 30, 150);
    assert_int_equal(f.modes->n_sources, 2);
    assert_int_equal(f.modes->n_receivers, 3);
    assert_int_equal(f.modes->size, ebb_reduced_size(f.reduced));
    for (size_t m = 0; m < f.modes->n; m++) {
        const ebb_mode *mode = &f.modes->mode[m];
        assert_true(mode->hz >= 30 && mode->hz <= 150);
        assert_true(m == 0 || mode->hz >= mode[-1].hz);
        assert_true(mode->delta > 0);
        assert_close(mode->t60, 3 * log(10) / mode->delta, 1e-6);
        assert_close(mode->q, PI * mode->hz / mode->delta, 1e-12);
        assert_true(mode->share >= 0.3 && mode->share <= 1);
        assert_true(mode->likeness > 0 && mode->likeness <= 1 + 1e-12);
    }
    close_modes(&f);
}

/* ---- known rooms ----------------------------------------------------------------------------- */

/* Rigid modes in a band, in order. */
static size_t rigid_in_band(const ebb_reduced *reduced, double low, double high, const double **hz,
                            const int **label)
{
    size_t n, first = 0, count = 0;
    *hz = ebb_reduced_rigid(reduced, &n, label);
    while (first < n && (*hz)[first] < low)
        first++;
    while (first + count < n && (*hz)[first + count] <= high)
        count++;
    *hz += first;
    *label += 3 * first;
    return count;
}

static void hardly_damped_modes_are_the_rigid_ones(void **state)
{
    (void)state;
    static const double sizes[][3] = {{4.3, 3.4, 2.5}, {3, 3, 3}, {4, 2.5, 2.5}};
    for (size_t i = 0; i < COUNT(sizes); i++) {
        fixture f;
        const double *hz;
        const int *label;
        treated_make_plain(&f.room, sizes[i], 1e-3);
        f.room.geometry.richness = 0.5;
        treated_empty(&f.room);
        open_modes(&f, 20, 200);
        size_t n = rigid_in_band(f.reduced, 20, 200, &hz, &label);
        assert_int_equal(f.modes->n, n);
        for (size_t m = 0; m < n; m++)
            assert_close(f.modes->mode[m].hz, hz[m], 1e-5);
        close_modes(&f);
    }
}

/* Walls of small equal admittance: each label once, decay rates of first order. */
static void small_admittances_decay_as_first_order_says(void **state)
{
    (void)state;
    const double size[3] = {4.3, 3.4, 2.5};
    double beta[EBB_FACES];
    fixture f;
    treated_make_plain(&f.room, size, 1e-3);
    treated_empty(&f.room);
    f.room.geometry.richness = 0.6;
    open_modes(&f, 20, 200);
    for (int face = 0; face < EBB_FACES; face++)
        beta[face] = 1e-3;
    for (size_t m = 0; m < f.modes->n; m++) {
        const ebb_mode *mode = &f.modes->mode[m];
        assert_near(mode->hz, ebb_box_hz(size, mode->label, test_air.speed), 0.01);
        assert_true(mode->likeness > 0.99);
        assert_close(mode->delta, ebb_box_delta(size, mode->label, beta, test_air.speed), 1e-3);
    }
    close_modes(&f);
}

/* A cube keeps its multiplicities: (100) three times, (110) three times, (111) once. */
static void a_cube_keeps_equal_modes_apart(void **state)
{
    (void)state;
    static const double order[] = {1, 1, 1, 2, 2, 2, 3, 4, 4, 4};
    const double size[3] = {3, 3, 3};
    fixture f;
    treated_make_plain(&f.room, size, 0.02);
    treated_empty(&f.room);
    f.room.geometry.richness = 0.4;
    open_modes(&f, 40, 120);
    assert_int_equal(f.modes->n, COUNT(order));
    for (size_t m = 0; m < COUNT(order); m++)
        assert_close(f.modes->mode[m].hz, test_air.speed / 6 * sqrt(order[m]), 2e-3);
    for (size_t m = 1; m < 3; m++) /* each with a shape of its own */
        for (size_t l = 0; l < m; l++) {
            double _Complex overlap = 0;
            for (size_t i = 0; i < f.modes->size; i++)
                overlap += conj(f.modes->vector[l * f.modes->size + i]) *
                           f.modes->vector[m * f.modes->size + i];
            assert_below(cabs(overlap), 0.9);
        }
    close_modes(&f);
}

/* A strong front tuned to a mode splits it into two, below and above; both look like it. */
static void a_strong_unit_splits_a_mode(void **state)
{
    (void)state;
    fixture f;
    treated_make_tiny(&f.room);
    const double *size = f.room.geometry.size;
    const int axial[3] = {1, 0, 0};
    double hz = ebb_box_hz(size, axial, test_air.speed);
    f.room.state.face[5] = &f.room.hard;
    f.room.layer[1] = resonator(8, hz, 0.2);
    f.room.patch[0].piston = true;
    f.room.state.n_used = 1;
    open_modes(&f, 0.6 * hz, 1.2 * hz);
    size_t like = 0;
    double side[2] = {0, 0};
    for (size_t m = 0; m < f.modes->n; m++)
        if (memcmp(f.modes->mode[m].label, axial, sizeof axial) == 0 && like++ < 2)
            side[like - 1] = f.modes->mode[m].hz;
    assert_int_equal(like, 2);
    assert_true(side[0] < hz - 2 && side[1] > hz + 2);
    /* the coupling alone, of two equal oscillators: f (1 -+ kappa / 2), kappa^2 = rho S psi^2 c^2
     * P / (m w^2) with the mode's mean square over the front */
    double area = 0.36, volume = size[0] * size[1] * size[2];
    double kappa = sqrt(2 * test_air.density * pow(test_air.speed, 2) * area /
                        (8 * volume * pow(2 * PI * hz, 2)));
    assert_close((side[1] - side[0]) / hz, kappa, 0.1);
    close_modes(&f);
}

/* A large locally reacting resonant area has dozens of modes of its own; they are left out. */
static void modes_of_units_are_left_out(void **state)
{
    (void)state;
    fixture f;
    const double *hz;
    const int *label;
    treated_make(&f.room, 0.4);
    f.room.state.face[5] = &f.room.hard;
    f.room.patch[0] =
        (ebb_patch){.face = 2, .at = {0.4, 0.2}, .size = {2.4, 1.2}, .assembly = &f.room.low};
    f.room.state.n_used = 1;
    open_modes(&f, 30, 120);
    size_t n = rigid_in_band(f.reduced, 30, 120, &hz, &label);
    assert_true(f.modes->n >= n - 2 && f.modes->n <= n + 4);
    for (size_t m = 0; m < f.modes->n; m++)
        assert_true(f.modes->mode[m].share >= 0.3);
    close_modes(&f);
}

/* ---- residues -------------------------------------------------------------------------------- */

/* Sum over the modes of residue / (jw - s) and of the mirror poles. */
static double _Complex modal_sum(const ebb_modes *modes, size_t pair, double hz)
{
    size_t n_pairs = modes->n_sources * modes->n_receivers;
    double _Complex sum = 0, s = I * 2 * PI * hz;
    for (size_t m = 0; m < modes->n; m++) {
        double _Complex pole = I * omega_of(&modes->mode[m]),
                        r = modes->residue[m * n_pairs + pair];
        sum += r / (s - pole) + conj(r) / (s - conj(pole));
    }
    return sum;
}

/* What the modes leave of a response has no resonances: its bend from frequency to frequency is a
 * small part of the response's own. */
static void residues_are_those_of_the_response(void **state)
{
    (void)state;
    fixture f;
    const double size[3] = {4.3, 3.4, 2.5};
    treated_make_plain(&f.room, size, 0.01);
    const ebb_assembly soft = on_rigid_back(&porous);
    f.room.state.face[1] = &soft;
    f.room.geometry.richness = 0.6;
    open_modes(&f, 15, 240);
    enum { N_HZ = 181 };
    double hz[N_HZ];
    double _Complex h[6 * N_HZ], rest[N_HZ];
    for (int i = 0; i < N_HZ; i++)
        hz[i] = 30 + 0.9 * i;
    assert_ok(f.ctx, ebb_response(f.ctx, f.reduced, &f.room.state, N_HZ, hz, h));
    for (size_t pair = 0; pair < 6; pair++) {
        double whole = 0, left = 0;
        const double _Complex *own = h + pair * N_HZ;
        for (int i = 0; i < N_HZ; i++)
            rest[i] = own[i] - modal_sum(f.modes, pair, hz[i]);
        for (int i = 1; i < N_HZ - 1; i++) {
            whole += pow(cabs(own[i - 1] - 2 * own[i] + own[i + 1]), 2);
            left += pow(cabs(rest[i - 1] - 2 * rest[i] + rest[i + 1]), 2);
        }
        assert_below(sqrt(left / whole), 2e-3);
    }
    close_modes(&f);
}

/* ---- following ------------------------------------------------------------------------------- */

static void followed_modes_are_those_found_afresh(void **state)
{
    (void)state;
    static const ebb_variation vary = {1.02, 0.95, 1.1};
    const double scale[3] = {1.004, 0.997, 1.005};
    fixture f;
    treated_make(&f.room, 0.4);
    open_modes(&f, 20, 140);
    ebb_modes *fresh, *followed;
    memcpy(f.room.state.scale, scale, sizeof scale);
    f.room.state.n_vary = 1;
    f.room.state.vary = &vary;
    f.room.state.air.speed *= 1.003;
    assert_ok(f.ctx, ebb_modes_new(f.ctx, f.reduced, &f.room.state, 15, 160, &fresh));
    assert_ok(f.ctx, ebb_modes_follow(f.ctx, f.reduced, &f.room.state, f.modes, &followed));
    assert_int_equal(followed->n, f.modes->n);
    for (size_t m = 0; m < followed->n; m++) {
        double nearest = INFINITY, omega = cabs(omega_of(&followed->mode[m]));
        for (size_t i = 0; i < fresh->n; i++)
            nearest = fmin(nearest, cabs(omega_of(&fresh->mode[i]) - omega_of(&followed->mode[m])));
        assert_below(nearest / omega, 2e-5); /* twice the tolerance of following */
        /* moved, but not by more than the change allows */
        assert_close(followed->mode[m].hz, f.modes->mode[m].hz, 0.02);
        assert_true(fabs(followed->mode[m].delta - f.modes->mode[m].delta) > 1e-6);
    }
    ebb_modes_free(fresh);
    ebb_modes_free(followed);
    close_modes(&f);
}

static void following_nothing_new_changes_nothing(void **state)
{
    (void)state;
    fixture f;
    treated_make(&f.room, 0.3);
    open_modes(&f, 20, 140);
    ebb_modes *same;
    assert_ok(f.ctx, ebb_modes_follow(f.ctx, f.reduced, &f.room.state, f.modes, &same));
    assert_int_equal(same->n, f.modes->n);
    for (size_t m = 0; m < same->n; m++) {
        assert_close(omega_of(&same->mode[m]), omega_of(&f.modes->mode[m]), 1e-9);
        assert_memory_equal(same->mode[m].label, f.modes->mode[m].label, 3 * sizeof(int));
    }
    ebb_modes_free(same);
    close_modes(&f);
}

#ifdef _OPENMP
static void thread_count_does_not_matter(void **state)
{
    (void)state;
    fixture f;
    treated_make(&f.room, 0.3);
    int before = omp_get_max_threads();
    omp_set_num_threads(1);
    open_modes(&f, 20, 140);
    omp_set_num_threads(2);
    ebb_modes *two;
    assert_ok(f.ctx, ebb_modes_new(f.ctx, f.reduced, &f.room.state, 20, 140, &two));
    omp_set_num_threads(before);
    assert_int_equal(two->n, f.modes->n);
    for (size_t m = 0; m < two->n; m++)
        assert_close(omega_of(&two->mode[m]), omega_of(&f.modes->mode[m]), 1e-12);
    ebb_modes_free(two);
    close_modes(&f);
}
#endif

/* ---- what is refused ------------------------------------------------------------------------- */

static void bands_out_of_range_are_refused(void **state)
{
    (void)state;
    static const double bad[][2] = {{4, 100}, {50, 50}, {60, 50}, {20, 151}, {NAN, 100}, {20, NAN}};
    fixture f;
    treated_make_tiny(&f.room);
    open_modes(&f, 20, 150); /* 1.25 times the highest frequency of the closet */
    for (size_t i = 0; i < COUNT(bad); i++) {
        ebb_modes *none = f.modes;
        assert_int_equal(
            ebb_modes_new(f.ctx, f.reduced, &f.room.state, bad[i][0], bad[i][1], &none),
            EBB_E_RANGE);
        assert_null(none);
        assert_int_equal(ebb_ctx_errors(f.ctx), i + 1);
    }
    close_modes(&f);
}

static void modes_of_another_model_are_refused(void **state)
{
    (void)state;
    fixture f, other;
    treated_make_tiny(&f.room);
    treated_make_tiny(&other.room);
    other.room.geometry.richness = 0.6;
    open_modes(&f, 20, 140);
    open_modes(&other, 20, 140);
    assert_true(f.modes->size != other.modes->size);
    ebb_modes *none = f.modes;
    assert_int_equal(ebb_modes_follow(f.ctx, f.reduced, &f.room.state, other.modes, &none),
                     EBB_E_RANGE);
    assert_null(none);
    f.room.state.face[2] = NULL;
    assert_int_equal(ebb_modes_follow(f.ctx, f.reduced, &f.room.state, f.modes, &none),
                     EBB_E_RANGE);
    assert_null(none);
    close_modes(&other);
    close_modes(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(modes_solve_the_true_problem),
        cmocka_unit_test(a_mode_is_described_consistently),
        cmocka_unit_test(hardly_damped_modes_are_the_rigid_ones),
        cmocka_unit_test(small_admittances_decay_as_first_order_says),
        cmocka_unit_test(a_cube_keeps_equal_modes_apart),
        cmocka_unit_test(a_strong_unit_splits_a_mode),
        cmocka_unit_test(modes_of_units_are_left_out),
        cmocka_unit_test(residues_are_those_of_the_response),
        cmocka_unit_test(followed_modes_are_those_found_afresh),
        cmocka_unit_test(following_nothing_new_changes_nothing),
#ifdef _OPENMP
        cmocka_unit_test(thread_count_does_not_matter),
#endif
        cmocka_unit_test(bands_out_of_range_are_refused),
        cmocka_unit_test(modes_of_another_model_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
