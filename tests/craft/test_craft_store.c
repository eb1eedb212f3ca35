/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The trade-offs that are kept. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "yard.h"

static ebb_craft_one one_of(double absorption, double mass, double depth, double cost)
{
    ebb_craft_one one = {0};
    one.merit = (ebb_craft_merit){
        .absorption = absorption, .mass = mass, .depth = depth, .cost = cost, .priced = true};
    return one;
}

static void better_in_everything_throws_out(void **state)
{
    (void)state;
    static ebb_craft_store store;
    store.n = 0;
    const ebb_craft_one a = one_of(0.7, 30, 0.3, 100), worse = one_of(0.6, 31, 0.3, 100);
    const ebb_craft_one other = one_of(0.6, 20, 0.3, 100), best = one_of(0.8, 19, 0.2, 90);
    ebb_craft_store_add(&store, &a);
    ebb_craft_store_add(&store, &worse);
    assert_int_equal(store.n, 1);
    ebb_craft_store_add(&store, &a);
    assert_int_equal(store.n, 1); /* the same again */
    ebb_craft_store_add(&store, &other);
    assert_int_equal(store.n, 2);
    ebb_craft_store_add(&store, &best);
    assert_int_equal(store.n, 1);
    assert_near(store.one[0].merit.mass, 19, 0);
}

static void none_dominates_another(void **state)
{
    (void)state;
    static ebb_craft_store store;
    unsigned random = 21;
    store.n = 0;
    for (int i = 0; i < 2000; i++) {
        const ebb_craft_one one =
            one_of(draw(&random), draw(&random), draw(&random), draw(&random));
        ebb_craft_store_add(&store, &one);
        assert_true(store.n <= EBB_CRAFT_KEPT);
    }
    assert_true(store.n > EBB_CRAFT_KEPT / 2);
    for (size_t i = 0; i < store.n; i++)
        for (size_t j = 0; j < store.n; j++)
            assert_false(i != j && ebb_craft_dominates(&store.one[i].merit, &store.one[j].merit));
}

/* Points on a line, crowded at one end: thinning keeps both ends and spreads the rest. */
static void thinning_keeps_the_ends(void **state)
{
    (void)state;
    static ebb_craft_store store;
    store.n = 0;
    for (int i = 0; i < 40; i++) {
        const double t = i < 30 ? 0.001 * i : 0.03 + 0.1 * (i - 30);
        const ebb_craft_one one = one_of(t, 10 + 10 * t, 0.3, 100);
        ebb_craft_store_add(&store, &one);
    }
    assert_int_equal(store.n, 40);
    ebb_craft_store_thin(&store, 8);
    assert_int_equal(store.n, 8);
    assert_near(store.one[0].merit.absorption, 0, 0);
    assert_near(store.one[7].merit.absorption, 0.93, 1e-12);
    for (size_t i = 1; i < 8; i++) {
        assert_true(store.one[i].merit.mass > store.one[i - 1].merit.mass);
        assert_true(store.one[i].merit.absorption - store.one[i - 1].merit.absorption > 0.05);
    }
}

static void what_has_no_price_is_not_cheap(void **state)
{
    (void)state;
    ebb_craft_one priced = one_of(0.7, 30, 0.3, 100), not_priced = one_of(0.7, 30, 0.3, 0);
    not_priced.merit.priced = false;
    assert_true(ebb_craft_dominates(&priced.merit, &not_priced.merit));
    assert_false(ebb_craft_dominates(&not_priced.merit, &priced.merit));
    assert_true(ebb_craft_measure(&priced.merit, EBB_CRAFT_CHEAP) <
                ebb_craft_measure(&not_priced.merit, EBB_CRAFT_CHEAP));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(better_in_everything_throws_out),
        cmocka_unit_test(none_dominates_another),
        cmocka_unit_test(thinning_keeps_the_ends),
        cmocka_unit_test(what_has_no_price_is_not_cheap),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
