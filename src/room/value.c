/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values that are no mapping: texts, quantities and lists of them, choices. */
#include "check.h"

#include "material.h"

#include <string.h>

static const char *scalar(const yaml_node_t *node)
{
    return (const char *)node->data.scalar.value;
}

/* A scalar that is not empty; anything else is recorded as a fault. */
static bool is_value(ebb_room_checker *checker, const yaml_node_t *node, const ebb_room_rule *rule,
                     const ebb_place *place)
{
    if (node->type == YAML_SCALAR_NODE && !ebb_room_is_empty(node))
        return true;
    ebb_room_wrong_shape(checker, node, rule, place);
    return false;
}

/* "value: reason; accepted is ..." */
static void refuse(ebb_room_checker *checker, const yaml_node_t *node, const ebb_room_rule *rule,
                   const ebb_place *place, const char *why)
{
    ebb_room_reader *reader = checker->reader;
    const char *accepts = ebb_room_accepts(reader->arena, rule);
    const size_t length = strlen(why);
    const bool asks = length > 0 && why[length - 1] == '?';
    if (accepts == NULL)
        ebb_room_nomem(reader);
    else
        ebb_room_fault(reader, place, "%s: %s%s %s",
                       ebb_room_quote(reader, scalar(node), node->data.scalar.length), why,
                       asks ? " Accepted is" : "; accepted is", accepts);
}

/* ---- texts ----------------------------------------------------------------------------------- */

/* What is wrong with a text, or NULL. Line breaks and tabs are for notes only. */
static const char *text_fault(const ebb_room_rule *rule, const char *text, size_t length)
{
    size_t n = 0;
    for (size_t i = 0; i < length; n++) {
        const size_t bytes = ebb_room_char_length(text + i, length - i);
        const bool breaks = text[i] == '\n' || text[i] == '\t';
        if (ebb_room_is_control(text + i, bytes) && !(breaks && rule->kind == EBB_ROOM_NOTE))
            return breaks ? "it runs over several lines or holds tabs"
                          : "control characters are not accepted";
        i += bytes;
    }
    if (n < rule->least || n > rule->most)
        return n < rule->least ? "it is too short" : "it is too long";
    if (rule->kind != EBB_ROOM_NOTE && n > 0 && (text[0] == ' ' || text[length - 1] == ' '))
        return "it starts or ends with a blank";
    return NULL;
}

/* The text is copied out of the document, which is gone when the job is built. */
static void check_text(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (!is_value(checker, node, field->rule, &field->place))
        return;
    const size_t length = node->data.scalar.length;
    const char *why = text_fault(field->rule, scalar(node), length);
    if (why != NULL) {
        refuse(checker, node, field->rule, &field->place, why);
        return;
    }
    field->text = ebb_room_format(checker->reader, "%.*s", (int)length, scalar(node));
    field->good = field->text != NULL;
}

/* ---- quantities ------------------------------------------------------------------------------ */

/* The range is written so that NAN would fail, though the parser lets none through. */
static bool read_quantity(ebb_room_checker *checker, const yaml_node_t *node,
                          const ebb_room_rule *rule, const ebb_place *place, double *value)
{
    char why[160] = "";
    double number;
    if (!ebb_room_visit(checker, place) || !is_value(checker, node, rule, place))
        return false;
    if (!ebb_quantity_parse(rule->quantity, scalar(node), node->data.scalar.length, &number, why,
                            sizeof why)) {
        refuse(checker, node, rule, place, why);
        return false;
    }
    if (!(number >= rule->low && number <= rule->high)) {
        refuse(checker, node, rule, place, "out of range");
        return false;
    }
    *value = number;
    return true;
}

static void check_quantity(ebb_room_checker *checker, const yaml_node_t *node,
                           ebb_room_field *field)
{
    field->number = ebb_room_alloc(checker->reader, 1, sizeof *field->number);
    if (field->number == NULL)
        return;
    field->n = 1;
    field->good = read_quantity(checker, node, field->rule, &field->place, field->number);
}

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
        good = read_quantity(checker, item, &one, &place, &number[i]) && good;
    }
    return good;
}

static void check_vector(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (node->type != YAML_SEQUENCE_NODE) {
        ebb_room_wrong_shape(checker, node, field->rule, &field->place);
        return;
    }
    const size_t n = ebb_room_items(node);
    if (!ebb_room_right_count(checker, n, field->rule, &field->place))
        return;
    field->number = ebb_room_alloc(checker->reader, n, sizeof *field->number);
    if (field->number == NULL)
        return;
    field->n = n;
    field->good = read_items(checker, node, field->rule, field->place.key, field->number);
}

/* Points are lists in a list; each is checked as a list of two, so that its own place is told. */
static void check_points(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    const ebb_room_rule pair = {.kind = EBB_ROOM_VECTOR,
                                .quantity = field->rule->quantity,
                                .low = field->rule->low,
                                .high = field->rule->high,
                                .least = 2,
                                .most = 2};
    if (node->type != YAML_SEQUENCE_NODE) {
        ebb_room_wrong_shape(checker, node, field->rule, &field->place);
        return;
    }
    const size_t n = ebb_room_items(node);
    if (!ebb_room_right_count(checker, n, field->rule, &field->place))
        return;
    field->number = ebb_room_alloc(checker->reader, 2 * n, sizeof *field->number);
    if (field->number == NULL)
        return;
    field->n = n;
    field->good = true;
    for (size_t i = 0; i < n; i++) {
        const yaml_node_t *item = ebb_room_item(checker, node, i);
        ebb_room_field point = {.rule = &pair,
                                .place = ebb_room_item_place(checker, item, field->place.key, i)};
        check_vector(checker, item, &point);
        field->good = field->good && point.good;
        if (point.good)
            memcpy(field->number + 2 * i, point.number, 2 * sizeof *point.number);
    }
}

/* ---- choices --------------------------------------------------------------------------------- */

/* Case counts: accepting "Music" here would make "MUSIC" and "musik" questions of taste. The
 * suggestion ignores it, so the answer is at hand. */
static bool read_word(ebb_room_checker *checker, const yaml_node_t *node, const ebb_room_rule *rule,
                      const ebb_place *place, size_t *index)
{
    if (!is_value(checker, node, rule, place))
        return false;
    ebb_room_guess guess;
    ebb_room_guess_start(&guess, scalar(node));
    for (size_t i = 0; rule->words[i] != NULL; i++) {
        ebb_room_guess_try(&guess, rule->words[i]);
        if (strcmp(rule->words[i], scalar(node)) == 0) {
            *index = i;
            return true;
        }
    }
    const char *why = "not one of the choices";
    if (guess.best != NULL)
        why = ebb_room_format(checker->reader, "did you mean \"%s\"?", guess.best);
    if (why != NULL)
        refuse(checker, node, rule, place, why);
    return false;
}

static void check_choices(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (node->type != YAML_SEQUENCE_NODE) {
        ebb_room_wrong_shape(checker, node, field->rule, &field->place);
        return;
    }
    const ebb_room_rule one = {.kind = EBB_ROOM_CHOICE, .words = field->rule->words};
    const size_t n = ebb_room_items(node);
    if (!ebb_room_right_count(checker, n, field->rule, &field->place))
        return;
    field->good = true;
    for (size_t i = 0; i < n; i++) {
        const yaml_node_t *item = ebb_room_item(checker, node, i);
        const ebb_place place = ebb_room_item_place(checker, item, field->place.key, i);
        size_t index = 0;
        if (!read_word(checker, item, &one, &place, &index)) {
            field->good = false;
            continue;
        }
        if (field->word & ((size_t)1 << index))
            ebb_room_fault(checker->reader, &place, "\"%s\" is given twice", one.words[index]);
        field->word |= (size_t)1 << index;
    }
}

/* Both spellings of YAML's truth values, so that neither surprises. */
static void check_flag(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    static const char *const words[] = {"no", "yes", "false", "true", NULL};
    ebb_room_rule rule = *field->rule;
    rule.words = words;
    field->good = read_word(checker, node, &rule, &field->place, &field->word);
    field->word %= 2;
}

/* ---- "12.5 mm gypsum" ------------------------------------------------------------------------ */

static void unknown_material(ebb_room_checker *checker, const yaml_node_t *node,
                             const ebb_room_field *field, const char *name)
{
    ebb_room_reader *reader = checker->reader;
    ebb_room_guess guess;
    ebb_room_guess_start(&guess, name);
    const char *list = "";
    for (size_t i = 0; i < ebb_room_n_materials && list != NULL; i++) {
        ebb_room_guess_try(&guess, ebb_room_materials[i].name);
        list =
            ebb_room_format(reader, "%s%s%s", list, i > 0 ? ", " : "", ebb_room_materials[i].name);
    }
    const char *quoted = ebb_room_quote(reader, scalar(node), node->data.scalar.length);
    if (list == NULL)
        return;
    if (guess.best != NULL)
        ebb_room_fault(reader, &field->place, "%s: no such material; did you mean \"%s\"?", quoted,
                       guess.best);
    else
        ebb_room_fault(reader, &field->place,
                       "%s: no such material; accepted are %s, or a thickness alone with density",
                       quoted, list);
}

/* "12.5 mm gypsum" is what people write on drawings; one key for both keeps layers short. */
static void check_panel(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    const ebb_room_rule *rule = field->rule;
    if (!is_value(checker, node, rule, &field->place))
        return;
    const char *text = scalar(node), *blank = strrchr(text, ' ');
    size_t length = node->data.scalar.length;
    double thickness;
    field->text = "";
    /* The last word is a material unless the whole is a length already. */
    if (blank != NULL && !ebb_quantity_parse(rule->quantity, text, length, &thickness, NULL, 0) &&
        ebb_quantity_parse(rule->quantity, text, (size_t)(blank - text), &thickness, NULL, 0)) {
        length = (size_t)(blank - text);
        const ebb_room_material *material = ebb_room_material_find(blank + 1);
        if (material == NULL) {
            unknown_material(checker, node, field, blank + 1);
            return;
        }
        field->text = material->name;
    }
    char why[160] = "";
    if (!ebb_quantity_parse(rule->quantity, text, length, &thickness, why, sizeof why)) {
        refuse(checker, node, rule, &field->place, why);
        return;
    }
    if (!(thickness >= rule->low && thickness <= rule->high)) {
        refuse(checker, node, rule, &field->place, "the thickness must lie from 0.1 mm to 1 m");
        return;
    }
    field->number = ebb_room_alloc(checker->reader, 1, sizeof *field->number);
    if (field->number == NULL)
        return;
    field->number[0] = thickness;
    field->n = 1;
    field->good = true;
}

void ebb_room_check_leaf(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    switch (field->rule->kind) {
    case EBB_ROOM_QUANTITY:
        check_quantity(checker, node, field);
        break;
    case EBB_ROOM_VECTOR:
        check_vector(checker, node, field);
        break;
    case EBB_ROOM_POINTS:
        check_points(checker, node, field);
        break;
    case EBB_ROOM_CHOICE:
        field->good = read_word(checker, node, field->rule, &field->place, &field->word);
        break;
    case EBB_ROOM_CHOICES:
        check_choices(checker, node, field);
        break;
    case EBB_ROOM_FLAG:
        check_flag(checker, node, field);
        break;
    case EBB_ROOM_PANEL:
        check_panel(checker, node, field);
        break;
    case EBB_ROOM_ADMITTANCE:
        if (node->type == YAML_SEQUENCE_NODE)
            check_vector(checker, node, field);
        else
            check_quantity(checker, node, field);
        break;
    default:
        check_text(checker, node, field);
    }
}
