/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Mappings inside values: single ones, lists of them, and mappings from names to them. */
#include "check.h"

#include <string.h>

static void check_form(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (node->type != YAML_MAPPING_NODE) {
        ebb_room_wrong_shape(checker, node, field->rule, &field->place);
        return;
    }
    field->record = ebb_room_alloc(checker->reader, 1, sizeof *field->record);
    if (field->record == NULL)
        return;
    field->n = 1;
    ebb_room_check_mapping(checker, field->rule->form, node, &field->place, field->record);
    field->good = true;
}

/* Does the mapping have this key? */
static bool has_key(ebb_room_checker *checker, const yaml_node_t *node, const char *key)
{
    const yaml_node_pair_t *pair = node->data.mapping.pairs.start;
    for (; pair < node->data.mapping.pairs.top; pair++) {
        const yaml_node_t *k = yaml_document_get_node(checker->document, pair->key);
        if (k->type == YAML_SCALAR_NODE && strcmp(ebb_room_key_text(k), key) == 0)
            return true;
    }
    return false;
}

static bool form_has(const ebb_room_form *form, const char *key)
{
    for (size_t i = 0; i < form->n; i++)
        if (strcmp(form->rules[i].key, key) == 0)
            return true;
    return false;
}

/* The form whose own key (its first) is in the mapping. A key that belongs to two forms, as the
 * mass of a screen, is no sign of the other form. NULL: none, or several. */
static const ebb_room_form *tell_form(ebb_room_checker *checker, const yaml_node_t *node,
                                      const ebb_room_rule *rule)
{
    const ebb_room_form *told = NULL;
    for (size_t i = 0; i < rule->n_forms; i++) {
        const ebb_room_form *form = &rule->form[i];
        bool fits = has_key(checker, node, form->rules[0].key);
        for (size_t j = 0; j < rule->n_forms && fits; j++) {
            const char *other = rule->form[j].rules[0].key;
            fits = !has_key(checker, node, other) || form_has(form, other);
        }
        if (fits && told != NULL)
            return NULL;
        if (fits)
            told = form;
    }
    return told;
}

/* The first key written is most likely the misspelt kind. */
static void untold_form(ebb_room_checker *checker, const yaml_node_t *node,
                        const ebb_room_rule *rule, const ebb_place *place)
{
    ebb_room_reader *reader = checker->reader;
    ebb_room_rule one = *rule;
    one.kind = EBB_ROOM_FORM;
    const char *accepts = ebb_room_accepts(reader->arena, &one);
    const yaml_node_pair_t *first = node->data.mapping.pairs.start;
    const yaml_node_t *key = first < node->data.mapping.pairs.top
                                 ? yaml_document_get_node(checker->document, first->key)
                                 : NULL;
    if (accepts == NULL) {
        ebb_room_nomem(reader);
        return;
    }
    ebb_room_guess guess;
    ebb_room_guess_start(
        &guess, key != NULL && key->type == YAML_SCALAR_NODE ? ebb_room_key_text(key) : "");
    for (size_t i = 0; i < rule->n_forms; i++)
        ebb_room_guess_try(&guess, rule->form[i].rules[0].key);
    if (guess.best != NULL && guess.distance > 0)
        ebb_room_fault(reader, place, "no such kind of layer: %s; did you mean \"%s\"?",
                       ebb_room_quote(reader, ebb_room_key_text(key), key->data.scalar.length),
                       guess.best);
    else
        ebb_room_fault(reader, place, "the kind of layer is not clear; accepted is %s", accepts);
}

static void check_item(ebb_room_checker *checker, const yaml_node_t *node,
                       const ebb_room_rule *rule, const ebb_place *place, ebb_room_record *record)
{
    *record = (ebb_room_record){.form = NULL, .place = *place};
    if (!ebb_room_visit(checker, place))
        return;
    if (node->type != YAML_MAPPING_NODE) {
        ebb_room_rule one = *rule;
        one.kind = EBB_ROOM_FORM;
        ebb_room_wrong_shape(checker, node, &one, place);
        return;
    }
    const ebb_room_form *form =
        rule->kind == EBB_ROOM_KINDS_OF ? tell_form(checker, node, rule) : rule->form;
    if (form == NULL)
        untold_form(checker, node, rule, place);
    else
        ebb_room_check_mapping(checker, form, node, place, record);
}

/* A list of the wrong length is not looked into: its items would need as many messages. */
static void check_list(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (node->type != YAML_SEQUENCE_NODE) {
        ebb_room_wrong_shape(checker, node, field->rule, &field->place);
        return;
    }
    const size_t n = ebb_room_items(node);
    if (!ebb_room_right_count(checker, n, field->rule, &field->place))
        return;
    field->record = ebb_room_alloc(checker->reader, n, sizeof *field->record);
    if (field->record == NULL)
        return;
    field->n = n;
    for (size_t i = 0; i < n; i++) {
        const yaml_node_t *item = ebb_room_item(checker, node, i);
        const ebb_place place = ebb_room_item_place(checker, item, field->place.key, i);
        check_item(checker, item, field->rule, &place, &field->record[i]);
    }
    field->good = true;
}

/* ---- names ----------------------------------------------------------------------------------- */

#define LONGEST_NAME 60

/* The name of an entry, unless it is faulty. A name given twice is told, and both entries are
 * checked: either may hold faults of its own. */
static const char *check_name(ebb_room_checker *checker, const yaml_node_t *key,
                              const ebb_room_field *field, size_t n_before)
{
    ebb_room_reader *reader = checker->reader;
    ebb_room_field name = {
        .rule = &(const ebb_room_rule){.kind = EBB_ROOM_NAME, .least = 1, .most = LONGEST_NAME},
        .place = ebb_room_node_place(checker, key, NULL, "")};
    name.place.key = field->place.key;
    ebb_room_check_leaf(checker, key, &name);
    if (!name.good)
        return NULL;
    for (size_t i = 0; i < n_before; i++)
        if (field->record[i].name != NULL && strcmp(field->record[i].name, name.text) == 0)
            ebb_room_fault(reader, &name.place, "\"%s\" is given twice; the first is in line %d",
                           name.text, field->record[i].place.line);
    return name.text;
}

static void check_named(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (node->type != YAML_MAPPING_NODE) {
        ebb_room_wrong_shape(checker, node, field->rule, &field->place);
        return;
    }
    const yaml_node_pair_t *pair = node->data.mapping.pairs.start;
    const size_t n = (size_t)(node->data.mapping.pairs.top - pair);
    if (!ebb_room_right_count(checker, n, field->rule, &field->place))
        return;
    field->record = ebb_room_alloc(checker->reader, n, sizeof *field->record);
    if (field->record == NULL)
        return;
    for (size_t i = 0; i < n; i++, pair++) {
        const yaml_node_t *key = yaml_document_get_node(checker->document, pair->key);
        const yaml_node_t *value = yaml_document_get_node(checker->document, pair->value);
        if (!ebb_room_is_usable_key(checker, key, &field->place))
            continue;
        const char *name = check_name(checker, key, field, field->n);
        if (name == NULL)
            continue;
        ebb_room_record *record = &field->record[field->n++];
        const ebb_place place = ebb_room_node_place(checker, value, field->place.key, name);
        check_item(checker, value, field->rule, &place, record);
        record->name = name;
    }
    field->good = true;
}

/* The one place where a rule decides what is done with a value. */
void ebb_room_check_value(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (!ebb_room_visit(checker, &field->place))
        return;
    switch (field->rule->kind) {
    case EBB_ROOM_FORM:
        check_form(checker, node, field);
        break;
    case EBB_ROOM_FORMS:
    case EBB_ROOM_KINDS_OF:
        check_list(checker, node, field);
        break;
    case EBB_ROOM_NAMED:
        check_named(checker, node, field);
        break;
    case EBB_ROOM_HEIGHTS:
    case EBB_ROOM_ADMITTANCE:
        if (node->type == YAML_MAPPING_NODE) {
            check_form(checker, node, field);
            break;
        }
        /* fall through */
    default:
        ebb_room_check_leaf(checker, node, field);
    }
}
