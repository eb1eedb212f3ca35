/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Working state of the placement search: a layout with its Green matrices, modes and sums.
 */
#ifndef EBB_PLAN_WORK_H
#define EBB_PLAN_WORK_H

#include "greens.h"
#include "score.h"

/* Working state of a start. */
typedef struct ebb_work {
    const ebb_base *base;
    ebb_arena *arena;
    ebb_greens greens;
    ebb_climbed layout;
    unsigned char *taken, *tried; /* [spot] */
    double mass, cost, area;
    double absorption[EBB_OCTAVES];
    ebb_score score;
    unsigned long long random;
} ebb_work;

/* Memory in an arena of its own, w->arena, also when it returns false; picks where result has them.
 */
bool ebb_work_make(ebb_work *w, const ebb_base *base, const ebb_effort *effort, unsigned stream,
                   const ebb_climbed *result);
/* Evenly spread over 0..1. */
double ebb_work_random(ebb_work *w);
/* No units. The modes are left alone. */
void ebb_work_reset(ebb_work *w);
/* Rebuilds the matrices from the layout alone: forgets a long stack of updates and its rounding.
 * The modes are left alone: their reference already holds these units, or their shifts do. */
void ebb_work_rebuild(ebb_work *w);
void ebb_work_add(ebb_work *w, ebb_pick pick);
/* Adds a unit to the books alone, and takes the last one out again: matrices and modes stay. */
void ebb_work_note(ebb_work *w, ebb_pick pick);
void ebb_work_unnote(ebb_work *w);
/* Takes away unit i; the last of the layout does not take its place: the order stays. */
void ebb_work_take_away(ebb_work *w, size_t i);
/* Before a trial of one unit away and one added; and after a trial that was no use: `old` comes
 * back, what took its place (may be NULL) goes. */
void ebb_work_keep(ebb_work *w);
void ebb_work_give_back(ebb_work *w, ebb_pick old, const ebb_pick *fresh);
/* Does the allowance cover one more unit? Does it get in the way of the others? */
bool ebb_work_may_spend(const ebb_work *w, ebb_pick pick);
bool ebb_work_collides(const ebb_work *w, ebb_pick pick);
/* Score of the layout as if pick (NULL: none) came (sign 1) or went (-1). */
double ebb_work_score(ebb_work *w, const ebb_pick *pick, double sign);
/* Takes the best options of stations and returns the score with them. */
double ebb_work_stations(ebb_work *w);
/* Puts the layout's true modes in the place of shifted ones, and fresh matrices in the place of
 * updated ones: *score, with the best stations, depends on nothing but the picks. */
bool ebb_work_settle(ebb_work *w, double *score);
/* The same, kept in the layout with its wrong share. */
bool ebb_work_rate(ebb_work *w);

#endif
