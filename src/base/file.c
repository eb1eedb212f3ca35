/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Whole files in, and files out that are never half-written. All system calls of the library on
 * files are here.
 *
 * A file is written beside its target under a hidden name, flushed to the disk, and only then
 * renamed over the target, which the file system does in one step. Whoever looks sees the old file
 * or the new one, also after a full disk, a crash or a power cut. If the program is killed on the
 * way, the hidden draft stays behind; it does no harm.
 */
#include <ebb/file.h>

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* Reports come in many small pieces; one write per piece would be slow. */
#define BUFFER_SIZE ((size_t)65536)

/* ---- reading --------------------------------------------------------------------------------- */

/* What failed, in words, with the system's reason: both are needed to do something about it. */
static ebb_status fail_io(ebb_ctx *ctx, const char *path, const char *what, int error)
{
    const ebb_place place = {.file = path};
    return ebb_fail_at(ctx, EBB_E_IO, &place, "%s: %s", what, strerror(error));
}

/* Reads until the end or until `size` bytes are there; the count, or -1 with errno set. */
static ssize_t read_fully(int fd, char *data, size_t size)
{
    size_t got = 0;
    while (got < size) {
        const ssize_t n = read(fd, data + got, size - got);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0)
            return -1;
        if (n == 0)
            break;
        got += (size_t)n;
    }
    return (ssize_t)got;
}

static ebb_status read_open_file(ebb_ctx *ctx, ebb_arena *arena, int fd, const char *path,
                                 size_t limit, char **data, size_t *length)
{
    const ebb_place place = {.file = path};
    /* Asked of the open file, not of its name: the name could lead elsewhere a moment later. */
    struct stat info;
    if (fstat(fd, &info) != 0)
        return fail_io(ctx, path, "cannot be looked at", errno);
    if (S_ISDIR(info.st_mode))
        return ebb_fail_at(ctx, EBB_E_IO, &place, "is a folder, not a file");
    if (!S_ISREG(info.st_mode))
        return ebb_fail_at(ctx, EBB_E_IO, &place, "is not an ordinary file");
    if ((unsigned long long)info.st_size > limit)
        return ebb_fail_at(ctx, EBB_E_INPUT, &place, "has %lld bytes; at most %zu are read",
                           (long long)info.st_size, limit);
    /* One byte more than the size tells whether the file grew meanwhile. */
    const size_t size = (size_t)info.st_size;
    char *text = EBB_NEW(arena, char, size + 1);
    if (text == NULL)
        return ebb_fail_at(ctx, EBB_E_NOMEM, &place, "no memory for %zu bytes", size);
    const ssize_t got = read_fully(fd, text, size + 1);
    if (got < 0)
        return fail_io(ctx, path, "cannot be read", errno);
    if ((size_t)got > size)
        return ebb_fail_at(ctx, EBB_E_IO, &place, "grew while it was read");
    text[got] = '\0';
    *data = text;
    *length = (size_t)got;
    return EBB_OK;
}

ebb_status ebb_file_read(ebb_ctx *ctx, ebb_arena *arena, const char *path, size_t limit,
                         char **data, size_t *length)
{
    *data = NULL;
    *length = 0;
    /* O_NONBLOCK: opening a pipe without a writer must not hang; it is refused just below. */
    const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    if (fd < 0)
        return fail_io(ctx, path, "cannot be opened", errno);
    const ebb_status status = read_open_file(ctx, arena, fd, path, limit, data, length);
    close(fd);
    return status;
}

/* ---- writing --------------------------------------------------------------------------------- */

struct ebb_draft {
    ebb_arena *arena; /* holds this and the texts */
    char *target;     /* as given, links followed */
    char *path;       /* of the draft; NULL when the target is written directly */
    int fd;
    bool failed; /* a write has failed: the draft may never be committed */
    size_t used;
    char buffer[BUFFER_SIZE];
};

/* Follows links, so that the file they lead to is replaced and not the link itself. */
static char *follow_links(ebb_arena *arena, const char *path)
{
    struct stat info;
    if (lstat(path, &info) != 0 || !S_ISLNK(info.st_mode))
        return ebb_arena_text(arena, path);
    char *target = EBB_NEW(arena, char, PATH_MAX);
    if (target == NULL || realpath(path, target) != NULL)
        return target;
    return ebb_arena_text(arena, path);
}

/* Creates a new file beside the target, hidden, under a name nobody uses. */
static int create_beside(ebb_draft *draft, mode_t mode)
{
    const char *slash = strrchr(draft->target, '/');
    const char *name = slash != NULL ? slash + 1 : draft->target;
    for (int i = 0; i < 100; i++) {
        draft->path =
            ebb_arena_format(draft->arena, "%.*s.%s.%ld-%d.draft", (int)(name - draft->target),
                             draft->target, name, (long)getpid(), i);
        if (draft->path == NULL) {
            errno = ENOMEM;
            return -1;
        }
        const int fd = open(draft->path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode);
        if (fd >= 0 || errno != EEXIST)
            return fd;
    }
    return -1;
}

static int open_draft_file(ebb_draft *draft)
{
    struct stat info;
    if (stat(draft->target, &info) != 0)
        return create_beside(draft, 0666); /* a new file: the umask decides */
    /* Said here: the rename at the very end would fail with much less clear words. */
    if (S_ISDIR(info.st_mode)) {
        errno = EISDIR;
        return -1;
    }
    /* A device or pipe is written as it is: renaming over it would destroy it. */
    if (!S_ISREG(info.st_mode))
        return open(draft->target, O_WRONLY | O_CLOEXEC);
    /* Closed to others until it has the mode of the file it replaces. */
    const int fd = create_beside(draft, 0600);
    if (fd >= 0)
        (void)fchmod(fd, info.st_mode & 0777); /* keep who may read it, if we may */
    return fd;
}

ebb_status ebb_draft_open(ebb_ctx *ctx, const char *path, ebb_draft **draft)
{
    *draft = NULL;
    const ebb_place place = {.file = path};
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_draft *d = EBB_NEW(arena, ebb_draft, 1);
    char *target = d != NULL ? follow_links(arena, path) : NULL;
    if (target == NULL) {
        ebb_arena_free(arena);
        return ebb_fail_at(ctx, EBB_E_NOMEM, &place, "no memory to write it");
    }
    d->arena = arena;
    d->target = target;
    d->fd = open_draft_file(d);
    if (d->fd < 0) {
        const int error = errno;
        ebb_arena_free(arena);
        return fail_io(ctx, path, "cannot be written", error);
    }
    *draft = d;
    return EBB_OK;
}

/* Writes all bytes; on failure marks the draft and records the error. */
static ebb_status write_fully(ebb_ctx *ctx, ebb_draft *draft, const char *data, size_t length)
{
    while (length > 0) {
        const ssize_t n = write(draft->fd, data, length);
        if (n < 0 && errno == EINTR)
            continue;
        if (n < 0) {
            draft->failed = true;
            return fail_io(ctx, draft->target, "cannot be written", errno);
        }
        data += n;
        length -= (size_t)n;
    }
    return EBB_OK;
}

/* The buffer is forgotten even if writing fails: the draft can only be dropped then. */
static ebb_status flush(ebb_ctx *ctx, ebb_draft *draft)
{
    const size_t used = draft->used;
    draft->used = 0;
    return write_fully(ctx, draft, draft->buffer, used);
}

ebb_status ebb_draft_write(ebb_ctx *ctx, ebb_draft *draft, const void *data, size_t length)
{
    if (draft->failed)
        return ebb_fail(ctx, EBB_E_IO, "an earlier write has failed");
    if (length > BUFFER_SIZE - draft->used) {
        const ebb_status status = flush(ctx, draft);
        if (status != EBB_OK)
            return status;
    }
    /* Larger than the buffer: copying it there would gain nothing. */
    if (length > BUFFER_SIZE)
        return write_fully(ctx, draft, data, length);
    if (length > 0)
        memcpy(draft->buffer + draft->used, data, length);
    draft->used += length;
    return EBB_OK;
}

/* Makes the new name of a renamed file last through a power cut. Not every file system can, and
 * the file itself is safe by then, so a failure is no error. */
static void sync_folder_of(ebb_draft *draft)
{
    const char *slash = strrchr(draft->target, '/');
    const char *folder = ".";
    if (slash != NULL)
        folder =
            ebb_arena_format(draft->arena, "%.*s", (int)(slash - draft->target + 1), draft->target);
    const int fd = folder != NULL ? open(folder, O_RDONLY | O_CLOEXEC) : -1;
    if (fd < 0)
        return;
    (void)fsync(fd);
    close(fd);
}

ebb_status ebb_draft_commit(ebb_ctx *ctx, ebb_draft *draft)
{
    ebb_status status = draft->failed ? EBB_E_IO : flush(ctx, draft);
    /* Pipes and devices have nothing to sync and say so. */
    if (status == EBB_OK && fsync(draft->fd) != 0 && draft->path != NULL)
        status = fail_io(ctx, draft->target, "cannot be written", errno);
    /* Some file systems report a full disk only here. */
    if (close(draft->fd) != 0 && status == EBB_OK)
        status = fail_io(ctx, draft->target, "cannot be written", errno);
    draft->fd = -1;
    if (status == EBB_OK && draft->path != NULL) {
        if (rename(draft->path, draft->target) != 0)
            status = fail_io(ctx, draft->target, "cannot be replaced", errno);
        else
            sync_folder_of(draft);
    }
    if (status == EBB_OK)
        draft->path = NULL; /* nothing left to remove */
    ebb_draft_drop(draft);
    return status;
}

void ebb_draft_drop(ebb_draft *draft)
{
    if (draft == NULL)
        return;
    if (draft->fd >= 0)
        close(draft->fd);
    if (draft->path != NULL)
        (void)unlink(draft->path);
    ebb_arena_free(draft->arena);
}
