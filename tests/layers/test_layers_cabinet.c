/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Boxes: geometry, weight, static compliance, what is refused, and a box as an assembly.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

#include "boxes.h"

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
} fixture;

static int set_up(void **state)
{
    static fixture f;
    f.ctx = ebb_ctx_new();
    f.arena = ebb_arena_new(f.ctx);
    *state = &f;
    return f.ctx && f.arena ? 0 : -1;
}

static int tear_down(void **state)
{
    fixture *f = *state;
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
    return 0;
}

static void prepare(fixture *f, box *b)
{
    ebb_ctx_clear(f->ctx);
    if (ebb_cabinet_prepare(f->ctx, f->arena, 0, &b->cabinet) != EBB_OK)
        fail_msg("%s", ebb_ctx_message(f->ctx, 0)->text);
}

/* ---- geometry and weight --------------------------------------------------------------------- */

static void openings_and_depths(void **unused)
{
    (void)unused;
    box b;
    double side[2];
    plain_box(&b);
    ebb_cabinet_opening(&b.cabinet, 0, side);
    assert_near(side[0], 0.6 - 0.03 - 0.04, 1e-12);
    assert_near(side[1], 1.2 - 0.03 - 0.04, 1e-12);
    assert_near(ebb_cabinet_cavity(&b.cabinet, 0), 0.3 - 0.015, 1e-12);
    two_front_box(&b);
    /* back 15, outer front 6 and gap 50 mm; the inner front is only a mass */
    assert_near(ebb_cabinet_cavity(&b.cabinet, 0), 0.3 - 0.015 - 0.006 - 0.05, 1e-12);
    b.cabinet.n_cells = 2;
    b.cell[1] = b.cell[0];
    b.cell[0].share = 0.4;
    b.cell[1].share = 0.6;
    ebb_cabinet_opening(&b.cabinet, 1, side);
    assert_near(side[0], 0.6 * (0.6 - 0.045) - 0.04, 1e-12);
}

static void weights_by_hand(void **unused)
{
    (void)unused;
    box b;
    ebb_weights w;
    two_front_box(&b);
    b.fill[0][1] =
        (ebb_layer){.kind = EBB_LAYER_GRANULAR, .thickness = 0.02, .grains = {.bed_density = 500}};
    b.cell[0].n_fill = 2;
    ebb_cabinet_weights(&b.cabinet, &w);
    const double across = 0.57 * 1.17, opening = 0.53 * 1.13;
    const double boards = 0.6 * 1.2 * 0.015                 /* back */
                          + 2 * 1.2 * 0.285 * 0.015         /* sides, full height */
                          + 2 * 0.57 * 0.285 * 0.015;       /* top and bottom between them */
    const double brace = (0.57 + 2 * 0.285) * 0.015 * 0.05; /* across the back, along the sides */
    assert_near(w.walls, 680 * (boards + brace), 1e-9);
    assert_near(w.fronts, opening * (0.006 * 680 + 0.5 + 4), 1e-9);
    assert_near(w.porous, across * 0.2 * 50, 1e-9);
    assert_near(w.grains, across * 0.02 * 500, 1e-9);
    assert_near(w.frame, 3, 0);
    assert_near(w.extra, 2, 0);
    assert_near(w.total, w.walls + w.fronts + w.porous + w.grains + 5, 1e-9);

    /* a board between two cells */
    b.cabinet.n_cells = 2;
    b.cell[1] = b.cell[0];
    b.cell[0].share = b.cell[1].share = 0.5;
    ebb_weights two;
    ebb_cabinet_weights(&b.cabinet, &two);
    assert_near(two.walls - w.walls, 680 * 0.015 * 1.17 * 0.285, 1e-9);
}

/* ---- static compliance ----------------------------------------------------------------------- */

/* Far below everything the admittance is j w rho c C. */
static void compliance_is_the_low_frequency_limit(void **state)
{
    box b;
    for (int kind = 0; kind < 6; kind++) {
        if (kind % 2)
            two_front_box(&b);
        else
            plain_box(&b);
        b.cabinet.rigid = kind < 2;
        b.cabinet.built_in = true;
        if (kind > 3) {
            b.fill[0][1] = (ebb_layer){.kind = EBB_LAYER_GRANULAR,
                                       .thickness = 0.02,
                                       .grains = {1.5e-3, 0.4, 0.5, 5, 5e-7, 3, 200, 500}};
            b.cell[0].n_fill = 2;
        }
        prepare(*state, &b);
        for (size_t k = 0; k < b.cell[0].n_fronts; k++)
            b.cell[0].front[k].mount.loss = 0;
        const double omega = TWO_PI * 1e-4;
        const double _Complex beta = ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, omega);
        const double rho_c = sample_air.density * sample_air.speed;
        const double still = ebb_cabinet_compliance(&b.cabinet, &sample_air, 0);
        assert_near(still / (cimag(beta) / (omega * rho_c)), 1, 1e-3);
        if (kind <= 3)
            assert_near(ebb_cabinet_compliance(&b.cabinet, &sample_air, 25), still, 1e-20);
        else /* sorption does not follow all the way */
            assert_in_range(
                (int)(1000 * ebb_cabinet_compliance(&b.cabinet, &sample_air, 25) / still), 500,
                990);
    }
}

static void compliance_by_hand(void **state)
{
    box b;
    plain_box(&b);
    b.cabinet.air_loss = 0;
    prepare(*state, &b);
    const double opening = 0.53 * 1.13, across = 0.57 * 1.17;
    const double adiabatic = sample_air.density * sample_air.speed * sample_air.speed;
    const double isothermal = adiabatic / sample_air.gamma;
    const double cavity = across * (0.085 / adiabatic + 0.2 * 0.97 / isothermal);
    const double mount = 2e3 * 2 * (0.53 + 1.13) / (opening * opening);
    assert_near(ebb_cabinet_compliance(&b.cabinet, &sample_air, 0) * 0.72 * (1 / cavity + mount), 1,
                1e-5);
}

/* ---- what is refused ------------------------------------------------------------------------- */

/* A number of a box with two fronts, a value that it must not have, and what is said of it. */
static const struct {
    size_t offset;
    double value;
    const char *says;
} bad[] = {
#define BOX(field) offsetof(box, cabinet.field)
#define CELL(field) offsetof(box, cell[0].field)
    {BOX(size[1]), -1, "box: height is -1, must lie between"},
    {BOX(wall.thickness), 0, "box, walls: board thickness is 0"},
    {BOX(wall.modulus), NAN, "box, walls: board modulus is nan"},
    {BOX(rim), 0.3, "cell 1: walls and rims leave an opening of -0.03 x 0.57 m"},
    {BOX(air_loss), NAN, "air loss is nan"},
    {CELL(share), 0.9, "add up to 0.9, not 1"},
    {CELL(share), 0, "cell 1: share is 0"},
    {CELL(front[0].mass), -1, "cell 1, outer front: mass is -1, must lie between 0 and 5000 kg/m2"},
    {CELL(front[1].mass), 0, "cell 1, inner front: mass is missing"},
    {CELL(front[0].board.thickness), 0, "cell 1, outer front: it cannot bend without a board"},
    {CELL(front[0].board.density), -1, "cell 1, outer front: board density is -1"},
    {CELL(front[0].mount.stiffness), 0, "cell 1, outer front: mount stiffness is 0"},
    {CELL(front[0].mount.loss), NAN, "cell 1, outer front: mount loss is nan"},
    {CELL(front[0].resistance), -3, "cell 1, outer front: resistance is -3"},
    {CELL(gap), 0.4,
     "cell 1: gap is 0.4, must lie between 0.001 m and the depth of the box, 0.3 m"},
    {CELL(gap), 0.285, "cell 1: fronts, gap and back take 0.306 m of 0.3 m depth"},
    {CELL(gap), 0, "cell 1: gap is 0,"},
    {CELL(leak), 1e-3, "cell 1: leak path is 0"},
    {offsetof(box, fill[0][0].thickness), 0.25,
     "cell 1, fill does not fit: its layers are 0.25 m thick together, there are 0.229 m"},
    {offsetof(box, fill[0][0].resistivity), 0, "cell 1, fill, layer 1 (porous): resistivity is 0"},
#undef BOX
#undef CELL
};

static void refuse(fixture *f, box *b, const char *says)
{
    ebb_ctx_clear(f->ctx);
    assert_int_equal(ebb_cabinet_prepare(f->ctx, f->arena, 0, &b->cabinet), EBB_E_RANGE);
    assert_int_equal(ebb_ctx_errors(f->ctx), 1);
    const char *text = ebb_ctx_message(f->ctx, 0)->text;
    if (!strstr(text, says))
        fail_msg("\"%s\" does not say \"%s\"", text, says);
}

static void bad_numbers_are_refused(void **state)
{
    box b;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        two_front_box(&b);
        memcpy((char *)&b + bad[i].offset, &bad[i].value, sizeof bad[i].value);
        refuse(*state, &b, bad[i].says);
    }
}

static void bad_parts_are_refused(void **state)
{
    box b;
    two_front_box(&b);
    b.cabinet.brace[0] = -1;
    refuse(*state, &b, "braces across the width is -1");
    two_front_box(&b);
    b.cabinet.n_cells = 0;
    refuse(*state, &b, "0 cells, must be 1 to 16");
    two_front_box(&b);
    b.cell[0].n_fronts = 3;
    refuse(*state, &b, "cell 1: 3 fronts, must be 1 or 2");
    b.cell[0].n_fronts = 1;
    refuse(*state, &b, "cell 1: a gap needs two fronts");
    two_front_box(&b);
    b.fill[0][0] = (ebb_layer){.kind = EBB_LAYER_MASS, .mass = 1};
    refuse(*state, &b, "layer 1 is neither air nor porous nor granular");
    two_front_box(&b);
    b.cell[0].n_between = 1;
    refuse(*state, &b, "cell 1, between the fronts: the layers are missing");
    two_front_box(&b); /* carbon that does not fit behind 200 mm of wool */
    b.fill[0][1] = (ebb_layer){.kind = EBB_LAYER_GRANULAR,
                               .thickness = 0.05,
                               .grains = {1.5e-3, 0.4, 0.5, 5, 5e-7, 3, 200, 500}};
    b.cell[0].n_fill = 2;
    refuse(*state, &b, "cell 1, fill does not fit: its layers are 0.25 m");
}

/* Boards that do not bend need no stiffness. */
static void what_is_not_used_is_not_asked_for(void **state)
{
    box b;
    two_front_box(&b);
    b.cabinet.rigid = true;
    b.cabinet.wall = (ebb_board){.thickness = 0.018, .density = 680};
    b.cell[0].front[0].bends = false;
    b.cell[0].front[0].board.modulus = 0;
    b.cell[0].front[0].mount.stiffness = 0;
    prepare(*state, &b);
    assert_null(b.cabinet.wall_plate);
    assert_null(b.cell[0].front[0].plate);
}

/* ---- preparation ----------------------------------------------------------------------------- */

static void stale_plates_go(void **state)
{
    box b;
    two_front_box(&b);
    prepare(*state, &b);
    assert_non_null(b.cell[0].front[0].plate);
    assert_null(b.cell[0].front[1].plate);
    assert_near(b.cell[0].front[0].plate->mass, 0.006 * 680 + 0.5, 1e-12);
    const double before = creal(b.cabinet.wall_plate[0]->lambda[0]);
    /* two braces more: the back is clamped in smaller pieces, 585 -> 292 mm high */
    b.cabinet.brace[1] = 3;
    b.cell[0].front[0].bends = false;
    prepare(*state, &b);
    assert_null(b.cell[0].front[0].plate);
    assert_true(creal(b.cabinet.wall_plate[0]->lambda[0]) > 4 * before);
    b.cabinet.rigid = true;
    prepare(*state, &b);
    assert_null(b.cabinet.wall_plate);
}

/* Memory runs out at every single place, one after the other. */
typedef struct meagre {
    int left;
} meagre;

static void *resize(void *user, void *pointer, size_t size)
{
    meagre *m = user;
    if (size == 0) {
        free(pointer);
        return NULL;
    }
    if (m->left <= 0)
        return NULL;
    m->left--;
    return realloc(pointer, size);
}

static void out_of_memory(void **unused)
{
    (void)unused;
    meagre m;
    const ebb_allocator allocator = {resize, &m};
    box b;
    ebb_status status = EBB_E_NOMEM;
    int failures = 0;
    for (int most = 3; status != EBB_OK && most < 200; most++) {
        m.left = most;
        ebb_ctx *ctx = ebb_ctx_new_with(&allocator);
        ebb_arena *arena = ctx ? ebb_arena_new(ctx) : NULL;
        if (arena) {
            two_front_box(&b);
            status = ebb_cabinet_prepare(ctx, arena, 3, &b.cabinet);
            assert_true(status == EBB_OK || status == EBB_E_NOMEM);
            failures += status == EBB_E_NOMEM;
        }
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
    }
    assert_int_equal(status, EBB_OK);
    assert_true(failures > 3);
}

/* ---- as an assembly -------------------------------------------------------------------------- */

static void a_box_is_an_assembly(void **state)
{
    fixture *f = *state;
    box b;
    two_front_box(&b);
    const ebb_assembly assembly = {.kind = EBB_ASSEMBLY_CABINET, .cabinet = &b.cabinet};
    ebb_ctx_clear(f->ctx);
    assert_int_equal(ebb_assembly_check(f->ctx, &assembly), EBB_E_RANGE);
    assert_non_null(strstr(ebb_ctx_message(f->ctx, 0)->text, "not been prepared"));
    prepare(f, &b);
    assert_int_equal(ebb_assembly_check(f->ctx, &assembly), EBB_OK);

    const double _Complex beta = ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, TWO_PI * 45);
    assert_close(ebb_assembly_beta(&assembly, &sample_air, NULL, TWO_PI * 45), beta, 1e-15);
    assert_near(ebb_assembly_alpha(&assembly, &sample_air, 45), ebb_alpha_normal(beta), 1e-15);
    assert_near(ebb_assembly_transmitted(&assembly, &sample_air, 45), 0, 0);
    ebb_weights w;
    ebb_cabinet_weights(&b.cabinet, &w);
    assert_near(ebb_assembly_mass(&assembly), w.total / 0.72, 1e-12);

    double low, high;
    const char *why;
    ebb_assembly_range(&assembly, &low, &high, &why);
    assert_near(high, 343 / 1.17, 1e-9);
    assert_non_null(strstr(why, "wavelength"));
    b.fill[0][0].model = EBB_POROUS_MIKI;
    ebb_assembly_range(&assembly, &low, &high, &why);
    assert_near(low, 50, 1e-9);

    const ebb_assembly none = {.kind = EBB_ASSEMBLY_CABINET};
    assert_int_equal(ebb_assembly_check(NULL, &none), EBB_E_RANGE);
}

static void centre_and_mean_of_a_front(void **state)
{
    box b;
    two_front_box(&b);
    prepare(*state, &b);
    ebb_motion m;
    const double omega = TWO_PI * 30;
    ebb_cabinet_motion(&b.cabinet, 0, &sample_air, NULL, omega, &m);
    const ebb_plate *plate = b.cell[0].front[0].plate;
    assert_close(m.centre[0] / m.velocity[0],
                 ebb_plate_centre(plate, 1, omega) / ebb_plate_mobility(plate, 1, omega), 1e-12);
    assert_close(m.centre[1], m.velocity[1], 1e-15);
    /* pressure that the front and its extra resistance carry */
    assert_close(1 - m.pressure[0], m.velocity[0] * (10 + 1 / ebb_plate_mobility(plate, 1, omega)),
                 1e-11);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(openings_and_depths),
        cmocka_unit_test(weights_by_hand),
        cmocka_unit_test(compliance_is_the_low_frequency_limit),
        cmocka_unit_test(compliance_by_hand),
        cmocka_unit_test(bad_numbers_are_refused),
        cmocka_unit_test(bad_parts_are_refused),
        cmocka_unit_test(what_is_not_used_is_not_asked_for),
        cmocka_unit_test(stale_plates_go),
        cmocka_unit_test(out_of_memory),
        cmocka_unit_test(a_box_is_an_assembly),
        cmocka_unit_test(centre_and_mean_of_a_front),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
