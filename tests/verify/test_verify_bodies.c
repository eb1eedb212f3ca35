/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units cut out of rooms: what is left is a solid of the right volume and faces. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "hangar.h"

#define ROOM_VOLUME (2.6 * 2.0 * 2.3)

/* Cuts out what was put up; the solid must be one, of the volume wanted. */
static void cut(hangar *h, double wanted)
{
    const ebb_job job = hangar_job(h);
    const char *why = "";
    assert_ok(h->ctx,
              ebb_bodies_make(h->ctx, h->arena, &job, h->room, h->n, h->placed, &h->bodies));
    if (ebb_solid_check(h->arena, &h->bodies.solid, &why) != EBB_OK)
        fail_msg("%s", why);
    assert_int_equal(h->bodies.solid.n_surfaces, EBB_BODY_SURFACES);
    assert_near(ebb_solid_volume(&h->bodies.solid), wanted, 1e-12);
}

static void assert_area(const hangar *h, int axis, int side, double wall, double boxes)
{
    const size_t face = (size_t)(2 * axis + side);
    assert_near(ebb_solid_area(&h->bodies.solid, face), wall, 1e-12);
    assert_near(ebb_solid_area(&h->bodies.solid, EBB_FACES + face), boxes, 1e-12);
}

static double area_of(const ebb_rect *rect)
{
    const ebb_vec3 n = ebb_cross(rect->along, rect->up);
    return sqrt(ebb_dot(n, n));
}

static void assert_front(const hangar *h, size_t i, double area, double covered)
{
    const ebb_body_front *front = &h->bodies.front[i];
    assert_true(front->body);
    assert_near(front->covered, covered, 1e-9);
    assert_near(area_of(&front->rect), area, 1e-12);
    assert_int_equal(h->bodies.n_closed == 0, h->bodies.closed == 0);
}

static void an_empty_room_is_a_box(void **state)
{
    hangar *h = *state;
    cut(h, ROOM_VOLUME);
    assert_int_equal(h->bodies.solid.n_facets, 6);
    assert_int_equal(h->bodies.solid.n_corners, 8);
    assert_area(h, 0, 0, 2 * 2.3, 0);
    assert_area(h, 2, 1, 2.6 * 2, 0);
    assert_int_equal(h->bodies.n_closed, 0);
}

/* Off all edges: its wall has a hole. */
static void one_box_on_a_wall(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.7, 0.5, 0.6, 1.1, 0.28);
    cut(h, ROOM_VOLUME - 0.6 * 1.1 * 0.28);
    assert_int_equal(h->bodies.solid.n_facets, 11);
    assert_int_equal(h->bodies.solid.n_corners, 16);
    assert_area(h, 1, 0, 2.6 * 2.3 - 0.66, 0.66);
    assert_area(h, 1, 1, 2.6 * 2.3, 0);
    assert_area(h, 0, 0, 2 * 2.3, 1.1 * 0.28); /* the side that looks to higher x */
    assert_area(h, 2, 1, 2.6 * 2, 0.6 * 0.28);
    assert_front(h, 0, 0.66, 0);
    const ebb_rect *rect = &h->bodies.front[0].rect;
    assert_int_equal(rect->surface, EBB_FACES + 2);
    assert_near(rect->at.y, 0.28, 1e-12);
    assert_near(fmin(rect->at.x, rect->at.x + rect->along.x + rect->up.x), 0.7, 1e-12);
    assert_near(rect->at.z, 0.5, 1e-12);
    assert_near(fabs(rect->along.x) + fabs(rect->up.x), 0.6, 1e-12);
}

/* Every wall and the ceiling has its own way round. */
static void a_box_on_every_surface(void **state)
{
    hangar *h = *state;
    static const struct {
        size_t on;
        double along, up;
        int axis, side;
        double plane;
    } place[] = {{FLOOR, 11, 5.8, 2, 0, 0.2}, {CEILING, 11, 5.8, 2, 1, 2.1},
                 {WALL_1, 1, 0.9, 1, 0, 0.2}, {WALL_2, 0.8, 0.9, 0, 1, 2.4},
                 {WALL_3, 1, 0.9, 1, 1, 1.8}, {WALL_4, 0.8, 0.9, 0, 0, 0.2}};
    for (size_t i = 0; i < 6; i++)
        hang(h, place[i].on, place[i].along, place[i].up, 0.5, 0.4, 0.2);
    cut(h, ROOM_VOLUME - 6 * 0.04);
    assert_int_equal(h->bodies.solid.n_corners, 8 + 6 * 8);
    for (size_t i = 0; i < 6; i++) {
        const ebb_vec3 at = h->bodies.front[i].rect.at;
        const double value[3] = {at.x, at.y, at.z};
        assert_front(h, i, 0.2, 0);
        assert_int_equal(h->bodies.front[i].rect.surface,
                         EBB_FACES + 2 * place[i].axis + place[i].side);
        assert_near(value[place[i].axis], place[i].plane, 1e-12);
    }
}

/* Two fronts in one plane are one facet, and nothing is left of the line between them. */
static void boxes_that_touch_are_one(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.4, 0.5, 0.6, 1.1, 0.28);
    hang(h, WALL_1, 1.0, 0.5, 0.6, 1.1, 0.28);
    cut(h, ROOM_VOLUME - 2 * 0.6 * 1.1 * 0.28);
    assert_int_equal(h->bodies.solid.n_facets, 11);
    assert_int_equal(h->bodies.solid.n_corners, 16);
    assert_front(h, 0, 0.66, 0);
    assert_front(h, 1, 0.66, 0);
}

static void boxes_on_each_other_in_a_corner(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0, 0, 0.6, 1.1, 0.28);
    hang(h, WALL_1, 0, 1.1, 0.6, 1.1, 0.28);
    cut(h, ROOM_VOLUME - 2 * 0.6 * 1.1 * 0.28);
    assert_area(h, 0, 0, (2 - 0.28) * 2.2 + 2 * 0.1, 0.28 * 2.2);
    assert_area(h, 2, 0, 2.6 * 2 - 0.6 * 0.28, 0.6 * 0.28);
    assert_int_equal(h->bodies.n_closed, 0);
}

static void depths_side_by_side(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.4, 0.5, 0.6, 1.1, 0.28);
    hang(h, WALL_1, 1.0, 0.5, 0.6, 1.1, 0.35);
    hang(h, WALL_1, 1.6, 0.5, 0.5, 0.8, 0.15);
    cut(h, ROOM_VOLUME - 0.66 * (0.28 + 0.35) - 0.4 * 0.15);
    for (size_t i = 0; i < 3; i++)
        assert_front(h, i, i < 2 ? 0.66 : 0.4, 0);
}

/* Ten millimetres of air between them are no air. */
static void narrow_gaps_are_closed(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.4, 0.5, 0.6, 1.1, 0.28);
    hang(h, WALL_1, 1.01, 0.5, 0.6, 1.1, 0.2);
    cut(h, ROOM_VOLUME - 0.66 * (0.28 + 0.2) - 0.01 * 1.1 * 0.2);
    assert_int_equal(h->bodies.n_closed, 1);
    assert_near(h->bodies.closed, 0.01 * 1.1 * 0.2, 1e-12);
    assert_front(h, 1, 0.66, 0);
}

static void wide_gaps_stay(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.4, 0.5, 0.6, 1.1, 0.28);
    hang(h, WALL_1, 1.04, 0.5, 0.6, 1.1, 0.28);
    cut(h, ROOM_VOLUME - 2 * 0.66 * 0.28);
    assert_int_equal(h->bodies.n_closed, 0);
}

static void slits_at_walls_are_closed(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.02, 0.025, 0.6, 1.1, 0.28);
    cut(h, ROOM_VOLUME - 0.62 * 1.125 * 0.28);
    assert_int_equal(h->bodies.n_closed, 1);
}

/* Within 2 mm faces are one; a millimetre may stick out of a wall. */
static void small_slips_are_taken_away(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, -0.001, 0.5, 0.6, 1.1, 0.28);
    hang(h, WALL_1, 0.6, 0.5, 0.6, 1.1, 0.281);
    cut(h, ROOM_VOLUME - 1.2 * 1.1 * 0.28);
    assert_int_equal(h->bodies.solid.n_facets, 10);
}

/* Corner to corner on a wall: along a line the air would be pinched. A plug of 0.1 m closes it. */
static void touching_in_a_line_is_healed(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.4, 0.2, 0.6, 0.8, 0.28);
    hang(h, WALL_1, 1.0, 1.0, 0.6, 1.1, 0.2);
    cut(h, ROOM_VOLUME - 0.48 * 0.28 - 0.66 * 0.2 - 0.1 * 0.1 * 0.2);
    assert_int_equal(h->bodies.n_closed, 1);
}

/* In a point: one box hangs from the ceiling, the other stands on the floor. */
static void touching_in_a_point_is_healed(void **state)
{
    hangar *h = *state;
    hang(h, FLOOR, 10.5, 5.5, 0.5, 0.5, 1.15);
    hang(h, CEILING, 11, 6, 0.5, 0.5, 1.15);
    const ebb_job job = hangar_job(h);
    const char *why = "";
    assert_ok(h->ctx,
              ebb_bodies_make(h->ctx, h->arena, &job, h->room, h->n, h->placed, &h->bodies));
    assert_int_equal(ebb_solid_check(h->arena, &h->bodies.solid, &why), EBB_OK);
    assert_true(h->bodies.n_closed > 0);
    const double left = ROOM_VOLUME - 2 * 0.25 * 1.15 - h->bodies.closed;
    assert_near(ebb_solid_volume(&h->bodies.solid), left, 1e-12);
}

/* A unit reaching over another's side, and one before another's front. */
static void a_front_may_be_covered(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0, 0.5, 0.6, 1.1, 0.28);
    hang(h, WALL_4, 2 - 0.28 - 0.7, 0.5, 0.7, 1.1, 0.25); /* its side on the front of the first */
    cut(h, ROOM_VOLUME - 0.66 * 0.28 - 0.77 * 0.25);
    assert_front(h, 0, 0.35 * 1.1, 0.25 / 0.6);
    assert_front(h, 1, 0.77, 0);
}

static void a_front_may_be_covered_all_over(void **state)
{
    hangar *h = *state;
    hang(h, FLOOR, 10.5, 5.5, 0.5, 0.5, 1.2);
    hang(h, CEILING, 10.4, 5.4, 0.7, 0.7, 1.09);
    cut(h, ROOM_VOLUME - 0.25 * 1.2 - 0.49 * 1.09 - 0.25 * 0.01);
    assert_near(h->bodies.front[0].covered, 1, 0);
    assert_near(h->bodies.front[1].covered, 0.25 / 0.49, 1e-9);
    /* of what is left the largest rectangle runs along one side, 0.1 m wide */
    assert_near(area_of(&h->bodies.front[1].rect), 0.07, 1e-12);
}

/* Boxes on the floor about a taller one: two of their tops touch in a corner. */
static void tops_that_touch_in_a_corner(void **state)
{
    hangar *h = *state;
    hang(h, FLOOR, 10.5, 5.4, 0.5, 0.5, 0.4);
    hang(h, FLOOR, 11.0, 5.4, 0.5, 0.5, 0.8);
    hang(h, FLOOR, 11.0, 5.9, 0.5, 0.5, 0.4);
    cut(h, ROOM_VOLUME - 0.25 * (0.4 + 0.8 + 0.4));
    assert_int_equal(h->bodies.n_closed, 0);
    assert_area(h, 2, 0, 2.6 * 2 - 0.75, 0.75);
}

/* The same where one part of the tops runs all the way round: its outline would meet itself. */
static void a_top_that_meets_itself_in_a_corner(void **state)
{
    hangar *h = *state;
    hang(h, FLOOR, 10.5, 5.5, 0.9, 0.3, 0.4);
    hang(h, FLOOR, 10.5, 5.8, 0.3, 0.6, 0.4);
    hang(h, FLOOR, 10.8, 6.1, 0.3, 0.3, 0.4);
    hang(h, FLOOR, 11.1, 5.8, 0.3, 0.3, 0.4);
    hang(h, FLOOR, 10.8, 5.8, 0.3, 0.3, 0.8);
    cut(h, ROOM_VOLUME - 0.09 * (7 * 0.4 + 0.8));
    assert_int_equal(h->bodies.n_closed, 0);
    assert_area(h, 2, 0, 2.6 * 2 - 8 * 0.09, 8 * 0.09);
}

static void shut_off_air_is_closed(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.4, 0, 1.5, 0.3, 0.5);
    hang(h, WALL_1, 0.4, 0.3, 0.3, 0.4, 0.5);
    hang(h, WALL_1, 1.6, 0.3, 0.3, 0.4, 0.5);
    hang(h, WALL_1, 0.4, 0.7, 1.5, 0.3, 0.5);
    hang(h, WALL_3, 2.6 - 1.9, 0, 1.5, 1, 1.5);
    cut(h, ROOM_VOLUME - 1.5 * 1 * 0.5 - 1.5 * 1.5);
    assert_int_equal(h->bodies.n_closed, 1);
    assert_near(h->bodies.closed, 0.9 * 0.4 * 0.5, 1e-12);
}

static void flat_units_are_no_bodies(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.7, 0.5, 0.6, 1.1, 0.005);
    cut(h, ROOM_VOLUME);
    assert_false(h->bodies.front[0].body);
    assert_near(h->bodies.front[0].covered, 0, 0);
}

static void other_rooms_are_refused(void **state)
{
    hangar *h = *state;
    hang(h, WALL_1, 0.7, 0.5, 0.6, 1.1, 0.2);
    const ebb_job job = hangar_job(h);
    h->room->shaped = true;
    assert_int_equal(ebb_bodies_make(h->ctx, h->arena, &job, h->room, h->n, h->placed, &h->bodies),
                     EBB_E_RANGE);
    h->room->shaped = false;
    h->placed[0].surface = 6;
    assert_int_equal(ebb_bodies_make(h->ctx, h->arena, &job, h->room, h->n, h->placed, &h->bodies),
                     EBB_E_RANGE);
    assert_int_equal(ebb_ctx_errors(h->ctx), 2);
    assert_non_null(strstr(ebb_ctx_message(h->ctx, 0)->text, "no box"));
}

/* Many boxes of random places and depths: whatever is made is closed and adds up. */
static void any_heap_of_boxes_is_a_solid(void **state)
{
    hangar *h = *state;
    unsigned seed = 7;
    for (int round = 0; round < 60; round++) {
        h->n = 0;
        for (int i = 0; i < MOST_UNITS; i++) {
            double r[6];
            for (int k = 0; k < 6; k++)
                r[k] = (seed = seed * 1664525U + 1013904223U) / 4294967296.0;
            const size_t on = (size_t)(6 * r[0]);
            const double wide = 0.1 * (2 + (int)(4 * r[3])), high = 0.1 * (2 + (int)(4 * r[4]));
            const double x = 0.1 * (int)(14 * r[1]), y = 0.1 * (int)(14 * r[2]);
            const double off = on < WALL_1 ? 1 : 0;
            hang(h, on, x + 10 * off, y + 5 * off, wide, high, 0.1 * (1 + (int)(5 * r[5])));
        }
        const ebb_job job = hangar_job(h);
        const char *why = "";
        assert_ok(h->ctx,
                  ebb_bodies_make(h->ctx, h->arena, &job, h->room, h->n, h->placed, &h->bodies));
        if (ebb_solid_check(h->arena, &h->bodies.solid, &why) != EBB_OK)
            fail_msg("round %d: %s", round, why);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        HANGAR_TEST(an_empty_room_is_a_box),
        HANGAR_TEST(one_box_on_a_wall),
        HANGAR_TEST(a_box_on_every_surface),
        HANGAR_TEST(boxes_that_touch_are_one),
        HANGAR_TEST(boxes_on_each_other_in_a_corner),
        HANGAR_TEST(depths_side_by_side),
        HANGAR_TEST(narrow_gaps_are_closed),
        HANGAR_TEST(wide_gaps_stay),
        HANGAR_TEST(slits_at_walls_are_closed),
        HANGAR_TEST(small_slips_are_taken_away),
        HANGAR_TEST(touching_in_a_line_is_healed),
        HANGAR_TEST(touching_in_a_point_is_healed),
        HANGAR_TEST(a_front_may_be_covered),
        HANGAR_TEST(a_front_may_be_covered_all_over),
        HANGAR_TEST(tops_that_touch_in_a_corner),
        HANGAR_TEST(a_top_that_meets_itself_in_a_corner),
        HANGAR_TEST(shut_off_air_is_closed),
        HANGAR_TEST(flat_units_are_no_bodies),
        HANGAR_TEST(other_rooms_are_refused),
        HANGAR_TEST(any_heap_of_boxes_is_a_solid),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
