/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Keys of the job file: what they may hold, in which range, and what they mean. Those of rooms,
 * layers and absorbers are in forms_room.c, forms_layer.c and forms_unit.c.
 *
 * Ranges keep out slips of the pen (millimetres written as metres, a missing prefix); they are our
 * own choice and generous. Where physics or the wave engine sets a border, it says so.
 */
#include "rules.h"

static const char *const use_words[] = {"music", "voice", NULL};
const char *const ebb_room_units_words[] = {"metric", "imperial", NULL};
const char *const ebb_room_back_words[] = {"rigid", "outdoors", "room", NULL};

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
const ebb_room_form ebb_room_air_form = {"air", "the air", RULES(air_rules)};

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

/* ---- constructions --------------------------------------------------------------------------- */

static const ebb_room_rule table_rules[] = {
    {"table", PATH, .required = true,
     .meaning = "CSV file below the folder of this file with the columns Hz, z_re, z_im"},
};
const ebb_room_form ebb_room_table_form = {"table", "a table", RULES(table_rules)};

static const ebb_room_rule construction_rules[] = {
    ADMITTANCE_RULE("layers"),
    LAYERS_RULE("admittance"),
    {"back", .kind = EBB_ROOM_CHOICE, .words = ebb_room_back_words,
     .meaning = "what is behind the last layer; needed with layers"},
    {"losses", QUANTITY(NUMBER, 0, 0.2), .fallback = "0",
     .meaning = "real admittance of joints, edges and leaks, in parallel with the layers"},
    ABSORPTION_RULE,
    {"source", .kind = EBB_ROOM_NOTE, .most = 500, .meaning = "where the values come from"},
};
static const ebb_room_form construction_form = {"construction", "a construction",
                                                RULES(construction_rules)};

/* ---- the whole ------------------------------------------------------------------------------- */

static const ebb_room_rule job_rules[] = {
    {"job", .kind = EBB_ROOM_TEXT, .least = 1, .most = 120, .required = true,
     .meaning = "name of the job"},
    {"note", .kind = EBB_ROOM_NOTE, .most = 4000, .meaning = "free text shown in reports"},
    {"use", .kind = EBB_ROOM_CHOICE, .words = use_words, .required = true,
     .meaning = "what the rooms are wanted for"},
    {"lowest", QUANTITY(FREQUENCY, 20, 100), .fallback = "40 Hz",
     .meaning = "lowest frequency that matters"},
    {"units", .kind = EBB_ROOM_CHOICE, .words = ebb_room_units_words, .fallback = "metric",
     .meaning = "units of the output; the input may mix both"},
    {"air", FORM(ebb_room_air_form), .fallback = "20 C, 50 %, 101.325 kPa", .meaning = "the air"},
    {"allowance", FORM(allowance_form), .fallback = "no limits",
     .meaning = "what may be spent on the treatment of each room"},
    {"constructions", NAMED(construction_form, 200), .fallback = "presets only",
     .meaning = "what surfaces and openings are made of, by name"},
    {"absorbers", NAMED(ebb_room_unit_form, 64), .fallback = "none",
     .meaning = "units that can be built or bought, by name"},
    {"limits", FORM(ebb_room_limits_form), .fallback = "the table of limits",
     .meaning = "limits that differ from the table"},
    {"rooms", LIST(ebb_room_room_form, 1, 64), .required = true, .meaning = "the candidate rooms"},
};
const ebb_room_form ebb_room_job_form = {"job", "a job", RULES(job_rules)};

static const ebb_room_rule presets_rules[] = {
    {"constructions", NAMED(construction_form, 200), .required = true,
     .meaning = "the presets, by name"},
};
const ebb_room_form ebb_room_presets_form = {"presets", "the presets", RULES(presets_rules)};

const ebb_room_form_list ebb_room_job_forms[] = {
    &ebb_room_job_form,
    &ebb_room_air_form,
    &allowance_form,
    &construction_form,
    &ebb_room_table_form,
    &ebb_room_layer_forms[EBB_LAYER_MASS],
    &ebb_room_layer_forms[EBB_LAYER_PANEL],
    &ebb_room_layer_forms[EBB_LAYER_AIR],
    &ebb_room_layer_forms[EBB_LAYER_POROUS],
    &ebb_room_layer_forms[EBB_LAYER_SCREEN],
    &ebb_room_layer_forms[EBB_LAYER_LUMPED],
    &ebb_room_lumped_form,
    &ebb_room_layer_forms[EBB_LAYER_GRANULAR],
    &ebb_room_layer_forms[EBB_LAYER_PERFORATED],
    &ebb_room_layer_forms[EBB_LAYER_SLITS],
    &ebb_room_unit_form,
    &ebb_room_cabinet_form,
    &ebb_room_front_form,
    &ebb_room_mount_form,
    &ebb_room_leak_form,
    &ebb_room_cell_form,
    &ebb_room_limits_form,
    &ebb_room_room_form,
    &ebb_room_ceiling_form,
    &ebb_room_ridge_form,
    &ebb_room_body_form,
    &ebb_room_surfaces_form,
    &ebb_room_opening_form,
    &ebb_room_seat_form,
    &ebb_room_speaker_form,
    &ebb_room_placed_form,
    &ebb_room_change_form,
    &ebb_room_move_form,
};
const size_t ebb_room_n_job_forms = COUNT(ebb_room_job_forms);
