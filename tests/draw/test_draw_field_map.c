/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The picture of a field on a cut: field_map.c, field_scale.c. */
#include "canvas.h"
#include "prism.h"

#include <ebb/file.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

enum { N = 17, WIDTH = 520, HEIGHT = 420 };

static const ebb_frame FRAME = {10.0, 10.0, 500.0, 400.0};

/* One value everywhere, or cos(pi x / length): the first mode along the picture. */
static void fill(double *value, double constant)
{
    for (size_t k = 0; k < N * N; k++) {
        value[k] = isnan(constant) ? cos(3.14159265358979 * (double)(k % N) / (N - 1)) : constant;
    }
}

static ebb_field_map a_map(const ebb_room *room, const double *value)
{
    return (ebb_field_map){.room = room,
                           .title = "A mode",
                           .axis = 2,
                           .at = 1.2,
                           .n = {N, N},
                           .value = value,
                           .note = "A note."};
}

static canvas drawn(const ebb_field_map *map)
{
    ebb_ctx *ctx = ebb_ctx_new();
    canvas c = canvas_open(WIDTH, HEIGHT);
    assert_int_equal(ebb_draw_field(ctx, c.cr, &FRAME, map), EBB_OK);
    assert_true(canvas_clean_outside(&c, &FRAME));
    ebb_ctx_free(ctx);
    return c;
}

static uint32_t pixel(const canvas *c, int x, int y)
{
    uint32_t value;
    cairo_surface_flush(c->surface);
    memcpy(&value,
           cairo_image_surface_get_data(c->surface) +
               y * cairo_image_surface_get_stride(c->surface) + 4 * x,
           4);
    return value & 0xffffff;
}

static int red(uint32_t p)
{
    return (int)(p >> 16);
}

static int blue(uint32_t p)
{
    return (int)(p & 0xff);
}

/* How far the colour of (x, y) reaches from there. */
static canvas_found patch_of(const canvas *c, int x, int y)
{
    canvas_found f = {0, x, y, x, y};
    const uint32_t wanted = pixel(c, x, y);
    for (; f.left > 0 && pixel(c, f.left - 1, y) == wanted; f.left--) {
    }
    for (; f.right + 1 < c->width && pixel(c, f.right + 1, y) == wanted; f.right++) {
    }
    for (; f.top > 0 && pixel(c, x, f.top - 1) == wanted; f.top--) {
    }
    for (; f.bottom + 1 < c->height && pixel(c, x, f.bottom + 1) == wanted; f.bottom++) {
    }
    f.n = (f.right - f.left + 1) * (f.bottom - f.top + 1);
    return f;
}

static void test_a_metre_is_a_metre_both_ways(void **state)
{
    (void)state;
    const double sizes[3][3] = {{4.0, 4.0, 2.5}, {6.0, 3.0, 2.5}, {2.0, 5.0, 2.5}};
    double value[N * N];
    fill(value, 1.0);
    for (int i = 0; i < 3; i++) {
        ebb_room room = {.name = "box"};
        memcpy(room.size, sizes[i], sizeof room.size);
        const ebb_field_map map = a_map(&room, value);
        canvas c = drawn(&map);
        const canvas_found f = patch_of(&c, 120, 200);
        const double ratio = (f.right - f.left + 2.6) / (f.bottom - f.top + 2.6); /* with walls */
        assert_true(f.n > 5000);
        assert_float_equal(ratio, sizes[i][0] / sizes[i][1], 0.02 * ratio);
        canvas_close(&c);
    }
}

static void test_signs_and_node_line(void **state)
{
    (void)state;
    const ebb_room room = {.name = "box", .size = {4.0, 3.0, 2.5}};
    double value[N * N], flat[N * N];
    fill(value, NAN);
    fill(flat, 1.0);
    ebb_field_map map = a_map(&room, flat);
    canvas whole = drawn(&map);
    const canvas_found f = patch_of(&whole, 120, 200);
    map.value = value;
    canvas c = drawn(&map);
    const int middle = (f.left + f.right) / 2, y = f.top + (f.bottom - f.top) / 3;
    const uint32_t left = pixel(&c, f.left + 4, y), right = pixel(&c, f.right - 4, y);
    assert_true(red(left) > blue(left) + 100);   /* orange: in phase */
    assert_true(blue(right) > red(right) + 100); /* blue: against it */
    int dark = 0;
    for (int x = middle - 3; x <= middle + 3; x++) {
        dark += red(pixel(&c, x, y)) < 80 && blue(pixel(&c, x, y)) < 80;
    }
    assert_in_range(dark, 1, 3); /* the heavy line, 1.8 points */
    canvas_close(&c);
    canvas_close(&whole);
}

/* Blank beyond the outline, shaded right up to it although its points lie on neither. */
static void test_the_outside_stays_white(void **state)
{
    (void)state;
    prism p;
    double value[N * N], flat[N * N];
    prism_l(&p, false);
    fill(flat, 1.0);
    for (size_t k = 0; k < N * N; k++) {
        const double x = 4.0 * (double)(k % N) / (N - 1), y = 3.0 * (double)(k / N) / (N - 1);
        value[k] = x > 2.0 - 1e-9 && y > 1.0 - 1e-9 ? NAN : 1.0;
    }
    const ebb_room box = {.name = "box", .size = {4.0, 3.0, 2.5}};
    ebb_field_map map = a_map(&box, flat);
    canvas whole = drawn(&map);
    const canvas_found f = patch_of(&whole, 120, 200);
    map = a_map(&p.room, value);
    canvas c = drawn(&map);
    const double metre = (f.right - f.left) / 4.0;
    const uint32_t shade = pixel(&whole, 120, 200);
    const double inside[3][2] = {{1.9, 2.8}, {3.9, 0.9}, {1.9, 1.1}};
    const double outside[3][2] = {{2.15, 2.8}, {3.9, 1.15}, {2.15, 1.15}};
    for (int i = 0; i < 3; i++) {
        assert_int_equal(
            pixel(&c, f.left + (int)(inside[i][0] * metre), f.bottom - (int)(inside[i][1] * metre)),
            shade);
        assert_int_equal(pixel(&c, f.left + (int)(outside[i][0] * metre),
                               f.bottom - (int)(outside[i][1] * metre)),
                         0xffffff);
    }
    canvas_close(&c);
    canvas_close(&whole);
}

/* Louder is darker, whatever the range; both parts of the pressure count. */
static void test_levels(void **state)
{
    (void)state;
    const ebb_room room = {.name = "box", .size = {4.0, 3.0, 2.5}};
    double re[N * N], im[N * N];
    for (size_t k = 0; k < N * N; k++) {
        re[k] = 0.0;
        im[k] = pow(10.0, -1.4 * (double)(k % N) / (N - 1)); /* 0 to -28 dB */
    }
    ebb_field_map map = a_map(&room, re);
    map.imaginary = im;
    map.loudest = 1.0;
    canvas c = drawn(&map);
    uint32_t last = pixel(&c, 70, 200);
    int steps = 0;
    for (int x = 70; x < 400; x++) {
        const uint32_t here = pixel(&c, x, 200);
        /* lines between the shades are darker than any of them */
        if (red(here) > red(last) + 8) {
            steps++;
            last = here;
        }
    }
    assert_in_range(steps, 7, 10);
    canvas_close(&c);
}

static void test_names_units_and_places_are_seen(void **state)
{
    (void)state;
    ebb_station seat = {.name = "lead", .at = {2.0, 1.0, 1.2}}, speaker = {.name = "left"};
    const ebb_room bare = {.name = "box", .size = {4.0, 3.0, 2.5}};
    ebb_room full = bare;
    full.n_seats = full.n_speakers = 1;
    full.seats = &seat;
    full.speakers = &speaker;
    speaker.at = (ebb_vec3){0.5, 2.0, 0.8};
    double value[N * N];
    fill(value, 0.25);
    ebb_field_map map = a_map(&bare, value);
    canvas plain = drawn(&map);
    assert_int_equal(canvas_find(&plain, EBB_INK_MARK).n, 0);
    map.room = &full;
    canvas marked = drawn(&map);
    /* the speaker's mark, once in the room and once in the legend */
    const canvas_found mark = canvas_find(&marked, EBB_INK_MARK);
    assert_true(mark.n > 2 * 9);
    map.units = EBB_UNITS_IMPERIAL;
    canvas feet = drawn(&map);
    assert_true(canvas_differ(&feet, &marked) > 100);
    map.units = EBB_UNITS_METRIC;
    speaker.at.z = 1.2; /* now on the cut: its name is shorter */
    canvas level = drawn(&map);
    assert_true(canvas_differ(&level, &marked) > 20);
    /* The job's origin is not the room's: both moved, nothing changes. */
    full.origin = (ebb_vec3){7.0, -2.0, 0.0};
    seat.at = (ebb_vec3){9.0, -1.0, 1.2};
    speaker.at = (ebb_vec3){7.5, 0.0, 1.2};
    canvas moved = drawn(&map);
    assert_int_equal(canvas_differ(&level, &moved), 0);
    canvas_close(&plain);
    canvas_close(&marked);
    canvas_close(&feet);
    canvas_close(&level);
    canvas_close(&moved);
}

/* Length in pixels of the black half of the scale bar: the longest run of ink below the axis. */
static int half_bar(const canvas *c, const canvas_found *map)
{
    int longest = 0;
    for (int y = map->bottom + 20; y < c->height; y++) {
        int run = 0;
        for (int x = 0; x < c->width; x++) {
            run = canvas_is(c, x, y, EBB_INK_TEXT) ? run + 1 : 0;
            longest = run > longest ? run : longest;
        }
    }
    return longest;
}

static void test_the_bar_is_as_long_as_it_says(void **state)
{
    (void)state;
    const ebb_room room = {.name = "box", .size = {4.0, 3.0, 2.5}};
    double value[N * N];
    fill(value, 1.0);
    ebb_field_map map = a_map(&room, value);
    canvas metric = drawn(&map);
    map.units = EBB_UNITS_IMPERIAL;
    canvas feet = drawn(&map);
    const canvas_found m = patch_of(&metric, 120, 200), f = patch_of(&feet, 120, 200);
    const double metre = (m.right - m.left + 2.6) / 4.0, foot = (f.right - f.left + 2.6) * 0.0762;
    assert_float_equal(half_bar(&metric, &m), 0.5 * metre, 1.6); /* of 1 m */
    assert_float_equal(half_bar(&feet, &f), foot, 1.6);          /* of 2 ft */
    canvas_close(&metric);
    canvas_close(&feet);
}

static void test_bad_maps_are_refused(void **state)
{
    (void)state;
    const ebb_room room = {.name = "box", .size = {4.0, 3.0, 2.5}};
    double value[N * N], none[N * N];
    fill(value, 1.0);
    for (size_t k = 0; k < N * N; k++) {
        none[k] = NAN;
    }
    ebb_field_map bad[7];
    for (int i = 0; i < 7; i++) {
        bad[i] = a_map(&room, value);
    }
    bad[0].at = 2.6;
    bad[1].at = NAN;
    bad[2].axis = 3;
    bad[3].n[0] = 1;
    bad[4].n[1] = 501;
    bad[5].value = none;
    bad[6].imaginary = value; /* and loudest 0 */
    ebb_ctx *ctx = ebb_ctx_new();
    canvas c = canvas_open(WIDTH, HEIGHT);
    for (int i = 0; i < 7; i++) {
        assert_int_equal(ebb_draw_field(ctx, c.cr, &FRAME, &bad[i]), EBB_E_RANGE);
        assert_int_equal(ebb_field_file(ctx, "/tmp/ebb-no-map.svg", &bad[i]), EBB_E_RANGE);
    }
    assert_int_equal(access("/tmp/ebb-no-map.svg", F_OK), -1);
    const ebb_frame small = {0.0, 0.0, 200.0, 100.0};
    const ebb_field_map map = a_map(&room, value);
    assert_int_equal(ebb_draw_field(ctx, c.cr, &small, &map), EBB_E_RANGE);
    canvas_close(&c);
    ebb_ctx_free(ctx);
}

static void test_files_repeat(void **state)
{
    (void)state;
    static const char *const ENDINGS[] = {"svg", "pdf", "png"};
    static const char *const STARTS[] = {"<?xml", "%PDF", "\x89PNG"};
    prism p;
    double value[N * N];
    prism_gable(&p);
    fill(value, NAN);
    ebb_field_map map = a_map(&p.room, value);
    map.axis = 1; /* upright through the gable */
    char folder[] = "/tmp/ebb-map-XXXXXX";
    assert_non_null(mkdtemp(folder));
    ebb_ctx *ctx = ebb_ctx_new();
    for (int i = 0; i < 3; i++) {
        ebb_arena *arena = ebb_arena_new(ctx);
        char path[64], *data[2];
        size_t length[2];
        snprintf(path, sizeof path, "%s/map.%s", folder, ENDINGS[i]);
        for (int k = 0; k < 2; k++) {
            assert_int_equal(ebb_field_file(ctx, path, &map), EBB_OK);
            assert_int_equal(ebb_file_read(ctx, arena, path, 1 << 24, &data[k], &length[k]),
                             EBB_OK);
        }
        assert_memory_equal(data[0], STARTS[i], strlen(STARTS[i]));
        assert_int_equal(length[0], length[1]);
        assert_memory_equal(data[0], data[1], length[0]);
        assert_int_equal(unlink(path), 0);
        ebb_arena_free(arena);
    }
    assert_int_equal(ebb_field_file(ctx, "/tmp/ebb-no-map.gif", &map), EBB_E_INPUT);
    assert_int_equal(rmdir(folder), 0);
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_metre_is_a_metre_both_ways),
        cmocka_unit_test(test_signs_and_node_line),
        cmocka_unit_test(test_the_outside_stays_white),
        cmocka_unit_test(test_levels),
        cmocka_unit_test(test_names_units_and_places_are_seen),
        cmocka_unit_test(test_the_bar_is_as_long_as_it_says),
        cmocka_unit_test(test_bad_maps_are_refused),
        cmocka_unit_test(test_files_repeat),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
