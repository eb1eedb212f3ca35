/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Kept modes come back as they were, or not at all.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../base/failing.h"
#include "spaces.h"

static const size_t bricks[3] = {1, 1, 1};
static const ebb_space_wish wish = {.highest = 5, .reach = 1.5, .order = 3};

typedef struct packed {
    space_fixture f;
    unsigned char *bytes;
    size_t n;
} packed;

static void open_packed(packed *p)
{
    void *bytes;
    open_space(&p->f, small_size, bricks, &wish);
    assert_ok(p->f.ctx, ebb_space_pack(p->f.ctx, p->f.arena, p->f.space, &bytes, &p->n));
    p->bytes = bytes;
}

static void modes_come_back_as_they_were(void **state)
{
    (void)state;
    packed p;
    const double *lambda, *shape, *error, *l, *s, *e;
    void *again;
    size_t n_again;
    open_packed(&p);
    ebb_space *space;
    assert_ok(p.f.ctx, ebb_space_unpack(p.f.ctx, p.bytes, p.n, &wish, &space));
    const size_t n = ebb_space_modes(p.f.space, &lambda, &shape, &error);
    assert_int_equal(ebb_space_modes(space, &l, &s, &e), n);
    assert_memory_equal(l, lambda, n * sizeof *l);
    assert_memory_equal(e, error, n * sizeof *e);
    assert_memory_equal(s, shape, n * ebb_space_size(space) * sizeof *s);
    assert_true(ebb_space_shift(space, 1) == ebb_space_shift(p.f.space, 1));
    assert_ok(p.f.ctx, ebb_space_pack(p.f.ctx, p.f.arena, space, &again, &n_again));
    assert_int_equal(n_again, p.n);
    assert_memory_equal(again, p.bytes, p.n);
    ebb_space_free(space);
    close_space(&p.f);
}

/* What is left out of a wish is taken as kept. */
static void an_open_wish_takes_what_is_kept(void **state)
{
    (void)state;
    packed p;
    open_packed(&p);
    const ebb_space_wish open = {.highest = 5};
    ebb_space *space;
    assert_ok(p.f.ctx, ebb_space_unpack(p.f.ctx, p.bytes, p.n, &open, &space));
    ebb_space_free(space);
    close_space(&p.f);
}

static void refuse(packed *p, size_t n, const ebb_space_wish *asked, const char *word)
{
    ebb_space *space = (ebb_space *)p;
    ebb_ctx_clear(p->f.ctx);
    assert_int_equal(ebb_space_unpack(p->f.ctx, p->bytes, n, asked, &space), EBB_E_INPUT);
    assert_null(space);
    const char *text = ebb_ctx_message(p->f.ctx, ebb_ctx_messages(p->f.ctx) - 1)->text;
    if (!strstr(text, word))
        fail_msg("\"%s\" does not say %s", text, word);
}

static void every_damaged_byte_is_found(void **state)
{
    (void)state;
    packed p;
    open_packed(&p);
    for (size_t i = 0; i < p.n; i++) {
        const unsigned char was = p.bytes[i];
        p.bytes[i] ^= (unsigned char)(1u << i % 8);
        refuse(&p, p.n, &wish, "the kept modes");
        p.bytes[i] = was;
    }
    close_space(&p.f);
}

static void what_is_cut_short_is_refused(void **state)
{
    (void)state;
    packed p;
    open_packed(&p);
    for (size_t n = 0; n < p.n; n += n < 200 ? 1 : 1001)
        refuse(&p, n, &wish, "the kept modes");
    close_space(&p.f);
}

static void another_wish_is_refused(void **state)
{
    (void)state;
    static const ebb_space_wish other[] = {{.highest = 5.1, .reach = 1.5, .order = 3},
                                           {.highest = 5, .reach = 1.4, .order = 3},
                                           {.highest = 5, .reach = 1.5, .order = 4}};
    packed p;
    open_packed(&p);
    for (size_t i = 0; i < COUNT(other); i++)
        refuse(&p, p.n, &other[i], "another frequency or order");
    close_space(&p.f);
}

/* ---- wrong, with a check sum that is right --------------------------------------------------- */

/* Packs the space at hand once more: whatever was done to it has a valid check sum. */
static void pack_again(packed *p)
{
    void *bytes;
    assert_ok(p->f.ctx, ebb_space_pack(p->f.ctx, p->f.arena, p->f.space, &bytes, &p->n));
    p->bytes = bytes;
}

static void a_missing_mode_is_found_by_counting(void **state)
{
    (void)state;
    packed p;
    open_packed(&p);
    ebb_space *s = p.f.space;
    for (size_t m = 2; m + 1 < s->n_modes; m++) {
        s->lambda[m] = s->lambda[m + 1];
        memcpy(s->shape + m * s->size, s->shape + (m + 1) * s->size, s->size * sizeof(double));
    }
    s->n_modes--;
    pack_again(&p);
    refuse(&p, p.n, &wish, "a mode is missing");
    close_space(&p.f);
}

static void modes_of_another_room_are_found_by_their_residual(void **state)
{
    (void)state;
    packed p;
    open_packed(&p);
    p.f.space->lambda[3] *= 1.001;
    pack_again(&p);
    refuse(&p, p.n, &wish, "do not belong");
    p.f.space->lambda[3] /= 1.001;
    p.f.space->shape[3 * p.f.space->size + 5] += 0.01;
    pack_again(&p);
    refuse(&p, p.n, &wish, "do not belong");
    p.f.space->shape[3 * p.f.space->size + 5] = NAN;
    pack_again(&p);
    refuse(&p, p.n, &wish, "do not belong");
    close_space(&p.f);
}

static void a_mesh_that_does_not_hold_together_is_refused(void **state)
{
    (void)state;
    packed p;
    open_packed(&p);
    p.f.space->mesh.tet[1][2] = 1000;
    pack_again(&p);
    refuse(&p, p.n, &wish, "mesh does not hold");
    close_space(&p.f);
}

static void lack_of_memory_is_told(void **state)
{
    (void)state;
    packed p;
    open_packed(&p);
    ebb_status status = EBB_E_NOMEM;
    for (long n = 0; status != EBB_OK; n++) {
        failing f = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&f);
        ebb_space *space;
        f.left = n;
        status = ebb_space_unpack(ctx, p.bytes, p.n, &wish, &space);
        f.left = -1;
        assert_true(status == EBB_OK || (status == EBB_E_NOMEM && space == NULL));
        ebb_space_free(space);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
    }
    close_space(&p.f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(modes_come_back_as_they_were),
        cmocka_unit_test(an_open_wish_takes_what_is_kept),
        cmocka_unit_test(every_damaged_byte_is_found),
        cmocka_unit_test(what_is_cut_short_is_refused),
        cmocka_unit_test(another_wish_is_refused),
        cmocka_unit_test(a_missing_mode_is_found_by_counting),
        cmocka_unit_test(modes_of_another_room_are_found_by_their_residual),
        cmocka_unit_test(a_mesh_that_does_not_hold_together_is_refused),
        cmocka_unit_test(lack_of_memory_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
