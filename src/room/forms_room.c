/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Keys of a room. Edges of rooms: the wave engine is made for small ones, and what is finer than a
 * few centimetres is no room but its furniture.
 */
#include "rules.h"

#include "shape.h"

/* Metres within which all coordinates lie: a building, not a map. */
#define FAR 1000.0
#define SMALLEST 1.0
#define LARGEST 40.0

static const char *const opening_words[] = {"door", "window", "vent", NULL};

/* ---- surfaces -------------------------------------------------------------------------------- */

#define BODY_RULE(side_)                                                                           \
    {                                                                                              \
        "body_N_" side_, NAME, .meaning = "construction of the " side_ " of a body"                \
    }

static const ebb_room_rule surfaces_rules[] = {
    {"all", NAME, .meaning = "construction of every surface without one of its own"},
    {"floor", NAME, .meaning = "construction of the floor"},
    {"ceiling", NAME, .meaning = "construction of the ceiling, where it is one plane"},
    {"walls", NAME, .meaning = "construction of every wall without one of its own"},
    {"ceilings", NAME, .meaning = "construction of every ceiling without one of its own"},
    {"columns", NAME, .fallback = "that of walls",
     .meaning = "construction of every side of a column without one of its own"},
    {"wall_N", NAME,
     .meaning = "construction of the wall from plan corner N to the next: wall_1, wall_2 and so "
                "on"},
    {"ceiling_N", NAME,
     .meaning = "construction of plane N of a ceiling that has several, numbered as they are "
                "given; of a ridge the first is the one to its left, going from its first end"},
    {"column_N_N", NAME,
     .meaning = "construction of one side of a column: column_1_2 is side 2 of the first"},
    BODY_RULE("front"),
    BODY_RULE("left"),
    BODY_RULE("right"),
    BODY_RULE("top"),
    BODY_RULE("bottom"),
};
const ebb_room_form ebb_room_surfaces_form = {"surfaces", "surfaces", RULES(surfaces_rules)};

#define BARE_WORDS "floor", "ceiling", "wall_N", "ceiling_N", "column_N_N"
static const char *const bare_words[] = {BARE_WORDS, NULL};
static const char *const surface_words[] = {
    BARE_WORDS, "body_N_front", "body_N_left", "body_N_right", "body_N_top", "body_N_bottom", NULL};
static const char *const movable_words[] = {"wall_N", "ceiling", "ceiling_N", NULL};

/* ---- what is in a room ----------------------------------------------------------------------- */

static const ebb_room_rule opening_rules[] = {
    {"on", .kind = EBB_ROOM_CHOICE, .words = surface_words, .required = true,
     .meaning = "the surface it is in"},
    {"at", VECTOR(LENGTH, 2, -FAR, FAR), .required = true,
     .meaning = "[along, up] of its lower near corner; on floor and ceiling [x, y]"},
    {"size", VECTOR(LENGTH, 2, 0.02, 40), .required = true, .meaning = "extent along and up"},
    {"as", .kind = EBB_ROOM_CHOICE, .words = opening_words, .required = true,
     .meaning = "what it is; it stays free of units"},
    {"construction", NAME, .fallback = "door: the preset door; window: the preset glazing",
     .meaning = "what it is made of; a vent needs one"},
};
const ebb_room_form ebb_room_opening_form = {"opening", "an opening", RULES(opening_rules)};

#define STATION_RULES(who_)                                                                        \
    {"name", NAME, .required = true, .meaning = "its name, unique in the room"},                   \
        {"at", VECTOR(LENGTH, 3, -FAR, FAR), .required = true,                                     \
         .meaning = "[x, y, z] of " who_ ", at least 50 mm inside the room"},                      \
    {                                                                                              \
        "zone", QUANTITY(LENGTH, 0, 10),                                                           \
            .fallback = "0 m, fixed",                                                              \
            .meaning = "radius within which it may be moved, at the same height"                   \
    }

static const ebb_room_rule seat_rules[] = {STATION_RULES("the head")};
const ebb_room_form ebb_room_seat_form = {"seat", "a seat", RULES(seat_rules)};
static const ebb_room_rule speaker_rules[] = {STATION_RULES("its acoustic centre")};
const ebb_room_form ebb_room_speaker_form = {"speaker", "a speaker", RULES(speaker_rules)};

static const ebb_room_rule placed_rules[] = {
    {"unit", NAME, .required = true, .meaning = "which of the absorbers"},
    {"on", .kind = EBB_ROOM_CHOICE, .words = surface_words, .required = true,
     .meaning = "the surface it is on"},
    {"at", VECTOR(LENGTH, 2, -FAR, FAR), .required = true,
     .meaning = "[along, up] of the lower near corner of its face; on the ceiling [x, y]"},
    {"turned", .kind = EBB_ROOM_FLAG, .fallback = "no",
     .meaning = "turned by a quarter: its width runs up"},
};
const ebb_room_form ebb_room_placed_form = {"placed", "a placed unit", RULES(placed_rules)};

/* ---- shape ----------------------------------------------------------------------------------- */

static const ebb_room_rule ridge_rules[] = {
    {"height", QUANTITY(LENGTH, EBB_ROOM_LEAST_WALL, LARGEST), .required = true,
     .meaning = "height of the ridge"},
    {"from", VECTOR(LENGTH, 2, -FAR, FAR), .required = true,
     .meaning = "[x, y] of one point of it"},
    {"to", VECTOR(LENGTH, 2, -FAR, FAR), .required = true,
     .meaning = "[x, y] of another; it runs on over all of the plan"},
};
const ebb_room_form ebb_room_ridge_form = {"ridge", "a ridge", RULES(ridge_rules)};

static const ebb_room_rule ceiling_rules[] = {
    {"eaves", QUANTITY(LENGTH, EBB_ROOM_LEAST_WALL, LARGEST),
     .meaning = "height of the ceiling at the plan corner farthest from the ridge, on each side of "
                "it; together with ridge"},
    {"ridge", FORM(ebb_room_ridge_form),
     .meaning = "line from which the ceiling falls to both sides, or to one when it runs along a "
                "wall"},
    {"planes", .kind = EBB_ROOM_OUTLINES, .quantity = EBB_Q_LENGTH, .low = -FAR, .high = FAR,
     .width = 3, .points = {3, 3}, .least = 1, .most = EBB_ROOM_MOST_PLANES,
     .meaning =
         "planes through three points each, which need not lie over the plan; the ceiling is "
         "the lowest of them at each place; instead of eaves and ridge"},
};
const ebb_room_form ebb_room_ceiling_form = {"ceiling", "a ceiling", RULES(ceiling_rules)};

static const ebb_room_rule body_rules[] = {
    {"name", NAME, .required = true, .meaning = "what it is"},
    {"on", .kind = EBB_ROOM_CHOICE, .words = bare_words, .required = true,
     .meaning = "the surface it stands on; of ceilings only a level one"},
    {"at", VECTOR(LENGTH, 2, -FAR, FAR), .required = true,
     .meaning = "[along, up] of its lower near corner; on floor and ceiling [x, y]"},
    {"size", VECTOR(LENGTH, 2, EBB_ROOM_GAP, LARGEST), .required = true,
     .meaning = "extent along and up; under a slope it ends at the ceiling"},
    {"depth", QUANTITY(LENGTH, EBB_ROOM_GAP, LARGEST), .required = true,
     .meaning = "how far it reaches into the room"},
    {"of", NAME, .required = true, .meaning = "construction of its sides"},
};
const ebb_room_form ebb_room_body_form = {"body", "a body", RULES(body_rules)};

static const ebb_room_rule change_rules[] = {
    {"length", VECTOR(LENGTH, 2, SMALLEST, LARGEST), .fallback = "fixed",
     .meaning = "smallest and largest extent along x"},
    {"width", VECTOR(LENGTH, 2, SMALLEST, LARGEST), .fallback = "fixed",
     .meaning = "smallest and largest extent along y"},
    {"height", VECTOR(LENGTH, 2, SMALLEST, LARGEST), .fallback = "fixed",
     .meaning = "smallest and largest height"},
};
const ebb_room_form ebb_room_change_form = {"may_change", "limits of the building",
                                            RULES(change_rules)};

static const ebb_room_rule move_rules[] = {
    {"surface", .kind = EBB_ROOM_CHOICE, .words = movable_words, .required = true,
     .meaning = "a wall or a level ceiling"},
    {"by", VECTOR(LENGTH, 2, -LARGEST, LARGEST), .required = true,
     .meaning = "[from, to]: farthest inwards, negative, and farthest outwards, positive"},
};
const ebb_room_form ebb_room_move_form = {"may_move", "a wall that could move", RULES(move_rules)};

/* ---- the room -------------------------------------------------------------------------------- */

static const ebb_room_rule room_rules[] = {
    {"name", .kind = EBB_ROOM_TEXT, .least = 1, .most = 80, .required = true,
     .meaning = "name of the room, unique in the job"},
    {"size", VECTOR(LENGTH, 3, SMALLEST, LARGEST),
     .meaning = "[length, width, height] along x, y and z from the origin; instead of plan"},
    {"plan", .kind = EBB_ROOM_POINTS, .quantity = EBB_Q_LENGTH, .low = -FAR, .high = FAR,
     .least = 3, .most = EBB_ROOM_MOST_CORNERS,
     .meaning = "the corners [x, y], counter-clockwise seen from above"},
    {"columns", .kind = EBB_ROOM_OUTLINES, .quantity = EBB_Q_LENGTH, .low = -FAR, .high = FAR,
     .points = {3, EBB_ROOM_MOST_CORNERS}, .least = 0, .most = EBB_ROOM_MOST_COLUMNS,
     .fallback = "none",
     .meaning = "corners of each column within the plan, counter-clockwise seen from above; from "
                "floor to ceiling"},
    {"ceiling", .kind = EBB_ROOM_HEIGHTS, .quantity = EBB_Q_LENGTH, .low = EBB_ROOM_LEAST_WALL,
     .high = LARGEST, .least = 3, .most = EBB_ROOM_MOST_CORNERS, .form = &ebb_room_ceiling_form,
     .n_forms = 1,
     .meaning = "together with plan: height of a level ceiling, its height at each plan corner "
                "where it is one slope, a ridge, or planes"},
    {"bodies", LIST(ebb_room_body_form, 0, EBB_ROOM_MOST_BODIES), .fallback = "none",
     .meaning = "solid things that take room: chimney breasts, built-in cupboards, beams"},
    {"surfaces", FORM(ebb_room_surfaces_form), .required = true,
     .meaning = "what floor, ceiling and walls are made of"},
    {"openings", LIST(ebb_room_opening_form, 0, 64), .fallback = "none",
     .meaning = "doors, windows and vents"},
    {"seats", LIST(ebb_room_seat_form, 1, 32), .required = true, .meaning = "where people listen"},
    {"speakers", LIST(ebb_room_speaker_form, 1, 16), .required = true,
     .meaning = "where sound comes from"},
    {"placed", LIST(ebb_room_placed_form, 0, 256), .fallback = "none",
     .meaning = "units that hang there already and stay"},
    {"may_change", FORM(ebb_room_change_form), .fallback = "fixed",
     .meaning = "how far walls of a rectangular room could move"},
    {"may_move", LIST(ebb_room_move_form, 0, 16), .fallback = "fixed",
     .meaning = "walls or level ceilings that could be moved along their normal"},
};
const ebb_room_form ebb_room_room_form = {"room", "a room", RULES(room_rules)};
