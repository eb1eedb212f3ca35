/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Residual vectors: what the basis gains besides the rigid modes.
 */
#include "../../src/field/box.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

#define HIGHEST 150.0
#define CUT 165.0
#define TOLERANCE 6e-3

static const ebb_geometry closet = {
    .size = {2.4, 1.9, 2.1}, .highest = HIGHEST, .speed = 343.2, .richness = 1};

typedef struct fixture {
    ebb_arena *arena;
    ebb_box box;
    ebb_patterns patterns[EBB_FACES];
} fixture;

static void open_box(fixture *f)
{
    *f = (fixture){.arena = ebb_arena_new(NULL)};
    assert_int_equal(ebb_box_make(f->arena, &closet, 0.25, CUT, &f->box), EBB_OK);
}

static void close_box(fixture *f)
{
    ebb_arena_free(f->arena);
}

/* Every mode shape of the face up to a frequency, weight 1. */
static void add_face(fixture *f, int face, double hz)
{
    int tangent[2];
    ebb_box_tangents(face / 2, tangent);
    const ebb_line *a = &f->box.axis[tangent[0]], *b = &f->box.axis[tangent[1]];
    size_t n_jk = a->n * b->n;
    double k = 2 * PI * hz / closet.speed;
    ebb_patterns *patterns = &f->patterns[face];
    patterns->pattern = EBB_NEW(f->arena, double, n_jk *n_jk);
    for (size_t j = 0; j < a->n; j++)
        for (size_t m = 0; m < b->n; m++)
            if (a->lambda[j] + b->lambda[m] <= k * k)
                patterns->pattern[patterns->n++ * n_jk + j * b->n + m] = 1;
}

/* Full index of normal function i and tangent functions jk. */
static size_t index_of(const ebb_box *box, int face, size_t i, size_t jk)
{
    int axis = face / 2, tangent[2];
    ebb_box_tangents(axis, tangent);
    size_t n = box->axis[tangent[1]].n;
    return i * box->stride[axis] + jk / n * box->stride[tangent[0]] +
           jk % n * box->stride[tangent[1]];
}

/* (K - s)^-1 of one pattern's load, written out plainly, without its kept part. */
static void residual(const fixture *f, int face, size_t p, double shift, double *out)
{
    const ebb_box *box = &f->box;
    size_t n_normal = box->axis[face / 2].n, n_jk = box->n_full / n_normal;
    memset(out, 0, box->n_full * sizeof *out);
    for (size_t i = 0; i < n_normal; i++)
        for (size_t jk = 0; jk < n_jk; jk++) {
            size_t at = index_of(box, face, i, jk);
            if (!box->is_kept[at])
                out[at] = box->axis[face / 2].end[face % 2][i] *
                          f->patterns[face].pattern[p * n_jk + jk] / (box->lambda[at] - shift);
        }
}

/* Inner product and norm in the energy by which vectors are chosen. */
static double dot(const ebb_box *box, const double *a, const double *b)
{
    double sum = 0;
    for (size_t i = 0; i < box->n_full; i++)
        sum += a[i] * b[i] * (box->lambda[i] + box->weight);
    return sum;
}

static double energy(const ebb_box *box, const double *v)
{
    return sqrt(dot(box, v, v));
}

/* Makes the extra vectors orthonormal in the energy, in a copy (Gram-Schmidt, twice). */
static double *energy_basis(fixture *f)
{
    const ebb_box *box = &f->box;
    double *q = EBB_NEW(f->arena, double, box->n_extra * box->n_full);
    memcpy(q, box->extra, box->n_extra * box->n_full * sizeof *q);
    for (size_t v = 0; v < box->n_extra; v++) {
        double *own = q + v * box->n_full;
        for (int pass = 0; pass < 2; pass++)
            for (size_t u = 0; u < v; u++) {
                double part = dot(box, q + u * box->n_full, own);
                for (size_t i = 0; i < box->n_full; i++)
                    own[i] -= part * q[u * box->n_full + i];
            }
        double norm = energy(box, own);
        for (size_t i = 0; i < box->n_full; i++)
            own[i] /= norm;
    }
    return q;
}

/* Energy norm of the part of v outside the span of q. v is overwritten. */
static double left_over(const ebb_box *box, const double *q, double *v)
{
    for (size_t u = 0; u < box->n_extra; u++) {
        double part = dot(box, q + u * box->n_full, v);
        for (size_t i = 0; i < box->n_full; i++)
            v[i] -= part * q[u * box->n_full + i];
    }
    return energy(box, v);
}

static void extra_vectors_are_orthonormal_and_leave_modes_alone(void **state)
{
    (void)state;
    fixture f;
    open_box(&f);
    add_face(&f, 0, HIGHEST);
    add_face(&f, 5, HIGHEST);
    const ebb_vec3 point[2] = {{0.4, 0.5, 0.6}, {1.9, 1.1, 1.2}};
    const ebb_box *box = &f.box;
    assert_int_equal(ebb_box_enrich(f.arena, &f.box, f.patterns, 2, point, TOLERANCE), EBB_OK);
    assert_true(box->n_extra > 10);
    for (size_t u = 0; u < box->n_extra; u++)
        for (size_t v = 0; v <= u; v++) {
            double sum = 0;
            for (size_t i = 0; i < box->n_full; i++)
                sum += box->extra[u * box->n_full + i] * box->extra[v * box->n_full + i];
            assert_near(sum, u == v, 1e-9);
        }
    for (size_t v = 0; v < box->n_extra; v++)
        for (size_t m = 0; m < box->n_kept; m++)
            assert_near(box->extra[v * box->n_full + box->kept[m]], 0, 1e-15);
    close_box(&f);
}

/* Whatever a wall or a point can do at the two shifts is carried, but for the tolerance. */
static void residuals_lie_in_the_span(void **state)
{
    (void)state;
    fixture f;
    open_box(&f);
    for (int face = 0; face < EBB_FACES; face += 2)
        add_face(&f, face, HIGHEST);
    assert_int_equal(ebb_box_enrich(f.arena, &f.box, f.patterns, 0, NULL, TOLERANCE), EBB_OK);
    double *q = energy_basis(&f), *v = EBB_NEW(f.arena, double, f.box.n_full);
    double largest = 0, worst = 0;
    for (int face = 0; face < EBB_FACES; face += 2)
        for (size_t p = 0; p < f.patterns[face].n; p++)
            for (int s = 0; s < 2; s++) {
                residual(&f, face, p, f.box.shift[s], v);
                largest = fmax(largest, energy(&f.box, v));
                worst = fmax(worst, left_over(&f.box, q, v));
            }
    assert_true(largest > 0.1);
    assert_below(worst / largest, 2 * TOLERANCE);
    close_box(&f);
}

static void point_loads_are_carried_at_both_shifts(void **state)
{
    (void)state;
    fixture f;
    open_box(&f);
    const ebb_vec3 point = {0.7, 0.8, 1.3};
    const ebb_box *box = &f.box;
    assert_int_equal(ebb_box_enrich(f.arena, &f.box, f.patterns, 1, &point, TOLERANCE), EBB_OK);
    assert_int_equal(box->n_extra, 2);
    double *q = energy_basis(&f), *v = EBB_NEW(f.arena, double, box->n_full);
    double *value = EBB_NEW(f.arena, double, box->n_full);
    double *work = EBB_NEW(f.arena, double, 2 * (box->axis[0].n + box->axis[1].n + box->axis[2].n));
    ebb_box_product(box, &point, work, value);
    for (int s = 0; s < 2; s++) {
        for (size_t i = 0; i < box->n_full; i++)
            v[i] = box->is_kept[i] ? 0 : value[i] / (box->lambda[i] - box->shift[s]);
        double whole = energy(box, v);
        assert_below(left_over(box, q, v) / whole, 1e-6);
    }
    close_box(&f);
}

static void a_looser_tolerance_keeps_fewer(void **state)
{
    (void)state;
    size_t before = (size_t)-1;
    for (double tolerance = 0.01; tolerance < 0.5; tolerance *= 3) {
        fixture f;
        open_box(&f);
        add_face(&f, 1, 4 * HIGHEST);
        assert_int_equal(ebb_box_enrich(f.arena, &f.box, f.patterns, 0, NULL, tolerance), EBB_OK);
        assert_true(f.box.n_extra > 0 && f.box.n_extra < before);
        before = f.box.n_extra;
        close_box(&f);
    }
}

static void nothing_to_carry_gives_no_extra(void **state)
{
    (void)state;
    fixture f;
    open_box(&f);
    assert_int_equal(ebb_box_enrich(f.arena, &f.box, f.patterns, 0, NULL, TOLERANCE), EBB_OK);
    assert_int_equal(f.box.n_extra, 0);
    close_box(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(extra_vectors_are_orthonormal_and_leave_modes_alone),
        cmocka_unit_test(residuals_lie_in_the_span),
        cmocka_unit_test(point_loads_are_carried_at_both_shifts),
        cmocka_unit_test(a_looser_tolerance_keeps_fewer),
        cmocka_unit_test(nothing_to_carry_gives_no_extra),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
