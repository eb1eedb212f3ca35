/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Plots and their files: plot.c, file.c. */
#include "canvas.h"

#include <ebb/file.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

static const double X[5] = {20.0, 40.0, 80.0, 120.0, 200.0};
static const double Y[5] = {1.0, 2.0, NAN, 4.0, 3.5};

static ebb_plot a_plot(const ebb_series *series, size_t n)
{
    return (ebb_plot){.title = "A plot",
                      .x_label = "frequency, Hz",
                      .y_label = "level, dB",
                      .log_x = true,
                      .x_range = {NAN, NAN},
                      .y_range = {NAN, NAN},
                      .n_series = n,
                      .series = series};
}

static void test_gaps_break_the_line(void **state)
{
    (void)state;
    static const double WHOLE[5] = {1.0, 1.0, 1.0, 1.0, 1.0}, GAP[5] = {1.0, 1.0, NAN, 1.0, 1.0},
                        ALONE[5] = {NAN, NAN, 1.0, NAN, NAN}, NONE[5] = {NAN, NAN, NAN, NAN, NAN};
    const double *y[4] = {NONE, WHOLE, GAP, ALONE};
    canvas c[4];
    int ink[4];
    ebb_ctx *ctx = ebb_ctx_new();
    for (int i = 0; i < 4; i++) {
        const ebb_series series = {"one", 5, X, y[i], false};
        ebb_plot plot = a_plot(&series, 1);
        plot.x_range[0] = 20.0;
        plot.x_range[1] = 200.0;
        plot.y_range[0] = 0.0;
        plot.y_range[1] = 2.0;
        const ebb_frame frame = {10.0, 10.0, 480.0, 240.0};
        c[i] = canvas_open(500, 260);
        assert_int_equal(ebb_draw_plot(ctx, c[i].cr, &frame, &plot), EBB_OK);
        assert_true(canvas_clean_outside(&c[i], &frame));
        ink[i] = canvas_differ(&c[i], &c[0]);
    }
    /* 40 to 120 Hz is 48 % of the axis; a value between two gaps is a dot. */
    const double left = (double)ink[2] / ink[1];
    assert_true(left > 0.50 && left < 0.55);
    assert_in_range(ink[3], 1, 16);
    for (int i = 0; i < 4; i++) {
        canvas_close(&c[i]);
    }
    ebb_ctx_free(ctx);
}

static void test_odd_data_still_plots(void **state)
{
    (void)state;
    static const double NONE[2] = {NAN, INFINITY}, SAME[2] = {3.0, 3.0}, BELOW[2] = {-1.0, 0.0};
    ebb_ctx *ctx = ebb_ctx_new();
    const ebb_series odd[] = {{"nothing", 0, X, Y, false},
                              {"not finite", 2, X, NONE, false},
                              {"one value", 2, SAME, SAME, true},
                              {NULL, 2, BELOW, SAME, true}};
    for (size_t i = 0; i < 4; i++) {
        const ebb_plot plot = a_plot(&odd[i], 1);
        const ebb_frame frame = {10.0, 10.0, 480.0, 240.0};
        canvas c = canvas_open(500, 260);
        assert_int_equal(ebb_draw_plot(ctx, c.cr, &frame, &plot), EBB_OK);
        assert_true(canvas_clean_outside(&c, &frame));
        canvas_close(&c);
    }
    ebb_ctx_free(ctx);
}

static void test_bad_plots_are_refused(void **state)
{
    (void)state;
    const ebb_series series = {"one", 5, X, Y, false};
    const ebb_frame frame = {10.0, 10.0, 480.0, 240.0};
    ebb_ctx *ctx = ebb_ctx_new();
    canvas c = canvas_open(500, 260);
    ebb_plot plot = a_plot(&series, 1);
    plot.x_range[0] = 0.0;
    assert_int_equal(ebb_draw_plot(ctx, c.cr, &frame, &plot), EBB_E_RANGE);
    plot = a_plot(&series, 1);
    plot.y_range[0] = 2.0;
    plot.y_range[1] = 1.0;
    assert_int_equal(ebb_draw_plot(ctx, c.cr, &frame, &plot), EBB_E_RANGE);
    plot = a_plot(&series, 65);
    assert_int_equal(ebb_draw_plot(ctx, c.cr, &frame, &plot), EBB_E_RANGE);
    canvas_close(&c);
    ebb_ctx_free(ctx);
}

/* Reads a file; its first bytes say what it is. */
static char *read_all(ebb_ctx *ctx, ebb_arena *arena, const char *path, size_t *length)
{
    char *data = NULL;
    assert_int_equal(ebb_file_read(ctx, arena, path, 1 << 24, &data, length), EBB_OK);
    return data;
}

static void test_files_are_what_their_ending_says(void **state)
{
    (void)state;
    static const char *const ENDINGS[] = {"svg", "pdf", "png"};
    static const char *const STARTS[] = {"<?xml", "%PDF", "\x89PNG"};
    const ebb_series series[2] = {{"one", 5, X, Y, false}, {"two", 5, X, X, true}};
    const ebb_plot plot = a_plot(series, 2);
    char folder[] = "/tmp/ebb-plot-XXXXXX";
    assert_non_null(mkdtemp(folder));
    ebb_ctx *ctx = ebb_ctx_new();
    for (int i = 0; i < 3; i++) {
        ebb_arena *arena = ebb_arena_new(ctx);
        char path[64];
        size_t first, second;
        snprintf(path, sizeof path, "%s/plot.%s", folder, ENDINGS[i]);
        assert_int_equal(ebb_plot_file(ctx, path, 400.0, 250.0, &plot), EBB_OK);
        const char *a = read_all(ctx, arena, path, &first);
        assert_memory_equal(a, STARTS[i], strlen(STARTS[i]));
        /* A second later the clock differs; the bytes must not. */
        if (i == 1) {
            sleep(1);
        }
        assert_int_equal(ebb_plot_file(ctx, path, 400.0, 250.0, &plot), EBB_OK);
        const char *b = read_all(ctx, arena, path, &second);
        assert_int_equal(first, second);
        assert_memory_equal(a, b, first);
        assert_int_equal(unlink(path), 0);
        ebb_arena_free(arena);
    }
    assert_int_equal(rmdir(folder), 0); /* and nothing else was left in it */
    ebb_ctx_free(ctx);
}

static void test_failures_leave_no_file(void **state)
{
    (void)state;
    const ebb_series series = {"one", 5, X, Y, false};
    ebb_plot plot = a_plot(&series, 1);
    char folder[] = "/tmp/ebb-plot-XXXXXX";
    assert_non_null(mkdtemp(folder));
    ebb_ctx *ctx = ebb_ctx_new();
    char path[64];
    snprintf(path, sizeof path, "%s/plot.gif", folder);
    assert_int_equal(ebb_plot_file(ctx, path, 400.0, 250.0, &plot), EBB_E_INPUT);
    snprintf(path, sizeof path, "%s/plot.svg", folder);
    assert_int_equal(ebb_plot_file(ctx, path, 400.0, 2e6, &plot), EBB_E_RANGE);
    assert_int_equal(ebb_plot_file(ctx, path, 100.0, 100.0, &plot), EBB_E_RANGE);
    plot.x_range[0] = -1.0;
    assert_int_equal(ebb_plot_file(ctx, path, 400.0, 250.0, &plot), EBB_E_RANGE);
    plot.x_range[0] = NAN;
    assert_int_equal(ebb_plot_file(ctx, "/tmp/no/such/folder/plot.pdf", 400.0, 250.0, &plot),
                     EBB_E_IO);
    assert_int_equal(rmdir(folder), 0);
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_gaps_break_the_line),
        cmocka_unit_test(test_odd_data_still_plots),
        cmocka_unit_test(test_bad_plots_are_refused),
        cmocka_unit_test(test_files_are_what_their_ending_says),
        cmocka_unit_test(test_failures_leave_no_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
