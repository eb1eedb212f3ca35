/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What the mesher has written, as words and numbers. It is not trusted: every count is held against
 * the length of the text before memory is asked for, every index against its count.
 */
#include "private.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#define MOST_DIGITS 15 /* hexadecimal: fits into 60 bits */
#define FARTHEST 1e5   /* m */

typedef struct reader {
    ebb_ctx *ctx;
    const char *at, *end;
    size_t line;
} reader;

static bool refuse(reader *r, const char *what)
{
    ebb_fail(r->ctx, EBB_E_IO, "the mesher's answer can not be read: line %zu: %s", r->line, what);
    return false;
}

static void skip_blanks(reader *r)
{
    for (; r->at < r->end && (*r->at == ' ' || *r->at == '\n'); r->at++)
        r->line += *r->at == '\n';
}

/* At the end of a word? */
static bool is_over(const reader *r)
{
    return r->at == r->end || *r->at == ' ' || *r->at == '\n';
}

/* A text that ends early lacks the next word, or its last one: it is never taken for whole. */
static bool expect(reader *r, const char *word)
{
    skip_blanks(r);
    const size_t n = strlen(word);
    if ((size_t)(r->end - r->at) < n || memcmp(r->at, word, n) != 0)
        return refuse(r, "a word is missing or the text is cut short");
    r->at += n;
    return is_over(r) || refuse(r, "a word is longer than it should be");
}

/* A whole number below a bound. */
static bool take_count(reader *r, size_t bound, size_t *value)
{
    skip_blanks(r);
    const char *start = r->at;
    size_t out = 0;
    for (; r->at < r->end && *r->at >= '0' && *r->at <= '9'; r->at++) {
        if (out > (SIZE_MAX - 9) / 10)
            return refuse(r, "a number is too large");
        out = 10 * out + (size_t)(*r->at - '0');
    }
    if (r->at == start || !is_over(r))
        return refuse(r, "no whole number where there should be one");
    if (out >= bound)
        return refuse(r, "a number is too large");
    *value = out;
    return true;
}

/* Lower case as printf writes them. */
static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

static bool take_char(reader *r, char c)
{
    const bool there = r->at < r->end && *r->at == c;
    r->at += there;
    return there;
}

/* Hexadecimal digits with a point among them; *shift counts the bits behind it. */
static bool take_digits(reader *r, uint64_t *digits, int *shift)
{
    int n = 0;
    bool point = false;
    *digits = 0;
    *shift = 0;
    for (; r->at < r->end; r->at++) {
        const int digit = hex_digit(*r->at);
        if (digit < 0 && (*r->at != '.' || point))
            break;
        point |= digit < 0;
        if (digit < 0)
            continue;
        *digits = *digits * 16 + (uint64_t)digit;
        *shift += point ? 4 : 0;
        n++;
        if (n > MOST_DIGITS)
            return false;
    }
    return n > 0;
}

/* Written by hand, since the C library's own reading of numbers depends on the host's locale. */
static bool take_real(reader *r, double *value)
{
    skip_blanks(r);
    uint64_t digits;
    int shift;
    const bool negative = take_char(r, '-');
    if (!take_char(r, '0') || !take_char(r, 'x') || !take_digits(r, &digits, &shift) ||
        !take_char(r, 'p'))
        return refuse(r, "no number where there should be one");
    const bool down = take_char(r, '-');
    size_t power;
    if (!down)
        (void)take_char(r, '+');
    if (r->at < r->end && *r->at == ' ')
        return refuse(r, "no number where there should be one");
    if (!take_count(r, 2000, &power))
        return false;
    *value = ldexp((double)digits, (down ? -(int)power : (int)power) - shift);
    if (negative)
        *value = -*value;
    return fabs(*value) <= FARTHEST || refuse(r, "a place is too far away");
}

/* How many, of which each takes at least so many characters. */
static bool take_number_of(reader *r, const char *word, size_t characters, size_t *n)
{
    return expect(r, word) && take_count(r, (size_t)(r->end - r->at) / characters + 1, n);
}

static bool take_tuple(reader *r, size_t n, size_t bound, size_t *out)
{
    for (size_t i = 0; i < n; i++)
        if (!take_count(r, bound, &out[i]))
            return false;
    return true;
}

/* The counts stand at the head of each list, but the mesh is allocated at once: the lists are read
 * twice, first to learn how many there are. */
static bool read_lists(reader *r, const ebb_solid *solid, ebb_mesh *m)
{
    size_t n;
    if (!expect(r, "ebb-mesh") || !expect(r, "1") || !take_number_of(r, "nodes", 18, &n))
        return false;
    m->n_nodes = n;
    for (size_t i = 0; i < n; i++) {
        ebb_vec3 at;
        if (!take_real(r, &at.x) || !take_real(r, &at.y) || !take_real(r, &at.z))
            return false;
        if (m->node != NULL)
            m->node[i] = at;
    }
    if (!take_number_of(r, "tetrahedra", 8, &n))
        return false;
    m->n_tets = n;
    for (size_t i = 0; i < n; i++) {
        size_t tet[4];
        if (!take_tuple(r, 4, m->n_nodes, tet))
            return false;
        if (m->tet != NULL)
            memcpy(m->tet[i], tet, sizeof tet);
    }
    if (!take_number_of(r, "faces", 8, &n))
        return false;
    m->n_faces = n;
    for (size_t i = 0; i < n; i++) {
        size_t facet, face[3];
        if (!take_count(r, solid->n_facets, &facet) || !take_tuple(r, 3, m->n_nodes, face))
            return false;
        if (m->face == NULL)
            continue;
        m->surface[i] = solid->facet[facet].surface;
        memcpy(m->face[i], face, sizeof face);
    }
    return expect(r, "end");
}

ebb_status ebb_mesh_read(ebb_ctx *ctx, const ebb_solid *solid, const char *text, size_t length,
                         ebb_mesh **mesh)
{
    *mesh = NULL;
    reader r = {ctx, text, text + length, 1};
    ebb_mesh counts = {0};
    if (!read_lists(&r, solid, &counts))
        return EBB_E_IO;
    skip_blanks(&r);
    if (r.at != r.end) {
        refuse(&r, "something stands behind the end");
        return EBB_E_IO;
    }
    ebb_mesh *m = ebb_mesh_new(ctx, counts.n_nodes, counts.n_tets, counts.n_faces);
    if (m == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a mesh");
    m->n_surfaces = solid->n_surfaces;
    r.at = text;
    if (!read_lists(&r, solid, m) || !ebb_mesh_settle(ctx, m)) {
        ebb_mesh_free(m);
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a mesh");
    }
    *mesh = m;
    return EBB_OK;
}
