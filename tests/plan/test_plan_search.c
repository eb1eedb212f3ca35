/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The placement search against all placements there are; threads, order, finalists.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#ifdef _OPENMP
#include <omp.h>
#endif

#include <cmocka.h>

#include "trials.h"

#define FEW_PLACES 12
#define FEW_UNITS 4
#define ROOMS FULL_OR(50, 4)
#define BATCH 256

/* ---- all placements ---------------------------------------------------------------------------
 */

/* A walk through all sets of picks that do not get in each other's way. */
typedef struct walk {
    const ebb_base *base;
    size_t n_candidates;
    ebb_pick candidate[64];
    ebb_pick picks[BATCH][FEW_UNITS + 1];
    ebb_climbed batch[BATCH];
    size_t n_batch, n_rated;
    double best;
} walk;

static void rate_batch(walk *w)
{
    assert_int_equal(ebb_climb_rate(w->base, w->n_batch, w->batch), EBB_OK);
    for (size_t i = 0; i < w->n_batch; i++)
        w->best = fmin(w->best, w->batch[i].score);
    w->n_rated += w->n_batch;
    w->n_batch = 0;
}

static void visit(walk *w, const ebb_pick *picks, size_t n)
{
    memcpy(w->picks[w->n_batch], picks, n * sizeof *picks);
    w->batch[w->n_batch] = (ebb_climbed){.n = n, .pick = w->picks[w->n_batch]};
    if (++w->n_batch == BATCH)
        rate_batch(w);
}

static void walk_from(walk *w, size_t from, ebb_pick *picks, size_t n)
{
    visit(w, picks, n);
    if (n >= FEW_UNITS)
        return;
    for (size_t i = from; i < w->n_candidates; i++) {
        bool free = true;
        for (size_t j = 0; j < n; j++)
            free = free && !clash(w->base, picks[j], w->candidate[i]);
        picks[n] = w->candidate[i];
        if (free)
            walk_from(w, i + 1, picks, n + 1);
    }
}

static void walk_all(walk *w, const ebb_base *base)
{
    ebb_pick picks[FEW_UNITS + 1] = {{0, 0}};
    *w = (walk){.base = base, .best = INFINITY};
    for (size_t s = 0; s < base->spots->n; s++)
        for (size_t k = 0; k < base->n_kinds; k++)
            if (base->allowed[s * base->n_kinds + k])
                w->candidate[w->n_candidates++] = (ebb_pick){s, k};
    walk_from(w, 0, picks, 0);
    rate_batch(w);
}

/* ---- what the search finds ---------------------------------------------------------------------
 */

#define MOST_STARTS 6
#define MOST_SPOTS 128

typedef struct found {
    ebb_pick pick[MOST_STARTS][MOST_SPOTS];
    ebb_climbed climbed[MOST_STARTS];
} found;

static void search(const ebb_base *base, const ebb_effort *effort, found *f)
{
    assert_true(effort->starts <= MOST_STARTS && base->spots->n <= MOST_SPOTS);
    for (size_t i = 0; i < MOST_STARTS; i++)
        f->climbed[i] = (ebb_climbed){.pick = f->pick[i]};
    assert_int_equal(ebb_climb_all(base, effort, f->climbed), EBB_OK);
}

/* Best score of the starts by themselves, without the last steps of ebb_climb_all. */
static double climbs_alone(const ebb_base *base, const ebb_effort *effort, found *f)
{
    double best = INFINITY;
    for (size_t i = 0; i < effort->starts; i++) {
        f->climbed[i] = (ebb_climbed){.pick = f->pick[i]};
        assert_int_equal(ebb_climb(base, effort, (unsigned)i, i == 0 ? 0 : 1.2, &f->climbed[i]),
                         EBB_OK);
        best = fmin(best, f->climbed[i].score);
    }
    return best;
}

/* ---- tests -------------------------------------------------------------------------------------
 */

static const char *const one_kind =
    "  front: {face: [0.9 m, 1.0 m], depth: 280 mm, mass: 38 kg, layers: [{lumped: {mass: 3.6 "
    "kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n";
static const char *const two_kinds =
    "  front: {face: [0.9 m, 1.0 m], depth: 280 mm, mass: 38 kg, layers: [{lumped: {mass: 3.6 "
    "kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n"
    "  high: {face: [0.9 m, 1.0 m], depth: 200 mm, mass: 30 kg, layers: [{lumped: {mass: 3 "
    "kg/m2, resonance: 85 Hz, resistance: 413 Pa.s/m}}]}\n";

static const double small[3][2] = {{2.4, 3.4}, {1.8, 2.4}, {2.1, 2.6}};

static recipe small_room(const char *allowance, const char *absorbers)
{
    recipe r = {.allowance = allowance, .absorbers = absorbers, .lowest = 50, .highest = 90};
    memcpy(r.size, small, sizeof small);
    return r;
}

/* Random rooms of up to 12 places and 4 units, one or two kinds, with seats that may move or not.
 * With the default effort. */
static void the_search_finds_the_best_of_all_placements(void **state)
{
    (void)state;
    dice d = {2024};
    ebb_effort effort;
    ebb_effort_default(&effort);
    size_t alone = 0;
    for (size_t room = 0; room < ROOMS; room++) {
        bool two = room % 5 == 4;
        recipe r = small_room("count: 4", two ? two_kinds : one_kind);
        r.zones = room % 10 == 0;
        trial t;
        walk all;
        found f;
        open_trial(&t, &r, &d, two ? 6 : FEW_PLACES - room % 5);
        walk_all(&all, &t.base);
        search(&t.base, &effort, &f);
        if (fabs(f.climbed[0].score - all.best) > 1e-6)
            fail_msg("room %zu: found %.9g, the best of %zu placements is %.9g", room,
                     f.climbed[0].score, all.n_rated, all.best);
        alone += climbs_alone(&t.base, &effort, &f) < all.best + 1e-6;
        close_trial(&t);
    }
    print_message("the climbs alone find the best in %zu of %d rooms\n", alone, ROOMS);
    assert_true(alone > ROOMS / 2);
}

#ifdef _OPENMP
static bool same_picks(const ebb_climbed *a, const ebb_climbed *b)
{
    bool same = a->n == b->n && a->score == b->score && a->option[0] == b->option[0] &&
                a->option[1] == b->option[1];
    for (size_t i = 0; same && i < a->n; i++)
        same = a->pick[i].spot == b->pick[i].spot && a->pick[i].kind == b->pick[i].kind;
    return same;
}

static void the_number_of_threads_changes_nothing(void **state)
{
    (void)state;
    dice d = {8};
    recipe r = small_room("mass: 300 kg", two_kinds);
    r.zones = true;
    trial t;
    found one, two;
    const ebb_effort effort = {.seed = 1, .starts = 4, .swaps = 2};
    open_trial(&t, &r, &d, 1000);
    const int threads = omp_get_max_threads();
    omp_set_num_threads(1);
    search(&t.base, &effort, &one);
    omp_set_num_threads(2);
    search(&t.base, &effort, &two);
    omp_set_num_threads(threads);
    assert_true(one.climbed[0].n > 0);
    for (size_t i = 0; i < effort.starts; i++)
        assert_true(same_picks(&one.climbed[i], &two.climbed[i]));
    close_trial(&t);
}
#else
static void the_number_of_threads_changes_nothing(void **state)
{
    (void)state;
    skip();
}
#endif

/* Score and wrong share belong to the picks, in whatever order and from wherever they came. */
static void a_rating_depends_on_the_picks_alone(void **state)
{
    (void)state;
    dice d = {12};
    recipe r = small_room("count: 4", two_kinds);
    r.zones = true;
    trial t;
    found f;
    const ebb_effort effort = {.seed = 3, .starts = 2, .swaps = 2};
    open_trial(&t, &r, &d, 1000);
    search(&t.base, &effort, &f);
    const ebb_climbed *best = &f.climbed[0];
    ebb_pick turned[FEW_UNITS + 1];
    assert_in_range(best->n, 2, FEW_UNITS);
    for (size_t i = 0; i < best->n; i++)
        turned[i] = best->pick[best->n - 1 - i];
    ebb_climbed again = {.n = best->n, .pick = turned, .option = {1, 2}};
    assert_int_equal(ebb_climb_rate(&t.base, 1, &again), EBB_OK);
    assert_true(fabs(again.score - best->score) < 1e-6 * best->score);
    assert_true(again.wrong == best->wrong);
    assert_true(again.option[0] == best->option[0] && again.option[1] == best->option[1]);
    close_trial(&t);
}

/* No two of the layouts handed on are the same, as long as there are different ones. */
static void finalists_differ(void **state)
{
    (void)state;
    dice d = {40};
    const recipe r = small_room("count: 4", two_kinds);
    trial t;
    found f;
    const ebb_effort effort = {.seed = 1, .starts = 6, .swaps = 2};
    open_trial(&t, &r, &d, 1000);
    search(&t.base, &effort, &f);
    assert_true(f.climbed[0].score < f.climbed[1].score);
    close_trial(&t);
}

/* The models are too small to be worth a second thread, but for the test of threads. */
static int one_thread(void **state)
{
    (void)state;
#ifdef _OPENMP
    omp_set_num_threads(1);
#endif
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_search_finds_the_best_of_all_placements),
        cmocka_unit_test(the_number_of_threads_changes_nothing),
        cmocka_unit_test(a_rating_depends_on_the_picks_alone),
        cmocka_unit_test(finalists_differ),
    };
    return cmocka_run_group_tests(tests, one_thread, NULL);
}
