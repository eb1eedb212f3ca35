/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The nonlinear eigenproblem T(w) x = 0 of a state, its first guesses from a real quadratic
 * problem, and the steps that polish them.
 */
#ifndef EBB_FIELD_NONLINEAR_H
#define EBB_FIELD_NONLINEAR_H

#include "reduced.h"

/* A term of the operator seen as a resonator Z = s m + r + k/s. */
typedef struct ebb_fit {
    bool resonant; /* it is one, with its resonance in or near the band */
    double mrk[3];
} ebb_fit;

/* A state's operator with what the eigenvalue steps need. */
typedef struct ebb_pencil {
    const ebb_reduced *reduced;
    const ebb_state *state;
    double band[2]; /* Hz, where modes are wanted */
    ebb_operator op;
    ebb_fit *fit; /* per term */
} ebb_pencil;

/* Operator and fits of a state for modes in band (Hz); memory in arena. */
ebb_status ebb_pencil_open(ebb_ctx *ctx, ebb_arena *arena, const ebb_reduced *reduced,
                           const ebb_state *state, const double band[2], ebb_pencil *pencil);

/* Scratch of one thread for polishing. */
typedef struct ebb_polisher {
    double _Complex *a, *work, *slope, *value;
    double *re, *im; /* of a product */
    int *pivot;
} ebb_polisher;

bool ebb_polisher_make(ebb_arena *arena, size_t size, ebb_polisher *polisher);

/* Improves omega and x (size entries, any scale) until the relative change is below tolerance.
 * False when it did not converge within 25 steps. On success *norm = x^T T'(omega) x. */
bool ebb_polish(const ebb_pencil *pencil, ebb_polisher *polisher, double tolerance,
                double _Complex *omega, double _Complex *x, double _Complex *norm);

/* First guesses for all modes in the band. omega[n], vector[n * size]; memory in arena. */
ebb_status ebb_guess_modes(ebb_ctx *ctx, ebb_arena *arena, const ebb_pencil *pencil, size_t *n,
                           double _Complex **omega, double _Complex **vector);

/* Best fit Z = s m + r + k/s of a term around its peak admittance: true when it is a resonator with
 * its resonance in or near the pencil's band. */
bool ebb_fit_resonator(const ebb_pencil *pencil, size_t term, double mrk[3]);

#endif
