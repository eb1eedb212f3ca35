/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The checker on small forms of its own: keys, lists, names, suggestions, missing and misspelt. */
#include "helper.h"

#include "../../src/room/record.h"

static const ebb_room_rule part_rules[] = {
    {"length", .kind = EBB_ROOM_QUANTITY, .quantity = EBB_Q_LENGTH, .low = 0, .high = 9,
     .required = true, .meaning = "how long"},
    {"colour", .kind = EBB_ROOM_TEXT, .least = 1, .most = 20, .meaning = "which colour"},
};
static const ebb_room_form part = {"part", "a part", 2, part_rules};

static const ebb_room_rule round_rules[] = {
    {"round", .kind = EBB_ROOM_QUANTITY, .quantity = EBB_Q_LENGTH, .low = 0, .high = 9,
     .required = true, .meaning = "radius"},
};
static const ebb_room_rule square_rules[] = {
    {"square", .kind = EBB_ROOM_QUANTITY, .quantity = EBB_Q_LENGTH, .low = 0, .high = 9,
     .required = true, .meaning = "side"},
    {"round", .kind = EBB_ROOM_QUANTITY, .quantity = EBB_Q_LENGTH, .low = 0, .high = 9,
     .meaning = "radius of the corners"},
};
static const ebb_room_form kinds[2] = {{"round", "a round one", 1, round_rules},
                                       {"square", "a square one", 2, square_rules}};

static const ebb_room_rule whole_rules[] = {
    {"one", .kind = EBB_ROOM_FORM, .form = &part, .n_forms = 1, .meaning = "one part"},
    {"list", .kind = EBB_ROOM_FORMS, .form = &part, .n_forms = 1, .least = 1, .most = 3,
     .meaning = "several parts"},
    {"named", .kind = EBB_ROOM_NAMED, .form = &part, .n_forms = 1, .most = 3,
     .meaning = "parts by name"},
    {"shapes", .kind = EBB_ROOM_KINDS_OF, .form = kinds, .n_forms = 2, .least = 0, .most = 3,
     .meaning = "shapes"},
};
static const ebb_room_form whole = {"whole", "a whole", 4, whole_rules};

/* A reading of a text by the form above. */
typedef struct reading {
    ebb_room_reader reader;
    ebb_room_record *record;
} reading;

static reading read_text(fixture *f, const char *text)
{
    reading r = {.reader = {.ctx = f->ctx, .arena = ebb_arena_new(f->ctx), .file = "f"}};
    ebb_ctx_clear(f->ctx);
    ebb_room_read(&r.reader, &whole, text, strlen(text), &r.record);
    ebb_room_report(&r.reader);
    return r;
}

static void finish(reading *r)
{
    ebb_arena_free(r->reader.arena);
}

/* The one message of a text: "key: text". */
static void check_message(fixture *f, const char *text, const char *wanted)
{
    char got[1024] = "";
    reading r = read_text(f, text);
    for (size_t i = 0; i < ebb_ctx_messages(f->ctx); i++) {
        const ebb_message *m = ebb_ctx_message(f->ctx, i);
        const size_t used = strlen(got);
        snprintf(got + used, sizeof got - used, "%s%s: %s", i > 0 ? " | " : "",
                 m->place.key != NULL ? m->place.key : "-", m->text);
    }
    finish(&r);
    assert_string_equal(got, wanted);
}

static void fields_are_there_whether_given_or_not(void **state)
{
    reading r = read_text(*state, "one: {length: 2 m}\n");
    assert_int_equal(r.reader.n_faults, 0);
    const ebb_room_field *one = ebb_room_get(r.record, "one");
    assert_true(one->given && one->good && one->n == 1);
    assert_string_equal(one->place.key, "one");
    assert_int_equal(one->place.line, 1);
    assert_int_equal(one->place.column, 6);
    assert_near(ebb_room_number(one->record, "length", -1), 2);
    const ebb_room_field *colour = ebb_room_get(one->record, "colour");
    assert_false(colour->given || colour->good || colour->meant);
    assert_true(ebb_room_is_absent(one->record, "colour"));
    assert_false(ebb_room_get(r.record, "list")->given);
    assert_int_equal(ebb_room_word(r.record, "list", 7), 7);
    finish(&r);
}

static void lists_and_names_keep_their_order(void **state)
{
    reading r = read_text(*state, "list: [{length: 1 m}, {length: 2 m}]\n"
                                  "named: {b: {length: 3 m}, a: {length: 4 m, colour: red}}\n");
    assert_int_equal(r.reader.n_faults, 0);
    const ebb_room_field *list = ebb_room_get(r.record, "list");
    assert_int_equal(list->n, 2);
    assert_near(ebb_room_number(&list->record[1], "length", 0), 2);
    assert_string_equal(list->record[1].place.key, "list[1]");
    assert_null(list->record[1].name);
    const ebb_room_field *named = ebb_room_get(r.record, "named");
    assert_int_equal(named->n, 2);
    assert_string_equal(named->record[0].name, "b");
    assert_string_equal(named->record[1].place.key, "named.a");
    assert_string_equal(ebb_room_get(&named->record[1], "colour")->text, "red");
    finish(&r);
}

static void a_list_may_be_empty_where_the_rule_says_so(void **state)
{
    reading r = read_text(*state, "shapes: []\nnamed: {}\n");
    assert_int_equal(r.reader.n_faults, 0);
    assert_true(ebb_room_get(r.record, "shapes")->good);
    assert_int_equal(ebb_room_get(r.record, "named")->n, 0);
    finish(&r);
    check_message(*state, "list: []\n",
                  "list: found 0 entries; accepted is a list of 1 to 3 mappings with the keys "
                  "length, colour");
}

/* A shape is told by its own key; one that also is a parameter of another shape does not confuse.
 */
static void kinds_are_told_by_their_key(void **state)
{
    reading r =
        read_text(*state, "shapes: [{round: 1 m}, {square: 2 m}, {round: 1 m, square: 2 m}]\n");
    assert_int_equal(r.reader.n_faults, 0);
    const ebb_room_field *shapes = ebb_room_get(r.record, "shapes");
    assert_ptr_equal(shapes->record[0].form, &kinds[0]);
    assert_ptr_equal(shapes->record[1].form, &kinds[1]);
    assert_ptr_equal(shapes->record[2].form, &kinds[1]);
    finish(&r);
    check_message(*state, "shapes: [{sqare: 2 m}]\n",
                  "shapes[0]: no such kind of layer: \"sqare\"; did you mean \"square\"?");
}

static void a_misspelt_key_is_told_once(void **state)
{
    check_message(*state, "one: {lenght: 2 m}\n",
                  "one.lenght: unknown key \"lenght\"; did you mean \"length\"?");
    check_message(*state, "one: {size: 2 m}\n",
                  "one.length: the key is missing (how long); accepted is a length such as \"5.2 "
                  "m\", \"350 mm\" or \"17 ft 2 in\", from 0 m to 9 m | one.size: unknown key "
                  "\"size\"; accepted are length, colour");
}

static void a_merge_key_makes_nothing_missing(void **state)
{
    check_message(*state, "list: [&a {length: 1 m}]\none: {<<: *a}\n",
                  "one: merge keys (\"<<\") are not supported; write the keys out");
}

static void the_second_of_two_keys_is_told(void **state)
{
    check_message(*state, "one: {length: 1 m,\n  length: 2 m}\n",
                  "one.length: the key is given twice; the first is in line 1");
    check_message(*state, "named:\n  a: {length: 1 m}\n  a: {length: 2 m}\n",
                  "named: \"a\" is given twice; the first is in line 2");
}

static void wrong_shapes_are_told_by_what_was_found(void **state)
{
    check_message(*state, "one: [1]\n",
                  "one: found a list; accepted is a mapping with the keys length, colour");
    check_message(*state, "named: red\n",
                  "named: found \"red\"; accepted is a mapping of at most 3 names, each a part");
    check_message(*state, "named: {a: red}\n",
                  "named.a: found \"red\"; accepted is a mapping with the keys length, colour");
    check_message(*state, "list: [{length: 1 m}, null]\n",
                  "list[1]: found no value; accepted is a mapping with the keys length, colour");
}

/* Names are free, but they are shown in messages and tables. */
static void names_are_one_short_line(void **state)
{
    check_message(*state, "named: {\"a\\nb\": {length: 1 m}}\n",
                  "named: \"a b\": it runs over several lines or holds tabs; accepted is a name of "
                  "1 to 60 characters");
    reading r = read_text(*state, "named: {\"null\": {length: 1 m}, 12: {length: 1 m}}\n");
    assert_int_equal(r.reader.n_faults, 0);
    assert_string_equal(ebb_room_get(r.record, "named")->record[1].name, "12");
    finish(&r);
}

static void a_root_that_is_no_mapping_gives_no_record(void **state)
{
    reading r = read_text(*state, "- a\n");
    assert_null(r.record);
    assert_int_equal(r.reader.n_faults, 1);
    finish(&r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(fields_are_there_whether_given_or_not),
        TEST(lists_and_names_keep_their_order),
        TEST(a_list_may_be_empty_where_the_rule_says_so),
        TEST(kinds_are_told_by_their_key),
        TEST(a_misspelt_key_is_told_once),
        TEST(a_merge_key_makes_nothing_missing),
        TEST(the_second_of_two_keys_is_told),
        TEST(wrong_shapes_are_told_by_what_was_found),
        TEST(names_are_one_short_line),
        TEST(a_root_that_is_no_mapping_gives_no_record),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
