/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The JSON document: json.c, json_room.c, json_case.c. */
#include "../base/failing.h"
#include "fixture.c"

#include <ebb/file.h>
#include <ebb/version.h>
#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

static json_t *document_of(fixture *f)
{
    const char *text;
    json_error_t error;
    assert_int_equal(ebb_report_json(f->ctx, f->arena, &f->answers, &text), EBB_OK);
    json_t *document = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    if (!document) {
        fail_msg("%s at line %d", error.text, error.line);
    }
    return document;
}

/* Member by a dotted path; numbers index arrays. Borrowed; fails the test when it is not there. */
static json_t *at(json_t *value, const char *path)
{
    const char *from = path;
    while (*from) {
        char key[64];
        const size_t n = strcspn(from, ".");
        assert_true(n < sizeof key);
        memcpy(key, from, n);
        key[n] = '\0';
        value = json_is_array(value) ? json_array_get(value, (size_t)atol(key))
                                     : json_object_get(value, key);
        if (!value) {
            fail_msg("no %s in %s", key, path);
        }
        from += n + (from[n] == '.');
    }
    return value;
}

static void test_head_comes_first(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *text;
    assert_int_equal(ebb_report_json(f.ctx, f.arena, &f.answers, &text), EBB_OK);
    assert_memory_equal(text,
                        "{\n \"ebb\": {\n  \"version\": \"" EBB_VERSION "\",\n  \"schema\": 1,"
                        "\n  \"command\": \"judge\",\n  \"inputs\": {\n   \"job\": "
                        "\"harbour-house.yaml\",\n   \"seed\": 7,\n   \"starts\": 4,\n   "
                        "\"draws\": 64,",
                        150);
    json_t *d = document_of(&f);
    assert_string_equal(json_string_value(at(d, "units")), "SI");
    assert_int_equal(json_array_size(at(d, "rooms")), FIXTURE_ROOMS);
    assert_int_equal(json_array_size(at(d, "warnings")), 1);
    assert_non_null(strstr(json_string_value(at(d, "warnings.0")), "porous layer"));
    json_decref(d);
    fixture_close(&f);
}

static void expect(json_t *d, const char *path, double wanted)
{
    json_t *value = at(d, path);
    if (isnan(wanted)) {
        assert_true(json_is_null(value));
        return;
    }
    assert_true(json_is_number(value));
    if (json_number_value(value) != wanted) { /* exact: every digit is written */
        fail_msg("%s is %.17g, not %.17g", path, json_number_value(value), wanted);
    }
}

static void test_contract_of_a_room(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    json_t *d = document_of(&f);
    const ebb_answer *a = &f.answer[1];
    const ebb_treatment *t = &a->voice;
    assert_string_equal(json_string_value(at(d, "rooms.1.name")), "Net loft");
    assert_string_equal(json_string_value(at(d, "rooms.1.verdict")), "voice");
    assert_string_equal(json_string_value(at(d, "rooms.1.shown")), "voice");
    assert_true(json_is_true(at(d, "rooms.1.near_border")));
    expect(d, "rooms.1.volume_m3", 3.6 * 2.9 * 2.4);
    expect(d, "rooms.1.margin", a->margin);
    expect(d, "rooms.1.sure", a->sure);
    expect(d, "rooms.1.right_share", t->after.reading.inside);
    expect(d, "rooms.1.wrong_before", t->before.reading.wrong);
    expect(d, "rooms.1.wrong_after", t->after.reading.wrong);
    expect(d, "rooms.1.mended_share", t->mended);
    expect(d, "rooms.1.mended_response", t->mended_level);
    expect(d, "rooms.1.mended_decay", t->mended_decay);
    expect(d, "rooms.1.lowest_right_hz", t->after.reading.lowest_right);
    expect(d, "rooms.1.plan.mass_kg", t->after.layout.mass);
    expect(d, "rooms.1.plan.depth_m", 0.3);
    expect(d, "rooms.1.plan.units.1.at_m.1", 1.4);
    expect(d, "rooms.1.plan.units.1.size_m.0", 1.2); /* turned */
    expect(d, "rooms.1.plan.seats.0.at_m.0", t->after.layout.seats[0].x);
    expect(d, "rooms.1.faults.0.size", t->before.faults.fault[0].size);
    assert_string_equal(json_string_value(at(d, "rooms.1.faults.0.kind")), "ring");
    assert_string_equal(json_string_value(at(d, "rooms.1.plan.units.0.on")), "wall_4");
    assert_string_equal(json_string_value(at(d, "rooms.1.reasons.0")), a->reasons[0]);
    assert_string_equal(json_string_value(at(d, "rooms.1.stays.0")), a->stays[0]);
    expect(d, "rooms.1.music.odds.share", a->music.odds.share);
    expect(d, "rooms.1.music.search.worst_wrong", a->music.worst_start);
    json_decref(d);
    fixture_close(&f);
}

static void test_fault_says_what_is_left(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    json_t *d = document_of(&f);
    /* In the music room the ring is gone, the dip is smaller. */
    expect(d, "rooms.0.faults.0.after", NAN);
    assert_string_equal(json_string_value(at(d, "rooms.0.faults.2.kind")), "dip");
    expect(d, "rooms.0.faults.2.after", f.answer[0].music.after.faults.fault[0].size);
    json_decref(d);
    fixture_close(&f);
}

static void test_arrays_are_aligned(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    json_t *d = document_of(&f);
    const ebb_case *after = &f.answer[0].music.after;
    json_t *response = at(d, "rooms.0.music.after.response");
    assert_int_equal(json_array_size(at(response, "hz")), after->grid.n_cells);
    assert_int_equal(json_array_size(at(response, "paths")), 6);
    for (size_t p = 0; p < 6; p++) {
        json_t *path = json_array_get(at(response, "paths"), p);
        assert_int_equal(json_array_size(at(path, "level_db")), after->grid.n_cells);
        assert_string_equal(json_string_value(at(path, "source")), p < 3 ? "left" : "right");
        assert_string_equal(json_string_value(at(path, "receiver")), after->receiver_names[p % 3]);
    }
    expect(response, "hz.3", after->grid.hz[after->grid.first + 3]);
    expect(response, "paths.4.level_db.7", after->reading.level[4 * after->grid.n_cells + 7]);
    json_t *decay = at(d, "rooms.0.music.after.decay");
    assert_int_equal(json_array_size(at(decay, "hz")), json_array_size(at(decay, "limit_s")));
    expect(decay, "paths.0.t60_s.5", NAN); /* no mode there: null */
    expect(decay, "paths.1.t60_s.5", after->reading.decay[1 * after->grid.n_bands + 5]);
    assert_int_equal(json_array_size(at(d, "rooms.0.music.after.modes")), after->modes->n);
    expect(d, "rooms.0.music.after.modes.0.t60_s", after->modes->mode[0].t60);
    expect(d, "rooms.0.music.after.mid.t60_s.5", after->mid.t60[5]);
    json_decref(d);
    fixture_close(&f);
}

static void test_missing_is_null(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    fixture_bare(&f);
    json_t *d = document_of(&f);
    static const char *const NULLS[] = {
        "job.allowance.mass_kg",  "rooms.0.margin",      "rooms.0.sure",
        "rooms.0.decider",        "rooms.0.wrong_after", "rooms.0.mended_share",
        "rooms.0.voice",          "rooms.0.music.after", "rooms.0.music.before.modes",
        "rooms.1.shown",          "rooms.1.right_share", "rooms.0.music.odds.share",
        "rooms.2.lowest_right_hz"};
    for (size_t i = 0; i < sizeof NULLS / sizeof NULLS[0]; i++) {
        if (!json_is_null(at(d, NULLS[i]))) {
            fail_msg("%s is not null", NULLS[i]);
        }
    }
    assert_int_equal(json_array_size(at(d, "rooms.0.plan.units")), 0);
    json_decref(d);
    fixture_close(&f);
}

static void test_infinite_values_never_reach_it(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    f.answer[0].music.after.reading.worst_decay = INFINITY;
    f.answer[0].music.after.reading.level[0] = -INFINITY;
    f.answer[0].music.best_start = NAN;
    json_t *d = document_of(&f); /* a literal NaN or inf would not parse */
    expect(d, "rooms.0.music.after.worst_decay", NAN);
    expect(d, "rooms.0.music.after.response.paths.0.level_db.0", NAN);
    expect(d, "rooms.0.music.search.best_wrong", NAN);
    json_decref(d);
    fixture_close(&f);
}

static void test_nasty_texts_and_no_rooms(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    fixture_nasty(&f);
    json_t *d = document_of(&f);
    assert_int_equal(strlen(json_string_value(at(d, "rooms.0.name"))), 300); /* never cut */
    assert_string_equal(json_string_value(at(d, "rooms.0.stays.0")), "broken \ufffd\ufffd utf-8");
    json_decref(d);
    f.answers.n = 0;
    d = document_of(&f);
    assert_int_equal(json_array_size(at(d, "rooms")), 0);
    json_decref(d);
    fixture_close(&f);
}

static void test_limits_in_force(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_override own = {ebb_limit_index("response_deviation"), 4.0};
    f.job.overrides = &own;
    f.job.n_overrides = 1;
    json_t *d = document_of(&f);
    expect(d, "job.limits.response_deviation", 4.0);
    expect(d, "job.limits.decay_factor", 1.25);
    json_decref(d);
    fixture_close(&f);
}

/* Every member of a document, at any depth, stands in docs/json.md as `name`. */
static void check_documented(const json_t *value, const char *docs)
{
    const char *key;
    json_t *member;
    size_t i;
    if (json_is_array(value)) {
        json_array_foreach(value, i, member)
        {
            check_documented(member, docs);
        }
        return;
    }
    json_object_foreach((json_t *)value, key, member)
    {
        char wanted[80];
        snprintf(wanted, sizeof wanted, "`%s`", key);
        if (!strstr(docs, wanted)) {
            fail_msg("docs/json.md does not say what \"%s\" is", key);
        }
        check_documented(member, docs);
    }
}

static void test_every_member_is_documented(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *tests = getenv("EBB_TEST_DATA");
    assert_non_null(tests);
    char *docs;
    size_t length;
    assert_int_equal(ebb_file_read(f.ctx, f.arena,
                                   ebb_arena_format(f.arena, "%s/../docs/json.md", tests), 1 << 20,
                                   &docs, &length),
                     EBB_OK);
    json_t *d = document_of(&f);
    json_object_del(at(d, "job"), "limits"); /* their keys are those of the job file */
    check_documented(d, docs);
    json_decref(d);
    fixture_close(&f);
}

static void test_same_bytes_and_out_of_memory(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *first, *text;
    assert_int_equal(ebb_report_json(f.ctx, f.arena, &f.answers, &first), EBB_OK);
    ebb_status status = EBB_E_NOMEM;
    int n = 0;
    for (; status != EBB_OK && n < 500; n++) {
        failing fail = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&fail);
        ebb_arena *arena = ebb_arena_new(ctx);
        ebb_warn_at(ctx, NULL, "porous layer \"fill\" is used below the range of its model");
        fail.left = n;
        status = ebb_report_json(ctx, arena, &f.answers, &text);
        assert_true(status == EBB_OK || status == EBB_E_NOMEM);
        if (status == EBB_OK) {
            assert_string_equal(text, first);
        } else {
            assert_null(text);
        }
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
    }
    assert_int_equal(status, EBB_OK);
    assert_true(n > 2);
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_head_comes_first),
        cmocka_unit_test(test_contract_of_a_room),
        cmocka_unit_test(test_fault_says_what_is_left),
        cmocka_unit_test(test_arrays_are_aligned),
        cmocka_unit_test(test_missing_is_null),
        cmocka_unit_test(test_infinite_values_never_reach_it),
        cmocka_unit_test(test_nasty_texts_and_no_rooms),
        cmocka_unit_test(test_limits_in_force),
        cmocka_unit_test(test_every_member_is_documented),
        cmocka_unit_test(test_same_bytes_and_out_of_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
