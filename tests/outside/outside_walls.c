/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A room with admittance on one pair of walls and rigid on the others separates: along x a
 * transcendental equation gives its damped modes, and a closed form its response. Both are solved
 * here without the wave engine.
 *
 * With e^{+jwt} and dp/dn = -jk beta p, the shape cos(qx) + (jk b0 / q) sin(qx) meets the wall at
 * x = 0; at x = L it must meet
 *     F = -q sin(qL) + jk (b0 + b1) cos(qL) - k^2 b0 b1 sin(qL) / q = 0,
 *     q^2 = k^2 - (j pi / Ly)^2 - (l pi / Lz)^2.
 * For equal walls this is q tan(qL/2) = jk beta and q cot(qL/2) = -jk beta. F is even in q, so the
 * branch of the root does not matter.
 */
#include <ebb/field.h>

#include <complex.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>

#include <cmocka.h>

#include "outside.h"

#define PI 3.14159265358979323846
#define COUNT(array) (sizeof(array) / sizeof(array)[0])
#define SOURCE "separation of variables, solved in the test"

static const double size[3] = {4.3, 3.4, 2.5}, speed = 343.2, density = 1.204;

/* A pair of x walls: constant admittances, or a resonator (mass, frequency, resistance) at x = L.
 */
typedef struct pair {
    const char *name;
    double _Complex beta[2];
    double mass, hz, resistance;
} pair;

/* The resonator by its definition: z = r + j (w m - w0^2 m / w) / (rho c). */
static double _Complex beta_of(const pair *walls, int side, double _Complex omega)
{
    if (side == 0 || walls->mass == 0)
        return walls->beta[side];
    double w0 = 2 * PI * walls->hz;
    return 1 /
           (walls->resistance + I * walls->mass * (omega - w0 * w0 / omega) / (density * speed));
}

static double _Complex normal_number(double _Complex omega, const int label[3])
{
    double ky = label[1] * PI / size[1], kz = label[2] * PI / size[2];
    return csqrt(omega * omega / (speed * speed) - ky * ky - kz * kz);
}

/* F(w) with both admittances times `share`. */
static double _Complex mismatch(const pair *walls, double share, double _Complex omega,
                                const int label[3])
{
    double _Complex q = normal_number(omega, label), k = omega / speed, qL = q * size[0];
    double _Complex b0 = share * beta_of(walls, 0, omega), b1 = share * beta_of(walls, 1, omega);
    double _Complex sine = cabs(qL) < 1e-8 ? size[0] : csin(qL) / q;
    return -q * q * sine + I * k * (b0 + b1) * ccos(qL) - k * k * b0 * b1 * sine;
}

/* Newton steps with a numerical slope; NAN when they do not settle. */
static double _Complex newton(const pair *walls, double share, double _Complex omega,
                              const int label[3])
{
    for (int step = 0; step < 60 && creal(omega) > 1; step++) {
        double _Complex h = 1e-6 * omega;
        double _Complex slope =
            (mismatch(walls, share, omega + h, label) - mismatch(walls, share, omega - h, label)) /
            (2 * h);
        double _Complex change = mismatch(walls, share, omega, label) / slope;
        omega -= change;
        if (cabs(change) < 1e-13 * cabs(omega))
            return omega;
    }
    return NAN;
}

/* The root that the rigid mode of a label becomes while the walls soften from rigid. */
static double _Complex root_of(const pair *walls, const int label[3])
{
    double _Complex omega = 2 * PI * ebb_box_hz(size, label, speed);
    for (int step = 1; step <= 50; step++)
        omega = newton(walls, step / 50., omega * (1 + 1e-9 * I), label);
    return omega;
}

/* ---- the engine's room ----------------------------------------------------------------------- */

static const ebb_vec3 points[] = {
    {0.5, 0.6, 0.45}, {1.2, 2.5, 1.3}, {2.3, 1.5, 1.2}, {3.4, 2.7, 1.1}, {3.9, 0.5, 2.2}};

typedef struct solved {
    ebb_ctx *ctx;
    ebb_layer layer;
    ebb_assembly rigid, wall[2];
    ebb_reduced *reduced;
    ebb_state room;
} solved;

static void open_room(solved *s, const pair *walls)
{
    s->ctx = ebb_ctx_new();
    s->layer = (ebb_layer){.kind = EBB_LAYER_LUMPED,
                           .mass = walls->mass,
                           .resistance = walls->resistance * density * speed,
                           .stiffness = walls->mass * pow(2 * PI * walls->hz, 2)};
    s->rigid = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT};
    for (int side = 0; side < 2; side++)
        s->wall[side] = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = walls->beta[side]};
    if (walls->mass > 0)
        s->wall[1] = (ebb_assembly){.n_layers = 1, .layers = &s->layer, .back = EBB_BACK_RIGID};
    const ebb_geometry geometry = {.size = {size[0], size[1], size[2]},
                                   .highest = 200,
                                   .speed = speed,
                                   .n_points = COUNT(points),
                                   .points = points,
                                   .richness = 1,
                                   .wall = {1, 1, 0.01, 0.01, 0.01, 0.01}};
    assert_int_equal(ebb_reduced_new(s->ctx, &geometry, &s->reduced), EBB_OK);
    s->room =
        (ebb_state){.scale = {1, 1, 1},
                    .face = {&s->wall[0], &s->wall[1], &s->rigid, &s->rigid, &s->rigid, &s->rigid},
                    .n_sources = 2,
                    .n_receivers = 3,
                    .sources = points,
                    .receivers = points + 2};
    assert_int_equal(ebb_air_given(s->ctx, speed, density, &s->room.air), EBB_OK);
}

static void close_room(solved *s)
{
    ebb_reduced_free(s->reduced);
    ebb_ctx_free(s->ctx);
}

/* ---- damped modes ---------------------------------------------------------------------------- */

static const pair constant_pairs[] = {{.name = "beta 0.05 on both x walls", .beta = {0.05, 0.05}},
                                      {.name = "beta 0.3 on both x walls", .beta = {0.3, 0.3}},
                                      {.name = "beta 0.15 + 0.2j and 0.05 - 0.1j on the x walls",
                                       .beta = {0.15 + 0.2 * I, 0.05 - 0.1 * I}}};

static const pair resonant_pair = {
    .name = "beta 0.05 at x = 0, a resonant wall (4 kg/m2, 70 Hz) at x = L",
    .beta = {0.05, 0},
    .mass = 4,
    .hz = 70,
    .resistance = 0.8};

/* The engine's modes against exact roots: every root must have a mode of its own. */
typedef struct comparison {
    const ebb_modes *modes;
    bool used[200];
    size_t n;
    double worst[2]; /* largest relative errors of frequency and decay */
} comparison;

static void compare(comparison *c, double _Complex root)
{
    double hz = creal(root) / (2 * PI), delta = cimag(root), nearest = INFINITY;
    size_t best = 0;
    for (size_t m = 0; m < c->modes->n; m++) {
        const ebb_mode *mode = &c->modes->mode[m];
        double distance = hypot(2 * PI * (mode->hz - hz), mode->delta - delta);
        if (!c->used[m] && distance < nearest) {
            nearest = distance;
            best = m;
        }
    }
    if (!isfinite(nearest))
        fail_msg("no mode left for the root at %g Hz, %g 1/s", hz, delta);
    c->used[best] = true;
    c->worst[0] = fmax(c->worst[0], fabs(c->modes->mode[best].hz / hz - 1));
    c->worst[1] = fmax(c->worst[1], fabs(c->modes->mode[best].delta / delta - 1));
    c->n++;
}

static void report(const pair *walls, const comparison *c)
{
    char what[160];
    snprintf(what, sizeof what, "%s: %zu damped modes, largest frequency error, %%", walls->name,
             c->n);
    outside_below(what, SOURCE, 0.05, 100 * c->worst[0]);
    snprintf(what, sizeof what, "%s: %zu damped modes, largest decay error, %%", walls->name, c->n);
    outside_below(what, SOURCE, 1, 100 * c->worst[1]);
}

static const double band[2] = {20, 160};

/* Follows every rigid mode to its damped one. */
static void compare_all(const pair *walls, comparison *c)
{
    for (int i = 0; i < 8; i++)
        for (int j = 0; j < 6; j++)
            for (int l = 0; l < 5; l++) {
                const int label[3] = {i, j, l};
                if (i + j + l == 0 || ebb_box_hz(size, label, speed) > 1.3 * band[1])
                    continue;
                double _Complex root = root_of(walls, label);
                assert_true(isfinite(creal(root)));
                if (creal(root) >= 2 * PI * band[0] && creal(root) <= 2 * PI * band[1])
                    compare(c, root);
            }
}

static void modes_between_a_pair_of_walls(void **state)
{
    (void)state;
    for (size_t p = 0; p < COUNT(constant_pairs); p++) {
        const pair *walls = &constant_pairs[p];
        solved s;
        ebb_modes *modes;
        open_room(&s, walls);
        assert_int_equal(ebb_modes_new(s.ctx, s.reduced, &s.room, band[0], band[1], &modes),
                         EBB_OK);
        comparison c = {.modes = modes};
        assert_true(modes->n < COUNT(c.used));
        compare_all(walls, &c);
        assert_int_equal(c.n, modes->n);
        report(walls, &c);
        ebb_modes_free(modes);
        close_room(&s);
    }
}

/* Turns of F along the border of a rectangle: its roots inside, since it has no poles there. */
static double turns(const pair *walls, const int label[3], const double delta[2])
{
    const double low = 2 * PI * band[0], high = 2 * PI * band[1];
    const double _Complex corner[5] = {low + I * delta[0], high + I * delta[0], high + I * delta[1],
                                       low + I * delta[1], low + I * delta[0]};
    double sum = 0;
    for (int side = 0; side < 4; side++)
        for (int i = 0; i < 4000; i++) {
            double _Complex step = (corner[side + 1] - corner[side]) / 4000;
            double _Complex a = corner[side] + i * step;
            sum += carg(mismatch(walls, 1, a + step, label) / mismatch(walls, 1, a, label));
        }
    return sum / (2 * PI);
}

/* All roots of one (j, l) in the band with a decay rate in delta[0]..delta[1], from Newton steps on
 * a grid of starts. */
static size_t all_roots(const pair *walls, const int label[3], const double delta[2],
                        double _Complex *root)
{
    size_t n = 0;
    for (double hz = band[0] - 10; hz < band[1] + 10; hz += 2)
        for (double d = delta[0]; d < delta[1]; d += 4) {
            double _Complex found = newton(walls, 1, 2 * PI * hz + I * d, label);
            bool inside = creal(found) > 2 * PI * band[0] && creal(found) < 2 * PI * band[1] &&
                          cimag(found) > delta[0] && cimag(found) < delta[1];
            size_t i = 0;
            while (i < n && cabs(found - root[i]) > 1e-6 * cabs(found))
                i++;
            if (inside && i == n)
                root[n++] = found;
        }
    assert_int_equal(n, (size_t)round(turns(walls, label, delta)));
    return n;
}

/* A wall that resonates within the band has more modes than the rigid room. Those that decay slowly
 * enough to be heard must all be found; the wall's own pole lies above that decay rate. */
static void modes_beside_a_resonant_wall(void **state)
{
    (void)state;
    static const double delta[2] = {0.05, 30};
    const pair *walls = &resonant_pair;
    solved s;
    ebb_modes *modes;
    open_room(&s, walls);
    assert_int_equal(ebb_modes_new(s.ctx, s.reduced, &s.room, band[0], band[1], &modes), EBB_OK);
    comparison c = {.modes = modes};
    for (int j = 0; j < 4; j++)
        for (int l = 0; l < 3; l++) {
            const int label[3] = {0, j, l};
            double _Complex root[40];
            size_t n = all_roots(walls, label, delta, root);
            for (size_t i = 0; i < n; i++)
                compare(&c, root[i]);
        }
    assert_true(c.n > 20);
    report(walls, &c);
    ebb_modes_free(modes);
    close_room(&s);
}

/* ---- response -------------------------------------------------------------------------------- */

/* Shape that meets the wall of admittance b at distance 0, and its slope, at distance x from it. */
static double _Complex shape(double _Complex q, double _Complex k, double _Complex b, double x,
                             double _Complex *slope)
{
    double _Complex part = I * k * b;
    *slope = -q * csin(q * x) + part * ccos(q * x);
    return ccos(q * x) + part * csin(q * x) / q;
}

/* Solution of -g'' - q^2 g = delta(x - y) between the two walls. */
static double _Complex line_green(const pair *walls, double omega, double _Complex q, double x,
                                  double y)
{
    double _Complex k = omega / speed, b0 = beta_of(walls, 0, omega), b1 = beta_of(walls, 1, omega);
    double low = fmin(x, y), high = fmax(x, y);
    double _Complex du, dv, u, v, left, right;
    left = shape(q, k, b0, low, &du);
    right = shape(q, k, b1, size[0] - high, &dv);
    u = shape(q, k, b0, high, &du);
    v = right;
    return left * right / (du * v + u * dv); /* dv is the slope towards the other wall */
}

/* p / Q: cosines in y and z times the closed form in x. Terms fall as e^{-|q| |x - y|}. */
static double _Complex exact_response(const pair *walls, double hz, const ebb_vec3 *a,
                                      const ebb_vec3 *b)
{
    double omega = 2 * PI * hz;
    double _Complex sum = 0;
    for (int j = 0; j * PI / size[1] < 60; j++)
        for (int l = 0; l * PI / size[2] < 60; l++) {
            const int label[3] = {0, j, l};
            double _Complex q = normal_number(omega, label);
            if (fabs(cimag(q)) * fabs(a->x - b->x) > 35)
                continue;
            double ky = j * PI / size[1], kz = l * PI / size[2];
            double weight = (j ? 2 : 1) * (l ? 2 : 1) / (size[1] * size[2]);
            sum += weight * cos(ky * a->y) * cos(ky * b->y) * cos(kz * a->z) * cos(kz * b->z) *
                   line_green(walls, omega, q, a->x, b->x);
        }
    return I * omega * density * sum;
}

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

#define N_HZ 91

static void response_between_a_pair_of_walls(void **state)
{
    (void)state;
    const pair pairs[] = {{.name = "beta 0.05 on both x walls", .beta = {0.05, 0.05}},
                          {.name = "beta 0.3 on both x walls", .beta = {0.3, 0.3}},
                          resonant_pair};
    double hz[N_HZ], error[6 * N_HZ];
    double _Complex h[6 * N_HZ];
    for (int i = 0; i < N_HZ; i++)
        hz[i] = 20 + 2 * i;
    for (size_t p = 0; p < COUNT(pairs); p++) {
        solved s;
        open_room(&s, &pairs[p]);
        assert_int_equal(ebb_response(s.ctx, s.reduced, &s.room, N_HZ, hz, h), EBB_OK);
        for (size_t i = 0; i < 6 * N_HZ; i++) {
            const ebb_vec3 *a = &points[i / N_HZ / 3], *b = &points[2 + i / N_HZ % 3];
            error[i] = fabs(20 * log10(cabs(h[i] / exact_response(&pairs[p], hz[i % N_HZ], a, b))));
        }
        qsort(error, 6 * N_HZ, sizeof *error, by_value);
        char what[160];
        snprintf(what, sizeof what, "%s: response 20-200 Hz, 99th percentile of the error, dB",
                 pairs[p].name);
        outside_below(what, SOURCE, 0.05, error[(int)(0.99 * 6 * N_HZ)]);
        close_room(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(modes_between_a_pair_of_walls),
        cmocka_unit_test(modes_beside_a_resonant_wall),
        cmocka_unit_test(response_between_a_pair_of_walls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
