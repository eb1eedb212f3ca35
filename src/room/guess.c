/* SPDX-License-Identifier: GPL-3.0-or-later */
/* "Did you mean ...?" */
#include "record.h"

#include <string.h>

#define LONGEST_WORD 32

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Number of single letters to put in, take out, change or swap with their neighbour (Damerau 1964,
 * in the restricted form). Case does not count. */
static size_t edit_distance(const char *a, const char *b)
{
    size_t row[3][LONGEST_WORD + 1];
    const size_t n = strlen(a), m = strlen(b);
    for (size_t j = 0; j <= m; j++)
        row[0][j] = j;
    for (size_t i = 1; i <= n; i++) {
        size_t *now = row[i % 3];
        const size_t *before = row[(i + 2) % 3], *earlier = row[(i + 1) % 3];
        now[0] = i;
        for (size_t j = 1; j <= m; j++) {
            const bool same = lower(a[i - 1]) == lower(b[j - 1]);
            now[j] = least(least(before[j], now[j - 1]) + 1, before[j - 1] + (same ? 0 : 1));
            if (i > 1 && j > 1 && lower(a[i - 1]) == lower(b[j - 2]) &&
                lower(a[i - 2]) == lower(b[j - 1]))
                now[j] = least(now[j], earlier[j - 2] + 1);
        }
    }
    return row[n % 3][m];
}

void ebb_room_guess_start(ebb_room_guess *guess, const char *word)
{
    const size_t length = strlen(word);
    *guess = (ebb_room_guess){.word = word};
    /* A third of the letters may be wrong: more is another word. */
    guess->distance = length > LONGEST_WORD ? 0 : length < 3 ? 1 : length / 3 + 1;
}

/* The first of equally near words stays: lists are in the order in which people write keys. */
void ebb_room_guess_try(ebb_room_guess *guess, const char *candidate)
{
    if (guess->distance == 0 || strlen(candidate) > LONGEST_WORD)
        return;
    const size_t distance = edit_distance(guess->word, candidate);
    if (distance < guess->distance) {
        guess->best = candidate;
        guess->distance = distance;
    }
}
