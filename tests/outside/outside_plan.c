/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What handbooks say of places: corners reach every mode, a unit at a node reaches none of that
 * mode, and a mode under many units behaves like a machine under a tuned damper.
 */
#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include <ebb/ebb.h>

#include "outside.h"

#define PI 3.14159265358979323846
#define COUNT(a) (sizeof(a) / sizeof *(a))

#define CORNERS                                                                                    \
    "Kuttruff, Room Acoustics, ch. 3; Rayleigh, Theory of Sound, ch. 13: every mode of a box "     \
    "is a product of cosines, its pressure largest in the corners (from memory)"
#define FIRST_ORDER "Morse & Ingard; Kuttruff, Room Acoustics, ch. 3 (form from memory)"
#define TUNED                                                                                      \
    "Den Hartog, Mechanical Vibrations: best damping ratio sqrt(3 mu / 8) of a damper tuned to "   \
    "the mode, small mu (from memory)"

static const ebb_assembly rigid = {.kind = EBB_ASSEMBLY_CONSTANT};

/* A box of hard walls with patches on it. */
typedef struct box {
    ebb_air air;
    double size[3];
    size_t n;
    ebb_patch patch[16];
    ebb_reduced *reduced;
    ebb_state state;
    size_t used[16];
    ebb_vec3 points[2];
} box;

static void add_patch(box *b, int face, double along, double up, double side)
{
    b->patch[b->n++] =
        (ebb_patch){.face = face, .at = {along, up}, .size = {side, side}, .piston = true};
}

/* Projects the room for its patches; all hang the same assembly when used. */
static void project(box *b, double highest, const ebb_assembly *unit, const ebb_assembly *wall)
{
    ebb_geometry geometry = {.size = {b->size[0], b->size[1], b->size[2]},
                             .highest = highest,
                             .speed = b->air.speed,
                             .n_points = 2,
                             .points = b->points,
                             .n_patches = b->n,
                             .patches = b->patch,
                             .richness = 1};
    for (size_t i = 0; i < b->n; i++)
        b->patch[i].assembly = unit;
    assert_int_equal(ebb_reduced_new(NULL, &geometry, &b->reduced), EBB_OK);
    b->state = (ebb_state){.air = b->air,
                           .scale = {1, 1, 1},
                           .used = b->used,
                           .n_sources = 1,
                           .n_receivers = 1,
                           .sources = &b->points[0],
                           .receivers = &b->points[1]};
    for (int i = 0; i < EBB_FACES; i++)
        b->state.face[i] = wall;
}

static box box_of(double x, double y, double z)
{
    box b = {.size = {x, y, z}, .points = {{0.1, 0.1, 0.1}, {x - 0.1, 0.1, 0.1}}};
    assert_int_equal(ebb_air_at(NULL, 20, 0.5, 101325, &b.air), EBB_OK);
    return b;
}

/* Decay rate of the mode of a label, 1/s. */
static double decay_of(const ebb_modes *modes, const int label[3])
{
    for (size_t i = 0; i < modes->n; i++)
        if (memcmp(modes->mode[i].label, label, sizeof modes->mode[i].label) == 0)
            return modes->mode[i].delta;
    fail_msg("mode %d %d %d is gone", label[0], label[1], label[2]);
    return NAN;
}

static ebb_modes *modes_of(box *b, size_t n_used, double low, double high)
{
    ebb_modes *modes;
    b->state.n_used = n_used;
    assert_int_equal(ebb_modes_new(NULL, b->reduced, &b->state, low, high, &modes), EBB_OK);
    return modes;
}

/* ---- corners and nodes -------------------------------------------------------------------------
 */

static const int modes_labels[][3] = {{1, 0, 0}, {0, 1, 0}, {1, 1, 0}, {0, 0, 1},
                                      {1, 0, 1}, {2, 0, 0}, {0, 1, 1}, {1, 1, 1}};

/* One small weak unit in a corner of the end wall, and at eight other places of two walls. To
 * an axial mode all places of its end walls are alike, and 0.3 m are no point: hence the 2 %. */
static void corners_damp_every_mode_most(void **state)
{
    (void)state;
    static const ebb_assembly weak = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.05};
    static const ebb_assembly wall = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 1e-5};
    box b = box_of(4.7, 4.1, 3.1);
    const double side = 0.3;
    add_patch(&b, 0, 0, 0, side); /* the corner */
    for (int i = 1; i <= 4; i++) {
        add_patch(&b, 0, i * 0.9, 0.35 * i, side);
        add_patch(&b, 2, i * 1.05, 0.65 * i, side);
    }
    project(&b, 120, &weak, &wall);
    double corner[COUNT(modes_labels)];
    size_t beaten = 0, compared = 0;
    for (size_t place = 0; place < b.n; place++) {
        b.used[0] = place;
        ebb_modes *modes = modes_of(&b, 1, 20, 90);
        for (size_t m = 0; m < COUNT(modes_labels); m++) {
            double delta = decay_of(modes, modes_labels[m]);
            if (place == 0)
                corner[m] = delta;
            if (place > 0 && delta > 1.01 * corner[m])
                printf("place %zu mode %d%d%d %g %g\n", place, modes_labels[m][0],
                       modes_labels[m][1], modes_labels[m][2], delta, corner[m]);
            compared += place > 0;
            beaten += place > 0 && delta > 1.02 * corner[m];
        }
        ebb_modes_free(modes);
    }
    char got[64];
    snprintf(got, sizeof got, "%zu of %zu damp a mode more", beaten, compared);
    outside_fact("one small unit in a corner against the same at 8 other places, 8 modes", CORNERS,
                 "0 of 64 damp a mode more", got);
    ebb_reduced_free(b.reduced);
}

/* delta = (c / 2 V) S g psi^2 / Lambda for an axial mode: psi 1 at the end wall, Lambda 1/2. */
static void a_unit_at_an_antinode_adds_the_textbooks_decay(void **state)
{
    (void)state;
    static const ebb_assembly weak = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.02};
    static const int label[3] = {1, 0, 0};
    box b = box_of(4.7, 4.1, 3.1);
    add_patch(&b, 0, 1.5, 1.0, 0.4);
    project(&b, 120, &weak, &rigid);
    ebb_modes *modes = modes_of(&b, 1, 20, 60);
    double want = b.air.speed / (2 * 4.7 * 4.1 * 3.1) * 0.16 * 0.02 * 2;
    outside_value("decay rate from one small unit on the end wall, axial mode, 1/s", FIRST_ORDER,
                  want, decay_of(modes, label), 0.02 * want);
    ebb_modes_free(modes);
    ebb_reduced_free(b.reduced);
}

/* The unit lies across the middle of the side wall, where the first axial mode has no pressure. */
static void a_unit_at_a_node_does_nothing_to_it(void **state)
{
    (void)state;
    static const ebb_assembly strong = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.3};
    static const ebb_assembly wall = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.0005};
    static const int first[3] = {1, 0, 0}, second[3] = {2, 0, 0};
    box b = box_of(4.7, 4.1, 3.1);
    add_patch(&b, 2, 4.7 / 2 - 0.3, 1.2, 0.6);
    project(&b, 120, &strong, &wall);
    b.used[0] = 0;
    ebb_modes *bare = modes_of(&b, 0, 20, 90), *with = modes_of(&b, 1, 20, 90);
    double was = decay_of(bare, first);
    outside_value("decay rate of an axial mode with a unit at its node over that without", CORNERS,
                  1, decay_of(with, first) / was, 0.02);
    outside_fact("the same unit at an antinode of the next axial mode", CORNERS,
                 "more than doubled",
                 decay_of(with, second) > 2 * decay_of(bare, second) ? "more than doubled"
                                                                     : "less than doubled");
    ebb_modes_free(bare);
    ebb_modes_free(with);
    ebb_reduced_free(b.reduced);
}

/* ---- the tuned damper --------------------------------------------------------------------------
 */

#define MASS 6.2  /* kg/m2 */
#define TUNE 40.0 /* Hz, unit and mode */
#define SIDE 0.4  /* m, of a unit */

/* Mass of the air that moves with a front, kg/m2: 8 rho a / (3 pi), a the radius of the disc of the
 * same area (Rayleigh; from memory). It belongs to the tuning. */
static double air_mass(const ebb_air *air)
{
    return 8 * air->density * SIDE / sqrt(PI) / (3 * PI);
}

/* Highest response about the mode, with fronts of some resistance (Pa s/m). */
static double peak_with(box *b, ebb_layer *front, double resistance, size_t n_units)
{
    double hz[121], most = 0;
    double _Complex h[121];
    front->resistance = resistance;
    b->state.n_used = n_units;
    for (size_t i = 0; i < COUNT(hz); i++)
        hz[i] = 25 + 0.25 * (double)i;
    assert_int_equal(ebb_response(NULL, b->reduced, &b->state, COUNT(hz), hz, h), EBB_OK);
    for (size_t i = 0; i < COUNT(hz); i++)
        most = fmax(most, cabs(h[i]));
    return most;
}

/* Resistance over rho c with the lowest peak, by golden section; the peak has one valley. */
static double best_resistance(box *b, ebb_layer *front, size_t n_units)
{
    const double golden = 0.6180339887498949, rho_c = b->air.density * b->air.speed;
    double low = 0.1, high = 4;
    while (high - low > 0.005) {
        double left = high - golden * (high - low), right = low + golden * (high - low);
        if (peak_with(b, front, left * rho_c, n_units) <
            peak_with(b, front, right * rho_c, n_units))
            high = right;
        else
            low = left;
    }
    return (low + high) / 2;
}

/*
 * A duct of a room with one axial mode at 40 Hz and no other below 80 Hz, N units on its end wall.
 * With mu = N S (rho c^2 / s) psi^2 / (V Lambda), s = m w0^2 the stiffness behind the front, and
 * X0 = w0 m / (rho c), the best resistance over rho c is 2 X0 sqrt(3 mu / 8).
 */
static void units_on_one_mode_follow_the_tuned_damper(void **state)
{
    (void)state;
    static const size_t numbers[] = {1, 2, 4};
    const double w0 = 2 * PI * TUNE;
    static const ebb_assembly wall = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.003};
    box b = box_of(1, 2, 2);
    const double mass = MASS + air_mass(&b.air), stiffness = mass * w0 * w0;
    ebb_layer front = {.kind = EBB_LAYER_LUMPED, .mass = MASS, .stiffness = stiffness};
    const ebb_assembly unit = {.kind = EBB_ASSEMBLY_LAYERS, .n_layers = 1, .layers = &front};
    b.size[0] = b.air.speed / (2 * TUNE);
    b.points[0] = (ebb_vec3){0.05, 1, 1}; /* in the middle: across there is nothing to be heard */
    b.points[1] = (ebb_vec3){b.size[0] - 0.05, 1, 1};
    for (int i = 0; i < 4; i++) /* two and two opposite each other about the middle */
        add_patch(&b, 1, i % 2 ? 1.2 : 0.4, i == 0 || i == 3 ? 0.4 : 1.2, SIDE);
    for (size_t i = 0; i < b.n; i++)
        b.used[i] = (const size_t[]){0, 3, 1, 2}[i];
    front.resistance = 400;
    project(&b, 120, &unit, &wall);
    for (size_t i = 0; i < COUNT(numbers); i++) {
        const double rho_c = b.air.density * b.air.speed, volume = 4 * b.size[0];
        double mu =
            (double)numbers[i] * SIDE * SIDE * rho_c * b.air.speed / stiffness / (volume / 2);
        double rule = 2 * w0 * mass / rho_c * sqrt(3 * mu / 8);
        char what[96];
        snprintf(what, sizeof what, "best resistance over rho c of %zu tuned units, mu %.3f",
                 numbers[i], mu);
        outside_value(what, TUNED, rule, best_resistance(&b, &front, numbers[i]), 0.15 * rule);
    }
    ebb_reduced_free(b.reduced);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(corners_damp_every_mode_most),
        cmocka_unit_test(a_unit_at_an_antinode_adds_the_textbooks_decay),
        cmocka_unit_test(a_unit_at_a_node_does_nothing_to_it),
        cmocka_unit_test(units_on_one_mode_follow_the_tuned_damper),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
