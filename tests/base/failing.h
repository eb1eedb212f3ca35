/* SPDX-License-Identifier: GPL-3.0-or-later */
/* An allocator that fails when told to, counts what is not yet given back, and hands out memory
 * full of rubbish, as a long-running program would get it. */
#ifndef TESTS_BASE_FAILING_H
#define TESTS_BASE_FAILING_H

#include <ebb/status.h>

#include <stdlib.h>
#include <string.h>

typedef struct failing {
    long left; /* allocations that still succeed; negative: all do */
    long blocks;
    long asked;
} failing;

static inline void *failing_resize(void *user, void *pointer, size_t size)
{
    failing *f = user;
    if (size == 0) {
        f->blocks -= pointer != NULL;
        free(pointer);
        return NULL;
    }
    f->asked++;
    if (f->left == 0)
        return NULL;
    if (f->left > 0)
        f->left--;
    void *block = realloc(pointer, size);
    if (block != NULL && pointer == NULL) {
        f->blocks++;
        memset(block, 0xA5, size);
    }
    return block;
}

static inline ebb_ctx *failing_ctx(failing *f)
{
    const ebb_allocator allocator = {failing_resize, f};
    return ebb_ctx_new_with(&allocator);
}

#endif
