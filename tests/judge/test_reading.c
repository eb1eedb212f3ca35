/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"

typedef struct desk {
    ebb_ctx *ctx;
    ebb_arena *arena;
    stage s;
    double _Complex h[4 * 160];
    ebb_reading reading;
} desk;

static void desk_open(desk *d, size_t n_sources, size_t n_receivers)
{
    memset(d, 0, sizeof *d);
    stage_make(&d->s, n_sources, n_receivers);
    d->ctx = ebb_ctx_new();
    d->arena = ebb_arena_new(d->ctx);
}

static void desk_close(desk *d)
{
    ebb_arena_free(d->arena);
    ebb_ctx_free(d->ctx);
}

static ebb_status desk_read(desk *d, const ebb_modes *modes)
{
    return ebb_reading_make(d->ctx, d->arena, &d->s.grid, &d->s.limits, EBB_USE_MUSIC, 60,
                            d->s.modes.n_sources, d->s.modes.n_receivers, d->h, modes, &d->reading);
}

/* p = j w gain: flat. */
static void fill_flat(desk *d, size_t path, double gain)
{
    for (size_t f = 0; f < d->s.grid.n_hz; f++)
        d->h[path * d->s.grid.n_hz + f] = 2 * pi * I * d->s.grid.hz[f] * gain;
}

static void flat_and_dry_is_right(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 2, 2);
    for (size_t p = 0; p < 4; p++)
        fill_flat(&d, p, 1 + (double)p);
    stage_mode(&d.s, 2, 0, 0, 0.2);
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
    assert_int_equal(d.reading.n_paths, 4);
    assert_near(d.reading.inside, 1, 0);
    assert_near(d.reading.worst_level, 0, 1e-12);
    assert_near(d.reading.wrong, 0, 0);
    assert_near(d.reading.lowest_right, d.s.grid.hz[d.s.grid.first], 0);
    assert_true(d.reading.right);
    for (size_t p = 0; p < 4; p++)
        assert_near(d.reading.mean[p] - d.reading.mean[0], 20 * log10(1 + (double)p), 1e-12);
    /* the share is what holds the margin down: 1 / 0.9 - 1 */
    assert_near(d.reading.margin, 1 / 0.9 - 1, 1e-12);
    assert_int_equal(ebb_ctx_messages(d.ctx), 0);
    desk_close(&d);
}

static void without_modes_decay_is_left_out(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    fill_flat(&d, 0, 1);
    assert_int_equal(desk_read(&d, NULL), EBB_OK);
    for (size_t b = 0; b < d.s.grid.n_bands; b++)
        assert_true(isnan(d.reading.decay[b]));
    assert_near(d.reading.worst_decay, 0, 0);
    assert_true(d.reading.right);
    desk_close(&d);
}

/* One mode at 68.6 Hz: its band and its neighbours ring, others hold no mode. */
static void a_ringing_mode_makes_its_bands_wrong(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    fill_flat(&d, 0, 1);
    stage_mode(&d.s, 2, 0, 0, 2.0);
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
    size_t cells = 0;
    double worst = 0;
    for (size_t b = 0; b < d.s.grid.n_bands; b++) {
        double hz = d.s.grid.band_hz[b],
               limit = ebb_decay_limit(&d.s.limits, EBB_USE_MUSIC, 60, hz);
        assert_near(d.reading.decay_limit[b], limit, 0);
        bool heard = hz > 60 && hz < 82; /* 63 and 80 Hz; 50 and 100 Hz lie too far off */
        assert_int_equal(isnan(d.reading.decay[b]), !heard);
        if (!heard)
            continue;
        assert_near(d.reading.decay[b], 2.0, 1e-8);
        worst = fmax(worst, 2.0 / limit);
        cells += 8;
    }
    assert_near(d.reading.worst_decay, worst, 1e-8);
    assert_near(d.reading.wrong_decay, (double)cells / (double)d.s.grid.n_cells, 1e-15);
    assert_near(d.reading.wrong, d.reading.wrong_decay, 0);
    assert_near(d.reading.wrong_level, 0, 0);
    assert_false(d.reading.right);
    assert_near(d.reading.margin, 1 - worst / 1.25, 1e-8);
    /* right from the first cell above the ringing bands */
    assert_near(d.reading.lowest_right, pow(10, 1.95), 1e-9);
    desk_close(&d);
}

/* A mode with the decay limit itself is not wrong, one just above is; the allowance works alike. */
static void limits_belong_to_the_right_side(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    fill_flat(&d, 0, 1);
    stage_mode(&d.s, 2, 0, 0, 0.5);
    d.s.limits.response_highest = d.s.limits.decay_highest = 80;
    ebb_grid_make(&d.s.limits, 80, &d.s.grid);
    fill_flat(&d, 0, 1);
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
    assert_int_equal(d.s.grid.n_cells, 1);
    assert_int_equal(d.s.grid.n_bands, 1);
    double limit = d.reading.decay_limit[0];
    const double factor[] = {0.999999, 1.000001, 1.249999, 1.250001};
    for (int i = 0; i < 4; i++) {
        d.s.mode[0].delta = 3 * log(10) / (limit * factor[i]);
        assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
        assert_near(d.reading.wrong, i == 0 ? 0 : 1, 0);
        assert_int_equal(d.reading.right, i < 3);
        assert_int_equal(d.reading.margin >= 0, i < 3);
    }
    desk_close(&d);
}

/* Limits moved onto what was read, and one step below it. */
static void each_part_of_the_core_rule_decides(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 2, 1);
    stage_box_modes(&d.s, 0.4);
    for (size_t p = 0; p < 2; p++)
        stage_response(&d.s, p, d.h + p * d.s.grid.n_hz);
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
    assert_false(d.reading.right);
    ebb_limits fits = d.s.limits;
    fits.response_inside = d.reading.inside;
    fits.response_worst = d.reading.worst_level;
    fits.decay_factor = d.reading.worst_decay;
    d.s.limits = fits;
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
    assert_true(d.reading.right);
    assert_near(d.reading.margin, 0, 0);
    for (int part = 0; part < 3; part++) {
        d.s.limits = fits;
        if (part == 0)
            d.s.limits.response_inside = nextafter(fits.response_inside, 2);
        else if (part == 1)
            d.s.limits.response_worst = nextafter(fits.response_worst, 0);
        else
            d.s.limits.decay_factor = nextafter(fits.decay_factor, 0);
        assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
        assert_false(d.reading.right);
        assert_true(d.reading.margin < 0);
    }
    desk_close(&d);
}

/* ---- the same numbers by the letter of their definitions ------------------------------------- */

static bool level_wrong(const desk *d, size_t p, size_t c)
{
    return fabs(d->reading.level[p * d->s.grid.n_cells + c]) > d->s.limits.response_deviation;
}

static double slowness(const desk *d, size_t p, double hz)
{
    double half = pow(10, 0.05);
    for (size_t b = 0; b < d->s.grid.n_bands; b++) {
        double middle = d->s.grid.band_hz[b];
        if (hz >= middle / half * (1 - 1e-12) && hz < middle * half * (1 - 1e-12)) {
            double t = d->reading.decay[p * d->s.grid.n_bands + b];
            return isnan(t) ? 0 : t / d->reading.decay_limit[b];
        }
    }
    return 0;
}

static bool right_from(const desk *d, size_t start, double part[3])
{
    size_t n = d->s.grid.n_cells, inside = 0, cells = 0;
    double level = 0, decay = 0;
    for (size_t p = 0; p < d->reading.n_paths; p++)
        for (size_t c = start; c < n; c++) {
            cells++;
            inside += !level_wrong(d, p, c);
            level = fmax(level, fabs(d->reading.level[p * n + c]));
            decay = fmax(decay, slowness(d, p, d->s.grid.hz[d->s.grid.first + c]));
        }
    part[0] = (double)inside / (double)cells;
    part[1] = level;
    part[2] = decay;
    return part[0] >= 0.9 && level <= 5 && decay <= 1.25;
}

static void check_definitions(const desk *d)
{
    size_t n = d->s.grid.n_cells, wrong = 0, by_level = 0, by_decay = 0;
    for (size_t p = 0; p < d->reading.n_paths; p++)
        for (size_t c = 0; c < n; c++) {
            bool level = level_wrong(d, p, c);
            bool decay = slowness(d, p, d->s.grid.hz[d->s.grid.first + c]) > 1;
            wrong += level || decay;
            by_level += level;
            by_decay += decay;
        }
    double all = (double)(n * d->reading.n_paths), part[3];
    assert_near(d->reading.wrong, (double)wrong / all, 1e-15);
    assert_near(d->reading.wrong_level, (double)by_level / all, 1e-15);
    assert_near(d->reading.wrong_decay, (double)by_decay / all, 1e-15);
    assert_int_equal(right_from(d, 0, part), d->reading.right);
    assert_near(d->reading.inside, part[0], 0);
    assert_near(d->reading.worst_level, part[1], 0);
    assert_near(d->reading.worst_decay, part[2], 0);
    assert_near(d->reading.margin,
                fmin(part[0] / 0.9 - 1, fmin(1 - part[1] / 5, 1 - part[2] / 1.25)), 0);
    assert_int_equal(d->reading.margin >= 0, d->reading.right);
    size_t lowest = 0;
    while (lowest < n && !right_from(d, lowest, part))
        lowest++;
    if (lowest == n)
        assert_true(isnan(d->reading.lowest_right));
    else
        assert_near(d->reading.lowest_right, d->s.grid.hz[d->s.grid.first + lowest], 0);
}

static void random_rooms_follow_the_definitions(void **state)
{
    (void)state;
    uint32_t seed = 11;
    int right = 0, none = 0, later = 0;
    for (int round = 0; round < 120; round++) {
        desk d;
        desk_open(&d, 2, 2);
        double depth = 8 * uniform(&seed), t60 = 0.1 + 0.6 * uniform(&seed);
        for (int k = 0; k < 4; k++)
            stage_mode(&d.s, 1 + k, 0, 0, t60 * (0.6 + 0.8 * uniform(&seed)));
        for (size_t p = 0; p < 4; p++) {
            double phase = 6 * uniform(&seed), rate = 2 + 6 * uniform(&seed);
            for (size_t f = 0; f < d.s.grid.n_hz; f++) {
                double x = log(d.s.grid.hz[f] / 40);
                double level = depth * sin(rate * x + phase) * (1 - 0.2 * x);
                d.h[p * d.s.grid.n_hz + f] = d.s.grid.hz[f] * pow(10, level / 20);
            }
        }
        assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
        check_definitions(&d);
        right += d.reading.right;
        none += isnan(d.reading.lowest_right);
        later += !d.reading.right && !isnan(d.reading.lowest_right);
        desk_close(&d);
    }
    /* the rounds must have met all three outcomes, or they test nothing */
    assert_true(right > 5 && none > 5 && later > 5);
}

/* Any common gain, phase, or delay leaves everything but the mean alone. */
static void gain_and_delay_do_not_matter(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    stage_box_modes(&d.s, 0.5);
    stage_response(&d.s, 0, d.h);
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
    ebb_reading first = d.reading;
    for (size_t f = 0; f < d.s.grid.n_hz; f++)
        d.h[f] *= 31.7 * cexp(-I * d.s.grid.hz[f] * 0.05);
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
    for (size_t c = 0; c < d.s.grid.n_cells; c++)
        assert_near(d.reading.level[c], first.level[c], 1e-11);
    assert_near(d.reading.mean[0] - first.mean[0], 20 * log10(31.7), 1e-11);
    assert_near(d.reading.wrong, first.wrong, 0);
    desk_close(&d);
}

/* More damping in every mode never makes more cells ring. */
static void more_damping_never_rings_more(void **state)
{
    (void)state;
    double before = 2;
    for (double t60 = 3; t60 > 0.1; t60 *= 0.8) {
        desk d;
        desk_open(&d, 1, 1);
        fill_flat(&d, 0, 1);
        stage_box_modes(&d.s, t60);
        assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
        assert_true(d.reading.wrong_decay <= before);
        before = d.reading.wrong_decay;
        desk_close(&d);
    }
    assert_near(before, 0, 0);
}

static void nonsense_is_refused(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    assert_int_equal(desk_read(&d, NULL), EBB_E_NUMERIC); /* silence */
    fill_flat(&d, 0, 1);
    d.h[20] = NAN;
    assert_int_equal(desk_read(&d, NULL), EBB_E_NUMERIC);
    fill_flat(&d, 0, 1);
    stage_mode(&d.s, 1, 0, 0, 1);
    d.s.residue[0] = NAN;
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_E_NUMERIC);
    ebb_modes others = d.s.modes;
    others.n_receivers = 2;
    assert_int_equal(desk_read(&d, &others), EBB_E_RANGE);
    ebb_grid empty = {0};
    assert_int_equal(ebb_reading_make(d.ctx, d.arena, &empty, &d.s.limits, EBB_USE_MUSIC, 60, 1, 1,
                                      d.h, NULL, &d.reading),
                     EBB_E_RANGE);
    assert_int_equal(ebb_reading_make(d.ctx, d.arena, &d.s.grid, &d.s.limits, EBB_USE_MUSIC, 0, 1,
                                      1, d.h, NULL, &d.reading),
                     EBB_E_RANGE);
    assert_int_equal(ebb_reading_make(d.ctx, d.arena, &d.s.grid, &d.s.limits, EBB_USE_MUSIC, 60, 0,
                                      1, d.h, NULL, &d.reading),
                     EBB_E_RANGE);
    assert_null(d.reading.level);
    assert_int_equal(ebb_ctx_errors(d.ctx), 7);
    desk_close(&d);
}

static void a_mode_without_loss_is_never_right(void **state)
{
    (void)state;
    desk d;
    desk_open(&d, 1, 1);
    fill_flat(&d, 0, 1);
    stage_mode(&d.s, 2, 0, 0, 1);
    d.s.mode[0].delta = 0;
    assert_int_equal(desk_read(&d, &d.s.modes), EBB_OK);
    assert_true(isinf(d.reading.worst_decay));
    assert_false(d.reading.right);
    assert_true(d.reading.margin < 0);
    desk_close(&d);
}

static void running_out_of_memory_is_told(void **state)
{
    (void)state;
    static double _Complex h[160];
    stage s;
    stage_make(&s, 1, 1);
    for (size_t f = 0; f < s.grid.n_hz; f++)
        h[f] = s.grid.hz[f];
    bool done = false;
    for (size_t n = 0; !done && n < 50; n++) {
        failing f = {.left = n};
        ebb_allocator allocator = {failing_resize, &f};
        ebb_ctx *ctx = ebb_ctx_new_with(&allocator);
        ebb_arena *arena = ctx ? ebb_arena_new(ctx) : NULL;
        if (arena) {
            ebb_reading reading;
            ebb_status status = ebb_reading_make(ctx, arena, &s.grid, &s.limits, EBB_USE_MUSIC, 60,
                                                 1, 1, h, NULL, &reading);
            done = status == EBB_OK;
            assert_true(done || (status == EBB_E_NOMEM && f.hit && !reading.level));
        }
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
        assert_int_equal(f.held, 0);
    }
    assert_true(done);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(flat_and_dry_is_right),
        cmocka_unit_test(without_modes_decay_is_left_out),
        cmocka_unit_test(a_ringing_mode_makes_its_bands_wrong),
        cmocka_unit_test(limits_belong_to_the_right_side),
        cmocka_unit_test(each_part_of_the_core_rule_decides),
        cmocka_unit_test(random_rooms_follow_the_definitions),
        cmocka_unit_test(gain_and_delay_do_not_matter),
        cmocka_unit_test(more_damping_never_rings_more),
        cmocka_unit_test(nonsense_is_refused),
        cmocka_unit_test(a_mode_without_loss_is_never_right),
        cmocka_unit_test(running_out_of_memory_is_told),
    };
    return cmocka_run_group_tests_name("reading", tests, NULL, NULL);
}
