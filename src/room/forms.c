/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Every key of the job file: what it may hold, in which range, and what it means.
 *
 * Ranges keep out slips of the pen (millimetres written as metres, a missing prefix); they are our
 * own choice and generous. Where physics or the wave engine sets a border, it says so.
 */
#include "form.h"

#include <math.h>

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define RULES(array) .n = COUNT(array), .rules = (array)

/* Openings for the commonest shapes of rule; a row closes them with its meaning. */
#define QUANTITY(kind_, low_, high_)                                                               \
    .kind = EBB_ROOM_QUANTITY, .quantity = EBB_Q_##kind_, .low = (low_), .high = (high_)
#define VECTOR(kind_, n_, low_, high_)                                                             \
    .kind = EBB_ROOM_VECTOR, .quantity = EBB_Q_##kind_, .low = (low_), .high = (high_),            \
    .least = (n_), .most = (n_)
#define FORM(form_) .kind = EBB_ROOM_FORM, .form = &(form_), .n_forms = 1
#define LIST(form_, least_, most_)                                                                 \
    .kind = EBB_ROOM_FORMS, .form = &(form_), .n_forms = 1, .least = (least_), .most = (most_)
#define NAMED(form_, most_) .kind = EBB_ROOM_NAMED, .form = &(form_), .n_forms = 1, .most = (most_)
#define NAME .kind = EBB_ROOM_NAME, .least = 1, .most = 60

/* Metres within which all coordinates lie: a building, not a map. */
#define FAR 1000.0

static const char *const use_words[] = {"music", "voice", NULL};
static const char *const units_words[] = {"metric", "imperial", NULL};
static const char *const opening_words[] = {"door", "window", "vent", NULL};
static const char *const hang_words[] = {"walls", "ceiling", NULL};
static const char *const move_words[] = {"pointwise", "piston", NULL};
const char *const ebb_room_back_words[] = {"rigid", "outdoors", "room", NULL};
const char *const ebb_room_model_words[] = {"jca", "limp", "miki", NULL};

/* ---- air and allowance ----------------------------------------------------------------------- */

static const ebb_room_rule air_rules[] = {
    {"temperature", QUANTITY(TEMPERATURE, -10, 45), .fallback = "20 C",
     .meaning = "temperature of the room"},
    {"humidity", QUANTITY(FRACTION, 0, 1), .fallback = "50 %", .meaning = "relative humidity"},
    {"pressure", QUANTITY(PRESSURE, 60e3, 110e3), .fallback = "101.325 kPa",
     .meaning = "static pressure; falls by about 1.2 kPa per 100 m of height"},
    {"speed", QUANTITY(SPEED, 300, 380),
     .meaning = "speed of sound, given directly together with density"},
    {"density", QUANTITY(DENSITY, 0.7, 1.6),
     .meaning = "density of the air, given directly together with speed"},
};
static const ebb_room_form air_form = {"air", "the air", RULES(air_rules)};

static const ebb_room_rule allowance_rules[] = {
    {"mass", QUANTITY(MASS, 0, 1e6), .meaning = "all units together may weigh this much"},
    {"cover", QUANTITY(FRACTION, 0, 1),
     .meaning = "share of walls and ceiling that units may cover"},
    {"depth", QUANTITY(LENGTH, 0.01, 2), .meaning = "no unit may be deeper"},
    {"cost", QUANTITY(NUMBER, 0, 1e12), .meaning = "money for units, in the currency of the job"},
    {"count", QUANTITY(NUMBER, 0, 10000), .meaning = "number of units, a whole number"},
    {"floor", QUANTITY(PRESSURE, 0, 100e3),
     .meaning = "extra load the floor may take, spread over its area"},
};
static const ebb_room_form allowance_form = {"allowance", "an allowance", RULES(allowance_rules)};

/* ---- layers ---------------------------------------------------------------------------------- */

static const ebb_room_rule mass_rules[] = {
    {"mass", QUANTITY(AREA_MASS, 0.05, 2000), .required = true,
     .meaning = "limp mass per area: a membrane, a heavy blanket"},
};

static const ebb_room_rule panel_rules[] = {
    {"panel", .kind = EBB_ROOM_PANEL, .quantity = EBB_Q_LENGTH, .low = 1e-4, .high = 1,
     .required = true,
     .meaning = "thickness of a board or plate, and its material if listed below"},
    {"density", QUANTITY(DENSITY, 20, 20000), .fallback = "of the material",
     .meaning = "density; needed when no material is named"},
    {"span", QUANTITY(LENGTH, 0.05, 20), .fallback = "no bending",
     .meaning = "distance between supports; with it the panel also bends"},
    {"modulus", QUANTITY(PRESSURE, 1e5, 1e12), .fallback = "of the material",
     .meaning = "Young's modulus; only with span"},
    {"poisson", QUANTITY(NUMBER, 0, 0.49), .fallback = "of the material, else 0.3",
     .meaning = "Poisson's ratio; only with span"},
    {"loss", QUANTITY(NUMBER, 0, 1), .fallback = "of the material, else 0.02",
     .meaning = "loss factor of the bending; only with span"},
};

static const ebb_room_rule gap_rules[] = {
    {"air", QUANTITY(LENGTH, 0.001, 5), .required = true, .meaning = "depth of an air gap"},
    {"loss", QUANTITY(NUMBER, 0, 1), .fallback = "0",
     .meaning = "loss factor of the air's compression"},
};

static const ebb_room_rule porous_rules[] = {
    {"porous", QUANTITY(LENGTH, 0.001, 3), .required = true,
     .meaning = "thickness of a porous layer: wool, foam"},
    {"resistivity", QUANTITY(RESISTIVITY, 100, 1e6), .required = true,
     .meaning = "flow resistivity"},
    {"porosity", QUANTITY(NUMBER, 0.05, 1), .fallback = "0.98", .meaning = "share of open pores"},
    {"tortuosity", QUANTITY(NUMBER, 1, 10), .fallback = "1", .meaning = "tortuosity"},
    {"viscous_length", QUANTITY(LENGTH, 1e-6, 0.01),
     .fallback = "that of cylindrical pores of the same resistivity",
     .meaning = "viscous characteristic length"},
    {"thermal_length", QUANTITY(LENGTH, 1e-6, 0.02), .fallback = "twice the viscous length",
     .meaning = "thermal characteristic length"},
    {"density", QUANTITY(DENSITY, 1, 2000),
     .meaning = "bulk density; needed for the limp model, else only for the weight"},
    {"model", .kind = EBB_ROOM_CHOICE, .words = ebb_room_model_words, .fallback = "jca",
     .meaning = "jca: rigid frame, five parameters; limp: the same with a limp frame; miki: from "
                "the resistivity alone, not below 0.01 resistivity (in Hz and Pa.s/m2)"},
};

static const ebb_room_rule screen_rules[] = {
    {"screen", QUANTITY(RESISTANCE, 1, 1e6), .required = true,
     .meaning = "flow resistance of a thin sheet: cloth, fleece"},
    {"mass", QUANTITY(AREA_MASS, 0.005, 100), .fallback = "held still",
     .meaning = "mass per area of a sheet that is free to move"},
};

static const ebb_room_rule lumped_inner_rules[] = {
    {"mass", QUANTITY(AREA_MASS, 0.1, 1000), .required = true,
     .meaning = "moving mass per area of the face"},
    {"resonance", QUANTITY(FREQUENCY, 5, 1000),
     .meaning = "frequency at which mass and spring resonate; instead of stiffness"},
    {"stiffness", QUANTITY(AREA_STIFFNESS, 100, 1e10),
     .meaning = "stiffness of mount and cavity together; instead of resonance"},
    {"resistance", QUANTITY(RESISTANCE, 0, 1e6), .fallback = "0",
     .meaning = "resistance to the movement"},
    {"loss", QUANTITY(NUMBER, 0, 1), .fallback = "0", .meaning = "loss factor of the spring"},
};
static const ebb_room_form lumped_form = {"resonator", "a lumped resonator",
                                          RULES(lumped_inner_rules)};

static const ebb_room_rule lumped_rules[] = {
    {"lumped", FORM(lumped_form), .required = true,
     .meaning =
         "a mass on a spring and damper; as the last layer on a rigid back its spring stands on "
         "that back, so it includes the cavity"},
};

const ebb_room_form ebb_room_layer_forms[EBB_LAYER_LUMPED + 1] = {
    [EBB_LAYER_MASS] = {"layer_mass", "a limp mass", RULES(mass_rules)},
    [EBB_LAYER_PANEL] = {"layer_panel", "a panel", RULES(panel_rules)},
    [EBB_LAYER_AIR] = {"layer_air", "an air gap", RULES(gap_rules)},
    [EBB_LAYER_POROUS] = {"layer_porous", "a porous layer", RULES(porous_rules)},
    [EBB_LAYER_SCREEN] = {"layer_screen", "a screen", RULES(screen_rules)},
    [EBB_LAYER_LUMPED] = {"layer_lumped", "a lumped layer", RULES(lumped_rules)},
};

/* ---- constructions and absorbers ------------------------------------------------------------- */

static const ebb_room_rule table_rules[] = {
    {"table", .kind = EBB_ROOM_FILE, .least = 1, .most = 200, .required = true,
     .meaning = "CSV file below the job's folder with the columns Hz, z_re, z_im"},
};
static const ebb_room_form table_form = {"table", "a table", RULES(table_rules)};

/* The part that constructions and absorbers share. */
#define ASSEMBLY_RULES                                                                             \
    {"admittance",                                                                                 \
     .kind = EBB_ROOM_ADMITTANCE,                                                                  \
     .quantity = EBB_Q_NUMBER,                                                                     \
     .low = -1000,                                                                                 \
     .high = 1000,                                                                                 \
     .least = 2,                                                                                   \
     .most = 2,                                                                                    \
     .form = &table_form,                                                                          \
     .n_forms = 1,                                                                                 \
     .meaning = "normalised admittance rho c / Z, constant or from a table of Z / rho c; "         \
                "instead of layers"},                                                              \
    {                                                                                              \
        "layers", .kind = EBB_ROOM_KINDS_OF, .form = ebb_room_layer_forms,                         \
                  .n_forms = COUNT(ebb_room_layer_forms), .least = 1, .most = 16,                  \
                  .meaning = "layers from the room inwards; instead of admittance"                 \
    }

#define ABSORPTION_RULE                                                                            \
    {                                                                                              \
        "absorption", VECTOR(NUMBER, EBB_OCTAVES, 0, 1.5),                                         \
            .fallback = "from the layers",                                                         \
            .meaning = "random-incidence absorption in the octaves 125, 250, 500, 1000, 2000 and " \
                       "4000 Hz, for the middle band"                                              \
    }

static const ebb_room_rule construction_rules[] = {
    ASSEMBLY_RULES,
    {"back", .kind = EBB_ROOM_CHOICE, .words = ebb_room_back_words,
     .meaning = "what is behind the last layer; needed with layers"},
    {"losses", QUANTITY(NUMBER, 0, 0.2), .fallback = "0",
     .meaning = "real admittance of joints, edges and leaks, in parallel with the layers"},
    ABSORPTION_RULE,
    {"source", .kind = EBB_ROOM_NOTE, .most = 500, .meaning = "where the values come from"},
};
static const ebb_room_form construction_form = {"construction", "a construction",
                                                RULES(construction_rules)};

static const ebb_room_rule unit_rules[] = {
    {"face", VECTOR(LENGTH, 2, 0.1, 5), .required = true, .meaning = "width and height"},
    {"depth", QUANTITY(LENGTH, 0.005, 2), .required = true,
     .meaning = "outer depth measured from the wall"},
    ASSEMBLY_RULES,
    {"back", .kind = EBB_ROOM_CHOICE, .words = ebb_room_back_words, .fallback = "rigid",
     .meaning = "what is behind the last layer"},
    {"mass", QUANTITY(MASS, 0.01, 5000), .required = true,
     .meaning = "weight of the complete unit"},
    {"cost", QUANTITY(NUMBER, 0, 1e9), .fallback = "0", .meaning = "money per unit"},
    {"moves", .kind = EBB_ROOM_CHOICE, .words = move_words,
     .fallback = "piston when the first layer is lumped, mass or panel, else pointwise",
     .meaning = "piston: one front with one velocity; pointwise: every point for itself"},
    {"hangs", .kind = EBB_ROOM_CHOICES, .words = hang_words, .least = 1, .most = 2,
     .fallback = "[walls]", .meaning = "where the unit may go"},
    ABSORPTION_RULE,
};
static const ebb_room_form unit_form = {"absorber", "an absorber", RULES(unit_rules)};

/* ---- rooms ----------------------------------------------------------------------------------- */

static const ebb_room_rule surfaces_rules[] = {
    {"all", NAME, .meaning = "construction of every surface without one of its own"},
    {"floor", NAME, .meaning = "construction of the floor"},
    {"ceiling", NAME, .meaning = "construction of the ceiling"},
    {"walls", NAME, .meaning = "construction of every wall without one of its own"},
    {"wall_1", NAME, .meaning = "construction of the wall from plan corner 1 to 2"},
    {"wall_2", NAME, .meaning = "construction of the wall from plan corner 2 to 3"},
    {"wall_3", NAME, .meaning = "construction of the wall from plan corner 3 to 4"},
    {"wall_4", NAME, .meaning = "construction of the wall from plan corner 4 to 1"},
};
static const ebb_room_form surfaces_form = {"surfaces", "surfaces", RULES(surfaces_rules)};

static const char *const surface_words[] = {"floor",  "ceiling", "wall_1", "wall_2",
                                            "wall_3", "wall_4",  NULL};

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
static const ebb_room_form opening_form = {"opening", "an opening", RULES(opening_rules)};

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
static const ebb_room_form seat_form = {"seat", "a seat", RULES(seat_rules)};
static const ebb_room_rule speaker_rules[] = {STATION_RULES("its acoustic centre")};
static const ebb_room_form speaker_form = {"speaker", "a speaker", RULES(speaker_rules)};

static const ebb_room_rule placed_rules[] = {
    {"unit", NAME, .required = true, .meaning = "which of the absorbers"},
    {"on", .kind = EBB_ROOM_CHOICE, .words = surface_words, .required = true,
     .meaning = "the surface it is on"},
    {"at", VECTOR(LENGTH, 2, -FAR, FAR), .required = true,
     .meaning = "[along, up] of the lower near corner of its face; on the ceiling [x, y]"},
    {"turned", .kind = EBB_ROOM_FLAG, .fallback = "no",
     .meaning = "turned by a quarter: its width runs up"},
};
static const ebb_room_form placed_form = {"placed", "a placed unit", RULES(placed_rules)};

/* Edges of rooms: the wave engine is made for small rooms. */
#define SMALLEST 1.0
#define LARGEST 40.0

static const ebb_room_rule change_rules[] = {
    {"length", VECTOR(LENGTH, 2, SMALLEST, LARGEST), .fallback = "fixed",
     .meaning = "smallest and largest extent along x"},
    {"width", VECTOR(LENGTH, 2, SMALLEST, LARGEST), .fallback = "fixed",
     .meaning = "smallest and largest extent along y"},
    {"height", VECTOR(LENGTH, 2, SMALLEST, LARGEST), .fallback = "fixed",
     .meaning = "smallest and largest height"},
};
static const ebb_room_form change_form = {"may_change", "limits of the building",
                                          RULES(change_rules)};

static const ebb_room_rule room_rules[] = {
    {"name", .kind = EBB_ROOM_TEXT, .least = 1, .most = 80, .required = true,
     .meaning = "name of the room, unique in the job"},
    {"size", VECTOR(LENGTH, 3, SMALLEST, LARGEST),
     .meaning = "[length, width, height] along x, y and z from the origin; instead of plan"},
    {"plan", .kind = EBB_ROOM_POINTS, .quantity = EBB_Q_LENGTH, .low = -FAR, .high = FAR,
     .least = 3, .most = 64, .instead = "only rectangular plans are supported so far",
     .meaning = "the four corners [x, y], counter-clockwise seen from above, sides along x and y"},
    {"ceiling", QUANTITY(LENGTH, SMALLEST, LARGEST),
     .instead = "only flat ceilings are supported so far",
     .meaning = "height of the ceiling, together with plan"},
    {"surfaces", FORM(surfaces_form), .required = true,
     .meaning = "what floor, ceiling and walls are made of"},
    {"openings", LIST(opening_form, 0, 64), .fallback = "none",
     .meaning = "doors, windows and vents"},
    {"seats", LIST(seat_form, 1, 32), .required = true, .meaning = "where people listen"},
    {"speakers", LIST(speaker_form, 1, 16), .required = true, .meaning = "where sound comes from"},
    {"placed", LIST(placed_form, 0, 256), .fallback = "none",
     .meaning = "units that hang there already and stay"},
    {"may_change", FORM(change_form), .fallback = "fixed", .meaning = "how far walls could move"},
};
static const ebb_room_form room_form = {"room", "a room", RULES(room_rules)};

/* ---- the whole ------------------------------------------------------------------------------- */

static const ebb_room_rule job_rules[] = {
    {"job", .kind = EBB_ROOM_TEXT, .least = 1, .most = 120, .required = true,
     .meaning = "name of the job"},
    {"note", .kind = EBB_ROOM_NOTE, .most = 4000, .meaning = "free text shown in reports"},
    {"use", .kind = EBB_ROOM_CHOICE, .words = use_words, .required = true,
     .meaning = "what the rooms are wanted for"},
    {"lowest", QUANTITY(FREQUENCY, 20, 100), .fallback = "40 Hz",
     .meaning = "lowest frequency that matters"},
    {"units", .kind = EBB_ROOM_CHOICE, .words = units_words, .fallback = "metric",
     .meaning = "units of the output; the input may mix both"},
    {"air", FORM(air_form), .fallback = "20 C, 50 %, 101.325 kPa", .meaning = "the air"},
    {"allowance", FORM(allowance_form), .fallback = "no limits",
     .meaning = "what may be spent on the treatment of each room"},
    {"constructions", NAMED(construction_form, 200), .fallback = "presets only",
     .meaning = "what surfaces and openings are made of, by name"},
    {"absorbers", NAMED(unit_form, 64), .fallback = "none",
     .meaning = "units that can be built or bought, by name"},
    {"limits", FORM(ebb_room_limits_form), .fallback = "the table of limits",
     .meaning = "limits that differ from the table"},
    {"rooms", LIST(room_form, 1, 64), .required = true, .meaning = "the candidate rooms"},
};
const ebb_room_form ebb_room_job_form = {"job", "a job", RULES(job_rules)};

static const ebb_room_rule presets_rules[] = {
    {"constructions", NAMED(construction_form, 200), .required = true,
     .meaning = "the presets, by name"},
};
const ebb_room_form ebb_room_presets_form = {"presets", "the presets", RULES(presets_rules)};

const ebb_room_form *const ebb_room_all_forms[] = {
    &ebb_room_job_form,
    &air_form,
    &allowance_form,
    &construction_form,
    &table_form,
    &ebb_room_layer_forms[EBB_LAYER_MASS],
    &ebb_room_layer_forms[EBB_LAYER_PANEL],
    &ebb_room_layer_forms[EBB_LAYER_AIR],
    &ebb_room_layer_forms[EBB_LAYER_POROUS],
    &ebb_room_layer_forms[EBB_LAYER_SCREEN],
    &ebb_room_layer_forms[EBB_LAYER_LUMPED],
    &lumped_form,
    &unit_form,
    &ebb_room_limits_form,
    &room_form,
    &surfaces_form,
    &opening_form,
    &seat_form,
    &speaker_form,
    &placed_form,
    &change_form,
};
const size_t ebb_room_n_all_forms = COUNT(ebb_room_all_forms);
