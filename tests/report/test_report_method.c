/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The first and the last pages: summary.c and method.c with jobs of other kinds and units. */
#include "../../src/report/document.h"
#include "fixture.c"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

static ebb_report_doc compose(fixture *f, ebb_units units)
{
    ebb_report_doc doc = {.arena = f->arena};
    ebb_report_source source = {f->ctx, &doc, &f->answers, units};
    assert_int_equal(ebb_report_compose(&source), EBB_OK);
    return doc;
}

/* Does any text, item or cell of the document hold this? */
static bool says(const ebb_report_doc *doc, const char *part)
{
    for (const ebb_report_block *b = doc->first; b; b = b->next) {
        if (b->text && strstr(b->text, part)) {
            return true;
        }
        for (size_t i = 0; i < b->n_items; i++) {
            if (strstr(b->item[i], part)) {
                return true;
            }
        }
        for (size_t i = 0; b->table && i < b->table->n_rows * b->table->n_columns; i++) {
            if (strstr(b->table->cell[i], part)) {
                return true;
            }
        }
    }
    return false;
}

static void expect_all(const ebb_report_doc *doc, size_t n, const char *const *parts)
{
    for (size_t i = 0; i < n; i++) {
        if (!says(doc, parts[i])) {
            fail_msg("the report does not say \"%s\"", parts[i]);
        }
    }
}

static void test_rule_is_told_with_the_limits_in_force(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_override own[3] = {{ebb_limit_index("response_deviation"), 4.0},
                           {ebb_limit_index("response_inside"), 0.85},
                           {ebb_limit_index("decay_factor"), 1.5}};
    f.job.overrides = own;
    f.job.n_overrides = 3;
    const ebb_report_doc doc = compose(&f, EBB_UNITS_METRIC);
    static const char *const PARTS[] = {"at least 85\u00a0% of the response cells",
                                        "\u00b14\u00a0dB, none is beyond 5\u00a0dB",
                                        "no decay is above 1.5\u00a0times its limit",
                                        "are our own allowance",
                                        "set by the job",
                                        "The kept plan is then calculated again for draws"};
    expect_all(&doc, sizeof PARTS / sizeof PARTS[0], PARTS);
    fixture_close(&f);
}

static void test_only_bounds_that_were_set_are_listed(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    static const char *const BOUNDS[] = {"Most mass in all: 900\u00a0kg",
                                         "Most cover of walls and ceiling: 40\u00a0%",
                                         "Most depth of a unit: 350\u00a0mm", "Most money: 9000",
                                         "Most load spread over the floor: 1.9\u00a0kPa"};
    ebb_report_doc doc = compose(&f, EBB_UNITS_METRIC);
    expect_all(&doc, sizeof BOUNDS / sizeof BOUNDS[0], BOUNDS);
    assert_false(says(&doc, "Most units"));
    f.job.allowance.count = 12.0;
    f.job.allowance.mass = INFINITY;
    doc = compose(&f, EBB_UNITS_METRIC);
    assert_true(says(&doc, "Most units: 12"));
    assert_false(says(&doc, "Most mass"));
    fixture_close(&f);
}

static void test_imperial_all_through(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_report_doc doc = compose(&f, EBB_UNITS_IMPERIAL);
    static const char *const SIZE = "17\u00a0ft 8.6\u00a0in \u00d7 13\u00a0ft 5.4\u00a0in "
                                    "\u00d7 8\u00a0ft 10.3\u00a0in, 2111\u00a0ft\u00b3";
    const char *const PARTS[] = {SIZE, "552\u00a0lb", "3.9\u00a0in from corner 4",
                                 "Air at 68.0\u00a0\u00b0F"};
    expect_all(&doc, sizeof PARTS / sizeof PARTS[0], PARTS);
    static const char *const METRIC[] = {"\u00a0mm", "\u00a0kg", " kg\u00a0", "\u00a0m \u00d7"};
    for (size_t i = 0; i < sizeof METRIC / sizeof METRIC[0]; i++) {
        for (const ebb_report_block *b = doc.first; b; b = b->next) {
            /* limits and cautions quote their sources in the units of these */
            if (b->kind == EBB_REPORT_HEADING && strcmp(b->text, "How it was judged") == 0) {
                break;
            }
            assert_false(b->text && strstr(b->text, METRIC[i]));
        }
    }
    fixture_close(&f);
}

static void test_sources_of_constructions(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_report_doc doc = compose(&f, EBB_UNITS_METRIC);
    static const char *const PARTS[] = {"board-wall", "invented for a test",
                                        "brick",      "not given",
                                        "preset",     "common practice, no source"};
    expect_all(&doc, sizeof PARTS / sizeof PARTS[0], PARTS);
    fixture_close(&f);
}

static void test_warnings_are_told_and_errors_are_not(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_fail(f.ctx, EBB_E_RANGE, "an error of something else");
    ebb_report_doc doc = compose(&f, EBB_UNITS_METRIC);
    assert_true(says(&doc, "porous layer \"fill\" is used below the range of its model"));
    assert_false(says(&doc, "an error of something else"));
    ebb_ctx_clear(f.ctx);
    doc = compose(&f, EBB_UNITS_METRIC);
    assert_false(says(&doc, "What the calculation warned about"));
    fixture_close(&f);
}

static void test_every_caution_and_assumption_is_printed(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    f.answers.n = 0; /* whatever came out */
    const ebb_report_doc doc = compose(&f, EBB_UNITS_METRIC);
    size_t n;
    const char *const *caution = ebb_cautions(&n);
    for (size_t i = 0; i < n; i++) {
        assert_true(says(&doc, ebb_report_tie(f.arena, caution[i])));
    }
    static const char *const PARTS[] = {"Rooms are rectangular boxes", "Surfaces react locally",
                                        "Nothing was measured and nobody listened",
                                        "speed of sound 343.4\u00a0m/s"};
    expect_all(&doc, sizeof PARTS / sizeof PARTS[0], PARTS);
    assert_true(strlen(ebb_report_assumptions_short()) > 100);
    fixture_close(&f);
}

static void test_many_faults_are_counted_not_dropped(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_faults *before = &f.answer[0].music.before.faults;
    before->fault = NEW(&f, ebb_fault, 50);
    before->n = 50;
    for (size_t i = 0; i < 50; i++) {
        before->fault[i] = a_fault(EBB_FAULT_PEAK, 40.0 + 3.0 * (double)i, 6.0, 3.0);
    }
    const ebb_report_doc doc = compose(&f, EBB_UNITS_METRIC);
    assert_true(says(&doc, "Sail store: 50 faults before, 1 after"));
    assert_true(says(&doc, "20 smaller faults of the bare room are left out."));
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_rule_is_told_with_the_limits_in_force),
        cmocka_unit_test(test_only_bounds_that_were_set_are_listed),
        cmocka_unit_test(test_imperial_all_through),
        cmocka_unit_test(test_sources_of_constructions),
        cmocka_unit_test(test_warnings_are_told_and_errors_are_not),
        cmocka_unit_test(test_every_caution_and_assumption_is_printed),
        cmocka_unit_test(test_many_faults_are_counted_not_dropped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
