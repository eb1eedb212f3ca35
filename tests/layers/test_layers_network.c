/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Boxes against two other ways to compute them (two_ways.h), and what any network must obey:
 * energy, analyticity.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "check.h"
#include "samples.h"

#include "boxes.h"
#include "two_ways.h"

#define ORDER 4 /* functions per side of a plate: enough for the network, fast */

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
    if (ebb_cabinet_prepare(f->ctx, f->arena, ORDER, &b->cabinet) != EBB_OK)
        fail_msg("%s", ebb_ctx_message(f->ctx, 0)->text);
}

/* Plates pile up in an arena: a new one for every few hundred boxes. */
static void fresh_arena(fixture *f)
{
    ebb_arena_free(f->arena);
    f->arena = ebb_arena_new(f->ctx);
    assert_non_null(f->arena);
}

/* ---- comparisons ------------------------------------------------------------------------------
 */

static void built_in_boxes_are_chains(void **state)
{
    fixture *f = *state;
    uint64_t random = 4242;
    box b;
    for (int trial = 0; trial < 150; trial++) {
        draw_box(&random, false, &b);
        b.cabinet.built_in = true;
        for (size_t i = 0; i < b.cabinet.n_cells; i++) {
            b.cell[i].leak = 0;
            for (size_t k = 0; k < BOX_LAYERS; k++)
                if (b.fill[i][k].model == EBB_POROUS_MIKI ||
                    b.between[i][k].model == EBB_POROUS_MIKI)
                    b.fill[i][k].model = b.between[i][k].model = EBB_POROUS_JCA;
        }
        prepare(f, &b);
        for (double hz = 11; hz < 400; hz *= 2.3) {
            const double _Complex omega = TWO_PI * hz + (trial % 3 ? 0 : 4 * I);
            double _Complex flow = 0;
            for (size_t i = 0; i < b.cabinet.n_cells; i++)
                flow += by_matrices(&b.cabinet, i, omega);
            assert_close(ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, omega),
                         to_beta(&b.cabinet, flow), 1e-9);
        }
    }
}

static void same(const char *what, double _Complex got, double _Complex want, double scale)
{
    if (!(cabs(got - want) <= 1e-9 * scale))
        fail_msg("%s: got %.12g%+.12gj, by nodes %.12g%+.12gj", what, creal(got), cimag(got),
                 creal(want), cimag(want));
}

static void free_standing_boxes_by_nodes(void **state)
{
    fixture *f = *state;
    uint64_t random = 777;
    box b;
    for (int trial = 0; trial < 150; trial++) {
        draw_box(&random, false, &b);
        for (size_t i = 0; i < b.cabinet.n_cells; i++)
            for (size_t k = 0; k < BOX_LAYERS; k++)
                b.fill[i][k].model = b.between[i][k].model =
                    trial % 2 ? EBB_POROUS_JCA : EBB_POROUS_LIMP;
        prepare(f, &b);
        for (double hz = 11; hz < 300; hz *= 2.3) {
            const double _Complex omega = TWO_PI * hz + (trial % 3 ? 0 : 4 * I);
            double _Complex flow = 0;
            for (size_t i = 0; i < b.cabinet.n_cells; i++) {
                ebb_motion got, want;
                flow += by_nodes(&b.cabinet, i, omega, &want);
                ebb_cabinet_motion(&b.cabinet, i, &sample_air, NULL, omega, &got);
                const double fast = cabs(want.velocity[0]) + cabs(want.velocity[1]);
                for (int k = 0; k < 2; k++) {
                    same("velocity", got.velocity[k], want.velocity[k], fast);
                    same("pressure", got.pressure[k], want.pressure[k], 1 + cabs(want.pressure[0]));
                }
                same("leak", got.leak, want.leak, cabs(want.leak) + fast);
            }
            assert_close(ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, omega),
                         to_beta(&b.cabinet, flow), 1e-9);
        }
    }
}

/* ---- laws -------------------------------------------------------------------------------------
 */

/* With all loss in the extra resistances of the fronts, what goes in is what they burn. */
static void energy_goes_where_the_loss_is(void **state)
{
    box b;
    two_front_box(&b);
    b.cabinet.air_loss = b.cabinet.wall.loss = 0;
    b.cell[0].n_fill = 0;
    for (int k = 0; k < 2; k++)
        b.cell[0].front[k].mount.loss = b.cell[0].front[k].board.loss = 0;
    for (int free = 0; free < 2; free++) {
        b.cabinet.built_in = !free;
        prepare(*state, &b);
        for (double hz = 15; hz < 300; hz *= 1.3) {
            ebb_motion m;
            double side[2];
            ebb_cabinet_opening(&b.cabinet, 0, side);
            ebb_cabinet_motion(&b.cabinet, 0, &sample_air, NULL, TWO_PI * hz, &m);
            const double burnt =
                side[0] * side[1] *
                (10 * pow(cabs(m.velocity[0]), 2) + 30 * pow(cabs(m.velocity[1]), 2));
            const double _Complex beta =
                ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, TWO_PI * hz);
            assert_near(creal(beta), to_beta(&b.cabinet, burnt), 1e-9 * cabs(beta));
        }
    }
}

static void thousands_of_boxes_give_no_energy(void **state)
{
    fixture *f = *state;
    uint64_t random = 20240229;
    box b;
    for (int trial = 0; trial < 3000; trial++) {
        if (trial % 300 == 0)
            fresh_arena(f);
        draw_box(&random, true, &b);
        prepare(f, &b);
        for (int i = 0; i < 12; i++) {
            const double hz = draw_log(&random, 1, 2000);
            const double _Complex beta =
                ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, TWO_PI * hz);
            if (!(creal(beta) >= 0 && isfinite(creal(beta)) && isfinite(cimag(beta))))
                fail_msg("box %d at %g Hz: admittance %g%+gj", trial, hz, creal(beta), cimag(beta));
        }
    }
}

/* beta is a function of omega, not of its conjugate. */
static void admittance_is_analytic(void **state)
{
    box b;
    two_front_box(&b);
    b.cell[0].leak = 5e-4;
    b.cell[0].leak_path = 0.018;
    prepare(*state, &b);
    for (double hz = 20; hz < 200; hz *= 1.5) {
        const double _Complex omega = TWO_PI * hz + 5 * I;
        const double h = 1e-3;
#define AT(step) ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, omega + (step))
        const double _Complex along = (AT(h) - AT(-h)) / (2 * h);
        const double _Complex across = (AT(I * h) - AT(-I * h)) / (2 * I * h);
#undef AT
        assert_close(along, across, 1e-6);
    }
}

/* Cells of one kind side by side are one box as long as the boards between take nothing. */
static void cells_add_by_area(void **state)
{
    fixture *f = *state;
    box one[2], both;
    const double t = 1e-4; /* a wall that takes next to no width */
    double _Complex beta[2];
    for (int i = 0; i < 2; i++) {
        plain_box(&one[i]);
        one[i].cabinet.rigid = true;
        one[i].cabinet.rim = 0;
        one[i].cabinet.wall.thickness = t;
        one[i].cabinet.size[0] = 2 * t + (i ? 0.4 : 0.2);
        one[i].cell[0].front[0].mass = i ? 3.5 : 7.2;
        prepare(f, &one[i]);
    }
    both = one[0];
    both.cabinet.n_cells = 2;
    both.cabinet.cell = both.cell;
    both.cabinet.size[0] = 3 * t + 0.6;
    both.cell[0].share = 1 / 3.;
    both.cell[1] = one[1].cell[0];
    both.cell[1].share = 2 / 3.;
    prepare(f, &both);
    for (double hz = 20; hz < 150; hz *= 1.4) {
        for (int i = 0; i < 2; i++)
            beta[i] = ebb_cabinet_beta(&one[i].cabinet, &sample_air, NULL, TWO_PI * hz) *
                      one[i].cabinet.size[0];
        assert_close(ebb_cabinet_beta(&both.cabinet, &sample_air, NULL, TWO_PI * hz),
                     (beta[0] + beta[1]) / both.cabinet.size[0], 1e-11);
    }
}

static void a_plain_box_is_its_layers(void **state)
{
    box b;
    plain_box(&b);
    b.cabinet.rigid = true;
    prepare(*state, &b);
    double side[2];
    ebb_cabinet_opening(&b.cabinet, 0, side);
    const double area = side[0] * side[1];
    const double across = (side[0] + 0.04) * (side[1] + 0.04);
    /* referred to the opening, the fill is as much softer as it is larger across */
    ebb_layer layers[] = {{.kind = EBB_LAYER_LUMPED,
                           .mass = 4,
                           .stiffness = 2e3 * 2 * (side[0] + side[1]) / area,
                           .loss = 0.2,
                           .resistance = 30},
                          {.kind = EBB_LAYER_AIR,
                           .thickness = ebb_cabinet_cavity(&b.cabinet, 0) - 0.2,
                           .loss = 0.005},
                          b.fill[0][0]};
    for (double hz = 20; hz < 250; hz *= 1.3) {
        const double _Complex omega = TWO_PI * hz;
        const double _Complex front = impedance(layers, 1, EBB_BACK_OUTDOORS, omega) - 1;
        const double _Complex z =
            front + impedance(layers + 1, 2, EBB_BACK_RIGID, omega) * area / across;
        assert_close(ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, omega), area / (0.6 * 1.2) / z,
                     1e-10);
    }
}

/* Stiffnesses and resistances of everything, and the whole. */
static void variations_reach_everything(void **state)
{
    box b, changed;
    const ebb_variation vary = {1.3, 0.6, 1.1}, damped = {1, 0.6, 1};
    const double omega = TWO_PI * 40;
    two_front_box(&b);
    prepare(*state, &b);
    changed = b;
    changed.cabinet.cell = changed.cell;
    changed.cell[0].fill = changed.fill[0];
    changed.fill[0][0].resistivity *= 0.6;
    changed.fill[0][0].viscous_length = changed.fill[0][0].thermal_length = 0;
    changed.cell[0].front[0].resistance *= 0.6;
    changed.cell[0].front[1].resistance *= 0.6;
    prepare(*state, &changed);
    assert_close(ebb_cabinet_beta(&b.cabinet, &sample_air, &damped, omega),
                 ebb_cabinet_beta(&changed.cabinet, &sample_air, NULL, omega), 1e-12);
    /* all springs stiffer by s is all frequencies up by sqrt(s), where only springs and masses
     * are */
    b.cell[0].n_fill = 0;
    b.cell[0].front[0].resistance = b.cell[0].front[1].resistance = 0;
    prepare(*state, &b);
    const double root = sqrt(1.3);
    assert_close(ebb_cabinet_beta(&b.cabinet, &sample_air, &vary, omega * root),
                 1.1 / root * ebb_cabinet_beta(&b.cabinet, &sample_air, NULL, omega), 1e-11);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(built_in_boxes_are_chains),
        cmocka_unit_test(free_standing_boxes_by_nodes),
        cmocka_unit_test(energy_goes_where_the_loss_is),
        cmocka_unit_test(thousands_of_boxes_give_no_energy),
        cmocka_unit_test(admittance_is_analytic),
        cmocka_unit_test(cells_add_by_area),
        cmocka_unit_test(a_plain_box_is_its_layers),
        cmocka_unit_test(variations_reach_everything),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
