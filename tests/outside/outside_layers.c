/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Layers and assemblies against closed forms and published values.
 */
#include <ebb/layers.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "outside.h"

#define PI 3.14159265358979323846
#define RHO_C (1.205 * 343.2)

/* The air behind all values here: rho 1.205 kg/m3, c 343.2 m/s. */
static const ebb_air air = {.temperature = 20,
                            .humidity = 0.5,
                            .pressure = 101325,
                            .speed = 343.2,
                            .density = 1.205,
                            .gamma = 1.4,
                            .viscosity = 1.84e-5,
                            .prandtl = 0.71};

static ebb_assembly stack(const ebb_layer *layers, size_t n, ebb_back back)
{
    return (ebb_assembly){.n_layers = n, .layers = layers, .back = back};
}

static double reactance(const ebb_assembly *assembly, double hz)
{
    return cimag(1 / ebb_assembly_beta(assembly, &air, NULL, 2 * PI * hz));
}

/* Frequency between low and high where the reactance passes through zero. */
static double resonance(const ebb_assembly *assembly, double low, double high)
{
    assert_true(reactance(assembly, low) < 0 && reactance(assembly, high) > 0);
    for (int i = 0; i < 80; i++) {
        const double middle = 0.5 * (low + high);
        if (reactance(assembly, middle) < 0)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

static ebb_layer mass(double m)
{
    return (ebb_layer){.kind = EBB_LAYER_MASS, .mass = m};
}

static ebb_layer gap(double depth)
{
    return (ebb_layer){.kind = EBB_LAYER_AIR, .thickness = depth};
}

static double board_over_air(double m, double depth)
{
    const ebb_layer layers[2] = {mass(m), gap(depth)};
    const ebb_assembly assembly = stack(layers, 2, EBB_BACK_RIGID);
    return resonance(&assembly, 1, 60 / sqrt(m * depth) * 1.2);
}

/* Pores fine enough to keep the air at one temperature and yet hardly any flow resistance: the
 * limit in which the rule for filled cavities holds. */
static double board_over_wool(double m, double depth)
{
    const ebb_layer layers[2] = {mass(m),
                                 {.kind = EBB_LAYER_POROUS,
                                  .thickness = depth,
                                  .resistivity = 200,
                                  .porosity = 1,
                                  .tortuosity = 1,
                                  .thermal_length = 5e-5}};
    const ebb_assembly assembly = stack(layers, 2, EBB_BACK_RIGID);
    return resonance(&assembly, 1, 60 / sqrt(m * depth) * 1.2);
}

static void board_over_a_cavity(void **unused)
{
    (void)unused;
    static const double value[][3] = {
        {5, 0.05, 119.7}, {10, 0.1, 59.84}, {10, 0.2, 42.23}, {20, 0.2, 29.92}, {30, 0.3, 19.95}};
    static const double digits[] = {0.05, 0.005, 0.005, 0.005, 0.005};
    char what[100];
    for (size_t i = 0; i < 5; i++) {
        const double m = value[i][0], d = value[i][1];
        snprintf(what, sizeof what, "limp board %g kg/m2 over %g mm air, Hz", m, 1000 * d);
        outside_value(what, "zero of w m - rho c cot(w d/c), solved separately", value[i][2],
                      board_over_air(m, d), digits[i]);
        outside_value(what, "Vigran 2008, eq. 5.41: 60/sqrt(m d)", 60 / sqrt(m * d),
                      board_over_air(m, d), 0.5 / sqrt(m * d));
        snprintf(what, sizeof what, "limp board %g kg/m2 over %g mm of isothermal air, Hz", m,
                 1000 * d);
        outside_value(what, "isothermal cavity, sqrt(P0)/(2 pi sqrt(m d)) = 50.66/sqrt(m d)",
                      50.66 / sqrt(m * d), board_over_wool(m, d), 0.5 / sqrt(m * d));
    }
    const double pound = 4.88243, inch = 0.0254;
    outside_value("board of 1 lb/ft2 over 1 in of air, Hz", "170.4/sqrt(m d), from 60/sqrt(m d)",
                  170.4, board_over_air(pound, inch), 0.5);
    outside_value("board of 1 lb/ft2 over 1 in of isothermal air, Hz",
                  "142.0/sqrt(m d), from 50/sqrt(m d)", 142.0, board_over_wool(pound, inch), 3);
}

static void two_boards(void **unused)
{
    (void)unused;
    static const double value[][5] = {{10, 10, 0.1, 84.711, 0.0005},
                                      {10, 10, 0.1, 84.80, 0.1},
                                      {12, 12, 0.05, 109.5, 0.1},
                                      {20, 20, 0.2, 42.4, 0.05}};
    char what[100];
    for (size_t i = 0; i < 4; i++) {
        /* nothing but its mass holds the second board: a resonator without spring */
        const ebb_layer layers[3] = {
            mass(value[i][0]), gap(value[i][2]), {.kind = EBB_LAYER_LUMPED, .mass = value[i][1]}};
        const ebb_assembly assembly = stack(layers, 3, EBB_BACK_RIGID);
        snprintf(what, sizeof what, "boards of %g and %g kg/m2, %g mm apart, Hz", value[i][0],
                 value[i][1], 1000 * value[i][2]);
        outside_value(what,
                      i == 0 ? "zero of w m - rho c cot(w d/2c), solved separately"
                             : "59.96 sqrt((m1 + m2)/(m1 m2 d)), lumped, common practice",
                      value[i][3], resonance(&assembly, 0.9 * value[i][3], 1.1 * value[i][3]),
                      value[i][4]);
    }
}

static void quarter_wave_screen(void **unused)
{
    (void)unused;
    const ebb_layer layers[2] = {{.kind = EBB_LAYER_SCREEN, .resistance = RHO_C}, gap(0.5)};
    const ebb_assembly assembly = stack(layers, 2, EBB_BACK_RIGID);
    outside_value("absorption of a rho c screen a quarter wave before a rigid wall",
                  "1, any textbook", 1, ebb_assembly_alpha(&assembly, &air, 343.2 / 4 / 0.5),
                  1e-12);
}

static ebb_layer resonator(double m, double r, double hz)
{
    return (ebb_layer){.kind = EBB_LAYER_LUMPED,
                       .mass = m,
                       .resistance = r * RHO_C,
                       .stiffness = m * pow(2 * PI * hz, 2)};
}

static void resonator_absorption(void **unused)
{
    (void)unused;
    char what[100];
    for (double r = 0.25; r <= 4; r *= 2) {
        const ebb_layer layer = resonator(4, r, 50);
        const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_RIGID);
        snprintf(what, sizeof what, "peak absorption of a resonator, r = %g", r);
        outside_value(what, "Vigran 2008: 4 r/(1 + r)^2, from memory", 4 * r / pow(1 + r, 2),
                      ebb_assembly_alpha(&assembly, &air, 50), 1e-12);
        const double x = (2 * PI * 62 * 4 - layer.stiffness / (2 * PI * 62)) / RHO_C;
        snprintf(what, sizeof what, "absorption of a resonator beside its peak, r = %g", r);
        outside_value(what, "4 r/((1 + r)^2 + x^2), any textbook", 4 * r / (pow(1 + r, 2) + x * x),
                      ebb_assembly_alpha(&assembly, &air, 62), 1e-12);
    }
}

/* Width between the points of half the peak absorption. */
static void resonator_width(void **unused)
{
    (void)unused;
    for (double r = 0.5; r <= 2; r *= 2) {
        const double m = 8, f0 = 50;
        const ebb_layer layer = resonator(m, r, f0);
        const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_RIGID);
        const double half = 0.5 * ebb_assembly_alpha(&assembly, &air, f0);
        double edge[2];
        for (int side = 0; side < 2; side++) {
            double inner = f0, outer = side ? 10 * f0 : 0.1 * f0;
            for (int i = 0; i < 80; i++) {
                const double middle = 0.5 * (inner + outer);
                if (ebb_assembly_alpha(&assembly, &air, middle) > half)
                    inner = middle;
                else
                    outer = middle;
            }
            edge[side] = inner;
        }
        char what[80];
        snprintf(what, sizeof what, "half-peak width of a resonator, 8 kg/m2, r = %g, Hz", r);
        outside_value(what, "(1 + r) rho c/(2 pi m) = 65.8 (1 + r)/m, worked by hand",
                      65.8 * (1 + r) / m, edge[1] - edge[0], 0.02 * (1 + r));
    }
}

/* Integral of -ln(1 - alpha) over wavelength, with f = f0 e^u by the midpoint rule. The points
 * straddle f0, where alpha = 1 gives an integrable singularity for r = 1. */
static double budget(const ebb_assembly *assembly, double f0)
{
    const int n = 400000;
    const double reach = 16, step = 2 * reach / n;
    double sum = 0;
    for (int i = 0; i < n; i++) {
        const double hz = f0 * exp(-reach + (i + 0.5) * step);
        sum -= log1p(-ebb_assembly_alpha(assembly, &air, hz)) * air.speed / hz * step;
    }
    return sum;
}

/*
 * What a passive absorber can do in all is set by its static compliance 1/k alone:
 * integral of -ln(1 - alpha) over wavelength = 4 pi^2 rho c^2 / k when the damping is viscous and
 * r >= 1; a share r of it when r < 1.
 */
static void causality(void **unused)
{
    (void)unused;
    static const double r[] = {1, 1.5, 3, 0.6}, share[] = {1, 1, 1, 0.6};
    char what[100];
    for (size_t i = 0; i < 4; i++) {
        const ebb_layer layer = resonator(5, r[i], 50);
        const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_RIGID);
        const double limit = 4 * PI * PI * RHO_C * 343.2 / layer.stiffness;
        snprintf(what, sizeof what, "absorption integral over its limit, resonator with r = %g",
                 r[i]);
        outside_value(what,
                      "Yang et al. 2017, Mater. Horiz. 4, 673-680 (abstract); contour integral",
                      share[i], budget(&assembly, 50) / limit, 2e-3);
    }
}

static void strip_modes(void **unused)
{
    (void)unused;
    /* plywood 6 mm, E 8 GPa, 600 kg/m3, 0.6 m between supports */
    const ebb_layer panel = {.kind = EBB_LAYER_PANEL,
                             .thickness = 0.006,
                             .mass = 3.6,
                             .modulus = 8e9,
                             .poisson = 0.3,
                             .span = 0.6};
    const ebb_assembly assembly = stack(&panel, 1, EBB_BACK_OUTDOORS);
    const double bending = 8e9 * pow(0.006, 3) / 12 / 0.91;
    const double first = PI / 2 / 0.36 * sqrt(bending / 3.6);
    outside_value("first mode of a simply supported strip, 6 mm plywood over 0.6 m, Hz",
                  "(pi/2) sqrt(B/m)/span^2, any textbook", first,
                  resonance(&assembly, 0.8 * first, 1.2 * first), 1e-6);
    outside_value("the same as a plate 1.2 x 0.6 m, Hz",
                  "(pi/2) sqrt(B/m) (1/a^2 + 1/b^2), evaluated separately", 36.2,
                  resonance(&assembly, 20, 40) * 1.25, 0.05);
    outside_value("its third mode over the first", "n^2, any textbook", 9,
                  resonance(&assembly, 8.7 * first, 9.3 * first) / first, 1e-6);
}

static const double table_hz[] = {63, 125, 250, 500, 1000, 2000};

static void porous_row(double sigma, double depth, ebb_porous_model model, const double *alpha,
                       size_t n)
{
    char what[120];
    const ebb_layer layer = {.kind = EBB_LAYER_POROUS,
                             .thickness = depth,
                             .resistivity = sigma,
                             .porosity = 0.98,
                             .tortuosity = 1,
                             .model = model};
    const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_RIGID);
    const bool miki = model == EBB_POROUS_MIKI;
    for (size_t i = 0; i < n; i++) {
        snprintf(what, sizeof what, "absorption of %g mm wool, %g Pa s/m2, at %g Hz (%s)",
                 1000 * depth, sigma, table_hz[i], miki ? "Miki" : "JCA");
        outside_value(what,
                      miki ? "Miki 1990, J. Acoust. Soc. Jpn (E) 11, 19-24; evaluated separately"
                           : "Johnson 1987, Champoux and Allard 1991; evaluated separately",
                      alpha[i], ebb_assembly_alpha(&assembly, &air, table_hz[i]), 7e-4);
    }
}

static void porous_layers(void **unused)
{
    (void)unused;
    static const double miki[4][6] = {{.020, .064, .190, .484, .882, .982},
                                      {.085, .261, .620, .937, .947, .982},
                                      {.264, .620, .937},
                                      {.128, .346, .662}};
    static const double jca[4][6] = {{.022, .077, .226, .479, .806, .979},
                                     {.095, .291, .621, .895, .978, .974},
                                     {.294, .621, .895},
                                     {.145, .382, .659}};
    static const double sigma[] = {1e4, 1e4, 5e3, 2e4}, depth[] = {0.05, 0.1, 0.2, 0.1};
    static const size_t n[] = {6, 6, 3, 3};
    for (int i = 0; i < 4; i++) {
        porous_row(sigma[i], depth[i], EBB_POROUS_MIKI, miki[i], n[i]);
        porous_row(sigma[i], depth[i], EBB_POROUS_JCA, jca[i], n[i]);
    }
}

static void wool_at_low_frequency(void **unused)
{
    (void)unused;
    const ebb_layer layer = {.kind = EBB_LAYER_POROUS,
                             .thickness = 0.25,
                             .resistivity = 1e4,
                             .porosity = 0.98,
                             .tortuosity = 1};
    const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_RIGID);
    /* rho c^2 = gamma P0 in the code; the isothermal modulus is that over gamma */
    const double static_modulus = 1.205 * 343.2 * 343.2 / 1.4 / 0.98;
    outside_value("reactance of 250 mm wool at 2 Hz over that of its isothermal stiffness",
                  "1, Champoux and Allard 1991, limit, from memory", 1,
                  -reactance(&assembly, 2) * RHO_C / (static_modulus / (2 * PI * 2 * 0.25)), 1e-3);
}

static void diffuse_field(void **unused)
{
    (void)unused;
    static const struct {
        double re, im, normal, diffuse;
    } value[] = {{1, 0, 1.000, .9096},  {2, 0, .8889, .9389},   {3, 0, .750, .8688},
                 {5, 0, .5556, .7199},  {10, 0, .3306, .4891},  {20, 0, .1814, .2973},
                 {50, 0, .0769, .1380}, {100, 0, .0392, .0734}, {1, 1, .800, .7811},
                 {1, -2, .500, .5576},  {2, -4, .320, .4312},   {5, -5, .3279, .4711}};
    char what[100];
    for (size_t i = 0; i < sizeof value / sizeof value[0]; i++) {
        const double _Complex z = value[i].re + I * value[i].im;
        const ebb_assembly assembly = {.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 1 / z};
        snprintf(what, sizeof what, "absorption at normal incidence, z = %g%+gj", value[i].re,
                 value[i].im);
        outside_value(what, "4 Re z/|z + 1|^2, any textbook", value[i].normal,
                      ebb_assembly_alpha(&assembly, &air, 100), 6e-5);
        snprintf(what, sizeof what, "random-incidence absorption, z = %g%+gj", value[i].re,
                 value[i].im);
        outside_value(what, "Paris' integral by quadrature; closed form Vigran 2008, eq. 3.80",
                      value[i].diffuse, ebb_alpha_diffuse(1 / z), 6e-5);
    }
}

static void diffuse_maximum(void **unused)
{
    (void)unused;
    double best = 0, where = 0;
    for (double z = 1; z < 3; z += 1e-4) {
        const double alpha = ebb_alpha_diffuse(1 / z);
        if (alpha > best) {
            best = alpha;
            where = z;
        }
    }
    outside_value("largest random-incidence absorption of a locally reacting surface",
                  "Vigran 2008: about 0.95 at z about 1.6; 0.9512 evaluated separately", 0.9512,
                  best, 6e-5);
    outside_value("impedance over rho c at which it occurs", "as above, 1.567", 1.567, where, 2e-3);
}

static void mass_law(void **unused)
{
    (void)unused;
    const ebb_layer layer = mass(20);
    const ebb_assembly assembly = stack(&layer, 1, EBB_BACK_OUTDOORS);
    outside_value("transmission loss of 20 kg/m2 at 500 Hz, normal incidence, dB",
                  "mass law 20 lg(pi f m/(rho c)), any textbook", 20 * log10(PI * 500 * 20 / RHO_C),
                  -10 * log10(ebb_assembly_transmitted(&assembly, &air, 500)), 0.01);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(board_over_a_cavity),   cmocka_unit_test(two_boards),
        cmocka_unit_test(quarter_wave_screen),   cmocka_unit_test(resonator_absorption),
        cmocka_unit_test(resonator_width),       cmocka_unit_test(causality),
        cmocka_unit_test(strip_modes),           cmocka_unit_test(porous_layers),
        cmocka_unit_test(wool_at_low_frequency), cmocka_unit_test(diffuse_field),
        cmocka_unit_test(diffuse_maximum),       cmocka_unit_test(mass_law),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
