/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Files that a job or library names, and the lists that are built into the library. */
#include "build.h"

#include <ebb/file.h>

#include <string.h>
#include <yaml.h>

/* The file may come from anywhere: it names files below its own folder and no others. */
static const char *path_fault(const char *path)
{
    if (path[0] == '/' || strchr(path, '\\') != NULL || strchr(path, ':') != NULL)
        return "the path must be relative to the folder of this file, with \"/\" between its parts";
    for (const char *part = path; part != NULL;) {
        const size_t n = strcspn(part, "/");
        if (n == 0 || (n == 1 && part[0] == '.') || (n == 2 && part[0] == '.' && part[1] == '.'))
            return "the path must stay below the folder of this file, without \".\" and \"..\"";
        part = part[n] == '/' ? part + n + 1 : NULL;
    }
    return NULL;
}

/* The folder part of a name, with its slash: files are named in messages as the user finds them. */
static int folder_length(const char *name)
{
    const char *slash = strrchr(name, '/');
    return slash != NULL ? (int)(slash - name) + 1 : 0;
}

const char *ebb_room_folder_of(ebb_arena *arena, const char *path)
{
    const int n = folder_length(path);
    return n > 0 ? ebb_arena_format(arena, "%.*s", n, path) : ".";
}

/* The file is read beside the one that names it, and called in messages by the path that leads
 * there from where the user called, as editors need it to jump to the place. */
bool ebb_room_open_beside(ebb_room_builder *builder, const ebb_room_field *field, size_t most,
                          ebb_room_beside *file)
{
    ebb_room_reader *reader = builder->reader;
    const char *why = path_fault(field->text);
    if (why == NULL && builder->folder == NULL)
        why = "files cannot be read here";
    if (why != NULL) {
        ebb_room_fault(reader, &field->place, "\"%s\": %s", field->text, why);
        return false;
    }
    const char *path = ebb_room_format(reader, "%s/%s", builder->folder, field->text);
    file->name =
        ebb_room_format(reader, "%.*s%s", folder_length(reader->file), reader->file, field->text);
    if (path == NULL || file->name == NULL)
        return false;
    (void)ebb_file_read(reader->aside, reader->arena, path, most, &file->text, &file->length);
    file->folder = ebb_room_folder_of(reader->arena, path);
    if (file->folder == NULL)
        ebb_room_nomem(reader);
    if (ebb_ctx_errors(reader->aside) > 0) {
        const ebb_message *message = ebb_ctx_message(reader->aside, 0);
        if (message->status == EBB_E_NOMEM)
            ebb_room_nomem(reader);
        else
            ebb_room_fault(reader, &field->place, "the file %s %s", file->name, message->text);
        ebb_ctx_clear(reader->aside);
        return false;
    }
    return file->folder != NULL;
}

/* What is looked at there does not count against the file that names it. */
const ebb_room_record *ebb_room_read_file(ebb_room_builder *builder, const ebb_room_form *form,
                                          const char *name, const char *text, size_t length)
{
    ebb_room_reader *reader = builder->reader;
    const char *file = reader->file;
    const size_t number = reader->file_number, visited = reader->visited;
    ebb_room_record *record;
    reader->file = name;
    reader->file_number = ++reader->n_files;
    reader->visited = 0;
    ebb_room_read(reader, form, text, length, &record);
    reader->file = file;
    reader->file_number = number;
    reader->visited = visited;
    return record;
}

/* ---- job or library? ------------------------------------------------------------------------- */

/* Keys of the outermost mapping seen so far. */
typedef struct outline {
    int depth;
    bool key; /* the next scalar or value at depth 1 is a key */
    bool job, library;
} outline;

/* A key and its value take turns; what is deeper belongs to a value. */
static void look_at(outline *o, const yaml_event_t *event)
{
    const char *text;
    switch (event->type) {
    case YAML_MAPPING_START_EVENT:
    case YAML_SEQUENCE_START_EVENT:
        if (o->depth == 1)
            o->key = !o->key;
        else if (o->depth == 0)
            o->key = event->type == YAML_MAPPING_START_EVENT;
        o->depth++;
        break;
    case YAML_MAPPING_END_EVENT:
    case YAML_SEQUENCE_END_EVENT:
        o->depth--;
        break;
    case YAML_SCALAR_EVENT:
        text = (const char *)event->data.scalar.value;
        if (o->depth == 1 && o->key) {
            o->job = o->job || strcmp(text, "job") == 0 || strcmp(text, "rooms") == 0;
            o->library = o->library || strcmp(text, "library") == 0;
        }
        /* fall through */
    case YAML_ALIAS_EVENT:
        if (o->depth == 1)
            o->key = !o->key;
        break;
    default:
        break;
    }
}

/* A file that is no YAML is what it was until the slip. Faults are left to the reader proper. */
ebb_room_file_kind ebb_room_kind_of_file(const char *text, size_t length)
{
    outline o = {.depth = 0};
    yaml_parser_t parser;
    if (!yaml_parser_initialize(&parser))
        return EBB_ROOM_IS_OTHER;
    yaml_parser_set_encoding(&parser, YAML_UTF8_ENCODING);
    yaml_parser_set_input_string(&parser, (const unsigned char *)text, length);
    for (bool ended = false; !ended;) {
        yaml_event_t event;
        if (!yaml_parser_parse(&parser, &event))
            break;
        ended = event.type == YAML_STREAM_END_EVENT;
        look_at(&o, &event);
        yaml_event_delete(&event);
    }
    yaml_parser_delete(&parser);
    return o.library ? EBB_ROOM_IS_LIBRARY : o.job ? EBB_ROOM_IS_JOB : EBB_ROOM_IS_OTHER;
}
