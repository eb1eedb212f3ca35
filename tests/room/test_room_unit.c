/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "helper.h"

#include <math.h>

#define SIZE "face: [600 mm, 1.2 m], depth: 0.3 m, mass: 42 kg, "

static const ebb_unit *unit_of(fixture *f, const char *body)
{
    char text[2048];
    snprintf(text, sizeof text, HEAD "absorbers:\n  deep: {%s}\n" ROOM, body);
    const ebb_job *job = good_job(f, text);
    assert_int_equal(job->n_units, 1);
    return job->absorbers;
}

static void every_key_arrives(void **state)
{
    const ebb_unit *u = unit_of(
        *state, SIZE "cost: 320, moves: pointwise, hangs: [ceiling, walls], back: outdoors, "
                     "layers: [{mass: 4 kg/m2}, {air: 0.2 m}], "
                     "absorption: [0.5, 0.4, 0.3, 0.2, 0.1, 0]");
    assert_string_equal(u->name, "deep");
    assert_near(u->face[0], 0.6);
    assert_near(u->face[1], 1.2);
    assert_near(u->depth, 0.3);
    assert_near(u->mass, 42);
    assert_near(u->cost, 320);
    assert_false(u->piston);
    assert_true(u->on_walls && u->on_ceiling);
    assert_int_equal(u->assembly.back, EBB_BACK_OUTDOORS);
    assert_int_equal(u->assembly.n_layers, 2);
    assert_near(u->alpha[0], 0.5);
    assert_near(u->alpha[5], 0);
}

static void what_is_left_out(void **state)
{
    const ebb_unit *u = unit_of(*state, SIZE "layers: [{porous: 0.2 m, resistivity: 8 kPa.s/m2}]");
    assert_true(u->cost == 0 && u->on_walls && !u->on_ceiling);
    assert_int_equal(u->assembly.back, EBB_BACK_RIGID);
    assert_true(isnan(u->alpha[0]));
}

static void hanging_on_the_ceiling_alone(void **state)
{
    const ebb_unit *u = unit_of(*state, SIZE "admittance: 0.5, hangs: [ceiling]");
    assert_true(!u->on_walls && u->on_ceiling);
}

static void a_stiff_front_moves_as_one(void **state)
{
    static const struct {
        const char *body;
        bool piston;
    } cases[] = {
        {"layers: [{lumped: {mass: 4 kg/m2, resonance: 40 Hz}}]", true},
        {"layers: [{mass: 4 kg/m2}, {air: 0.2 m}]", true},
        {"layers: [{panel: 6 mm plywood}, {air: 0.2 m}]", true},
        {"layers: [{porous: 50 mm, resistivity: 8 kPa.s/m2}, {mass: 4 kg/m2}]", false},
        {"layers: [{screen: 400 Pa.s/m}, {air: 0.2 m}]", false},
        {"layers: [{air: 0.2 m}]", false},
        {"admittance: 0.5", false},
        {"admittance: 0.5, moves: piston", true},
        {"layers: [{mass: 4 kg/m2}, {air: 0.2 m}], moves: pointwise", false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char body[300];
        snprintf(body, sizeof body, SIZE "%s", cases[i].body);
        assert_int_equal(unit_of(*state, body)->piston, cases[i].piston);
    }
}

/* 0.72 m2 of 80 kg/m2 are 57.6 kg: more than the whole. Odd, but possible to model. */
static void a_unit_lighter_than_its_layers_is_warned_about(void **state)
{
    fixture *f = *state;
    unit_of(f, SIZE "layers: [{mass: 80 kg/m2}, {air: 0.2 m}]");
    assert_int_equal(ebb_ctx_messages(f->ctx), 1);
    assert_int_equal(ebb_ctx_errors(f->ctx), 0);
    const ebb_message *m = ebb_ctx_message(f->ctx, 0);
    assert_string_equal(m->place.key, "absorbers.deep.mass");
    assert_non_null(strstr(m->text, "57.6 kg"));
}

static void layers_may_fill_the_depth_exactly(void **state)
{
    unit_of(*state, SIZE "layers: [{panel: 20 mm mdf}, {air: 280 mm}]");
    one_fault(*state,
              HEAD "absorbers:\n  deep: {" SIZE
                   "layers: [{panel: 20 mm mdf}, {air: 281 mm}]}\n" ROOM,
              "absorbers.deep.depth", "301 mm thick");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(every_key_arrives),
        TEST(what_is_left_out),
        TEST(hanging_on_the_ceiling_alone),
        TEST(a_stiff_front_moves_as_one),
        TEST(a_unit_lighter_than_its_layers_is_warned_about),
        TEST(layers_may_fill_the_depth_exactly),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
