/* SPDX-License-Identifier: GPL-3.0-or-later */
/* One mapping against its form. */
#include "check.h"

#include <string.h>

/* Aliases make it possible to write a large file in a few lines; this many values are looked at. */
#define MOST_VISITED 20000

ebb_place ebb_room_node_place(ebb_room_checker *checker, const yaml_node_t *node,
                              const char *parent, const char *key)
{
    return ebb_room_place(checker->reader, parent, key, (int)node->start_mark.line + 1,
                          (int)node->start_mark.column + 1);
}

/* Items have no key of their own in the file; their number, from 0, finds them in a list. */
ebb_place ebb_room_item_place(ebb_room_checker *checker, const yaml_node_t *node,
                              const char *parent, size_t i)
{
    const char *index = ebb_room_format(checker->reader, "[%zu]", i);
    return ebb_room_node_place(checker, node, parent, index != NULL ? index : "[]");
}

const yaml_node_t *ebb_room_item(ebb_room_checker *checker, const yaml_node_t *list, size_t i)
{
    return yaml_document_get_node(checker->document, list->data.sequence.items.start[i]);
}

size_t ebb_room_items(const yaml_node_t *list)
{
    return (size_t)(list->data.sequence.items.top - list->data.sequence.items.start);
}

/* In quotation marks "null" is a text like any other: somebody may call a room so. */
bool ebb_room_is_empty(const yaml_node_t *node)
{
    if (node->type != YAML_SCALAR_NODE || node->data.scalar.style != YAML_PLAIN_SCALAR_STYLE)
        return false;
    const char *text = (const char *)node->data.scalar.value;
    return text[0] == '\0' || strcmp(text, "~") == 0 || strcmp(text, "null") == 0;
}

/* Shapes we may support one day (other plans, sloped ceilings) get the rule's own text: there the
 * user made no slip, and must hear that it is the program that cannot do it. */
void ebb_room_wrong_shape(ebb_room_checker *checker, const yaml_node_t *node,
                          const ebb_room_rule *rule, const ebb_place *place)
{
    ebb_room_reader *reader = checker->reader;
    const char *found = "a mapping";
    if (ebb_room_is_empty(node))
        found = "no value";
    else if (node->type == YAML_SCALAR_NODE)
        found =
            ebb_room_quote(reader, (const char *)node->data.scalar.value, node->data.scalar.length);
    else if (node->type == YAML_SEQUENCE_NODE)
        found = "a list";
    const char *accepts = ebb_room_accepts(reader->arena, rule);
    if (accepts == NULL)
        ebb_room_nomem(reader);
    else if (rule->instead != NULL && node->type != YAML_SCALAR_NODE)
        ebb_room_fault(reader, place, "%s; accepted is %s", rule->instead, accepts);
    else
        ebb_room_fault(reader, place, "found %s; accepted is %s", found, accepts);
}

/* One entry too many is most often a decimal comma, which YAML takes for the end of a value. */
bool ebb_room_right_count(ebb_room_checker *checker, size_t n, const ebb_room_rule *rule,
                          const ebb_place *place)
{
    const char *hint = rule->kind == EBB_ROOM_VECTOR || rule->kind == EBB_ROOM_PAIR
                           ? " (a comma separates values; the decimal point is \".\")"
                           : "";
    if (n >= rule->least && n <= rule->most)
        return true;
    const char *accepts = ebb_room_accepts(checker->reader->arena, rule);
    if (accepts == NULL)
        ebb_room_nomem(checker->reader);
    else
        ebb_room_fault(checker->reader, place, "found %zu entr%s%s; accepted is %s", n,
                       n == 1 ? "y" : "ies", n > rule->most ? hint : "", accepts);
    return false;
}

/* The parser keeps an aliased value once, the checker goes through it wherever it is used: a list
 * of aliases to lists of aliases would keep it busy for ever. Sets the status, which ends all
 * loops. */
bool ebb_room_visit(ebb_room_checker *checker, const ebb_place *place)
{
    ebb_room_reader *reader = checker->reader;
    if (reader->status != EBB_OK)
        return false;
    if (++reader->visited <= MOST_VISITED)
        return true;
    ebb_room_fault(reader, place, "more than %d values when aliases are followed", MOST_VISITED);
    reader->status = EBB_E_INPUT;
    return false;
}

/* ---- one mapping ----------------------------------------------------------------------------- */

const char *ebb_room_key_text(const yaml_node_t *key)
{
    return (const char *)key->data.scalar.value;
}

static bool is_merge_key(const yaml_node_t *key)
{
    return key->type == YAML_SCALAR_NODE && strcmp(ebb_room_key_text(key), "<<") == 0;
}

/* Faults of a key as such: not a word, or the merge key of YAML 1.1. */
bool ebb_room_is_usable_key(ebb_room_checker *checker, const yaml_node_t *key,
                            const ebb_place *place)
{
    const ebb_place at = ebb_room_node_place(checker, key, NULL, "");
    const ebb_place shown = {at.file, at.line, at.column, place->key};
    if (key->type != YAML_SCALAR_NODE) {
        ebb_room_fault(checker->reader, &shown,
                       "a key must be a plain word, not a list or mapping");
        return false;
    }
    if (is_merge_key(key)) {
        ebb_room_fault(checker->reader, &shown,
                       "merge keys (\"<<\") are not supported; write the keys out");
        return false;
    }
    return true;
}

/* Records an unknown key. The one it was meant to be, if that is clear, is not called missing. */
static void unknown_key(ebb_room_checker *checker, const yaml_node_t *key, ebb_room_record *record)
{
    ebb_room_reader *reader = checker->reader;
    const ebb_room_form *form = record->form;
    const size_t length = key->data.scalar.length;
    const char *clean = ebb_room_clean(reader, ebb_room_key_text(key), length);
    const ebb_place place = ebb_room_node_place(checker, key, record->place.key, clean);
    ebb_room_guess guess;
    ebb_room_guess_start(&guess, ebb_room_key_text(key));
    const char *list = "";
    for (size_t i = 0; i < form->n && list != NULL; i++) {
        const char *like = form->rules[i].key;
        if (ebb_room_is_numbered(like))
            like = ebb_room_like(reader, like, ebb_room_key_text(key));
        ebb_room_guess_try(&guess, like);
        list = ebb_room_format(reader, "%s%s%s", list, i > 0 ? ", " : "", form->rules[i].key);
    }
    for (size_t i = 0; i < form->n; i++)
        record->field[i].meant |= guess.best == form->rules[i].key;
    if (guess.best != NULL)
        ebb_room_fault(reader, &place, "unknown key \"%s\"; did you mean \"%s\"?", clean,
                       guess.best);
    else if (list != NULL)
        ebb_room_fault(reader, &place, "unknown key \"%s\"; accepted are %s", clean, list);
}

static void given_twice(ebb_room_checker *checker, const yaml_node_t *key,
                        const ebb_room_record *record, const char *name,
                        const ebb_room_field *field)
{
    const ebb_place place = ebb_room_node_place(checker, key, record->place.key, name);
    ebb_room_fault(checker->reader, &place, "the key is given twice; the first is in line %d",
                   field->place.line);
}

/* A new field for a key that fits a rule with numbers; NULL with a fault when it is there. */
static ebb_room_field *numbered_field(ebb_room_checker *checker, const yaml_node_t *key,
                                      const ebb_room_rule *rule, ebb_room_record *record)
{
    for (ebb_room_numbered *n = record->numbered; n != NULL; n = n->next)
        if (strcmp(n->key, ebb_room_key_text(key)) == 0) {
            given_twice(checker, key, record, n->key, &n->field);
            return NULL;
        }
    ebb_room_numbered *new = ebb_room_alloc(checker->reader, 1, sizeof *new);
    const char *name = ebb_room_format(checker->reader, "%s", ebb_room_key_text(key));
    if (new == NULL || name == NULL)
        return NULL;
    *new = (ebb_room_numbered){record->numbered, name, {.rule = rule}};
    record->numbered = new;
    return &new->field;
}

/* The field of a key that is in the form and not given before; NULL with a fault otherwise. */
static ebb_room_field *find_field(ebb_room_checker *checker, const yaml_node_t *key,
                                  ebb_room_record *record)
{
    const ebb_room_form *form = record->form;
    for (size_t i = 0; i < form->n; i++) {
        ebb_room_field *field = &record->field[i];
        if (ebb_room_is_numbered(form->rules[i].key) &&
            ebb_room_fits(form->rules[i].key, ebb_room_key_text(key), key->data.scalar.length))
            return numbered_field(checker, key, &form->rules[i], record);
        if (strcmp(form->rules[i].key, ebb_room_key_text(key)) != 0 ||
            strlen(form->rules[i].key) != key->data.scalar.length)
            continue;
        if (!field->given)
            return field;
        given_twice(checker, key, record, form->rules[i].key, field);
        return NULL;
    }
    unknown_key(checker, key, record);
    return NULL;
}

/* The place is that of the mapping: where the key should have been. */
void ebb_room_missing(ebb_room_reader *reader, const ebb_room_record *record,
                      const ebb_room_rule *rule)
{
    const ebb_place place = ebb_room_place(reader, record->place.key, rule->key, record->place.line,
                                           record->place.column);
    const char *accepts = ebb_room_accepts(reader->arena, rule);
    if (accepts == NULL)
        ebb_room_nomem(reader);
    else
        ebb_room_fault(reader, &place, "the key is missing (%s); accepted is %s", rule->meaning,
                       accepts);
}

static void check_missing(ebb_room_checker *checker, const ebb_room_record *record)
{
    for (size_t i = 0; i < record->form->n; i++) {
        const ebb_room_field *field = &record->field[i];
        if (field->rule->required && !field->given && !field->meant)
            ebb_room_missing(checker->reader, record, field->rule);
    }
}

/* One key and its value. */
static void check_pair(ebb_room_checker *checker, const yaml_node_pair_t *pair,
                       ebb_room_record *record)
{
    const yaml_node_t *key = yaml_document_get_node(checker->document, pair->key);
    const yaml_node_t *value = yaml_document_get_node(checker->document, pair->value);
    /* What a merge key would bring in is not known: nothing is called missing then. */
    for (size_t i = 0; is_merge_key(key) && i < record->form->n; i++)
        record->field[i].meant = true;
    if (!ebb_room_is_usable_key(checker, key, &record->place))
        return;
    ebb_room_field *field = find_field(checker, key, record);
    if (field == NULL)
        return;
    field->given = true;
    const char *name = field->rule->key;
    if (ebb_room_is_numbered(name))
        name = record->numbered->key;
    field->place = ebb_room_node_place(checker, value, record->place.key, name);
    ebb_room_check_value(checker, value, field);
}

void ebb_room_check_mapping(ebb_room_checker *checker, const ebb_room_form *form,
                            const yaml_node_t *node, const ebb_place *place,
                            ebb_room_record *record)
{
    *record = (ebb_room_record){.form = form, .place = *place};
    record->field = ebb_room_alloc(checker->reader, form->n, sizeof *record->field);
    if (record->field == NULL)
        return;
    for (size_t i = 0; i < form->n; i++)
        record->field[i].rule = &form->rules[i];
    const yaml_node_pair_t *pair = node->data.mapping.pairs.start;
    for (; pair < node->data.mapping.pairs.top && checker->reader->status == EBB_OK; pair++)
        check_pair(checker, pair, record);
    if (checker->reader->status == EBB_OK)
        check_missing(checker, record);
}
