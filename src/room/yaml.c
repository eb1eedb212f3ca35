/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * From bytes to a checked record. Three passes: the bytes are UTF-8 text; the events of the parser
 * stay within our limits (so that nothing hostile reaches the composer, which keeps everything);
 * the composed document fits its form.
 */
#include "check.h"

#include <stdio.h>
#include <string.h>

#define MOST_NODES 20000
#define DEEPEST 32

/* ---- the parser ------------------------------------------------------------------------------ */

static ebb_place mark_place(const ebb_room_reader *reader, const yaml_mark_t *mark)
{
    return (ebb_place){
        .file = reader->file, .line = (int)mark->line + 1, .column = (int)mark->column + 1};
}

/* Is the character number `index` of the text a tab? */
static bool is_tab(const char *text, size_t length, size_t index)
{
    size_t i = 0;
    while (index > 0 && i < length) {
        i += ebb_room_char_length(text + i, length - i);
        index--;
    }
    return i < length && text[i] == '\t';
}

/* The parser's own words, with the place. */
static void syntax_fault(ebb_room_reader *reader, const yaml_parser_t *parser, const char *text,
                         size_t length)
{
    if (parser->error == YAML_MEMORY_ERROR) {
        ebb_room_nomem(reader);
        return;
    }
    const ebb_place place = mark_place(reader, &parser->problem_mark);
    const char *problem = parser->problem != NULL ? parser->problem : "no YAML";
    const char *hint =
        is_tab(text, length, parser->problem_mark.index) ? "; tabs may not indent, use blanks" : "";
    if (parser->context != NULL)
        ebb_room_fault(reader, &place, "%s %s from line %zu: %s%s", "the YAML cannot be read,",
                       parser->context, parser->context_mark.line + 1, problem, hint);
    else
        ebb_room_fault(reader, &place, "the YAML cannot be read: %s%s", problem, hint);
}

/* The encoding is fixed: left to itself the parser would accept UTF-16 by its mark. */
static bool start(ebb_room_reader *reader, yaml_parser_t *parser, const char *text, size_t length)
{
    if (!yaml_parser_initialize(parser)) {
        ebb_room_nomem(reader);
        return false;
    }
    yaml_parser_set_encoding(parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(parser, (const unsigned char *)text, length);
    return true;
}

/* ---- the survey ------------------------------------------------------------------------------ */

/* What is open around the current event, and what has been counted. */
typedef struct survey {
    ebb_room_reader *reader;
    size_t documents, nodes, depth;
    const char *anchor[DEEPEST]; /* of each open list or mapping, "" without one */
} survey;

static const char *event_tag(const yaml_event_t *event)
{
    switch (event->type) {
    case YAML_SCALAR_EVENT:
        return (const char *)event->data.scalar.tag;
    case YAML_SEQUENCE_START_EVENT:
        return (const char *)event->data.sequence_start.tag;
    case YAML_MAPPING_START_EVENT:
        return (const char *)event->data.mapping_start.tag;
    default:
        return NULL;
    }
}

/* Opens a list or mapping. */
/* The limit is far above what a job needs (seven levels); it keeps every recursion short. */
static bool go_deeper(survey *s, const yaml_event_t *event, const ebb_place *place)
{
    const yaml_char_t *anchor = event->type == YAML_SEQUENCE_START_EVENT
                                    ? event->data.sequence_start.anchor
                                    : event->data.mapping_start.anchor;
    if (s->depth == DEEPEST) {
        ebb_room_fault(s->reader, place, "more than %d levels deep", DEEPEST);
        return false;
    }
    const char *copy = "";
    if (anchor != NULL)
        copy = ebb_room_format(s->reader, "%s", (const char *)anchor);
    s->anchor[s->depth++] = copy;
    return copy != NULL;
}

/* The composer would build a value that holds itself. Our forms are finite and would not follow it
 * for ever, but the message would be a riddle. */
static bool check_alias(survey *s, const yaml_event_t *event, const ebb_place *place)
{
    const char *name = (const char *)event->data.alias.anchor;
    for (size_t i = 0; i < s->depth; i++)
        if (strcmp(s->anchor[i], name) == 0) {
            ebb_room_fault(s->reader, place, "the alias *%s stands inside the value it names",
                           name);
            return false;
        }
    return true;
}

static void tag_fault(ebb_room_reader *reader, const char *tag, const ebb_place *place)
{
    static const char standard[] = "tag:yaml.org,2002:"; /* written as !! */
    const size_t n = sizeof standard - 1;
    const bool is_standard = strncmp(tag, standard, n) == 0;
    const char *name = is_standard ? tag + n : tag;
    ebb_room_fault(reader, place, "tags are not supported; found \"%s%s\"", is_standard ? "!!" : "",
                   ebb_room_clean(reader, name, strlen(name)));
}

/* False stops the survey: a limit is exceeded. */
static bool survey_event(survey *s, const yaml_event_t *event)
{
    const ebb_place place = mark_place(s->reader, &event->start_mark);
    if (event_tag(event) != NULL)
        tag_fault(s->reader, event_tag(event), &place);
    switch (event->type) {
    case YAML_DOCUMENT_START_EVENT:
        if (++s->documents > 1)
            ebb_room_fault(s->reader, &place, "a second document; a file holds one");
        return s->documents == 1;
    case YAML_SEQUENCE_START_EVENT:
    case YAML_MAPPING_START_EVENT:
        if (!go_deeper(s, event, &place))
            return false;
        break;
    case YAML_SEQUENCE_END_EVENT:
    case YAML_MAPPING_END_EVENT:
        s->depth--;
        return true;
    case YAML_ALIAS_EVENT:
        if (!check_alias(s, event, &place))
            return false;
        break;
    case YAML_SCALAR_EVENT:
        break;
    default:
        return true;
    }
    if (++s->nodes <= MOST_NODES)
        return true;
    ebb_room_fault(s->reader, &place, "more than %d keys and values", MOST_NODES);
    return false;
}

/* Runs through all events once; true when the composer may have the text. */
static bool survey_text(ebb_room_reader *reader, const char *text, size_t length)
{
    survey s = {.reader = reader};
    yaml_parser_t parser;
    if (!start(reader, &parser, text, length))
        return false;
    bool good = true, ended = false;
    while (good && !ended) {
        yaml_event_t event;
        if (!yaml_parser_parse(&parser, &event)) {
            syntax_fault(reader, &parser, text, length);
            good = false;
            break;
        }
        ended = event.type == YAML_STREAM_END_EVENT;
        good = survey_event(&s, &event);
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    if (good && s.documents == 0) {
        const ebb_place place = {.file = reader->file, .line = 1, .column = 1};
        ebb_room_fault(reader, &place, "the file is empty");
        good = false;
    }
    return good && reader->status == EBB_OK;
}

/* ---- the document ---------------------------------------------------------------------------- */

static void check_document(ebb_room_reader *reader, const ebb_room_form *form,
                           yaml_document_t *document, ebb_room_record **record)
{
    ebb_room_checker checker = {.reader = reader, .document = document};
    const yaml_node_t *root = yaml_document_get_root_node(document);
    ebb_place place = {.file = reader->file, .line = 1, .column = 1};
    if (root == NULL) {
        ebb_room_fault(reader, &place, "the file is empty");
        return;
    }
    place = mark_place(reader, &root->start_mark);
    if (root->type != YAML_MAPPING_NODE) {
        const ebb_room_rule rule = {.kind = EBB_ROOM_FORM, .form = form};
        ebb_room_wrong_shape(&checker, root, &rule, &place);
        return;
    }
    ebb_room_record *made = ebb_room_alloc(reader, 1, sizeof *made);
    if (made == NULL)
        return;
    ebb_room_check_mapping(&checker, form, root, &place, made);
    *record = made;
}

/* A fault of the survey that is no matter of size (a tag) does not stop the reading: the rest of
 * the file is checked in the same run. */
void ebb_room_read(ebb_room_reader *reader, const ebb_room_form *form, const char *text,
                   size_t length, ebb_room_record **record)
{
    *record = NULL;
    /* A byte order mark says nothing in UTF-8, but some editors write it. */
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) {
        text += 3;
        length -= 3;
    }
    if (!ebb_room_is_text(reader, reader->file, text, length) || !survey_text(reader, text, length))
        return;
    yaml_parser_t parser;
    yaml_document_t document;
    if (!start(reader, &parser, text, length))
        return;
    if (yaml_parser_load(&parser, &document)) {
        check_document(reader, form, &document, record);
        yaml_document_delete(&document);
    } else {
        syntax_fault(reader, &parser, text, length);
    }
    yaml_parser_delete(&parser);
}
