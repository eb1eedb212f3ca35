/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bodies that cut a room, against closed forms. */
#include "shaped.h"

#define BOX "    size: [6 m, 4 m, 2.5 m]\n"
#define PLACE "3 m, 3 m, 1.2 m"
#define BODY(on_, at_, size_, depth_)                                                              \
    "      - {name: b, on: " on_ ", at: [" at_ "], size: [" size_ "], depth: " depth_              \
    ", of: stone}\n"

static void a_chimney_breast_in_mid_wall(void **state)
{
    const ebb_room *room = shaped_room(
        *state, BOX "    bodies:\n" BODY("wall_1", "2 m, 0 m", "1.2 m, 2.5 m", "0.4 m"), PLACE);
    check_room(room);
    check_outlines(room);
    assert_close(ebb_room_volume(room), 60 - 1.2 * 0.4 * 2.5, 1e-7);
    assert_int_equal(room->n_surfaces, 6 + 3);
    assert_area(room, "wall_1", 4.8 * 2.5);
    assert_int_equal(room->surfaces[2].n_loops, 2); /* the body divides the wall */
    assert_area(room, "body_1_front", 1.2 * 2.5);
    assert_area(room, "body_1_left", 0.4 * 2.5);
    assert_area(room, "floor", 24 - 0.48);
    assert_int_equal(euler_number(room->solid), 2);
    /* Seen from the room the wall runs to the left, so its far end is the left one. */
    const ebb_surface *left = &room->surfaces[surface_named(room, "body_1_left")];
    assert_close(left->normal.x, -1, 1e-12);
    assert_close(left->origin.x, 3.2, 1e-9);
    const ebb_surface *front = &room->surfaces[surface_named(room, "body_1_front")];
    assert_close(front->normal.y, -1, 1e-12);
    assert_close(front->along.x, 1, 1e-12);
    assert_close(ebb_surface_point(front, 0.2, 1).x, 2.2, 1e-9);
    assert_int_equal(room->n_bodies, 1);
    assert_int_equal(room->bodies[0].n_sides, 3);
    assert_int_equal(room->bodies[0].surface, 2);
    /* What lies on both sides of the body, or across it, is not on the wall. */
    assert_true(ebb_surface_holds(&room->surfaces[2], (double[2]){0.5, 0.5}, (double[2]){1.5, 1}));
    assert_false(ebb_surface_holds(&room->surfaces[2], (double[2]){1.5, 0.5}, (double[2]){1, 1}));
    assert_false(ebb_surface_holds(&room->surfaces[2], (double[2]){1, 0.5}, (double[2]){3.5, 1}));
    assert_false(ebb_surface_holds(&room->surfaces[2], (double[2]){2.2, 0.5}, (double[2]){0.5, 1}));
}

static void a_cupboard_in_a_corner(void **state)
{
    const ebb_room *room = shaped_room(
        *state, BOX "    bodies:\n" BODY("wall_1", "0 m, 0 m", "1.2 m, 2 m", "0.4 m"), PLACE);
    check_room(room);
    check_outlines(room);
    assert_close(ebb_room_volume(room), 60 - 1.2 * 0.4 * 2, 1e-7);
    assert_int_equal(room->n_surfaces, 6 + 3);
    assert_area(room, "body_1_left", 0.4 * 2);
    assert_area(room, "body_1_top", 1.2 * 0.4);
    assert_area(room, "wall_1", 15 - 1.2 * 2);
    assert_area(room, "wall_4", 10 - 0.4 * 2);
    assert_area(room, "ceiling", 24);
    assert_true(ebb_surface_is_floor(&room->surfaces[surface_named(room, "body_1_top")]));
    assert_int_equal(euler_number(room->solid), 2);
}

/* From wall to wall under the ceiling: it divides the ceiling, and leaves a ring of air. */
static void a_beam_from_wall_to_wall(void **state)
{
    const ebb_room *flush = shaped_room(
        *state, BOX "    bodies:\n" BODY("wall_2", "1.5 m, 2.2 m", "0.2 m, 0.3 m", "6 m"), PLACE);
    check_room(flush);
    assert_close(ebb_room_volume(flush), 60 - 0.2 * 0.3 * 6, 1e-7);
    assert_int_equal(flush->n_surfaces, 6 + 3);
    assert_int_equal(flush->surfaces[1].n_loops, 2);
    assert_int_equal(euler_number(flush->solid), 2);
    const ebb_room *freely = shaped_room(
        *state, BOX "    bodies:\n" BODY("wall_2", "1.5 m, 1.9 m", "0.2 m, 0.3 m", "6 m"), PLACE);
    check_room(freely);
    check_outlines(freely);
    assert_close(ebb_room_volume(freely), 60 - 0.2 * 0.3 * 6, 1e-7);
    assert_int_equal(freely->n_surfaces, 6 + 4);
    assert_area(freely, "body_1_bottom", 0.2 * 6);
    assert_area(freely, "wall_4", 10 - 0.06);
    assert_int_equal(euler_number(freely->solid), 0);
}

/* It hangs from the ceiling alone, and stands on the floor alone. */
static void islands(void **state)
{
    const ebb_room *room =
        shaped_room(*state,
                    BOX "    bodies:\n" BODY("ceiling", "1 m, 1 m", "2 m, 1 m", "0.3 m")
                        BODY("floor", "4 m, 1 m", "1 m, 1.5 m", "0.2 m"),
                    PLACE);
    check_room(room);
    check_outlines(room);
    assert_close(ebb_room_volume(room), 60 - 0.6 - 0.3, 1e-7);
    assert_int_equal(room->n_surfaces, 6 + 5 + 5);
    assert_area(room, "body_1_front", 2);
    assert_area(room, "body_2_front", 1.5);
    assert_area(room, "body_2_left", 1.5 * 0.2); /* towards smaller x */
    assert_close(room->surfaces[surface_named(room, "body_2_left")].normal.x, 1, 1e-12);
    assert_close(room->surfaces[surface_named(room, "body_2_bottom")].normal.y, 1, 1e-12);
    assert_int_equal(room->surfaces[0].n_loops, 2); /* a floor with a hole */
    assert_area(room, "floor", 24 - 1.5);
    assert_int_equal(euler_number(room->solid), 2);
    assert_true(ebb_surface_is_ceiling(&room->surfaces[surface_named(room, "body_1_front")]));
    assert_false(ebb_surface_holds(&room->surfaces[0], (double[2]){3.5, 0.5}, (double[2]){2, 3}));
    assert_true(ebb_surface_holds(&room->surfaces[0], (double[2]){0.5, 0.5}, (double[2]){2, 3}));
}

/* A breast on the gable wall: up to the ridge on both slopes, or ending in one of them. */
#define GABLE                                                                                      \
    "    plan: [[0 m, 0 m], [6 m, 0 m], [6 m, 4 m], [0 m, 4 m]]\n"                                 \
    "    ceiling: {eaves: 2 m, ridge: {height: 3 m, from: [0 m, 2 m], to: [6 m, 2 m]}}\n"

static void bodies_end_at_slopes(void **state)
{
    const ebb_room *whole = shaped_room(
        *state, GABLE "    bodies:\n" BODY("wall_2", "1.5 m, 0 m", "1 m, 3 m", "0.5 m"), PLACE);
    check_room(whole);
    check_outlines(whole);
    assert_close(ebb_room_volume(whole), 60 - 0.5 * (2.75 + 0.125), 1e-7);
    assert_area(whole, "body_1_front", 2.75 + 0.125);
    assert_area(whole, "body_1_left", 0.5 * 2.75);
    assert_int_equal(euler_number(whole->solid), 2);
    /* 2.5 m high from 0.5 m to 1.5 m off the eaves wall: the slope meets its top at 1 m. */
    const ebb_room *part = shaped_room(
        *state, GABLE "    bodies:\n" BODY("wall_2", "0.5 m, 0 m", "1 m, 2.5 m", "0.5 m"), PLACE);
    check_room(part);
    check_outlines(part);
    assert_close(ebb_room_volume(part), 60 - 0.5 * (2.5 - 0.5 * 0.5 * 0.25), 1e-7);
    assert_area(part, "body_1_top", 0.5 * 0.5);
    assert_area(part, "body_1_right", 0.5 * 2.25);
    assert_area(part, "body_1_left", 0.5 * 2.5);
    assert_int_equal(euler_number(part->solid), 2);
    /* Where the slope is lower than its lower end there is nothing of it. */
    const ebb_room *high = shaped_room(
        *state, GABLE "    bodies:\n" BODY("wall_2", "0.2 m, 2.3 m", "1 m, 0.3 m", "0.5 m"), PLACE);
    check_room(high);
    check_outlines(high);
    assert_close(ebb_room_volume(high), 60 - 0.5 * 0.6 * 0.3 / 2, 1e-7);
    assert_area(high, "body_1_bottom", 0.6 * 0.5);
    assert_int_equal(high->bodies[0].n_sides, 3);
    assert_int_equal(euler_number(high->solid), 2);
    /* On the eaves wall, ending at the eaves: the slope rises from its upper edge. */
    const ebb_room *eaves = shaped_room(
        *state, GABLE "    bodies:\n" BODY("wall_1", "1 m, 0 m", "1 m, 2 m", "0.5 m"), PLACE);
    check_room(eaves);
    assert_close(ebb_room_volume(eaves), 60 - 1, 1e-7);
    assert_area(eaves, "body_1_top", 0.5);
    assert_area(eaves, "body_1_left", 1);
    assert_int_equal(euler_number(eaves->solid), 2);
}

/* Corners of bodies lie on edges of others' facets: those must be divided there. */
static void corners_on_edges(void **state)
{
    const ebb_room *room =
        shaped_room(*state,
                    BOX "    bodies:\n" BODY("wall_1", "1 m, 0 m", "1 m, 2.5 m", "0.4 m")
                        BODY("wall_1", "4 m, 0 m", "1 m, 1 m", "0.4 m")
                            BODY("wall_3", "1 m, 1 m", "1 m, 1.5 m", "0.4 m")
                                BODY("wall_2", "2 m, 0 m", "0.5 m, 1 m", "0.3 m"),
                    PLACE);
    check_room(room);
    check_outlines(room);
    assert_close(ebb_room_volume(room), 60 - 1 - 0.4 - 0.6 - 0.15, 1e-7);
    assert_int_equal(euler_number(room->solid), 2);
    /* A rectangle's edge on the wall of an L that is longer than the facet beside it. */
    const ebb_room *l = shaped_room(
        *state,
        "    plan: [[0 m, 0 m], [6 m, 0 m], [6 m, 3 m], [4 m, 3 m], [4 m, 5 m], [0 m, 5 m]]\n"
        "    ceiling: 2.5 m\n"
        "    bodies:\n" BODY("wall_4", "0 m, 0 m", "1 m, 1 m", "0.4 m"),
        "3 m, 2 m, 1.2 m");
    check_room(l);
    check_outlines(l);
    assert_close(ebb_room_volume(l), 65 - 0.4, 1e-7);
    assert_int_equal(euler_number(l->solid), 2);
}

/* What was measured to the millimetre is made to touch. */
static void nearly_flush_is_flush(void **state)
{
    const ebb_room *room =
        shaped_room(*state,
                    "    plan: [[0 m, 0 m], [5.2 m, 3 m], [3.7 m, 5.6 m], [-1.5 m, 2.6 m]]\n"
                    "    ceiling: 2.5 m\n"
                    "    bodies:\n" BODY("wall_2", "2.001 m, 0.001 m", "1 m, 2.498 m", "0.4 m"),
                    "2 m, 3 m, 1.2 m");
    check_room(room);
    const double whole = 0.5 * (5.2 * 5.6 - 3.7 * 3 + 3.7 * 2.6 + 1.5 * 5.6);
    assert_close(ebb_room_volume(room), (whole - 0.4) * 2.5, 2e-3);
    assert_int_equal(room->bodies[0].n_sides, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_chimney_breast_in_mid_wall), TEST(a_cupboard_in_a_corner),
        TEST(a_beam_from_wall_to_wall),     TEST(islands),
        TEST(bodies_end_at_slopes),         TEST(corners_on_edges),
        TEST(nearly_flush_is_flush),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
