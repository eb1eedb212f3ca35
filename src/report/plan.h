/* SPDX-License-Identifier: GPL-3.0-or-later */
/* plan.h - what the text, the JSON and the report of a plan share. */
#ifndef EBB_REPORT_PLAN_H
#define EBB_REPORT_PLAN_H

#include "document.h"
#include "place.h"
#include "words.h"

/* One sum of a layout against what the job allows; allowed is INFINITY where it sets no bound. */
typedef struct ebb_plan_total {
    const char *what, *key; /* in words; member of the JSON document */
    double used, allowed;
    const char *used_words, *allowed_words; /* "no limit" */
} ebb_plan_total;

enum { EBB_PLAN_TOTALS = 6 };

/* Mass, cover, depth, cost, count and floor load of a layout. Words in arena, NULL when memory ran
 * out. */
void ebb_plan_totals(ebb_arena *arena, const ebb_job *job, const ebb_room *room,
                     const ebb_layout *layout, ebb_units units,
                     ebb_plan_total total[EBB_PLAN_TOTALS]);

/* What the plan comes to, a sentence. */
const char *ebb_plan_outcome(ebb_arena *arena, const ebb_planned *plan);
/* "mode 1-0-0, 47.6 Hz". */
const char *ebb_plan_mode(ebb_arena *arena, const ebb_slow_mode *mode);
/* A decay time, a dash where it is not known. */
const char *ebb_plan_seconds(ebb_arena *arena, double seconds);
/* Name of a unit of a layout, cleaned. */
const char *ebb_plan_unit(ebb_arena *arena, const ebb_job *job, const ebb_placed *placed);

/* The plan as the one answer of its job. */
ebb_answers ebb_plan_answers(const ebb_plan_papers *papers, const ebb_answer *answer[1]);

#endif
