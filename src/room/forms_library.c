/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Keys of the library file: what is at hand, what labels say, what is to be designed. */
#include "rules.h"

#include <ebb/cabinet.h>

/* ---- the stock ------------------------------------------------------------------------------- */

#define SOURCE_RULE                                                                                \
    {                                                                                              \
        "source", .kind = EBB_ROOM_NOTE, .most = 500, .meaning = "where the values come from"      \
    }
#define PRICE_RULE(per_)                                                                           \
    {                                                                                              \
        "price", QUANTITY(NUMBER, 0, 1e9), .fallback = "0, not counted",                           \
                                           .meaning = "money per " per_                            \
    }

static const ebb_room_rule material_rules[] = {
    {"density", QUANTITY(DENSITY, 20, 20000), .required = true, .meaning = "density"},
    {"modulus", QUANTITY(PRESSURE, 1e5, 1e12), .required = true, .meaning = "Young's modulus"},
    {"poisson", QUANTITY(NUMBER, 0, 0.49), .fallback = "0.3", .meaning = "Poisson's ratio"},
    {"loss", QUANTITY(NUMBER, 0, 1), .fallback = "0.02", .meaning = "loss factor of the bending"},
    {"thicknesses", .kind = EBB_ROOM_VECTOR, .quantity = EBB_Q_LENGTH, .low = 1e-4, .high = 0.1,
     .least = 1, .most = 32, .fallback = "none: it is not used to design boxes",
     .meaning = "thicknesses it can be had in, rising"},
    {"prices", .kind = EBB_ROOM_VECTOR, .quantity = EBB_Q_NUMBER, .low = 0, .high = 1e9, .least = 1,
     .most = 32, .fallback = "0, not counted",
     .meaning = "money per m2, one for each of thicknesses"},
    SOURCE_RULE,
};
static const ebb_room_form material_form = {"material", "a material", RULES(material_rules)};

static const ebb_room_rule wool_rules[] = {
    {"resistivity", QUANTITY(RESISTIVITY, 100, 1e6), .required = true,
     .meaning = "flow resistivity"},
    POROUS_RULES(""),
    PRICE_RULE("m3"),
    SOURCE_RULE,
};
static const ebb_room_form wool_form = {"wool", "a wool", RULES(wool_rules)};

static const ebb_room_rule grains_rules[] = {
    GRAIN_RULES(true, ""),
    {"measured", .kind = EBB_ROOM_FLAG, .fallback = "no",
     .meaning = "yes: the values come from a test of this batch, not from a table"},
    PRICE_RULE("kg"),
    SOURCE_RULE,
};
static const ebb_room_form grains_form = {"batch", "a batch of grains", RULES(grains_rules)};

static const char *const strip_words[] = {"bending", "pressed", NULL};

static const ebb_room_rule strip_rules[] = {
    {"width", QUANTITY(LENGTH, 0.001, 0.2), .required = true,
     .meaning = "bending: free width between front and frame; pressed: width of the strip"},
    {"thickness", QUANTITY(LENGTH, 1e-4, 0.1), .required = true, .meaning = "thickness"},
    {"modulus", QUANTITY(PRESSURE, 1e3, 1e11), .required = true, .meaning = "Young's modulus"},
    {"works", .kind = EBB_ROOM_CHOICE, .words = strip_words, .required = true,
     .meaning = "bending: a free strip that bends; pressed: pressed between front and frame"},
    {"loss", QUANTITY(NUMBER, 0, 1), .fallback = "0.1", .meaning = "loss factor"},
    PRICE_RULE("m"),
    SOURCE_RULE,
};
static const ebb_room_form strip_form = {"strip", "a strip", RULES(strip_rules)};

#define STOCK_RULES                                                                                \
    {"materials", NAMED(material_form, 64), .fallback = "presets only",                            \
     .meaning = "boards, by name; one with the name of a preset takes its place"},                 \
        {"wools", NAMED(wool_form, 64), .fallback = "presets only",                                \
         .meaning = "porous fill, by name"},                                                       \
        {"grains", NAMED(grains_form, 64), .fallback = "presets only",                             \
         .meaning = "batches of grains, by name"},                                                 \
    {                                                                                              \
        "strips", NAMED(strip_form, 64), .fallback = "presets only",                               \
                                         .meaning = "strips of which rims are made, by name"       \
    }

static const ebb_room_rule stock_rules[] = {STOCK_RULES};
const ebb_room_form ebb_room_stock_form = {"stock", "a stock", RULES(stock_rules)};

/* ---- claims ---------------------------------------------------------------------------------- */

static const char *const fill_words[] = {"air", "wool", "grains", NULL};
static const char *const measured_words[] = {"normal", "diffuse", NULL};

static const ebb_room_rule claim_rules[] = {
    {"face", VECTOR(LENGTH, 2, 0.1, 5), .fallback = "not said", .meaning = "width and height"},
    {"depth", QUANTITY(LENGTH, 0.005, 2), .fallback = "not said", .meaning = "outer depth"},
    {"mass", QUANTITY(MASS, 0.01, 5000), .fallback = "not said",
     .meaning = "weight of the complete unit"},
    {"front", .kind = EBB_ROOM_FLAG, .fallback = "no, unless front_mass is given",
     .meaning = "whether it has a front that moves"},
    {"front_mass", QUANTITY(AREA_MASS, 0.1, 500), .fallback = "not said",
     .meaning = "mass per area of all its fronts together"},
    {"fill", .kind = EBB_ROOM_CHOICE, .words = fill_words, .fallback = "not said",
     .meaning = "what is inside"},
    {"figures", CURVE(NUMBER, 0, 5),
     .meaning = "absorption coefficients as the label gives "
                "them, [frequency, value]; instead of areas"},
    {"measured", .kind = EBB_ROOM_CHOICE, .words = measured_words, .fallback = "not said",
     .meaning = "normal: figures at normal incidence, as from a tube; diffuse: from a "
                "reverberation room"},
    {"areas", CURVE(AREA, 0, 50),
     .meaning = "absorption areas per unit, [frequency, area]; "
                "instead of figures"},
};
static const ebb_room_form claim_form = {"claim", "a claim", RULES(claim_rules)};

/* ---- targets --------------------------------------------------------------------------------- */

static const ebb_room_rule mode_rules[] = {
    {"job", PATH, .required = true, .meaning = "job file below the library's folder"},
    {"room", .kind = EBB_ROOM_TEXT, .least = 1, .most = 80, .required = true,
     .meaning = "a room of that job"},
    {"hz", QUANTITY(FREQUENCY, 10, 200), .required = true,
     .meaning = "about where the mode lies; the nearest one is meant"},
    {"units", QUANTITY(NUMBER, 1, 64), .fallback = "1", .meaning = "how many units shall hang"},
};
static const ebb_room_form mode_form = {"mode", "a mode of a room", RULES(mode_rules)};

static const ebb_room_rule use_rules[] = {
    {"materials", NAMES, .fallback = "all of the stock", .meaning = "boards that may be used"},
    {"wools", NAMES, .fallback = "all of the stock", .meaning = "wools that may be used"},
    {"grains", NAMES, .fallback = "all of the stock", .meaning = "batches that may be used"},
    {"strips", NAMES, .fallback = "all of the stock", .meaning = "strips that may be used"},
};
static const ebb_room_form use_form = {"use", "what may be used", RULES(use_rules)};

static const ebb_room_rule target_rules[] = {
    {"curve", CURVE(NUMBER, 0.01, 1),
     .meaning = "at least these absorption coefficients at normal "
                "incidence, [frequency, value]; instead of mean "
                "or mode"},
    {"mean", VECTOR(FREQUENCY, 2, EBB_ROOM_CURVE_LOW, 1000),
     .meaning = "best mean coefficient at normal incidence from one frequency to another; instead "
                "of curve or mode"},
    {"mode", FORM(mode_form), .meaning = "damp one mode of a room; instead of curve or mean"},
    {"face", VECTOR(LENGTH, 2, 0.1, 5), .required = true, .meaning = "width and height, outer"},
    {"depth", SPAN(LENGTH, 0.03, 2), .required = true,
     .meaning = "outer depth: [least, most], or exactly one"},
    {"mass", QUANTITY(MASS, 0.1, 5000), .fallback = "no limit", .meaning = "weight at most"},
    {"cost", QUANTITY(NUMBER, 0, 1e9), .fallback = "no limit", .meaning = "money at most"},
    {"grains", QUANTITY(MASS, 0, 1000), .fallback = "no limit",
     .meaning = "weight of grains at most; 0 kg for none"},
    {"fronts", SPAN(NUMBER, 1, EBB_FRONTS), .fallback = "[1, 2]",
     .meaning = "fronts one behind the other: [least, most], or exactly so many"},
    {"cells", QUANTITY(NUMBER, 1, 2), .fallback = "2", .meaning = "cells side by side at most"},
    {"thinnest", QUANTITY(LENGTH, 5e-4, 0.05), .fallback = "4 mm, our choice",
     .meaning = "thinnest board of a front"},
    {"lightest", QUANTITY(AREA_MASS, 0.1, 100), .fallback = "2.5 kg/m2, our choice",
     .meaning = "lightest front"},
    {"robust", .kind = EBB_ROOM_FLAG, .fallback = "no",
     .meaning = "yes: judged by the worst case over build tolerances and batches"},
    {"use", FORM(use_form), .fallback = "all of the stock", .meaning = "what it may be made of"},
};
static const ebb_room_form target_form = {"target", "a target", RULES(target_rules)};

/* ---- the whole ------------------------------------------------------------------------------- */

static const ebb_room_rule library_rules[] = {
    {"library", .kind = EBB_ROOM_TEXT, .least = 1, .most = 120, .required = true,
     .meaning = "name of the library"},
    {"note", .kind = EBB_ROOM_NOTE, .most = 4000, .meaning = "free text shown in reports"},
    {"units", .kind = EBB_ROOM_CHOICE, .words = ebb_room_units_words, .fallback = "metric",
     .meaning = "units of the output; the input may mix both"},
    {"air", FORM(ebb_room_air_form), .fallback = "20 C, 50 %, 101.325 kPa", .meaning = "the air"},
    STOCK_RULES,
    {"absorbers", NAMED(ebb_room_unit_form, 64), .fallback = "none",
     .meaning = "units, by name; jobs may use them"},
    {"claims", NAMED(claim_form, 64), .fallback = "none",
     .meaning = "what labels and data sheets say, by name"},
    {"targets", NAMED(target_form, 64), .fallback = "none",
     .meaning = "boxes to be designed, by name"},
};
const ebb_room_form ebb_room_library_form = {"library", "a library", RULES(library_rules)};

const ebb_room_form_list ebb_room_library_forms[] = {
    &ebb_room_library_form,
    &ebb_room_air_form,
    &material_form,
    &wool_form,
    &grains_form,
    &strip_form,
    &claim_form,
    &target_form,
    &mode_form,
    &use_form,
    &ebb_room_unit_form,
    &ebb_room_cabinet_form,
    &ebb_room_front_form,
    &ebb_room_mount_form,
    &ebb_room_leak_form,
    &ebb_room_cell_form,
    &ebb_room_table_form,
    &ebb_room_layer_forms[EBB_LAYER_MASS],
    &ebb_room_layer_forms[EBB_LAYER_PANEL],
    &ebb_room_layer_forms[EBB_LAYER_AIR],
    &ebb_room_layer_forms[EBB_LAYER_POROUS],
    &ebb_room_layer_forms[EBB_LAYER_SCREEN],
    &ebb_room_layer_forms[EBB_LAYER_LUMPED],
    &ebb_room_layer_forms[EBB_LAYER_GRANULAR],
    &ebb_room_layer_forms[EBB_LAYER_PERFORATED],
    &ebb_room_layer_forms[EBB_LAYER_SLITS],
    &ebb_room_lumped_form,
};
const size_t ebb_room_n_library_forms = COUNT(ebb_room_library_forms);
