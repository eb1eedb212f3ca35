/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/cache.h - costly results kept in files from run to run.
 *
 * An entry is a key, which says all that the result depends on, and the bytes of the result. It
 * lies in a file named by a hash of the key, which holds the whole key again and a check sum.
 * Files are written beside and renamed, so that several programs may share a folder and a kill
 * leaves nothing broken. Whatever goes wrong here is a warning at most: the result can be made
 * anew.
 */
#ifndef EBB_CACHE_H
#define EBB_CACHE_H

#include <ebb/arena.h>

#ifdef __cplusplus
extern "C" {
#endif

/* The folder for a cache, made when it is not there: `wished`, or when that is NULL what EBB_CACHE
 * names, else "ebb" in XDG_CACHE_HOME or in ~/.cache. Memory in arena. NULL: no cache, since that
 * was asked for by "" or, with a warning, since the folder can not be made. */
EBB_API const char *ebb_cache_folder(ebb_ctx *ctx, ebb_arena *arena, const char *wished);

/* The result kept under a key; memory in arena, aligned like the arena's own. False when there is
 * none; also, with a warning, when its file is damaged, of another key or can not be read. folder
 * NULL: none. */
EBB_API bool ebb_cache_load(ebb_ctx *ctx, ebb_arena *arena, const char *folder, const void *key,
                            size_t n_key, const void **data, size_t *n);

/* Keeps a result under a key, in the place of what was there. False, with a warning, when it could
 * not be written; false for folder NULL. Entries not used for longest go when there are more than
 * 64 of them or more than 2 GiB. */
EBB_API bool ebb_cache_save(ebb_ctx *ctx, const char *folder, const void *key, size_t n_key,
                            const void *data, size_t n);

#ifdef __cplusplus
}
#endif
#endif
