/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Text and JSON of `ebb unit`: unit_text.c, unit_json.c, unit_words.c, claim_text.c. */
#include <ebb/file.h>
#include <ebb/report.h>
#include <jansson.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char LIBRARY[] =
    "library: Test\n"
    "absorbers:\n"
    "  stack:\n"
    "    face: [0.6 m, 1.2 m]\n"
    "    depth: 0.3 m\n"
    "    mass: 21 kg\n"
    "    layers: [{mass: 4 kg/m2}, {porous: 0.25 m, resistivity: 5 kPa.s/m2}]\n"
    "  box:\n"
    "    face: [0.6 m, 1.2 m]\n"
    "    depth: 0.3 m\n"
    "    cabinet: {board: 15 mm, density: 680 kg/m3, modulus: 7 GPa, braces: [0, 1]}\n"
    "    fronts: [{mass: 4.2 kg/m2, mount: {resonance: 8 Hz}}]\n"
    "    fill: [{porous: 240 mm, resistivity: 5 kPa.s/m2}]\n"
    "  bare: {face: [1 m, 1 m], depth: 0.1 m, mass: 5 kg, admittance: 0.3}\n"
    "claims:\n"
    "  loud: {face: [0.6 m, 1.2 m], depth: 0.2 m, front: yes, fill: wool,\n"
    "         figures: [[40 Hz, 1.05], [50 Hz, 0.9]]}\n"
    "  silent: {areas: [[40 Hz, 0.5 m2]]}\n";

/* The library, its studies, and one document. */
typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_library *library;
    ebb_study *study[3];
    const ebb_claim_check *check[2];
} fixture;

static fixture open_fixture(void)
{
    fixture f = {.ctx = ebb_ctx_new()};
    f.arena = ebb_arena_new(f.ctx);
    const ebb_status status =
        ebb_library_parse(f.ctx, LIBRARY, strlen(LIBRARY), "test.yaml", NULL, &f.library);
    if (status != EBB_OK)
        fail_msg("%s", ebb_ctx_message(f.ctx, 0)->text);
    assert_int_equal(f.library->n_units, 3);
    for (size_t i = 0; i < 3; i++)
        assert_int_equal(ebb_study_new(f.ctx, &f.library->unit[i], &f.library->air,
                                       EBB_UNITS_METRIC, &f.study[i]),
                         EBB_OK);
    for (size_t i = 0; i < 2; i++) {
        ebb_claim_check *check;
        assert_int_equal(ebb_claim_judge(f.ctx, f.arena, &f.library->claim[i], &f.library->air,
                                         EBB_UNITS_METRIC, &check),
                         EBB_OK);
        f.check[i] = check;
    }
    return f;
}

static void close_fixture(fixture *f)
{
    for (size_t i = 0; i < 3; i++)
        ebb_study_free(f->study[i]);
    ebb_library_free(f->library);
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
}

static const char *studies_text(fixture *f, int units)
{
    const ebb_studies studies = {f->library, 3, (const ebb_study *const *)f->study};
    const char *text = NULL;
    assert_int_equal(ebb_report_studies_text(f->ctx, f->arena, &studies, units, &text), EBB_OK);
    return text;
}

static json_t *studies_json(fixture *f)
{
    const ebb_studies studies = {f->library, 3, (const ebb_study *const *)f->study};
    const char *text = NULL;
    assert_int_equal(ebb_report_studies_json(f->ctx, f->arena, &studies, &text), EBB_OK);
    json_t *whole = json_loads(text, 0, NULL);
    assert_non_null(whole);
    return whole;
}

static void has(const char *text, const char *part)
{
    if (strstr(text, part) == NULL)
        fail_msg("\"%s\" is missing", part);
}

static void test_text_has_every_part(void **state)
{
    (void)state;
    fixture f = open_fixture();
    const char *text = studies_text(&f, -1);
    has(text, "test.yaml");
    has(text, "stack\n  face 600 mm x 1200 mm, 300 mm deep, 21.0 kg\n");
    has(text, "(from its parts)");
    has(text, "Absorption\n");
    has(text, "    31.5    ");
    has(text, "Half of that or more from ");
    has(text, "front 1: 570 mm x 1170 mm");
    has(text, "  walls ");
    has(text, "100 %");
    has(text, "Used ");
    has(text, "fronts 10 % heavier");
    has(text, "Not known: an admittance alone");
    has(text, "Weight and fixing");
    has(text, "Calculated, not measured");
    close_fixture(&f);
}

static void test_lines_fit_and_units_turn(void **state)
{
    (void)state;
    fixture f = open_fixture();
    for (int units = EBB_UNITS_METRIC; units <= EBB_UNITS_IMPERIAL; units++) {
        const char *line = studies_text(&f, units);
        while (*line != '\0') {
            const size_t n = strcspn(line, "\n");
            size_t columns = 0;
            for (size_t i = 0; i < n; i++)
                columns += ((unsigned char)line[i] & 0xc0) != 0x80;
            assert_true(columns <= 100);
            line += n + 1;
        }
    }
    const char *imperial = studies_text(&f, EBB_UNITS_IMPERIAL);
    has(imperial, " lb");
    has(imperial, " ft\u00b2");
    assert_null(strstr(imperial, " kg/"));
    assert_null(strstr(imperial, " mm x"));
    close_fixture(&f);
}

/* Arrays that go together have one length; the keys of the contract are there. */
static void test_json_of_studies(void **state)
{
    (void)state;
    static const char *const ARRAYS[] = {"z_re",          "z_im",       "alpha_normal",
                                         "alpha_diffuse", "alpha_unit", "area_diffuse_m2",
                                         "conductance",   "transmitted"};
    fixture f = open_fixture();
    json_t *whole = studies_json(&f), *units = json_object_get(whole, "units");
    assert_int_equal(json_array_size(units), 3);
    const char *command;
    assert_int_equal(json_unpack(whole, "{s:{s:s}}", "ebb", "command", &command), 0);
    assert_string_equal(command, "unit");
    for (size_t i = 0; i < 3; i++) {
        json_t *unit = json_array_get(units, i);
        const size_t n = json_array_size(json_object_get(unit, "hz"));
        assert_int_equal(n, 12);
        for (size_t k = 0; k < sizeof ARRAYS / sizeof ARRAYS[0]; k++)
            assert_int_equal(json_array_size(json_object_get(unit, ARRAYS[k])), n);
        json_t *limit = json_object_get(unit, "depth_limit");
        assert_true(json_is_real(json_object_get(limit, "used")));
        assert_true(i == 2 ? json_is_null(json_object_get(limit, "available"))
                           : json_is_real(json_object_get(limit, "available")));
        assert_true(json_real_value(json_object_get(unit, "mass_kg")) == f.study[i]->unit->mass);
    }
    /* Numbers are those of the study. */
    json_t *box = json_array_get(units, 1);
    for (size_t i = 0; i < 12; i++)
        assert_true(json_real_value(json_array_get(json_object_get(box, "alpha_normal"), i)) ==
                    f.study[1]->table.normal[i]);
    json_t *front = json_array_get(json_object_get(box, "fronts"), 0);
    assert_int_equal(json_array_size(json_object_get(front, "velocity_m_s_pa_im")), 12);
    assert_true(json_is_null(json_object_get(box, "alpha_diffuse_bulk")));
    json_decref(whole);
    close_fixture(&f);
}

static void test_claims(void **state)
{
    (void)state;
    fixture f = open_fixture();
    const ebb_claim_checks checks = {f.library, 2, f.check};
    const char *text = NULL, *key = NULL;
    assert_int_equal(ebb_report_claims_text(f.ctx, f.arena, &checks, -1, &text), EBB_OK);
    has(text, "loud\n");
    has(text, "unsaid kind");
    has(text, "possible only as a reverberation-room figure");
    has(text, "Best box we found for all figures: ");
    has(text, "can not be told");
    has(text, "not said");
    has(text, "no proof");
    assert_int_equal(ebb_report_claims_json(f.ctx, f.arena, &checks, &text), EBB_OK);
    json_t *whole = json_loads(text, 0, NULL);
    json_t *loud = json_array_get(json_object_get(whole, "claims"), 0);
    json_t *silent = json_array_get(json_object_get(whole, "claims"), 1);
    json_t *figure = json_array_get(json_object_get(loud, "figures"), 0);
    assert_int_equal(json_unpack(figure, "{s:s}", "verdict", &key), 0);
    assert_string_equal(key, "only_diffuse");
    assert_true(json_is_object(json_object_get(loud, "best_box")));
    assert_true(json_is_null(json_object_get(silent, "best_box")));
    assert_true(json_is_null(json_object_get(silent, "depth_m")));
    json_decref(whole);
    close_fixture(&f);
}

/* Every member, at any depth, stands in docs/json.md as `name`. */
static void check_documented(const json_t *value, const char *docs)
{
    const char *key;
    json_t *member;
    size_t i;
    json_array_foreach(value, i, member)
    {
        check_documented(member, docs);
    }
    json_object_foreach((json_t *)value, key, member)
    {
        char wanted[80];
        snprintf(wanted, sizeof wanted, "`%s`", key);
        has(docs, wanted);
        check_documented(member, docs);
    }
}

static void test_every_member_is_documented(void **state)
{
    (void)state;
    fixture f = open_fixture();
    const ebb_claim_checks checks = {f.library, 2, f.check};
    const char *tests = getenv("EBB_TEST_DATA"), *text = NULL;
    assert_non_null(tests);
    char *docs;
    size_t length;
    const char *path = ebb_arena_format(f.arena, "%s/../docs/json.md", tests);
    assert_int_equal(ebb_file_read(f.ctx, f.arena, path, 1 << 20, &docs, &length), EBB_OK);
    json_t *whole = studies_json(&f);
    check_documented(whole, docs);
    json_decref(whole);
    assert_int_equal(ebb_report_claims_json(f.ctx, f.arena, &checks, &text), EBB_OK);
    whole = json_loads(text, 0, NULL);
    check_documented(whole, docs);
    json_decref(whole);
    close_fixture(&f);
}

/* Names come from files: they must not move the cursor of a terminal. */
static void test_hostile_names_are_cleaned(void **state)
{
    (void)state;
    fixture f = open_fixture();
    ebb_unit unit = *f.study[0]->unit;
    unit.name = "evil\033[2Jname";
    f.study[0]->unit = &unit;
    assert_null(strchr(studies_text(&f, -1), '\033'));
    json_t *whole = studies_json(&f);
    const char *name = NULL;
    json_t *first = json_array_get(json_object_get(whole, "units"), 0);
    assert_int_equal(json_unpack(first, "{s:s}", "name", &name), 0);
    assert_null(strchr(name, '\033'));
    json_decref(whole);
    close_fixture(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text_has_every_part),
        cmocka_unit_test(test_lines_fit_and_units_turn),
        cmocka_unit_test(test_json_of_studies),
        cmocka_unit_test(test_claims),
        cmocka_unit_test(test_every_member_is_documented),
        cmocka_unit_test(test_hostile_names_are_cleaned),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
