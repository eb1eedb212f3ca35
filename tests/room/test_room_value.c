/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Each shape of value that is no mapping: what it accepts, and the borders of that. */
#include "helper.h"

#include "../../src/room/record.h"

static const char *const words[] = {"red", "green", "blue", NULL};

/* One reading of "v: <text>" by a rule for v; the field is good or there is a message. */
typedef struct reading {
    ebb_room_rule rule;
    ebb_room_form form;
    ebb_room_reader reader;
    const ebb_room_field *field;
} reading;

static void read_value(fixture *f, reading *r, ebb_room_rule rule, const char *text)
{
    char yaml[2048];
    ebb_room_record *record;
    rule.key = "v";
    rule.meaning = "a value";
    *r = (reading){.rule = rule,
                   .reader = {.ctx = f->ctx, .arena = ebb_arena_new(f->ctx), .file = "f"}};
    r->form = (ebb_room_form){"form", "a form", 1, &r->rule};
    snprintf(yaml, sizeof yaml, "v: %s\n", text);
    ebb_ctx_clear(f->ctx);
    ebb_room_read(&r->reader, &r->form, yaml, strlen(yaml), &record);
    ebb_room_report(&r->reader);
    assert_non_null(record);
    r->field = &record->field[0];
    assert_int_equal(r->field->good, ebb_ctx_errors(f->ctx) == 0);
}

static void finish(reading *r)
{
    ebb_arena_free(r->reader.arena);
}

static bool is_good(fixture *f, ebb_room_rule rule, const char *text)
{
    reading r;
    read_value(f, &r, rule, text);
    const bool good = r.field->good;
    finish(&r);
    return good;
}

/* The first message of a refused value holds this. */
static void assert_refused(fixture *f, ebb_room_rule rule, const char *text, const char *key,
                           const char *part)
{
    assert_false(is_good(f, rule, text));
    const ebb_message *m = ebb_ctx_message(f->ctx, 0);
    if (strcmp(m->place.key, key) != 0 || strstr(m->text, part) == NULL)
        print_messages(f->ctx);
    assert_string_equal(m->place.key, key);
    assert_non_null(strstr(m->text, part));
}

static void texts_count_characters(void **state)
{
    const ebb_room_rule rule = {.kind = EBB_ROOM_TEXT, .least = 2, .most = 4};
    assert_true(is_good(*state, rule, "ab"));
    assert_true(is_good(*state, rule, "\xC3\xA4\xC3\xB6\xC3\xBC\xC3\x9F")); /* four, 8 bytes */
    assert_true(is_good(*state, rule, "\"null\""));
    assert_refused(*state, rule, "a", "v", "too short");
    assert_refused(*state, rule, "abcde", "v", "too long");
    assert_refused(*state, rule, "null", "v", "found no value");
    assert_refused(*state, rule, "\" ab\"", "v", "blank");
    assert_refused(*state, rule, "\"a\\0b\"", "v", "control characters");
    assert_refused(*state, rule, "\"a\\x9bb\"", "v", "control characters");
    assert_refused(*state, rule, "\"a\\tb\"", "v", "holds tabs");
}

static void notes_may_have_lines(void **state)
{
    const ebb_room_rule rule = {.kind = EBB_ROOM_NOTE, .most = 40};
    reading r;
    read_value(*state, &r, rule, "\"one\\ntwo\\tthree \"");
    assert_true(r.field->good);
    assert_string_equal(r.field->text, "one\ntwo\tthree ");
    finish(&r);
    assert_refused(*state, rule, "\"a\\eb\"", "v", "control characters");
}

static void quantities_include_the_ends_of_their_range(void **state)
{
    const ebb_room_rule rule = {
        .kind = EBB_ROOM_QUANTITY, .quantity = EBB_Q_LENGTH, .low = 0.1, .high = 2};
    assert_true(is_good(*state, rule, "10 cm"));
    assert_true(is_good(*state, rule, "2000mm"));
    assert_true(is_good(*state, rule, "'2 m'"));
    assert_refused(*state, rule, "99 mm", "v", "out of range");
    assert_refused(*state, rule, "2.001 m", "v", "from 0.1 m to 2 m");
    assert_refused(*state, rule, "-1 m", "v", "out of range");
    assert_refused(*state, rule, "1", "v", "a unit is missing");
    assert_refused(*state, rule, "[1 m]", "v", "found a list");
    assert_refused(*state, rule, "{a: 1 m}", "v", "found a mapping");
}

static void vectors_tell_each_faulty_value(void **state)
{
    fixture *f = *state;
    const ebb_room_rule rule = {.kind = EBB_ROOM_VECTOR,
                                .quantity = EBB_Q_NUMBER,
                                .low = 0,
                                .high = 1,
                                .least = 2,
                                .most = 3};
    reading r;
    read_value(f, &r, rule, "[0.25, 1]");
    assert_true(r.field->good && r.field->n == 2);
    assert_near(r.field->number[0], 0.25);
    assert_near(r.field->number[1], 1);
    finish(&r);
    assert_refused(f, rule, "[x, 0.5, 2]", "v[0]", "does not start with a number");
    assert_int_equal(ebb_ctx_errors(f->ctx), 2);
    assert_string_equal(ebb_ctx_message(f->ctx, 1)->place.key, "v[2]");
    assert_refused(f, rule, "[0]", "v", "found 1 entry; accepted is a list of 2 to 3 values");
    assert_refused(f, rule, "[0,1,0,1]", "v", "a comma separates values");
    assert_refused(f, rule, "0.5", "v", "found \"0.5\"");
}

static void points_are_pairs(void **state)
{
    fixture *f = *state;
    const ebb_room_rule rule = {.kind = EBB_ROOM_POINTS,
                                .quantity = EBB_Q_LENGTH,
                                .low = -9,
                                .high = 9,
                                .least = 1,
                                .most = 3};
    reading r;
    read_value(f, &r, rule, "[[1 m, -2 m], [3 m, 4 m]]");
    assert_true(r.field->good && r.field->n == 2);
    assert_near(r.field->number[1], -2);
    assert_near(r.field->number[2], 3);
    finish(&r);
    assert_refused(f, rule, "[[1 m, 2 m], 3 m]", "v[1]", "a list of 2 values");
    assert_refused(f, rule, "[[1 m, 20 m]]", "v[0][1]", "out of range");
}

static void choices_are_exact_and_suggested(void **state)
{
    const ebb_room_rule rule = {.kind = EBB_ROOM_CHOICE, .words = words};
    reading r;
    read_value(*state, &r, rule, "blue");
    assert_true(r.field->good && r.field->word == 2);
    finish(&r);
    assert_refused(*state, rule, "Green", "v", "did you mean \"green\"? Accepted is one of red");
    assert_refused(*state, rule, "mauve", "v", "not one of the choices; accepted is one of red");
}

static void several_choices_make_a_mask(void **state)
{
    const ebb_room_rule rule = {.kind = EBB_ROOM_CHOICES, .words = words, .least = 1, .most = 3};
    reading r;
    read_value(*state, &r, rule, "[blue, red]");
    assert_true(r.field->good && r.field->word == 5);
    finish(&r);
    assert_refused(*state, rule, "[red, read]", "v[1]", "did you mean \"red\"?");
    assert_refused(*state, rule, "[]", "v", "found 0 entries");
    assert_refused(*state, rule, "red", "v", "found \"red\"");
}

static void flags_are_yes_or_no(void **state)
{
    static const char *const texts[] = {"no", "yes", "false", "true"};
    const ebb_room_rule rule = {.kind = EBB_ROOM_FLAG};
    for (size_t i = 0; i < 4; i++) {
        reading r;
        read_value(*state, &r, rule, texts[i]);
        assert_true(r.field->good && r.field->word == i % 2);
        finish(&r);
    }
    assert_refused(*state, rule, "on", "v", "accepted is yes or no");
    assert_refused(*state, rule, "1", "v", "accepted is yes or no");
}

static void panels_are_a_thickness_and_perhaps_a_material(void **state)
{
    const ebb_room_rule rule = {
        .kind = EBB_ROOM_PANEL, .quantity = EBB_Q_LENGTH, .low = 1e-4, .high = 1};
    static const struct {
        const char *text, *material;
        double thickness;
    } cases[] = {
        {"12.5 mm gypsum", "gypsum", 0.0125},           {"12.5mm gypsum", "gypsum", 0.0125},
        {"1/2 in plywood", "plywood", 0.0127},          {"18 mm", "", 0.018},
        {"1 ft 2 in brick", "brick", 0.3556},           {"1 ft 2 in", "", 0.3556},
        {"6 mm  birch plywood", "birch plywood", 0.006}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        reading r;
        read_value(*state, &r, rule, cases[i].text);
        assert_true(r.field->good);
        assert_string_equal(r.field->text, cases[i].material);
        assert_near(r.field->number[0], cases[i].thickness);
        finish(&r);
    }
    assert_refused(*state, rule, "gypsum 12.5 mm", "v", "does not start with a number");
    assert_refused(*state, rule, "12.5 gypsum", "v", "is not a unit of length");
    assert_refused(*state, rule, "12.5", "v", "a unit is missing");
    assert_refused(*state, rule, "\"12.5 mm gyp\\esum\"", "v", "control characters");
    assert_refused(*state, rule, "0.05 mm steel", "v", "0.1 mm to 1 m");
    assert_refused(*state, rule, "[12.5 mm, gypsum]", "v", "found a list");
}

static void spans_are_one_value_or_two(void **state)
{
    const ebb_room_rule rule = {.kind = EBB_ROOM_SPAN,
                                .quantity = EBB_Q_LENGTH,
                                .low = 0.1,
                                .high = 1,
                                .least = 2,
                                .most = 2};
    reading r;
    read_value(*state, &r, rule, "0.3 m");
    assert_int_equal(r.field->n, 1);
    assert_near(r.field->number[0], 0.3);
    finish(&r);
    read_value(*state, &r, rule, "[0.3 m, 400 mm]");
    assert_int_equal(r.field->n, 2);
    assert_near(r.field->number[1], 0.4);
    finish(&r);
    assert_true(is_good(*state, rule, "[0.3 m, 0.3 m]"));
    assert_refused(*state, rule, "[0.4 m, 0.3 m]", "v", "must not be the larger");
    assert_refused(*state, rule, "[0.3 m]", "v", "found 1 entry");
    assert_refused(*state, rule, "[0.3 m, 2 m]", "v[1]", "out of range");
    assert_refused(*state, rule, "{least: 0.3 m}", "v", "[least, most]");
}

static void curves_have_rising_frequencies(void **state)
{
    const ebb_room_rule rule = {.kind = EBB_ROOM_CURVE,
                                .quantity = EBB_Q_NUMBER,
                                .low = 0,
                                .high = 1,
                                .least = 1,
                                .most = 4};
    reading r;
    read_value(*state, &r, rule, "[[30 Hz, 0.33], [0.05 kHz, 1]]");
    assert_true(r.field->good);
    assert_int_equal(r.field->n, 2);
    assert_near(r.field->number[2], 50);
    assert_near(r.field->number[3], 1);
    finish(&r);
    assert_refused(*state, rule, "[[0 Hz, 0.3]]", "v[0][0]", "from 10 Hz to 5000 Hz");
    assert_refused(*state, rule, "[[30 Hz, 1.3]]", "v[0][1]", "out of range");
    assert_refused(*state, rule, "[[30 Hz, 0,3]]", "v[0]", "the decimal point is");
    assert_refused(*state, rule, "[30 Hz, 0.3]", "v[0]", "accepted is [frequency, value]");
    assert_refused(*state, rule, "[]", "v", "1 to 4 pairs");
    assert_refused(*state, rule, "[[40 Hz, 0.3], [40 Hz, 0.4]]", "v[1]", "must rise");
    /* A faulty frequency is no measure for the next. */
    assert_refused(*state, rule, "[[40, 0.3], [30 Hz, 0.4]]", "v[0][0]", "a unit is missing");
    assert_int_equal(ebb_ctx_messages(((fixture *)*state)->ctx), 1);
}

static void lists_of_names_keep_their_places(void **state)
{
    const ebb_room_rule rule = {.kind = EBB_ROOM_NAMES, .least = 0, .most = 3};
    reading r;
    read_value(*state, &r, rule, "[birch plywood, mdf]");
    assert_true(r.field->good);
    assert_int_equal(r.field->n, 2);
    assert_string_equal(r.field->item[0].text, "birch plywood");
    assert_string_equal(r.field->item[1].place.key, "v[1]");
    finish(&r);
    assert_true(is_good(*state, rule, "[]"));
    assert_refused(*state, rule, "mdf", "v", "a list of at most 3 different names");
    assert_refused(*state, rule, "[mdf, [x]]", "v[1]", "found a list");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(texts_count_characters),
        TEST(notes_may_have_lines),
        TEST(quantities_include_the_ends_of_their_range),
        TEST(vectors_tell_each_faulty_value),
        TEST(points_are_pairs),
        TEST(choices_are_exact_and_suggested),
        TEST(several_choices_make_a_mask),
        TEST(flags_are_yes_or_no),
        TEST(panels_are_a_thickness_and_perhaps_a_material),
        TEST(spans_are_one_value_or_two),
        TEST(curves_have_rising_frequencies),
        TEST(lists_of_names_keep_their_places),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
