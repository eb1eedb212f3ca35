/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Where a tape finds things: ends of walls as seen from inside, two walls that are not parallel. */
#include "../../src/report/place.h"
#include "fixture.c"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

static void test_ends_are_those_seen_from_inside(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_room *room = &f.job.rooms[0];
    /* Facing wall_1 (y = 0) from inside, x = 0 is on the right. */
    const ebb_placed placed = {0, 2, {0.5, 0.25}, false};
    const ebb_wall_place place = ebb_place_on_wall(&f.job, room, &placed);
    assert_float_equal(place.right, 0.5, 1e-12);
    assert_float_equal(place.left, 5.4 - 0.5 - 0.6, 1e-12);
    assert_float_equal(place.floor, 0.25, 1e-12);
    assert_float_equal(place.top, 2.7 - 0.25 - 1.2, 1e-12);
    const ebb_placed turned = {0, 2, {0.5, 0.25}, true};
    const ebb_wall_place lying = ebb_place_on_wall(&f.job, room, &turned);
    assert_float_equal(lying.left, 5.4 - 0.5 - 1.2, 1e-12);
    assert_float_equal(lying.top, 2.7 - 0.25 - 0.6, 1e-12);
    fixture_close(&f);
}

/* Left, right and size add up to the wall, whichever wall it is. */
static void test_distances_add_up(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_room *room = &f.job.rooms[1];
    for (size_t s = 2; s < room->n_surfaces; s++) {
        const ebb_placed placed = {1, s, {0.7, 0.4}, false};
        const ebb_wall_place place = ebb_place_on_wall(&f.job, room, &placed);
        const double length = room->surfaces[s].range[0][1] - room->surfaces[s].range[0][0];
        assert_float_equal(place.left + place.right + 0.6, length, 1e-12);
        assert_float_equal(place.floor + place.top + 0.6, room->size[2], 1e-12);
        assert_true(ebb_is_wall(room, s));
    }
    assert_false(ebb_is_wall(room, 0));
    assert_false(ebb_is_wall(room, 1));
    assert_false(ebb_is_wall(room, 99));
    fixture_close(&f);
}

static void test_two_walls_across_each_other(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_room *room = &f.job.rooms[0];
    const ebb_floor_place place = ebb_place_on_floor(room, (ebb_vec3){5.0, 0.9, 1.2});
    assert_int_equal(place.n, 2);
    assert_string_equal(room->surfaces[place.wall[0]].name, "wall_2");
    assert_string_equal(room->surfaces[place.wall[1]].name, "wall_1");
    assert_float_equal(place.distance[0], 0.4, 1e-12);
    assert_float_equal(place.distance[1], 0.9, 1e-12);
    assert_string_equal(
        ebb_station_words(f.arena, room, (ebb_vec3){5.0, 0.9, 1.2}, EBB_UNITS_METRIC),
        "400 mm from wall_2, 900 mm from wall_1, 1200 mm up");
    fixture_close(&f);
}

/* A wall that a point does not stand in front of is no help to a tape. */
static void test_a_wall_beside_the_point_does_not_count(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_room *room = &f.job.rooms[0];
    room->surfaces[3].range[0][1] = 0.5; /* wall_2 ends before y = 0.9 */
    const ebb_floor_place place = ebb_place_on_floor(room, (ebb_vec3){5.0, 0.9, 1.2});
    assert_int_equal(place.n, 2);
    assert_string_equal(room->surfaces[place.wall[0]].name, "wall_1");
    assert_string_equal(room->surfaces[place.wall[1]].name, "wall_4");
    fixture_close(&f);
}

static void test_under_a_ceiling_the_nearer_edges_count(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_room *room = &f.job.rooms[0];
    const ebb_placed placed = {2, 1, {4.5, 0.4}, false}; /* x 4.5 to 5.1, y 0.4 to 1.6 */
    const ebb_floor_place place = ebb_place_under(&f.job, room, &placed);
    assert_string_equal(room->surfaces[place.wall[0]].name, "wall_2");
    assert_float_equal(place.distance[0], 0.3, 1e-9);
    assert_string_equal(room->surfaces[place.wall[1]].name, "wall_1");
    assert_float_equal(place.distance[1], 0.4, 1e-9);
    const ebb_placed lost = {99, 1, {0, 0}, false};
    assert_string_equal(ebb_place_words(f.arena, &f.job, room, &lost, EBB_UNITS_METRIC), "?");
    fixture_close(&f);
}

/* On a slope the tape lies on the slope. */
static void test_a_slope_is_measured_on_itself(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_room *room = &f.job.rooms[0];
    const double h = sqrt(0.5);
    room->surfaces[1].normal = (ebb_vec3){0, -h, h};
    room->surfaces[1].up = (ebb_vec3){0, h, h};
    room->surfaces[1].axis = -1;
    const ebb_placed placed = {2, 1, {1.0, 0.3}, false};
    assert_string_equal(ebb_place_words(f.arena, &f.job, room, &placed, EBB_UNITS_METRIC),
                        "1000 mm along its lower edge, 300 mm up the slope");
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ends_are_those_seen_from_inside),
        cmocka_unit_test(test_distances_add_up),
        cmocka_unit_test(test_two_walls_across_each_other),
        cmocka_unit_test(test_a_wall_beside_the_point_does_not_count),
        cmocka_unit_test(test_under_a_ceiling_the_nearer_edges_count),
        cmocka_unit_test(test_a_slope_is_measured_on_itself),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
