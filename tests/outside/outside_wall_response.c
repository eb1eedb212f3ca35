/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Response of a room with admittance on one pair of walls and rigid on the others: cosines along y
 * and z times the closed form of the line between the two walls.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "walls.h"

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
        cmocka_unit_test(response_between_a_pair_of_walls),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
