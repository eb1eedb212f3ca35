/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * JSON Schemas (draft 2020-12) of the job file and the library file, for editors that complete and
 * check while typing. They are looser than the reader: ranges of quantities with units, geometry
 * and names that must exist are beyond them.
 */
#include "form.h"

#include <ebb/library.h>
#include <ebb/version.h>

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Text that grows. */
typedef struct writer {
    ebb_arena *arena;
    char *text;
    size_t used, size;
    bool failed;
} writer;

static void put(writer *w, const char *text)
{
    const size_t length = strlen(text);
    if (w->used + length + 1 > w->size) {
        const size_t size = 2 * (w->used + length + 1);
        char *grown = EBB_NEW(w->arena, char, size);
        if (grown == NULL) {
            w->failed = true;
            return;
        }
        if (w->used > 0)
            memcpy(grown, w->text, w->used);
        w->text = grown;
        w->size = size;
    }
    memcpy(w->text + w->used, text, length + 1);
    w->used += length;
}

/* A JSON string; our texts are ASCII without control characters. */
static void put_string(writer *w, const char *text)
{
    char one[3] = "";
    put(w, "\"");
    for (; *text != '\0'; text++) {
        const bool escape = *text == '"' || *text == '\\';
        one[0] = escape ? '\\' : *text;
        one[1] = escape ? *text : '\0';
        put(w, one);
    }
    put(w, "\"");
}

static void put_member(writer *w, const char *name, const char *value)
{
    put_string(w, name);
    put(w, ": ");
    put_string(w, value);
}

/* Always follows another member, hence the comma in front. */
static void put_count(writer *w, const char *name, size_t count)
{
    char text[64];
    snprintf(text, sizeof text, ", \"%s\": %zu", name, count);
    put(w, text);
}

/* ---- types ----------------------------------------------------------------------------------- */

/* One quantity. Editors read a bare number as a number, everything with a unit as a text. */
static void put_quantity(writer *w, const ebb_room_rule *rule)
{
    char range[96];
    snprintf(range, sizeof range, "{\"type\": \"number\", \"minimum\": %.9g, \"maximum\": %.9g}",
             rule->low, rule->high);
    switch (rule->quantity) {
    case EBB_Q_NUMBER:
        put(w, range);
        break;
    case EBB_Q_FRACTION:
        put(w, "{\"anyOf\": [");
        put(w, range);
        put(w, ", {\"type\": \"string\", \"pattern\": \"%$\"}]}");
        break;
    default:
        put(w, "{\"type\": \"string\", \"pattern\": \"^[-+.0-9].*[^0-9.]\", ");
        put_member(w, "description", ebb_quantity_accepts(rule->quantity));
        put(w, "}");
    }
}

static void put_list(writer *w, const ebb_room_rule *rule)
{
    put(w, ", \"type\": \"array\"");
    put_count(w, "minItems", rule->least);
    put_count(w, "maxItems", rule->most);
    put(w, ", \"items\": ");
}

/* A word or key whose N stand for numbers, as the inside of a regular expression. */
static void put_numbered(writer *w, const char *word)
{
    char one[2] = "";
    for (; *word != '\0'; word++) {
        one[0] = *word;
        put(w, *word == 'N' ? "[1-9][0-9]?" : one);
    }
}

static void put_word_pattern(writer *w, const char *const *words)
{
    put(w, "{\"type\": \"string\", \"pattern\": \"^(");
    for (size_t i = 0; words[i] != NULL; i++) {
        put(w, i > 0 ? "|" : "");
        put_numbered(w, words[i]);
    }
    put(w, ")$\"}");
}

static void put_words(writer *w, const char *const *words)
{
    for (size_t i = 0; words[i] != NULL; i++)
        if (ebb_room_is_numbered(words[i])) {
            put_word_pattern(w, words);
            return;
        }
    put(w, "{\"enum\": [");
    for (size_t i = 0; words[i] != NULL; i++) {
        put(w, i > 0 ? ", " : "");
        put_string(w, words[i]);
    }
    put(w, "]}");
}

/* Forms are defined once and referred to: construction and absorber share their layers. */
static void put_ref(writer *w, const ebb_room_form *form)
{
    put(w, "{\"$ref\": \"#/$defs/");
    put(w, form->id);
    put(w, "\"}");
}

/* A list of [frequency, value]. */
static void put_curve(writer *w, const ebb_room_rule *rule)
{
    const ebb_room_rule hz = {.quantity = EBB_Q_FREQUENCY};
    put_list(w, rule);
    put(w, "{\"type\": \"array\", \"minItems\": 2, \"maxItems\": 2, \"prefixItems\": [");
    put_quantity(w, &hz);
    put(w, ", ");
    put_quantity(w, rule);
    put(w, "]}");
}

static void put_points(writer *w, const ebb_room_rule *rule)
{
    ebb_room_rule one = *rule;
    one.least = one.most = rule->width > 0 ? rule->width : 2;
    put_list(w, rule);
    put(w, one.most == 3 ? "{\"description\": \"[x, y, z]\"" : "{\"description\": \"[x, y]\"");
    put_list(w, &one);
    put_quantity(w, rule);
    put(w, "}");
}

static void put_outlines(writer *w, const ebb_room_rule *rule)
{
    ebb_room_rule one = *rule;
    one.least = rule->points[0];
    one.most = rule->points[1];
    put_list(w, rule);
    put(w, "{\"description\": \"one outline\"");
    put_points(w, &one);
    put(w, "}");
}

/* Keywords of lists and mappings, after the description. */
static void put_compound(writer *w, const ebb_room_rule *rule)
{
    switch (rule->kind) {
    case EBB_ROOM_VECTOR:
        put_list(w, rule);
        put_quantity(w, rule);
        break;
    case EBB_ROOM_CURVE:
        put_curve(w, rule);
        break;
    case EBB_ROOM_NAMES:
        put(w, ", \"uniqueItems\": true");
        put_list(w, rule);
        put(w, "{\"type\": \"string\"}");
        break;
    case EBB_ROOM_POINTS:
        put_points(w, rule);
        break;
    case EBB_ROOM_OUTLINES:
        put_outlines(w, rule);
        break;
    case EBB_ROOM_CHOICES:
        put(w, ", \"uniqueItems\": true");
        put_list(w, rule);
        put_words(w, rule->words);
        break;
    case EBB_ROOM_FORMS:
        put_list(w, rule);
        put_ref(w, rule->form);
        break;
    case EBB_ROOM_KINDS_OF:
        put_list(w, rule);
        put(w, "{\"oneOf\": [");
        for (size_t i = 0; i < rule->n_forms; i++) {
            put(w, i > 0 ? ", " : "");
            put_ref(w, &rule->form[i]);
        }
        put(w, "]}");
        break;
    default: /* a mapping of names */
        put(w, ", \"type\": \"object\"");
        put_count(w, "minProperties", rule->least);
        put_count(w, "maxProperties", rule->most);
        put(w, ", \"additionalProperties\": ");
        put_ref(w, rule->form);
    }
}

/* Keywords that say which values a key takes, after the description. */
static void put_type(writer *w, const ebb_room_rule *rule)
{
    ebb_room_rule pair = *rule;
    pair.kind = EBB_ROOM_VECTOR;
    switch (rule->kind) {
    case EBB_ROOM_TEXT:
    case EBB_ROOM_NOTE:
    case EBB_ROOM_NAME:
    case EBB_ROOM_FILE:
        put(w, ", \"type\": \"string\"");
        put_count(w, "minLength", rule->least);
        put_count(w, "maxLength", rule->most);
        break;
    case EBB_ROOM_QUANTITY:
        put(w, ", \"allOf\": [");
        put_quantity(w, rule);
        put(w, "]");
        break;
    case EBB_ROOM_SPAN:
        put(w, ", \"anyOf\": [");
        put_quantity(w, rule);
        put(w, ", {\"description\": \"[least, most]\"");
        put_compound(w, &pair);
        put(w, "}]");
        break;
    case EBB_ROOM_CHOICE:
        put(w, ", \"allOf\": [");
        put_words(w, rule->words);
        put(w, "]");
        break;
    case EBB_ROOM_FLAG: /* yes and no are truth values in YAML 1.1, words in 1.2 */
        put(w, ", \"enum\": [true, false, \"yes\", \"no\"]");
        break;
    case EBB_ROOM_PANEL:
        put(w, ", \"type\": \"string\", \"pattern\": \"^[.0-9]\"");
        break;
    case EBB_ROOM_HEIGHTS:
    case EBB_ROOM_ADMITTANCE:
        put(w, ", \"anyOf\": [");
        put_quantity(w, rule);
        put(w, rule->kind == EBB_ROOM_HEIGHTS ? ", {\"description\": \"one per corner\""
                                              : ", {\"description\": \"[real, imaginary]\"");
        put_compound(w, &pair);
        put(w, "}, ");
        put_ref(w, rule->form);
        put(w, "]");
        break;
    case EBB_ROOM_FORM:
        put(w, ", \"allOf\": [");
        put_ref(w, rule->form);
        put(w, "]");
        break;
    default:
        put_compound(w, rule);
    }
}

/* ---- forms ----------------------------------------------------------------------------------- */

/* The description is what editors show beside a key: meaning, values and what holds without it. */
static void put_rule(writer *w, const ebb_room_rule *rule)
{
    const char *accepts = ebb_room_accepts(w->arena, rule);
    const char *about = accepts == NULL ? NULL
                        : rule->fallback == NULL
                            ? ebb_arena_format(w->arena, "%s; %s", rule->meaning, accepts)
                            : ebb_arena_format(w->arena, "%s; %s; when absent: %s", rule->meaning,
                                               accepts, rule->fallback);
    if (about == NULL) {
        w->failed = true;
        return;
    }
    put(w, "        ");
    if (ebb_room_is_numbered(rule->key)) {
        put(w, "\"^");
        put_numbered(w, rule->key);
        put(w, "$\"");
    } else {
        put_string(w, rule->key);
    }
    put(w, ": {");
    put_member(w, "description", about);
    put_type(w, rule);
    put(w, "}");
}

/* Those with numbers in their keys, or the others. */
static void put_rules(writer *w, const ebb_room_form *form, bool numbered)
{
    const char *comma = "";
    for (size_t i = 0; i < form->n; i++) {
        if (ebb_room_is_numbered(form->rules[i].key) != numbered)
            continue;
        put(w, comma);
        put_rule(w, &form->rules[i]);
        comma = ",\n";
    }
}

static void put_form(writer *w, const ebb_room_form *form)
{
    put(w, "    ");
    put_string(w, form->id);
    put(w, ": {\n      \"type\": \"object\",\n      \"additionalProperties\": false,\n      ");
    put(w, "\"required\": [");
    const char *comma = "";
    for (size_t i = 0; i < form->n; i++) {
        if (!form->rules[i].required)
            continue;
        put(w, comma);
        put_string(w, form->rules[i].key);
        comma = ", ";
    }
    put(w, "],\n      \"properties\": {\n");
    put_rules(w, form, false);
    put(w, "\n      }");
    for (size_t i = 0; i < form->n; i++) {
        if (!ebb_room_is_numbered(form->rules[i].key))
            continue;
        put(w, ",\n      \"patternProperties\": {\n");
        put_rules(w, form, true);
        put(w, "\n      }");
        break;
    }
    put(w, "\n    }");
}

/* The file as a whole is the first of the forms. */
static ebb_status put_schema(ebb_ctx *ctx, writer *w, const char *title,
                             const ebb_room_form_list *forms, size_t n)
{
    put(w, "{\n  \"$schema\": \"https://json-schema.org/draft/2020-12/schema\",\n  ");
    put_member(w, "title", title);
    put(w, ",\n  \"$ref\": \"#/$defs/");
    put(w, forms[0]->id);
    put(w, "\",\n  \"$defs\": {\n");
    for (size_t i = 0; i < n; i++) {
        put(w, i > 0 ? ",\n" : "");
        put_form(w, forms[i]);
    }
    put(w, "\n  }\n}\n");
    return w->failed ? ebb_fail(ctx, EBB_E_NOMEM, "no memory for the schema") : EBB_OK;
}

ebb_status ebb_job_schema(ebb_ctx *ctx, ebb_arena *arena, const char **text)
{
    writer w = {.arena = arena};
    const ebb_status status = put_schema(ctx, &w, "Job file of Ebb " EBB_VERSION,
                                         ebb_room_job_forms, ebb_room_n_job_forms);
    *text = status == EBB_OK ? w.text : NULL;
    return status;
}

ebb_status ebb_library_schema(ebb_ctx *ctx, ebb_arena *arena, const char **text)
{
    writer w = {.arena = arena};
    const ebb_status status = put_schema(ctx, &w, "Library file of Ebb " EBB_VERSION,
                                         ebb_room_library_forms, ebb_room_n_library_forms);
    *text = status == EBB_OK ? w.text : NULL;
    return status;
}
