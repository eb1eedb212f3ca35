/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"

#include "../../src/prepare/private.h"

#include <math.h>

static void test_highest_of_a_judgement(void **state)
{
    workshop *w = *state;
    ebb_prepare_want want;
    assert_int_equal(ebb_prepare_decide(w->base.ctx, &w->job, 0, 0, &want), EBB_OK);
    /* Response to 200 Hz and half a 1/3-octave band more; in steps of 80 a decade. */
    const double hz = want.space.highest * w->job.air.speed / (2 * 3.14159265358979);
    assert_true(hz > 220 && hz < 230);
    assert_int_equal(want.space.order, 6);
    assert_true(want.mesh.edge > 0.8 && want.mesh.edge < 1.4);
}

/* The finer, the shorter all re-entrant edges are together: one is paid for, many can not be. */
static void test_grading(void **state)
{
    workshop *w = *state;
    scene *s = &w->base;
    const ebb_solid *solid[] = {solid_box(s->arena, 5, 4, 2.5), w->room[1].solid,
                                solid_ell(s->arena), solid_block(s->arena)};
    const double length[] = {0, 2.5, 2.7, 2 * (1.2 + 0.6) + 4 * 0.9};
    double was = 0;
    for (int i = 0; i < 4; i++) {
        ebb_prepare_want want;
        assert_int_equal(ebb_prepare_decide(s->ctx, &w->job, 200, 0, &want), EBB_OK);
        assert_int_equal(ebb_prepare_grade(s->ctx, s->arena, solid[i], &want.mesh), EBB_OK);
        assert_true(fabs(ebb_mesh_reentrant(s->arena, solid[i]) - length[i]) < 1e-9);
        assert_true(want.mesh.edge_min > was);
        was = want.mesh.edge_min;
        if (i == 1)
            assert_true(fabs(want.mesh.edge_min - 2.5 / 12) < 1e-9);
        assert_true(want.mesh.edge_min >= 0.12 * want.mesh.edge * (1 - 1e-12));
        assert_true(want.mesh.edge_min <= 0.45 * want.mesh.edge * (1 + 1e-12));
    }
}

static void test_finer_when_more_is_wanted(void **state)
{
    workshop *w = *state;
    ebb_prepare_want usual, higher, closer;
    assert_int_equal(ebb_prepare_decide(w->base.ctx, &w->job, 100, 1e-4, &usual), EBB_OK);
    assert_int_equal(ebb_prepare_decide(w->base.ctx, &w->job, 200, 1e-4, &higher), EBB_OK);
    assert_int_equal(ebb_prepare_decide(w->base.ctx, &w->job, 100, 1e-5, &closer), EBB_OK);
    assert_true(fabs(higher.space.highest / usual.space.highest - 2) < 1e-12);
    assert_true(fabs(usual.mesh.edge / higher.mesh.edge - 2) < 1e-9);
    assert_true(closer.mesh.edge < usual.mesh.edge);
    assert_true(closer.space.highest == usual.space.highest);
}

/* Lower orders need shorter edges for the same error. */
static void test_other_orders(void **state)
{
    workshop *w = *state;
    ebb_prepare_want want, usual;
    assert_int_equal(ebb_prepare_decide(w->base.ctx, &w->job, 200, 0, &usual), EBB_OK);
    double edge = 0;
    for (size_t order = 1; order <= 8; order++) {
        want = usual;
        assert_int_equal(ebb_prepare_order(w->base.ctx, order, 0, &want), EBB_OK);
        assert_int_equal(want.space.order, order);
        assert_true(want.mesh.edge > edge);
        edge = want.mesh.edge;
        if (order == 6)
            assert_true(want.mesh.edge == usual.mesh.edge);
    }
    want.space.order = 0;
    assert_int_equal(ebb_prepare_order(w->base.ctx, 0, 0, &want), EBB_OK);
    assert_true(want.space.order == 6 && want.mesh.edge == usual.mesh.edge);
    assert_int_equal(ebb_prepare_order(w->base.ctx, 9, 0, &want), EBB_E_RANGE);
}

static void test_refused(void **state)
{
    workshop *w = *state;
    const double wrong[][2] = {{-1, 0},  {5, 0},    {2000, 0},   {NAN, 0},
                               {100, 1}, {100, -1}, {100, 1e-9}, {100, NAN}};
    ebb_prepare_want want;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        assert_int_equal(ebb_prepare_decide(w->base.ctx, &w->job, wrong[i][0], wrong[i][1], &want),
                         EBB_E_RANGE);
        expect_error(&w->base, "rooms can be prepared for");
    }
}

static bool same_key(workshop *w, const ebb_prepare_want *a, const ebb_solid *solid_a,
                     const ebb_prepare_want *b, const ebb_solid *solid_b)
{
    const char *key[2];
    size_t n[2];
    assert_int_equal(ebb_prepare_key(w->base.ctx, w->base.arena, solid_a, a, &key[0], &n[0]),
                     EBB_OK);
    assert_int_equal(ebb_prepare_key(w->base.ctx, w->base.arena, solid_b, b, &key[1], &n[1]),
                     EBB_OK);
    return n[0] == n[1] && memcmp(key[0], key[1], n[0]) == 0;
}

/* Everything that changes the result changes the key. */
static void test_key(void **state)
{
    workshop *w = *state;
    ebb_prepare_want want, other;
    assert_int_equal(ebb_prepare_decide(w->base.ctx, &w->job, 100, 0, &want), EBB_OK);
    const ebb_solid *solid = w->room[1].solid;
    assert_int_equal(ebb_prepare_grade(w->base.ctx, w->base.arena, solid, &want.mesh), EBB_OK);
    assert_true(same_key(w, &want, solid, &want, w->room[2].solid));
    assert_false(same_key(w, &want, solid, &want, w->room[3].solid));
    other = want, other.space.order = 5;
    assert_false(same_key(w, &want, solid, &other, solid));
    other = want, other.space.highest = nextafter(want.space.highest, 100);
    assert_false(same_key(w, &want, solid, &other, solid));
    other = want, other.space.reach = 1.5;
    assert_false(same_key(w, &want, solid, &other, solid));
    other = want, other.mesh.edge *= 0.9;
    assert_false(same_key(w, &want, solid, &other, solid));
    other = want, other.mesh.edge_min *= 0.9;
    assert_false(same_key(w, &want, solid, &other, solid));
    yard *y = (yard *)(uintptr_t)w->room[2].solid;
    y->facet[3].surface = 2; /* the same shape in other surfaces */
    assert_false(same_key(w, &want, solid, &want, &y->solid));
    y->facet[3].surface = 3;
    y->corner[2].x = nextafter(y->corner[2].x, 100);
    assert_false(same_key(w, &want, solid, &want, &y->solid));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        WORKSHOP_TEST(test_highest_of_a_judgement),
        WORKSHOP_TEST(test_grading),
        WORKSHOP_TEST(test_finer_when_more_is_wanted),
        WORKSHOP_TEST(test_other_orders),
        WORKSHOP_TEST(test_refused),
        WORKSHOP_TEST(test_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
