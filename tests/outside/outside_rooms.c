/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Rectangular rooms against published tables and formulas: mode frequencies, mode counts, first
 * order decay, Walker's rule.
 */
#include <ebb/field.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "outside.h"

#define PI 3.14159265358979323846
#define COUNT(array) (sizeof(array) / sizeof(array)[0])

#define KUTTRUFF "Kuttruff, Room Acoustics, Table 3.1 (from memory)"
#define HANDBOOK "Handbook for Sound Engineers, ch. 6, Table 6-4"
#define RINDEL "room: Rindel 2021, preferred dimension ratios; frequencies: Rayleigh's formula"
#define BOLT_MAA "Bolt 1939; Maa 1939"
#define FIRST_ORDER "Morse & Ingard; Kuttruff, Room Acoustics, ch. 3 (form from memory)"
#define WALKER "Walker, BBC RD 1996/8; ITU-R BS.1116; EBU Tech 3276 (from memory)"

typedef struct known_mode {
    double hz;
    int label[3];
} known_mode;

typedef struct known_room {
    const char *name, *source;
    double size[3], speed;
    size_t n;
    const known_mode *mode;
} known_room;

static const known_mode kuttruff_modes[] = {
    {36.17, {1, 0, 0}},  {41.46, {0, 1, 0}},  {54.84, {0, 0, 1}},  {55.02, {1, 1, 0}},
    {65.69, {1, 0, 1}},  {68.75, {0, 1, 1}},  {72.34, {2, 0, 0}},  {77.68, {1, 1, 1}},
    {82.93, {0, 2, 0}},  {83.38, {2, 1, 0}},  {90.47, {1, 2, 0}},  {90.78, {2, 0, 1}},
    {99.42, {0, 2, 1}},  {99.80, {2, 1, 1}},  {105.79, {1, 2, 1}}, {108.51, {3, 0, 0}},
    {109.68, {0, 0, 2}}, {110.05, {2, 2, 0}}, {115.49, {1, 0, 2}}, {116.16, {3, 1, 0}}};

static const known_mode rindel_modes[] = {
    {26.97, {1, 0, 0}},  {38.63, {0, 1, 0}},  {47.11, {1, 1, 0}},  {53.93, {2, 0, 0}},
    {57.17, {0, 0, 1}},  {63.21, {1, 0, 1}},  {66.34, {2, 1, 0}},  {68.99, {0, 1, 1}},
    {74.08, {1, 1, 1}},  {77.25, {0, 2, 0}},  {78.59, {2, 0, 1}},  {80.90, {3, 0, 0}},
    {81.82, {1, 2, 0}},  {87.57, {2, 1, 1}},  {89.64, {3, 1, 0}},  {94.21, {2, 2, 0}},
    {96.10, {0, 2, 1}},  {99.06, {3, 0, 1}},  {99.82, {1, 2, 1}},  {106.32, {3, 1, 1}},
    {107.86, {4, 0, 0}}, {110.20, {2, 2, 1}}, {111.86, {3, 2, 0}}, {114.33, {0, 0, 2}},
    {114.57, {4, 1, 0}}};

static const known_room rooms[] = {{"4.7 x 4.1 x 3.1 m, c = 340",
                                    KUTTRUFF,
                                    {4.7, 4.1, 3.1},
                                    340,
                                    COUNT(kuttruff_modes),
                                    kuttruff_modes},
                                   {"6.36 x 4.44 x 3.00 m, c = 343",
                                    RINDEL,
                                    {6.36, 4.44, 3},
                                    343,
                                    COUNT(rindel_modes),
                                    rindel_modes}};

static void printed_modes_follow_from_the_closed_form(void **state)
{
    (void)state;
    for (size_t r = 0; r < COUNT(rooms); r++)
        for (size_t m = 0; m < rooms[r].n; m++) {
            const known_mode *mode = &rooms[r].mode[m];
            char what[80];
            snprintf(what, sizeof what, "%s: mode %d%d%d, Hz", rooms[r].name, mode->label[0],
                     mode->label[1], mode->label[2]);
            outside_value(what, rooms[r].source, mode->hz,
                          ebb_box_hz(rooms[r].size, mode->label, rooms[r].speed), 0.006);
        }
}

static ebb_reduced *project(ebb_ctx *ctx, const double size[3], double highest, double speed)
{
    const ebb_geometry geometry = {
        .size = {size[0], size[1], size[2]}, .highest = highest, .speed = speed, .richness = 0.4};
    ebb_reduced *reduced;
    assert_int_equal(ebb_reduced_new(ctx, &geometry, &reduced), EBB_OK);
    return reduced;
}

static void printed_modes_are_those_of_the_model(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    for (size_t r = 0; r < COUNT(rooms); r++) {
        ebb_reduced *reduced = project(ctx, rooms[r].size, 120, rooms[r].speed);
        size_t n;
        const int *label;
        const double *hz = ebb_reduced_rigid(reduced, &n, &label);
        assert_true(n > rooms[r].n);
        double worst = 0;
        for (size_t m = 0; m < rooms[r].n; m++) {
            const known_mode *mode = &rooms[r].mode[m];
            worst = fmax(worst, fabs(hz[1 + m] - mode->hz)); /* the first is 0 Hz */
            for (int d = 0; d < 3; d++)
                assert_int_equal(label[3 * (1 + m) + (size_t)d], mode->label[d]);
        }
        char what[96];
        snprintf(what, sizeof what, "%s: first %zu modes of the reduced model, largest error, Hz",
                 rooms[r].name, rooms[r].n);
        outside_below(what, rooms[r].source, 0.006, worst);
        ebb_reduced_free(reduced);
    }
    ebb_ctx_free(ctx);
}

static void axial_modes_in_feet(void **state)
{
    (void)state;
    static const double length[3] = {16, 12, 8}, foot = 0.3048;
    static const struct {
        int axis, order;
        double hz;
    } axial[] = {{0, 1, 35.31}, {0, 2, 70.63},  {0, 3, 105.94}, {1, 1, 47.08},
                 {1, 2, 94.17}, {1, 3, 141.25}, {2, 1, 70.63},  {2, 2, 141.25}};
    const double size[3] = {length[0] * foot, length[1] * foot, length[2] * foot};
    for (size_t i = 0; i < COUNT(axial); i++) {
        int label[3] = {0, 0, 0};
        label[axial[i].axis] = axial[i].order;
        char what[80];
        snprintf(what, sizeof what, "16 x 12 x 8 ft, c = 1130 ft/s: mode %d%d%d, Hz", label[0],
                 label[1], label[2]);
        outside_value(what, HANDBOOK, axial[i].hz, ebb_box_hz(size, label, 1130 * foot), 0.01);
    }
}

/* ---- counts ---------------------------------------------------------------------------------- */

static size_t count_labels(const double size[3], double hz, double speed)
{
    size_t n = 0;
    int label[3];
    for (label[0] = 0; label[0] < 20; label[0]++)
        for (label[1] = 0; label[1] < 20; label[1]++)
            for (label[2] = 0; label[2] < 20; label[2]++)
                n += ebb_box_hz(size, label, speed) <= hz;
    return n - 1; /* the constant is not counted */
}

static void mode_counts(void **state)
{
    (void)state;
    static const struct {
        double size[3], speed;
        struct {
            double hz, counted, formula;
        } row[4];
    } table[] = {{{4.7, 4.1, 3.1},
                  340,
                  {{100, 14, 14.44}, {150, 37, 38.34}, {200, 81, 79.73}, {300, 233, 234.07}}},
                 {{6.36, 4.44, 3},
                  343,
                  {{100, 19, 18.90}, {150, 50, 50.91}, {200, 107, 106.76}, {300, 321, 316.33}}},
                 {{4.88, 3.66, 2.44},
                  344,
                  {{100, 11, 11.22}, {150, 29, 29.09}, {200, 59, 59.61}, {300, 175, 172.10}}}};
    for (size_t r = 0; r < COUNT(table); r++)
        for (size_t i = 0; i < 4; i++) {
            const double *size = table[r].size, hz = table[r].row[i].hz;
            double formula = ebb_box_count(size, hz, table[r].speed);
            double counted = (double)count_labels(size, hz, table[r].speed);
            char what[96];
            snprintf(what, sizeof what, "%g x %g x %g m: modes below %g Hz by the formula", size[0],
                     size[1], size[2], hz);
            outside_value(what, BOLT_MAA, table[r].row[i].formula, formula, 0.006);
            assert_int_equal((int)counted, (int)table[r].row[i].counted);
            snprintf(what, sizeof what, "%g x %g x %g m: modes below %g Hz counted", size[0],
                     size[1], size[2], hz);
            outside_value(what, BOLT_MAA, formula, counted, 0.6 + 0.02 * formula);
        }
}

/* The reduced model holds as many rigid modes as the lattice has points. */
static void the_model_holds_every_mode(void **state)
{
    (void)state;
    const double size[3] = {4.7, 4.1, 3.1};
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_reduced *reduced = project(ctx, size, 200, 340);
    size_t n, below = 0;
    const double *hz = ebb_reduced_rigid(reduced, &n, NULL);
    for (size_t m = 1; m < n; m++)
        below += hz[m] <= 200;
    outside_value("4.7 x 4.1 x 3.1 m: modes of the reduced model below 200 Hz", BOLT_MAA, 79.73,
                  (double)below, 2);
    assert_int_equal(below, 81);
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

/* ---- decay ----------------------------------------------------------------------------------- */

static const double decay_room[3] = {5, 4, 3};
static const struct {
    const char *kind;
    int label[3];
    double t60;
} decays[] = {{"axial, x", {1, 0, 0}, 2.0481},       {"axial, y", {0, 1, 0}, 1.9490},
              {"axial, z", {0, 0, 1}, 1.8035},       {"tangential, xy", {1, 1, 0}, 1.6329},
              {"tangential, xz", {1, 0, 1}, 1.5296}, {"tangential, yz", {0, 1, 1}, 1.4736},
              {"oblique", {1, 1, 1}, 1.2855}};

static void first_order_decay(void **state)
{
    (void)state;
    static const double beta[EBB_FACES] = {0.01, 0.01, 0.01, 0.01, 0.01, 0.01};
    for (size_t i = 0; i < COUNT(decays); i++) {
        char what[96];
        snprintf(what, sizeof what, "5 x 4 x 3 m, beta 0.01: T60, %s, first order, s",
                 decays[i].kind);
        outside_value(what, FIRST_ORDER, decays[i].t60,
                      3 * log(10) / ebb_box_delta(decay_room, decays[i].label, beta, 343), 1e-3);
    }
}

/* The full solution differs from the first-order formula by terms in beta^2 only; most where a mode
 * grazes walls, which the formula takes to leave its shape as it is. */
static void full_decay(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_reduced *reduced = project(ctx, decay_room, 110, 343);
    const ebb_assembly wall = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.01};
    ebb_state room = {.scale = {1, 1, 1}, .face = {&wall, &wall, &wall, &wall, &wall, &wall}};
    ebb_modes *modes;
    assert_int_equal(ebb_air_given(ctx, 343, 1.204, &room.air), EBB_OK);
    assert_int_equal(ebb_modes_new(ctx, reduced, &room, 20, 100, &modes), EBB_OK);
    for (size_t i = 0; i < COUNT(decays); i++) {
        size_t m = 0;
        while (m < modes->n && (modes->mode[m].label[0] != decays[i].label[0] ||
                                modes->mode[m].label[1] != decays[i].label[1] ||
                                modes->mode[m].label[2] != decays[i].label[2]))
            m++;
        assert_true(m < modes->n);
        char what[96];
        snprintf(what, sizeof what, "5 x 4 x 3 m, beta 0.01: T60, %s, full solution, s",
                 decays[i].kind);
        outside_value(what, FIRST_ORDER "; first order only, hence the tolerance", decays[i].t60,
                      modes->mode[m].t60, 0.015 * decays[i].t60);
    }
    ebb_modes_free(modes);
    ebb_reduced_free(reduced);
    ebb_ctx_free(ctx);
}

/* ---- Walker's rule --------------------------------------------------------------------------- */

static void walker(void **state)
{
    (void)state;
    static const struct {
        double ratio[3]; /* height, width, length */
        bool passes;
    } rule[] = {{{1, 1.5, 2.5}, true},  {{1, 1.4, 1.9}, true},    {{1, 1.28, 1.54}, true},
                {{1, 1.6, 2.33}, true}, {{1, 1.26, 1.59}, true},  {{1, 1, 1}, false},
                {{1, 1.3, 1.9}, false}, {{1, 1.14, 1.39}, false}, {{1, 2, 3.2}, false}};
    for (size_t i = 0; i < COUNT(rule); i++) {
        const double *ratio = rule[i].ratio;
        const double size[3] = {2.6 * ratio[2], 2.6 * ratio[1], 2.6 * ratio[0]};
        char what[64];
        snprintf(what, sizeof what, "ratio %g : %g : %g", ratio[0], ratio[1], ratio[2]);
        outside_fact(what, WALKER, rule[i].passes ? "passes" : "fails",
                     ebb_box_walker(size) ? "passes" : "fails");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(printed_modes_follow_from_the_closed_form),
        cmocka_unit_test(printed_modes_are_those_of_the_model),
        cmocka_unit_test(axial_modes_in_feet),
        cmocka_unit_test(mode_counts),
        cmocka_unit_test(the_model_holds_every_mode),
        cmocka_unit_test(first_order_decay),
        cmocka_unit_test(full_decay),
        cmocka_unit_test(walker),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
