/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The score a search climbs on: how far response, decays and mid band are from the inside of their
 * limits. Lower is better. It aims inside the limits, so that draws do not break the plan at once.
 */
#ifndef EBB_PLAN_SCORE_H
#define EBB_PLAN_SCORE_H

#include "climb.h"

typedef struct ebb_score {
    double _Complex *h; /* [path * n_hz + f]: responses to be scored, filled by the caller */
    double *power;      /* [n_hz] scratch */
    double *level;      /* [path * n_cells] deviations of the last scoring, dB */
    ebb_arena *modes_arena;
    size_t n_modes, most_modes; /* modes there are, by rising frequency, and room for */
    double _Complex *omega;     /* [mode] as solved and shifted since */
    double _Complex *kept;      /* [mode] as they were at ebb_score_keep */
    size_t (*near)[2]; /* [mode] first of the modes in a third octave around it, past the last */
    double *heard;     /* [(mode * n_sources + s) * n_receivers + r] energy, all options */
    double *energy;    /* [mode] scratch */
    double *weight;    /* [mode] share of its band's energy at the heads */
    double _Complex *touch; /* [(mode * n_spots + spot) * 2]: first port, all ports */
} ebb_score;

ebb_status ebb_score_make(ebb_arena *arena, const ebb_base *base, ebb_score *score);

/* Solves the modes of a layout and takes them as the new reference, heard at its stations. */
ebb_status ebb_score_modes(const ebb_base *base, const ebb_climbed *layout, ebb_score *score);

/* Weighs the modes by what is heard of them with stations at the given options. */
void ebb_score_weigh(ebb_score *score, const ebb_base *base, const size_t option[2]);

/* First-order shift of all modes by a unit added (sign 1) or removed (-1). */
void ebb_score_shift(ebb_score *score, const ebb_base *base, ebb_pick pick, double sign);

/* Keeps the modes as they are; return goes back to them. */
void ebb_score_keep(ebb_score *score);
void ebb_score_return(ebb_score *score);

/* Score of the responses in score->h; absorption and modes as if pick (may be NULL) were added or
 * removed. mass: of the layout without pick. */
double ebb_score_of(ebb_score *score, const ebb_base *base, const double absorption[EBB_OCTAVES],
                    const ebb_pick *pick, double sign, double mass);

/* Share of wrong cells of the last scoring, by this coarse count. */
double ebb_score_wrong(const ebb_score *score, const ebb_base *base);

#endif
