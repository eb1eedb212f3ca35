/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Suggestions for mistyped names.
 *
 * The distance is that of Levenshtein (1966, from memory): the fewest letters to insert, remove or
 * replace. Names here are short and few, so the plain table, row by row, is enough.
 */
#include "cli.h"

#include <string.h>

#define LONGEST 32

static size_t least(size_t a, size_t b, size_t c)
{
    const size_t ab = a < b ? a : b;
    return ab < c ? ab : c;
}

/* Letters to insert, remove or replace to turn one word into the other. */
static size_t distance(const char *a, const char *b)
{
    const size_t n = strlen(b);
    size_t row[LONGEST + 1]; /* distances of the beginnings of b from the beginning of a */
    if (n > LONGEST || strlen(a) > LONGEST)
        return LONGEST;
    for (size_t j = 0; j <= n; j++)
        row[j] = j;
    for (size_t i = 0; a[i] != '\0'; i++) {
        size_t diagonal = row[0];
        row[0] = i + 1;
        for (size_t j = 0; j < n; j++) {
            const size_t above = row[j + 1];
            row[j + 1] = least(above + 1, row[j] + 1, diagonal + (a[i] != b[j]));
            diagonal = above;
        }
    }
    return row[n];
}

const char *cli_nearest(const char *word, size_t n, const char *const *list)
{
    /* Beyond a third of its letters it is another word, not a slip. */
    size_t best = strlen(word) / 3 + 1;
    const char *nearest = NULL;
    for (size_t i = 0; i < n; i++) {
        const size_t d = distance(word, list[i]);
        if (d <= best && (nearest == NULL || d < best)) {
            best = d;
            nearest = list[i];
        }
    }
    return nearest;
}
