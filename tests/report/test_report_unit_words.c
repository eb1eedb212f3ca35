/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Units and claims in words: unit_words.c. */
#include "../../src/report/unit_words.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

#include <math.h>

typedef struct desk {
    ebb_ctx *ctx;
    ebb_arena *arena;
} desk;

static desk open_desk(void)
{
    desk d = {.ctx = ebb_ctx_new()};
    d.arena = ebb_arena_new(d.ctx);
    return d;
}

static void close_desk(desk *d)
{
    ebb_arena_free(d->arena);
    ebb_ctx_free(d->ctx);
}

static void has(const char *text, const char *part)
{
    assert_non_null(text);
    if (strstr(text, part) == NULL)
        fail_msg("\"%s\" is missing in \"%s\"", part, text);
}

static void test_bands(void **state)
{
    (void)state;
    desk d = open_desk();
    ebb_study s = {.band = {.peak_hz = 46.9,
                            .peak = 0.999,
                            .half = {35.3, 62.2},
                            .useful = {27.1, 81.2},
                            .mean = 0.732}};
    const char *text = ebb_report_unit_band(d.arena, &s);
    has(text, "1.00 at most, at 46.9 Hz");
    has(text, "Half of that or more from 35 to 62 Hz.");
    has(text, "Useful at all (0.2 or more) from 27 to 81 Hz.");
    has(text, "Mean from 30 to 60 Hz: 0.73.");
    s.band.half[1] = s.band.useful[1] = NAN;
    has(ebb_report_unit_band(d.arena, &s), "Half of that or more from 35 Hz up.");
    s.band.half[0] = NAN;
    has(ebb_report_unit_band(d.arena, &s), "Half of that or more from 10 to 400 Hz throughout.");
    s.band.half[1] = 62;
    has(ebb_report_unit_band(d.arena, &s), "Half of that or more up to 62 Hz.");
    s.band.peak = 0.1;
    has(ebb_report_unit_band(d.arena, &s), "Nowhere useful");
    assert_null(ebb_report_unit_band(NULL, &s));
    close_desk(&d);
}

static void test_budgets(void **state)
{
    (void)state;
    desk d = open_desk();
    ebb_study s = {.budget = {13.1, 14.0, 0.75, 2e-6, 0.17, 0.9, NULL}};
    const char *text = ebb_report_unit_budget(d.arena, &s);
    has(text, "Used 13.1 m of 14.0 m (94 %), 75 % of it between 30 and 60 Hz.");
    has(text, "0.90 throughout.");
    has(text, "The mounts hold 17 % of the stiffness.");
    s.budget.mounts = NAN;
    assert_null(strstr(ebb_report_unit_budget(d.arena, &s), "mounts"));
    s.budget.unknown = "so it is";
    has(ebb_report_unit_budget(d.arena, &s), "Not known: so it is. Used: 13.1 m.");
    close_desk(&d);
}

static void test_boxes(void **state)
{
    (void)state;
    desk d = open_desk();
    ebb_box box = {.resistivity = 5000, .resistance = {120, 0}, .mass = {4.2, 8.1}, .share = 0.7};
    has(ebb_report_claim_box(d.arena, &box, EBB_UNITS_METRIC),
        "no front, cloth of 120 Pa\u00b7s/m, stiff wool of 5");
    box.n_fronts = 1;
    box.frame = 30;
    has(ebb_report_claim_box(d.arena, &box, EBB_UNITS_METRIC),
        "one front of 4.20 kg/m\u00b2, limp");
    box.n_fronts = 2;
    box.resistivity = 0;
    box.grains = 0.4;
    const char *beside = ebb_report_claim_box(d.arena, &box, EBB_UNITS_METRIC);
    has(beside, "side by side");
    has(beside, "on 70 % of the face");
    has(beside, "air, 40 % of the depth grains");
    box.behind = true;
    box.gap = 0.25;
    has(ebb_report_claim_box(d.arena, &box, EBB_UNITS_METRIC), "25 % of the depth behind it");
    has(ebb_report_claim_box(d.arena, &box, EBB_UNITS_IMPERIAL), "lb/ft");
    assert_null(ebb_report_claim_box(NULL, &box, EBB_UNITS_METRIC));
    close_desk(&d);
}

static void test_heads(void **state)
{
    (void)state;
    desk d = open_desk();
    ebb_claim claim = {.face = {0.6, NAN},
                       .depth = 0.1,
                       .mass = NAN,
                       .front_mass = NAN,
                       .fill = EBB_FILL_GRAINS,
                       .kind = EBB_FIGURE_AREA};
    const char *text = ebb_report_claim_head(d.arena, &claim, EBB_UNITS_METRIC);
    has(text, "face: 0.60 m x not said");
    has(text, "weight: not said");
    has(text, "none, porous only");
    has(text, "grains inside");
    has(text, "absorption areas of one unit");
    claim.front = true;
    claim.fill = EBB_FILL_UNSAID;
    text = ebb_report_claim_head(d.arena, &claim, EBB_UNITS_METRIC);
    assert_null(strstr(text, "porous only"));
    has(text, "fill not said");
    assert_null(ebb_report_claim_head(NULL, &claim, EBB_UNITS_METRIC));
    close_desk(&d);
}

/* Two kinds with one key could not be told apart by a program. */
static void test_keys_differ(void **state)
{
    (void)state;
    for (int i = 0; i <= EBB_REMARK_UNKNOWN; i++)
        for (int k = 0; k < i; k++)
            assert_string_not_equal(ebb_report_remark_key((ebb_remark_kind)i),
                                    ebb_report_remark_key((ebb_remark_kind)k));
    for (int i = 0; i <= EBB_CLAIM_UNTOLD; i++)
        for (int k = 0; k < i; k++)
            assert_string_not_equal(ebb_report_claim_key((ebb_claim_word)i),
                                    ebb_report_claim_key((ebb_claim_word)k));
    for (int i = 0; i <= EBB_FIGURE_UNSAID; i++)
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(ebb_report_figure_key((ebb_figure_kind)i),
                                    ebb_report_figure_key((ebb_figure_kind)k));
            assert_string_not_equal(ebb_report_claim_kind((ebb_figure_kind)i),
                                    ebb_report_claim_kind((ebb_figure_kind)k));
        }
}

static void test_columns_and_trace(void **state)
{
    (void)state;
    desk d = open_desk();
    has(ebb_report_unit_columns(true, true), "behind:");
    has(ebb_report_unit_columns(true, false), "inside:");
    assert_null(strstr(ebb_report_unit_columns(true, false), "behind:"));
    assert_null(strstr(ebb_report_unit_columns(false, false), "inside:"));
    ebb_library library = {.file = "a\033b.yaml"};
    assert_int_equal(ebb_air_at(d.ctx, 20, 0.5, 101325, &library.air), EBB_OK);
    const char *metric = ebb_report_unit_trace(d.arena, &library, EBB_UNITS_METRIC);
    has(metric, "a b.yaml; air of 20");
    has(metric, "m/s");
    has(ebb_report_unit_trace(d.arena, &library, EBB_UNITS_IMPERIAL), "ft/s");
    assert_null(ebb_report_unit_trace(NULL, &library, EBB_UNITS_METRIC));
    close_desk(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bands),       cmocka_unit_test(test_budgets),
        cmocka_unit_test(test_boxes),       cmocka_unit_test(test_heads),
        cmocka_unit_test(test_keys_differ), cmocka_unit_test(test_columns_and_trace),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
