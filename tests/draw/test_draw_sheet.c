/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The room drawing: sheet.c, plan_view.c, surface_view.c, hatch.c, sheet_legend.c. */
#include "../../src/draw/sheet.h"
#include "../report/fixture.c"
#include "canvas.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

static ebb_draw_sheet sheet_of(fixture *f, size_t i, canvas *c)
{
    const ebb_answer *answer = &f->answer[i];
    ebb_draw_sheet sheet = {
        .cr = c->cr, .job = &f->job, .room = answer->room, .layout = &answer->shown->after.layout};
    const ebb_frame frame = {20.0, 20.0, 560.0, 560.0};
    ebb_draw_sheet_views(&sheet);
    ebb_draw_sheet_arrange(&sheet, &frame);
    return sheet;
}

static void test_views_share_scale_and_stay_apart(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    canvas c = canvas_open(600, 600);
    for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
        const ebb_draw_sheet sheet = sheet_of(&f, i, &c);
        assert_int_equal(sheet.n_views, 6);
        for (size_t a = 0; a < sheet.n_views; a++) {
            const ebb_draw_view *v = &sheet.view[a];
            assert_float_equal(v->scale, sheet.view[0].scale, 1e-12);
            assert_float_equal(v->box.width, v->span[0] * v->scale, 1e-9);
            assert_true(v->box.x >= 20.0 && v->box.x + v->box.width <= 580.0);
            assert_true(v->box.y >= 20.0 && v->box.y + v->box.height <= 580.0);
            for (size_t b = 0; b < a; b++) {
                const ebb_frame *p = &v->box, *q = &sheet.view[b].box;
                /* 10 points between them for dimensions and titles */
                assert_true(p->x >= q->x + q->width + 10.0 || q->x >= p->x + p->width + 10.0 ||
                            p->y >= q->y + q->height + 10.0 || q->y >= p->y + p->height + 10.0);
            }
        }
    }
    canvas_close(&c);
    fixture_close(&f);
}

static void test_walls_are_seen_from_inside(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    canvas c = canvas_open(600, 600);
    const ebb_draw_sheet sheet = sheet_of(&f, 0, &c);
    for (size_t i = 0; i < sheet.n_views; i++) {
        const ebb_draw_view *v = &sheet.view[i];
        double first[2], second[2];
        ebb_draw_view_point(v, v->low[0], v->low[1], first);
        ebb_draw_view_point(v, v->low[0] + v->span[0], v->low[1] + v->span[1], second);
        /* Plan corners run counter-clockwise, so a wall's first corner is on the right of someone
         * who faces it from inside; plan and ceiling keep x to the right. */
        const bool wall = v->surface != EBB_DRAW_PLAN && v->surface >= 2;
        assert_int_equal(v->mirrored, wall);
        assert_true(wall ? first[0] > second[0] : first[0] < second[0]);
        assert_true(second[1] < first[1]); /* up is up */
        assert_float_equal(first[1], v->box.y + v->box.height, 1e-9);
    }
    canvas_close(&c);
    fixture_close(&f);
}

static void test_clockwise_wall_is_not_mirrored(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    canvas c = canvas_open(600, 600);
    f.job.rooms[0].surfaces[2].along = (ebb_vec3){-1.0, 0.0, 0.0};
    const ebb_draw_sheet sheet = sheet_of(&f, 0, &c);
    assert_false(sheet.view[2].mirrored);
    assert_true(sheet.view[3].mirrored);
    canvas_close(&c);
    fixture_close(&f);
}

static void test_rectangles_keep_their_size(void **state)
{
    (void)state;
    const ebb_draw_view view = {.low = {0.0, 0.0},
                                .span = {4.0, 2.0},
                                .mirrored = true,
                                .box = {10.0, 20.0, 200.0, 100.0},
                                .scale = 50.0};
    const double at[2] = {0.5, 0.2}, size[2] = {0.6, 1.2};
    const ebb_frame box = ebb_draw_view_frame(&view, at, size);
    assert_float_equal(box.width, 30.0, 1e-9);
    assert_float_equal(box.height, 60.0, 1e-9);
    assert_float_equal(box.x + box.width, 210.0 - 25.0, 1e-9);
    assert_float_equal(box.y + box.height, 120.0 - 10.0, 1e-9);
}

/* Draws one answer's layout alone on a canvas. */
static ebb_status draw(fixture *f, canvas *c, const ebb_layout *layout)
{
    const ebb_frame frame = {20.0, 20.0, 560.0, 560.0};
    return ebb_draw_room(f->ctx, c->cr, &frame, &f->answer[0], layout, EBB_UNITS_METRIC);
}

static void test_units_take_their_place_and_depth(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    f.job.rooms[0].n_placed = 0;
    /* One plain unit 0.6 m wide, 1.2 m high, 0.3 m deep on wall_4, 1 m from its first corner. */
    ebb_placed placed = {0, 5, {1.0, 0.5}, false};
    ebb_layout layout = {.n_placed = 1, .placed = &placed};
    canvas c = canvas_open(600, 600);
    assert_int_equal(draw(&f, &c, &layout), EBB_OK);
    ebb_draw_sheet sheet = {.cr = c.cr, .job = &f.job, .room = &f.job.rooms[0], .layout = &layout};
    /* the same places as ebb_draw_room works them out */
    const ebb_frame whole = {20.0, 20.0, 560.0, 560.0};
    sheet.n_types = 1;
    ebb_draw_sheet_views(&sheet);
    const double legend = ebb_draw_sheet_legend(&sheet, &whole, false);
    const ebb_frame views = {20.0, 20.0, 560.0, 560.0 - legend - 6.0};
    ebb_draw_sheet_arrange(&sheet, &views);
    double at[2];
    /* wall_4 runs along y from 4.1 down: the unit covers y 2.5 to 3.1, x 0 to 0.3 of the plan. */
    ebb_draw_view_point(&sheet.view[0], 0.15, 2.8, at);
    assert_true(canvas_is(&c, (int)at[0], (int)at[1], EBB_INK_BAND));
    ebb_draw_view_point(&sheet.view[0], 0.4, 2.8, at);
    assert_true(canvas_is(&c, (int)at[0], (int)at[1], EBB_INK_PAPER));
    ebb_draw_view_point(&sheet.view[0], 0.15, 2.4, at);
    assert_true(canvas_is(&c, (int)at[0], (int)at[1], EBB_INK_PAPER));
    /* in the view of the wall it stands 0.5 to 1.7 m high */
    ebb_draw_view_point(&sheet.view[5], 1.1, 0.6, at);
    assert_true(canvas_is(&c, (int)at[0], (int)at[1], EBB_INK_BAND));
    ebb_draw_view_point(&sheet.view[5], 1.1, 1.8, at);
    assert_true(canvas_is(&c, (int)at[0], (int)at[1], EBB_INK_PAPER));
    canvas_close(&c);
    fixture_close(&f);
}

static void test_openings_are_told_apart(void **state)
{
    (void)state;
    static const char *const NAMES[] = {"door", "window", "vent"};
    const ebb_frame box = {10.0, 10.0, 40.0, 40.0};
    canvas c[3];
    for (int kind = 0; kind < 3; kind++) {
        c[kind] = canvas_open(60, 60);
        ebb_draw_opening(c[kind].cr, &box, (ebb_opening_kind)kind);
        assert_true(canvas_clean_outside(&c[kind], &box));
        assert_string_equal(ebb_draw_opening_name((ebb_opening_kind)kind), NAMES[kind]);
        for (int k = 0; k < kind; k++) {
            assert_true(canvas_differ(&c[kind], &c[k]) > 60);
        }
    }
    for (int kind = 0; kind < 3; kind++) {
        canvas_close(&c[kind]);
    }
}

static void test_hatches_are_told_apart_and_stay_inside(void **state)
{
    (void)state;
    const ebb_frame box = {10.0, 10.0, 60.0, 60.0};
    canvas c[EBB_DRAW_MOST_TYPES];
    for (size_t t = 0; t < EBB_DRAW_MOST_TYPES; t++) {
        c[t] = canvas_open(80, 80);
        ebb_draw_hatch(c[t].cr, &box, t);
        assert_true(canvas_clean_outside(&c[t], &box));
        for (size_t k = 0; k < t; k++) {
            assert_true(canvas_differ(&c[t], &c[k]) > 400);
        }
    }
    for (size_t t = 0; t < EBB_DRAW_MOST_TYPES; t++) {
        canvas_close(&c[t]);
    }
}

static void test_seats_move_with_the_layout(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_layout layout = f.answer[0].shown->after.layout;
    canvas a = canvas_open(600, 600), b = canvas_open(600, 600);
    assert_int_equal(draw(&f, &a, &layout), EBB_OK);
    ebb_vec3 moved[2] = {{1.0, 1.0, 1.2}, {2.0, 1.0, 1.2}};
    layout.speakers = moved;
    assert_int_equal(draw(&f, &b, &layout), EBB_OK);
    /* the legend keeps one mark in its place, the two speakers move */
    const canvas_found was = canvas_find(&a, EBB_INK_MARK), is = canvas_find(&b, EBB_INK_MARK);
    assert_true(was.n > 30 && abs(was.n - is.n) < 20);
    assert_int_not_equal(was.top, is.top);
    canvas_close(&a);
    canvas_close(&b);
    fixture_close(&f);
}

static void test_anything_can_be_drawn_inside_its_frame(void **state)
{
    (void)state;
    for (int how = 0; how < 3; how++) {
        fixture f;
        fixture_open(&f);
        if (how == 1) {
            fixture_nasty(&f);
        } else if (how == 2) {
            fixture_bare(&f);
            f.job.rooms[0].n_surfaces = 0;
        }
        const ebb_frame frame = {40.0, 40.0, 500.0, 460.0};
        for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
            canvas c = canvas_open(580, 540);
            const ebb_layout *layout = &f.answer[i].music.after.layout;
            assert_int_equal(
                ebb_draw_room(f.ctx, c.cr, &frame, &f.answer[i], layout, EBB_UNITS_IMPERIAL),
                EBB_OK);
            assert_true(canvas_clean_outside(&c, &frame));
            assert_true(canvas_find(&c, EBB_INK_TEXT).n > 200);
            canvas_close(&c);
        }
        fixture_close(&f);
    }
}

static void test_refuses_what_can_not_be_drawn(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    canvas c = canvas_open(600, 600);
    const ebb_frame small = {0.0, 0.0, 100.0, 400.0}, broken = {0.0, 0.0, NAN, 400.0};
    const ebb_layout *layout = &f.answer[0].shown->after.layout;
    assert_int_equal(ebb_draw_room(f.ctx, c.cr, &small, &f.answer[0], layout, EBB_UNITS_METRIC),
                     EBB_E_RANGE);
    assert_int_equal(ebb_draw_room(f.ctx, c.cr, &broken, &f.answer[0], layout, EBB_UNITS_METRIC),
                     EBB_E_RANGE);
    f.job.rooms[0].size[2] = 0.0;
    assert_int_equal(draw(&f, &c, layout), EBB_E_RANGE);
    assert_int_equal(canvas_find(&c, EBB_INK_PAPER).n, 600 * 600); /* nothing half-drawn */
    canvas_close(&c);
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_views_share_scale_and_stay_apart),
        cmocka_unit_test(test_walls_are_seen_from_inside),
        cmocka_unit_test(test_clockwise_wall_is_not_mirrored),
        cmocka_unit_test(test_rectangles_keep_their_size),
        cmocka_unit_test(test_units_take_their_place_and_depth),
        cmocka_unit_test(test_openings_are_told_apart),
        cmocka_unit_test(test_hatches_are_told_apart_and_stay_inside),
        cmocka_unit_test(test_seats_move_with_the_layout),
        cmocka_unit_test(test_anything_can_be_drawn_inside_its_frame),
        cmocka_unit_test(test_refuses_what_can_not_be_drawn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
