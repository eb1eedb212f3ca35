/* SPDX-License-Identifier: GPL-3.0-or-later */
/* words.h - numbers and verdicts in words; the same in every kind of report. */
#ifndef EBB_REPORT_WORDS_H
#define EBB_REPORT_WORDS_H

#include <ebb/draw.h>
#include <ebb/report.h>

/* All of them return text in arena, NULL when memory ran out; arena == NULL gives NULL. */

/* Text of a job made fit to print: valid UTF-8, no control characters and no characters that turn
 * the direction of what follows; NULL and "" become `empty`. */
const char *ebb_report_clean(ebb_arena *arena, const char *text, const char *empty);
/* Name of a room, cleaned and cut to 60 columns, so that it leaves room for what is said of it. */
const char *ebb_report_room_name(ebb_arena *arena, const ebb_answer *answer);
/* A share as "94 %", anything that is not finite as "-". */
const char *ebb_report_percent(ebb_arena *arena, double share);
/* A quantity in the units of the report. */
const char *ebb_report_quantity(ebb_arena *arena, ebb_quantity_kind kind, double value,
                                ebb_units units);
/* A length in whole millimetres or in inches: what a builder measures. */
const char *ebb_report_measure(ebb_arena *arena, double metres, ebb_units units);
/* Whole kilograms or pounds. */
const char *ebb_report_mass(ebb_arena *arena, double kg, ebb_units units);
/* A frequency as "43 Hz", NAN as "none". */
const char *ebb_report_hz(ebb_arena *arena, double hz);
/* Money of the job: a plain number, "-" when there is none. */
const char *ebb_report_money(ebb_arena *arena, double cost);
/* "91 %", or "nothing to mend"; a dash when one side was not calculated. */
const char *ebb_report_mended(ebb_arena *arena, const ebb_treatment *treatment);
/* Lowest frequency from which a case is right: "43 Hz", "none", a dash when not calculated. */
const char *ebb_report_from(ebb_arena *arena, const ebb_case *one);
/* "14 \u2192 3" faults before and after, a dash for a side that was not calculated. */
const char *ebb_report_fault_counts(ebb_arena *arena, const ebb_treatment *treatment);

/* The shown treatment, never NULL: an empty one stands in. */
const ebb_treatment *ebb_report_shown(const ebb_answer *answer);
/* The verdict as a client says it: "can be made right for music". Constant. */
const char *ebb_report_verdict(const ebb_answer *answer);
ebb_ink ebb_report_verdict_ink(const ebb_answer *answer);
/* "sure: 94 % of 64 draws agree", "near the border: ..., one dip decides". */
const char *ebb_report_sure(ebb_arena *arena, const ebb_answer *answer);
/* Where a printed answer comes from: version, job file, seed, starts, draws. No date: the same
 * input gives the same bytes. */
const char *ebb_report_trace(ebb_arena *arena, const ebb_answers *answers);
/* "music" or "voice". Constant. */
const char *ebb_report_use(ebb_use use);

/* What is left of a fault: the largest fault of the same kind among `after` whose stretch overlaps
 * it, NULL when there is none. */
const ebb_fault *ebb_report_rest(const ebb_fault *fault, const ebb_faults *after);
/* The other way round: was this fault of the treated room already there before? */
bool ebb_report_is_new(const ebb_fault *fault, const ebb_faults *before);
/* The reading of a fault with its unit, "1.71 s", "-5.2 dB", "0.44". */
const char *ebb_report_reading(ebb_arena *arena, ebb_fault_kind kind, double value);

/* Where a unit hangs: "wall_4", "100 mm from corner 4" and "350 mm up"; on ceiling and floor both
 * distances are from the corner at the lower left of the plan. */
typedef struct ebb_report_spot {
    const char *surface, *along, *up;
} ebb_report_spot;

ebb_report_spot ebb_report_spot_of(ebb_arena *arena, const ebb_room *room, const ebb_placed *placed,
                                   ebb_units units);
/* Number of the plan corner at the lower left of the plan, 1 when there is none. */
size_t ebb_report_lower_corner(const ebb_room *room);

/* The units to print in: those asked for, else the job's. */
ebb_units ebb_report_units(const ebb_answers *answers, int units);

#endif
