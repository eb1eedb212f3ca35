/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Frequencies converge as theory says, and the estimated error lies above the true one, not far.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "spaces.h"

#define ROUNDING 1e-11 /* below it nothing is said */
#define TIMES 30       /* an estimate larger than that many errors is no use */

/* Modes of a box by rising wave number squared. */
static size_t box_modes(const double size[3], double top, double *lambda)
{
    size_t n = 0;
    for (int i = 0; i < 20; i++)
        for (int j = 0; j < 20; j++)
            for (int k = 0; k < 20; k++) {
                const double a = PI * i / size[0], b = PI * j / size[1], c = PI * k / size[2];
                if (a * a + b * b + c * c <= top)
                    lambda[n++] = a * a + b * b + c * c;
            }
    qsort(lambda, n, sizeof *lambda, by_value);
    return n;
}

/* Worst true error of the first modes; estimates are checked on the way. */
static double check_modes(const ebb_space *space, size_t n_known, const double *known)
{
    const double *lambda, *shape, *error;
    const size_t n = ebb_space_modes(space, &lambda, &shape, &error);
    double worst = 0;
    assert_true(n >= n_known);
    for (size_t m = 1; m < n_known; m++) {
        const double wrong = fabs(sqrt(lambda[m] / known[m]) - 1);
        worst = fmax(worst, wrong);
        if (wrong < ROUNDING)
            continue;
        if (!(error[m] >= wrong && error[m] <= TIMES * wrong))
            fail_msg("mode %zu of %zu freedoms: error %.3g, estimated %.3g", m,
                     ebb_space_size(space), wrong, error[m]);
    }
    return worst;
}

static void boxes(size_t order, const size_t bricks[3], double *worst)
{
    static const double size[3] = {1.3, 1.1, 0.9};
    static const double highest = 4.1;
    const ebb_space_wish wish = {.highest = highest, .reach = 1.5, .order = order};
    double known[200];
    space_fixture f;
    open_space(&f, size, bricks, &wish);
    *worst = check_modes(f.space, box_modes(size, highest * highest, known), known);
    close_space(&f);
}

/* lambda converges with h^2p. */
static void frequencies_converge_with_twice_the_order(void **state)
{
    (void)state;
    for (size_t order = 1; order <= 5; order++) {
        const size_t n = order < 3 ? 4 : order < 5 ? 2 : 1;
        const size_t coarse[3] = {n, n, n}, fine[3] = {2 * n, 2 * n, 2 * n};
        double before, after;
        boxes(order, coarse, &before);
        boxes(order, fine, &after);
        const double rate = log2(before / after);
        if (fabs(rate - 2 * (double)order) > 0.6)
            fail_msg("order %zu: errors %.3g and %.3g, rate %.2f", order, before, after, rate);
    }
}

/* In a single brick shapes are even or odd, so that every other order brings most. */
static void errors_fall_with_every_order(void **state)
{
    (void)state;
    const size_t bricks[3] = {1, 1, 1};
    double worst[EBB_ORDER_MOST + 1] = {1};
    for (size_t order = 1; order <= EBB_ORDER_MOST; order++) {
        boxes(order, bricks, &worst[order]);
        assert_true(worst[order] < worst[order - 1] / 1.5);
        assert_true(order < 2 || worst[order] < worst[order - 2] / 8);
    }
    assert_below(worst[EBB_ORDER_MOST], 1e-8);
}

/* Edges promised for an error keep it, also the diagonals of bricks, within a factor of ten. */
static void promised_edges_keep_their_error(void **state)
{
    (void)state;
    static const double size[3] = {2.2, 1.9, 1.5};
    for (size_t order = 3; order <= 8; order++) {
        const double highest = 3, error = 1e-4, edge = ebb_space_edge(highest, order, error);
        const ebb_space_wish wish = {.highest = highest, .reach = 1.2, .order = order};
        size_t bricks[3];
        double known[200];
        space_fixture f;
        for (int d = 0; d < 3; d++)
            bricks[d] = (size_t)ceil(size[d] / (edge / 1.3)); /* bricks have diagonals */
        open_space(&f, size, bricks, &wish);
        const double worst = check_modes(f.space, box_modes(size, highest * highest, known), known);
        if (!(worst <= 3 * error))
            fail_msg("order %zu, edge %.3g: error %.3g, promised %.3g", order, edge, worst, error);
        close_space(&f);
    }
}

/* ---- a re-entrant edge ----------------------------------------------------------------------- */

/* M. Dauge's benchmark for the L of three unit squares with rigid walls, from memory; the digits
 * were found again here with 44 649 freedoms. */
static const double known_l[] = {
    0, 1.4756218450, 3.5340313670, 9.8696044011, 9.8696044011, 11.389479398};

static double l_room(size_t order, size_t n, double factor, double *first)
{
    static mesh_plan plan;
    double line[16];
    space_fixture f = {.ctx = ebb_ctx_new()};
    const ebb_space_wish wish = {.highest = 3.2, .reach = 1.1, .order = order};
    mesh_lines(n, factor, line);
    mesh_l_plan(&plan, n, line);
    f.mesh = mesh_pull_up(f.ctx, &plan, 0.3, 1);
    assert_ok(f.ctx, ebb_space_new(f.ctx, f.mesh, &wish, &f.space));
    const double worst = check_modes(f.space, COUNT(known_l), known_l);
    *first = fabs(sqrt(f.space->lambda[1] / known_l[1]) - 1);
    close_space(&f);
    return worst;
}

/* Without grading the singular mode converges with h^(4/3) whatever the order (Grisvard): even
 * steps do not help a higher order. */
static void a_re_entrant_edge_spoils_the_order(void **state)
{
    (void)state;
    double coarse, fine;
    l_room(4, 2, 1, &coarse);
    l_room(4, 4, 1, &fine);
    assert_near(log2(coarse / fine), 4. / 3, 0.1);
}

static void grading_brings_the_order_back(void **state)
{
    (void)state;
    double even, first[3];
    l_room(5, 2, 1, &first[0]);
    l_room(5, 3, 4, &first[1]);
    l_room(5, 4, 8, &first[2]);
    l_room(5, 4, 1, &even);
    assert_true(first[1] < first[0] / 5 && first[2] < first[1] / 4);
    assert_true(first[2] < even / 4); /* as many freedoms */
    assert_below(first[2], 1e-5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frequencies_converge_with_twice_the_order),
        cmocka_unit_test(errors_fall_with_every_order),
        cmocka_unit_test(promised_edges_keep_their_error),
        cmocka_unit_test(a_re_entrant_edge_spoils_the_order),
        cmocka_unit_test(grading_brings_the_order_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
