/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/arena.h - memory that is released all at once.
 *
 * Results that own memory own one arena; scratch work opens an arena, and frees it on its single
 * way out. Memory is zeroed and aligned to 64 bytes. An arena is used by one thread at a time.
 */
#ifndef EBB_ARENA_H
#define EBB_ARENA_H

#include <ebb/status.h>

#ifdef __cplusplus
extern "C" {
#endif

typedef struct ebb_arena ebb_arena;

/* New arena using the allocator of ctx; free with ebb_arena_free. NULL when out of memory (no
 * message is recorded, so that worker threads may call it). */
EBB_API ebb_arena *ebb_arena_new(const ebb_ctx *ctx);
/* Frees everything in it; NULL is fine. */
EBB_API void ebb_arena_free(ebb_arena *arena);
/* Moves everything out of `from` (stolen) into `arena`. NULL for `from` is fine. Both must come
 * from contexts with the same allocator. */
EBB_API void ebb_arena_join(ebb_arena *arena, ebb_arena *from);
/* count * size zeroed bytes, borrowed from the arena; NULL on overflow, out of memory or when
 * arena is NULL. A count or size of 0 gives a valid pointer that must not be read. */
EBB_API void *ebb_arena_alloc(ebb_arena *arena, size_t count, size_t size);
/* The same, holding anything: for large arrays of which every number is written before it is read.
 * Zeroing what is never touched costs more than all else that some of them are for. */
EBB_API void *ebb_arena_raw(ebb_arena *arena, size_t count, size_t size);
/* Copies of a text, of a formatted text; borrowed from the arena, NULL as above. */
EBB_API char *ebb_arena_text(ebb_arena *arena, const char *text);
EBB_API char *ebb_arena_format(ebb_arena *arena, const char *format, ...) EBB_PRINTF(2, 3);

/* Typed allocation: EBB_NEW(arena, double, n). */
#define EBB_NEW(arena, type, count) ((type *)ebb_arena_alloc((arena), (count), sizeof(type)))
#define EBB_RAW(arena, type, count) ((type *)ebb_arena_raw((arena), (count), sizeof(type)))

#ifdef __cplusplus
}
#endif
#endif
