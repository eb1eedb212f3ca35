/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/space.h - high-order finite elements in a meshed room, and its rigid-wall modes.
 *
 * The costly part of a room that is no box, done once per shape: assembly, factors of K - s M at
 * two shifts, rigid-wall modes. It knows nothing of constructions, units, seats or the air; wave
 * numbers are in 1/m. The reduced model (ebb/field.h) takes it from here.
 *
 * Elements: straight tetrahedra of order 1..8, exact integrals. Source: textbook spectral elements
 * (orthogonal polynomials on the tetrahedron after Dubiner 1991); modes by shift-invert block
 * Lanczos with the inertia of a factor as the proof that none is missed (Sylvester's law; Ericsson
 * & Ruhe 1980, Grimes, Lewis & Simon 1994, from memory).
 */
#ifndef EBB_SPACE_H
#define EBB_SPACE_H

#include <ebb/mesh.h>

#ifndef __cplusplus

typedef struct ebb_space ebb_space; /* opaque; owns its memory, safe to read from many threads */

/* What is wanted of it. */
typedef struct ebb_space_wish {
    double highest; /* 1/m: wave number 2 pi f / c of the highest frequency of interest */
    double reach;   /* modes are found up to reach * highest; 0: 1.25 */
    size_t order;   /* of the elements, 1..8; 0: 6 */
} ebb_space_wish;

/* Edge length, m, at which elements of an order (1..8) carry `highest` with about `error` relative
 * error of a mode's frequency (1e-6..1e-2). Not for re-entrant edges: see docs/convergence.md. */
EBB_API double ebb_space_edge(double highest, size_t order, double error);

/* Assembles, factorises, finds the modes. The mesh is copied. *space is new: ebb_space_free.
 * Errors: EBB_E_RANGE, EBB_E_NOMEM, EBB_E_NUMERIC (a mode is missed and could not be found, or a
 * factor failed). */
EBB_API ebb_status ebb_space_new(ebb_ctx *ctx, const ebb_mesh *mesh, const ebb_space_wish *wish,
                                 ebb_space **space);
EBB_API void ebb_space_free(ebb_space *space);

/* Bytes to keep the modes in a cache, and a space from them: mesh, order and modes, with a check
 * sum over all. pack: memory in arena. unpack refuses (EBB_E_INPUT) whatever does not fit together;
 * every mode is checked by its residual and its products with the others, their number below shift
 * 1 by the factor, so that a wrong cache can not become a wrong number. */
EBB_API ebb_status ebb_space_pack(ebb_ctx *ctx, ebb_arena *arena, const ebb_space *space,
                                  void **bytes, size_t *n);
EBB_API ebb_status ebb_space_unpack(ebb_ctx *ctx, const void *bytes, size_t n,
                                    const ebb_space_wish *wish, ebb_space **space);

/* Number of freedoms. */
EBB_API size_t ebb_space_size(const ebb_space *space);
/* Surfaces of its mesh. */
EBB_API size_t ebb_space_surfaces(const ebb_space *space);
/* Volume, m3, and area of one surface, m2. */
EBB_API double ebb_space_volume(const ebb_space *space);
EBB_API double ebb_space_area(const ebb_space *space, size_t surface);
/* Its mesh, borrowed. */
EBB_API const ebb_mesh *ebb_space_mesh(const ebb_space *space);
/* The highest wave number wished for, 1/m. */
EBB_API double ebb_space_highest(const ebb_space *space);

/* Rigid-wall modes, rising: lambda[m] = k^2 in 1/m2 (the first is 0 exactly, its shape constant),
 * shape[m * size + i] coefficients, M-orthonormal. Borrowed. error[m]: estimated relative error of
 * the frequency from the mesh, from the residual of the wave equation inside elements, on their
 * faces and at the walls (2 to 30 times the true one in all tests). What is not wanted may be NULL.
 */
EBB_API size_t ebb_space_modes(const ebb_space *space, const double **lambda, const double **shape,
                               const double **error);

/* Products for n vectors x[v * size + i] -> y: mass M; stiffness of one axis K_d = int d_d u d_d v;
 * boundary mass B of one surface. x and y must not overlap. */
EBB_API void ebb_space_mass(const ebb_space *space, size_t n, const double *x, double *y);
EBB_API void ebb_space_stiffness(const ebb_space *space, int axis, size_t n, const double *x,
                                 double *y);
EBB_API void ebb_space_boundary(const ebb_space *space, size_t surface, size_t n, const double *x,
                                double *y);

/* The two shifts, 1/m2: shift 0 is negative, shift 1 just above highest^2 and clear of every mode.
 * ebb_space_solve: (K - s M) x = b for n right-hand sides, in blocks. Callable from one thread at a
 * time per `worker` (0..15). */
EBB_API double ebb_space_shift(const ebb_space *space, int shift);
EBB_API ebb_status ebb_space_solve(ebb_ctx *ctx, const ebb_space *space, int worker, int shift,
                                   size_t n, const double *b, double *x);

/* Values of all shape functions at points: out[p * size + i] (mostly zero). EBB_E_RANGE when a
 * point lies outside the mesh by more than 1e-6 m. */
EBB_API ebb_status ebb_space_points(ebb_ctx *ctx, const ebb_space *space, size_t n,
                                    const ebb_vec3 *at, double *out);
/* Values of n functions x[v * size + i] at points: out[p * n + v], without the long vectors. */
EBB_API ebb_status ebb_space_values(ebb_ctx *ctx, const ebb_space *space, size_t n, const double *x,
                                    size_t n_points, const ebb_vec3 *at, double *out);

/* A rectangle on a flat surface: corner, two orthogonal edges (m). */
typedef struct ebb_rect {
    size_t surface;
    ebb_vec3 at, along, up;
} ebb_rect;

/* Integrals over a rectangle of all shape functions times Legendre polynomials P_a(along) P_b(up)
 * of unit norm on the rectangle, degrees[q] = {a, b}: out[q * size + i]. Element faces are clipped,
 * so the mesh need not know the rectangle. EBB_E_RANGE when less than 0.999 of it lies on the
 * surface. */
EBB_API ebb_status ebb_space_rect(ebb_ctx *ctx, const ebb_space *space, const ebb_rect *rect,
                                  size_t n, const int (*degrees)[2], double *out);

/* A function on a cut: values of one vector x on a plane's grid of points, NAN outside the room:
 * the point (i, j) is at + i / (n_a - 1) along + j / (n_b - 1) up. out[j * n_a + i]. */
EBB_API ebb_status ebb_space_cut(ebb_ctx *ctx, const ebb_space *space, const double *x,
                                 const ebb_rect *plane, const size_t n[2], double *out);

#endif /* !__cplusplus */
#endif
