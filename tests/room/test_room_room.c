/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rooms and what stands in them: good ones, and the borders between good and not. */
#include "helper.h"

#include <math.h>

#define UNITS                                                                                      \
    "absorbers:\n"                                                                                 \
    "  deep: {face: [0.6 m, 1.2 m], depth: 300 mm, mass: 42 kg, admittance: 0.5}\n"                \
    "  flat: {face: [0.6 m, 1.2 m], depth: 100 mm, mass: 8 kg, admittance: 0.5, hangs: "           \
    "[ceiling]}\n"

static void imperial_sizes(void **state)
{
    const ebb_room *room =
        good_job(*state, HEAD ROOM_HEAD
                 "    size: [17 ft 2 in, 13' 1\", 9 ft]\n" ROOM_SURFACES ROOM_SEATS ROOM_SPEAKERS)
            ->rooms;
    assert_near(room->size[0], 5.2324);
    assert_near(room->size[1], 3.9878);
    assert_near(room->size[2], 2.7432);
}

static void edges_of_rooms(void **state)
{
    static const char text[] =
        HEAD ROOM_HEAD "    size: [%s, 40 m, 1 m]\n" ROOM_SURFACES
                       "    seats: [{name: lead, at: [0.5 m, 2 m, 0.5 m]}]\n"
                       "    speakers: [{name: left, at: [0.5 m, 1 m, 0.5 m]}]\n";
    char out[1024];
    snprintf(out, sizeof out, text, "1 m");
    good_job(*state, out);
    snprintf(out, sizeof out, text, "0.999 m");
    one_fault(*state, out, "rooms[0].size[0]", "out of range");
}

static void may_change_arrives(void **state)
{
    const ebb_room *room =
        good_job(*state, HEAD ROOM "    may_change: {length: [4 m, 5 m], height: [3 m, 3 m]}\n")
            ->rooms;
    assert_near(room->may_change[0][0], 4);
    assert_near(room->may_change[0][1], 5);
    assert_true(isnan(room->may_change[1][0]) && isnan(room->may_change[1][1]));
    assert_near(room->may_change[2][1], 3);
    room = good_job(*state, HEAD ROOM)->rooms;
    assert_true(isnan(room->may_change[0][0]) && isnan(room->may_change[2][1]));
}

static void openings_arrive(void **state)
{
    const ebb_job *job = good_job(
        *state, HEAD ROOM "    openings:\n"
                          "      - {on: wall_2, at: [1 m, 0 m], size: [0.9 m, 2 m], as: door}\n"
                          "      - {on: wall_4, at: [0 m, 1 m], size: [4 m, 2 m], as: window}\n"
                          "      - {on: floor, at: [1 m, 1 m], size: [20 cm, 20 cm], as: vent, "
                          "construction: stone}\n");
    const ebb_room *room = &job->rooms[0];
    assert_int_equal(room->n_openings, 3);
    assert_int_equal(room->openings[0].kind, EBB_OPENING_DOOR);
    assert_int_equal(room->openings[1].kind, EBB_OPENING_WINDOW);
    assert_int_equal(room->openings[2].kind, EBB_OPENING_VENT);
    assert_int_equal(room->openings[0].surface, 3);
    assert_int_equal(room->openings[1].surface, 5);
    assert_int_equal(room->openings[2].surface, 0);
    assert_near(room->openings[0].at[0], 1);
    assert_near(room->openings[0].size[1], 2);
    assert_string_equal(job->constructions[room->openings[0].construction].name, "door");
    assert_string_equal(job->constructions[room->openings[1].construction].name, "glazing");
    assert_string_equal(job->constructions[room->openings[2].construction].name, "stone");
}

static void stations_arrive(void **state)
{
    const ebb_room *room =
        good_job(*state, HEAD ROOM_HEAD ROOM_SIZE ROOM_SURFACES
                 "    seats: [{name: lead, at: [2 m, 2 m, 1.2 m], zone: 400 mm}, "
                 "{name: back, at: [50 mm, 3.95 m, 2.95 m]}]\n"
                 "    speakers: [{name: left, at: [1 m, 1.05 m, 1.2 m], zone: 0.95 m}]\n")
            ->rooms;
    assert_int_equal(room->n_seats, 2);
    assert_int_equal(room->n_speakers, 1);
    assert_string_equal(room->seats[0].name, "lead");
    assert_near(room->seats[0].at.x, 2);
    assert_near(room->seats[0].at.z, 1.2);
    assert_near(room->seats[0].zone, 0.4);
    assert_true(room->seats[1].zone == 0);
    assert_near(room->seats[1].at.y, 3.95);    /* 50 mm from the wall is far enough */
    assert_near(room->speakers[0].zone, 0.95); /* its zone keeps 50 mm too (y) */
}

static void seats_of_two_rooms_may_share_names(void **state)
{
    const ebb_job *job = good_job(*state, HEAD ROOM
                                  "  - name: B\n" ROOM_SIZE ROOM_SURFACES ROOM_SEATS ROOM_SPEAKERS);
    assert_int_equal(job->n_rooms, 2);
}

static void placed_units_arrive(void **state)
{
    const ebb_room *room =
        good_job(*state, HEAD UNITS ROOM
                 "    placed:\n"
                 "      - {unit: deep, on: wall_1, at: [0 m, 0 m]}\n"
                 "      - {unit: deep, on: wall_1, at: [0.6 m, 1.8 m], turned: yes}\n"
                 "      - {unit: flat, on: ceiling, at: [4.4 m, 2.8 m], turned: false}\n")
            ->rooms;
    assert_int_equal(room->n_placed, 3);
    assert_int_equal(room->placed[0].unit, 0);
    assert_int_equal(room->placed[0].surface, 2);
    assert_false(room->placed[0].turned);
    assert_true(room->placed[1].turned);
    assert_near(room->placed[1].at[1], 1.8);
    assert_int_equal(room->placed[2].unit, 1);
    assert_int_equal(room->placed[2].surface, 1);
    assert_false(room->placed[2].turned);
}

/* Two units that share an edge, or a corner of the room exactly, do not overlap; a millimetre more
 * and they do. */
static void neighbours_touch_but_do_not_overlap(void **state)
{
    static const char text[] = HEAD UNITS ROOM
        "    placed: [{unit: deep, on: wall_1, at: [0.3 m, 0 m]}, "
        "{unit: deep, on: wall_1, at: [%s, 0 m]}, {unit: deep, on: wall_4, at: [3.4 m, 0 m]}]\n";
    char out[2048];
    snprintf(out, sizeof out, text, "0.9 m");
    good_job(*state, out); /* wall_4 runs from y = 4 to 0: the last one fills the corner */
    snprintf(out, sizeof out, text, "0.898 m");
    one_fault(*state, out, "rooms[0].placed[1]", "overlaps rooms[0].placed[0]");
}

static void a_unit_may_stand_beside_a_door_but_not_before_it(void **state)
{
    static const char text[] = HEAD UNITS ROOM
        "    openings: [{on: wall_2, at: [%s, 0 m], size: [0.9 m, 2 m], as: door}]\n"
        "    placed: [{unit: deep, on: wall_1, at: [4.4 m, 0 m]}]\n";
    char out[2048];
    snprintf(out, sizeof out, text, "0.3 m");
    good_job(*state, out); /* the unit takes the first 0.3 m of wall_2 */
    snprintf(out, sizeof out, text, "0.29 m");
    one_fault(*state, out, "rooms[0].placed[0]", "covers a door");
}

static void faults_of_one_part_do_not_hide_those_of_another(void **state)
{
    fixture *f = *state;
    const ebb_status status = parse_in(f,
                                       HEAD ROOM_HEAD "    size: [5 m, 4, 3 m]\n"
                                                      "    surfaces: {all: ston}\n"
                                                      "    seats: [{name: a, at: [2 m, 2 m]}]\n"
                                                      "    speakers: [{name: a, at: [2, 2, 2]}]\n"
                                                      "    placed: [{unit: none, on: roof}]\n",
                                       NULL);
    assert_int_equal(status, EBB_E_INPUT);
    static const char *const keys[] = {"rooms[0].size[1]",           "rooms[0].surfaces.all",
                                       "rooms[0].seats[0].at",       "rooms[0].speakers[0].name",
                                       "rooms[0].speakers[0].at[0]", "rooms[0].speakers[0].at[1]",
                                       "rooms[0].speakers[0].at[2]", "rooms[0].placed[0].at",
                                       "rooms[0].placed[0].unit",    "rooms[0].placed[0].on"};
    assert_int_equal(ebb_ctx_messages(f->ctx), sizeof keys / sizeof keys[0]);
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
        assert_string_equal(ebb_ctx_message(f->ctx, i)->place.key, keys[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(imperial_sizes),
        TEST(edges_of_rooms),
        TEST(may_change_arrives),
        TEST(openings_arrive),
        TEST(stations_arrive),
        TEST(seats_of_two_rooms_may_share_names),
        TEST(placed_units_arrive),
        TEST(neighbours_touch_but_do_not_overlap),
        TEST(a_unit_may_stand_beside_a_door_but_not_before_it),
        TEST(faults_of_one_part_do_not_hide_those_of_another),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
