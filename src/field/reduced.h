/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Inside of the reduced model. Everything that uses it (response, modes, power, restriction) sees
 * only this, so any geometry that can fill it has them all.
 */
#ifndef EBB_FIELD_REDUCED_H
#define EBB_FIELD_REDUCED_H

#include <ebb/field.h>

#include <string.h>

#define EBB_CELL_PATTERNS 6 /* Legendre patterns of a cell of a patch */

/* One patch after projection. */
typedef struct ebb_port_set {
    bool valid; /* false in a restricted model that left this patch out */
    int face;
    bool piston;
    double area; /* m2 */
    size_t vary;
    const ebb_assembly *assembly; /* borrowed from the geometry's patch */
    size_t n;                     /* ports: 0 the whole patch as one, then Legendre patterns */
    double *vector;               /* [port * size + i] */
    double (*lack)[2]; /* [port] of its Green function with itself, as in ebb_reduced.lack */
} ebb_port_set;

struct ebb_reduced {
    ebb_arena *arena;
    size_t size;
    double extent[3]; /* m, box around the geometry before scaling */
    double highest;   /* Hz the basis was made for */
    double speed;
    double *stiffness[3]; /* size x size, symmetric */
    size_t n_faces;       /* at most EBB_MOST_SURFACES */
    double **face;        /* [n_faces] size x size, symmetric, non-negative */
    double (*normal)[3];  /* [n_faces] unit vectors */
    ebb_trust trust;
    size_t n_rigid;
    double *rigid_hz;
    int *label; /* [mode * 3 + axis] */
    const double
        *likeness; /* [mode * size + i] shapes of the rigid modes; NULL: first unit vectors */
    size_t n_patches;
    ebb_port_set *patch;
    /* Which points a geometry holds, how it evaluates its basis at them, out[i * size + ...], and
     * what its Green function between points lacks: lack[0] + k^2 lack[1], 1/m, nearly the same at
     * all frequencies; for every source s and receiver r into lack[2 * (s * n_receivers + r)]. lack
     * may be NULL. */
    bool (*holds)(const ebb_reduced *reduced, const ebb_vec3 *at);
    ebb_status (*points)(const ebb_reduced *reduced, size_t n, const ebb_vec3 *at, double *out);
    ebb_status (*lack)(const ebb_reduced *reduced, const ebb_state *state, double *lack);
    const void *space; /* data of those */
};

/* Room for n_faces face matrices and normals, all of them empty. */
ebb_status ebb_reduced_make_faces(ebb_reduced *reduced, size_t n_faces);

/* By how much a surface grows over the volume when the axes are scaled: B_t times this. */
double ebb_face_scale(const ebb_reduced *reduced, size_t face, const double scale[3]);

/* What hangs at used patch u of a state: the state's own word before the geometry's. */
typedef struct ebb_mounted {
    const ebb_port_set *ports;
    const ebb_assembly *assembly;
    const ebb_variation *vary;
    size_t from, to; /* ports through which it moves */
} ebb_mounted;

ebb_mounted ebb_mounted_at(const ebb_reduced *reduced, const ebb_state *state, size_t u);

/* ---- sums over a state ---------------------------------------------------------------------- */

/* One term jk beta(w) C of the boundary operator: all faces of one assembly, or all ports of one
 * order of the patches that it hangs at. What the basis lacks of a port's own near field acts as a
 * mass in series with it: beta' = beta / (1 + jk beta (lack[0] + k^2 lack[1]) / scale). */
typedef struct ebb_term {
    const ebb_assembly *assembly;
    const ebb_variation *vary; /* NULL: none */
    size_t order;              /* 0 faces, 1 rigid fronts, 2.. Legendre patterns of patches */
    size_t n_ports;
    double lack[2]; /* mean over the ports, divided by the volume scale */
    double *matrix; /* size x size, symmetric, scales included */
} ebb_term;

/* The operator of a state: stiffness with scales, and all terms. Memory in the arena given. */
typedef struct ebb_operator {
    size_t size;
    double speed, density, volume_scale;
    double *stiffness;
    size_t n_terms;
    ebb_term *term;
} ebb_operator;

ebb_status ebb_operator_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_reduced *reduced,
                             const ebb_state *state, ebb_operator *op);

/* Index of the term that moves port q of what hangs at a used patch. */
size_t ebb_operator_term(const ebb_operator *op, const ebb_mounted *mounted, size_t q);

/* beta'(w) of a term at complex w, and its coefficient j (w/c) beta'(w). */
double _Complex ebb_term_beta(const ebb_operator *op, const ebb_air *air, size_t term,
                              double _Complex omega);
double _Complex ebb_term_value(const ebb_operator *op, const ebb_air *air, size_t term,
                               double _Complex omega);

/* re + j im without the 0 * im of the usual spelling. */
static inline double _Complex ebb_pair(double re, double im)
{
    const double parts[2] = {re, im};
    double _Complex z;
    memcpy(&z, parts, sizeof z);
    return z;
}

/* sum[i] += (re + j im)[c] column[c][i] over all columns, n numbers each; parts apart. */
void ebb_add_columns(size_t n, size_t n_columns, const double *re, const double *im,
                     const double *const *column, double *sum_re, double *sum_im);

/* A(w) into a[size * size], full symmetric storage. */
void ebb_operator_at(const ebb_operator *op, const ebb_air *air, double _Complex omega,
                     double _Complex *a);

/* Checks a state against a model (indices, points inside, assemblies present). */
ebb_status ebb_state_check(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state);

/* ebb_response at complex angular frequencies (rad/s), which are not checked. each: every one is
 * solved, however many there are. */
ebb_status ebb_response_at(ebb_ctx *ctx, const ebb_reduced *reduced, const ebb_state *state,
                           bool each, size_t n_hz, const double _Complex *omega,
                           double _Complex *h);

/* Factorises a symmetric complex matrix in place (lower part), and solves with it. The matrix has
 * room for ebb_factor_matrix(size) complex numbers, work for ebb_factor_work(size): more than they
 * hold. */
size_t ebb_factor_matrix(size_t size);
size_t ebb_factor_work(size_t size);
ebb_status ebb_factor(size_t size, double _Complex *a, int *pivot, double _Complex *work);
ebb_status ebb_factor_solve(size_t size, const double _Complex *a, const int *pivot, size_t n_rhs,
                            double _Complex *b);

/* Solves for many right-hand sides at once; a (lower part given) is destroyed. The symmetric
 * factorisation has no fast solve for a block. */
ebb_status ebb_solve_many(size_t size, double _Complex *a, int *pivot, size_t n_rhs,
                          double _Complex *b);

/* Real and imaginary solutions over a band and modes, made orthonormal: used by restriction. */
size_t ebb_compress(ebb_arena *arena, size_t size, size_t n, double *vectors, double tolerance,
                    double **kept);

/* W^T large W for a symmetric matrix and the rows of W, small of them; NULL when out of memory. */
double *ebb_restricted(ebb_arena *arena, ebb_arena *scratch, size_t size, size_t small,
                       const double *basis, const double *large);

#endif
