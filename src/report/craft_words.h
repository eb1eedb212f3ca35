/* SPDX-License-Identifier: GPL-3.0-or-later */
/* craft_words.h - a designed box in words; the same in text and JSON. */
#ifndef EBB_REPORT_CRAFT_WORDS_H
#define EBB_REPORT_CRAFT_WORDS_H

#include <ebb/report.h>

/* All of them in arena; NULL when memory ran out. */

/* "one cell, two fronts". Constant. */
const char *ebb_report_craft_layout(int cells, int fronts);
/* What the target asks for, and within which limits. */
const char *ebb_report_craft_goal(ebb_arena *arena, const ebb_target *target);
const char *ebb_report_craft_limits(ebb_arena *arena, const ebb_target *target, ebb_units units);
/* How sure the search is of being near the best, of one pick. */
const char *ebb_report_craft_sure(ebb_arena *arena, const ebb_craft_pick *pick, ebb_units units);
/* The worst of the boxes built badly against the box as planned. */
const char *ebb_report_craft_worst(ebb_arena *arena, const ebb_craft *craft,
                                   const ebb_craft_pick *pick);
/* Where a result comes from: version, library, seed, starts, boxes. */
const char *ebb_report_craft_trace(ebb_arena *arena, const ebb_crafts *crafts);
/* What the depth limit says of the target; NULL also when it says nothing. */
const char *ebb_report_craft_bound(ebb_arena *arena, const ebb_craft *craft, ebb_units units);

/* Steps of the build that hold for every box, and cautions of this one: constant strings into
 * list[], EBB_REPORT_CRAFT_NOTES at most; returns how many. */
#define EBB_REPORT_CRAFT_NOTES 14
size_t ebb_report_craft_steps(const ebb_craft_pick *pick, const char *list[EBB_REPORT_CRAFT_NOTES]);
size_t ebb_report_craft_cautions(const ebb_craft_pick *pick,
                                 const char *list[EBB_REPORT_CRAFT_NOTES]);

#endif
