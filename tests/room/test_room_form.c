/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The tables themselves: complete, without contradiction, and put into words rightly. */
#include "helper.h"

#include "../../src/room/form.h"

/* The two files. */
static const struct {
    const ebb_room_form *whole;
    const ebb_room_form_list *list;
    const size_t *n;
} files[] = {
    {&ebb_room_job_form, ebb_room_job_forms, &ebb_room_n_job_forms},
    {&ebb_room_library_form, ebb_room_library_forms, &ebb_room_n_library_forms},
};
#define FILES (sizeof files / sizeof files[0])

static bool is_list(const ebb_room_rule *rule)
{
    return rule->kind == EBB_ROOM_VECTOR || rule->kind == EBB_ROOM_POINTS ||
           rule->kind == EBB_ROOM_CURVE || rule->kind == EBB_ROOM_SPAN ||
           rule->kind == EBB_ROOM_NAMES || rule->kind == EBB_ROOM_CHOICES ||
           rule->kind == EBB_ROOM_FORMS || rule->kind == EBB_ROOM_NAMED ||
           rule->kind == EBB_ROOM_KINDS_OF || rule->kind == EBB_ROOM_OUTLINES ||
           rule->kind == EBB_ROOM_HEIGHTS;
}

static bool has_form(const ebb_room_rule *rule)
{
    return rule->kind == EBB_ROOM_FORM || rule->kind == EBB_ROOM_FORMS ||
           rule->kind == EBB_ROOM_NAMED || rule->kind == EBB_ROOM_KINDS_OF ||
           rule->kind == EBB_ROOM_ADMITTANCE || rule->kind == EBB_ROOM_HEIGHTS;
}

static bool has_range(const ebb_room_rule *rule)
{
    return rule->kind == EBB_ROOM_QUANTITY || rule->kind == EBB_ROOM_VECTOR ||
           rule->kind == EBB_ROOM_POINTS || rule->kind == EBB_ROOM_PANEL ||
           rule->kind == EBB_ROOM_CURVE || rule->kind == EBB_ROOM_SPAN ||
           rule->kind == EBB_ROOM_ADMITTANCE || rule->kind == EBB_ROOM_OUTLINES ||
           rule->kind == EBB_ROOM_HEIGHTS;
}

static void check_rule(const ebb_room_rule *rule)
{
    assert_true(strlen(rule->key) > 0 && strlen(rule->meaning) > 4);
    assert_int_equal(has_form(rule), rule->form != NULL && rule->n_forms > 0);
    assert_int_equal(has_range(rule), rule->low < rule->high);
    if (is_list(rule))
        assert_true(rule->most > 0 && rule->least <= rule->most);
    if (rule->kind == EBB_ROOM_CHOICE || rule->kind == EBB_ROOM_CHOICES)
        assert_true(rule->words != NULL && rule->words[0] != NULL);
    /* What must be given needs no value for when it is not. */
    if (rule->required)
        assert_null(rule->fallback);
}

static void check_forms(const ebb_room_form_list *list, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const ebb_room_form *form = list[i];
        assert_true(form->n > 0 && strlen(form->id) > 0 && strlen(form->what) > 0);
        for (size_t a = 0; a < form->n; a++) {
            check_rule(&form->rules[a]);
            for (size_t b = 0; b < a; b++)
                assert_string_not_equal(form->rules[a].key, form->rules[b].key);
        }
        for (size_t j = 0; j < i; j++)
            assert_string_not_equal(form->id, list[j]->id);
    }
}

static void every_rule_is_complete(void **state)
{
    (void)state;
    for (size_t k = 0; k < FILES; k++)
        check_forms(files[k].list, *files[k].n);
}

/* Every form that can be reached from the file is in its list, once; copies of a form (for lists
 * of fill) count as the form whose rows they share. */
static void count_reached(size_t file, const ebb_room_form *form, size_t *times)
{
    size_t at = 0;
    while (at < *files[file].n && files[file].list[at]->rules != form->rules)
        at++;
    assert_true(at < *files[file].n);
    assert_string_equal(files[file].list[at]->id, form->id);
    if (times[at]++ > 0)
        return;
    for (size_t i = 0; i < form->n; i++)
        for (size_t j = 0; j < form->rules[i].n_forms; j++)
            count_reached(file, &form->rules[i].form[j], times);
}

static void the_lists_of_forms_are_complete(void **state)
{
    (void)state;
    for (size_t k = 0; k < FILES; k++) {
        size_t times[64] = {0};
        assert_true(*files[k].n <= 64);
        assert_ptr_equal(files[k].list[0], files[k].whole);
        count_reached(k, files[k].whole, times);
        for (size_t i = 0; i < *files[k].n; i++)
            assert_true(times[i] > 0);
    }
}

/* The first key of a layer tells its kind; the checker and the builder rely on it. */
static void layers_are_told_by_their_first_key(void **state)
{
    (void)state;
    static const char *const keys[] = {"mass",   "panel",    "air",        "porous", "screen",
                                       "lumped", "granular", "perforated", "slits"};
    for (size_t i = 0; i < EBB_ROOM_LAYER_FORMS; i++) {
        assert_int_equal(ebb_room_layer_kind(&ebb_room_layer_forms[i]), i);
        assert_string_equal(ebb_room_layer_forms[i].rules[0].key, keys[i]);
        assert_true(ebb_room_layer_forms[i].rules[0].required);
    }
}

static void ranges_in_words(void **state)
{
    (void)state;
    char out[80];
    const ebb_room_rule length = {.quantity = EBB_Q_LENGTH, .low = 0.001, .high = 40};
    assert_string_equal(ebb_room_range(&length, out, sizeof out), "from 0.001 m to 40 m");
    const ebb_room_rule share = {.quantity = EBB_Q_FRACTION, .low = 0.5, .high = 1};
    assert_string_equal(ebb_room_range(&share, out, sizeof out), "from 50 % to 100 %");
    const ebb_room_rule number = {.quantity = EBB_Q_NUMBER, .low = -1, .high = 1e6};
    assert_string_equal(ebb_room_range(&number, out, sizeof out), "from -1 to 1000000");
}

static void check_range(const ebb_room_rule *rule)
{
    char range[80], low[40], high[40];
    double value;
    if (!has_range(rule))
        return;
    ebb_room_range(rule, range, sizeof range);
    assert_int_equal(sscanf(range, "from %39[^t]to %39[^\n]", low, high), 2);
    assert_true(ebb_quantity_parse(rule->quantity, low, strlen(low), &value, NULL, 0));
    assert_near(value, rule->low);
    assert_true(ebb_quantity_parse(rule->quantity, high, strlen(high), &value, NULL, 0));
    assert_near(value, rule->high);
}

/* The unit in which a range is told is one that the key itself accepts. */
static void ranges_can_be_written_back(void **state)
{
    (void)state;
    for (size_t k = 0; k < FILES; k++)
        for (size_t i = 0; i < *files[k].n; i++)
            for (size_t j = 0; j < files[k].list[i]->n; j++)
                check_range(&files[k].list[i]->rules[j]);
}

static void words_with_numbers(void **state)
{
    (void)state;
    static const char *const good[] = {"wall_1", "wall_9", "wall_10", "wall_99"};
    static const char *const bad[] = {"wall_0",  "wall_01", "wall_100", "wall_", "wall_N",
                                      "wall_1x", "wal_1",   "Wall_1",   ""};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++)
        assert_true(ebb_room_fits("wall_N", good[i], strlen(good[i])));
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_false(ebb_room_fits("wall_N", bad[i], strlen(bad[i])));
    assert_true(ebb_room_fits("column_N_N", "column_2_14", 11));
    assert_true(ebb_room_fits("body_N_front", "body_12_front", 13));
    assert_false(ebb_room_fits("wall_N", "wall_12", 5)); /* the length counts */
    assert_true(ebb_room_fits("walls", "walls", 5));
    assert_true(ebb_room_is_numbered("wall_N") && !ebb_room_is_numbered("walls"));
}

static void what_is_accepted_in_words(void **state)
{
    fixture *f = *state;
    ebb_arena *arena = ebb_arena_new(f->ctx);
    static const char *const words[] = {"rigid", "room", NULL};
    const ebb_room_rule choice = {.kind = EBB_ROOM_CHOICE, .words = words};
    assert_string_equal(ebb_room_accepts(arena, &choice), "one of rigid, room");
    const ebb_room_rule hangs = {.kind = EBB_ROOM_CHOICES, .words = words, .least = 1, .most = 2};
    assert_string_equal(ebb_room_accepts(arena, &hangs), "a list of 1 to 2 of rigid, room");
    const ebb_room_rule note = {.kind = EBB_ROOM_NOTE, .most = 9};
    assert_string_equal(ebb_room_accepts(arena, &note), "a text of at most 9 characters");
    const ebb_room_rule pair = {.kind = EBB_ROOM_VECTOR,
                                .quantity = EBB_Q_LEVEL,
                                .low = 1,
                                .high = 2,
                                .least = 2,
                                .most = 2};
    assert_string_equal(ebb_room_accepts(arena, &pair),
                        "a list of 2 values, each a level such as \"3 dB\", from 1 dB to 2 dB");
    const ebb_room_rule columns = {.kind = EBB_ROOM_OUTLINES,
                                   .quantity = EBB_Q_LEVEL,
                                   .most = 5,
                                   .width = 3,
                                   .points = {3, 4}};
    assert_string_equal(ebb_room_accepts(arena, &columns),
                        "a list of at most 5 lists of 3 to 4 points [x, y, z], each coordinate a "
                        "level such as \"3 dB\"");
    ebb_arena_free(arena);
    assert_null(ebb_room_accepts(NULL, &columns));
    assert_null(ebb_room_accepts(NULL, &choice)); /* out of memory */
    assert_null(ebb_room_accepts(NULL, &hangs));
    assert_null(ebb_room_accepts(NULL, &pair));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_rule_is_complete),
        cmocka_unit_test(the_lists_of_forms_are_complete),
        cmocka_unit_test(layers_are_told_by_their_first_key),
        cmocka_unit_test(ranges_in_words),
        cmocka_unit_test(ranges_can_be_written_back),
        cmocka_unit_test(words_with_numbers),
        TEST(what_is_accepted_in_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
