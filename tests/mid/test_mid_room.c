/* SPDX-License-Identifier: GPL-3.0-or-later */
#include <ebb/mid.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "../expect.h"

#define NONE                                                                                       \
    {                                                                                              \
        NAN, NAN, NAN, NAN, NAN, NAN                                                               \
    }
#define ALL(x)                                                                                     \
    {                                                                                              \
        x, x, x, x, x, x                                                                           \
    }

static const ebb_layer wool = {
    .kind = EBB_LAYER_POROUS, .thickness = 0.1, .resistivity = 2e4, .model = EBB_POROUS_MIKI};

/* A room of 5 x 4 x 3 m with hard walls (alpha .05), a floor that depends on the octave, one door
 * and two kinds of unit. */
typedef struct scene {
    ebb_ctx *ctx;
    ebb_job job;
    ebb_construction constructions[3];
    ebb_unit units[2];
    ebb_room room;
    ebb_surface surfaces[6];
    ebb_opening openings[1];
} scene;

static ebb_surface surface(const char *name, double along, double up)
{
    ebb_surface made = {.range = {{0, along}, {0, up}}};
    strcpy(made.name, name);
    return made;
}

static void build(scene *s)
{
    const ebb_assembly hard = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.01};
    s->constructions[0] = (ebb_construction){"wall", "", hard, ALL(0.05), false};
    s->constructions[1] =
        (ebb_construction){"floor", "", hard, {0.1, 0.2, 0.3, 0.4, 0.5, 0.6}, false};
    s->constructions[2] = (ebb_construction){"door", "", hard, NONE, false};
    s->units[0] = (ebb_unit){.name = "tuned", .face = {0.6, 1.2}, .alpha = ALL(0.3)};
    s->units[1] =
        (ebb_unit){.name = "wool", .face = {1, 1.5}, .assembly = {.n_layers = 1, .layers = &wool}};
    for (int i = 0; i < EBB_OCTAVES; i++)
        s->units[1].alpha[i] = NAN;
    const ebb_surface surfaces[6] = {surface("floor", 5, 4),  surface("ceiling", 5, 4),
                                     surface("wall_1", 5, 3), surface("wall_2", 4, 3),
                                     surface("wall_3", 5, 3), surface("wall_4", 4, 3)};
    memcpy(s->surfaces, surfaces, sizeof surfaces);
    s->surfaces[0].construction = 1;
    s->openings[0] = (ebb_opening){.surface = 3, .size = {0.9, 2}, .construction = 2};
    s->room = (ebb_room){.name = "test",
                         .size = {5, 4, 3},
                         .n_surfaces = 6,
                         .surfaces = s->surfaces,
                         .n_openings = 1,
                         .openings = s->openings};
    s->job = (ebb_job){.n_constructions = 3,
                       .constructions = s->constructions,
                       .n_units = 2,
                       .absorbers = s->units};
    ebb_air_given(s->ctx, 343, 1.204, &s->job.air);
}

static int new_scene(void **state)
{
    scene *made = calloc(1, sizeof *made);
    if (!made)
        return -1;
    made->ctx = ebb_ctx_new();
    build(made);
    *state = made;
    return made->ctx ? 0 : -1;
}

static int free_scene(void **state)
{
    ebb_ctx_free(((scene *)*state)->ctx);
    free(*state);
    return 0;
}

static ebb_mid solve(scene *s, size_t n, const ebb_placed *placed)
{
    ebb_mid mid;
    assert_int_equal(ebb_mid_room(s->ctx, &s->job, &s->room, n, placed, &mid), EBB_OK);
    return mid;
}

static void areas_by_hand(void **state)
{
    scene *s = *state;
    const double door = 1.8, alpha_door = ebb_alpha_diffuse(0.01);
    const ebb_mid mid = solve(s, 0, NULL);
    for (int i = 0; i < EBB_OCTAVES; i++) {
        assert_near(mid.hz[i], 125 * (1 << i), 0);
        assert_near(mid.area[i],
                    20 * s->constructions[1].alpha[i] + (94 - 20 - door) * 0.05 + door * alpha_door,
                    1e-12);
    }
}

static void units_replace_what_is_behind_them(void **state)
{
    scene *s = *state;
    const ebb_mid bare = solve(s, 0, NULL);
    const ebb_placed placed[3] = {{.unit = 0, .surface = 2},
                                  {.unit = 0, .surface = 0},
                                  {.unit = 1, .surface = 1, .turned = true}};
    const ebb_mid treated = solve(s, 3, placed);
    for (int i = 0; i < EBB_OCTAVES; i++) {
        const double alpha_wool =
            ebb_mid_alpha(&s->units[1].assembly, s->units[1].alpha, &s->job.air, i);
        assert_near(treated.area[i] - bare.area[i],
                    0.72 * (0.3 - 0.05) + 0.72 * (0.3 - s->constructions[1].alpha[i]) +
                        1.5 * (alpha_wool - 0.05),
                    1e-12);
    }
}

static void eyring_with_air(void **state)
{
    scene *s = *state;
    const ebb_mid mid = solve(s, 0, NULL);
    for (int i = 0; i < EBB_OCTAVES; i++) {
        const double mean = mid.area[i] / 94;
        const double whole = -94 * log(1 - mean) + 4 * 60 * ebb_air_loss(&s->job.air, mid.hz[i]);
        assert_near(mid.t60[i], 24 * log(10) * 60 / (343 * whole), 1e-12);
    }
    assert_near(mid.schroeder, 2000 * sqrt((mid.t60[2] + mid.t60[3]) / 2 / 60), 1e-9);
    assert_near(mid.speech_index, ebb_speech_index(mid.t60, INFINITY), 0);
}

static void full_absorption_is_held_and_warned(void **state)
{
    scene *s = *state;
    s->room.n_openings = 0;
    for (int i = 0; i < EBB_OCTAVES; i++)
        s->constructions[0].alpha[i] = s->constructions[1].alpha[i] = i ? 0.5 : 1.1;
    const ebb_mid mid = solve(s, 0, NULL);
    assert_near(mid.area[0], 1.1 * 94, 1e-9); /* what was given is kept */
    assert_near(mid.t60[0], 24 * log(10) * 60 / (343 * -94 * log(0.01)), 1e-3);
    assert_int_equal(ebb_ctx_errors(s->ctx), 0);
    assert_int_equal(ebb_ctx_messages(s->ctx), 1);
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, "1.10 at 125 Hz"));
}

/* A much finer average on a logarithmic scale. */
static double fine_average(const ebb_assembly *assembly, const ebb_air *air, double middle)
{
    double sum = 0;
    for (int i = 0; i < 2000; i++) {
        const double hz = middle * pow(2, (i + 0.5) / 2000 - 0.5);
        sum += ebb_alpha_diffuse(ebb_assembly_beta(assembly, air, NULL, 2 * 3.14159265358979 * hz));
    }
    return sum / 2000;
}

static void assembly_is_averaged_over_the_octave(void **state)
{
    scene *s = *state;
    const ebb_unit *unit = &s->units[1];
    const double got = ebb_mid_alpha(&unit->assembly, unit->alpha, &s->job.air, 1);
    assert_near(got, fine_average(&unit->assembly, &s->job.air, 250), 2e-3);
    assert_near(ebb_mid_alpha(&unit->assembly, NULL, &s->job.air, 1), got, 0);
    const double mixed[EBB_OCTAVES] = {NAN, 0.7, NAN, NAN, NAN, NAN};
    assert_near(ebb_mid_alpha(&unit->assembly, mixed, &s->job.air, 1), 0.7, 0);
    assert_true(ebb_mid_alpha(&unit->assembly, mixed, &s->job.air, 2) != 0.7);

    /* a resonator whose peak is much narrower than the octave */
    const ebb_layer sharp = {
        .kind = EBB_LAYER_LUMPED, .mass = 8, .resistance = 413, .stiffness = 4.9e6};
    const ebb_assembly tuned = {.n_layers = 1, .layers = &sharp};
    const double fine = fine_average(&tuned, &s->job.air, 125);
    assert_near(ebb_mid_alpha(&tuned, NULL, &s->job.air, 0), fine, 0.05 * fine);
}

/* Miki with sigma 20000 starts at 200 Hz: the octaves 125 and 250 Hz reach below it. */
static void warned_outside_the_range_of_a_formula(void **state)
{
    scene *s = *state;
    const ebb_placed placed = {.unit = 1, .surface = 1};
    solve(s, 1, &placed);
    assert_int_equal(ebb_ctx_messages(s->ctx), 2);
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, "wool has no octave table"));
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, "125 Hz"));
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 1)->text, "Miki"));
}

/* The room must be refused with a last message that holds `says`. */
static void refuse(scene *s, size_t n, const ebb_placed *placed, const char *says)
{
    ebb_mid mid;
    ebb_ctx_clear(s->ctx);
    assert_int_equal(ebb_mid_room(s->ctx, &s->job, &s->room, n, placed, &mid), EBB_E_RANGE);
    assert_true(mid.t60[0] == 0 && mid.area[0] == 0 && mid.speech_index == 0);
    assert_int_equal(ebb_ctx_errors(s->ctx), 1);
    const char *text = ebb_ctx_message(s->ctx, ebb_ctx_messages(s->ctx) - 1)->text;
    if (!strstr(text, says))
        fail_msg("\"%s\" does not say \"%s\"", text, says);
}

static void impossible_rooms_are_refused(void **state)
{
    scene *s = *state;
    ebb_placed placed[20] = {{.unit = 2}};
    refuse(s, 1, placed, "placed unit 1");
    placed[0] = (ebb_placed){.surface = 6};
    refuse(s, 1, placed, "placed unit 1");
    for (int i = 0; i < 20; i++)
        placed[i] = (ebb_placed){.unit = 1, .surface = 3};
    refuse(s, 20, placed,
           "wall_2 of room test has 12.00 m2, but its openings and units need 31.80");
    s->openings[0].construction = 3;
    refuse(s, 0, NULL, "opening 1");
    s->openings[0].construction = 0;
    s->surfaces[4].construction = 3;
    refuse(s, 0, NULL, "wall_3 of room test has no construction");
}

#define TEST(f) cmocka_unit_test_setup_teardown(f, new_scene, free_scene)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(areas_by_hand),
        TEST(units_replace_what_is_behind_them),
        TEST(eyring_with_air),
        TEST(full_absorption_is_held_and_warned),
        TEST(assembly_is_averaged_over_the_octave),
        TEST(warned_outside_the_range_of_a_formula),
        TEST(impossible_rooms_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
