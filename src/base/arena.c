/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Memory that is released all at once: chunks in a list, filled from the front.
 *
 * Why not one malloc per array: a function that needs ten arrays would have ten places to fail and
 * ten things to free on every way out. With an arena it asks for all, tests once, and frees one
 * thing at its single exit. Chunks double up to 1 MiB, so that a small result costs 4 KiB and a
 * large one few calls; blocks larger than the next chunk get a chunk to themselves.
 */
#include <ebb/arena.h>

#include <stdint.h>
#include <stdio.h>
#include <string.h>

/* One cache line, and enough for any vector instruction of the linear algebra. */
#define ALIGNMENT ((size_t)64)
#define FIRST_CHUNK ((size_t)4096)
#define LARGEST_CHUNK ((size_t)1 << 20)

typedef struct chunk {
    struct chunk *next;
    size_t used, size; /* bytes after the header */
} chunk;

struct ebb_arena {
    ebb_allocator allocator;
    chunk *first;      /* the chunk being filled */
    size_t next_chunk; /* size of the chunk to come */
};

/* The allocator is copied: the arena must work, and be freed, on threads that may not touch the
 * context. */
ebb_arena *ebb_arena_new(const ebb_ctx *ctx)
{
    const ebb_allocator *allocator = ebb_ctx_allocator(ctx);
    ebb_arena *arena = allocator->resize(allocator->user, NULL, sizeof *arena);
    if (arena == NULL)
        return NULL;
    *arena = (ebb_arena){.allocator = *allocator, .next_chunk = FIRST_CHUNK};
    return arena;
}

void ebb_arena_free(ebb_arena *arena)
{
    if (arena == NULL)
        return;
    const ebb_allocator allocator = arena->allocator;
    /* The arena itself goes last: it holds the allocator that frees the chunks. */
    for (chunk *c = arena->first; c != NULL;) {
        chunk *next = c->next;
        allocator.resize(allocator.user, c, 0);
        c = next;
    }
    allocator.resize(allocator.user, arena, 0);
}

void ebb_arena_join(ebb_arena *arena, ebb_arena *from)
{
    if (from == NULL)
        return;
    /* Behind the chunk being filled, so that its room is not forgotten. */
    chunk **end = arena->first != NULL ? &arena->first->next : &arena->first;
    chunk *rest = *end;
    *end = from->first;
    while (*end != NULL)
        end = &(*end)->next;
    *end = rest;
    from->first = NULL;
    ebb_arena_free(from);
}

/* The aligned place for `bytes` in a chunk, or NULL when it has no room for them. */
static void *take(chunk *c, size_t bytes)
{
    unsigned char *start = (unsigned char *)(c + 1) + c->used;
    const size_t skip = (ALIGNMENT - (uintptr_t)start % ALIGNMENT) % ALIGNMENT;
    const size_t left = c->size - c->used;
    if (left < skip || left - skip < bytes)
        return NULL;
    c->used += skip + bytes;
    return start + skip;
}

/* A new chunk that holds `bytes` wherever the allocator puts it: it promises less alignment than
 * we do. */
static chunk *add_chunk(ebb_arena *arena, size_t bytes)
{
    size_t size = bytes + ALIGNMENT;
    const bool alone = size > arena->next_chunk;
    if (!alone) {
        size = arena->next_chunk;
        if (arena->next_chunk < LARGEST_CHUNK)
            arena->next_chunk *= 2;
    }
    chunk *c = arena->allocator.resize(arena->allocator.user, NULL, sizeof *c + size);
    if (c == NULL)
        return NULL;
    *c = (chunk){.size = size};
    /* A chunk made for one large block is full at once: it goes behind the one being filled. */
    chunk **where = alone && arena->first != NULL ? &arena->first->next : &arena->first;
    c->next = *where;
    *where = c;
    return c;
}

void *ebb_arena_raw(ebb_arena *arena, size_t count, size_t size)
{
    /* Two alignments and a header must still fit when the product is near the top. */
    const size_t most = SIZE_MAX / 2;
    if (arena == NULL || (size != 0 && count > most / size))
        return NULL;
    /* Nothing asked for still gives a pointer of its own, so that NULL always means failure. */
    const size_t bytes = count * size != 0 ? count * size : 1;
    void *block = arena->first != NULL ? take(arena->first, bytes) : NULL;
    if (block == NULL) {
        chunk *c = add_chunk(arena, bytes);
        block = c != NULL ? take(c, bytes) : NULL;
    }
    return block;
}

/* Zeroing is not left to the allocator: replaced ones need not zero, and results must never depend
 * on what was in memory before. */
void *ebb_arena_alloc(ebb_arena *arena, size_t count, size_t size)
{
    void *block = ebb_arena_raw(arena, count, size);
    if (block != NULL && count != 0 && size != 0)
        memset(block, 0, count * size);
    return block;
}

char *ebb_arena_text(ebb_arena *arena, const char *text)
{
    const size_t size = strlen(text) + 1;
    char *copy = EBB_NEW(arena, char, size);
    if (copy != NULL)
        memcpy(copy, text, size);
    return copy;
}

/* Printed twice, the first time only to measure: texts have no largest length. */
char *ebb_arena_format(ebb_arena *arena, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    const int length = vsnprintf(NULL, 0, format, values);
    va_end(values);
    if (length < 0)
        return NULL;
    char *text = EBB_NEW(arena, char, (size_t)length + 1);
    if (text == NULL)
        return NULL;
    va_start(values, format);
    vsnprintf(text, (size_t)length + 1, format, values);
    va_end(values);
    return text;
}
