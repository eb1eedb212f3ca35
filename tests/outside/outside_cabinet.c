/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Boxes against the resonance formulas of the trade and the textbooks.
 */
#include <ebb/cabinet.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "outside.h"

#define PI 3.14159265358979323846

static const ebb_air air = {.temperature = 20,
                            .humidity = 0.5,
                            .pressure = 101325,
                            .speed = 343.235,
                            .density = 1.2041,
                            .gamma = 1.4,
                            .viscosity = 1.825e-5,
                            .prandtl = 0.713};

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_cabinet cabinet;
    ebb_cell cell;
    ebb_layer fill;
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

/* Rigid box 0.6 x 1.2 m with one limp front of m kg/m2 over `depth` of air; not prepared. */
static void plain(fixture *f, double m, double depth)
{
    const double t = 0.018;
    f->cell = (ebb_cell){.share = 1, .n_fronts = 1, .front = {{.mass = m}}};
    f->cabinet = (ebb_cabinet){.size = {0.6, 1.2, depth + t},
                               .wall = {"", t, 680, 6e9, 0.3, 0.03},
                               .rigid = true,
                               .n_cells = 1,
                               .cell = &f->cell};
}

static void prepare(fixture *f)
{
    ebb_ctx_clear(f->ctx);
    if (ebb_cabinet_prepare(f->ctx, f->arena, 8, &f->cabinet) != EBB_OK)
        fail_msg("%s", ebb_ctx_message(f->ctx, 0)->text);
}

static double reactance(const fixture *f, double hz)
{
    return cimag(1 / ebb_cabinet_beta(&f->cabinet, &air, NULL, 2 * PI * hz));
}

static double resonance(const fixture *f, double low, double high)
{
    assert_true(reactance(f, low) < 0 && reactance(f, high) > 0);
    for (int i = 0; i < 60; i++) {
        const double middle = 0.5 * (low + high);
        if (reactance(f, middle) < 0)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

static void one_front(void **state)
{
    fixture *f = *state;
    static const double value[][2] = {{10, 0.1}, {4, 0.25}, {20, 0.15}};
    char what[100];
    for (size_t i = 0; i < 3; i++) {
        const double m = value[i][0], d = value[i][1], lumped = 59.96 / sqrt(m * d);
        plain(f, m, d);
        prepare(f);
        snprintf(what, sizeof what, "box, front %g kg/m2 over %g mm of air, Hz", m, 1000 * d);
        outside_value(what, "59.96/sqrt(m d), from Vigran 2008, eq. 5.41, with this air", lumped,
                      resonance(f, 0.9 * lumped, 1.1 * lumped), 0.015 * lumped);
        /* pores fine enough to keep the air at one temperature, hardly any resistance */
        f->fill = (ebb_layer){.kind = EBB_LAYER_POROUS,
                              .thickness = d,
                              .resistivity = 200,
                              .porosity = 1,
                              .tortuosity = 1,
                              .thermal_length = 5e-5};
        f->cell.n_fill = 1;
        f->cell.fill = &f->fill;
        prepare(f);
        snprintf(what, sizeof what, "the same filled with wool, Hz");
        outside_value(what, "isothermal cavity, sqrt(P0)/(2 pi sqrt(m d)) = 50.66/sqrt(m d)",
                      50.66 / sqrt(m * d), resonance(f, 0.7 * lumped, lumped),
                      0.02 * 50.66 / sqrt(m * d));
    }
}

/* Two masses on two springs of air: the upper resonance, and where the outer front stands still
 * against the inner one on its two springs. */
static void two_fronts(void **state)
{
    fixture *f = *state;
    const double m1 = 10, m2 = 12, gap = 0.1, cavity = 0.3;
    const double k = air.density * air.speed * air.speed;
    const double a = k / gap / m1, b = (k / gap + k / cavity) / m2, c = k / gap;
    const double root = sqrt(pow(a - b, 2) / 4 + c * c / (m1 * m2));
    plain(f, m1, gap + cavity);
    f->cell.n_fronts = 2;
    f->cell.front[1].mass = m2;
    f->cell.gap = gap;
    prepare(f);
    const double low = sqrt(0.5 * (a + b) - root) / (2 * PI);
    const double high = sqrt(0.5 * (a + b) + root) / (2 * PI);
    outside_value("box, fronts 10 and 12 kg/m2, 100 mm apart, 300 mm behind: lower resonance, Hz",
                  "two masses on two springs of air, any textbook", low,
                  resonance(f, 0.9 * low, 1.1 * low), 0.03 * low);
    outside_value("the same, upper resonance, Hz", "two masses on two springs of air, any textbook",
                  high, resonance(f, 0.93 * high, 1.1 * high), 0.02 * high);
    /* with nothing much behind the inner front it is the double wall of the trade */
    plain(f, 10, 0.1 + 8);
    f->cell.n_fronts = 2;
    f->cell.front[1].mass = 10;
    f->cell.gap = 0.1;
    f->fill = (ebb_layer){.kind = EBB_LAYER_POROUS,
                          .thickness = 8,
                          .resistivity = 200,
                          .porosity = 1,
                          .tortuosity = 1};
    f->cell.n_fill = 1;
    f->cell.fill = &f->fill;
    prepare(f);
    outside_value("box, fronts 10 and 10 kg/m2, 100 mm apart, 8 m of wool behind, Hz",
                  "mass-air-mass, 59.96 sqrt((m1 + m2)/(m1 m2 d)), common practice", 84.80,
                  resonance(f, 75, 95), 0.9);
}

/* Frequencies at which alpha is half of its peak. */
static double half_width(const fixture *f, double peak_hz)
{
    const ebb_assembly assembly = {.kind = EBB_ASSEMBLY_CABINET, .cabinet = &f->cabinet};
    const double half = ebb_assembly_alpha(&assembly, &air, peak_hz) / 2;
    double edge[2];
    for (int side = 0; side < 2; side++) {
        double in = peak_hz, out = side ? 4 * peak_hz : peak_hz / 4;
        for (int i = 0; i < 60; i++) {
            const double middle = 0.5 * (in + out);
            if (ebb_assembly_alpha(&assembly, &air, middle) > half)
                in = middle;
            else
                out = middle;
        }
        edge[side] = in;
    }
    return edge[1] - edge[0];
}

/* The walls take none of the air's movement here, so the opening is counted as the face. */
static void peak_and_width(void **state)
{
    fixture *f = *state;
    static const double value[][2] = {{4, 1}, {8, 1}, {8, 0.5}, {12, 2}};
    const double rho_c = air.density * air.speed;
    char what[100];
    for (size_t i = 0; i < 4; i++) {
        const double m = value[i][0], r = value[i][1];
        plain(f, m, 1.44 / m); /* 60/sqrt(1.44) = 50 Hz */
        f->cabinet.wall.thickness = 1e-4;
        f->cabinet.size[2] = 1.44 / m + 1e-4;
        f->cell.front[0].resistance = r * rho_c;
        prepare(f);
        const double hz = resonance(f, 40, 60);
        const ebb_assembly assembly = {.kind = EBB_ASSEMBLY_CABINET, .cabinet = &f->cabinet};
        snprintf(what, sizeof what, "box at 50 Hz, %g kg/m2, resistance %g rho c: peak absorption",
                 m, r);
        outside_value(what, "4 r/(1 + r)^2, any textbook", 4 * r / pow(1 + r, 2),
                      ebb_assembly_alpha(&assembly, &air, hz), 1e-3);
        snprintf(what, sizeof what, "the same, width at half of the peak, Hz");
        outside_value(what, "(1 + r) rho c/(2 pi m), algebra of a resonator",
                      (1 + r) * rho_c / (2 * PI * m), half_width(f, hz),
                      0.06 * (1 + r) * rho_c / (2 * PI * m));
    }
}

/* A heavy front shuts the box but for the slit around it. */
static void slit_resonator(void **state)
{
    fixture *f = *state;
    const double gap = 0.01, path = 0.2, depth = 0.15;
    double side[2];
    plain(f, 5000, depth);
    f->cell.leak = gap;
    f->cell.leak_path = path;
    prepare(f);
    ebb_cabinet_opening(&f->cabinet, 0, side);
    const double open = gap * 2 * (side[0] + side[1]);
    const double hz = air.speed / (2 * PI) * sqrt(open / (side[0] * side[1] * depth * path));
    outside_value("box with a slit 10 mm wide and 200 mm deep all around, Hz",
                  "Helmholtz resonator without end correction, any textbook", hz,
                  resonance(f, 0.8 * hz, 1.1 * hz), 0.03 * hz);
}

static void walls(void **state)
{
    fixture *f = *state;
    plain(f, 4, 0.3);
    f->cabinet.rigid = false;
    f->cabinet.size[0] = f->cabinet.size[1] = 0.636;
    prepare(f);
    const double a = 0.6, t = 0.018;
    const double bending = 6e9 * t * t * t / (12 * (1 - 0.09));
    const ebb_plate *back = f->cabinet.wall_plate[0];
    outside_value("back of a box, 600 x 600 x 18 mm plywood, nearly clamped, w a^2 sqrt(m/D)",
                  "35.99 clamped (Leissa, from memory)", 35.99,
                  sqrt(creal(back->lambda[0]) * t * 680 / bending) * a * a, 0.04 * 35.99);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_front),      cmocka_unit_test(two_fronts),
        cmocka_unit_test(peak_and_width), cmocka_unit_test(slit_resonator),
        cmocka_unit_test(walls),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
