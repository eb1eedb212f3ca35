/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The content of the client report: document.c, summary.c, rooms.c, tables.c, method.c. */
#include "../../src/report/document.h"
#include "fixture.c"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

static ebb_report_doc compose(fixture *f)
{
    ebb_report_doc doc = {.arena = f->arena};
    ebb_report_source source = {f->ctx, &doc, &f->answers, EBB_UNITS_METRIC};
    assert_int_equal(ebb_report_compose(&source), EBB_OK);
    return doc;
}

/* First block of a kind whose text begins so, at or after `from`. */
static const ebb_report_block *find(const ebb_report_block *from, ebb_report_kind kind,
                                    const char *text)
{
    for (const ebb_report_block *b = from; b; b = b->next) {
        if (b->kind == kind && (!text || (b->text && strncmp(b->text, text, strlen(text)) == 0))) {
            return b;
        }
    }
    fail_msg("no block \"%s\"", text ? text : "");
    return NULL;
}

static const char *cell(const ebb_report_block *b, size_t row, size_t column)
{
    assert_int_equal(b->kind, EBB_REPORT_TABLE);
    assert_true(row < b->table->n_rows && column < b->table->n_columns);
    return b->table->cell[row * b->table->n_columns + column];
}

static void test_ties_numbers_to_units(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    static const struct {
        const char *in, *out;
    } CASES[] = {
        {"2.70 m high", "2.70\u00a0m high"},          {"94 % of 64 draws", "94\u00a0% of 64 draws"},
        {"7 modes in 3 seats", "7 modes in 3 seats"}, {"about m", "about m"},
        {"5 dB, 40 Hz.", "5\u00a0dB, 40\u00a0Hz."},   {"", ""}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        assert_string_equal(ebb_report_tie(f.arena, CASES[i].in), CASES[i].out);
    }
    assert_null(ebb_report_tie(f.arena, NULL));
    assert_null(ebb_report_tie(NULL, "x"));
    fixture_close(&f);
}

static void test_first_page_has_the_bottom_line(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_report_doc doc = compose(&f);
    assert_string_equal(doc.title, "Harbour house");
    assert_string_equal(find(doc.first, EBB_REPORT_TITLE, NULL)->text, "Harbour house");
    find(doc.first, EBB_REPORT_TEXT, "An invented old harbour house");
    const ebb_report_block *line = find(doc.first, EBB_REPORT_BANNER, "Sail store: can be made");
    assert_int_equal(line->ink, EBB_INK_MUSIC);
    assert_int_equal(find(doc.first, EBB_REPORT_BANNER, "Net loft: can")->ink, EBB_INK_VOICE);
    assert_int_equal(find(doc.first, EBB_REPORT_BANNER, "Lamp room: no plan")->ink, EBB_INK_NO);
    const ebb_report_block *table = find(doc.first, EBB_REPORT_TABLE, NULL);
    assert_int_equal(table->table->n_rows, 3);
    assert_string_equal(cell(table, 0, 1), "5.40\u00a0m \u00d7 4.10\u00a0m \u00d7 2.70\u00a0m, "
                                           "60\u00a0m\u00b3");
    assert_string_equal(cell(table, 1, 3), "61\u00a0%, near the border");
    assert_string_equal(cell(table, 2, 6), "none");
    fixture_close(&f);
}

static void test_room_pages_have_all_parts_in_order(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_report_doc doc = compose(&f);
    static const struct {
        ebb_report_kind kind;
        const char *text;
    } PARTS[] = {{EBB_REPORT_HEADING, "Net loft"},
                 {EBB_REPORT_BANNER, "voice: can be made right for voice"},
                 {EBB_REPORT_SUBHEADING, "Why"},
                 {EBB_REPORT_SUBHEADING, "What stays wrong after the plan"},
                 {EBB_REPORT_SUBHEADING, "Key figures for voice"},
                 {EBB_REPORT_SUBHEADING, "Use by use"},
                 {EBB_REPORT_TEXT, "The plan: 6 units, 172\u00a0kg in all"},
                 {EBB_REPORT_FIGURE, NULL},
                 {EBB_REPORT_SUBHEADING, "Where seats and speakers go"},
                 {EBB_REPORT_FIGURE, NULL},
                 {EBB_REPORT_SUBHEADING, "Net loft: 7 faults before, 1 after"},
                 {EBB_REPORT_SUBHEADING, "Where the units go"},
                 {EBB_REPORT_HEADING, "Lamp room"},
                 {EBB_REPORT_HEADING, "How it was judged"},
                 {EBB_REPORT_SUBHEADING, "The limits"},
                 {EBB_REPORT_SUBHEADING, "Assumptions"},
                 {EBB_REPORT_SUBHEADING, "What the calculation warned about"},
                 {EBB_REPORT_HEADING, "Cautions"}};
    const ebb_report_block *at = doc.first;
    for (size_t i = 0; i < sizeof PARTS / sizeof PARTS[0]; i++) {
        at = find(at, PARTS[i].kind, PARTS[i].text)->next;
    }
    fixture_close(&f);
}

static void test_key_figures_are_the_readings(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_report_doc doc = compose(&f);
    const ebb_reading *after = &f.answer[0].music.after.reading;
    const ebb_report_block *table =
        find(doc.first, EBB_REPORT_SUBHEADING, "Key figures for music")->next;
    char wanted[32];
    snprintf(wanted, sizeof wanted, "%.1f\u00a0dB", after->worst_level);
    assert_string_equal(cell(table, 1, 2), wanted);
    snprintf(wanted, sizeof wanted, "%.2f\u00a0times", after->worst_decay);
    assert_string_equal(cell(table, 2, 2), wanted);
    assert_string_equal(cell(table, 0, 3), "at least 90\u00a0%");
    assert_string_equal(cell(table, 7, 1), "6");
    fixture_close(&f);
}

static void test_faults_before_and_after(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    /* One fault that only the plan brings. */
    ebb_faults *after = &f.answer[0].music.after.faults;
    after->fault[after->n++] = a_fault(EBB_FAULT_DRY, 2000.0, 0.12, 0.2);
    const ebb_report_doc doc = compose(&f);
    const ebb_report_block *table =
        find(doc.first, EBB_REPORT_SUBHEADING, "Sail store: 6 faults before, 2 after")->next;
    assert_int_equal(table->table->n_rows, 7);
    assert_string_equal(cell(table, 0, 0), "ring");
    assert_string_equal(cell(table, 0, 1), "45\u201356\u00a0Hz");
    assert_string_equal(cell(table, 0, 4), "gone");
    assert_non_null(strstr(cell(table, 1, 5), "it rings too; an equaliser could lower it"));
    assert_string_equal(cell(table, 2, 3), "-6.8\u00a0dB");
    assert_string_equal(cell(table, 2, 4), "-3.4\u00a0dB");
    assert_string_equal(cell(table, 6, 0), "dry");
    assert_string_equal(cell(table, 6, 3), "\u2013");
    fixture_close(&f);
}

static void test_builder_finds_every_unit(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const ebb_report_doc doc = compose(&f);
    const ebb_report_block *table =
        find(doc.first, EBB_REPORT_SUBHEADING, "Where the units go")->next;
    assert_int_equal(table->table->n_rows, 10);
    static const char *const ROW[8] = {"5",
                                       "deep, turned",
                                       "wall_1",
                                       "100\u00a0mm from corner 1",
                                       "1400\u00a0mm up",
                                       "1200\u00a0mm \u00d7 600\u00a0mm",
                                       "300\u00a0mm",
                                       "42\u00a0kg"};
    for (size_t k = 0; k < 8; k++) {
        assert_string_equal(cell(table, 4, k), ROW[k]);
    }
    assert_string_equal(cell(table, 0, 1), "mid, already there");
    fixture_close(&f);
}

static void test_limits_name_their_source(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_override own = {0, 4.0};
    f.job.overrides = &own;
    f.job.n_overrides = 1;
    const ebb_report_doc doc = compose(&f);
    const ebb_report_block *table = find(doc.first, EBB_REPORT_SUBHEADING, "The limits")->next;
    size_t n;
    const ebb_limit *limit = ebb_limit_table(&n);
    assert_int_equal(table->table->n_rows, n);
    for (size_t i = 0; i < n; i++) {
        assert_true(strlen(cell(table, i, 3)) > 3);
        assert_string_equal(cell(table, i, 3), ebb_report_tie(f.arena, limit[i].source));
    }
    assert_string_equal(cell(table, 0, 2), "set by the job");
    fixture_close(&f);
}

static void test_stopper_is_said_once(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_report_doc doc = compose(&f);
    find(doc.first, EBB_REPORT_TEXT, "Why not music: the depth of the units stops it");
    static const char *said = "Why not music: the depth of the units stops it: they take too much "
                              "of the room.";
    for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
        f.answer[i].reasons[1] = said;
    }
    doc = compose(&f);
    for (const ebb_report_block *b = doc.first; b; b = b->next) {
        assert_false(b->kind == EBB_REPORT_TEXT && strncmp(b->text, "Why not", 7) == 0);
    }
    fixture_close(&f);
}

static void test_nothing_is_claimed_without_numbers(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    fixture_bare(&f);
    const ebb_report_doc doc = compose(&f);
    find(doc.first, EBB_REPORT_TEXT, "No plan was calculated.");
    const ebb_report_block *table =
        find(find(doc.first, EBB_REPORT_HEADING, "Lamp room"), EBB_REPORT_TABLE, NULL);
    for (size_t row = 0; row < 7; row++) {
        assert_string_equal(cell(table, row, 1), "\u2013");
        assert_string_equal(cell(table, row, 2), "\u2013");
    }
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_ties_numbers_to_units),
        cmocka_unit_test(test_first_page_has_the_bottom_line),
        cmocka_unit_test(test_room_pages_have_all_parts_in_order),
        cmocka_unit_test(test_key_figures_are_the_readings),
        cmocka_unit_test(test_faults_before_and_after),
        cmocka_unit_test(test_builder_finds_every_unit),
        cmocka_unit_test(test_limits_name_their_source),
        cmocka_unit_test(test_stopper_is_said_once),
        cmocka_unit_test(test_nothing_is_claimed_without_numbers),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
