/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Boxes with moving fronts, from their records. */
#include "shelf.h"

#include <math.h>

#define PI 3.14159265358979323846
#define FRONT "fronts: [{board: 6 mm plywood, mount: {strip: rubber-20x2}}], "

static const ebb_cabinet *cabinet_of(shelf *s, const char *body)
{
    const ebb_unit *u = unit_in(s, body);
    assert_int_equal(u->assembly.kind, EBB_ASSEMBLY_CABINET);
    assert_non_null(u->assembly.cabinet);
    return u->assembly.cabinet;
}

static void every_key_of_the_box_arrives(void **state)
{
    const ebb_cabinet *c =
        cabinet_of(*state, BOX_SIZE FRONT
                   "cabinet: {board: 18 mm mdf, braces: [1, 2], stands: built-in, rim: 25 mm, "
                   "frame: 3 kg, extra: 1.5 kg, air_loss: 0.01, loss: 0.03}, "
                   "fill: [{porous: 100 mm, wool: soft-wool}, {granular: 50 mm, batch: nominal}], "
                   "leak: {width: 0.5 mm}");
    assert_near(c->size[0], 0.6);
    assert_near(c->size[1], 1.2);
    assert_near(c->size[2], 0.3);
    assert_string_equal(c->wall.name, "mdf");
    assert_near(c->wall.thickness, 0.018);
    assert_near(c->wall.density, 750);
    assert_near(c->wall.modulus, 3.4e9);
    assert_near(c->wall.loss, 0.03);
    assert_true(c->brace[0] == 1 && c->brace[1] == 2 && c->built_in && !c->rigid);
    assert_near(c->rim, 0.025);
    assert_near(c->frame, 3);
    assert_near(c->extra, 1.5);
    assert_near(c->air_loss, 0.01);
    assert_int_equal(c->n_cells, 1);
    assert_near(c->cell->share, 1);
    assert_int_equal(c->cell->n_fill, 2);
    assert_near(c->cell->fill[1].thickness, 0.05);
    assert_near(c->cell->leak, 5e-4);
    assert_near(c->cell->leak_path, 0.018); /* through the board */
}

static void what_the_box_leaves_out(void **state)
{
    const ebb_unit *u = unit_in(*state, BOX_SIZE FRONT "cabinet: {board: 15 mm plywood}");
    const ebb_cabinet *c = u->assembly.cabinet;
    assert_true(!c->rigid && !c->built_in && c->brace[0] == 0 && c->rim == 0 && c->extra == 0);
    assert_near(c->air_loss, 0.005);
    assert_true(c->cell->n_fill == 0 && c->cell->leak == 0 && c->cell->gap == 0);
    assert_true(u->piston && u->on_walls && !u->on_ceiling);
    assert_string_equal(u->from, "");
}

static void fronts_of_every_kind(void **state)
{
    const ebb_cabinet *c = cabinet_of(
        *state, BOX_SIZE BOX_CABINET
        "fronts: [{board: 9 mm plywood, mass: 2 kg/m2, resistance: 40 Pa.s/m, loss: 0.05, "
        "mount: {stiffness: 2 kN/m2, rotation: 0.5 N, loss: 0.2}}, "
        "{mass: 12 kg/m2, mount: {strip: foam-10x10}}], gap: 40 mm, "
        "between: [{air: 10 mm}, {porous: 20 mm, resistivity: 5 kPa.s/m2}]");
    const ebb_front *outer = &c->cell->front[0], *inner = &c->cell->front[1];
    assert_int_equal(c->cell->n_fronts, 2);
    assert_near(c->cell->gap, 0.04);
    assert_int_equal(c->cell->n_between, 2);
    assert_near(c->cell->between[1].resistivity, 5000);
    assert_true(outer->bends && !inner->bends);
    assert_string_equal(outer->board.name, "plywood");
    assert_near(outer->board.thickness, 0.009);
    assert_near(outer->board.loss, 0.05);
    assert_near(outer->mass, 2);
    assert_near(outer->resistance, 40);
    assert_near(outer->mount.stiffness, 2000);
    assert_near(outer->mount.rotation, 0.5);
    assert_near(outer->mount.loss, 0.2);
    assert_true(inner->board.thickness == 0);
    assert_string_equal(inner->board.name, "");
    assert_near(inner->mass, 12);
    assert_near(inner->mount.stiffness, 2e5); /* E w/t of the strip */
    assert_near(inner->mount.loss, 0.2);
}

/* A free strip bends, guided at both ends: E t^3/b^3 = 2e6 x 8e-9 / 8e-6 = 2000 N/m2. */
static void strips_are_named_in_the_unit(void **state)
{
    const ebb_unit *u = unit_in(*state, BOX_SIZE FRONT BOX_CABINET);
    const ebb_mount *mount = &u->assembly.cabinet->cell->front[0].mount;
    assert_near(mount->stiffness, 2000);
    assert_near(mount->loss, 0.1);
    assert_string_equal(ebb_unit_origin(u, mount)->name, "rubber-20x2");
    assert_null(ebb_unit_origin(u, u->assembly.cabinet));
}

/* k P = w^2 m S, by hand: opening 0.57 x 1.17 m, 6 mm of plywood 3.72 kg/m2, and 1 kg/m2 on it. */
static void a_resonance_sets_the_stiffness_of_the_rim(void **state)
{
    const ebb_cabinet *c =
        cabinet_of(*state, BOX_SIZE BOX_CABINET "fronts: [{board: 6 mm plywood, mass: 1 kg/m2, "
                                                "mount: {resonance: 12 Hz}}]");
    const double omega = 2 * PI * 12;
    assert_near(c->cell->front[0].mount.stiffness,
                omega * omega * (0.006 * 620 + 1) * 0.57 * 1.17 / (2 * (0.57 + 1.17)));
    assert_near(c->cell->front[0].mount.loss, 0.1);
}

static void a_board_of_unknown_stiffness_may_stay_stiff(void **state)
{
    const ebb_cabinet *c =
        cabinet_of(*state, BOX_SIZE "cabinet: {board: 15 mm, density: 600 kg/m3, rigid: yes}, "
                                    "fronts: [{board: 6 mm, density: 700 kg/m3, bends: no, "
                                    "mount: {stiffness: 1 kN/m2}}]");
    assert_true(c->rigid && c->wall.modulus == 0);
    assert_true(!c->cell->front[0].bends && c->cell->front[0].board.modulus == 0);
    assert_near(c->cell->front[0].board.density, 700);
}

static void cells_side_by_side(void **state)
{
    const ebb_unit *u =
        unit_in(*state, BOX_SIZE BOX_CABINET
                "cells: [{share: 40 %, " FRONT "leak: {width: 1 mm, path: 20 mm}}, {share: 0.6, "
                "fronts: [{mass: 9 kg/m2, mount: {resonance: 10 Hz}}], "
                "fill: [{porous: 0.2 m, wool: wool}]}]");
    const ebb_cabinet *c = u->assembly.cabinet;
    assert_int_equal(c->n_cells, 2);
    assert_near(c->cell[0].share, 0.4);
    assert_near(c->cell[1].share, 0.6);
    assert_near(c->cell[0].leak_path, 0.02);
    assert_near(c->cell[1].fill[0].resistivity, 12000);
    double side[2];
    ebb_cabinet_opening(c, 1, side);
    const double omega = 2 * PI * 10;
    assert_near(c->cell[1].front[0].mount.stiffness,
                omega * omega * 9 * side[0] * side[1] / (2 * (side[0] + side[1])));
    assert_int_equal(u->n_origins, 2);
}

static void the_parts_give_the_weight(void **state)
{
    const ebb_unit *u = unit_in(*state, BOX_SIZE BOX_CABINET FRONT "fill: [{porous: 0.2 m, "
                                                                   "wool: wool}]");
    ebb_weights weights;
    ebb_cabinet_weights(u->assembly.cabinet, &weights);
    assert_false(u->weighed);
    assert_near(u->mass, weights.total);
    assert_true(u->mass > 5);
    u = unit_in(*state, BOX_SIZE BOX_CABINET FRONT "mass: 90 kg");
    assert_true(u->weighed);
    assert_near(u->mass, 90);
    assert_int_equal(ebb_ctx_messages(((shelf *)*state)->ctx), 0);
}

static void a_given_weight_below_that_of_the_parts_is_warned_about(void **state)
{
    shelf *s = *state;
    const ebb_unit *u = unit_in(s, BOX_SIZE BOX_CABINET FRONT "mass: 2 kg");
    assert_near(u->mass, 2);
    assert_int_equal(ebb_ctx_messages(s->ctx), 1);
    assert_int_equal(ebb_ctx_errors(s->ctx), 0);
    assert_string_equal(ebb_ctx_message(s->ctx, 0)->place.key, "absorbers.box.mass");
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, "weighs 2.0 kg"));
}

/* Everything that is in a box of 300 mm with walls of 15 mm and a front of 6 mm: 279 mm. */
static void fill_may_take_the_depth_exactly(void **state)
{
    unit_in(*state, BOX_SIZE BOX_CABINET FRONT "fill: [{porous: 279 mm, wool: wool}]");
    one_library_fault(*state,
                      LIBRARY "absorbers: {box: {" BOX_SIZE BOX_CABINET FRONT
                              "fill: [{porous: 200 mm, wool: wool}, {air: 80 mm}]}}\n",
                      "absorbers.box.fill", "280 mm thick together");
}

static void a_job_may_hold_boxes_too(void **state)
{
    fixture f = {.ctx = ebb_ctx_new()};
    (void)state;
    const ebb_job *job =
        good_job(&f, HEAD "absorbers:\n  box: {" BOX_SIZE BOX_CABINET FRONT "cost: 3}\n" ROOM);
    assert_int_equal(job->absorbers[0].assembly.kind, EBB_ASSEMBLY_CABINET);
    const double alpha = ebb_assembly_alpha(&job->absorbers[0].assembly, &job->air, 50);
    assert_true(alpha >= 0 && alpha <= 1);
    ebb_job_free(f.job);
    ebb_ctx_free(f.ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHELF_TEST(every_key_of_the_box_arrives),
        SHELF_TEST(what_the_box_leaves_out),
        SHELF_TEST(fronts_of_every_kind),
        SHELF_TEST(strips_are_named_in_the_unit),
        SHELF_TEST(a_resonance_sets_the_stiffness_of_the_rim),
        SHELF_TEST(a_board_of_unknown_stiffness_may_stay_stiff),
        SHELF_TEST(cells_side_by_side),
        SHELF_TEST(the_parts_give_the_weight),
        SHELF_TEST(a_given_weight_below_that_of_the_parts_is_warned_about),
        SHELF_TEST(fill_may_take_the_depth_exactly),
        cmocka_unit_test(a_job_may_hold_boxes_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
