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
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "walls.h"

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

static const pair constant_pairs[] = {{.name = "beta 0.05 on both x walls", .beta = {0.05, 0.05}},
                                      {.name = "beta 0.3 on both x walls", .beta = {0.3, 0.3}},
                                      {.name = "beta 0.15 + 0.2j and 0.05 - 0.1j on the x walls",
                                       .beta = {0.15 + 0.2 * I, 0.05 - 0.1 * I}}};

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
    if (!(nearest < 0.02 * cabs(root)))
        fail_msg("no mode for the root at %g Hz, %g 1/s", hz, delta);
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

/* Share of the energy of a mode that is in the air and not in the moving wall at x = L. */
static double air_share(const pair *walls, const int label[3], double _Complex omega)
{
    enum { PANELS = 200 };
    double _Complex q = normal_number(omega, label);
    double _Complex part = I * omega / speed * beta_of(walls, 0, omega) / q, at_wall = 0;
    double air = 0;
    for (int i = 0; i <= PANELS; i++) { /* Simpson's rule */
        double x = size[0] * i / PANELS;
        at_wall = ccos(q * x) + part * csin(q * x);
        double weight = i == 0 || i == PANELS ? 1 : i % 2 ? 4 : 2;
        air += weight * size[0] / (3 * PANELS) * pow(cabs(at_wall), 2);
    }
    air /= density * speed * speed;
    double _Complex velocity = beta_of(walls, 1, omega) / (density * speed) * at_wall;
    double wall = walls->mass * pow(cabs(velocity), 2);
    return air / (air + wall);
}

/* Every mode of the engine must be a root. */
static void assert_roots(const ebb_modes *modes, double most, size_t n, const double _Complex *root)
{
    for (size_t m = 0; m < modes->n; m++) {
        double _Complex omega = 2 * PI * modes->mode[m].hz + I * modes->mode[m].delta;
        double nearest = INFINITY;
        for (size_t i = 0; i < n; i++)
            nearest = fmin(nearest, cabs(omega - root[i]) / cabs(omega));
        if (modes->mode[m].delta < most && nearest > 1e-3)
            fail_msg("the mode at %g Hz is no root", modes->mode[m].hz);
    }
}

/* A wall that resonates within the band has more modes than the rigid room. Those that are not the
 * wall's own, and that decay slower than the wall does alone, must all be found. */
static void modes_beside_a_resonant_wall(void **state)
{
    (void)state;
    static const double delta[2] = {0.05, 14}; /* the pole of the wall's beta lies at 15.5 1/s */
    const pair *walls = &resonant_pair;
    solved s;
    ebb_modes *modes;
    open_room(&s, walls);
    assert_int_equal(ebb_modes_new(s.ctx, s.reduced, &s.room, band[0], band[1], &modes), EBB_OK);
    comparison c = {.modes = modes};
    double _Complex root[12 * 40];
    size_t n = 0;
    for (int j = 0; j < 4; j++)
        for (int l = 0; l < 3; l++) {
            const int label[3] = {0, j, l};
            size_t more = all_roots(walls, label, delta, root + n);
            for (size_t i = n; i < n + more; i++)
                if (air_share(walls, label, root[i]) > 0.32) /* 0.3 is the engine's limit */
                    compare(&c, root[i]);
            n += more;
        }
    assert_true(c.n > 25 && n > c.n);
    report(walls, &c);
    assert_roots(modes, delta[1], n, root);
    ebb_modes_free(modes);
    close_room(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(modes_between_a_pair_of_walls),
        cmocka_unit_test(modes_beside_a_resonant_wall),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
