/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Impulse responses against what they are made of: the response at real frequencies, the damped
 * modes, the time that sound takes; and what is refused.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../../src/field/reduced.h"
#include "rooms.h"

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    treated room;
    ebb_reduced *reduced;
    ebb_impulses got;
} fixture;

static const ebb_impulse_wish usual = {.rate = 1000, .seconds = 2, .low = 20, .high = 180};

/* A room of hard walls with a T60 near 0.9 s, or the treated one. */
static void open_room(fixture *f, bool is_treated)
{
    const double size[3] = {4.3, 3.4, 2.5};
    f->ctx = ebb_ctx_new();
    f->arena = ebb_arena_new(f->ctx);
    if (is_treated)
        treated_make(&f->room, 0.3);
    else
        treated_make_plain(&f->room, size, 0.02);
    f->room.geometry.richness = 0.3;
    f->reduced = project(f->ctx, &f->room.geometry);
}

static void close_room(fixture *f)
{
    ebb_reduced_free(f->reduced);
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
}

static void listen(fixture *f, const ebb_impulse_wish *wish)
{
    assert_ok(f->ctx, ebb_impulse(f->ctx, f->arena, f->reduced, &f->room.state, wish, &f->got));
}

static const double *path(const fixture *f, size_t source, size_t receiver)
{
    return f->got.pressure + (source * f->got.n_receivers + receiver) * f->got.n;
}

/* The Fourier integral of samples at a real frequency. */
static double _Complex transform(size_t n, double rate, const double *p, double hz)
{
    double _Complex sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += p[i] * cexp(-2 * PI * I * hz * (double)i / rate);
    return sum / rate;
}

/* ---- the response it came from --------------------------------------------------------------- */

static void check_spectrum(fixture *f, const ebb_impulse_wish *wish, double tolerance)
{
    listen(f, wish);
    size_t n, n_hz;
    double _Complex *h = respond(f->ctx, f->reduced, &f->room.state, 7, &n);
    double *hz = sweep_hz(20, 200, 7, &n_hz), worst = 0;
    const size_t n_paths = f->got.n_sources * f->got.n_receivers;
    assert_int_equal(n, n_paths * n_hz);
    for (size_t p = 0; p < n_paths; p++)
        for (size_t i = 0; i < n_hz; i++) {
            const double _Complex want = h[p * n_hz + i] * ebb_impulse_filter(wish, 2 * PI * hz[i]);
            const double _Complex is =
                transform(f->got.n, wish->rate, f->got.pressure + p * f->got.n, hz[i]);
            worst = fmax(worst, cabs(is - want) / cabs(want));
        }
    assert_below(worst, tolerance);
    assert_below(f->got.before, 1e-8);
    free(h);
    free(hz);
}

static void its_transform_is_the_filtered_response(void **unused)
{
    (void)unused;
    ebb_impulse_wish wish = usual;
    fixture f;
    wish.seconds = 3;
    open_room(&f, false);
    check_spectrum(&f, &wish, 2e-4);
    wish = (ebb_impulse_wish){.rate = 4000, .seconds = 3, .high = 150};
    check_spectrum(&f, &wish, 2e-4);
    close_room(&f);
    open_room(&f, true);
    wish = usual;
    wish.flat = true;
    check_spectrum(&f, &wish, 2e-4);
    close_room(&f);
}

/* ---- time ------------------------------------------------------------------------------------ */

static double distance(const ebb_vec3 *a, const ebb_vec3 *b)
{
    return sqrt(pow(a->x - b->x, 2) + pow(a->y - b->y, 2) + pow(a->z - b->z, 2));
}

/* Nothing may be heard before sound has come the shortest way. What is there is what the basis
 * lacks, at frequencies that the low-pass has not taken away. */
static void nothing_comes_before_sound_can(void **unused)
{
    (void)unused;
    for (int which = 0; which < 2; which++) {
        fixture f;
        open_room(&f, which == 1);
        ebb_impulse_wish wish = usual;
        wish.rate = 4000;
        wish.flat = true;
        listen(&f, &wish);
        for (size_t s = 0; s < f.got.n_sources; s++)
            for (size_t r = 0; r < f.got.n_receivers; r++) {
                const double *p = path(&f, s, r);
                const double way = distance(&f.room.state.sources[s], &f.room.state.receivers[r]);
                double early = 0, largest = 0;
                for (size_t i = 0; i < f.got.n; i++) {
                    largest = fmax(largest, fabs(p[i]));
                    if ((double)i / wish.rate < way / test_air.speed)
                        early = fmax(early, fabs(p[i]));
                }
                assert_below(early / largest, 1e-3);
            }
        close_room(&f);
    }
}

/* Late in time nothing is left but damped modes, each with its residue. */
static void late_in_time_it_is_the_sum_of_the_modes(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, false);
    ebb_impulse_wish wish = usual;
    wish.high = 120; /* modes are known up to 250 Hz, and there are many above */
    listen(&f, &wish);
    ebb_modes *modes;
    assert_ok(f.ctx, ebb_modes_new(f.ctx, f.reduced, &f.room.state, 10, 250, &modes));
    const size_t n_paths = f.got.n_sources * f.got.n_receivers;
    double worst = 0;
    for (size_t p = 0; p < n_paths; p++) {
        double error = 0, all = 0;
        for (size_t i = 300; i < 1500; i++) {
            double sum = 0;
            for (size_t m = 0; m < modes->n; m++) {
                const double _Complex omega = 2 * PI * modes->mode[m].hz + I * modes->mode[m].delta;
                sum +=
                    2 * creal(modes->residue[m * n_paths + p] * ebb_impulse_filter(&wish, omega) *
                              cexp(I * omega * (double)i / wish.rate));
            }
            all += pow(f.got.pressure[p * f.got.n + i], 2);
            error += pow(f.got.pressure[p * f.got.n + i] - sum, 2);
        }
        worst = fmax(worst, sqrt(error / all));
    }
    assert_below(worst, 1e-3);
    ebb_modes_free(modes);
    close_room(&f);
}

/* ---- decay ----------------------------------------------------------------------------------- */

/* Level of what is still to come (Schroeder 1965) after a filter around one frequency whose answer
 * is a bell of `width` seconds. */
static void backward(size_t n, double rate, const double *p, double hz, double width, double *db)
{
    double sum = 0;
    for (size_t i = n; i-- > 0;) {
        double _Complex y = 0;
        const long reach = (long)(6 * width * rate);
        for (long j = -reach; j <= reach; j++) {
            const long at = (long)i - j;
            const double t = (double)j / rate;
            if (at >= 0 && at < (long)n)
                y += p[at] * exp(-t * t / (2 * width * width)) * cexp(2 * PI * I * hz * t);
        }
        sum += creal(y) * creal(y);
        db[i] = 10 * log10(sum);
    }
}

/* Slope of the levels from 10 to 40 dB below the first, dB/s, by least squares. */
static double slope(size_t n, double rate, const double *db)
{
    double m = 0, st = 0, sl = 0, stt = 0, stl = 0;
    for (size_t i = 0; i < n; i++) {
        const double t = (double)i / rate, level = db[i] - db[0];
        if (level > -10 || level < -40)
            continue;
        m++;
        st += t;
        sl += level;
        stt += t * t;
        stl += t * level;
    }
    return (m * stl - st * sl) / (m * stt - st * st);
}

static void one_mode_decays_as_it_should(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, false);
    ebb_impulse_wish wish = usual;
    wish.low = 10;
    listen(&f, &wish);
    ebb_modes *modes;
    assert_ok(f.ctx, ebb_modes_new(f.ctx, f.reduced, &f.room.state, 20, 60, &modes));
    assert_true(modes->n >= 2 && modes->mode[1].hz - modes->mode[0].hz > 8);
    double *db = malloc(f.got.n * sizeof *db);
    backward(f.got.n, wish.rate, path(&f, 0, 0), modes->mode[0].hz, 0.06, db);
    const double delta = -slope(f.got.n, wish.rate, db) / (20 * log10(exp(1)));
    assert_close(delta, modes->mode[0].delta, 0.02);
    free(db);
    ebb_modes_free(modes);
    close_room(&f);
}

/* ---- properties ------------------------------------------------------------------------------ */

static void speaker_and_seat_may_change_places(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, true);
    ebb_impulse_wish wish = usual;
    wish.seconds = 0.5;
    listen(&f, &wish);
    const ebb_impulses there = f.got;
    ebb_state *state = &f.room.state;
    const ebb_vec3 *sources = state->sources;
    state->sources = state->receivers;
    state->receivers = sources;
    state->n_sources = there.n_receivers;
    state->n_receivers = there.n_sources;
    listen(&f, &wish);
    double largest = 0, worst = 0;
    for (size_t s = 0; s < there.n_sources; s++)
        for (size_t r = 0; r < there.n_receivers; r++)
            for (size_t i = 0; i < there.n; i++) {
                const double one = there.pressure[(s * there.n_receivers + r) * there.n + i];
                worst = fmax(worst, fabs(path(&f, r, s)[i] - one));
                largest = fmax(largest, fabs(one));
            }
    assert_true(largest > 0);
    assert_below(worst / largest, 1e-9);
    close_room(&f);
}

/* How long a piece is asked for, and at how many samples, does not matter to the sound. */
static void length_and_rate_do_not_matter(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, true);
    ebb_impulse_wish wish = usual;
    listen(&f, &wish);
    const ebb_impulses whole = f.got;
    wish.seconds = 0.7;
    wish.rate = 3000;
    listen(&f, &wish);
    assert_int_equal(f.got.n, 2100);
    double largest = 0, worst = 0;
    for (size_t i = 0; i < 700; i++) {
        largest = fmax(largest, fabs(whole.pressure[i]));
        worst = fmax(worst, fabs(whole.pressure[i] - f.got.pressure[3 * i]));
    }
    assert_below(worst / largest, 1e-4);
    close_room(&f);
}

static void filters_are_what_they_say(void **unused)
{
    (void)unused;
    const ebb_impulse_wish wish = {.low = 20, .high = 160};
    const double half = sqrt(0.5);
    assert_near(cabs(ebb_impulse_filter(&wish, 2 * PI * 160)), half, 1e-6);
    assert_near(cabs(ebb_impulse_filter(&wish, 2 * PI * 20)), half, 1e-6);
    assert_near(cabs(ebb_impulse_filter(&wish, 2 * PI * 60)), 1, 1e-4);
    assert_near(20 * log10(cabs(ebb_impulse_filter(&wish, 2 * PI * 240))), -56.35, 0.01);
    assert_near(20 * log10(cabs(ebb_impulse_filter(&wish, 2 * PI * 2))), -80, 0.01);
    ebb_impulse_wish flat = wish;
    flat.flat = true;
    const double _Complex omega = 300 - 5 * I;
    assert_close(ebb_impulse_filter(&flat, omega) * I * omega, ebb_impulse_filter(&wish, omega),
                 1e-12);
}

/* ---- refusals -------------------------------------------------------------------------------- */

static void bad_wishes_are_refused(void **unused)
{
    (void)unused;
    const ebb_impulse_wish bad[] = {
        {.rate = 1000, .seconds = 1, .low = 20, .high = 201},
        {.rate = 1000, .seconds = 1, .low = 20, .high = 0},
        {.rate = 1000, .seconds = 1, .low = 20, .high = NAN},
        {.rate = 1000, .seconds = 1, .low = 180, .high = 180},
        {.rate = 1000, .seconds = 1, .low = -1, .high = 180},
        {.rate = 1000, .seconds = 1, .low = 0, .high = 180, .flat = true},
        {.rate = 899, .seconds = 1, .low = 20, .high = 180},
        {.rate = 200000, .seconds = 1, .low = 20, .high = 180},
        {.rate = NAN, .seconds = 1, .low = 20, .high = 180},
        {.rate = 1000, .seconds = 0.01, .low = 20, .high = 180},
        {.rate = 1000, .seconds = 31, .low = 20, .high = 180},
        {.rate = 192000, .seconds = 25, .low = 20, .high = 180},
        {.rate = 1000, .seconds = NAN, .low = 20, .high = 180},
    };
    fixture f;
    f.ctx = ebb_ctx_new();
    f.arena = ebb_arena_new(f.ctx);
    treated_make_tiny(&f.room);
    f.room.geometry.highest = 200;
    f.reduced = project(f.ctx, &f.room.geometry);
    for (size_t i = 0; i < COUNT(bad); i++) {
        memset(&f.got, 1, sizeof f.got);
        assert_int_equal(ebb_impulse(f.ctx, f.arena, f.reduced, &f.room.state, &bad[i], &f.got),
                         EBB_E_RANGE);
        assert_int_equal(ebb_ctx_errors(f.ctx), i + 1);
        assert_true(f.got.n == 0 && !f.got.pressure);
    }
    f.room.point[0].x = 9; /* outside */
    assert_int_equal(ebb_impulse(f.ctx, f.arena, f.reduced, &f.room.state, &usual, &f.got),
                     EBB_E_RANGE);
    assert_null(f.got.pressure);
    close_room(&f);
}

/* Walls that answer before they are asked: an admittance with a constant imaginary part. */
static void what_can_not_be_is_told(void **unused)
{
    (void)unused;
    fixture f;
    open_room(&f, false);
    f.room.hard = constant(0.02 + 0.3 * I);
    ebb_impulse_wish wish = usual;
    wish.low = 0;
    listen(&f, &wish);
    assert_true(f.got.before > 1e-5);
    assert_int_equal(ebb_ctx_messages(f.ctx), 1);
    assert_int_equal(ebb_ctx_errors(f.ctx), 0);
    close_room(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(its_transform_is_the_filtered_response),
        cmocka_unit_test(nothing_comes_before_sound_can),
        cmocka_unit_test(late_in_time_it_is_the_sum_of_the_modes),
        cmocka_unit_test(one_mode_decays_as_it_should),
        cmocka_unit_test(speaker_and_seat_may_change_places),
        cmocka_unit_test(length_and_rate_do_not_matter),
        cmocka_unit_test(filters_are_what_they_say),
        cmocka_unit_test(bad_wishes_are_refused),
        cmocka_unit_test(what_can_not_be_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
