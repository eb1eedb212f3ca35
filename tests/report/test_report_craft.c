/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Text, JSON and library of `ebb craft`: craft_text.c, craft_sheet.c, craft_json.c,
 * craft_library.c, craft_words.c.
 */
#include <ebb/report.h>
#include <jansson.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const char LIBRARY[] =
    "library: Test yard\n"
    "materials:\n"
    "  ply \"best\": {density: 680 kg/m3, modulus: 7 GPa, thicknesses: [4 mm, 9 mm], prices: [9, "
    "16]}\n"
    "wools: {light: {resistivity: 5 kPa.s/m2, density: 18 kg/m3, price: 45}}\n"
    "grains: {pot: {grain: 1.5 mm, uptake: 5, density: 500 kg/m3, price: 6}}\n"
    "strips: {soft: {width: 20 mm, thickness: 2 mm, modulus: 2 MPa, works: bending, price: 4}}\n"
    "targets:\n"
    "  good: {curve: [[30 Hz, 0.3], [50 Hz, 0.9]], depth: [0.15 m, 0.45 m], face: [0.6 m, 1.2 m],\n"
    "    grains: 20 kg, use: {materials: [ply \"best\"], wools: [light], grains: [pot], strips: "
    "[soft]}}\n"
    "  thin: {curve: [[30 Hz, 0.7], [50 Hz, 0.99]], depth: 0.15 m, face: [0.6 m, 1.2 m], mass: 90 "
    "kg,\n"
    "    grains: 0 kg, cells: 1, use: {materials: [ply \"best\"], wools: [light], strips: "
    "[soft]}}\n";

/* The library and what was designed for its two targets, once for all tests. */
typedef struct fixture {
    ebb_ctx *ctx;
    ebb_arena *arena;
    ebb_library *library;
    ebb_craft *craft[2];
    ebb_crafts both, good, thin;
} fixture;

static int open_fixture(void **state)
{
    fixture *f = calloc(1, sizeof *f);
    assert_non_null(f);
    f->ctx = ebb_ctx_new();
    f->arena = ebb_arena_new(f->ctx);
    const ebb_craft_effort effort = {
        .seed = 3, .starts = 2, .population = 20, .generations = 20, .trim = true};
    if (ebb_library_parse(f->ctx, LIBRARY, strlen(LIBRARY), "test.yaml", NULL, &f->library) !=
        EBB_OK)
        fail_msg("%s", ebb_ctx_message(f->ctx, 0)->text);
    for (size_t i = 0; i < 2; i++)
        assert_int_equal(
            ebb_craft_new(f->ctx, &f->library->target[i], &f->library->air, &effort, &f->craft[i]),
            EBB_OK);
    f->both = (ebb_crafts){f->library, 2, (const ebb_craft *const *)f->craft};
    f->good = (ebb_crafts){f->library, 1, (const ebb_craft *const *)f->craft};
    f->thin = (ebb_crafts){f->library, 1, (const ebb_craft *const *)f->craft + 1};
    assert_true(f->craft[0]->passes);
    assert_false(f->craft[1]->passes);
    *state = f;
    return 0;
}

static int close_fixture(void **state)
{
    fixture *f = *state;
    for (size_t i = 0; i < 2; i++)
        ebb_craft_free(f->craft[i]);
    ebb_library_free(f->library);
    ebb_arena_free(f->arena);
    ebb_ctx_free(f->ctx);
    free(f);
    return 0;
}

static const char *text_of(fixture *f, const ebb_crafts *crafts, int units)
{
    const char *text = NULL;
    assert_int_equal(ebb_report_crafts_text(f->ctx, f->arena, crafts, units, &text), EBB_OK);
    return text;
}

static void assert_has(const char *text, const char *wanted)
{
    if (strstr(text, wanted) == NULL)
        fail_msg("\"%s\" is not in:\n%s", wanted, text);
}

/* ---- text ------------------------------------------------------------------------------------ */

static void every_pick_has_a_sheet(void **state)
{
    fixture *f = *state;
    const char *text = text_of(f, &f->good, -1);
    for (size_t i = 0; i < f->craft[0]->n_picks; i++) {
        const ebb_craft_pick *p = &f->craft[0]->pick[i];
        char wanted[64];
        snprintf(wanted, sizeof wanted, "Build sheet: %s\n", ebb_craft_aim_name(p->aim));
        assert_has(text, wanted);
        snprintf(wanted, sizeof wanted, "%.3f", p->alpha[0]);
        assert_has(text, wanted);
        for (size_t k = 0; k < p->n_parts; k++)
            assert_has(text, p->part[k].what);
    }
    assert_has(text, "at least 0.3 at 30 Hz, 0.9 at 50 Hz");
    assert_has(text, "grains at most 20.0 kg");
    assert_has(text, "Local codes and licensed practice hold");
}

/* Carbon that nobody tested is said so wherever it is used, and only there. */
static void untested_grains_are_said(void **state)
{
    fixture *f = *state;
    const char *text = text_of(f, &f->good, -1);
    bool grains = false;
    for (size_t i = 0; i < f->craft[0]->n_picks; i++)
        grains = grains || f->craft[0]->pick[i].recipe.batch != NULL;
    assert_true(grains);
    assert_has(text, "The batch was not tested");
    assert_has(text, "Carbon dust");
    assert_null(strstr(text_of(f, &f->thin, -1), "Carbon dust"));
}

static void lines_fit_a_terminal(void **state)
{
    fixture *f = *state;
    for (int units = 0; units < 2; units++)
        for (const char *line = text_of(f, &f->both, units); line && *line;) {
            const char *end = strchr(line, '\n');
            size_t columns = 0;
            for (const char *c = line; c < end; c++)
                columns += ((unsigned char)*c & 0xC0) != 0x80;
            assert_true(columns <= 100);
            line = end + 1;
        }
}

static void a_miss_names_its_limits(void **state)
{
    fixture *f = *state;
    const char *text = text_of(f, &f->thin, -1);
    assert_has(text, "NOTHING PASSES");
    assert_has(text, "nearest miss");
    assert_has(text, "limit on depth");
    assert_has(text, "limit on mass");
    assert_has(text, "A search is not a proof");
    assert_null(strstr(text, "Build sheet"));
}

static void units_are_converted(void **state)
{
    fixture *f = *state;
    const char *text = text_of(f, &f->good, EBB_UNITS_IMPERIAL);
    assert_has(text, " lb");
    assert_has(text, "in");
    assert_null(strstr(text, "1200 mm"));
    assert_has(text_of(f, &f->good, EBB_UNITS_METRIC), "1200 mm");
}

/* ---- JSON ------------------------------------------------------------------------------------ */

static json_t *json_of(fixture *f, const ebb_crafts *crafts)
{
    const char *text = NULL;
    json_error_t error;
    assert_int_equal(ebb_report_crafts_json(f->ctx, f->arena, crafts, &text), EBB_OK);
    json_t *document = json_loads(text, 0, &error);
    if (document == NULL)
        fail_msg("%s", error.text);
    return document;
}

static double number_at(json_t *object, const char *key)
{
    json_t *value = json_object_get(object, key);
    if (!json_is_number(value))
        fail_msg("%s is no number", key);
    return json_number_value(value);
}

static void the_document_holds_the_numbers(void **state)
{
    fixture *f = *state;
    json_t *whole = json_of(f, &f->both), *targets = json_object_get(whole, "targets");
    assert_int_equal(json_array_size(targets), 2);
    json_t *good = json_array_get(targets, 0), *picks = json_object_get(good, "picks");
    assert_true(json_is_true(json_object_get(good, "passes")));
    assert_int_equal(json_array_size(picks), f->craft[0]->n_picks);
    for (size_t i = 0; i < json_array_size(picks); i++) {
        const ebb_craft_pick *p = &f->craft[0]->pick[i];
        json_t *pick = json_array_get(picks, i), *merit = json_object_get(pick, "merit");
        assert_true(number_at(merit, "mean") == p->merit.absorption);
        assert_true(number_at(merit, "mass_kg") == p->merit.mass);
        assert_true(number_at(pick, "peak_hz") == p->peak_hz);
        json_t *box = json_object_get(pick, "box");
        assert_true(number_at(box, "depth_m") == p->recipe.depth);
        assert_int_equal(json_array_size(json_object_get(box, "cells")), p->recipe.cells);
        assert_int_equal(json_array_size(json_object_get(pick, "parts")), p->n_parts);
        assert_true(json_is_null(json_object_get(pick, "wave_fall_db")));
    }
    assert_int_equal(json_array_size(json_object_get(good, "trade_offs")), f->craft[0]->n_front);
    assert_int_equal(json_array_size(json_object_get(good, "layouts")), 4);
    json_t *thin = json_array_get(targets, 1);
    assert_true(json_is_false(json_object_get(thin, "passes")));
    assert_int_equal(json_array_size(json_object_get(thin, "stops")), f->craft[1]->n_stops);
    json_decref(whole);
}

/* ---- library --------------------------------------------------------------------------------- */

static void a_written_library_gives_the_same_boxes(void **state)
{
    fixture *f = *state;
    const char *text = NULL;
    ebb_library *back;
    assert_int_equal(ebb_report_crafts_library(f->ctx, f->arena, &f->both, &text), EBB_OK);
    if (ebb_library_parse(f->ctx, text, strlen(text), "back.yaml", NULL, &back) != EBB_OK)
        fail_msg("%s in\n%s", ebb_ctx_message(f->ctx, 0)->text, text);
    assert_int_equal(back->n_units, f->craft[0]->n_picks);
    for (size_t i = 0; i < back->n_units; i++) {
        const ebb_unit *want = &f->craft[0]->pick[i].unit, *got = &back->unit[i];
        assert_string_equal(got->name, want->name);
        assert_true(fabs(got->mass - want->mass) < 1e-6);
        for (double hz = 20; hz < 200; hz *= 1.1)
            assert_true(fabs(ebb_assembly_alpha(&got->assembly, &f->library->air, hz) -
                             ebb_assembly_alpha(&want->assembly, &f->library->air, hz)) < 1e-6);
    }
    ebb_library_free(back);
}

static void without_a_box_there_is_no_library(void **state)
{
    fixture *f = *state;
    const char *text = "x";
    assert_int_equal(ebb_report_crafts_library(f->ctx, f->arena, &f->thin, &text),
                     EBB_E_NOSOLUTION);
    assert_null(text);
    ebb_ctx_clear(f->ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_pick_has_a_sheet),
        cmocka_unit_test(untested_grains_are_said),
        cmocka_unit_test(lines_fit_a_terminal),
        cmocka_unit_test(a_miss_names_its_limits),
        cmocka_unit_test(units_are_converted),
        cmocka_unit_test(the_document_holds_the_numbers),
        cmocka_unit_test(a_written_library_gives_the_same_boxes),
        cmocka_unit_test(without_a_box_there_is_no_library),
    };
    return cmocka_run_group_tests(tests, open_fixture, close_fixture);
}
