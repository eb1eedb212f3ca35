/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/file.h - reading whole files, and writing so that nothing is ever half-written.
 */
#ifndef EBB_FILE_H
#define EBB_FILE_H

#include <ebb/arena.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Reads a whole regular file (at most limit bytes) into arena, adds a terminating 0 byte that does
 * not count in *length. Errors: EBB_E_IO (missing, unreadable, a folder), EBB_E_INPUT (longer). */
EBB_API ebb_status ebb_file_read(ebb_ctx *ctx, ebb_arena *arena, const char *path, size_t limit,
                                 char **data, size_t *length);

/* A file being written beside its target; opaque. */
typedef struct ebb_draft ebb_draft;

/* Starts a draft beside `path` (same folder, so that the rename is atomic). *draft is new: end it
 * with ebb_draft_commit or ebb_draft_drop. */
EBB_API ebb_status ebb_draft_open(ebb_ctx *ctx, const char *path, ebb_draft **draft);
/* Appends bytes; EBB_E_IO on a full disk. Buffered. */
EBB_API ebb_status ebb_draft_write(ebb_ctx *ctx, ebb_draft *draft, const void *data, size_t length);
/* Flushes, fsyncs, renames over the target and frees the draft (stolen); on failure the target is
 * untouched and the draft file removed. */
EBB_API ebb_status ebb_draft_commit(ebb_ctx *ctx, ebb_draft *draft);
/* Removes the draft file and frees the draft (stolen); NULL is fine. */
EBB_API void ebb_draft_drop(ebb_draft *draft);

#ifdef __cplusplus
}
#endif
#endif
