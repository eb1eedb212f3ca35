/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rooms with one wall or the ceiling moved. */
#include "shaped.h"

#define L_PLAN                                                                                     \
    "    plan: [[0 m, 0 m], [6 m, 0 m], [6 m, 3 m], [4 m, 3 m], [4 m, 5 m], [0 m, 5 m]]\n"
#define UNITS                                                                                      \
    "absorbers:\n  flat: {face: [0.6 m, 1.2 m], depth: 0.1 m, mass: 5 kg, admittance: 0.1, "       \
    "hangs: [walls, ceiling]}\n"

typedef struct moving {
    ebb_arena *arena;
    ebb_room room;
} moving;

/* Moves a wall; what is wrong is in the context. */
static ebb_status move(fixture *f, moving *m, const char *surface, double by)
{
    const ebb_room *room = f->job->rooms;
    m->arena = ebb_arena_new(f->ctx);
    ebb_ctx_clear(f->ctx);
    return ebb_room_moved(f->ctx, m->arena, f->job, room, surface_named(room, surface), by,
                          &m->room);
}

static void moves_to(fixture *f, const char *surface, double by, double volume)
{
    moving m;
    const ebb_status status = move(f, &m, surface, by);
    if (status != EBB_OK)
        print_messages(f->ctx);
    assert_int_equal(status, EBB_OK);
    assert_close(ebb_room_volume(&m.room), volume, 1e-7);
    assert_null(m.room.space);
    if (m.room.shaped)
        check_room(&m.room);
    ebb_arena_free(m.arena);
}

static void does_not_move(fixture *f, const char *surface, double by, const char *why)
{
    moving m;
    assert_int_equal(move(f, &m, surface, by), EBB_E_RANGE);
    assert_int_equal(ebb_ctx_errors(f->ctx), 1);
    if (strstr(ebb_ctx_message(f->ctx, 0)->text, why) == NULL)
        print_messages(f->ctx);
    assert_non_null(strstr(ebb_ctx_message(f->ctx, 0)->text, why));
    assert_int_equal(m.room.n_surfaces, 0);
    ebb_arena_free(m.arena);
}

static void walls_of_an_l(void **state)
{
    (void)shaped_room(*state, L_PLAN "    ceiling: 2.5 m\n", "1 m, 1 m, 1.2 m");
    moves_to(*state, "wall_1", 0.5, (26 + 3) * 2.5);
    moves_to(*state, "wall_3", 0.5, (26 + 1) * 2.5);
    moves_to(*state, "wall_4", -1, (26 - 2) * 2.5);
    moves_to(*state, "ceiling", -0.2, 26 * 2.3);
    moves_to(*state, "wall_2", 0, 65);
    does_not_move(*state, "wall_2", -2, "its neighbour ends before");
    does_not_move(*state, "wall_2", -1.99, "is 0.01 m long");
    does_not_move(*state, "wall_1", -0.96, "\"lead\" would be outside");
    does_not_move(*state, "ceiling", -1.6, "accepted is from 1 m to 40 m");
    does_not_move(*state, "floor", 0.1, "only walls and level ceilings");
    does_not_move(*state, "wall_1", 40, "accepted is from 1 m to 40 m");
}

/* Planes of the ceiling stay where they are: it goes on at its slope. */
static void walls_of_a_gable(void **state)
{
    (void)shaped_room(
        *state,
        "    plan: [[0 m, 0 m], [6 m, 0 m], [6 m, 4 m], [0 m, 4 m]]\n"
        "    ceiling: {eaves: 2 m, ridge: {height: 3 m, from: [0 m, 2 m], to: [6 m, 2 "
        "m]}}\n",
        "3 m, 3 m, 1.2 m");
    moves_to(*state, "wall_2", 1, 70);
    moves_to(*state, "wall_1", 1, 6 * (10 + 1.75));
    does_not_move(*state, "wall_1", 4, "the ceiling is 0 m high");
    does_not_move(*state, "ceiling_1", 0.1, "it is a slope");
}

static void a_rectangle_stays_one(void **state)
{
    fixture *f = *state;
    (void)good_job(f, HEAD UNITS ROOM
                   "    openings: [{on: wall_1, at: [2 m, 0 m], size: [0.9 m, 2 m], as: door}]\n"
                   "    placed: [{unit: flat, on: wall_3, at: [1 m, 1.75 m]}, "
                   "{unit: flat, on: ceiling, at: [1 m, 1 m]}]\n");
    moving m;
    assert_int_equal(move(f, &m, "wall_4", 0.5), EBB_OK);
    assert_false(m.room.shaped);
    assert_close(m.room.size[0], 5.5, 1e-12);
    assert_close(m.room.origin.x, -0.5, 1e-12);
    assert_int_equal(m.room.surfaces[3].axis, 0);
    /* The door stays in space, so it is farther from the corner that moved; on wall_3 the first
     * corner stayed. */
    assert_close(m.room.openings[0].at[0], 2.5, 1e-12);
    assert_close(m.room.placed[0].at[0], 1, 1e-12);
    assert_close(m.room.placed[1].at[0], 1, 1e-12);
    assert_int_equal(m.room.surfaces[2].construction, f->job->rooms[0].surfaces[2].construction);
    ebb_arena_free(m.arena);
    moves_to(f, "wall_2", -0.5, 4.5 * 12);
    does_not_move(f, "wall_2", -2.2, "an opening on wall_1 would not fit");
    does_not_move(f, "ceiling", -0.1, "a unit on wall_3 would not fit");
}

static void units_must_not_meet(void **state)
{
    fixture *f = *state;
    (void)good_job(f, HEAD UNITS ROOM "    placed: [{unit: flat, on: wall_1, at: [3 m, 0.5 m]}, "
                                      "{unit: flat, on: wall_2, at: [0 m, 0.5 m]}]\n");
    moves_to(f, "wall_2", -1.29, 3.71 * 12);
    does_not_move(f, "wall_2", -1.35, "a unit on wall_2 would run into another");
    does_not_move(f, "wall_2", -2.1, "would not fit");
}

/* A beam reaches from wall to wall and a breast to the ceiling afterwards too; what stands in a
 * corner stays where it is. */
static void bodies_keep_their_reach(void **state)
{
    (void)shaped_room(*state,
                      "    size: [6 m, 4 m, 2.5 m]\n    bodies:\n"
                      "      - {name: beam, on: wall_2, at: [3 m, 2 m], size: [0.2 m, 0.3 m], "
                      "depth: 6 m, of: stone}\n"
                      "      - {name: breast, on: wall_1, at: [1 m, 0 m], size: [1 m, 2.5 m], "
                      "depth: 0.4 m, of: stone}\n",
                      "3 m, 2 m, 1.2 m");
    moves_to(*state, "wall_2", 1, 70 - 0.06 * 7 - 1);
    moves_to(*state, "wall_4", 1, 70 - 0.06 * 7 - 1);
    moves_to(*state, "wall_1", 0.5, 6 * 4.5 * 2.5 - 0.06 * 6 - 1);
    moves_to(*state, "ceiling", 0.5, 72 - 0.06 * 6 - 0.4 * 3);
    does_not_move(*state, "wall_4", -1.5, "it reaches");
}

static void zones_are_cut_to_what_fits(void **state)
{
    fixture *f = *state;
    (void)good_job(f, HEAD ROOM_HEAD ROOM_SIZE ROOM_SURFACES
                   "    seats: [{name: lead, at: [2 m, 2 m, 1.2 m], zone: 1 m}]\n" ROOM_SPEAKERS);
    moving m;
    assert_int_equal(move(f, &m, "wall_3", -1), EBB_OK);
    assert_close(m.room.seats[0].zone, 0.875, 1e-12);
    assert_close(f->job->rooms[0].seats[0].zone, 1, 0);
    ebb_arena_free(m.arena);
}

static void moves_arrive(void **state)
{
    const ebb_room *room =
        good_job(*state, HEAD ROOM "    may_move: [{surface: wall_3, by: [-0.5 m, 0.3 m]}, "
                                   "{surface: ceiling, by: [0 m, 20 cm]}]\n")
            ->rooms;
    assert_int_equal(room->n_moves, 2);
    assert_int_equal(room->moves[0].surface, 4);
    assert_close(room->moves[0].by[0], -0.5, 1e-12);
    assert_close(room->moves[1].by[1], 0.2, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(walls_of_an_l),       TEST(walls_of_a_gable),        TEST(a_rectangle_stays_one),
        TEST(units_must_not_meet), TEST(bodies_keep_their_reach), TEST(zones_are_cut_to_what_fits),
        TEST(moves_arrive),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
