/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * svg.c - drawings as SVG text that can stand in a page.
 *
 * The names that cairo gives to glyphs, clips and surfaces are unique within one file only, and
 * some count through the life of the process. Here every one is replaced by prefix and a number in
 * the order of appearance: two pictures can share a page, and a rerun gives the same bytes. Style
 * attributes become plain attributes, so that a page may forbid inline styles.
 */
#include "output.h"

#include <string.h>

enum { MOST_NAMES = 4096, NAME = 40 };

/* Names met so far; the index of one is its new number. */
typedef struct names {
    size_t n;
    char (*name)[NAME];
} names;

/* A growing text. */
typedef struct text {
    ebb_arena *arena;
    char *data;
    size_t length, room;
    bool failed;
} text;

/* Doubles its room when it runs out. The old piece stays in the arena until that is freed; the
 * sum of all pieces is at most twice the text. */
static void append(text *t, const char *data, size_t length)
{
    if (t->failed) {
        return;
    }
    if (t->length + length + 1 > t->room) {
        const size_t room = 2 * (t->length + length + 1) + 4096;
        char *larger = EBB_NEW(t->arena, char, room);
        if (!larger) {
            t->failed = true;
            return;
        }
        if (t->length) {
            memcpy(larger, t->data, t->length);
        }
        t->data = larger;
        t->room = room;
    }
    memcpy(t->data + t->length, data, length);
    t->length += length;
    t->data[t->length] = '\0';
}

static cairo_status_t collect(void *closure, const unsigned char *data, unsigned int length)
{
    text *t = closure;
    append(t, (const char *)data, length);
    return t->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

/* A plain list is searched: a drawing has some hundred names, and most are met again soon. */
static void append_name(text *out, names *known, const char *prefix, const char *name,
                        size_t length)
{
    size_t i = 0;
    while (i < known->n &&
           !(strncmp(known->name[i], name, length) == 0 && known->name[i][length] == '\0')) {
        i++;
    }
    if (i == known->n) {
        if (i == MOST_NAMES || length >= NAME) {
            out->failed = true;
            return;
        }
        memcpy(known->name[known->n++], name, length);
    }
    const char *fresh = ebb_arena_format(out->arena, "%s%zu", prefix, i);
    if (!fresh) {
        out->failed = true;
        return;
    }
    append(out, fresh, strlen(fresh));
}

/* Copies up to `stop` characters that begin a name, then the name replaced, up to `end`. */
static const char *rename_one(text *out, names *known, const char *prefix, const char *from,
                              size_t lead, char end)
{
    const char *name = from + lead;
    const char *after = strchr(name, end);
    if (!after) {
        out->failed = true;
        return from + lead;
    }
    append(out, from, lead);
    append_name(out, known, prefix, name, (size_t)(after - name));
    return after;
}

/* style="a:b;c:d;" becomes a="b" c="d". */
static const char *plain_style(text *out, names *known, const char *prefix, const char *from)
{
    const char *at = from + strlen("style=\"");
    bool first = true;
    while (*at && *at != '"') {
        const char *colon = strchr(at, ':');
        const size_t value = colon ? strcspn(colon + 1, ";\"") : 0;
        if (!colon) {
            out->failed = true;
            return at;
        }
        append(out, " ", first ? 0 : 1);
        append(out, at, (size_t)(colon - at));
        append(out, "=\"", 2);
        if (strncmp(colon + 1, "url(#", 5) == 0) {
            rename_one(out, known, prefix, colon + 1, 5, ')');
            append(out, ")", 1);
        } else {
            append(out, colon + 1, value);
        }
        append(out, "\"", 1);
        first = false;
        at = colon + 1 + value;
        at += *at == ';' ? 1 : 0;
    }
    return *at ? at + 1 : at;
}

/* Copies the <svg> element with fresh names. */
static void rewrite(text *out, names *known, const char *prefix, const char *svg)
{
    static const struct {
        const char *lead;
        char end;
    } NAMED[] = {{" id=\"", '"'}, {"xlink:href=\"#", '"'}, {"url(#", ')'}};
    const char *at = svg, *from = svg;
    while (*at && !out->failed) {
        size_t k = 0;
        while (k < 3 && strncmp(at, NAMED[k].lead, strlen(NAMED[k].lead)) != 0) {
            k++;
        }
        const bool style = strncmp(at, "style=\"", 7) == 0;
        if (k == 3 && !style) {
            at++;
            continue;
        }
        append(out, from, (size_t)(at - from));
        from = at = style ? plain_style(out, known, prefix, at)
                          : rename_one(out, known, prefix, at, strlen(NAMED[k].lead), NAMED[k].end);
    }
    append(out, from, (size_t)(at - from));
}

/* Separate from drawing, so that it can be tested with texts that cairo never wrote. */
ebb_status ebb_draw_svg_clean(ebb_ctx *ctx, ebb_arena *arena, const ebb_picture *picture,
                              const char *raw, const char **svg)
{
    text out = {.arena = arena};
    names known = {0, ebb_arena_alloc(arena, MOST_NAMES, NAME)};
    /* The element starts with a size of its own; the view box alone lets it fill its place. */
    const char *body = strstr(raw, "<svg ");
    body = body ? strchr(body, '>') : NULL;
    const char *head = ebb_arena_format(
        arena,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:xlink=\"http://www.w3.org/1999/xlink\" "
        "viewBox=\"0 0 %g %g\" version=\"1.1\"",
        picture->width, picture->height);
    if (!known.name || !head) {
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a drawing");
    }
    if (!body) {
        return ebb_fail(ctx, EBB_E_NUMERIC, "the drawing came out without an <svg> element");
    }
    append(&out, head, strlen(head));
    rewrite(&out, &known, picture->prefix, body);
    if (out.failed) {
        return ebb_fail(ctx, EBB_E_NOMEM, "a drawing is too large to be named anew");
    }
    *svg = out.data;
    return EBB_OK;
}

ebb_status ebb_draw_svg(ebb_ctx *ctx, ebb_arena *arena, const ebb_picture *picture,
                        const char **svg)
{
    *svg = NULL;
    text raw = {.arena = arena};
    cairo_surface_t *surface =
        cairo_svg_surface_create_for_stream(collect, &raw, picture->width, picture->height);
    cairo_t *cr = cairo_create(surface);
    const ebb_frame frame = {0.0, 0.0, picture->width, picture->height};
    ebb_status status = picture->paint(ctx, cr, &frame, picture->what);
    cairo_surface_finish(surface);
    if (status == EBB_OK) {
        status = ebb_draw_check(ctx, cr);
    }
    if (status == EBB_OK && cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS) {
        status = ebb_fail(ctx, EBB_E_NOMEM, "the drawing could not be written");
    }
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    if (status != EBB_OK) {
        return status;
    }
    return ebb_draw_svg_clean(ctx, arena, picture, raw.data ? raw.data : "", svg);
}
