/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * No damped mode is missed: they are counted by the turns of the determinant around a region.
 */
#include "../../src/field/reduced.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <lapacke.h>

#include "rooms.h"

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    treated room;
    ebb_reduced *reduced;
    ebb_modes *modes;
} fixture;

/* Call after the room has been put together. */
static void open_modes(fixture *f, double low, double high)
{
    f->ctx = ebb_ctx_new();
    f->arena = ebb_arena_new(f->ctx);
    f->reduced = project(f->ctx, &f->room.geometry);
    assert_ok(f->ctx, ebb_modes_new(f->ctx, f->reduced, &f->room.state, low, high, &f->modes));
    assert_int_equal(ebb_ctx_messages(f->ctx), 0);
}

static void close_modes(fixture *f)
{
    ebb_modes_free(f->modes);
    ebb_reduced_free(f->reduced);
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
}

static const ebb_layer porous = {.kind = EBB_LAYER_POROUS,
                                 .thickness = 0.15,
                                 .resistivity = 6000,
                                 .porosity = 0.98,
                                 .tortuosity = 1};

typedef struct contour {
    const ebb_air *air;
    ebb_operator op;
    double _Complex *a;
    int *pivot;
} contour;

/* Argument of det A(w). */
static double argument(contour *c, double _Complex omega)
{
    size_t size = c->op.size;
    double sum = 0;
    ebb_operator_at(&c->op, c->air, omega, c->a);
    for (size_t j = 0; j < size; j++)
        for (size_t i = 0; i < j; i++)
            c->a[j * size + i] = c->a[i * size + j];
    int info = LAPACKE_zgetrf(LAPACK_COL_MAJOR, (int)size, (int)size, c->a, (int)size, c->pivot);
    assert_int_equal(info, 0);
    for (size_t i = 0; i < size; i++)
        sum += carg(c->a[i * size + i]) + (c->pivot[i] == (int)i + 1 ? 0 : PI);
    return sum;
}

static double wrapped(double angle)
{
    return angle - 2 * PI * round(angle / (2 * PI));
}

/* Turn of the argument from a to b, halving until every step is small. */
static double turn(contour *c, double _Complex a, double _Complex b, double at_a, double at_b,
                   int depth)
{
    double _Complex middle = (a + b) / 2;
    double at_middle = argument(c, middle);
    double first = wrapped(at_middle - at_a), second = wrapped(at_b - at_middle);
    if (depth == 0 || (fabs(first) < 0.8 && fabs(second) < 0.8))
        return first + second;
    return turn(c, a, middle, at_a, at_middle, depth - 1) +
           turn(c, middle, b, at_middle, at_b, depth - 1);
}

/* Zeros less poles of det A(w) between two frequencies and decay rates, by the principle of the
 * argument. */
static double roots_inside(fixture *f, const double hz[2], const double delta[2])
{
    const double _Complex corner[5] = {2 * PI * hz[0] + I * delta[0], 2 * PI * hz[1] + I * delta[0],
                                       2 * PI * hz[1] + I * delta[1], 2 * PI * hz[0] + I * delta[1],
                                       2 * PI * hz[0] + I * delta[0]};
    contour c = {.air = &f->room.state.air};
    assert_ok(f->ctx, ebb_operator_make(f->ctx, f->arena, f->reduced, &f->room.state, &c.op));
    c.a = EBB_NEW(f->arena, double _Complex, c.op.size *c.op.size);
    c.pivot = EBB_NEW(f->arena, int, c.op.size);
    double sum = 0;
    for (int side = 0; side < 4; side++)
        for (int part = 0; part < 24; part++) {
            double _Complex step = (corner[side + 1] - corner[side]) / 24;
            double _Complex a = corner[side] + part * step, b = a + step;
            sum += turn(&c, a, b, argument(&c, a), argument(&c, b), 8);
        }
    return sum / (2 * PI);
}

static void assert_complete(fixture *f, const double hz[2], const double delta[2], double poles)
{
    double count = roots_inside(f, hz, delta) + poles;
    size_t found = 0;
    for (size_t m = 0; m < f->modes->n; m++) {
        const ebb_mode *mode = &f->modes->mode[m];
        found += mode->hz > hz[0] && mode->hz < hz[1] && mode->delta > delta[0] &&
                 mode->delta < delta[1];
    }
    assert_near(count, round(count), 1e-6);
    assert_int_equal(found, (size_t)round(count));
}

static void no_mode_is_missed_between_damped_walls(void **state)
{
    (void)state;
    static const double betas[] = {0.01, 0.1, 0.35}, hz[2] = {75, 240}, delta[2] = {0.01, 330};
    const double size[3] = {2, 1.5, 1.2};
    for (size_t i = 0; i < COUNT(betas); i++) {
        fixture f;
        treated_make_plain(&f.room, size, betas[i] * (1 + 0.2 * I));
        treated_empty(&f.room);
        f.room.geometry.highest = 240;
        f.room.geometry.richness = 0.5;
        open_modes(&f, 75, 240);
        assert_true(f.modes->n >= 8);
        assert_complete(&f, hz, delta, 0);
        close_modes(&f);
    }
}

static void no_mode_is_missed_beside_a_porous_wall(void **state)
{
    (void)state;
    static const double hz[2] = {60, 240}, delta[2] = {0.01, 200};
    const double size[3] = {2, 1.5, 1.2};
    const ebb_assembly soft = on_rigid_back(&porous);
    fixture f;
    treated_make_plain(&f.room, size, 0.02);
    f.room.state.face[1] = &soft;
    f.room.geometry.wall[1] = 1;
    treated_empty(&f.room);
    f.room.geometry.highest = 240;
    f.room.geometry.richness = 0.5;
    open_modes(&f, 60, 240);
    assert_complete(&f, hz, delta, 0);
    close_modes(&f);
}

/* Two rigid fronts in a hard closet: the box is large enough to hold their poles too. */
static void no_mode_is_missed_beside_rigid_fronts(void **state)
{
    (void)state;
    static const double hz[2] = {30, 140}, delta[2] = {0.01, 100};
    fixture f;
    treated_make_tiny(&f.room);
    f.room.state.face[5] = &f.room.hard;
    f.room.layer[1] = resonator(12, 86, 0.3);
    f.room.layer[2] = resonator(10, 114, 0.4);
    f.room.patch[0].piston = true;
    open_modes(&f, 30, 140);
    /* one pole for each front; here no mode is so local that it would be left out */
    assert_complete(&f, hz, delta, 2);
    close_modes(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_mode_is_missed_between_damped_walls),
        cmocka_unit_test(no_mode_is_missed_beside_a_porous_wall),
        cmocka_unit_test(no_mode_is_missed_beside_rigid_fronts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
