/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Values that are no mapping and no list: texts, quantities, choices, boards. */
#include "check.h"

#include <string.h>

#define LONGEST_PANEL 200 /* bytes of a thickness and a name */

static const char *scalar(const yaml_node_t *node)
{
    return (const char *)node->data.scalar.value;
}

/* A scalar that is not empty; anything else is recorded as a fault. */
bool ebb_room_is_value(ebb_room_checker *checker, const yaml_node_t *node,
                       const ebb_room_rule *rule, const ebb_place *place)
{
    if (node->type == YAML_SCALAR_NODE && !ebb_room_is_empty(node))
        return true;
    ebb_room_wrong_shape(checker, node, rule, place);
    return false;
}

/* "value: reason; accepted is ..." */
void ebb_room_refuse(ebb_room_checker *checker, const yaml_node_t *node, const ebb_room_rule *rule,
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
void ebb_room_check_text(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    if (!ebb_room_is_value(checker, node, field->rule, &field->place))
        return;
    const size_t length = node->data.scalar.length;
    const char *why = text_fault(field->rule, scalar(node), length);
    if (why != NULL) {
        ebb_room_refuse(checker, node, field->rule, &field->place, why);
        return;
    }
    field->text = ebb_room_format(checker->reader, "%.*s", (int)length, scalar(node));
    field->good = field->text != NULL;
}

/* ---- quantities ------------------------------------------------------------------------------ */

/* The range is written so that NAN would fail, though the parser lets none through. */
bool ebb_room_read_quantity(ebb_room_checker *checker, const yaml_node_t *node,
                            const ebb_room_rule *rule, const ebb_place *place, double *value)
{
    char why[160] = "";
    double number;
    if (!ebb_room_visit(checker, place) || !ebb_room_is_value(checker, node, rule, place))
        return false;
    if (!ebb_quantity_parse(rule->quantity, scalar(node), node->data.scalar.length, &number, why,
                            sizeof why)) {
        ebb_room_refuse(checker, node, rule, place, why);
        return false;
    }
    if (!(number >= rule->low && number <= rule->high)) {
        ebb_room_refuse(checker, node, rule, place, "out of range");
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
    field->good = ebb_room_read_quantity(checker, node, field->rule, &field->place, field->number);
}

/* ---- choices --------------------------------------------------------------------------------- */

/* Case counts: accepting "Music" here would make "MUSIC" and "musik" questions of taste. The
 * suggestion ignores it, so the answer is at hand. */
bool ebb_room_read_word(ebb_room_checker *checker, const yaml_node_t *node,
                        const ebb_room_rule *rule, const ebb_place *place, size_t *index)
{
    if (!ebb_room_is_value(checker, node, rule, place))
        return false;
    ebb_room_guess guess;
    ebb_room_guess_start(&guess, scalar(node));
    for (size_t i = 0; rule->words[i] != NULL; i++) {
        const char *word = rule->words[i];
        ebb_room_guess_try(&guess, ebb_room_is_numbered(word)
                                       ? ebb_room_like(checker->reader, word, scalar(node))
                                       : word);
        if (ebb_room_fits(word, scalar(node), node->data.scalar.length)) {
            *index = i;
            return true;
        }
    }
    const char *why = "not one of the choices";
    if (guess.best != NULL)
        why = ebb_room_format(checker->reader, "did you mean \"%s\"?", guess.best);
    if (why != NULL)
        ebb_room_refuse(checker, node, rule, place, why);
    return false;
}

/* What was written is kept too: of a word with numbers the index does not say all. */
static void check_choice(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    field->good = ebb_room_read_word(checker, node, field->rule, &field->place, &field->word);
    if (!field->good)
        return;
    field->text = ebb_room_format(checker->reader, "%s", scalar(node));
    field->good = field->text != NULL;
}

/* Both spellings of YAML's truth values, so that neither surprises. */
static void check_flag(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    static const char *const words[] = {"no", "yes", "false", "true", NULL};
    ebb_room_rule rule = *field->rule;
    rule.words = words;
    field->good = ebb_room_read_word(checker, node, &rule, &field->place, &field->word);
    field->word %= 2;
}

/* ---- "12.5 mm gypsum" ------------------------------------------------------------------------ */

/* The longest beginning that is a length, up to a blank or the end; 0 when there is none. The rest
 * is a material then, whose name may hold blanks too: "12.5 mm birch plywood". */
static size_t thickness_length(ebb_quantity_kind kind, const char *text, size_t length)
{
    double value;
    for (size_t n = length; n > 0; n--)
        if ((n == length || text[n] == ' ') && ebb_quantity_parse(kind, text, n, &value, NULL, 0))
            return n;
    return 0;
}

/* "12.5 mm gypsum" is what people write on drawings; one key for both keeps layers short. Whether
 * there is such a material is for the builder to say, which knows the stock. */
static void check_panel(ebb_room_checker *checker, const yaml_node_t *node, ebb_room_field *field)
{
    const ebb_room_rule *rule = field->rule;
    if (!ebb_room_is_value(checker, node, rule, &field->place))
        return;
    const char *text = scalar(node);
    const size_t length = node->data.scalar.length;
    if (length > LONGEST_PANEL) {
        ebb_room_refuse(checker, node, rule, &field->place, "it is too long");
        return;
    }
    const size_t n = thickness_length(rule->quantity, text, length);
    char why[160] = "";
    double thickness = 0;
    if (!ebb_quantity_parse(rule->quantity, text, n > 0 ? n : length, &thickness, why,
                            sizeof why)) {
        ebb_room_refuse(checker, node, rule, &field->place, why);
        return;
    }
    if (!(thickness >= rule->low && thickness <= rule->high)) {
        ebb_room_refuse(checker, node, rule, &field->place,
                        "the thickness must lie from 0.1 mm to 1 m");
        return;
    }
    static const ebb_room_rule name = {.kind = EBB_ROOM_NAME, .least = 1, .most = 60};
    const char *fault =
        n > 0 && n < length ? text_fault(&name, text + n + 1, length - n - 1) : NULL;
    if (fault != NULL) {
        ebb_room_refuse(checker, node, rule, &field->place, fault);
        return;
    }
    field->number = ebb_room_alloc(checker->reader, 1, sizeof *field->number);
    field->text = n == length ? "" : ebb_room_format(checker->reader, "%s", text + n + 1);
    if (field->number == NULL || field->text == NULL)
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
    case EBB_ROOM_CHOICE:
        check_choice(checker, node, field);
        break;
    case EBB_ROOM_FLAG:
        check_flag(checker, node, field);
        break;
    case EBB_ROOM_PANEL:
        check_panel(checker, node, field);
        break;
    case EBB_ROOM_SPAN:
    case EBB_ROOM_HEIGHTS:
    case EBB_ROOM_ADMITTANCE:
        if (node->type == YAML_SEQUENCE_NODE)
            ebb_room_check_items(checker, node, field);
        else
            check_quantity(checker, node, field);
        break;
    case EBB_ROOM_VECTOR:
    case EBB_ROOM_CURVE:
    case EBB_ROOM_POINTS:
    case EBB_ROOM_OUTLINES:
    case EBB_ROOM_CHOICES:
    case EBB_ROOM_NAMES:
        ebb_room_check_items(checker, node, field);
        break;
    default:
        ebb_room_check_text(checker, node, field);
    }
}
