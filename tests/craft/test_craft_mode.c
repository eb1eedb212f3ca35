/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units against one mode: places, the single-mode model, the wave engine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "yard.h"

#define TWO_PI 6.28318530717958647692

/* 60 m3 with its first mode along x at 32.7 Hz, a door where that mode presses. Nearly all decay
 * comes from the constant admittance. */
static const char room_text[] = "job: Test room\nuse: music\n"
                                "constructions: {hard: {admittance: 0.004}}\n"
                                "rooms:\n"
                                "  - name: hall\n"
                                "    size: [5.25 m, 4.4 m, 2.6 m]\n"
                                "    surfaces: {all: hard}\n"
                                "    openings:\n"
                                "      - {on: wall_2, at: [0.3 m, 0 m], size: [0.9 m, 2 m], as: "
                                "door}\n"
                                "    seats: [{name: lead, at: [2.6 m, 2.2 m, 1.2 m]}]\n"
                                "    speakers: [{name: left, at: [0.6 m, 0.7 m, 1.2 m]}]\n";

typedef struct stage {
    yard *y;
    ebb_job *job;
    ebb_target target;
    ebb_craft_mode mode;
} stage;

static void open_stage(void **state, stage *s, size_t units)
{
    *s = (stage){.y = *state};
    assert_ok(s->y->ctx,
              ebb_job_parse(s->y->ctx, room_text, strlen(room_text), "room", NULL, &s->job));
    s->target = s->y->curve;
    s->target.goal = EBB_GOAL_MODE;
    s->target.depth[0] = 0.2;
    s->target.depth[1] = 0.35;
    s->target.tuning = (ebb_tuning){.job = s->job, .room = 0, .hz = 33, .units = units};
    assert_ok(s->y->ctx, ebb_craft_mode_find(s->y->ctx, s->y->arena, &s->target, &s->mode));
}

static void close_stage(stage *s)
{
    ebb_job_free(s->job);
}

static void the_nearest_mode_is_taken(void **state)
{
    stage s;
    open_stage(state, &s, 1);
    assert_int_equal(s.mode.label[0], 1);
    assert_int_equal(s.mode.label[1] + s.mode.label[2], 0);
    assert_near(s.mode.hz, s.job->air.speed / (2 * 5.25), 0.1);
    /* oblique side walls take half of what the end walls take: first order, 0.02 for the door */
    const double beta[6] = {0.004, 0.004, 0.004, 0.004, 0.004, 0.004};
    const int label[3] = {1, 0, 0};
    const double delta = ebb_box_delta(s.job->rooms[0].size, label, beta, s.job->air.speed);
    assert_near(s.mode.t60 * delta / 6.908, 1, 0.35);
    assert_true(s.mode.t60 * delta / 6.908 < 1); /* the door loses, too */
    close_stage(&s);
}

static void units_hang_where_the_mode_presses(void **state)
{
    stage s;
    open_stage(state, &s, 4);
    const ebb_room *room = &s.job->rooms[0];
    for (size_t i = 0; i < 4; i++) {
        const ebb_placed *a = &s.mode.placed[i];
        const double size[2] = {s.target.face[a->turned], s.target.face[!a->turned]};
        assert_int_equal(room->surfaces[a->surface].axis, 0); /* end walls */
        for (size_t k = 0; k < i; k++) {
            const ebb_placed *b = &s.mode.placed[k];
            const double other[2] = {s.target.face[b->turned], s.target.face[!b->turned]};
            assert_false(a->surface == b->surface && ebb_rect_overlap(a->at, size, b->at, other));
        }
        assert_false(a->surface == room->openings[0].surface &&
                     ebb_rect_overlap(a->at, size, room->openings[0].at, room->openings[0].size));
    }
    /* psi 1 on the whole wall, Lambda 1/2 */
    assert_near(s.mode.coupling, 4 * 0.72 / (0.5 * ebb_room_volume(room)), 1e-12);
    close_stage(&s);
}

static void too_many_units_find_no_place(void **state)
{
    stage s;
    open_stage(state, &s, 1);
    s.target.tuning.units = 60;
    assert_int_equal(ebb_craft_mode_find(s.y->ctx, s.y->arena, &s.target, &s.mode),
                     EBB_E_NOSOLUTION);
    assert_non_null(strstr(ebb_ctx_message(s.y->ctx, 0)->text, "no place"));
    close_stage(&s);
}

/* A pure resistance adds to the decay: the peak falls by the ratio of the decays. */
static void resistance_adds_to_the_decay(void **state)
{
    stage s;
    open_stage(state, &s, 2);
    ebb_craft_space space = {.target = &s.target, .air = s.y->library->air, .mode = &s.mode};
    ebb_craft_space_grid(&space);
    double _Complex beta[EBB_CRAFT_MOST_HZ];
    for (size_t i = 0; i < space.n_hz; i++)
        beta[i] = 0.02;
    const double delta = 6.908 / s.mode.t60;
    const double more = space.air.speed * 0.02 * s.mode.coupling / 2;
    assert_near(ebb_craft_mode_fall(&space, beta), 20 * log10(1 + more / delta), 0.02);
    for (size_t i = 0; i < space.n_hz; i++)
        beta[i] = 0;
    assert_near(ebb_craft_mode_fall(&space, beta), 0, 0.02);
    close_stage(&s);
}

/* A light wool box of which `trim` tunes the front. */
static ebb_craft_recipe tuned_box(const stage *s, double trim)
{
    const ebb_stock *stock = &s->target.stock;
    ebb_craft_recipe r = {.cells = 1,
                          .fronts = 1,
                          .face = {0.6, 1.2},
                          .depth = 0.3,
                          .wall = &stock->material[0],
                          .wall_thickness = 0.015,
                          .brace = {0, 1},
                          .wool = &stock->wool[0]};
    r.cell[0] = (ebb_craft_cell){.share = 1, .wool = 0.2};
    r.cell[0].front[0] = (ebb_craft_front){&stock->material[0], 0.009, 16, trim, &stock->strip[0]};
    return r;
}

/* The single-mode model against the coupled one. Without the air that moves along it would be off
 * by 0.8 dB and more: a front of 6 kg/m2 is tuned 4 % lower by it. */
static void compare(void **state, size_t units, double trim, double tolerance)
{
    stage s;
    open_stage(state, &s, units);
    const ebb_craft_recipe r = tuned_box(&s, trim);
    ebb_craft_merit m;
    ebb_cabinet *cabinet;
    ebb_unit unit = {.name = "tuned", .face = {0.6, 1.2}, .depth = 0.3, .piston = true};
    double wave;
    assert_ok(s.y->ctx, ebb_craft_judge(s.y->ctx, &s.target, &s.y->library->air, &r, true, &m));
    assert_ok(s.y->ctx, ebb_craft_cabinet(s.y->ctx, s.y->arena, &r, true, &cabinet));
    assert_ok(s.y->ctx, ebb_cabinet_prepare(s.y->ctx, s.y->arena, 0, cabinet));
    unit.assembly.kind = EBB_ASSEMBLY_CABINET;
    unit.assembly.cabinet = cabinet;
    assert_ok(s.y->ctx, ebb_craft_mode_wave(s.y->ctx, &s.target, &s.mode, &unit, &wave));
    assert_near(m.absorption, wave, tolerance);
    assert_true(wave > 0.3);
    close_stage(&s);
}

static void one_unit_agrees_with_the_wave_engine(void **state)
{
    compare(state, 1, 0, 0.2);
}

static void a_tuned_unit_agrees_with_the_wave_engine(void **state)
{
    compare(state, 1, 2.5, 0.5);
}

static void four_units_agree_with_the_wave_engine(void **state)
{
    compare(state, 4, 0, 0.4);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        yard_test(the_nearest_mode_is_taken),
        yard_test(units_hang_where_the_mode_presses),
        yard_test(too_many_units_find_no_place),
        yard_test(resistance_adds_to_the_decay),
        yard_test(one_unit_agrees_with_the_wave_engine),
        yard_test(a_tuned_unit_agrees_with_the_wave_engine),
        yard_test(four_units_agree_with_the_wave_engine),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
