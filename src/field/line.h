/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * One axis of a box: polynomials on [0, length], turned into the eigenfunctions of the rigid-walled
 * line. The low ones are cosines to rounding; the high ones carry what cosines cannot: a slope at
 * the walls. Because of them residual vectors need no mesh.
 */
#ifndef EBB_FIELD_LINE_H
#define EBB_FIELD_LINE_H

#include <ebb/arena.h>

typedef struct ebb_line {
    size_t n;       /* functions: polynomial degree + 1 */
    double length;  /* m */
    double *lambda; /* [n] eigenvalues of -d2/dx2 with free ends, 1/m2, rising, lambda[0] = 0 */
    double *mixing; /* [m * n + i]: coefficient of Legendre polynomial m in function i */
    double *end[2]; /* [n] values at x = 0 and x = length */
} ebb_line;

/* Builds a line of the given polynomial degree (2..200). Memory in arena. */
ebb_status ebb_line_make(ebb_arena *arena, double length, size_t degree, ebb_line *line);

/* Values of all n functions at x (0 <= x <= length) into out[n]; work[n] is scratch. */
void ebb_line_at(const ebb_line *line, double x, double *work, double *out);

/* Integrals over [from, to] of all n functions times the Legendre polynomials of degree
 * 0..n_ports-1 of unit norm on [from, to]: out[port * n + i]. Memory for scratch from arena. */
ebb_status ebb_line_ports(ebb_arena *arena, const ebb_line *line, double from, double to,
                          size_t n_ports, double *out);

/* Gauss-Legendre rule on [-1, 1], by Newton from the usual cosine guess: n points t and weights w,
 * exact to degree 2 n - 1. */
void ebb_gauss(size_t n, double *t, double *w);

#endif
