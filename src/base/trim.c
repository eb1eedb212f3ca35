/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A cache that may not grow for ever.
 *
 * Another program may remove the same entries at the same time, or use one just now: neither does
 * harm, since a file that is open stays readable and one that is gone is made anew.
 */
#include "trim.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define MOST_ENTRIES 64
#define MOST_BYTES ((long long)2 << 30)
#define MOST_LOOKED_AT 4096
#define DAY (24.0 * 3600)

typedef struct entry {
    const char *path;
    struct timespec used;
    long long bytes;
} entry;

void ebb_base_touch(const char *path)
{
    (void)utimensat(AT_FDCWD, path, NULL, 0);
}

/* Last used first; names decide between equals. */
static int compare(const void *left, const void *right)
{
    const entry *a = left, *b = right;
    if (a->used.tv_sec != b->used.tv_sec)
        return a->used.tv_sec > b->used.tv_sec ? -1 : 1;
    if (a->used.tv_nsec != b->used.tv_nsec)
        return a->used.tv_nsec > b->used.tv_nsec ? -1 : 1;
    return strcmp(a->path, b->path);
}

static bool ends_with(const char *text, const char *end)
{
    const size_t n = strlen(text), n_end = strlen(end);
    return n >= n_end && strcmp(text + n - n_end, end) == 0;
}

/* Drafts are named after their target, see file.c. */
static void remove_old_draft(const char *path, const struct stat *info)
{
    if (difftime(time(NULL), info->st_mtime) > DAY)
        (void)unlink(path);
}

/* Entries are listed, old drafts removed on the way. Names that we did not give are left alone, and
 * so is whatever is no plain file: the folder may be somebody's own. */
static size_t list(ebb_arena *arena, DIR *dir, const char *folder, entry *found)
{
    size_t n = 0;
    for (struct dirent *d; n < MOST_LOOKED_AT && (d = readdir(dir)) != NULL;) {
        struct stat info;
        const bool kept = ends_with(d->d_name, EBB_BASE_CACHED);
        const bool draft = d->d_name[0] == '.' && ends_with(d->d_name, ".draft") &&
                           strstr(d->d_name, EBB_BASE_CACHED) != NULL;
        if (!kept && !draft)
            continue;
        const char *path = ebb_arena_format(arena, "%s/%s", folder, d->d_name);
        if (path == NULL || lstat(path, &info) != 0 || !S_ISREG(info.st_mode))
            continue;
        if (draft)
            remove_old_draft(path, &info);
        else
            found[n++] = (entry){path, info.st_mtim, (long long)info.st_size};
    }
    return n;
}

/* The newest entry stays even if it is too large by itself: it has just cost its time. */
void ebb_base_trim(ebb_arena *arena, const char *folder)
{
    DIR *dir = opendir(folder);
    entry *found = EBB_NEW(arena, entry, MOST_LOOKED_AT);
    if (dir != NULL && found != NULL) {
        const size_t n = list(arena, dir, folder, found);
        long long sum = 0;
        qsort(found, n, sizeof *found, compare);
        for (size_t i = 0; i < n; i++) {
            sum += found[i].bytes;
            if (i >= MOST_ENTRIES || (i > 0 && sum > MOST_BYTES))
                (void)unlink(found[i].path);
        }
    }
    if (dir != NULL)
        closedir(dir);
}
