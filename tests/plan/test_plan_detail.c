/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan in detail: units one by one, slow modes, alternatives, and what fits together. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../../src/plan/trial.h"
#include "rooms.h"

/* A room in which a plan passes with something to spare, under limits a little wider than ours. */
static const char hall_text[] =
    "job: test\nuse: music\nlowest: 60 Hz\nallowance: {cover: 60 %, depth: 300 mm}\n"
    "limits: {response_worst: 8 dB, response_deviation: 4 dB}\n"
    "absorbers:\n"
    "  front: {face: [0.6 m, 1.2 m], depth: 200 mm, mass: 30 kg, cost: 400, layers: [{lumped: "
    "{mass: 3.2 kg/m2, resonance: 80 Hz, resistance: 413 Pa.s/m}}]}\n"
    "  wool: {face: [0.6 m, 1.2 m], depth: 150 mm, mass: 11 kg, cost: 120, hangs: [walls, "
    "ceiling], layers: [{porous: 145 mm, resistivity: 10 kPa.s/m2}]}\n"
    "rooms:\n"
    "  - name: study\n"
    "    size: [3.6 m, 2.8 m, 2.4 m]\n"
    "    surfaces: {walls: stud-wall, floor: timber-floor, ceiling: plaster-ceiling}\n"
    "    openings: [{on: wall_3, at: [0.3 m, 0 m], size: [0.85 m, 2 m], as: door}]\n"
    "    seats: [{name: seat, at: [2 m, 1.3 m, 1.2 m], zone: 0.4 m}]\n"
    "    speakers: [{name: left, at: [0.7 m, 1.9 m, 1.2 m]}, {name: right, at: [0.7 m, 0.9 m, "
    "1.2 m]}]\n";

typedef struct rig {
    scene *s;
    ebb_ctx *ctx;
    ebb_job *job;
    ebb_detail_effort effort;
    ebb_planned *plan;
} rig;

static int set_up_small(void **state)
{
    set_up_scene(state);
    rig *r = test_calloc(1, sizeof *r);
    r->s = *state;
    *state = r;
    r->ctx = r->s->ctx;
    r->job = r->s->job;
    ebb_detail_default(&r->effort);
    r->effort.curve = false; /* test_plan_curve has it */
    r->effort.search = (ebb_effort){.seed = 1, .starts = 1, .draws = 4, .swaps = 1};
    return 0;
}

static int set_up_hall(void **state)
{
    set_up_small(state);
    rig *r = *state;
    ebb_job_free(r->job);
    r->s->job = NULL;
    assert_ok(r->ctx,
              ebb_job_parse(r->ctx, hall_text, strlen(hall_text), "test", NULL, &r->s->job));
    r->job = r->s->job;
    return 0;
}

static int tear_down(void **state)
{
    rig *r = *state;
    ebb_planned_free(r->plan);
    *state = r->s;
    test_free(r);
    return tear_down_scene(state);
}

static const ebb_planned *planned(rig *r)
{
    assert_ok(r->ctx, ebb_plan_room(r->ctx, r->job, 0, &r->effort, &r->plan));
    return r->plan;
}

/* 12 m3 of brick: no plan makes it right, and the answer says so with the best one it has. */
static void nothing_passes_and_is_said(void **state)
{
    rig *r = *state;
    const ebb_planned *p = planned(r);
    assert_false(p->passes);
    assert_int_equal(p->answer->verdict, EBB_NO);
    assert_true(p->treatment == &p->answer->music && !p->answer->voice.asked);
    assert_true(p->answer->n_reasons > 0 && p->answer->n_stays > 0);
    assert_non_null(strstr(p->answer->reasons[0], "For music"));
    assert_int_equal(p->n_alternatives, 1);
    assert_int_equal(p->alternative[0].kind, EBB_PLAN_BEST);
    assert_false(p->alternative[0].passes);
}

/* What a unit is worth is the plan solved anew without it: the same as a trial by hand. */
static void a_gain_is_the_plan_without_the_unit(void **state)
{
    rig *r = *state;
    r->effort.doubt = false;
    const ebb_planned *p = planned(r);
    const ebb_layout *layout = &p->treatment->after.layout;
    assert_true(layout->n_placed > 2);
    assert_int_equal(p->n_gains, layout->n_placed);
    ebb_arena *arena = ebb_arena_new(r->ctx);
    ebb_stations stations;
    assert_ok(r->ctx, ebb_stations_make(r->ctx, arena, r->job, &r->job->rooms[0],
                                        &p->answer->limits, EBB_USE_MUSIC, &stations));
    size_t option[2];
    const ebb_bench bench = {.room = &r->job->rooms[0], .stations = &stations};
    assert_true(ebb_options_of(&bench, layout, option));
    ebb_layout short_of = *layout;
    short_of.placed = layout->placed + 1;
    short_of.n_placed--;
    ebb_layout_count(r->job, &r->job->rooms[0], &short_of);
    ebb_case made;
    assert_ok(r->ctx, ebb_case_make(r->ctx, arena, r->job, &r->job->rooms[0], &p->answer->limits,
                                    &stations, option, &short_of, &made, NULL));
    assert_true(made.reading.wrong == p->gain[0].wrong);
    assert_true(made.reading.margin == p->gain[0].margin);
    assert_true(p->gain[0].wrong != p->treatment->after.reading.wrong ||
                p->gain[0].margin != p->treatment->after.reading.margin);
    ebb_modes_free(made.modes);
    ebb_arena_free(arena);
}

static void slow_modes_are_the_worst_of_the_bare_room(void **state)
{
    rig *r = *state;
    r->effort.doubt = r->effort.gains = r->effort.alternatives = false;
    const ebb_planned *p = planned(r);
    assert_int_equal(p->n_slow, EBB_MOST_SLOW);
    assert_int_equal(p->n_gains, 0);
    assert_int_equal(p->doubt.draws, 0);
    const ebb_case *before = &p->treatment->before;
    const double highest = before->grid.band_hz[before->grid.n_bands - 1];
    for (size_t m = 0; m < before->modes->n; m++) {
        const ebb_mode *mode = &before->modes->mode[m];
        if (mode->hz < before->grid.band_hz[0] || mode->hz > highest)
            continue;
        const double limit = ebb_decay_limit(&p->answer->limits, EBB_USE_MUSIC,
                                             ebb_room_volume(p->answer->room), mode->hz);
        size_t i = 0;
        while (i < p->n_slow && p->slow[i].hz != mode->hz)
            i++;
        const ebb_slow_mode *least = &p->slow[p->n_slow - 1];
        assert_true(i < p->n_slow || mode->t60 / limit <= least->before / least->limit);
    }
    for (size_t i = 0; i < p->n_slow; i++)
        assert_true(isnan(p->slow[i].after) || p->slow[i].after < p->slow[i].before);
}

/* Each alternative passes, and saves what it is named for. */
static void cheaper_and_lighter_plans_pass(void **state)
{
    rig *r = *state;
    const ebb_planned *p = planned(r);
    assert_true(p->passes);
    assert_int_equal(p->answer->verdict, EBB_MUSIC);
    assert_int_equal(p->n_alternatives, 3);
    const ebb_alternative *best = &p->alternative[0], *cheap = &p->alternative[1];
    const ebb_alternative *light = &p->alternative[2];
    for (int i = 0; i < 3; i++) {
        assert_true(p->alternative[i].passes && p->alternative[i].odds.share >= 0.5);
        assert_int_equal(p->alternative[i].kind, i);
    }
    assert_true(cheap->layout.cost < best->layout.cost);
    assert_true(light->layout.mass < best->layout.mass);
    assert_true(light->layout.mass <= cheap->layout.mass + 1e-9);
    assert_true(cheap->layout.cost <= light->layout.cost + 1e-9);
    double cost = 0;
    for (size_t i = 0; i < cheap->layout.n_placed; i++)
        cost += r->job->absorbers[cheap->layout.placed[i].unit].cost;
    assert_near(cheap->layout.cost, cost, 1e-9);
}

static void units_that_were_there_stay(void **state)
{
    rig *r = *state;
    static ebb_placed there = {.unit = 1, .surface = 5, .at = {0.1, 0.1}};
    r->job->rooms[0].n_placed = 1;
    r->job->rooms[0].placed = &there;
    const ebb_planned *p = planned(r);
    assert_int_equal(p->n_gains, p->treatment->after.layout.n_placed - 1);
    for (size_t i = 0; i < p->n_gains; i++)
        assert_int_equal(p->gain[i].placed, i + 1);
    for (size_t i = 0; i < p->n_alternatives; i++) {
        assert_true(p->alternative[i].layout.n_placed >= 1);
        assert_memory_equal(&p->alternative[i].layout.placed[0].at, &there.at, sizeof there.at);
    }
}

static void without_absorbers_there_is_still_an_answer(void **state)
{
    rig *r = *state;
    r->job->n_units = 0;
    const ebb_planned *p = planned(r);
    assert_int_equal(p->n_gains, 0);
    assert_int_equal(p->n_alternatives, 1);
    assert_int_equal(p->alternative[0].layout.n_placed, 0);
    assert_int_equal(p->doubt.draws, 4);
}

static void nonsense_is_refused(void **state)
{
    rig *r = *state;
    assert_int_equal(ebb_plan_room(r->ctx, r->job, 1, &r->effort, &r->plan), EBB_E_RANGE);
    assert_null(r->plan);
    r->job->rooms[0].n_seats = 0;
    assert_int_equal(ebb_plan_room(r->ctx, r->job, 0, &r->effort, &r->plan), EBB_E_RANGE);
    assert_non_null(
        strstr(ebb_ctx_message(r->ctx, ebb_ctx_messages(r->ctx) - 1)->text, "no seats"));
    r->job->rooms[0].n_seats = 1;
    r->effort.search.starts = 0;
    assert_int_equal(ebb_plan_room(r->ctx, r->job, 0, &r->effort, &r->plan), EBB_E_RANGE);
    assert_null(r->plan);
    ebb_planned_free(NULL);
}

static void names_are_for_people(void **state)
{
    (void)state;
    assert_string_equal(ebb_alternative_name(EBB_PLAN_BEST), "best");
    assert_string_equal(ebb_alternative_name(EBB_PLAN_LIGHTEST), "lightest");
    assert_string_equal(ebb_unknown_name(EBB_UNKNOWN_WALLS), "walls");
    assert_string_equal(ebb_unknown_name(EBB_UNKNOWNS), "?");
    for (int u = 0; u < EBB_UNKNOWNS; u++)
        assert_true(strlen(ebb_unknown_measure((ebb_unknown)u)) > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(nothing_passes_and_is_said, set_up_small, tear_down),
        cmocka_unit_test_setup_teardown(a_gain_is_the_plan_without_the_unit, set_up_small,
                                        tear_down),
        cmocka_unit_test_setup_teardown(slow_modes_are_the_worst_of_the_bare_room, set_up_small,
                                        tear_down),
        cmocka_unit_test_setup_teardown(cheaper_and_lighter_plans_pass, set_up_hall, tear_down),
        cmocka_unit_test_setup_teardown(units_that_were_there_stay, set_up_hall, tear_down),
        cmocka_unit_test_setup_teardown(without_absorbers_there_is_still_an_answer, set_up_small,
                                        tear_down),
        cmocka_unit_test_setup_teardown(nonsense_is_refused, set_up_small, tear_down),
        cmocka_unit_test(names_are_for_people),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
