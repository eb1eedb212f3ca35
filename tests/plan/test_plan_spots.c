/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Places for units: tiled from the corners, off openings and existing units, clear of people. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

static void places_stay_on_their_surface(void **state)
{
    scene *s = *state;
    make_spots(s);
    assert_true(s->spots.n > 12);
    for (size_t i = 0; i < s->spots.n; i++) {
        const ebb_spot *p = &s->spots.spot[i];
        const ebb_surface *on = &s->room->surfaces[p->surface];
        for (int d = 0; d < 2; d++) {
            assert_true(p->at[d] >= on->range[d][0] - 1e-9);
            assert_true(p->at[d] + p->size[d] <= on->range[d][1] + 1e-9);
        }
        assert_near(p->size[p->turned ? 1 : 0], 0.6, 1e-12);
        assert_near(p->size[p->turned ? 0 : 1], 1.1, 1e-12);
    }
}

static void places_of_one_face_do_not_overlap(void **state)
{
    scene *s = *state;
    make_spots(s);
    for (size_t i = 0; i < s->spots.n; i++)
        for (size_t j = 0; j < i; j++) {
            const ebb_spot *a = &s->spots.spot[i], *b = &s->spots.spot[j];
            assert_false(a->surface == b->surface &&
                         ebb_rect_overlap(a->at, a->size, b->at, b->size));
        }
}

static void openings_stay_free(void **state)
{
    scene *s = *state;
    make_spots(s);
    size_t with = s->spots.n;
    for (size_t i = 0; i < s->spots.n; i++)
        for (size_t o = 0; o < s->room->n_openings; o++) {
            const ebb_spot *p = &s->spots.spot[i];
            const ebb_opening *hole = &s->room->openings[o];
            assert_false(p->surface == hole->surface &&
                         ebb_rect_overlap(p->at, p->size, hole->at, hole->size));
        }
    s->room->n_openings = 0;
    make_spots(s);
    assert_true(s->spots.n > with);
}

static void existing_units_keep_their_place(void **state)
{
    scene *s = *state;
    make_spots(s);
    ebb_spot taken = s->spots.spot[0];
    size_t before = s->spots.n;
    ebb_placed placed = {FRONT, taken.surface, {taken.at[0], taken.at[1]}, taken.turned};
    s->room->n_placed = 1;
    s->room->placed = &placed;
    make_spots(s);
    assert_int_equal(s->spots.n, before - 1);
    for (size_t i = 0; i < s->spots.n; i++)
        assert_false(
            s->spots.spot[i].surface == taken.surface &&
            ebb_rect_overlap(s->spots.spot[i].at, s->spots.spot[i].size, taken.at, taken.size));
}

/* Both ends of the free wall opposite the door, from the floor: every mode is strong there. */
static void corners_are_among_the_places(void **state)
{
    scene *s = *state;
    size_t wall = ebb_room_face(s->room, 0, 0);
    const ebb_surface *on = &s->room->surfaces[wall];
    bool near = false, far = false;
    make_spots(s);
    for (size_t i = 0; i < s->spots.n; i++) {
        const ebb_spot *p = &s->spots.spot[i];
        if (p->surface != wall || fabs(p->at[1] - on->range[1][0]) > 1e-9)
            continue;
        near |= fabs(p->at[0] - on->range[0][0]) < 1e-9;
        far |= fabs(p->at[0] + p->size[0] - on->range[0][1]) < 1e-9;
    }
    assert_true(near && far);
}

static void units_hang_where_they_may(void **state)
{
    scene *s = *state;
    const ebb_unit *front = &s->job->absorbers[FRONT], *wool = &s->job->absorbers[WOOL];
    assert_false(ebb_unit_fits(wool, s->room, 0)); /* floor */
    assert_true(ebb_unit_fits(wool, s->room, 1));
    assert_false(ebb_unit_fits(front, s->room, 1));
    assert_true(ebb_unit_fits(front, s->room, 2));
    make_spots(s);
    size_t overhead = 0;
    for (size_t i = 0; i < s->spots.n; i++) {
        assert_int_not_equal(s->spots.spot[i].surface, 0);
        overhead += s->spots.spot[i].surface == 1;
    }
    assert_true(overhead > 0);
    s->job->absorbers[WOOL].on_ceiling = false;
    size_t all = s->spots.n;
    make_spots(s);
    assert_int_equal(s->spots.n, all - overhead);
}

static void no_units_no_places(void **state)
{
    scene *s = *state;
    s->job->n_units = 0;
    make_spots(s);
    assert_int_equal(s->spots.n, 0);
}

/* Both ends of a block along each axis. */
static void ends_of(const ebb_block *block, double low[3], double high[3])
{
    const double at[3] = {block->at.x, block->at.y, block->at.z};
    for (int d = 0; d < 3; d++)
        low[d] = high[d] = at[d];
    for (int e = 0; e < 3; e++) {
        const double way[3] = {block->way[e].x, block->way[e].y, block->way[e].z};
        for (int d = 0; d < 3; d++) {
            low[d] += fmin(0, block->length[e] * way[d]);
            high[d] += fmax(0, block->length[e] * way[d]);
        }
    }
}

/* wall_2 is the upper x face of the room, wall_4 the lower one. Its own corner is the origin. */
static void blocks_reach_into_the_room(void **state)
{
    scene *s = *state;
    double low[3], high[3];
    ebb_spot spot = {.surface = 3, .at = {0.5, 0.2}, .size = {0.6, 1.1}};
    ebb_block block = ebb_spot_block(s->room, &spot, 0.28);
    ends_of(&block, low, high);
    const double want_low[3] = {2.6 - 0.28, 0.5, 0.2}, want_high[3] = {2.6, 1.1, 1.3};
    for (int d = 0; d < 3; d++) {
        assert_near(low[d], want_low[d], 1e-9);
        assert_near(high[d], want_high[d], 1e-9);
    }
    spot.surface = 5; /* runs the other way */
    block = ebb_spot_block(s->room, &spot, 0.28);
    ends_of(&block, low, high);
    assert_near(low[0], 0, 1e-9);
    assert_near(high[0], 0.28, 1e-9);
    assert_near(low[1], 2 - 0.5 - 0.6, 1e-9);
}

static ebb_block upright(double x, double y, double z, double side)
{
    return (ebb_block){{x, y, z}, {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, {side, side, side}};
}

static void blocks_meet_beyond_a_millimetre(void **state)
{
    (void)state;
    ebb_block a = upright(0, 0, 0, 1), touching = upright(1, 0, 0, 1);
    ebb_block barely = upright(0.9995, 0, 0, 1), inside = upright(0.99, 0.5, 0.5, 1);
    assert_false(ebb_blocks_meet(&a, &touching));
    assert_false(ebb_blocks_meet(&a, &barely));
    assert_true(ebb_blocks_meet(&a, &inside));
    assert_true(ebb_blocks_meet(&inside, &a));
}

/* A unit cube standing on its edge beside an upright one: its point reaches half a diagonal. */
static void turned_blocks_meet_by_their_true_shape(void **state)
{
    (void)state;
    const double h = sqrt(0.5);
    ebb_block a = upright(0, 0, 0, 1);
    ebb_block edge = {{0, 0.5, 0}, {{h, -h, 0}, {h, h, 0}, {0, 0, 1}}, {1, 1, 1}};
    edge.at.x = 1.01;
    assert_false(ebb_blocks_meet(&a, &edge));
    edge.at.x = 0.99;
    assert_true(ebb_blocks_meet(&a, &edge));
    /* Boxes around them overlap here; they do not. */
    edge.at = (ebb_vec3){0.75, 1.5, 0};
    assert_false(ebb_blocks_meet(&a, &edge));
}

/* Edge against edge: only the product of two edges parts them. */
static void crossing_edges_part_blocks(void **state)
{
    (void)state;
    const double h = sqrt(0.5);
    ebb_block below = {{0, 0, 0}, {{1, 0, 0}, {0, h, h}, {0, -h, h}}, {4, 1, 1}};
    ebb_block above = {{2, -2, 2 * h}, {{0, 1, 0}, {h, 0, h}, {-h, 0, h}}, {4, 1, 1}};
    above.at.z += 0.01;
    assert_false(ebb_blocks_meet(&below, &above));
    above.at.z -= 0.02;
    assert_true(ebb_blocks_meet(&below, &above));
}

static bool clear(const scene *s, double x, double y, double z)
{
    ebb_block block = upright(x, y, z, 0.1);
    return ebb_block_is_clear(s->room, &s->stations, &block);
}

static void doors_and_people_keep_their_space(void **state)
{
    scene *s = *state;
    make_stations(s, EBB_USE_MUSIC);
    assert_true(clear(s, 0.1, 0.9, 0));
    assert_false(clear(s, 1.8, 0.9, 0));     /* the door swings 0.9 m */
    assert_true(clear(s, 1.55, 0.9, 0));     /* just beyond */
    assert_true(clear(s, 1.8, 1.4, 0));      /* beside it */
    assert_false(clear(s, 1.45, 0.9, 1.1));  /* the seat */
    assert_false(clear(s, 0.55, 1.45, 1.1)); /* a speaker */
    assert_true(clear(s, 0.9, 0.05, 1.3));   /* a window needs no space */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(places_stay_on_their_surface, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(places_of_one_face_do_not_overlap, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(openings_stay_free, set_up_scene, tear_down_scene),
        cmocka_unit_test_setup_teardown(existing_units_keep_their_place, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(corners_are_among_the_places, set_up_scene,
                                        tear_down_scene),
        cmocka_unit_test_setup_teardown(units_hang_where_they_may, set_up_scene, tear_down_scene),
        cmocka_unit_test_setup_teardown(no_units_no_places, set_up_scene, tear_down_scene),
        cmocka_unit_test_setup_teardown(blocks_reach_into_the_room, set_up_scene, tear_down_scene),
        cmocka_unit_test(blocks_meet_beyond_a_millimetre),
        cmocka_unit_test(turned_blocks_meet_by_their_true_shape),
        cmocka_unit_test(crossing_edges_part_blocks),
        cmocka_unit_test_setup_teardown(doors_and_people_keep_their_space, set_up_scene,
                                        tear_down_scene),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
