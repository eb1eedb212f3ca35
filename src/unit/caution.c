/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What those should know who build, carry and hang a unit.
 *
 * Only what the unit gives cause for: a list that says everything of every box is not read.
 * Sources as in the report's own cautions (src/report/cautions.c).
 */
#include "private.h"

/* One person's load constant of the lifting equation of NIOSH (from memory). */
#define ONE_PERSON 23.0

static const char WEIGHT[] =
    "Weight and fixing: an engineer checks the wall or ceiling, the anchors and the floor for the "
    "complete weight before anything is bought. Local codes and licensed practice hold.";
static const char OVERHEAD[] =
    "Overhead: hang it from structure, never from ceiling boards, with a second, independent "
    "safety line. A design factor of 5 or more is practice, not a code.";
static const char LIFTING[] = "Lifting: more than one person's load (23 kg in the NIOSH lifting "
                              "equation, from memory): two people and the tools for it.";
static const char FIBRES[] =
    "Fibres: breathing, eye and skin protection when mineral or glass wool is cut; line the fill "
    "with cloth so that none escapes.";
static const char GRAIN_DUST[] =
    "Carbon dust: mask, goggles and gloves when filling, away from flames and sparks; enclose it "
    "in dust-tight bags or trays that can be taken out. Keep it from heat, solvents and strong "
    "oxidisers; it burns, and can heat itself.";
static const char OXYGEN[] =
    "Oxygen: activated carbon takes oxygen from the air, quickly when wet. A small closed room "
    "with much of it is aired and tested before anyone stays in it; below 19.5 % oxygen the air "
    "is hazardous (29 CFR 1910.146).";
static const char FIRE[] = "Fire: boards, fill, cloth and rims must meet the reaction-to-fire "
                           "class that the building asks for.";
static const char CREEP[] =
    "Soft rims creep: a front that stands upright sinks on its rim over months. Keep a rest under "
    "its lower edge that it does not touch, and look again after a year.";

/* In the order in which one meets them: before buying, lifting, filling, and a year later. */
size_t ebb_unit_cautions(const ebb_unit *unit, const char *list[EBB_UNIT_CAUTIONS])
{
    const bool grains = ebb_unit_holds(unit, EBB_LAYER_GRANULAR);
    const struct {
        bool when;
        const char *text;
    } all[EBB_UNIT_CAUTIONS] = {
        {true, WEIGHT},
        {unit->on_ceiling, OVERHEAD},
        {unit->mass > ONE_PERSON, LIFTING},
        {ebb_unit_holds(unit, EBB_LAYER_POROUS), FIBRES},
        {grains, GRAIN_DUST},
        {grains, OXYGEN},
        {true, FIRE},
        {unit->assembly.kind == EBB_ASSEMBLY_CABINET, CREEP},
    };
    size_t n = 0;
    for (size_t i = 0; i < EBB_UNIT_CAUTIONS; i++)
        if (all[i].when)
            list[n++] = all[i].text;
    return n;
}
