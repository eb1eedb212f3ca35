/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Lists of values that are no mappings: quantities, points, curves, choices, names. */
#include "check.h"

#include <string.h>

/* Reads the items of a list node into number[0..n). */
static bool read_items(ebb_room_checker *checker, const yaml_node_t *node,
                       const ebb_room_rule *rule, const char *path, double *number)
{
    /* Messages tell what one value may be, not what the list may be. */
    ebb_room_rule one = *rule;
    one.kind = EBB_ROOM_QUANTITY;
    bool good = true;
    for (size_t i = 0; i < ebb_room_items(node); i++) {
        const yaml_node_t *item = ebb_room_item(checker, node, i);
        const ebb_place place = ebb_room_item_place(checker, item, path, i);
        good = ebb_room_read_quantity(checker, item, &one, &place, &number[i]) && good;
    }
    return good;
}

/* [least, most] the wrong way round is a slip that nothing later would notice. */
static bool check_vector(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    const size_t n = ebb_room_items(node);
    field->number = ebb_room_alloc(checker->reader, n, sizeof *field->number);
    if (field->number == NULL)
        return false;
    field->n = n;
    if (!read_items(checker, node, field->rule, field->place.key, field->number))
        return false;
    if (field->rule->kind != EBB_ROOM_SPAN || field->number[0] <= field->number[1])
        return true;
    ebb_room_fault(checker->reader, &field->place, "the first must not be the larger one");
    return false;
}

/* ---- lists of pairs -------------------------------------------------------------------------- */

/* Coordinates of a point, or the two values of a pair. */
static size_t width_of(const ebb_room_rule *rule)
{
    return rule->width > 0 ? rule->width : 2;
}

/* An item as a pair or point; false with a fault when it is none. */
static bool read_pair(ebb_room_checker *checker, const yaml_node_t *item, ebb_room_field *pair,
                      const ebb_room_rule *first, double *number)
{
    if (!ebb_room_visit(checker, &pair->place))
        return false;
    if (item->type != YAML_SEQUENCE_NODE) {
        ebb_room_wrong_shape(checker, item, pair->rule, &pair->place);
        return false;
    }
    if (!ebb_room_right_count(checker, ebb_room_items(item), pair->rule, &pair->place))
        return false;
    bool good = true;
    for (size_t k = 0; k < pair->rule->most; k++) {
        const yaml_node_t *node = ebb_room_item(checker, item, k);
        const ebb_place place = ebb_room_item_place(checker, node, pair->place.key, k);
        const ebb_room_rule *rule = k == 0 ? first : first + 1;
        good = ebb_room_read_quantity(checker, node, rule, &place, &number[k]) && good;
    }
    return good;
}

/* Frequencies that rise leave no doubt about what holds between two of them. */
static bool is_rising(ebb_room_checker *checker, const ebb_room_field *field, size_t i,
                      const ebb_place *place)
{
    if (i == 0 || field->number[2 * i] > field->number[2 * i - 2])
        return true;
    ebb_room_fault(checker->reader, place, "frequencies must rise: %g Hz does not come after %g Hz",
                   field->number[2 * i], field->number[2 * i - 2]);
    return false;
}

/* Points and curves are lists in a list; each item is checked by itself, so that its own place is
 * told. */
static bool check_pairs(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    const bool curve = field->rule->kind == EBB_ROOM_CURVE;
    ebb_room_rule rules[2] = {*field->rule, *field->rule};
    rules[0].kind = rules[1].kind = EBB_ROOM_QUANTITY;
    if (curve) {
        rules[0].quantity = EBB_Q_FREQUENCY;
        rules[0].low = EBB_ROOM_CURVE_LOW;
        rules[0].high = EBB_ROOM_CURVE_HIGH;
    }
    ebb_room_rule pair = *field->rule;
    pair.kind = curve ? EBB_ROOM_PAIR : EBB_ROOM_VECTOR;
    pair.least = pair.most = width_of(&pair);
    field->n = ebb_room_items(node);
    field->number = ebb_room_alloc(checker->reader, pair.most * field->n, sizeof *field->number);
    if (field->number == NULL)
        return false;
    bool good = true, before = false;
    for (size_t i = 0; i < field->n; i++) {
        const yaml_node_t *item = ebb_room_item(checker, node, i);
        ebb_room_field one = {.rule = &pair,
                              .place = ebb_room_item_place(checker, item, field->place.key, i)};
        const bool whole = read_pair(checker, item, &one, rules, &field->number[pair.most * i]);
        if (curve && whole && before)
            good = is_rising(checker, field, i, &one.place) && good;
        good = whole && good;
        before = whole;
    }
    return good;
}

/* Each outline is a list of points of its own. */
static bool check_outlines(ebb_room_checker *checker, const yaml_node_t *node,
                           ebb_room_field *field)
{
    ebb_room_rule *one = ebb_room_alloc(checker->reader, 1, sizeof *one);
    field->n = ebb_room_items(node);
    field->item = ebb_room_alloc(checker->reader, field->n, sizeof *field->item);
    if (one == NULL || field->item == NULL)
        return false;
    *one = *field->rule;
    one->kind = EBB_ROOM_POINTS;
    one->least = one->points[0];
    one->most = one->points[1];
    bool good = true;
    for (size_t i = 0; i < field->n; i++) {
        const yaml_node_t *outline = ebb_room_item(checker, node, i);
        ebb_room_field *item = &field->item[i];
        *item = (ebb_room_field){
            .rule = one, .place = ebb_room_item_place(checker, outline, field->place.key, i)};
        if (ebb_room_visit(checker, &item->place))
            ebb_room_check_items(checker, outline, item);
        good = item->good && good;
    }
    return good;
}

/* ---- lists of words -------------------------------------------------------------------------- */

static bool check_choices(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    const ebb_room_rule one = {.kind = EBB_ROOM_CHOICE, .words = field->rule->words};
    bool good = true;
    for (size_t i = 0; i < ebb_room_items(node); i++) {
        const yaml_node_t *item = ebb_room_item(checker, node, i);
        const ebb_place place = ebb_room_item_place(checker, item, field->place.key, i);
        size_t index = 0;
        if (!ebb_room_read_word(checker, item, &one, &place, &index)) {
            good = false;
            continue;
        }
        if (field->word & ((size_t)1 << index))
            ebb_room_fault(checker->reader, &place, "\"%s\" is given twice", one.words[index]);
        field->word |= (size_t)1 << index;
    }
    return good;
}

/* Names keep their places, because only the builder knows whether there are such things. */
static bool check_names(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    static const ebb_room_rule rule = {.kind = EBB_ROOM_NAME, .least = 1, .most = 60};
    ebb_room_reader *reader = checker->reader;
    field->n = ebb_room_items(node);
    field->item = ebb_room_alloc(reader, field->n, sizeof *field->item);
    if (field->item == NULL)
        return false;
    bool good = true;
    for (size_t i = 0; i < field->n; i++) {
        const yaml_node_t *node_i = ebb_room_item(checker, node, i);
        ebb_room_field *item = &field->item[i];
        *item = (ebb_room_field){
            .rule = &rule, .place = ebb_room_item_place(checker, node_i, field->place.key, i)};
        if (ebb_room_visit(checker, &item->place))
            ebb_room_check_text(checker, node_i, item);
        good = item->good && good;
        for (size_t j = 0; j < i && item->good; j++)
            if (field->item[j].good && strcmp(field->item[j].text, item->text) == 0)
                ebb_room_fault(reader, &item->place, "\"%s\" is given twice", item->text);
    }
    return good;
}

void ebb_room_check_items(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (node->type != YAML_SEQUENCE_NODE) {
        ebb_room_wrong_shape(checker, node, field->rule, &field->place);
        return;
    }
    if (!ebb_room_right_count(checker, ebb_room_items(node), field->rule, &field->place))
        return;
    switch (field->rule->kind) {
    case EBB_ROOM_POINTS:
    case EBB_ROOM_CURVE:
        field->good = check_pairs(checker, node, field);
        break;
    case EBB_ROOM_OUTLINES:
        field->good = check_outlines(checker, node, field);
        break;
    case EBB_ROOM_CHOICES:
        field->good = check_choices(checker, node, field);
        break;
    case EBB_ROOM_NAMES:
        field->good = check_names(checker, node, field);
        break;
    default:
        field->good = check_vector(checker, node, field);
    }
}
