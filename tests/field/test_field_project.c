/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * From a geometry to the reduced model: matrices and ports are integrals over the basis functions.
 */
#include "../../src/field/reduced.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <lapacke.h>

#include "../../src/field/box.h"
#include "rooms.h"

static ebb_vec3 on_face(const ebb_geometry *geometry, int face, double a, double b)
{
    int tangent[2];
    ebb_box_tangents(face / 2, tangent);
    double at[3];
    at[face / 2] = face % 2 ? geometry->size[face / 2] : 0;
    at[tangent[0]] = a;
    at[tangent[1]] = b;
    return (ebb_vec3){at[0], at[1], at[2]};
}

#define RULE 24 /* Gauss points per direction: exact for products of two functions of an axis */

typedef struct rule {
    double at[RULE], weight[RULE]; /* on [0, 1] */
} rule;

/* Nodes are the zeros of P_RULE, found by Newton steps on the recursion. */
static void gauss(rule *g)
{
    for (int i = 0; i < RULE; i++) {
        double x = cos(PI * (i + 0.75) / (RULE + 0.5)), slope = 0;
        for (int step = 0; step < 20; step++) {
            double p[RULE + 1] = {1, x};
            for (int m = 2; m <= RULE; m++)
                p[m] = ((2 * m - 1) * x * p[m - 1] - (m - 1) * p[m - 2]) / m;
            slope = RULE * (x * p[RULE] - p[RULE - 1]) / (x * x - 1);
            x -= p[RULE] / slope;
        }
        g->at[i] = (x + 1) / 2;
        g->weight[i] = 1 / ((1 - x * x) * slope * slope);
    }
}

/* Basis values at all points of the rule over a rectangle of a face: [(i * RULE + j) * size + k].
 * New memory. */
static double *sample(const ebb_reduced *reduced, const ebb_geometry *geometry,
                      const ebb_patch *patch, const rule *g)
{
    double *value = malloc(RULE * RULE * reduced->size * sizeof *value);
    assert_non_null(value);
    for (size_t i = 0; i < RULE * RULE; i++) {
        ebb_vec3 at =
            on_face(geometry, patch->face, patch->at[0] + g->at[i / RULE] * patch->size[0],
                    patch->at[1] + g->at[i % RULE] * patch->size[1]);
        assert_int_equal(ebb_reduced_points(NULL, reduced, 1, &at, value + i * reduced->size),
                         EBB_OK);
    }
    return value;
}

/* Legendre patterns of unit norm on the unit square, in the order of the ports. */
static double flat(double a, double b)
{
    (void)a, (void)b;
    return 1;
}

static double slope_a(double a, double b)
{
    (void)b;
    return sqrt(3) * (2 * a - 1);
}

static double twist(double a, double b)
{
    return 3 * (2 * a - 1) * (2 * b - 1);
}

static double bowl_b(double a, double b)
{
    (void)a;
    double t = 2 * b - 1;
    return sqrt(5) * (3 * t * t - 1) / 2;
}

static double slope_b(double a, double b)
{
    return slope_a(b, a);
}

static double bowl_a(double a, double b)
{
    return bowl_b(b, a);
}

typedef double (*shape_fn)(double a, double b); /* a, b: 0..1 over the rectangle */

/* ---- what the parts of a model are ----------------------------------------------------------- */

static void ports_are_integrals_over_their_patch(void **state)
{
    (void)state;
    static const shape_fn shapes[] = {flat, flat, slope_a, slope_b, bowl_a, twist, bowl_b};
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 0.4);
    ebb_reduced *reduced = project(ctx, &room.geometry);
    rule g;
    gauss(&g);
    for (size_t p = 0; p < PATCHES; p++) {
        double area = room.patch[p].size[0] * room.patch[p].size[1];
        double *value = sample(reduced, &room.geometry, &room.patch[p], &g);
        assert_int_equal(ebb_reduced_ports(reduced, p), COUNT(shapes)); /* one cell */
        for (size_t q = 0; q < COUNT(shapes); q++)
            for (size_t k = 0; k < reduced->size; k++) {
                double sum = 0;
                for (size_t i = 0; i < RULE * RULE; i++)
                    sum += g.weight[i / RULE] * g.weight[i % RULE] * sqrt(area) *
                           shapes[q](g.at[i / RULE], g.at[i % RULE]) * value[i * reduced->size + k];
                assert_near(ebb_reduced_port(reduced, p, q)[k], sum, 1e-9);
            }
        free(value);
    }
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

/* A large patch has one port for the whole and six for each cell; the cells make up the whole. */
static void large_patches_are_made_of_cells(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 0.3);
    room.patch[0] =
        (ebb_patch){.face = 2, .at = {0.2, 0.1}, .size = {3, 1.5}, .assembly = &room.low};
    room.geometry.n_patches = 1;
    ebb_reduced *reduced = project(ctx, &room.geometry);
    assert_int_equal(ebb_reduced_ports(reduced, 0), 1 + 6 * 3 * 2);
    for (size_t i = 0; i < reduced->size; i++) {
        double sum = 0;
        for (size_t cell = 0; cell < 6; cell++)
            sum += ebb_reduced_port(reduced, 0, 1 + 6 * cell)[i] * sqrt(1 / 6.);
        assert_near(sum, ebb_reduced_port(reduced, 0, 0)[i], 1e-10);
    }
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

static void faces_are_integrals_of_products(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 0.4);
    ebb_reduced *reduced = project(ctx, &room.geometry);
    size_t size = reduced->size;
    rule g;
    gauss(&g);
    for (int face = 0; face < EBB_FACES; face++) {
        int tangent[2];
        ebb_box_tangents(face / 2, tangent);
        const double *length = room.geometry.size;
        const ebb_patch whole = {.face = face, .size = {length[tangent[0]], length[tangent[1]]}};
        double *value = sample(reduced, &room.geometry, &whole, &g);
        for (size_t k = 0; k < size; k += 5)
            for (size_t l = 0; l < size; l += 7) {
                double sum = 0;
                for (size_t i = 0; i < RULE * RULE; i++)
                    sum += g.weight[i / RULE] * g.weight[i % RULE] * whole.size[0] * whole.size[1] *
                           value[i * size + k] * value[i * size + l];
                assert_near(reduced->face[face][k * size + l], sum, 1e-9);
            }
        free(value);
    }
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

/* Smallest eigenvalue of a symmetric matrix over its largest. */
static double lowest_eigenvalue(size_t size, const double *matrix)
{
    double *copy = malloc(size * size * sizeof *copy), *value = malloc(size * sizeof *value);
    memcpy(copy, matrix, size * size * sizeof *copy);
    assert_int_equal(LAPACKE_dsyevd(LAPACK_COL_MAJOR, 'N', 'L', (int)size, copy, (int)size, value),
                     0);
    double lowest = value[0] / value[size - 1];
    free(copy);
    free(value);
    return lowest;
}

static void assert_symmetric(size_t size, const double *matrix)
{
    for (size_t i = 0; i < size; i++)
        for (size_t j = 0; j < i; j++)
            assert_true(matrix[i * size + j] == matrix[j * size + i]);
}

static void matrices_are_symmetric_and_not_negative(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 0.4);
    ebb_reduced *reduced = project(ctx, &room.geometry);
    for (int d = 0; d < 3; d++) {
        assert_symmetric(reduced->size, reduced->stiffness[d]);
        assert_true(lowest_eigenvalue(reduced->size, reduced->stiffness[d]) > -1e-12);
    }
    for (int face = 0; face < EBB_FACES; face++) {
        assert_symmetric(reduced->size, reduced->face[face]);
        assert_true(lowest_eigenvalue(reduced->size, reduced->face[face]) > -1e-12);
    }
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

/* A wall less what all its patches could take from it is still a wall. */
static void patches_take_no_more_than_the_wall_has(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 0.4);
    room.patch[0] = (ebb_patch){.face = 0, .at = {0, 0}, .size = {3.4, 2.5}, .assembly = &room.low};
    room.geometry.n_patches = 1;
    ebb_reduced *reduced = project(ctx, &room.geometry);
    size_t size = reduced->size;
    double *left = malloc(size * size * sizeof *left), traced = 0, full = 0;
    memcpy(left, reduced->face[0], size * size * sizeof *left);
    for (size_t q = 1; q < ebb_reduced_ports(reduced, 0); q++) {
        const double *port = ebb_reduced_port(reduced, 0, q);
        for (size_t i = 0; i < size; i++)
            for (size_t j = 0; j < size; j++)
                left[i * size + j] -= port[i] * port[j];
    }
    assert_true(lowest_eigenvalue(size, left) > -1e-12);
    for (size_t i = 0; i < 20; i++) { /* and for low modes the patch is nearly the whole wall */
        traced += left[i * size + i];
        full += reduced->face[0][i * size + i];
    }
    assert_below(traced / full, 2e-3);
    free(left);
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

static void rigid_modes_have_labels_and_rise(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 1);
    ebb_reduced *reduced = project(ctx, &room.geometry);
    size_t n;
    const int *label;
    const double *hz = ebb_reduced_rigid(reduced, &n, &label);
    assert_true(hz[0] == 0 && label[0] == 0 && label[1] == 0 && label[2] == 0);
    for (size_t m = 0; m < n; m++) {
        assert_close(hz[m] + 1, ebb_box_hz(room.geometry.size, label + 3 * m, 343.2) + 1, 1e-12);
        assert_true(m == 0 || hz[m] >= hz[m - 1]);
        double stiffness = 0;
        for (int d = 0; d < 3; d++)
            stiffness += reduced->stiffness[d][m * reduced->size + m];
        assert_near(343.2 / (2 * PI) * sqrt(stiffness), hz[m], 1e-5);
    }
    assert_true(hz[n - 1] <= 240);
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

/* Static Green function between points: basis plus what it lacks is the sum over images, also at
 * values of kappa that the correction was not fitted to. */
static void near_field_is_completed(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 0.5);
    ebb_reduced *reduced = project(ctx, &room.geometry);
    size_t size = reduced->size;
    int *pivot = malloc(size * sizeof *pivot);
    double *matrix = malloc(size * size * sizeof *matrix), *x = malloc(size * sizeof *x);
    double *v = malloc(size * sizeof *v), k = 2 * PI * 200 / 343.2;
    const ebb_vec3 a = room.point[0], b = {0.55, 0.6, 0.45}; /* 0.19 m apart, b not in the basis */
    room.state.n_sources = room.state.n_receivers = 1;
    room.state.receivers = &b;
    for (double share = 0.2; share < 1; share += 0.15) {
        double kappa = share * k, lack[2], sum = 0;
        for (size_t i = 0; i < size * size; i++)
            matrix[i] = reduced->stiffness[0][i] + reduced->stiffness[1][i] +
                        reduced->stiffness[2][i] + (i % (size + 1) ? 0 : kappa * kappa);
        assert_int_equal(ebb_reduced_points(NULL, reduced, 1, &a, x), EBB_OK);
        assert_int_equal(ebb_reduced_points(NULL, reduced, 1, &b, v), EBB_OK);
        assert_int_equal(
            LAPACKE_dgesv(LAPACK_COL_MAJOR, (int)size, 1, matrix, (int)size, pivot, x, (int)size),
            0);
        for (size_t i = 0; i < size; i++)
            sum += v[i] * x[i];
        assert_int_equal(reduced->lack(reduced, &room.state, lack), EBB_OK);
        double want = ebb_box_screened(room.geometry.size, kappa, &a, &b);
        assert_true(fabs(sum - want) > 0.05 * want); /* there is something to complete */
        assert_close(sum + lack[0] - kappa * kappa * lack[1], want, 5e-4);
    }
    free(v);
    free(x);
    free(matrix);
    free(pivot);
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

/* ---- accuracy -------------------------------------------------------------------------------- */

static double _Complex *solve(ebb_ctx *ctx, const treated *room, size_t *n)
{
    ebb_reduced *reduced = project(ctx, &room->geometry);
    double _Complex *h = respond(ctx, reduced, &room->state, 3, n);
    ebb_reduced_free(reduced);
    return h;
}

static void richer_models_come_nearer(void **state)
{
    (void)state;
    static const double richness[] = {0.3, 0.5, 0.75}, limit[] = {0.13, 0.08, 0.02};
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    size_t n, size = 0;
    treated_make(&room, 1);
    double _Complex *full = solve(ctx, &room, &n);
    double before = INFINITY;
    for (size_t i = 0; i < COUNT(richness); i++) {
        room.geometry.richness = richness[i];
        ebb_reduced *reduced = project(ctx, &room.geometry);
        double _Complex *h = respond(ctx, reduced, &room.state, 3, &n);
        double error = level_p99(n, h, full);
        assert_below(error, limit[i]);
        assert_true(error < before);
        assert_true(ebb_reduced_size(reduced) > size);
        before = error;
        size = ebb_reduced_size(reduced);
        free(h);
        ebb_reduced_free(reduced);
    }
    free(full);
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ports_are_integrals_over_their_patch),
        cmocka_unit_test(large_patches_are_made_of_cells),
        cmocka_unit_test(faces_are_integrals_of_products),
        cmocka_unit_test(matrices_are_symmetric_and_not_negative),
        cmocka_unit_test(patches_take_no_more_than_the_wall_has),
        cmocka_unit_test(rigid_modes_have_labels_and_rise),
        cmocka_unit_test(near_field_is_completed),
        cmocka_unit_test(richer_models_come_nearer),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
