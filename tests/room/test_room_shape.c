/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rooms of any shape against closed forms. */
#include "shaped.h"

#define L_PLAN                                                                                     \
    "    plan: [[0 m, 0 m], [6 m, 0 m], [6 m, 3 m], [4 m, 3 m], [4 m, 5 m], [0 m, 5 m]]\n"
#define SQUARE_PLAN "    plan: [[1 m, 2 m], [7 m, 2 m], [7 m, 6 m], [1 m, 6 m]]\n"

static void an_l_plan(void **state)
{
    const ebb_room *room = shaped_room(*state, L_PLAN "    ceiling: 2.5 m\n", "1 m, 1 m, 1.2 m");
    check_room(room);
    check_outlines(room);
    assert_close(ebb_room_volume(room), 26 * 2.5, 1e-9);
    assert_close(ebb_room_area(room), 2 * 26 + 22 * 2.5, 1e-9);
    assert_close(ebb_room_treatable(room), 26 + 22 * 2.5, 1e-9);
    assert_int_equal(room->n_surfaces, 8);
    assert_int_equal(room->n_plan, 6);
    assert_int_equal(euler_number(room->solid), 2);
    assert_area(room, "wall_3", 2 * 2.5);
    assert_true(ebb_room_holds(room, (ebb_vec3){5, 1, 1}, 0.9));
    assert_false(ebb_room_holds(room, (ebb_vec3){5, 4, 1}, 0));
    assert_false(ebb_room_holds(room, (ebb_vec3){3.9, 2.9, 1}, 0.2));
    assert_true(ebb_room_holds(room, (ebb_vec3){3.9, 2.9, 1}, 0.14));
}

/* 6 x 4 m, eaves 2.2, ridge 3.4 along x, 1 m off the middle. */
static void a_gable(void **state)
{
    const ebb_room *room = shaped_room(
        *state,
        SQUARE_PLAN "    ceiling: {eaves: 2.2 m, ridge: {height: 3.4 m, from: [0 m, 3 m], "
                    "to: [8 m, 3 m]}}\n",
        "3 m, 4 m, 1.2 m");
    check_room(room);
    check_outlines(room);
    assert_close(ebb_room_volume(room), 6 * (4 * 2.2 + 4 * 1.2 / 2), 1e-7);
    assert_int_equal(room->n_surfaces, 7);
    assert_string_equal(room->surfaces[1].name, "ceiling_1");
    assert_string_equal(room->surfaces[6].name, "ceiling_2");
    assert_area(room, "ceiling_1", 6 * hypot(3, 1.2)); /* left of the ridge: larger y */
    assert_area(room, "ceiling_2", 6 * hypot(1, 1.2));
    assert_area(room, "wall_2", 4 * 2.2 + 4 * 1.2 / 2);
    assert_area(room, "wall_1", 6 * 2.2);
    assert_close(room->size[2], 3.4, 1e-12);
    assert_int_equal(euler_number(room->solid), 2);
    const ebb_surface *slope = &room->surfaces[1];
    assert_true(ebb_surface_is_ceiling(slope) && !ebb_surface_is_floor(slope));
    assert_close(slope->up.y, -3 / hypot(3, 1.2), 1e-9);
    assert_close(slope->origin.z, 2.2, 1e-9);
    assert_close(slope->range[0][1] - slope->range[0][0], 6, 1e-7);
    assert_close(slope->range[1][0], 0, 1e-7);
    assert_close(slope->range[1][1], hypot(3, 1.2), 1e-7);
}

static void lean_to_by_heights_ridge_and_planes(void **state)
{
    static const char *const ceilings[] = {
        "[2 m, 2 m, 3 m, 3 m]",
        "{eaves: 2 m, ridge: {height: 3 m, from: [1 m, 6 m], to: [7 m, 6 m]}}",
        "{planes: [[[0 m, 2 m, 2 m], [1 m, 2 m, 2 m], [3 m, 6 m, 3 m]]]}"};
    for (size_t i = 0; i < 3; i++) {
        char shape[512];
        snprintf(shape, sizeof shape, SQUARE_PLAN "    ceiling: %s\n", ceilings[i]);
        const ebb_room *room = shaped_room(*state, shape, "3 m, 4 m, 1.2 m");
        check_room(room);
        check_outlines(room);
        assert_close(ebb_room_volume(room), 24 * 2.5, 1e-9);
        assert_area(room, "ceiling", 6 * hypot(4, 1));
        assert_area(room, "wall_3", 6 * 3);
        assert_area(room, "wall_2", 4 * 2.5);
        assert_int_equal(room->n_surfaces, 6);
    }
}

/* Four planes through the eaves of a 6 x 4 m plan, all rising 0.5 m a metre: ridge 2 m long, 1 m
 * up. Two pyramids' halves and a prism. */
#define HIP_CEILING                                                                                \
    "    ceiling: {planes: [[[1 m, 2 m, 2 m], [7 m, 2 m, 2 m], [4 m, 4 m, 3 m]], "                 \
    "[[7 m, 2 m, 2 m], [7 m, 6 m, 2 m], [5 m, 4 m, 3 m]], "                                        \
    "[[7 m, 6 m, 2 m], [1 m, 6 m, 2 m], [4 m, 4 m, 3 m]], "                                        \
    "[[1 m, 6 m, 2 m], [1 m, 2 m, 2 m], [3 m, 4 m, 3 m]]]}\n"

static void a_hipped_ceiling(void **state)
{
    const ebb_room *room = shaped_room(*state, SQUARE_PLAN HIP_CEILING, "3 m, 4 m, 1.2 m");
    check_room(room);
    check_outlines(room);
    assert_close(ebb_room_volume(room), 24 * 2 + 2 * 4 * 1 / 2.0 + 4 * 4 * 1 / 3.0, 1e-6);
    assert_area(room, "ceiling_2", 4 * hypot(2, 1) / 2);
    assert_area(room, "ceiling_1", (6 + 2) / 2.0 * hypot(2, 1));
    assert_area(room, "wall_4", 4 * 2);
    assert_int_equal(room->n_surfaces, 9);
    assert_int_equal(euler_number(room->solid), 2);
}

/* Four slopes to one point: the highest place is over the middle of the plan. */
static void a_pyramid(void **state)
{
    const ebb_room *room =
        shaped_room(*state,
                    "    plan: [[0 m, 0 m], [4 m, 0 m], [4 m, 4 m], [0 m, 4 m]]\n"
                    "    ceiling: {planes: [[[0 m, 0 m, 2 m], [4 m, 0 m, 2 m], [2 m, 2 m, 3 m]], "
                    "[[4 m, 0 m, 2 m], [4 m, 4 m, 2 m], [2 m, 2 m, 3 m]], "
                    "[[4 m, 4 m, 2 m], [0 m, 4 m, 2 m], [2 m, 2 m, 3 m]], "
                    "[[0 m, 4 m, 2 m], [0 m, 0 m, 2 m], [2 m, 2 m, 3 m]]]}\n",
                    "2 m, 1 m, 1.2 m");
    check_room(room);
    assert_close(room->size[2], 3, 1e-9);
    assert_close(ebb_room_volume(room), 16 * 2 + 16 / 3.0, 1e-6);
    assert_int_equal(euler_number(room->solid), 2);
}

/* A column through the room makes a ring of it. */
static void a_column(void **state)
{
    const ebb_room *room = shaped_room(
        *state,
        L_PLAN "    columns: [[[2 m, 2 m], [2.5 m, 2 m], [2.5 m, 2.4 m], [2 m, 2.4 m]]]\n"
               "    ceiling: 2.5 m\n",
        "1 m, 1 m, 1.2 m");
    check_room(room);
    check_outlines(room);
    assert_close(ebb_room_volume(room), (26 - 0.2) * 2.5, 1e-7);
    assert_int_equal(room->n_surfaces, 12);
    assert_int_equal(euler_number(room->solid), 0);
    assert_string_equal(room->surfaces[8].name, "column_1_1");
    assert_close(room->surfaces[8].normal.y, 1, 1e-12); /* its side from corner 1 to 2 faces -y */
    assert_area(room, "column_1_2", 0.4 * 2.5);
    assert_false(ebb_room_holds(room, (ebb_vec3){2.2, 2.2, 1}, 0));
    assert_true(ebb_room_holds(room, (ebb_vec3){1.9, 2.2, 1}, 0.1));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(an_l_plan),        TEST(a_gable),  TEST(lean_to_by_heights_ridge_and_planes),
        TEST(a_hipped_ceiling), TEST(a_column), TEST(a_pyramid),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
