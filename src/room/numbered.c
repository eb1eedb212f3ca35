/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Words with numbers: wall_12 fits wall_N. How many walls there are, only the room knows. */
#include "record.h"

#include <string.h>

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

bool ebb_room_is_numbered(const char *pattern)
{
    return strchr(pattern, 'N') != NULL;
}

/* Numbers are written as people write them: without zeros in front, two digits at most. */
bool ebb_room_fits(const char *pattern, const char *word, size_t length)
{
    size_t i = 0;
    for (; *pattern != '\0'; pattern++) {
        if (i >= length)
            return false;
        if (*pattern != 'N') {
            if (word[i++] != *pattern)
                return false;
            continue;
        }
        if (!is_digit(word[i]) || word[i] == '0')
            return false;
        i++;
        if (i < length && is_digit(word[i]))
            i++;
    }
    return i == length;
}

/* The next number of a word, or 1; moves past it. */
static int next_number(const char **word)
{
    const char *at = *word;
    while (*at != '\0' && !is_digit(*at))
        at++;
    int number = 0;
    for (; is_digit(*at) && number < 10; at++)
        number = 10 * number + (*at - '0');
    *word = at;
    return number > 0 ? number : 1;
}

const char *ebb_room_like(ebb_room_reader *reader, const char *pattern, const char *word)
{
    const char *out = "";
    for (const char *from = pattern; *from != '\0' && out != NULL;) {
        const size_t plain = strcspn(from, "N");
        out = ebb_room_format(reader, "%s%.*s", out, (int)plain, from);
        from += plain;
        if (*from == 'N' && out != NULL) {
            out = ebb_room_format(reader, "%s%d", out, next_number(&word));
            from++;
        }
    }
    return out != NULL ? out : pattern;
}

const ebb_room_field *ebb_room_given(const ebb_room_record *record, const char *key)
{
    for (size_t i = 0; i < record->form->n; i++)
        if (strcmp(record->form->rules[i].key, key) == 0)
            return record->field[i].given ? &record->field[i] : NULL;
    for (const ebb_room_numbered *n = record->numbered; n != NULL; n = n->next)
        if (strcmp(n->key, key) == 0)
            return &n->field;
    return NULL;
}
