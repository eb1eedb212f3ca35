/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "helper.h"

#include <math.h>

static void assert_point(ebb_vec3 got, double x, double y, double z)
{
    if (fabs(got.x - x) > 1e-12 || fabs(got.y - y) > 1e-12 || fabs(got.z - z) > 1e-12)
        print_error("got (%g, %g, %g), wanted (%g, %g, %g)\n", got.x, got.y, got.z, x, y, z);
    assert_true(fabs(got.x - x) <= 1e-12 && fabs(got.y - y) <= 1e-12 && fabs(got.z - z) <= 1e-12);
}

static void assert_range(const ebb_surface *s, double a, double b, double c, double d)
{
    assert_near(s->range[0][0], a);
    assert_near(s->range[0][1], b);
    assert_near(s->range[1][0], c);
    assert_near(s->range[1][1], d);
}

static void volume_and_area(void **state)
{
    const ebb_room *room = good_job(*state, HEAD ROOM)->rooms;
    assert_near(ebb_room_volume(room), 60);
    assert_near(ebb_room_area(room), 2 * (20 + 12 + 15));
    assert_int_equal(room->line, 6);
}

/* A room of 5 x 4 x 3 m with its corner at the origin: each wall starts at its plan corner. */
static void frames_of_a_room_by_size(void **state)
{
    const ebb_room *room = good_job(*state, HEAD ROOM)->rooms;
    const ebb_surface *s = room->surfaces;
    assert_int_equal(room->n_surfaces, 6);
    assert_string_equal(s[0].name, "floor");
    assert_string_equal(s[1].name, "ceiling");
    assert_string_equal(s[2].name, "wall_1");
    assert_string_equal(s[5].name, "wall_4");
    assert_point(ebb_surface_point(&s[0], 1, 2), 1, 2, 0);
    assert_point(ebb_surface_point(&s[1], 1, 2), 1, 2, 3);
    assert_point(ebb_surface_point(&s[2], 1, 2), 1, 0, 2);
    assert_point(ebb_surface_point(&s[3], 1, 2), 5, 1, 2);
    assert_point(ebb_surface_point(&s[4], 1, 2), 4, 4, 2);
    assert_point(ebb_surface_point(&s[5], 1, 2), 0, 3, 2);
    assert_range(&s[0], 0, 5, 0, 4);
    assert_range(&s[2], 0, 5, 0, 3);
    assert_range(&s[3], 0, 4, 0, 3);
    const int axis[6] = {2, 2, 1, 0, 1, 0}, side[6] = {0, 1, 0, 1, 1, 0};
    for (size_t i = 0; i < 6; i++) {
        assert_int_equal(s[i].axis, axis[i]);
        assert_int_equal(s[i].side, side[i]);
        assert_int_equal(ebb_room_face(room, axis[i], side[i]), i);
    }
    assert_int_equal(ebb_room_face(room, 0, 2), (size_t)-1);
}

/* The plan may start at any corner and anywhere: here at the far right one, off the origin. */
static void frames_of_a_room_by_plan(void **state)
{
    const ebb_room *room = good_job(*state, HEAD ROOM_HEAD
                                    "    plan: [[7 m, 6 m], [2 m, 6 m], [2 m, 2 m], [7 m, 2 m]]\n"
                                    "    ceiling: 3 m\n" ROOM_SURFACES
                                    "    seats: [{name: lead, at: [3 m, 3 m, 1.2 m]}]\n"
                                    "    speakers: [{name: left, at: [4 m, 5 m, 1.2 m]}]\n")
                               ->rooms;
    const ebb_surface *s = room->surfaces;
    assert_point(room->origin, 2, 2, 0);
    assert_near(room->size[0], 5);
    assert_near(room->size[1], 4);
    assert_near(room->size[2], 3);
    /* Floor and ceiling count from the job's origin, walls from their first corner. */
    assert_point(ebb_surface_point(&s[0], 3, 4), 3, 4, 0);
    assert_range(&s[1], 2, 7, 2, 6);
    assert_point(ebb_surface_point(&s[2], 1, 0), 6, 6, 0);
    assert_point(ebb_surface_point(&s[3], 1, 0), 2, 5, 0);
    assert_point(ebb_surface_point(&s[4], 1, 0), 3, 2, 0);
    assert_point(ebb_surface_point(&s[5], 1, 0), 7, 3, 0);
    const int axis[4] = {1, 0, 1, 0}, side[4] = {1, 0, 0, 1};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(s[2 + i].axis, axis[i]);
        assert_int_equal(s[2 + i].side, side[i]);
    }
}

/* Whatever corner the plan starts from, its walls run round the room with the room to the left:
 * along x up is the outward normal. */
static void walls_run_round_the_room(void **state)
{
    static const char *const corner[4] = {"[0 m, 0 m]", "[5 m, 0 m]", "[5 m, 4 m]", "[0 m, 4 m]"};
    for (size_t first = 0; first < 4; first++) {
        char text[2048];
        snprintf(
            text, sizeof text,
            HEAD ROOM_HEAD
            "    plan: [%s, %s, %s, %s]\n    ceiling: 3 m\n" ROOM_SURFACES ROOM_SEATS ROOM_SPEAKERS,
            corner[first], corner[(first + 1) % 4], corner[(first + 2) % 4],
            corner[(first + 3) % 4]);
        const ebb_room *room = good_job(*state, text)->rooms;
        for (size_t i = 2; i < 6; i++) {
            const ebb_surface *s = &room->surfaces[i];
            const double out[3] = {s->along.y * s->up.z - s->along.z * s->up.y,
                                   s->along.z * s->up.x - s->along.x * s->up.z,
                                   s->along.x * s->up.y - s->along.y * s->up.x};
            for (int d = 0; d < 3; d++)
                assert_near(out[d], d != s->axis ? 0 : s->side == 1 ? 1 : -1);
            /* The middle of the wall lies on the face of the room. */
            const ebb_vec3 p = ebb_surface_point(s, s->range[0][1] / 2, s->range[1][1] / 2);
            const double at[3] = {p.x, p.y, p.z};
            for (int d = 0; d < 3; d++)
                assert_near(at[d], d == s->axis ? s->side * room->size[d] : room->size[d] / 2);
        }
    }
}

static void turning_swaps_the_face(void **state)
{
    (void)state;
    const ebb_unit unit = {.face = {0.6, 1.2}};
    ebb_placed placed = {.turned = false};
    double size[2];
    ebb_placed_size(&unit, &placed, size);
    assert_true(size[0] == 0.6 && size[1] == 1.2);
    placed.turned = true;
    ebb_placed_size(&unit, &placed, size);
    assert_true(size[0] == 1.2 && size[1] == 0.6);
}

static void rectangles_overlap_by_more_than_a_millimetre(void **state)
{
    (void)state;
    const double a[2] = {1, 1}, size[2] = {2, 1};
    const double beside[2] = {3, 1}, hair[2] = {2.9995, 1}, over[2] = {2.99, 1.99};
    const double above[2] = {1, 2}, corner[2] = {2.99, 1.9995};
    assert_true(ebb_rect_overlap(a, size, a, size));
    assert_false(ebb_rect_overlap(a, size, beside, size));
    assert_false(ebb_rect_overlap(a, size, hair, size));
    assert_true(ebb_rect_overlap(a, size, over, size));
    assert_true(ebb_rect_overlap(over, size, a, size));
    assert_false(ebb_rect_overlap(a, size, above, size));
    assert_false(ebb_rect_overlap(a, size, corner, size));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(volume_and_area),
        TEST(frames_of_a_room_by_size),
        TEST(frames_of_a_room_by_plan),
        TEST(walls_run_round_the_room),
        cmocka_unit_test(turning_swaps_the_face),
        cmocka_unit_test(rectangles_overlap_by_more_than_a_millimetre),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
