/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Results kept in files. An entry's file: the head below, the key, zeros up to a multiple of 64
 * bytes, the data, the check sum of all that.
 *
 * Everything runs on a context of its own: an error of the file system is the user's to know, but
 * never a reason to fail.
 */
#include <ebb/cache.h>

#include <ebb/file.h>

#include "trim.h"

#include <errno.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define LARGEST ((size_t)1 << 30) /* bytes of a file that are read */
#define ALIGNED 64
#define MARK "ebb-cache 1\n"
#define ORDER 0x0102030405060708ULL

typedef struct head {
    char mark[16];
    uint64_t order; /* a file from a machine with another order of bytes is of no use */
    uint64_t n_key, n;
    char zeros[24];
} head;

_Static_assert(sizeof(head) == ALIGNED, "the key begins aligned");

/* ---- sums ------------------------------------------------------------------------------------ */

/* One step can be undone for known bytes, so that two texts which differ in one place never have
 * the same sum. */
static uint64_t mix(uint64_t sum, uint64_t word)
{
    sum = (sum ^ word) * 0x9E3779B97F4A7C15ULL;
    return sum ^ (sum >> 29);
}

static uint64_t sum_of(uint64_t start, const void *data, size_t n)
{
    const unsigned char *at = data;
    uint64_t sum = mix(start, n), word;
    for (; n >= sizeof word; at += sizeof word, n -= sizeof word) {
        memcpy(&word, at, sizeof word);
        sum = mix(sum, word);
    }
    word = 0;
    if (n > 0)
        memcpy(&word, at, n);
    return mix(mix(sum, word), start);
}

static const char *path_of(ebb_arena *arena, const char *folder, const void *key, size_t n_key)
{
    return ebb_arena_format(arena, "%s/%016llx%016llx" EBB_BASE_CACHED, folder,
                            (unsigned long long)sum_of(1, key, n_key),
                            (unsigned long long)sum_of(2, key, n_key));
}

/* Bytes before the data. */
static size_t front_of(size_t n_key)
{
    return (sizeof(head) + n_key + ALIGNED - 1) / ALIGNED * ALIGNED;
}

/* ---- the folder ------------------------------------------------------------------------------ */

/* Makes a folder and those above it. */
static bool make_folder(char *path)
{
    for (char *at = path + 1; *at != '\0'; at++)
        if (*at == '/') {
            *at = '\0';
            (void)mkdir(path, 0777); /* whether it worked shows at the last one */
            *at = '/';
        }
    struct stat info;
    if ((mkdir(path, 0700) != 0 && errno != EEXIST) || stat(path, &info) != 0)
        return false;
    errno = ENOTDIR;
    return S_ISDIR(info.st_mode);
}

/* Where the system keeps what can be made again: backups leave it out. */
static char *default_folder(ebb_arena *arena)
{
    const char *named = getenv("EBB_CACHE");
    if (named != NULL)
        return ebb_arena_text(arena, named);
    const char *cache = getenv("XDG_CACHE_HOME"), *home = getenv("HOME");
    if (cache != NULL && cache[0] == '/') /* others are to be ignored, says its description */
        return ebb_arena_format(arena, "%s/ebb", cache);
    if (home != NULL && home[0] == '/')
        return ebb_arena_format(arena, "%s/.cache/ebb", home);
    return NULL;
}

const char *ebb_cache_folder(ebb_ctx *ctx, ebb_arena *arena, const char *wished)
{
    char *folder = wished != NULL ? ebb_arena_text(arena, wished) : default_folder(arena);
    if (folder == NULL || folder[0] == '\0')
        return NULL;
    if (make_folder(folder))
        return folder;
    const ebb_place place = {.file = folder};
    ebb_warn_at(ctx, &place, "nothing is kept for later runs: the folder can not be made: %s",
                strerror(errno));
    return NULL;
}

/* ---- entries --------------------------------------------------------------------------------- */

/* The first error of a context of our own becomes a warning. */
static void warn(ebb_ctx *ctx, const ebb_ctx *own, const char *path, const char *what)
{
    const ebb_place place = {.file = path};
    const ebb_message *first =
        own != NULL && ebb_ctx_messages(own) > 0 ? ebb_ctx_message(own, 0) : NULL;
    ebb_warn_at(ctx, &place, "%s: %s", what, first != NULL ? first->text : "out of memory");
}

/* In the order in which one can still trust what comes next: lengths before what they measure, the
 * sum last. The whole key is compared, so two keys with one hash are no danger. */
static bool is_whole(const char *file, size_t length, const void *key, size_t n_key, size_t *n)
{
    head h;
    if (length < sizeof h)
        return false;
    memcpy(&h, file, sizeof h);
    const size_t front = front_of(n_key);
    if (strncmp(h.mark, MARK, sizeof h.mark) != 0 || h.order != ORDER || h.n_key != n_key ||
        length < front + sizeof(uint64_t) || h.n != length - front - sizeof(uint64_t) ||
        memcmp(file + sizeof h, key, n_key) != 0)
        return false;
    uint64_t sum;
    memcpy(&sum, file + front + h.n, sizeof sum);
    *n = (size_t)h.n;
    return sum == sum_of(sum_of(0, file, front), file + front, *n);
}

bool ebb_cache_load(ebb_ctx *ctx, ebb_arena *arena, const char *folder, const void *key,
                    size_t n_key, const void **data, size_t *n)
{
    struct stat info;
    char *file;
    size_t length;
    *data = NULL;
    *n = 0;
    const char *path = folder != NULL ? path_of(arena, folder, key, n_key) : NULL;
    if (path == NULL || (stat(path, &info) != 0 && errno == ENOENT))
        return false;
    ebb_ctx *own = ebb_ctx_new_with(ebb_ctx_allocator(ctx));
    const bool read =
        own != NULL && ebb_file_read(own, arena, path, LARGEST, &file, &length) == EBB_OK;
    const bool whole = read && is_whole(file, length, key, n_key, n);
    const ebb_place place = {.file = path};
    if (!read)
        warn(ctx, own, path, "a kept result can not be used and is made anew");
    else if (!whole)
        ebb_warn_at(ctx, &place, "a kept result is damaged or not ours and is made anew");
    else
        ebb_base_touch(path);
    ebb_ctx_free(own);
    if (whole)
        *data = file + front_of(n_key);
    else
        *n = 0;
    return whole;
}

/* The check sum goes last: a file that was cut anywhere can not have it. */
static ebb_status write_entry(ebb_ctx *own, const char *path, const char *front, size_t n_front,
                              const void *data, size_t n)
{
    ebb_draft *draft;
    const uint64_t sum = sum_of(sum_of(0, front, n_front), data, n);
    ebb_status status = ebb_draft_open(own, path, &draft);
    if (status != EBB_OK)
        return status;
    status = ebb_draft_write(own, draft, front, n_front);
    if (status == EBB_OK)
        status = ebb_draft_write(own, draft, data, n);
    if (status == EBB_OK)
        status = ebb_draft_write(own, draft, &sum, sizeof sum);
    if (status == EBB_OK)
        return ebb_draft_commit(own, draft);
    ebb_draft_drop(draft);
    return status;
}

bool ebb_cache_save(ebb_ctx *ctx, const char *folder, const void *key, size_t n_key,
                    const void *data, size_t n)
{
    const size_t n_front = front_of(n_key);
    if (folder == NULL)
        return false;
    ebb_ctx *own = ebb_ctx_new_with(ebb_ctx_allocator(ctx));
    ebb_arena *arena = ebb_arena_new(own);
    const char *path = path_of(arena, folder, key, n_key);
    char *front = EBB_NEW(arena, char, n_front);
    bool kept = false;
    if (own != NULL && path != NULL && front != NULL) {
        const head h = {.mark = MARK, .order = ORDER, .n_key = n_key, .n = n};
        memcpy(front, &h, sizeof h);
        memcpy(front + sizeof h, key, n_key);
        kept = write_entry(own, path, front, n_front, data, n) == EBB_OK;
    }
    if (kept)
        ebb_base_trim(arena, folder);
    else
        warn(ctx, own, path != NULL ? path : folder, "a result can not be kept for later runs");
    ebb_arena_free(arena);
    ebb_ctx_free(own);
    return kept;
}
