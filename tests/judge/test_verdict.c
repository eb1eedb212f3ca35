/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "scene.h"

static ebb_odds odds(double share)
{
    return (ebb_odds){.draws = 32, .share = share};
}

typedef struct rule_case {
    double music, voice; /* share; below 0: not asked */
    ebb_verdict verdict;
    double sure;
} rule_case;

static void rule_follows_its_table(void **state)
{
    (void)state;
    static const rule_case cases[] = {
        {1.0, -1, EBB_MUSIC, 1.0},  {0.5, -1, EBB_MUSIC, 0.5},  {0.4999, -1, EBB_NO, 0.5001},
        {0, -1, EBB_NO, 1.0},       {-1, 1.0, EBB_VOICE, 1.0},  {-1, 0.5, EBB_VOICE, 0.5},
        {-1, 0.3, EBB_NO, 0.7},     {0.9, 0.1, EBB_MUSIC, 0.9}, /* voice changes nothing */
        {0.2, 0.9, EBB_VOICE, 0.8},                             /* music could still turn it */
        {0, 0.6, EBB_VOICE, 0.6},   {0.1, 0.4, EBB_NO, 0.6},    {0.45, 0.1, EBB_NO, 0.55},
        {-1, -1, EBB_NO, NAN},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const rule_case *c = &cases[i];
        ebb_odds music = odds(c->music), voice = odds(c->voice);
        double sure = -1;
        ebb_verdict got =
            ebb_verdict_of(c->music < 0 ? NULL : &music, c->voice < 0 ? NULL : &voice, &sure);
        assert_int_equal(got, c->verdict);
        if (isnan(c->sure))
            assert_true(isnan(sure));
        else
            assert_near(sure, c->sure, 1e-12);
    }
}

/* Without draws the nominal plan decides, and how sure that is is not known. */
static void no_draws_leave_sureness_open(void **state)
{
    (void)state;
    ebb_odds right = {.draws = 0, .share = 1}, wrong = {.draws = 0, .share = 0}, drawn = odds(0.75);
    double sure;
    assert_int_equal(ebb_verdict_of(&right, NULL, &sure), EBB_MUSIC);
    assert_true(isnan(sure));
    assert_int_equal(ebb_verdict_of(&wrong, &right, &sure), EBB_VOICE);
    assert_true(isnan(sure));
    assert_int_equal(ebb_verdict_of(&wrong, &drawn, &sure), EBB_VOICE);
    assert_true(isnan(sure));
    assert_int_equal(ebb_verdict_of(&drawn, &wrong, &sure), EBB_MUSIC);
    assert_near(sure, 0.75, 0); /* voice does not matter here */
    drawn.share = 0.1;
    assert_int_equal(ebb_verdict_of(&drawn, &wrong, &sure), EBB_NO);
    assert_true(isnan(sure));
}

static void better_odds_never_lower_the_verdict(void **state)
{
    (void)state;
    for (int m = 0; m <= 20; m++)
        for (int v = 0; v <= 20; v++) {
            ebb_odds music = odds(m / 20.0), voice = odds(v / 20.0);
            ebb_odds better_music = odds(fmin(1, m / 20.0 + 0.05));
            ebb_odds better_voice = odds(fmin(1, v / 20.0 + 0.05));
            double sure;
            ebb_verdict now = ebb_verdict_of(&music, &voice, &sure);
            assert_true(sure >= 0.5 && sure <= 1);
            assert_true(ebb_verdict_of(&better_music, &voice, &sure) >= now);
            assert_true(ebb_verdict_of(&music, &better_voice, &sure) >= now);
        }
}

static void names_are_the_three(void **state)
{
    (void)state;
    assert_string_equal(ebb_verdict_name(EBB_NO), "no");
    assert_string_equal(ebb_verdict_name(EBB_VOICE), "voice");
    assert_string_equal(ebb_verdict_name(EBB_MUSIC), "music");
    assert_string_equal(ebb_verdict_name((ebb_verdict)77), "unknown");
}

static void mended_share(void **state)
{
    (void)state;
    assert_near(ebb_mended(0.8, 0.2), 0.75, 1e-15);
    assert_near(ebb_mended(0.5, 0), 1, 0);
    assert_near(ebb_mended(0.5, 0.6), -0.2, 1e-15); /* made worse */
    assert_near(ebb_mended(0.05, 0.05), 0, 0);
    assert_true(isnan(ebb_mended(0.0499, 0)));
    assert_true(isnan(ebb_mended(0, 0)));
    assert_true(isnan(ebb_mended(NAN, 0)));
}

/* Phi(x), the normal distribution function. */
static double phi(double x)
{
    return 0.5 * erfc(-x / sqrt(2));
}

/* Every stratum of every dimension holds exactly one draw. */
static void strata_hold_one_draw_each(void **state)
{
    (void)state;
    const size_t sizes[][2] = {{1, 1}, {2, 3}, {32, 9}, {33, 20}, {500, 2}};
    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        size_t n = sizes[i][0], dims = sizes[i][1];
        double *out = calloc(n * dims, sizeof *out);
        int *seen = calloc(n, sizeof *seen);
        assert_int_equal(ebb_draws_normal(NULL, n, dims, 5, out), EBB_OK);
        for (size_t k = 0; k < dims; k++) {
            memset(seen, 0, n * sizeof *seen);
            for (size_t d = 0; d < n; d++) {
                size_t stratum = (size_t)(phi(out[d * dims + k]) * (double)n);
                assert_true(stratum < n);
                assert_int_equal(seen[stratum]++, 0);
            }
        }
        free(out);
        free(seen);
    }
}

static void seeds_repeat_and_differ(void **state)
{
    (void)state;
    double a[64 * 5], b[64 * 5], c[64 * 5];
    assert_int_equal(ebb_draws_normal(NULL, 64, 5, 1, a), EBB_OK);
    assert_int_equal(ebb_draws_normal(NULL, 64, 5, 1, b), EBB_OK);
    assert_int_equal(ebb_draws_normal(NULL, 64, 5, 2, c), EBB_OK);
    assert_memory_equal(a, b, sizeof a);
    assert_memory_not_equal(a, c, sizeof a);
    /* and dimensions differ from one another */
    size_t equal = 0;
    for (size_t d = 0; d < 64; d++)
        equal += a[d * 5] == a[d * 5 + 1];
    assert_int_equal(equal, 0);
}

/* Stratified, so mean and deviation come out far nearer than 1/sqrt(n); columns uncorrelated. */
static void draws_are_standard_normal(void **state)
{
    (void)state;
    enum { n = 2000, dims = 4 };
    static double out[n * dims];
    assert_int_equal(ebb_draws_normal(NULL, n, dims, 9, out), EBB_OK);
    for (size_t k = 0; k < dims; k++) {
        double sum = 0, square = 0, product = 0;
        for (size_t d = 0; d < n; d++) {
            double x = out[d * dims + k];
            sum += x;
            square += x * x;
            product += x * out[d * dims + (k + 1) % dims];
        }
        assert_near(sum / n, 0, 0.005);
        assert_near(square / n, 1, 0.01);
        assert_near(product / n, 0, 4 / sqrt(n));
    }
}

/* Points within a stratum are odd multiples of 2^-33, so the distribution function (the C library's
 * erfc) of every draw must lead back to one: that pins the inverse to a few parts in 10^15. */
static void quantiles_lead_back_to_their_points(void **state)
{
    (void)state;
    enum { n = 16, dims = 200 };
    static double out[n * dims];
    assert_int_equal(ebb_draws_normal(NULL, n, dims, 4, out), EBB_OK);
    for (size_t i = 0; i < n * dims; i++) {
        /* from the nearer tail, where 1 - p has lost no digits */
        double p = phi(-fabs(out[i])) * n;
        double point = (p - floor(p)) * 4294967296.0 - 0.5;
        assert_near(point, round(point), 1e-4);
    }
}

static void far_tails_are_right(void **state)
{
    (void)state;
    const size_t n = (size_t)1 << 19;
    double *out = calloc(n, sizeof *out);
    assert_non_null(out);
    assert_int_equal(ebb_draws_normal(NULL, n, 1, 3, out), EBB_OK);
    double low = 0, high = 0;
    for (size_t d = 0; d < n; d++) {
        low = fmin(low, out[d]);
        high = fmax(high, out[d]);
    }
    /* outermost strata: probability below 1 / 2^19, more than 4.6 deviations out */
    assert_true(phi(low) * (double)n < 1 && phi(-high) * (double)n < 1);
    assert_true(low < -4.6 && high > 4.6 && low > -9 && high < 9);
    free(out);
}

/* Same bytes everywhere: these were written down once and rest on the four operations and sqrt. */
static void bytes_are_those_of_every_machine(void **state)
{
    (void)state;
    double out[8 * 2];
    assert_int_equal(ebb_draws_normal(NULL, 8, 2, 1, out), EBB_OK);
    uint64_t hash = UINT64_C(1469598103934665603); /* FNV-1a over the bits, lowest byte first */
    for (size_t i = 0; i < 16; i++) {
        uint64_t bits;
        memcpy(&bits, &out[i], sizeof bits);
        for (int shift = 0; shift < 64; shift += 8)
            hash = (hash ^ ((bits >> shift) & 0xff)) * UINT64_C(1099511628211);
    }
    assert_true(hash == UINT64_C(0x35a232f0c705cd31));
}

static void impossible_draws_are_refused(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    double out[4];
    assert_int_equal(ebb_draws_normal(ctx, 0, 3, 1, out), EBB_E_RANGE);
    assert_int_equal(ebb_draws_normal(ctx, 3, 0, 1, out), EBB_E_RANGE);
    assert_int_equal(ebb_draws_normal(ctx, (size_t)1 << 40, 1, 1, out), EBB_E_RANGE);
    assert_int_equal(ebb_ctx_errors(ctx), 3);
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rule_follows_its_table),
        cmocka_unit_test(no_draws_leave_sureness_open),
        cmocka_unit_test(better_odds_never_lower_the_verdict),
        cmocka_unit_test(names_are_the_three),
        cmocka_unit_test(mended_share),
        cmocka_unit_test(strata_hold_one_draw_each),
        cmocka_unit_test(seeds_repeat_and_differ),
        cmocka_unit_test(draws_are_standard_normal),
        cmocka_unit_test(quantiles_lead_back_to_their_points),
        cmocka_unit_test(far_tails_are_right),
        cmocka_unit_test(bytes_are_those_of_every_machine),
        cmocka_unit_test(impossible_draws_are_refused),
    };
    return cmocka_run_group_tests_name("verdict", tests, NULL, NULL);
}
