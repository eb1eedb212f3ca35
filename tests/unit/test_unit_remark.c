/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Warnings: each comes when there is cause, and only then (remark.c, study.c). */
#include "boxes.h"

#include <stdlib.h>

static void test_a_good_box_is_left_in_peace(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    box_ready(&b, &x);
    ebb_study *s = study_of(&b, &x.unit);
    static const ebb_remark_kind NOT[] = {EBB_REMARK_RANGE,   EBB_REMARK_LEAK,  EBB_REMARK_RIM,
                                          EBB_REMARK_GRAINS,  EBB_REMARK_WALLS, EBB_REMARK_CONTACT,
                                          EBB_REMARK_UNKNOWN, EBB_REMARK_MATCH};
    for (size_t i = 0; i < sizeof NOT / sizeof NOT[0]; i++)
        if (remark_of(s, NOT[i]) != NULL)
            fail_msg("%s", remark_of(s, NOT[i]));
    assert_non_null(remark_of(s, EBB_REMARK_RADIATION));
    near(s->weights.total, x.unit.mass, 1e-9);
    ebb_study_free(s);
    bench_close(&b);
}

/* Studies the joiner's box after one change; is there a remark of the kind? */
typedef void (*spoil_fn)(joiner *x);

static bool warns(spoil_fn spoil, ebb_remark_kind kind)
{
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    spoil(&x);
    box_ready(&b, &x);
    ebb_study *s = study_of(&b, &x.unit);
    const bool there = remark_of(s, kind) != NULL;
    ebb_study_free(s);
    bench_close(&b);
    return there;
}

static void let_leak(joiner *x)
{
    x->cell.leak = 1e-3;
    x->cell.leak_path = 0.018;
}

static void stiffen(joiner *x)
{
    x->cell.front[0].mount.stiffness *= 30;
}

static void put_carbon(joiner *x)
{
    x->fill[0].thickness = 0.15;
    x->fill[1] = carbon(0.08);
    x->cell.n_fill = 2;
}

static void thin_walls(joiner *x)
{
    x->cabinet.wall.thickness = 0.004;
    x->cabinet.brace[0] = x->cabinet.brace[1] = 0;
}

/* They resonate at 97 Hz and cost nothing of the mean. */
static void soft_walls(joiner *x)
{
    x->cabinet.wall.thickness = 0.009;
    x->cabinet.brace[0] = x->cabinet.brace[1] = 0;
}

static void overfill(joiner *x)
{
    x->fill[0].thickness = 0.284;
}

static void take_miki(joiner *x)
{
    x->fill[0].model = EBB_POROUS_MIKI;
    x->fill[0].resistivity = 20000;
}

static void weigh_down(joiner *x)
{
    x->cell.front[0].mass = 15;
}

static void overdamp(joiner *x)
{
    x->cell.front[0].resistance = 2000;
}

static void lossy(joiner *x)
{
    x->cell.front[0].mount.loss = 0.6;
}

static void test_every_cause_has_its_warning(void **state)
{
    (void)state;
    assert_true(warns(let_leak, EBB_REMARK_LEAK));
    assert_true(warns(stiffen, EBB_REMARK_RIM));
    assert_true(warns(put_carbon, EBB_REMARK_GRAINS));
    assert_true(warns(thin_walls, EBB_REMARK_WALLS));
    assert_true(warns(soft_walls, EBB_REMARK_WALLS));
    assert_true(warns(overfill, EBB_REMARK_CONTACT));
    assert_true(warns(take_miki, EBB_REMARK_RANGE));
    assert_true(warns(overdamp, EBB_REMARK_MATCH));
    assert_true(warns(lossy, EBB_REMARK_LOSS));
    assert_false(warns(weigh_down, EBB_REMARK_RADIATION)); /* 3 % of 15 kg/m2 */
}

static void test_a_tested_batch_is_not_warned_of(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    put_carbon(&x);
    ebb_origin origin = {&x.fill[1], "tested", true};
    x.unit.n_origins = 1;
    x.unit.origins = &origin;
    box_ready(&b, &x);
    ebb_study *s = study_of(&b, &x.unit);
    assert_null(remark_of(s, EBB_REMARK_GRAINS));
    ebb_study_free(s);
    origin.measured = false;
    s = study_of(&b, &x.unit);
    assert_non_null(strstr(remark_of(s, EBB_REMARK_GRAINS), "tested"));
    ebb_study_free(s);
    bench_close(&b);
}

static void test_units_without_a_face_are_refused(void **state)
{
    (void)state;
    bench b = bench_open();
    const ebb_layer layer = resonator(&b, 5, 45, 1);
    ebb_unit unit = stack_unit(1, &layer);
    ebb_study *s = (ebb_study *)&unit;
    unit.face[1] = NAN;
    assert_int_equal(ebb_study_new(b.ctx, &unit, &b.air, EBB_UNITS_METRIC, &s), EBB_E_RANGE);
    assert_null(s);
    ebb_study_free(NULL);
    bench_close(&b);
}

/* ---- memory that runs out -------------------------------------------------------------------- */

typedef struct countdown {
    size_t left;
} countdown;

static void *fragile(void *user, void *pointer, size_t size)
{
    countdown *c = user;
    if (size == 0) {
        free(pointer);
        return NULL;
    }
    if (c->left == 0)
        return NULL;
    c->left--;
    return realloc(pointer, size);
}

/* Whichever piece of memory fails to come, the answer is an error and nothing leaks. */
static void test_memory_may_run_out(void **state)
{
    (void)state;
    bench b = bench_open();
    joiner x;
    joiners_box(&x);
    put_carbon(&x);
    x.cabinet.rigid = true; /* quicker */
    box_ready(&b, &x);
    ebb_status status = EBB_E_NOMEM;
    size_t n = 0;
    for (; status != EBB_OK && n < 500; n += 3) {
        countdown c = {SIZE_MAX};
        const ebb_allocator allocator = {fragile, &c};
        ebb_ctx *ctx = ebb_ctx_new_with(&allocator);
        ebb_study *s = NULL;
        c.left = n;
        status = ebb_study_new(ctx, &x.unit, &b.air, EBB_UNITS_METRIC, &s);
        assert_true(status == EBB_OK ? s != NULL : status == EBB_E_NOMEM && s == NULL);
        ebb_study_free(s);
        ebb_ctx_free(ctx);
    }
    assert_int_equal(status, EBB_OK);
    assert_true(n > 10);
    bench_close(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_good_box_is_left_in_peace),
        cmocka_unit_test(test_every_cause_has_its_warning),
        cmocka_unit_test(test_a_tested_batch_is_not_warned_of),
        cmocka_unit_test(test_units_without_a_face_are_refused),
        cmocka_unit_test(test_memory_may_run_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
