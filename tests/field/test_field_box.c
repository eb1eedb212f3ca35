/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Tensor product of three lines, the static Green function, closed forms of a box.
 */
#include "../../src/field/box.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

static const ebb_geometry plain = {
    .size = {4.3, 3.4, 2.5}, .highest = 200, .speed = 343.2, .richness = 1};

static void tangents_are_the_other_axes(void **state)
{
    (void)state;
    static const int want[3][2] = {{1, 2}, {0, 2}, {0, 1}};
    for (int axis = 0; axis < 3; axis++) {
        int tangent[2];
        ebb_box_tangents(axis, tangent);
        assert_int_equal(tangent[0], want[axis][0]);
        assert_int_equal(tangent[1], want[axis][1]);
    }
}

/* Rigid modes up to a limit by trying all labels. */
static size_t lattice_count(const double size[3], double hz, double speed)
{
    size_t n = 0;
    int label[3];
    for (label[0] = 0; label[0] < 60; label[0]++)
        for (label[1] = 0; label[1] < 60; label[1]++)
            for (label[2] = 0; label[2] < 60; label[2]++)
                n += ebb_box_hz(size, label, speed) <= hz;
    return n;
}

static void keeps_all_modes_up_to_the_cut(void **state)
{
    (void)state;
    ebb_arena *arena = ebb_arena_new(NULL);
    ebb_box box;
    assert_int_equal(ebb_box_make(arena, &plain, 0.17, 240, &box), EBB_OK);
    assert_int_equal(box.n_kept, lattice_count(plain.size, 240, plain.speed));
    size_t marked = 0;
    for (size_t i = 0; i < box.n_full; i++)
        marked += box.is_kept[i];
    assert_int_equal(marked, box.n_kept);
    for (size_t m = 0; m < box.n_kept; m++) {
        size_t at = box.kept[m];
        const int label[3] = {(int)(at / box.stride[0]), (int)(at / box.stride[1] % box.axis[1].n),
                              (int)(at % box.axis[2].n)};
        double hz = plain.speed / (2 * PI) * sqrt(box.lambda[at]);
        assert_near(hz, ebb_box_hz(plain.size, label, plain.speed), 1e-6);
        assert_true(box.is_kept[at]);
        assert_true(m == 0 || box.lambda[at] >= box.lambda[box.kept[m - 1]]);
    }
    ebb_arena_free(arena);
}

/* The two shifts must lie below every function that is left out, or residual vectors blow up. */
static void shifts_lie_below_what_is_left_out(void **state)
{
    (void)state;
    for (double richness = 0.2; richness < 1.01; richness += 0.2) {
        ebb_arena *arena = ebb_arena_new(NULL);
        ebb_box box;
        assert_int_equal(
            ebb_box_make(arena, &plain, 0.17 / richness, 200 * (1 + 0.2 * richness), &box), EBB_OK);
        for (size_t i = 0; i < box.n_full; i++)
            if (!box.is_kept[i])
                assert_true(box.lambda[i] > box.shift[0] && box.lambda[i] > box.shift[1]);
        ebb_arena_free(arena);
    }
}

static void functions_at_a_point_are_products(void **state)
{
    (void)state;
    ebb_arena *arena = ebb_arena_new(NULL);
    ebb_box box;
    assert_int_equal(ebb_box_make(arena, &plain, 0.17, 200, &box), EBB_OK);
    double *work = EBB_NEW(arena, double, 2 * (box.axis[0].n + box.axis[1].n + box.axis[2].n));
    double *value = EBB_NEW(arena, double, box.n_full);
    const ebb_vec3 at = {0.7, 3.1, 1.9};
    const double where[3] = {at.x, at.y, at.z};
    ebb_box_product(&box, &at, work, value);
    for (size_t m = 0; m < box.n_kept; m++) {
        size_t index = box.kept[m];
        const size_t n[3] = {index / box.stride[0], index / box.stride[1] % box.axis[1].n,
                             index % box.axis[2].n};
        double want = 1;
        for (int d = 0; d < 3; d++)
            want *= sqrt((n[d] ? 2 : 1) / plain.size[d]) *
                    cos((double)n[d] * PI * where[d] / plain.size[d]);
        assert_near(value[index], want, 1e-6);
    }
    ebb_arena_free(arena);
}

/* ---- static Green function ------------------------------------------------------------------- */

/* Rigid-walled line: solution of -g'' + q^2 g = delta(x - y). */
static double line_green(double length, double q, double x, double y)
{
    double low = fmin(x, y), high = length - fmax(x, y);
    /* cosh a cosh b / (q sinh(q L)) with the large exponential divided out */
    double a = q * low, b = q * high;
    return exp(a + b - q * length) * (1 + exp(-2 * a)) * (1 + exp(-2 * b)) /
           (2 * q * (1 - exp(-2 * q * length)));
}

/* Cosines in y and z, closed form in x: converges fast when x differs. */
static double modal_green(const double size[3], double kappa, const ebb_vec3 *a, const ebb_vec3 *b)
{
    double sum = 0;
    for (int j = 0; j < 120; j++)
        for (int k = 0; k < 120; k++) {
            double ky = j * PI / size[1], kz = k * PI / size[2];
            double q = sqrt(ky * ky + kz * kz + kappa * kappa);
            double weight = (j ? 2 : 1) * (k ? 2 : 1) / (size[1] * size[2]);
            sum += weight * cos(ky * a->y) * cos(ky * b->y) * cos(kz * a->z) * cos(kz * b->z) *
                   line_green(size[0], q, a->x, b->x);
        }
    return sum;
}

static void images_agree_with_modes(void **state)
{
    (void)state;
    static const double kappas[] = {0.9, 2.7, 5};
    static const ebb_vec3 pairs[][2] = {{{0.4, 0.5, 0.4}, {2.1, 1.5, 1.2}},
                                        {{1.1, 2.4, 1.3}, {1.5, 2.2, 1.7}},
                                        {{0, 0, 0}, {4.3, 3.4, 2.5}},
                                        {{0, 1.7, 1.2}, {0.5, 1.7, 1.2}}};
    for (size_t i = 0; i < COUNT(kappas); i++)
        for (size_t p = 0; p < COUNT(pairs); p++) {
            const ebb_vec3 *a = &pairs[p][0], *b = &pairs[p][1];
            double images = ebb_box_screened(plain.size, kappas[i], a, b);
            assert_near(images, modal_green(plain.size, kappas[i], a, b), 3e-7);
            assert_near(images, ebb_box_screened(plain.size, kappas[i], b, a), 1e-12);
        }
}

static void near_field_is_that_of_a_point(void **state)
{
    (void)state;
    const ebb_vec3 a = {2, 1.5, 1.2}, b = {2.01, 1.5, 1.2};
    double screened = ebb_box_screened(plain.size, 2.7, &a, &b);
    assert_close(screened, exp(-2.7 * 0.01) / (4 * PI * 0.01), 1e-3);
    const ebb_vec3 wall = {0, 1.5, 1.2}, near_wall = {0.01, 1.5, 1.2};
    screened = ebb_box_screened(plain.size, 2.7, &wall, &near_wall);
    assert_close(screened, 2 * exp(-2.7 * 0.01) / (4 * PI * 0.01), 1e-3); /* and its image */
}

/* ---- closed forms ---------------------------------------------------------------------------- */

static void frequency_of_a_label(void **state)
{
    (void)state;
    const double size[3] = {3.4, 1.7, 0.85};
    const int constant_mode[3] = {0, 0, 0}, axial[3] = {1, 0, 0}, oblique[3] = {2, 1, 1};
    assert_true(ebb_box_hz(size, constant_mode, 340) == 0);
    assert_near(ebb_box_hz(size, axial, 340), 50, 1e-12);
    assert_near(ebb_box_hz(size, oblique, 340), sqrt(2 * 100. * 100 + 200 * 200), 1e-10);
}

static void count_follows_the_lattice(void **state)
{
    (void)state;
    const double size[3] = {5.3, 4.1, 2.9};
    for (double hz = 80; hz <= 300; hz += 20)
        assert_near((double)lattice_count(size, hz, 343), ebb_box_count(size, hz, 343),
                    2 + 0.04 * ebb_box_count(size, hz, 343));
    const double cube[3] = {1, 1, 1};
    assert_near(ebb_box_count(cube, 343, 343), 4 * PI / 3 + 6 * PI / 4 + 12. / 8, 1e-12);
}

/* Each face adds its own share: twice when the mode stands across it, once when it grazes. */
static void first_order_decay_adds_up(void **state)
{
    (void)state;
    const double size[3] = {5, 4, 3};
    const int label[3] = {1, 0, 2};
    double all[EBB_FACES], sum = 0;
    for (int face = 0; face < EBB_FACES; face++) {
        double one[EBB_FACES] = {0};
        one[face] = all[face] = 0.01 * (face + 1);
        double part = ebb_box_delta(size, label, one, 343);
        assert_near(part, 343 / (2 * size[face / 2]) * (face / 2 == 1 ? 1 : 2) * one[face], 1e-12);
        sum += part;
    }
    assert_near(ebb_box_delta(size, label, all, 343), sum, 1e-12);
}

static void walker_does_not_mind_which_way_a_room_is_drawn(void **state)
{
    (void)state;
    const double good[3] = {5.7, 4.2, 3}, turned[3] = {4.2, 5.7, 3};
    const double cube[3] = {3, 3, 3}, long_one[3] = {9.1, 5, 3}, wide[3] = {9.5, 9.2, 3};
    assert_true(ebb_box_walker(good));
    assert_true(ebb_box_walker(turned));
    assert_false(ebb_box_walker(cube));
    assert_false(ebb_box_walker(long_one));
    assert_false(ebb_box_walker(wide));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(tangents_are_the_other_axes),
        cmocka_unit_test(keeps_all_modes_up_to_the_cut),
        cmocka_unit_test(shifts_lie_below_what_is_left_out),
        cmocka_unit_test(functions_at_a_point_are_products),
        cmocka_unit_test(images_agree_with_modes),
        cmocka_unit_test(near_field_is_that_of_a_point),
        cmocka_unit_test(frequency_of_a_label),
        cmocka_unit_test(count_follows_the_lattice),
        cmocka_unit_test(first_order_decay_adds_up),
        cmocka_unit_test(walker_does_not_mind_which_way_a_room_is_drawn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
