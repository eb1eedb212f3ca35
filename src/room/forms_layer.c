/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys of layers: what they may hold, in which range, and what they mean. */
#include "rules.h"

#include <assert.h>

const char *const ebb_room_model_words[] = {"jca", "limp", "miki", NULL};

static const ebb_room_rule mass_rules[] = {
    {"mass", QUANTITY(AREA_MASS, 0.05, 2000), .required = true,
     .meaning = "limp mass per area: a membrane, a heavy blanket"},
};

static const ebb_room_rule panel_rules[] = {
    {"panel", .kind = EBB_ROOM_PANEL, .quantity = EBB_Q_LENGTH, .low = 1e-4, .high = 1,
     .required = true,
     .meaning = "thickness of a board or plate, and its material if listed below"},
    {"span", QUANTITY(LENGTH, 0.05, 20), .fallback = "no bending",
     .meaning = "distance between supports; with it the panel also bends"},
    BOARD_RULES("; only with span"),
};

static const ebb_room_rule gap_rules[] = {
    {"air", QUANTITY(LENGTH, 0.001, 5), .required = true, .meaning = "depth of an air gap"},
    {"loss", QUANTITY(NUMBER, 0, 1), .fallback = "0",
     .meaning = "loss factor of the air's compression"},
};

static const ebb_room_rule porous_rules[] = {
    {"porous", QUANTITY(LENGTH, 0.001, 3), .required = true,
     .meaning = "thickness of a porous layer: wool, foam"},
    {"wool", NAME, .meaning = "a wool of the stock; instead of resistivity"},
    {"resistivity", QUANTITY(RESISTIVITY, 100, 1e6),
     .meaning = "flow resistivity; instead of wool"},
    POROUS_RULES("of the wool, else "),
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
const ebb_room_form ebb_room_lumped_form = {"resonator", "a lumped resonator",
                                            RULES(lumped_inner_rules)};

static const ebb_room_rule lumped_rules[] = {
    {"lumped", FORM(ebb_room_lumped_form), .required = true,
     .meaning =
         "a mass on a spring and damper; as the last layer on a rigid back its spring stands on "
         "that back, so it includes the cavity"},
};

static const ebb_room_rule granular_rules[] = {
    {"granular", QUANTITY(LENGTH, 0.001, 1), .required = true,
     .meaning = "thickness of a bed of grains: activated carbon"},
    {"batch", NAME, .fallback = "grain, uptake and density are needed",
     .meaning = "a batch of the stock; what stands beside it replaces its values"},
    GRAIN_RULES(false, "; needed without batch"),
};

static const ebb_room_rule perforated_rules[] = {
    {"perforated", QUANTITY(LENGTH, 1e-4, 0.1), .required = true,
     .meaning = "thickness of a sheet with round holes, also micro-perforated"},
    {"hole", QUANTITY(LENGTH, 2e-5, 0.1), .required = true, .meaning = "diameter of the holes"},
    {"open", QUANTITY(FRACTION, 1e-4, 0.9), .required = true,
     .meaning = "share of the sheet that is hole"},
    {"mass", QUANTITY(AREA_MASS, 0.01, 500), .fallback = "held still",
     .meaning = "mass per area of a sheet that is free to move"},
};

static const ebb_room_rule slits_rules[] = {
    {"slits", QUANTITY(LENGTH, 1e-4, 0.5), .required = true,
     .meaning = "depth of straight slits or joints: a slotted sheet, a leak"},
    {"width", QUANTITY(LENGTH, 1e-5, 0.05), .required = true, .meaning = "width of a slit"},
    {"open", QUANTITY(FRACTION, 1e-6, 0.9), .required = true,
     .meaning = "share of the area that is slit"},
};

const ebb_room_form ebb_room_layer_forms[EBB_ROOM_LAYER_FORMS] = {
    [EBB_LAYER_MASS] = {"layer_mass", "a limp mass", RULES(mass_rules)},
    [EBB_LAYER_PANEL] = {"layer_panel", "a panel", RULES(panel_rules)},
    [EBB_LAYER_AIR] = {"layer_air", "an air gap", RULES(gap_rules)},
    [EBB_LAYER_POROUS] = {"layer_porous", "a porous layer", RULES(porous_rules)},
    [EBB_LAYER_SCREEN] = {"layer_screen", "a screen", RULES(screen_rules)},
    [EBB_LAYER_LUMPED] = {"layer_lumped", "a lumped layer", RULES(lumped_rules)},
    [EBB_LAYER_GRANULAR] = {"layer_granular", "a bed of grains", RULES(granular_rules)},
    [EBB_LAYER_PERFORATED] = {"layer_perforated", "a sheet with holes", RULES(perforated_rules)},
    [EBB_LAYER_SLITS] = {"layer_slits", "slits", RULES(slits_rules)},
};

/* Copies of three rows above: a list of kinds takes its forms from one run of memory. */
const ebb_room_form ebb_room_fill_forms[EBB_ROOM_FILL_FORMS] = {
    {"layer_air", "an air gap", RULES(gap_rules)},
    {"layer_porous", "a porous layer", RULES(porous_rules)},
    {"layer_granular", "a bed of grains", RULES(granular_rules)},
};

/* Told by the rows of the form, which lists of kinds share. */
ebb_layer_kind ebb_room_layer_kind(const ebb_room_form *form)
{
    for (size_t i = 0; i < EBB_ROOM_LAYER_FORMS; i++)
        if (ebb_room_layer_forms[i].rules == form->rules)
            return (ebb_layer_kind)i;
    assert(false && "the form is not that of a layer");
    return EBB_LAYER_MASS;
}
