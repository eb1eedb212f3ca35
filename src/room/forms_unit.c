/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys of absorbers, and of the boxes they may be. */
#include "rules.h"

static const char *const stand_words[] = {"free", "built-in", NULL};
static const char *const hang_words[] = {"walls", "ceiling", NULL};
static const char *const move_words[] = {"pointwise", "piston", NULL};

#define BOARD(needed_)                                                                             \
    .kind = EBB_ROOM_PANEL, .quantity = EBB_Q_LENGTH, .low = 1e-4, .high = 1, .required = (needed_)

/* ---- cabinets -------------------------------------------------------------------------------- */

static const ebb_room_rule cabinet_rules[] = {
    {"board", BOARD(true),
     .meaning = "thickness and material of sides, back and dividers, or a thickness with density "
                "and modulus"},
    {"braces", VECTOR(NUMBER, 2, 0, 20), .fallback = "[0, 0]",
     .meaning = "braces that cut the spans along the width and along the height, whole numbers"},
    {"stands", .kind = EBB_ROOM_CHOICE, .words = stand_words, .fallback = "free",
     .meaning = "free: walls and leaks join the inside to the room; built-in: the walls move "
                "against something that stands still"},
    {"rigid", .kind = EBB_ROOM_FLAG, .fallback = "no",
     .meaning = "yes: as if the walls did not give way"},
    {"rim", QUANTITY(LENGTH, 0, 0.3), .fallback = "0 m",
     .meaning = "width of the frame around each front, taken off its opening"},
    {"frame", QUANTITY(MASS, 0, 500), .fallback = "0 kg", .meaning = "weight of frames and rims"},
    {"extra", QUANTITY(MASS, 0, 500), .fallback = "0 kg",
     .meaning = "weight of fixings, trays, cloth"},
    {"air_loss", QUANTITY(NUMBER, 0, 0.2), .fallback = "0.005",
     .meaning = "loss factor of the air's compression inside; 0.005 to 0.01 is usual"},
    BOARD_RULES(""),
};
const ebb_room_form ebb_room_cabinet_form = {"cabinet", "a cabinet", RULES(cabinet_rules)};

static const ebb_room_rule mount_rules[] = {
    {"strip", NAME, .meaning = "a strip of the stock; instead of stiffness or resonance"},
    {"stiffness", QUANTITY(PRESSURE, 0, 1e12),
     .meaning = "force per metre of movement and metre of rim, such as 2 kN/m2; instead of strip "
                "or resonance"},
    {"resonance", QUANTITY(FREQUENCY, 0.5, 200),
     .meaning = "frequency of the front on its mount alone, as a stiff body with nothing behind "
                "it; instead of strip or stiffness"},
    {"rotation", QUANTITY(FORCE, 0, 1e9), .fallback = "0 N, free to turn",
     .meaning = "moment per radian and metre of rim that keeps the edge from turning"},
    {"loss", QUANTITY(NUMBER, 0, 1), .fallback = "of the strip, else 0.1",
     .meaning = "loss factor of the rim"},
};
const ebb_room_form ebb_room_mount_form = {"mount", "a mount", RULES(mount_rules)};

static const ebb_room_rule front_rules[] = {
    {"board", BOARD(false),
     .meaning = "thickness and material of the panel, or a thickness with density"},
    {"mass", QUANTITY(AREA_MASS, 0, 500), .fallback = "0 kg/m2 with a board, else needed",
     .meaning = "limp mass on the board, or the whole of a front without one"},
    {"mount", FORM(ebb_room_mount_form), .required = true,
     .meaning = "the rim that lets the front move"},
    {"bends", .kind = EBB_ROOM_FLAG, .fallback = "yes with a board, else no",
     .meaning = "whether the panel bends as well as moving on its rim"},
    {"resistance", QUANTITY(RESISTANCE, 0, 1e5), .fallback = "0 Pa.s/m",
     .meaning = "resistance to the movement beside what rim and fill give"},
    BOARD_RULES("; only when the front bends"),
};
const ebb_room_form ebb_room_front_form = {"front", "a front", RULES(front_rules)};

static const ebb_room_rule leak_rules[] = {
    {"width", QUANTITY(LENGTH, 1e-5, 0.02), .required = true,
     .meaning = "width of the slit around the outer front"},
    {"path", QUANTITY(LENGTH, 1e-4, 0.5), .fallback = "thickness of the cabinet's board",
     .meaning = "length of the way through it"},
};
const ebb_room_form ebb_room_leak_form = {"leak", "a leak", RULES(leak_rules)};

/* What a box with one cell says of itself, and each of several cells. */
#define CELL_RULES(needed_)                                                                        \
    {"fronts", LIST(ebb_room_front_form, 1, 2), .required = (needed_),                             \
     .meaning = "one front, or two one behind the other, outer first"},                            \
        {"gap", QUANTITY(LENGTH, 0.002, 1),                                                        \
         .meaning = "free depth between two fronts; needed with two"},                             \
        {"between", LAYERS(ebb_room_fill_forms, 4), .fallback = "air",                             \
         .meaning = "what lies in the gap, from the outer front inwards; what is left is air, "    \
                    "next to the outer front"},                                                    \
        {"fill", LAYERS(ebb_room_fill_forms, 6), .fallback = "air",                                \
         .meaning = "what lies behind the last front, from it inwards; what is left of the depth " \
                    "is air, between front and fill"},                                             \
    {                                                                                              \
        "leak", FORM(ebb_room_leak_form), .fallback = "sealed",                                    \
                                          .meaning = "a slit around the outer front"               \
    }

static const ebb_room_rule cell_rules[] = {
    {"share", QUANTITY(FRACTION, 0.02, 0.98), .required = true,
     .meaning = "share of the inner width; all cells together 100 %"},
    CELL_RULES(true),
};
const ebb_room_form ebb_room_cell_form = {"cell", "a cell", RULES(cell_rules)};

/* ---- absorbers ------------------------------------------------------------------------------- */

static const ebb_room_rule unit_rules[] = {
    {"face", VECTOR(LENGTH, 2, 0.1, 5), .fallback = "needed, unless from is there",
     .meaning = "width and height, outer"},
    {"depth", QUANTITY(LENGTH, 0.005, 2), .fallback = "needed, unless from is there",
     .meaning = "outer depth measured from the wall"},
    ADMITTANCE_RULE("layers, cabinet or from"),
    LAYERS_RULE("admittance, cabinet or from"),
    {"back", .kind = EBB_ROOM_CHOICE, .words = ebb_room_back_words, .fallback = "rigid",
     .meaning = "what is behind the last layer"},
    {"cabinet", FORM(ebb_room_cabinet_form),
     .meaning = "a box with moving fronts; instead of admittance, layers or from"},
    CELL_RULES(false),
    {"cells", LIST(ebb_room_cell_form, 2, 4),
     .meaning = "cells side by side, each with fronts, gap, fill and leak of its own; instead of "
                "these keys here"},
    {"from", PATH,
     .meaning =
         "library file below the folder of this file that holds the unit; only in a job; instead "
         "of admittance, layers or cabinet"},
    {"named", NAME, .fallback = "the same name",
     .meaning = "name of the unit in that library; only with from"},
    {"mass", QUANTITY(MASS, 0.01, 5000),
     .fallback = "of a cabinet the sum of its parts, of from "
                 "that of the library; else needed",
     .meaning = "weight of the complete unit"},
    {"cost", QUANTITY(NUMBER, 0, 1e9), .fallback = "0, or that of the library",
     .meaning = "money per unit"},
    {"moves", .kind = EBB_ROOM_CHOICE, .words = move_words,
     .fallback = "piston for a cabinet and when the first layer is lumped, mass or panel, else "
                 "pointwise",
     .meaning = "piston: one front with one velocity; pointwise: every point for itself"},
    {"hangs", .kind = EBB_ROOM_CHOICES, .words = hang_words, .least = 1, .most = 2,
     .fallback = "[walls]", .meaning = "where the unit may go"},
    ABSORPTION_RULE,
};
const ebb_room_form ebb_room_unit_form = {"absorber", "an absorber", RULES(unit_rules)};
