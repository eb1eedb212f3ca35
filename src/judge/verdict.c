/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * verdict.c - the verdict rule, the mended share, and the draws of what is not known.
 */
#include <math.h>
#include <stdint.h>

#include "private.h"

const char *ebb_verdict_name(ebb_verdict verdict)
{
    static const char *const name[] = {"no", "voice", "music"};
    return (unsigned)verdict < sizeof name / sizeof name[0] ? name[verdict] : "unknown";
}

/* How decisive a test is: 0.5 is a coin, 1 leaves nothing open. Without draws nobody knows. */
static double decisive(const ebb_odds *odds)
{
    return odds->draws > 0 ? fmax(odds->share, 1 - odds->share) : NAN;
}

/* Not known as soon as one of the two is not: fmin alone would pass over it. */
static double less_sure(double a, double b)
{
    return isnan(a) || isnan(b) ? NAN : fmin(a, b);
}

ebb_verdict ebb_verdict_of(const ebb_odds *music, const ebb_odds *voice, double *sure)
{
    *sure = music ? decisive(music) : voice ? decisive(voice) : NAN;
    if (music && music->share >= 0.5)
        return EBB_MUSIC;
    /* Either test could still turn `voice` or `no` into something else, so the less decisive one
     * decides how sure we are; after `music` the voice test changes nothing. */
    if (music && voice)
        *sure = less_sure(*sure, decisive(voice));
    return voice && voice->share >= 0.5 ? EBB_VOICE : EBB_NO;
}

double ebb_mended(double before, double after)
{
    return before >= 0.05 ? 1 - after / before : NAN;
}

/* ---- draws ----------------------------------------------------------------------------------- */

static const size_t most_draws = (size_t)1 << 19; /* beyond, strata and points lose exactness */

/* Splitmix64 (Steele, Lea & Flood, OOPSLA 2014; constants from memory). */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = *state += UINT64_C(0x9e3779b97f4a7c15);
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

/* Uniform in (0, 1), both ends left out. 32 bits, so that adding the number of a stratum to it is
 * exact and no point can slip into the next stratum by rounding. */
static double next_uniform(uint64_t *state)
{
    return ((double)(next_random(state) >> 32) + 0.5) * 0x1p-32;
}

/* Natural logarithm from the four operations alone: the C library's may differ in its last bit from
 * one machine to the next, and then so would every plan that rests on the draws. */
static double plain_log(double x)
{
    int exponent;
    double m = frexp(x, &exponent); /* [0.5, 1) */
    double y = (m - 1) / (m + 1), square = y * y, sum = 0;
    for (int k = 41; k >= 1; k -= 2)
        sum = sum * square + 1.0 / k;
    return 2 * y * sum + exponent * 0.693147180559945309417;
}

/* Quotient of two polynomials of degree 7, by Horner. */
static double ratio(const double top[8], const double bottom[8], double x)
{
    double a = 0, b = 0;
    for (int i = 7; i >= 0; i--) {
        a = a * x + top[i];
        b = b * x + bottom[i];
    }
    return a / b;
}

/* Inverse of the normal distribution function, 0 < p < 1: M. J. Wichura, algorithm AS 241
 * (PPND16), Applied Statistics 37 (1988) 477-484; about 1 part in 10^16. Coefficients from memory,
 * checked against erfc in the tests. */
static double normal_quantile(double p)
{
    static const double a[8] = {3.3871328727963666080e0, 1.3314166789178437745e2,
                                1.9715909503065514427e3, 1.3731693765509461125e4,
                                4.5921953931549871457e4, 6.7265770927008700853e4,
                                3.3430575583588128105e4, 2.5090809287301226727e3};
    static const double b[8] = {1.0,
                                4.2313330701600911252e1,
                                6.8718700749205790830e2,
                                5.3941960214247511077e3,
                                2.1213794301586595867e4,
                                3.9307895800092710610e4,
                                2.8729085735721942674e4,
                                5.2264952788528545610e3};
    static const double c[8] = {1.42343711074968357734e0,  4.63033784615654529590e0,
                                5.76949722146069140550e0,  3.64784832476320460504e0,
                                1.27045825245236838258e0,  2.41780725177450611770e-1,
                                2.27238449892691845833e-2, 7.74545014278341407640e-4};
    static const double d[8] = {1.0,
                                2.05319162663775882187e0,
                                1.67638483018380384940e0,
                                6.89767334985100004550e-1,
                                1.48103976427480074590e-1,
                                1.51986665636164571966e-2,
                                5.47593808499534494600e-4,
                                1.05075007164441684324e-9};
    static const double e[8] = {6.65790464350110377720e0,  5.46378491116411436990e0,
                                1.78482653991729133580e0,  2.96560571828504891230e-1,
                                2.65321895265761230930e-2, 1.24266094738807843860e-3,
                                2.71155556874348757815e-5, 2.01033439929228813265e-7};
    static const double f[8] = {1.0,
                                5.99832206555887937690e-1,
                                1.36929880922735805310e-1,
                                1.48753612908506148525e-2,
                                7.86869131145613259100e-4,
                                1.84631831751005468180e-5,
                                1.42151175831644588870e-7,
                                2.04426310338993978564e-15};
    double q = p - 0.5;
    if (fabs(q) <= 0.425)
        return q * ratio(a, b, 0.180625 - q * q);
    double r = sqrt(-plain_log(q < 0 ? p : 1 - p));
    double x = r <= 5 ? ratio(c, d, r - 1.6) : ratio(e, f, r - 5);
    return q < 0 ? -x : x;
}

/* One column of the design: a random order of the strata, then a random point in each. */
static void draw_column(size_t n_draws, size_t n_dims, uint64_t *state, double *column)
{
    for (size_t i = 0; i < n_draws; i++) {
        size_t j = (size_t)(next_random(state) % (i + 1));
        column[i * n_dims] = column[j * n_dims];
        column[j * n_dims] = (double)i;
    }
    for (size_t i = 0; i < n_draws; i++) {
        double p = (column[i * n_dims] + next_uniform(state)) / (double)n_draws;
        column[i * n_dims] = normal_quantile(p);
    }
}

ebb_status ebb_draws_normal(ebb_ctx *ctx, size_t n_draws, size_t n_dims, unsigned seed, double *out)
{
    if (n_draws == 0 || n_dims == 0 || n_draws > most_draws)
        return ebb_fail(ctx, EBB_E_RANGE, "%zu draws of %zu quantities can not be made", n_draws,
                        n_dims);
    uint64_t state = seed;
    for (size_t k = 0; k < n_dims; k++)
        draw_column(n_draws, n_dims, &state, out + k);
    return EBB_OK;
}
