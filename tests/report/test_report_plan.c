/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A plan in words, as text, JSON and report: from invented numbers, see fixture.h. */
#include "../../src/report/plan.h"
#include "fixture.c"

#include <glib.h>
#include <jansson.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

typedef struct rig {
    fixture f;
    ebb_detail_effort effort;
    ebb_planned plan;
    ebb_plan_papers papers;
    ebb_curve curve;
    ebb_curve_point point[4];
    ebb_curve_next next[1];
    ebb_gain gain[9];
} rig;

static void make_curve(rig *r)
{
    for (size_t i = 0; i < 4; i++) {
        r->point[i] = (ebb_curve_point){.n = i, .wrong = 0.6 / (double)(1 + i), .right = i == 3};
    }
    r->next[0] = (ebb_curve_next){.unit = 2, .fits = true, .wrong = 0.1, .mended = 0.05};
    r->curve = (ebb_curve){.n = 4,
                           .point = r->point,
                           .enough = 2,
                           .n_next = 1,
                           .next = r->next,
                           .sentence = "Beyond 2 units little is mended."};
    r->plan.curve = &r->curve;
}

/* Room `i` of the fixture as a plan for its shown use. */
static void open_rig(rig *r, size_t i)
{
    *r = (rig){0};
    fixture_open(&r->f);
    ebb_answer *a = &r->f.answer[i];
    const ebb_layout *layout = &a->shown->after.layout;
    const bool passes = a->verdict != EBB_NO;
    r->effort.search = r->f.effort;
    r->plan = (ebb_planned){.answer = a, .treatment = a->shown, .passes = passes, .n_slow = 2};
    r->plan.slow[0] = (ebb_slow_mode){{1, 0, 0}, 31.8, 0.6, 1.9, 0.4};
    r->plan.slow[1] = (ebb_slow_mode){{0, 1, 0}, 41.9, 0.5, 1.2, NAN};
    for (size_t k = 0; k + a->room->n_placed < layout->n_placed && k < 9; k++) {
        r->gain[k] = (ebb_gain){a->room->n_placed + k, k == 0, 0.1, 0.05, 0.06, -0.2, {0.5, NAN}};
        r->plan.n_gains++;
    }
    r->plan.gain = r->gain;
    r->plan.n_alternatives = passes ? 2 : 1;
    r->plan.alternative[0] = (ebb_alternative){.kind = EBB_PLAN_BEST,
                                               .passes = passes,
                                               .layout = *layout,
                                               .wrong = 0.03,
                                               .odds = a->shown->odds};
    r->plan.alternative[1] = r->plan.alternative[0];
    r->plan.alternative[1].kind = EBB_PLAN_CHEAPEST;
    r->plan.doubt = (ebb_doubt){.draws = 64,
                                .share = 0.6,
                                .any = true,
                                .most = EBB_UNKNOWN_WALLS,
                                .measure = "Measure the decay of the empty room."};
    r->plan.doubt.part[EBB_UNKNOWN_WALLS] = (ebb_doubt_part){0.9, 0.01, 0.7};
    make_curve(r);
    r->papers = (ebb_plan_papers){&r->plan, &r->effort, NULL};
}

static void close_rig(rig *r)
{
    fixture_close(&r->f);
}

static const char *text_of(rig *r)
{
    const char *text = NULL;
    assert_int_equal(ebb_plan_text(r->f.ctx, r->f.arena, &r->papers, -1, &text), EBB_OK);
    return text;
}

static json_t *json_of(rig *r)
{
    const char *text = NULL;
    assert_int_equal(ebb_plan_json(r->f.ctx, r->f.arena, &r->papers, &text), EBB_OK);
    json_t *document = json_loads(text, 0, NULL);
    assert_non_null(document);
    return document;
}

static void test_text_says_where_and_what(void **state)
{
    (void)state;
    rig r;
    open_rig(&r, 0);
    const char *text = text_of(&r);
    assert_non_null(strstr(text, "The plan makes the room right for music."));
    /* "deep", 0.6 m wide, stands 0.1 m from the first corner of wall_4, which is 4.1 m long: seen
     * from inside that corner is on the right. */
    assert_non_null(strstr(text, "3400 mm left, 100 mm right, 100 mm up"));
    assert_non_null(strstr(text, "from wall_"));
    assert_non_null(strstr(text, "mode 1-0-0, 31.8 Hz"));
    assert_non_null(strstr(text, "\n  cheapest"));
    assert_non_null(strstr(text, "Beyond 2 units"));
    assert_non_null(strstr(text, "Measure the decay of the empty room."));
    assert_non_null(strstr(text, "The first 1 is there already."));
    assert_non_null(strstr(text, "an engineer checks"));
    close_rig(&r);
}

static void test_boxes_are_told(void **state)
{
    (void)state;
    rig r;
    open_rig(&r, 0);
    assert_null(strstr(text_of(&r), "as boxes"));
    json_t *document = json_of(&r);
    assert_true(json_is_null(json_object_get(document, "boxes")));
    json_decref(document);
    ebb_verified v = {.solved = true,
                      .reason = "",
                      .level = 1.5,
                      .wrong = 0.25,
                      .flat_wrong = 0.125,
                      .flat_right = true,
                      .passes = true,
                      .n_bodies = 3,
                      .sentence = "Solved again: a sentence."};
    r.papers.verified = &v;
    assert_non_null(strstr(text_of(&r), "The same plan with its units as boxes\n"
                                        "  Solved again: a sentence.\n"));
    document = json_of(&r);
    const json_t *boxes = json_object_get(document, "boxes");
    assert_true(json_is_true(json_object_get(boxes, "flips")));
    assert_true(json_is_null(json_object_get(boxes, "reason")));
    assert_true(json_real_value(json_object_get(boxes, "level_db")) == 1.5);
    assert_true(json_real_value(json_object_get(boxes, "wrong")) == 0.25);
    assert_int_equal(json_integer_value(json_object_get(boxes, "bodies")), 3);
    json_decref(document);
    v.solved = false;
    v.reason = "no mesher";
    document = json_of(&r);
    boxes = json_object_get(document, "boxes");
    assert_string_equal(json_string_value(json_object_get(boxes, "reason")), "no mesher");
    assert_null(json_object_get(boxes, "wrong"));
    assert_true(json_is_false(json_object_get(boxes, "flips")));
    json_decref(document);
    close_rig(&r);
}

static void test_text_stays_within_its_columns(void **state)
{
    (void)state;
    for (size_t i = 0; i < FIXTURE_ROOMS; i++) {
        for (int units = 0; units < 2; units++) {
            rig r;
            open_rig(&r, i);
            fixture_nasty(&r.f);
            const char *text = NULL;
            assert_int_equal(ebb_plan_text(r.f.ctx, r.f.arena, &r.papers, units, &text), EBB_OK);
            for (const char *line = text; *line;) {
                const size_t n = strcspn(line, "\n");
                assert_true(n == 0 || line[n - 1] != ' ');
                if (g_utf8_strlen(line, (gssize)n) > 100) {
                    fail_msg("over 100 columns: %.*s", (int)n, line);
                }
                assert_null(memchr(line, '\x1b', n));
                line += n + (line[n] != '\0');
            }
            close_rig(&r);
        }
    }
}

static void test_nothing_passes_is_said(void **state)
{
    (void)state;
    rig r;
    open_rig(&r, 2);
    const char *text = text_of(&r);
    assert_non_null(strstr(text, "No plan we found makes the room right"));
    assert_non_null(strstr(text, "Nothing passes"));
    assert_null(strstr(text, "\n  cheapest"));
    close_rig(&r);
}

static double number_at(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);
    assert_true(json_is_number(value));
    return json_number_value(value);
}

static void test_json_is_aligned(void **state)
{
    (void)state;
    rig r;
    open_rig(&r, 0);
    json_t *doc = json_of(&r);
    const json_t *plan = json_object_get(doc, "plan"), *places = json_object_get(doc, "places");
    assert_int_equal(json_array_size(json_object_get(plan, "units")), json_array_size(places));
    /* 0 is there already on wall_2, 1 is "deep" on wall_4. */
    const json_t *one = json_array_get(places, 1);
    assert_float_equal(number_at(one, "from_left_m"), 3.4, 1e-9);
    assert_float_equal(number_at(one, "from_right_m"), 0.1, 1e-9);
    assert_float_equal(number_at(one, "from_floor_m"), 0.1, 1e-9);
    assert_float_equal(number_at(one, "from_top_m"), 2.7 - 0.1 - 1.2, 1e-9);
    const json_t *curve = json_object_get(doc, "curve");
    assert_int_equal(json_array_size(json_object_get(curve, "units")),
                     json_array_size(json_object_get(curve, "wrong")));
    assert_int_equal(json_integer_value(json_object_get(curve, "enough")), 2);
    const json_t *slow = json_object_get(doc, "slow_modes");
    assert_true(json_is_null(json_object_get(json_array_get(slow, 1), "after_s")));
    const json_t *without = json_array_get(json_object_get(doc, "without"), 0);
    assert_int_equal(json_integer_value(json_object_get(without, "number")), 2);
    assert_int_equal(json_array_size(json_object_get(without, "slow_t60_s")), 2);
    assert_string_equal(json_string_value(json_object_get(json_object_get(doc, "doubt"), "most")),
                        "walls");
    assert_true(json_is_true(json_object_get(doc, "passes")));
    assert_true(json_is_null(json_object_get(doc, "bound")));
    json_decref(doc);
    close_rig(&r);
}

static void test_totals_stand_beside_the_allowance(void **state)
{
    (void)state;
    rig r;
    open_rig(&r, 0);
    json_t *doc = json_of(&r);
    const json_t *totals = json_object_get(doc, "totals");
    const ebb_layout *layout = &r.plan.treatment->after.layout;
    const json_t *mass = json_object_get(totals, "mass_kg");
    assert_float_equal(number_at(mass, "used"), layout->mass, 1e-9);
    assert_float_equal(number_at(mass, "allowed"), 900, 1e-9);
    assert_true(json_is_null(json_object_get(json_object_get(totals, "count"), "allowed")));
    assert_float_equal(number_at(json_object_get(totals, "floor_pa"), "used"),
                       layout->mass * 9.81 / (5.4 * 4.1), 1e-6);
    assert_float_equal(number_at(json_object_get(totals, "depth_m"), "used"), 0.3, 1e-12);
    json_decref(doc);
    close_rig(&r);
}

static void test_bare_plans_are_written_too(void **state)
{
    (void)state;
    rig r;
    open_rig(&r, 0);
    r.plan.curve = NULL;
    r.plan.n_gains = r.plan.n_slow = 0;
    r.plan.doubt = (ebb_doubt){.measure = "not looked for"};
    assert_null(strstr(text_of(&r), "What more units mend"));
    json_t *doc = json_of(&r);
    assert_true(json_is_null(json_object_get(doc, "curve")));
    assert_true(json_is_null(json_object_get(json_object_get(doc, "doubt"), "right_share")));
    json_decref(doc);
    close_rig(&r);
}

static size_t size_of(const char *path)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    fseek(file, 0, SEEK_END);
    const long size = ftell(file);
    fclose(file);
    return (size_t)size;
}

/* Both files, twice, with the same bytes; the working drawings are in them. */
static void test_reports_repeat(void **state)
{
    (void)state;
    static const char *const PATH[2] = {"plan-a.html", "plan-b.html"};
    rig r;
    open_rig(&r, 0);
    char *page[2];
    for (int i = 0; i < 2; i++) {
        assert_int_equal(ebb_plan_html(r.f.ctx, &r.papers, -1, PATH[i]), EBB_OK);
        const size_t n = size_of(PATH[i]);
        page[i] = test_calloc(n + 1, 1);
        FILE *file = fopen(PATH[i], "rb");
        assert_int_equal(fread(page[i], 1, n, file), n);
        fclose(file);
        unlink(PATH[i]);
    }
    assert_string_equal(page[0], page[1]);
    assert_non_null(strstr(page[0], "Working drawing: wall_4"));
    assert_non_null(strstr(page[0], "What each unit is worth"));
    assert_non_null(strstr(page[0], "3400\u00a0mm left"));
    test_free(page[0]);
    test_free(page[1]);
    assert_int_equal(ebb_plan_pdf(r.f.ctx, &r.papers, -1, "plan-a.pdf"), EBB_OK);
    assert_true(size_of("plan-a.pdf") > 20000);
    unlink("plan-a.pdf");
    close_rig(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text_says_where_and_what),
        cmocka_unit_test(test_boxes_are_told),
        cmocka_unit_test(test_text_stays_within_its_columns),
        cmocka_unit_test(test_nothing_passes_is_said),
        cmocka_unit_test(test_json_is_aligned),
        cmocka_unit_test(test_totals_stand_beside_the_allowance),
        cmocka_unit_test(test_bare_plans_are_written_too),
        cmocka_unit_test(test_reports_repeat),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
