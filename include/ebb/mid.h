/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/mid.h - above the modal range: statistical decay per octave and the speech index, in their
 * simplest honest form.
 */
#ifndef EBB_MID_H
#define EBB_MID_H

#include <ebb/job.h>

#ifndef __cplusplus

/* Decay and speech of one treated or untreated room. Octaves 125..4000 Hz. */
typedef struct ebb_mid {
    double hz[EBB_OCTAVES];
    double area[EBB_OCTAVES]; /* equivalent absorption area A, m2 */
    double t60[EBB_OCTAVES];  /* s, Eyring with air loss */
    double speech_index;      /* STI 0..1 from those decays, noise-free */
    double schroeder;         /* Hz, 2000 sqrt(T/V) with T of the 500 and 1000 Hz octaves */
} ebb_mid;

/*
 * Decay by Eyring (Kuttruff; T = 55.26 V / (c (-S ln(1 - A/S) + 4 m V))) from the random-incidence
 * absorption of surfaces, openings and placed units: their octave table where they have one, else
 * the assembly's value averaged over the octave. Units cover the surface behind them; their edges
 * are not counted. An alpha above 0.99 is held below 0.99 in the logarithm only and warned about.
 * placed: n units (existing ones included).
 */
EBB_API ebb_status ebb_mid_room(ebb_ctx *ctx, const ebb_job *job, const ebb_room *room, size_t n,
                                const ebb_placed *placed, ebb_mid *mid);

/* Octave absorption of a construction or unit as used above: table value or assembly average. */
EBB_API double ebb_mid_alpha(const ebb_assembly *assembly, const double table[EBB_OCTAVES],
                             const ebb_air *air, int octave);

/*
 * Speech transmission index for pure exponential decays t60 in the octaves 125..8000 Hz (the 8 kHz
 * value repeats the last given), signal-to-noise ratio snr_db in all bands (INFINITY: none), male
 * weighting, without masking or threshold. IEC 60268-16 (form after Houtgast and Steeneken).
 */
EBB_API double ebb_speech_index(const double t60[EBB_OCTAVES], double snr_db);

#endif /* !__cplusplus */
#endif
