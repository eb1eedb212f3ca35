/* SPDX-License-Identifier: GPL-3.0-or-later */
/* rules.h - how the tables of keys are written (forms*.c). */
#ifndef EBB_ROOM_RULES_H
#define EBB_ROOM_RULES_H

#include "form.h"

#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define RULES(array) .n = COUNT(array), .rules = (array)

/* Openings for the commonest shapes of rule; a row closes them with its meaning. */
#define QUANTITY(kind_, low_, high_)                                                               \
    .kind = EBB_ROOM_QUANTITY, .quantity = EBB_Q_##kind_, .low = (low_), .high = (high_)
#define SPAN(kind_, low_, high_)                                                                   \
    .kind = EBB_ROOM_SPAN, .quantity = EBB_Q_##kind_, .low = (low_), .high = (high_), .least = 2,  \
    .most = 2
#define VECTOR(kind_, n_, low_, high_)                                                             \
    .kind = EBB_ROOM_VECTOR, .quantity = EBB_Q_##kind_, .low = (low_), .high = (high_),            \
    .least = (n_), .most = (n_)
#define CURVE(kind_, low_, high_)                                                                  \
    .kind = EBB_ROOM_CURVE, .quantity = EBB_Q_##kind_, .low = (low_), .high = (high_), .least = 1, \
    .most = 64
#define FORM(form_) .kind = EBB_ROOM_FORM, .form = &(form_), .n_forms = 1
#define LIST(form_, least_, most_)                                                                 \
    .kind = EBB_ROOM_FORMS, .form = &(form_), .n_forms = 1, .least = (least_), .most = (most_)
#define LAYERS(forms_, most_)                                                                      \
    .kind = EBB_ROOM_KINDS_OF, .form = (forms_), .n_forms = COUNT(forms_), .least = 1,             \
    .most = (most_)
#define NAMED(form_, most_) .kind = EBB_ROOM_NAMED, .form = &(form_), .n_forms = 1, .most = (most_)
#define NAME .kind = EBB_ROOM_NAME, .least = 1, .most = 60
#define NAMES .kind = EBB_ROOM_NAMES, .least = 0, .most = 64
#define PATH .kind = EBB_ROOM_FILE, .least = 1, .most = 200

/* The part that constructions and absorbers share. */
#define ADMITTANCE_RULE(instead_)                                                                  \
    {                                                                                              \
        "admittance", .kind = EBB_ROOM_ADMITTANCE, .quantity = EBB_Q_NUMBER, .low = -1000,         \
                      .high = 1000, .least = 2, .most = 2, .form = &ebb_room_table_form,           \
                      .n_forms = 1,                                                                \
                      .meaning = "normalised admittance rho c / Z, constant or from a table of "   \
                                 "Z / rho c; instead of " instead_                                 \
    }
#define LAYERS_RULE(instead_)                                                                      \
    {                                                                                              \
        "layers", LAYERS(ebb_room_layer_forms, 16),                                                \
            .meaning = "layers from the room inwards; instead of " instead_                        \
    }
#define ABSORPTION_RULE                                                                            \
    {                                                                                              \
        "absorption", VECTOR(NUMBER, EBB_OCTAVES, 0, 1.5),                                         \
            .fallback = "from the layers",                                                         \
            .meaning = "random-incidence absorption in the octaves 125, 250, 500, 1000, 2000 and " \
                       "4000 Hz, for the middle band"                                              \
    }

/* What a board of known thickness can be told beside its material. */
#define BOARD_RULES(with_)                                                                         \
    {"density", QUANTITY(DENSITY, 20, 20000), .fallback = "of the material",                       \
     .meaning = "density; needed when no material is named"},                                      \
        {"modulus", QUANTITY(PRESSURE, 1e5, 1e12), .fallback = "of the material",                  \
         .meaning = "Young's modulus" with_},                                                      \
        {"poisson", QUANTITY(NUMBER, 0, 0.49), .fallback = "of the material, else 0.3",            \
         .meaning = "Poisson's ratio" with_},                                                      \
    {                                                                                              \
        "loss", QUANTITY(NUMBER, 0, 1), .fallback = "of the material, else 0.02",                  \
                                        .meaning = "loss factor of the bending" with_              \
    }

/* Porous matter, of a layer and of a wool in the stock. */
#define POROUS_RULES(wool_)                                                                        \
    {"porosity", QUANTITY(NUMBER, 0.05, 1), .fallback = wool_ "0.98",                              \
     .meaning = "share of open pores"},                                                            \
        {"tortuosity", QUANTITY(NUMBER, 1, 10), .fallback = wool_ "1", .meaning = "tortuosity"},   \
        {"viscous_length", QUANTITY(LENGTH, 1e-6, 0.01),                                           \
         .fallback = wool_ "that of cylindrical pores of the same resistivity",                    \
         .meaning = "viscous characteristic length"},                                              \
        {"thermal_length", QUANTITY(LENGTH, 1e-6, 0.02),                                           \
         .fallback = wool_ "twice the viscous length",                                             \
         .meaning = "thermal characteristic length"},                                              \
        {"density", QUANTITY(DENSITY, 1, 2000),                                                    \
         .meaning = "bulk density; needed for the limp model, else only for the weight"},          \
    {                                                                                              \
        "model", .kind = EBB_ROOM_CHOICE, .words = ebb_room_model_words, .fallback = wool_ "jca",  \
                 .meaning = "jca: rigid frame, five parameters; limp: the same with a limp "       \
                            "frame; miki: from the resistivity alone, not below 0.01 resistivity " \
                            "(in Hz and Pa.s/m2)"                                                  \
    }

/* Grains, of a layer and of a batch in the stock. */
#define GRAIN_RULES(needed_, batch_)                                                               \
    {"grain", QUANTITY(LENGTH, 5e-5, 0.02), .required = (needed_),                                 \
     .meaning = "diameter of a grain" batch_},                                                     \
        {"uptake", QUANTITY(NUMBER, 0, 50), .required = (needed_),                                 \
         .meaning = "gas taken up by the fine pores of a grain at 1 atm, over what as much free "  \
                    "space would hold; 0 for grains that take up nothing" batch_},                 \
        {"density", QUANTITY(DENSITY, 50, 3000), .required = (needed_),                            \
         .meaning = "density of the bed as poured" batch_},                                        \
        {"bed_porosity", QUANTITY(NUMBER, 0.2, 0.8), .fallback = "0.4, poured spheres",            \
         .meaning = "share of the air between the grains"},                                        \
        {"pore_share", QUANTITY(NUMBER, 0, 0.9), .fallback = "0.5, our assumption",                \
         .meaning = "share of a grain that is wide pores, through which air gets in"},             \
        {"pore_radius", QUANTITY(LENGTH, 1e-8, 1e-4), .fallback = "0.5 um, our assumption",        \
         .meaning = "radius of these pores"},                                                      \
        {"tortuosity", QUANTITY(NUMBER, 1, 20), .fallback = "3, our assumption",                   \
         .meaning = "their tortuosity"},                                                           \
        {"sorption", QUANTITY(FREQUENCY, 0.1, 1e5), .fallback = "200 Hz, our assumption",          \
         .meaning = "frequency above which the uptake no longer follows"},                         \
    {                                                                                              \
        "resistivity", QUANTITY(RESISTIVITY, 10, 1e7), .fallback = "from grain and bed_porosity",  \
                                                       .meaning = "flow resistivity of the bed"    \
    }

#endif
