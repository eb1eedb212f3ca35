/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The placement search against random search with a hundred times the scores.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "trials.h"

#define UNITS 5
#define ROOMS 1
#define BATCH 256
#define MOST_SPOTS 128

static const char *const one_kind =
    "  front: {face: [0.9 m, 1.0 m], depth: 280 mm, mass: 38 kg, layers: [{lumped: {mass: 3.6 "
    "kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n";

/* A batch of random layouts, each batch with a stream of its own: their number and order do not
 * depend on threads. Infinity when the rating fails. */
static double best_of_batch(const ebb_base *b, unsigned long long stream)
{
    dice d = {stream};
    ebb_pick picks[BATCH][UNITS + 1];
    ebb_climbed batch[BATCH];
    double best = INFINITY;
    for (size_t i = 0; i < BATCH; i++) {
        size_t units = random_layout(b, &d, 50, UNITS, picks[i]);
        batch[i] = (ebb_climbed){.n = units, .pick = picks[i]};
    }
    if (ebb_climb_rate(b, BATCH, batch) != EBB_OK)
        return INFINITY;
    for (size_t i = 0; i < BATCH; i++)
        best = fmin(best, batch[i].score);
    return best;
}

static double best_random(const ebb_base *b, size_t n)
{
    double best = INFINITY;
    size_t failed = 0;
#pragma omp parallel for schedule(dynamic, 1) reduction(min : best) reduction(+ : failed)
    for (size_t i = 0; i < n; i += BATCH) {
        double got = best_of_batch(b, 1000003 * i + 17);
        failed += isinf(got) != 0;
        best = fmin(best, got);
    }
    assert_int_equal(failed, 0);
    return best;
}

/* About 60 places and a narrow band, so that a rating is cheap; one start, so that a hundred times
 * what it scores can be afforded. */
static void random_search_is_never_better(void **state)
{
    (void)state;
    dice d = {31};
    const ebb_effort effort = {.seed = 1, .starts = 1, .swaps = 1};
    for (size_t room = 0; room < ROOMS; room++) {
        const recipe r = {.allowance = "count: 5",
                          .absorbers = one_kind,
                          .size = {{5.2, 5.8}, {3.8, 4.4}, {3.05, 3.2}},
                          .lowest = 90,
                          .highest = 40};
        trial t;
        ebb_pick picks[MOST_SPOTS];
        ebb_climbed found = {.pick = picks};
        open_trial(&t, &r, &d, 60);
        assert_in_range(t.base.spots->n, 50, MOST_SPOTS);
        assert_int_equal(ebb_climb_all(&t.base, &effort, &found), EBB_OK);
        const size_t scored = found.scored;
        assert_true(scored > 60); /* it counts */
        double best = best_random(&t.base, FULL_OR(100, 2) * scored);
        print_message("%zu places: %zu scores come to %.4f, %zu random layouts to %.4f\n",
                      t.base.spots->n, scored, found.score, 100 * scored, best);
        assert_true(found.score <= best + 1e-6);
        close_trial(&t);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_search_is_never_better),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
