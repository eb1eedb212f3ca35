/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "record.h"

#include <assert.h>
#include <string.h>

/* Found by its text: forms are short, and a builder that asks for a key the form lacks is a mistake
 * of ours that the first test run shows. */
const ebb_room_field *ebb_room_get(const ebb_room_record *record, const char *key)
{
    for (size_t i = 0; i < record->form->n; i++)
        if (strcmp(record->form->rules[i].key, key) == 0)
            return &record->field[i];
    assert(false && "the form has no such key");
    return NULL;
}

double ebb_room_number(const ebb_room_record *record, const char *key, double fallback)
{
    const ebb_room_field *field = ebb_room_get(record, key);
    return field->good ? field->number[0] : fallback;
}

bool ebb_room_is_absent(const ebb_room_record *record, const char *key)
{
    const ebb_room_field *field = ebb_room_get(record, key);
    return !field->given && !field->meant;
}

size_t ebb_room_word(const ebb_room_record *record, const char *key, size_t fallback)
{
    const ebb_room_field *field = ebb_room_get(record, key);
    return field->good ? field->word : fallback;
}
