/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Absorption of units: absorption.c. */
#include "canvas.h"

#include <ebb/file.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

enum { FINE = 100, TABLE = 5 };

/* A study filled in by hand: a triangle between 40 and 80 Hz. EVERY NUMBER HERE IS MADE UP. */
typedef struct sample {
    ebb_unit unit;
    ebb_study study;
    double hz[FINE], normal[FINE], diffuse[FINE], bulk[FINE], area[FINE];
    double table_hz[TABLE], table_area[TABLE];
} sample;

static void make(sample *s, double most)
{
    memset(s, 0, sizeof *s);
    s->unit = (ebb_unit){.name = "sample", .face = {0.6, 1.2}};
    for (int i = 0; i < FINE; i++) {
        s->hz[i] = 10.0 * pow(40.0, i / (FINE - 1.0));
        s->normal[i] = most * fmax(0.0, 1.0 - fabs(log2(s->hz[i] / 56.0)));
        s->diffuse[i] = 0.5 * s->normal[i];
        s->bulk[i] = 0.4 * s->normal[i];
        s->area[i] = 3.0 * s->normal[i];
    }
    for (int i = 0; i < TABLE; i++) {
        s->table_hz[i] = 40.0 + 10.0 * i;
        s->table_area[i] = 1.0;
    }
    s->study.unit = &s->unit;
    s->study.fine = (ebb_spectrum){
        .n = FINE, .hz = s->hz, .normal = s->normal, .diffuse = s->diffuse, .area = s->area};
    s->study.table = (ebb_spectrum){.n = TABLE, .hz = s->table_hz, .area = s->table_area};
    s->study.band = (ebb_band){.peak_hz = 56, .peak = most, .half = {40, 80}};
}

static canvas draw(const sample *s)
{
    const ebb_frame frame = {10.0, 10.0, 480.0, 360.0};
    const ebb_study *study = &s->study;
    ebb_ctx *ctx = ebb_ctx_new();
    canvas c = canvas_open(500, 380);
    assert_int_equal(ebb_draw_absorption(ctx, c.cr, &frame, 1, &study), EBB_OK);
    assert_true(canvas_clean_outside(&c, &frame));
    ebb_ctx_free(ctx);
    return c;
}

/* Draws a study and returns the pixels of an ink. */
static canvas_found drawn(const sample *s, ebb_ink ink)
{
    canvas c = draw(s);
    const canvas_found found = canvas_find(&c, ink);
    canvas_close(&c);
    return found;
}

static void test_the_band_is_shaded(void **state)
{
    (void)state;
    sample s;
    make(&s, 1.0);
    const canvas_found octave = drawn(&s, EBB_INK_BAND);
    s.study.band.half[0] = 50;
    s.study.band.half[1] = 60;
    const canvas_found narrow = drawn(&s, EBB_INK_BAND);
    s.study.band.half[0] = s.study.band.half[1] = NAN;
    const canvas_found all = drawn(&s, EBB_INK_BAND);
    assert_true(narrow.n < octave.n && octave.n < all.n);
    /* Open ends reach the ends of the axis, 19 to 211 Hz: log2 of it octaves for one. */
    assert_true(all.n > 2 * octave.n);
}

static void test_the_other_incidence_is_drawn_when_known(void **state)
{
    (void)state;
    sample s;
    make(&s, 1.0);
    static double nothing[FINE];
    for (int i = 0; i < FINE; i++)
        nothing[i] = NAN;
    canvas without = draw(&s);
    s.study.fine.bulk = nothing;
    canvas named = draw(&s);
    s.study.fine.bulk = s.bulk;
    canvas with = draw(&s);
    assert_true(canvas_differ(&without, &named) > 100); /* the legend */
    assert_true(canvas_differ(&named, &with) > 100);    /* the curve */
    canvas_close(&without);
    canvas_close(&named);
    canvas_close(&with);
}

static void test_odd_curves_still_draw(void **state)
{
    (void)state;
    sample s;
    make(&s, 0.0); /* nothing absorbed: no area to scale by */
    drawn(&s, EBB_INK_AFTER);
    make(&s, 1.0);
    for (int i = 0; i < FINE; i++)
        s.normal[i] = s.area[i] = NAN;
    drawn(&s, EBB_INK_AFTER);
}

static void test_several_are_compared_and_too_many_refused(void **state)
{
    (void)state;
    sample s;
    make(&s, 1.0);
    const ebb_frame frame = {10.0, 10.0, 480.0, 300.0}, low = {10.0, 10.0, 480.0, 200.0};
    const ebb_study *study[13];
    for (int i = 0; i < 13; i++)
        study[i] = &s.study;
    ebb_ctx *ctx = ebb_ctx_new();
    canvas c = canvas_open(500, 320);
    assert_int_equal(ebb_draw_absorption(ctx, c.cr, &frame, 12, study), EBB_OK);
    assert_true(canvas_clean_outside(&c, &frame));
    assert_int_equal(ebb_draw_absorption(ctx, c.cr, &frame, 13, study), EBB_E_RANGE);
    assert_int_equal(ebb_draw_absorption(ctx, c.cr, &frame, 0, study), EBB_E_RANGE);
    /* Two charts need more height than one. */
    assert_int_equal(ebb_draw_absorption(ctx, c.cr, &low, 1, study), EBB_E_RANGE);
    assert_int_equal(ebb_draw_absorption(ctx, c.cr, &low, 2, study), EBB_OK);
    canvas_close(&c);
    ebb_ctx_free(ctx);
}

static void test_files(void **state)
{
    (void)state;
    static const char *const ENDINGS[] = {"svg", "pdf", "png"};
    static const char *const STARTS[] = {"<?xml", "%PDF", "\x89PNG"};
    sample s;
    make(&s, 1.0);
    const ebb_study *study[2] = {&s.study, &s.study};
    char folder[] = "/tmp/ebb-absorption-XXXXXX";
    assert_non_null(mkdtemp(folder));
    ebb_ctx *ctx = ebb_ctx_new();
    for (size_t i = 0; i < 3; i++) {
        ebb_arena *arena = ebb_arena_new(ctx);
        char path[80], *data = NULL;
        size_t length;
        snprintf(path, sizeof path, "%s/a.%s", folder, ENDINGS[i]);
        assert_int_equal(ebb_absorption_file(ctx, path, 1 + i % 2, study), EBB_OK);
        assert_int_equal(ebb_file_read(ctx, arena, path, 1 << 24, &data, &length), EBB_OK);
        assert_memory_equal(data, STARTS[i], strlen(STARTS[i]));
        assert_int_equal(unlink(path), 0);
        ebb_arena_free(arena);
    }
    assert_int_equal(ebb_absorption_file(ctx, "/tmp/a.gif", 1, study), EBB_E_INPUT);
    assert_int_equal(rmdir(folder), 0); /* and nothing else was left in it */
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_band_is_shaded),
        cmocka_unit_test(test_the_other_incidence_is_drawn_when_known),
        cmocka_unit_test(test_odd_curves_still_draw),
        cmocka_unit_test(test_several_are_compared_and_too_many_refused),
        cmocka_unit_test(test_files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
