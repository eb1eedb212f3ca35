/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The JSON Schema: valid JSON that says what the tables say. */
#include "shelf.h"

#include "../../src/room/form.h"

#include <jansson.h>

/* The two files and their schemas. */
static const struct {
    ebb_status (*make)(ebb_ctx *ctx, ebb_arena *arena, const char **text);
    const char *root;
    const ebb_room_form_list *list;
    const size_t *n;
} files[] = {
    {ebb_job_schema, "#/$defs/job", ebb_room_job_forms, &ebb_room_n_job_forms},
    {ebb_library_schema, "#/$defs/library", ebb_room_library_forms, &ebb_room_n_library_forms},
};
#define FILES (sizeof files / sizeof files[0])

static json_t *schema(fixture *f, size_t file)
{
    ebb_arena *arena = ebb_arena_new(f->ctx);
    const char *text;
    assert_int_equal(files[file].make(f->ctx, arena, &text), EBB_OK);
    json_error_t error;
    json_t *root = json_loads(text, JSON_REJECT_DUPLICATES, &error);
    if (root == NULL)
        print_error("line %d: %s\n", error.line, error.text);
    assert_non_null(root);
    ebb_arena_free(arena);
    return root;
}

static const json_t *definition(const json_t *root, const char *id)
{
    const json_t *found = json_object_get(json_object_get(root, "$defs"), id);
    assert_non_null(found);
    return found;
}

static void they_name_draft_and_root(void **state)
{
    for (size_t k = 0; k < FILES; k++) {
        json_t *root = schema(*state, k);
        assert_string_equal(json_string_value(json_object_get(root, "$schema")),
                            "https://json-schema.org/draft/2020-12/schema");
        assert_string_equal(json_string_value(json_object_get(root, "$ref")), files[k].root);
        assert_int_equal(json_object_size(json_object_get(root, "$defs")), *files[k].n);
        json_decref(root);
    }
}

static bool holds(const json_t *array, const char *text)
{
    for (size_t i = 0; i < json_array_size(array); i++)
        if (strcmp(json_string_value(json_array_get(array, i)), text) == 0)
            return true;
    return false;
}

/* The pattern of a key with numbers: its text up to the first of them is enough to find it. */
static const json_t *numbered(const json_t *patterns, const char *key)
{
    const char *pattern;
    json_t *value;
    const size_t length = strcspn(key, "N");
    const char *end = strrchr(key, '_');
    json_object_foreach((json_t *)patterns, pattern, value)
    {
        const bool starts = pattern[0] == '^' && strncmp(pattern + 1, key, length) == 0;
        const bool ends = strcmp(end, "_N") == 0 || strstr(pattern, end) != NULL;
        if (starts && ends && strstr(pattern, "[1-9][0-9]?") == pattern + 1 + length)
            return value;
    }
    return NULL;
}

static void check_definition(const json_t *d, const ebb_room_form *form)
{
    const json_t *properties = json_object_get(d, "properties");
    const json_t *required = json_object_get(d, "required");
    size_t needed = 0;
    assert_string_equal(json_string_value(json_object_get(d, "type")), "object");
    assert_true(json_is_false(json_object_get(d, "additionalProperties")));
    const json_t *patterns = json_object_get(d, "patternProperties");
    assert_int_equal(json_object_size(properties) + json_object_size(patterns), form->n);
    for (size_t k = 0; k < form->n; k++) {
        const ebb_room_rule *rule = &form->rules[k];
        const json_t *p = ebb_room_is_numbered(rule->key) ? numbered(patterns, rule->key)
                                                          : json_object_get(properties, rule->key);
        const char *about = json_string_value(json_object_get(p, "description"));
        assert_non_null(about);
        assert_non_null(strstr(about, rule->meaning));
        assert_true(json_object_size(p) > 1); /* and a type of some sort */
        assert_int_equal(holds(required, rule->key), rule->required);
        needed += rule->required;
    }
    assert_int_equal(json_array_size(required), needed);
}

static void keys_and_needs_are_those_of_the_tables(void **state)
{
    for (size_t k = 0; k < FILES; k++) {
        json_t *root = schema(*state, k);
        for (size_t i = 0; i < *files[k].n; i++)
            check_definition(definition(root, files[k].list[i]->id), files[k].list[i]);
        json_decref(root);
    }
}

/* Every reference leads somewhere, and every definition is referred to. */
static void follow(const json_t *root, const json_t *value, json_t *seen)
{
    const char *key;
    json_t *part;
    size_t i;
    if (json_is_array(value))
        json_array_foreach(value, i, part) follow(root, part, seen);
    if (!json_is_object(value))
        return;
    json_object_foreach((json_t *)value, key, part)
    {
        if (strcmp(key, "$ref") == 0) {
            const char *target = json_string_value(part);
            assert_int_equal(strncmp(target, "#/$defs/", 8), 0);
            (void)definition(root, target + 8);
            json_object_set_new(seen, target + 8, json_true());
        }
        follow(root, part, seen);
    }
}

static void references_lead_somewhere(void **state)
{
    for (size_t k = 0; k < FILES; k++) {
        json_t *root = schema(*state, k), *seen = json_object();
        follow(root, root, seen);
        assert_int_equal(json_object_size(seen), *files[k].n);
        json_decref(seen);
        json_decref(root);
    }
}

static void choices_and_counts_are_there(void **state)
{
    json_t *root = schema(*state, 0);
    const json_t *use =
        json_object_get(json_object_get(definition(root, "job"), "properties"), "use");
    const json_t *words = json_object_get(json_array_get(json_object_get(use, "allOf"), 0), "enum");
    assert_int_equal(json_array_size(words), 2);
    assert_true(holds(words, "voice"));
    const json_t *size =
        json_object_get(json_object_get(definition(root, "room"), "properties"), "size");
    assert_int_equal(json_integer_value(json_object_get(size, "minItems")), 3);
    assert_int_equal(json_integer_value(json_object_get(size, "maxItems")), 3);
    const json_t *loss =
        json_object_get(json_object_get(definition(root, "layer_air"), "properties"), "loss");
    const json_t *number = json_array_get(json_object_get(loss, "allOf"), 0);
    assert_true(json_number_value(json_object_get(number, "maximum")) == 1);
    json_decref(root);
}

static const json_t *property(const json_t *root, const char *id, const char *key)
{
    return json_object_get(json_object_get(definition(root, id), "properties"), key);
}

static void curves_spans_and_names_are_there(void **state)
{
    json_t *root = schema(*state, 1);
    const json_t *curve = property(root, "target", "curve");
    const json_t *pair = json_object_get(json_object_get(curve, "items"), "prefixItems");
    assert_int_equal(json_array_size(pair), 2);
    assert_string_equal(json_string_value(json_object_get(json_array_get(pair, 0), "type")),
                        "string");
    assert_true(json_number_value(json_object_get(json_array_get(pair, 1), "maximum")) == 1);
    const json_t *depth = json_object_get(property(root, "target", "depth"), "anyOf");
    assert_int_equal(json_array_size(depth), 2);
    assert_int_equal(json_integer_value(json_object_get(json_array_get(depth, 1), "maxItems")), 2);
    const json_t *wools = property(root, "use", "wools");
    assert_true(json_is_true(json_object_get(wools, "uniqueItems")));
    assert_string_equal(json_string_value(json_object_get(json_object_get(wools, "items"), "type")),
                        "string");
    json_decref(root);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(they_name_draft_and_root),         TEST(keys_and_needs_are_those_of_the_tables),
        TEST(references_lead_somewhere),        TEST(choices_and_counts_are_there),
        TEST(curves_spans_and_names_are_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
