/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The solid as it comes on standard input: words and numbers between blanks, so that a person can
 * write one by hand. See ebb-mesh(1).
 *
 * Only what would make this program itself run wild is checked here. Whether the solid is closed
 * and its facets are flat is known to whoever asks.
 */
#include "ebb-mesh.h"
#include <ebb/vec3.h>

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LONGEST 64      /* characters of a word */
#define MOST 100000     /* corners, facets, loops and edges */
#define LARGEST 10000.0 /* m */
#define SHORTEST 1e-4   /* m, of edges */

/* Where the reader is, for messages. */
typedef struct source {
    FILE *in;
    long line;
    char word[LONGEST];
} source;

/* Takes the next word; dies at the end of the text. */
static const char *take(source *s)
{
    int c = getc(s->in);
    while (c == ' ' || c == '\t' || c == '\r' || c == '\n') {
        s->line += c == '\n';
        c = getc(s->in);
    }
    size_t n = 0;
    for (; c != EOF && strchr(" \t\r\n", c) == NULL; c = getc(s->in)) {
        if (c == '\0' || n + 1 == LONGEST)
            die("line %ld: a word that is no word or number", s->line);
        s->word[n++] = (char)c;
    }
    s->word[n] = '\0';
    if (c != EOF)
        ungetc(c, s->in);
    else if (n == 0)
        die("line %ld: the solid ends too early", s->line);
    return s->word;
}

static void expect(source *s, const char *word)
{
    if (strcmp(take(s), word) != 0)
        die("line %ld: '%s' where '%s' was expected", s->line, s->word, word);
}

/* Comparisons are written so that what is no number fails them. */
static double number(source *s, double low, double high)
{
    char *end;
    const double value = strtod(take(s), &end);
    if (*end != '\0' || !(value >= low && value <= high))
        die("line %ld: '%s' is no number from %g to %g", s->line, s->word, low, high);
    return value;
}

/* A whole number from low to high. */
static size_t count(source *s, size_t low, size_t high)
{
    char *end;
    errno = 0;
    const long long value = strtoll(take(s), &end, 10);
    if (*end != '\0' || errno != 0 || value < (long long)low || value > (long long)high)
        die("line %ld: '%s' is no whole number from %zu to %zu", s->line, s->word, low, high);
    return (size_t)value;
}

static ebb_vec3 point(source *s)
{
    ebb_vec3 at;
    at.x = number(s, -LARGEST, LARGEST);
    at.y = number(s, -LARGEST, LARGEST);
    at.z = number(s, -LARGEST, LARGEST);
    return at;
}

static void read_corners(source *s, request *r)
{
    expect(s, "corners");
    const size_t n = count(s, 4, MOST);
    ebb_vec3 *at = need(n, sizeof *at);
    for (size_t i = 0; i < n; i++)
        at[i] = point(s);
    r->solid.n_corners = n;
    r->solid.corner = at;
}

/* Takes the loops of a facet into what is left of the two arrays. */
static void read_facet(source *s, request *r, ebb_facet *facet, size_t *loop, size_t *corner)
{
    *facet = (ebb_facet){.surface = count(s, 0, MOST),
                         .n_loops = count(s, 1, MOST - r->n_loops),
                         .loop = loop + r->n_loops,
                         .corner = corner + r->n_links};
    for (size_t l = 0; l < facet->n_loops; l++) {
        const size_t n = count(s, 3, MOST - r->n_links);
        loop[r->n_loops++] = n;
        for (size_t i = 0; i < n; i++)
            corner[r->n_links++] = count(s, 0, r->solid.n_corners - 1);
    }
}

/* Loops and corners of all facets lie one behind the other: nobody knows how many there are before
 * the last one is read. */
static void read_facets(source *s, request *r)
{
    expect(s, "facets");
    const size_t n = count(s, 4, MOST);
    ebb_facet *facet = need(n, sizeof *facet);
    size_t *loop = need(MOST, sizeof *loop), *corner = need(MOST, sizeof *corner);
    for (size_t f = 0; f < n; f++)
        read_facet(s, r, &facet[f], loop, corner);
    r->solid.n_facets = n;
    r->solid.facet = facet;
}

static void read_lines(source *s, request *r)
{
    expect(s, "lines");
    const size_t n = count(s, 0, MOST);
    r->pull = need(n, sizeof *r->pull);
    for (; r->n_pulls < n; r->n_pulls++) {
        pull *p = &r->pull[r->n_pulls];
        p->at = point(s);
        p->along = ebb_minus(point(s), p->at);
        const double square = ebb_dot(p->along, p->along);
        p->inverse = square > 0 ? 1 / square : 0;
        p->size = number(s, SHORTEST, r->edge);
    }
}

static void read_areas(source *s, request *r)
{
    expect(s, "areas");
    const size_t n = r->n_pulls + count(s, 0, r->solid.n_facets);
    r->pull = realloc(r->pull, (n + 1) * sizeof *r->pull);
    if (r->pull == NULL)
        die("out of memory");
    for (; r->n_pulls < n; r->n_pulls++) {
        const ebb_facet *facet = &r->solid.facet[count(s, 0, r->solid.n_facets - 1)];
        r->pull[r->n_pulls] = (pull){.facet = facet,
                                     .flat = ebb_mesh_flat_of(&r->solid, facet),
                                     .size = number(s, SHORTEST, r->edge)};
    }
}

void read_request(FILE *in, request *r)
{
    source s = {.in = in, .line = 1};
    *r = (request){0};
    expect(&s, "ebb-solid");
    expect(&s, "1");
    expect(&s, "edge");
    r->edge = number(&s, 0.01, 100);
    read_corners(&s, r);
    read_facets(&s, r);
    read_lines(&s, r);
    read_areas(&s, r);
    expect(&s, "end");
}
