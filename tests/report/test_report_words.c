/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Numbers and verdicts in words, and places: words.c, spot.c, cautions.c. */
#include "../../src/report/words.h"
#include "fixture.c"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>

#include <cmocka.h>

static int open_fixture(void **state)
{
    static fixture f;
    fixture_open(&f);
    *state = &f;
    return 0;
}

static int close_fixture(void **state)
{
    fixture_close(*state);
    return 0;
}

static void test_clean(void **state)
{
    fixture *f = *state;
    static const struct {
        const char *in, *out;
    } CASES[] = {{"plain \u00e9 \u5f71", "plain \u00e9 \u5f71"},
                 {"a\nb\tc", "a b c"},
                 {"\x1b[31mred\x07", " [31mred "},
                 {"turn \u202e around \u2066x", "turn   around  x"},
                 {"broken \xff\xc3", "broken \ufffd\ufffd"},
                 {"c1 \xc2\x9b"
                  "5m",
                  "c1  5m"},
                 {"", "none"},
                 {NULL, "none"}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        assert_string_equal(ebb_report_clean(f->arena, CASES[i].in, "none"), CASES[i].out);
    }
    assert_null(ebb_report_clean(NULL, "x", "none"));
}

static void test_numbers(void **state)
{
    fixture *f = *state;
    ebb_arena *a = f->arena;
    assert_string_equal(ebb_report_percent(a, 0.914), "91 %");
    assert_string_equal(ebb_report_percent(a, NAN), "\u2013");
    assert_string_equal(ebb_report_measure(a, 1.2344, EBB_UNITS_METRIC), "1234 mm");
    assert_string_equal(ebb_report_measure(a, -0.0001, EBB_UNITS_METRIC), "0 mm");
    assert_string_equal(ebb_report_measure(a, 0.3048 * 4.5, EBB_UNITS_IMPERIAL), "4 ft 6 in");
    assert_string_equal(ebb_report_mass(a, 412.6, EBB_UNITS_METRIC), "413 kg");
    assert_string_equal(ebb_report_mass(a, 45.359237, EBB_UNITS_IMPERIAL), "100 lb");
    assert_string_equal(ebb_report_mass(a, INFINITY, EBB_UNITS_METRIC), "\u2013");
    assert_string_equal(ebb_report_hz(a, 39.81), "40 Hz");
    assert_string_equal(ebb_report_hz(a, NAN), "none");
    assert_string_equal(ebb_report_money(a, 5200.0), "5200");
    assert_string_equal(ebb_report_money(a, 0.0), "\u2013");
    assert_string_equal(ebb_report_quantity(a, EBB_Q_LENGTH, NAN, EBB_UNITS_METRIC), "\u2013");
}

static void test_readings_carry_their_unit(void **state)
{
    fixture *f = *state;
    ebb_arena *a = f->arena;
    assert_string_equal(ebb_report_reading(a, EBB_FAULT_RING, 1.714), "1.71 s");
    assert_string_equal(ebb_report_reading(a, EBB_FAULT_DIP, -5.24), "-5.2 dB");
    assert_string_equal(ebb_report_reading(a, EBB_FAULT_PEAK, 5.24), "+5.2 dB");
    assert_string_equal(ebb_report_reading(a, EBB_FAULT_SPREAD, 7.9), "7.9 dB");
    assert_string_equal(ebb_report_reading(a, EBB_FAULT_SPEECH, 0.444), "0.44");
    assert_string_equal(ebb_report_reading(a, EBB_FAULT_SLOW, NAN), "\u2013");
}

static void test_verdicts_say_what_was_asked(void **state)
{
    fixture *f = *state;
    ebb_answer *a = &f->answer[2];
    assert_string_equal(ebb_report_verdict(&f->answer[0]), "can be made right for music");
    assert_string_equal(ebb_report_verdict(&f->answer[1]),
                        "can be made right for voice, not for music");
    assert_non_null(strstr(ebb_report_verdict(a), "neither for music nor for voice"));
    a->music.asked = false;
    assert_non_null(strstr(ebb_report_verdict(a), "right for voice"));
    assert_null(strstr(ebb_report_verdict(a), "music"));
    f->answer[1].music.asked = false;
    assert_string_equal(ebb_report_verdict(&f->answer[1]), "can be made right for voice");
    /* never a claim that a search can not make */
    assert_null(strstr(ebb_report_verdict(a), "can not"));
}

static void test_sureness(void **state)
{
    fixture *f = *state;
    assert_string_equal(ebb_report_sure(f->arena, &f->answer[0]), "sure: 94 % of 64 draws agree");
    assert_string_equal(ebb_report_sure(f->arena, &f->answer[1]),
                        "near the border: 61 % of 64 draws agree; what decides: one dip");
    f->answer[1].voice.odds.draws = 0;
    assert_string_equal(ebb_report_sure(f->arena, &f->answer[1]), "not tested by draws");
    f->answer[0].shown = NULL;
    assert_string_equal(ebb_report_sure(f->arena, &f->answer[0]), "not tested by draws");
}

static void test_what_was_not_calculated_is_a_dash(void **state)
{
    fixture *f = *state;
    ebb_treatment *t = &f->answer[0].music;
    assert_string_equal(ebb_report_fault_counts(f->arena, t), "6 \u2192 1");
    assert_string_equal(ebb_report_from(f->arena, &t->after), "40 Hz");
    t->mended = NAN;
    assert_string_equal(ebb_report_mended(f->arena, t), "nothing to mend");
    t->after.reading.level = NULL;
    assert_string_equal(ebb_report_mended(f->arena, t), "\u2013");
    assert_string_equal(ebb_report_fault_counts(f->arena, t), "6 \u2192 \u2013");
    assert_string_equal(ebb_report_from(f->arena, &t->after), "\u2013");
}

static void test_rest_of_a_fault(void **state)
{
    (void)state;
    ebb_fault list[3] = {{.kind = EBB_FAULT_DIP, .low = 60, .high = 70, .size = 1.2},
                         {.kind = EBB_FAULT_DIP, .low = 62, .high = 80, .size = 1.6},
                         {.kind = EBB_FAULT_PEAK, .low = 60, .high = 70, .size = 9.0}};
    const ebb_faults faults = {3, list};
    const ebb_fault was = {.kind = EBB_FAULT_DIP, .low = 55, .high = 65};
    assert_ptr_equal(ebb_report_rest(&was, &faults), &list[1]);
    const ebb_fault far = {.kind = EBB_FAULT_DIP, .low = 100, .high = 120};
    assert_null(ebb_report_rest(&far, &faults));
    const ebb_fault near = {
        .kind = EBB_FAULT_DIP, .low = 85, .high = 90}; /* a sixth of an octave */
    assert_ptr_equal(ebb_report_rest(&near, &faults), &list[1]);
    assert_true(ebb_report_is_new(&far, &faults));
    assert_false(ebb_report_is_new(&was, &faults));
}

static void test_spots_are_measured_from_corners(void **state)
{
    fixture *f = *state;
    const ebb_room *room = &f->job.rooms[0];
    const ebb_placed wall = {0, 5, {0.1, 1.35}, false}, roof = {0, 1, {0.3, 0.4}, false};
    ebb_report_spot spot = ebb_report_spot_of(f->arena, room, &wall, EBB_UNITS_METRIC);
    assert_string_equal(spot.surface, "wall_4");
    assert_string_equal(spot.along, "100 mm from corner 4");
    assert_string_equal(spot.up, "1350 mm up");
    spot = ebb_report_spot_of(f->arena, room, &roof, EBB_UNITS_METRIC);
    assert_string_equal(spot.along, "300 mm right of corner 1");
    assert_string_equal(spot.up, "400 mm up the plan");
    const ebb_placed nowhere = {0, 99, {0.3, 0.4}, false};
    assert_string_equal(ebb_report_spot_of(f->arena, room, &nowhere, EBB_UNITS_METRIC).surface,
                        "?");
}

static void test_ceiling_spot_ignores_the_origin_of_the_job(void **state)
{
    fixture *f = *state;
    ebb_room *room = &f->job.rooms[0];
    /* The room stands 10 m right and 5 m up in the job, its corners start at the upper left. */
    room->origin = (ebb_vec3){10.0, 5.0, 0.0};
    ebb_surface *s = room->surfaces;
    s[1].range[0][0] = 10.0;
    s[1].range[1][0] = 5.0;
    s[2].origin = (ebb_vec3){10.0, 9.1, 0.0};
    s[3].origin = (ebb_vec3){10.0, 5.0, 0.0};
    const ebb_placed roof = {0, 1, {10.3, 5.4}, false};
    const ebb_report_spot spot = ebb_report_spot_of(f->arena, room, &roof, EBB_UNITS_METRIC);
    assert_int_equal(ebb_report_lower_corner(room), 2);
    assert_string_equal(spot.along, "300 mm right of corner 2");
    assert_string_equal(spot.up, "400 mm up the plan");
}

static void test_long_names_leave_room(void **state)
{
    fixture *f = *state;
    fixture_nasty(f);
    const char *name = ebb_report_room_name(f->arena, &f->answer[0]);
    assert_int_equal(strlen(name), 59 + strlen("\u2026"));
    assert_string_equal(ebb_report_room_name(f->arena, &f->answer[2]), "(unnamed room)");
}

static void test_cautions_cover_the_dangers(void **state)
{
    (void)state;
    static const char *const WANTED[] = {
        "engineer",        "two people",      "Exits",      "carbon",           "oxygen",
        "Dust and fibres", "ventilat",        "85 dBA",     "electrician",      "codes",
        "NIOSH",           "29 CFR 1910.146", "2003/10/EC", "ASHRAE 62.1-2016", "from memory"};
    size_t n;
    const char *const *caution = ebb_cautions(&n);
    assert_true(n >= 8);
    for (size_t k = 0; k < sizeof WANTED / sizeof WANTED[0]; k++) {
        bool found = false;
        for (size_t i = 0; i < n; i++) {
            found = found || strstr(caution[i], WANTED[k]);
        }
        if (!found) {
            fail_msg("no caution says \"%s\"", WANTED[k]);
        }
    }
}

static void test_units_of_the_report(void **state)
{
    fixture *f = *state;
    assert_int_equal(ebb_report_units(&f->answers, -1), EBB_UNITS_METRIC);
    assert_int_equal(ebb_report_units(&f->answers, EBB_UNITS_IMPERIAL), EBB_UNITS_IMPERIAL);
    f->job.units = EBB_UNITS_IMPERIAL;
    assert_int_equal(ebb_report_units(&f->answers, -1), EBB_UNITS_IMPERIAL);
    assert_non_null(strstr(ebb_report_trace(f->arena, &f->answers), "seed 7, 4 starts, 64 draws"));
}

#define WITH_FIXTURE(test) cmocka_unit_test_setup_teardown(test, open_fixture, close_fixture)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_FIXTURE(test_clean),
        WITH_FIXTURE(test_numbers),
        WITH_FIXTURE(test_readings_carry_their_unit),
        WITH_FIXTURE(test_verdicts_say_what_was_asked),
        WITH_FIXTURE(test_sureness),
        WITH_FIXTURE(test_what_was_not_calculated_is_a_dash),
        cmocka_unit_test(test_rest_of_a_fault),
        WITH_FIXTURE(test_spots_are_measured_from_corners),
        WITH_FIXTURE(test_ceiling_spot_ignores_the_origin_of_the_job),
        WITH_FIXTURE(test_long_names_leave_room),
        cmocka_unit_test(test_cautions_cover_the_dangers),
        WITH_FIXTURE(test_units_of_the_report),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
