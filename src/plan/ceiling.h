/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What no placing of the allowance can do to a mode of the room.
 *
 * Let (w0, x) be a damped mode of the room as it stands and (w, a) one of the room with units, both
 * of unit length, k = w/c, A the operator of ebb/field.h. Then
 *
 *   0 = x^T (A(w) - A0(w0)) a = -(k^2 - k0^2) x^T a + walls + units.
 *
 * Units. Unit port p has pressure u = P^T a / sqrt(V) (V the scale of the volume), velocity v, and
 * u = z v. It and the wall that it takes away bring |k| m |P^T x| |v| / sqrt(V) at most, where m,
 * about 1, holds the wall's part. Walls bring |kb(w) - k0b(w0)| x^T C a, C their form, b their
 * admittance, because they react differently at the two frequencies.
 * Losses. The imaginary part of a^H A a = 0 is the balance of energy,
 *
 *   Im k^2 (1 + U) = sum over walls Re(kb) C[a] + |k| sum over units r |v|^2,
 *   Im k^2 U = sum over units (|k| r - Re(k conj z)) |v|^2,
 *
 * for any r; we take r = Re z at the real frequency Re w. For a front of mass, resistance and
 * stiffness that is its resistance, and U exactly the energy in the units over that in the air. The
 * same holds for x without units. By Cauchy's inequality in the weights of that balance
 *
 *   |k^2 - k0^2| sqrt(share) <= sqrt(M^2 Im k0^2 + |k| X) sqrt(Im k^2) + s,
 *   share = |x^T a|^2 / (1 + U),     what is still the old mode, of all the energy there is,
 *   X = sum over units m^2 |P^T x|^2 / (r V),   M = max |kb(w) - k0b(w0)| / sqrt(Re kb Re k0b).
 *
 * s, and a slack beside Im k^2, hold what is left over: the slopes of walls behind rigid fronts,
 * and that the scale of a face and that of a patch differ a little; they are bounded by the largest
 * eigenvalue of those forms. The left side grows with the square of the decay rate, the right with
 * its root: X, and with it what a mode can decay by, is at most what the best places add up to
 * under the allowance, counted without regard to overlap and with parts of units. It is as if each
 * unit were tuned to the mode, 1 / r, whatever its tuning. Nothing is said where r is not above 0.
 *
 * The theorem is ours; it needs passive units and walls and holds for the model that is solved,
 * near fields included.
 */
#ifndef EBB_PLAN_CEILING_H
#define EBB_PLAN_CEILING_H

#include "climb.h"

/* An admittance with the range of what the basis lacks of its ports (0 for faces), 1/m and m. */
typedef struct ebb_form {
    const ebb_assembly *assembly;
    double lack[2][2]; /* [of lack 0, lack 1][lowest, highest] */
} ebb_form;

typedef struct ebb_ceiling {
    const ebb_base *base;
    size_t n_forms; /* walls, openings and units as they stand */
    ebb_form *form;
    ebb_form *kind;   /* [n_kinds] */
    bool pistons;     /* some kind has a rigid front */
    double lambda[2]; /* largest eigenvalues: slopes of all spots, ports of what hangs already */
    ebb_modes *modes; /* of the room as it stands */
    double *whole;    /* [mode * n_spots + spot] |P_0^T x|^2 */
    double *all;      /* the same summed over the patterns */
    double *value, *slope; /* [spot * n_kinds + kind] scratch */
    struct ebb_item *item; /* scratch */
} ebb_ceiling;

/* Memory in arena, but for modes: ebb_modes_free. */
ebb_status ebb_ceiling_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_base *base,
                            ebb_ceiling *ceiling);

typedef enum ebb_can { EBB_CAN, EBB_CAN_NOT, EBB_CAN_NOT_SAY } ebb_can;

/* Can there be a mode at omega of whose energy `share` is still that of a mode of the room as it
 * stands? */
ebb_can ebb_ceiling_allows(ebb_ceiling *ceiling, size_t mode, double _Complex omega, double share);

/* r of a kind at a real frequency. */
double ebb_ceiling_resistance(const ebb_ceiling *ceiling, size_t kind, double omega);

/* Decay rate, 1/s, with all of the allowance placed for one mode, to first order. */
double ebb_ceiling_estimate(ebb_ceiling *ceiling, size_t mode);

#endif
