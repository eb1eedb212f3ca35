/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What builders of every part share: memory, keys that exclude each other, names. */
#include "build.h"

#include <math.h>
#include <string.h>

void *ebb_room_keep(ebb_room_builder *builder, size_t count, size_t size)
{
    void *memory = ebb_arena_alloc(builder->arena, count, size);
    if (memory == NULL)
        ebb_room_nomem(builder->reader);
    return memory;
}

const char *ebb_room_keep_text(ebb_room_builder *builder, const char *text)
{
    const char *copy = ebb_arena_text(builder->arena, text);
    if (copy == NULL)
        ebb_room_nomem(builder->reader);
    return copy != NULL ? copy : "";
}

/* ---- keys ------------------------------------------------------------------------------------ */

/* A required key that is absent or a value that was refused has had its message already. Building
 * on from such a record would need made-up numbers, and their faults would be told as the user's.
 */
bool ebb_room_is_whole(const ebb_room_record *record)
{
    if (record->form == NULL)
        return false;
    for (size_t i = 0; i < record->form->n; i++) {
        const ebb_room_field *field = &record->field[i];
        if (field->given != field->good || field->meant || (!field->given && field->rule->required))
            return false;
        for (size_t j = 0; field->record != NULL && j < field->n; j++)
            if (!ebb_room_is_whole(&field->record[j]))
                return false;
    }
    return true;
}

/* A key that has no effect is refused, not passed over: whoever wrote it believes it does
 * something, and would read the result with that in mind. */
void ebb_room_refuse_key(ebb_room_builder *builder, const ebb_room_record *record, const char *key,
                         const char *why)
{
    const ebb_room_field *field = ebb_room_get(record, key);
    if (field->given)
        ebb_room_fault(builder->reader, &field->place, "%s", why);
}

bool ebb_room_need_key(ebb_room_builder *builder, const ebb_room_record *record, const char *key)
{
    const ebb_room_field *field = ebb_room_get(record, key);
    if (!field->given && !field->meant)
        ebb_room_missing(builder->reader, record, field->rule);
    return field->given;
}

/* "a, b or c" */
static const char *join_keys(ebb_room_builder *builder, const char *const *keys)
{
    const char *text = keys[0];
    for (size_t i = 1; keys[i] != NULL && text != NULL; i++)
        text = ebb_room_format(builder->reader, "%s%s%s", text, keys[i + 1] != NULL ? ", " : " or ",
                               keys[i]);
    return text;
}

/* Nothing is said when a misspelt key was meant to be one of them: its own message is enough. */
const ebb_room_field *ebb_room_one_of(ebb_room_builder *builder, const ebb_room_record *record,
                                      const char *const *keys)
{
    const ebb_room_field *found = NULL;
    size_t n = 0, given = 0;
    bool clear = true;
    for (; keys[n] != NULL; n++) {
        const ebb_room_field *field = ebb_room_get(record, keys[n]);
        clear = clear && !field->meant;
        given += field->given;
        if (field->given)
            found = field;
    }
    if (given == 1)
        return found;
    const char *list = join_keys(builder, keys);
    if (list != NULL && given > 1)
        ebb_room_fault(builder->reader, &record->place, "give either %s, %s", list,
                       n == 2 ? "not both" : "only one of them");
    else if (list != NULL && clear)
        ebb_room_fault(builder->reader, &record->place, "give either %s, one is needed", list);
    return NULL;
}

/* ---- whole numbers --------------------------------------------------------------------------- */

bool ebb_room_check_whole(ebb_room_builder *builder, const ebb_room_field *field, double number)
{
    if (number == floor(number))
        return true;
    ebb_room_fault(builder->reader, &field->place, "%.6g is not a whole number", number);
    return false;
}

int ebb_room_whole_number(ebb_room_builder *builder, const ebb_room_record *record, const char *key,
                          int fallback)
{
    const ebb_room_field *field = ebb_room_get(record, key);
    if (!field->good || !ebb_room_check_whole(builder, field, field->number[0]))
        return fallback;
    return (int)field->number[0];
}

/* ---- names ----------------------------------------------------------------------------------- */

static const void *thing(const ebb_room_names *names, size_t i)
{
    return (const char *)names->list + i * names->size;
}

static const char *name_of(const ebb_room_names *names, size_t i)
{
    const char *name;
    memcpy(&name, thing(names, i), sizeof name);
    return name;
}

/* A near name is almost always the one that was meant. Without one all names are told, because the
 * user cannot be expected to know the presets by heart. */
static void unknown_name(ebb_room_builder *builder, const ebb_room_field *field,
                         const ebb_room_names *names)
{
    ebb_room_guess guess;
    ebb_room_guess_start(&guess, field->text);
    const char *list = "";
    for (size_t i = 0; i < names->n && list != NULL; i++) {
        ebb_room_guess_try(&guess, name_of(names, i));
        list =
            ebb_room_format(builder->reader, "%s%s%s", list, i > 0 ? ", " : "", name_of(names, i));
    }
    if (list == NULL)
        return;
    if (guess.best != NULL)
        ebb_room_fault(builder->reader, &field->place,
                       "there is no %s \"%s\"; did you mean \"%s\"?", names->what, field->text,
                       guess.best);
    else
        ebb_room_fault(builder->reader, &field->place, "there is no %s \"%s\"; there %s %s",
                       names->what, field->text, names->n == 1 ? "is" : "are",
                       names->n > 0 ? list : "none");
}

const void *ebb_room_find(ebb_room_builder *builder, const ebb_room_field *field,
                          const ebb_room_names *names)
{
    if (!field->good)
        return NULL;
    for (size_t i = 0; i < names->n; i++)
        if (strcmp(name_of(names, i), field->text) == 0)
            return thing(names, i);
    unknown_name(builder, field, names);
    return NULL;
}
