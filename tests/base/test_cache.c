/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "failing.h"

#include <ebb/cache.h>

#include <dirent.h>
#include <fcntl.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "disk.h"

/* Every test has an empty folder. */
typedef struct scene {
    ebb_ctx *ctx;
    ebb_arena *arena;
    char folder[64];
} scene;

static int open_scene(void **state)
{
    scene *s = calloc(1, sizeof *s);
    s->ctx = ebb_ctx_new();
    s->arena = ebb_arena_new(s->ctx);
    strcpy(s->folder, "/tmp/ebb-cache-XXXXXX");
    *state = s;
    return s->arena == NULL || mkdtemp(s->folder) == NULL;
}

/* The name of the nth file that ends so, or NULL; in the arena. */
static const char *nth_file(const scene *s, size_t n, const char *end)
{
    const char *path = NULL;
    DIR *dir = opendir(s->folder);
    assert_non_null(dir);
    for (struct dirent *d; path == NULL && (d = readdir(dir)) != NULL;) {
        const size_t length = strlen(d->d_name), n_end = strlen(end);
        if (strcmp(d->d_name, ".") == 0 || strcmp(d->d_name, "..") == 0 || length < n_end ||
            strcmp(d->d_name + length - n_end, end) != 0)
            continue;
        if (n-- == 0)
            path = ebb_arena_format(s->arena, "%s/%s", s->folder, d->d_name);
    }
    closedir(dir);
    return path;
}

static size_t count_files(const scene *s, const char *end)
{
    size_t n = 0;
    while (nth_file(s, n, end) != NULL)
        n++;
    return n;
}

static int close_scene(void **state)
{
    scene *s = *state;
    for (const char *path; (path = nth_file(s, 0, "")) != NULL;)
        if (remove(path) != 0)
            return 1;
    const int bad = rmdir(s->folder);
    ebb_arena_free(s->arena);
    ebb_ctx_free(s->ctx);
    free(s);
    return bad;
}

static bool save(scene *s, const char *key, const char *data)
{
    return ebb_cache_save(s->ctx, s->folder, key, strlen(key), data, strlen(data));
}

static bool load(scene *s, const char *key, const void **data, size_t *n)
{
    return ebb_cache_load(s->ctx, s->arena, s->folder, key, strlen(key), data, n);
}

static void expect_kept(scene *s, const char *key, const char *wanted)
{
    const void *data;
    size_t n;
    assert_true(load(s, key, &data, &n));
    assert_int_equal(n, strlen(wanted));
    assert_memory_equal(data, wanted, n);
    assert_int_equal((uintptr_t)data % 64, 0);
}

/* Not there; with a warning that holds some words, or none at all for NULL. Never an error. */
static void expect_gone(scene *s, const char *key, const char *words)
{
    const void *data = s;
    size_t n = 7;
    ebb_ctx_clear(s->ctx);
    assert_false(load(s, key, &data, &n));
    assert_null(data);
    assert_int_equal(n, 0);
    assert_int_equal(ebb_ctx_errors(s->ctx), 0);
    assert_int_equal(ebb_ctx_messages(s->ctx), words != NULL);
    if (words != NULL)
        assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, words));
    ebb_ctx_clear(s->ctx);
}

static void test_keep(void **state)
{
    scene *s = *state;
    expect_gone(s, "one", NULL);
    assert_true(save(s, "one", "first result"));
    assert_true(save(s, "two", ""));
    expect_kept(s, "one", "first result");
    expect_kept(s, "two", "");
    expect_gone(s, "three", NULL);
    assert_true(save(s, "one", "another, longer result in its place"));
    expect_kept(s, "one", "another, longer result in its place");
    assert_int_equal(count_files(s, ""), 2);
    assert_int_equal(ebb_ctx_messages(s->ctx), 0);
}

static void test_keys_of_any_length(void **state)
{
    scene *s = *state;
    char key[200] = "";
    for (size_t n = 0; n < sizeof key - 1; n++) {
        key[n] = 'k';
        assert_true(save(s, key, key + n / 2));
        expect_kept(s, key, key + n / 2);
        assert_int_equal(remove(nth_file(s, 0, "")), 0);
    }
}

static void flip(const char *path, long at, int bit)
{
    FILE *f = fopen(path, "r+");
    assert_non_null(f);
    assert_int_equal(fseek(f, at, SEEK_SET), 0);
    const int c = fgetc(f);
    assert_int_equal(fseek(f, at, SEEK_SET), 0);
    assert_int_equal(fputc(c ^ (1 << bit), f), c ^ (1 << bit));
    assert_int_equal(fclose(f), 0);
}

/* Every bit of the file counts. */
static void test_each_damaged_bit(void **state)
{
    scene *s = *state;
    assert_true(save(s, "a key of some length", "a result of some length too"));
    const char *path = nth_file(s, 0, "");
    struct stat info;
    assert_int_equal(stat(path, &info), 0);
    assert_in_range(info.st_size, 64 + 20 + 27 + 8, 400);
    for (long at = 0; at < info.st_size; at++) {
        flip(path, at, (int)(at % 8));
        expect_gone(s, "a key of some length", "is damaged or not ours");
        flip(path, at, (int)(at % 8));
    }
    expect_kept(s, "a key of some length", "a result of some length too");
}

static void test_each_length(void **state)
{
    scene *s = *state;
    assert_true(save(s, "key", "some result"));
    const char *path = nth_file(s, 0, "");
    struct stat info;
    assert_int_equal(stat(path, &info), 0);
    assert_int_equal(truncate(path, info.st_size + 1), 0);
    expect_gone(s, "key", "is damaged");
    for (long n = info.st_size - 1; n >= 0; n--) {
        assert_int_equal(truncate(path, n), 0);
        expect_gone(s, "key", "is damaged");
    }
    assert_true(save(s, "key", "some result"));
    expect_kept(s, "key", "some result");
}

/* A whole file under the name of another key. */
static void test_foreign(void **state)
{
    scene *s = *state;
    assert_true(save(s, "his", "his result"));
    const char *his = nth_file(s, 0, "");
    char moved[128];
    snprintf(moved, sizeof moved, "%s/kept", s->folder);
    assert_int_equal(rename(his, moved), 0);
    assert_true(save(s, "her", "her result"));
    const char *her = nth_file(s, 0, ".ebb-kept");
    assert_int_equal(rename(moved, her), 0);
    expect_gone(s, "her", "not ours");
    assert_true(save(s, "her", "her result"));
    expect_kept(s, "her", "her result");
}

static void test_unreadable(void **state)
{
    scene *s = *state;
    assert_true(save(s, "key", "result"));
    const char *path = nth_file(s, 0, "");
    assert_int_equal(remove(path), 0);
    assert_int_equal(mkdir(path, 0700), 0);
    expect_gone(s, "key", "a folder, not a file");
    assert_false(save(s, "key", "result"));
    assert_int_equal(ebb_ctx_errors(s->ctx), 0);
    assert_int_equal(ebb_ctx_messages(s->ctx), 1);
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, "can not be kept"));
}

/* ---- trouble while writing ------------------------------------------------------------------- */

static void test_full_disk(void **state)
{
    scene *s = *state;
    assert_true(save(s, "key", "old result"));
    for (rlim_t room = 0; room < 200; room += 40) {
        const rlim_t before = limit_files(room);
        const bool kept = save(s, "key",
                               "a new result for which there is no room on the disk, and "
                               "which is long enough to be cut at every limit");
        limit_files(before);
        assert_false(kept);
        assert_int_equal(ebb_ctx_errors(s->ctx), 0);
        assert_int_equal(ebb_ctx_messages(s->ctx), 1); /* equal warnings are kept once */
        assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, "can not be kept"));
        expect_kept(s, "key", "old result");
        assert_int_equal(count_files(s, ""), 1);
    }
}

/* A program that is killed at any moment of its writing leaves the old entry or the new one. */
static void test_killed_while_writing(void **state)
{
    scene *s = *state;
    const size_t n = 3000000;
    char *old = EBB_NEW(s->arena, char, n + 1), *new = EBB_NEW(s->arena, char, n + 1);
    memset(old, 'o', n);
    memset(new, 'n', n);
    assert_true(save(s, "key", old));
    for (int i = 0; i < 12; i++) {
        const pid_t writer = fork();
        if (writer == 0)
            for (;;)
                (void)save(s, "key", i % 2 == 0 ? new : old);
        assert_true(writer > 0);
        nanosleep(&(struct timespec){.tv_nsec = 2000000L * i + 500000}, NULL);
        kill(writer, SIGKILL);
        assert_int_equal(waitpid(writer, NULL, 0), writer);
        const void *data;
        size_t got;
        ebb_arena *arena = ebb_arena_new(s->ctx);
        assert_true(ebb_cache_load(s->ctx, arena, s->folder, "key", 3, &data, &got));
        assert_int_equal(got, n);
        assert_true(memcmp(data, old, n) == 0 || memcmp(data, new, n) == 0);
        ebb_arena_free(arena);
    }
    assert_int_equal(ebb_ctx_messages(s->ctx), 0);
    assert_int_equal(count_files(s, ".ebb-kept"), 1);
}

/* Writers and readers of one entry at a time: whoever reads gets a whole one. */
static void test_two_writers(void **state)
{
    scene *s = *state;
    char text[2][20000];
    pid_t writer[2];
    for (int w = 0; w < 2; w++) {
        memset(text[w], 'a' + w, sizeof text[w]);
        text[w][sizeof text[w] - 1] = '\0';
    }
    assert_true(save(s, "key", text[0]));
    for (int w = 0; w < 2; w++)
        if ((writer[w] = fork()) == 0) {
            bool good = true;
            for (int i = 0; i < 40; i++)
                good &= save(s, "key", text[w]);
            _exit(good ? 0 : 1);
        }
    for (int i = 0; i < 100; i++) {
        const void *data;
        size_t n;
        assert_true(load(s, "key", &data, &n));
        assert_int_equal(n, sizeof text[0] - 1);
        assert_true(memcmp(data, text[0], n) == 0 || memcmp(data, text[1], n) == 0);
    }
    for (int w = 0; w < 2; w++) {
        int end;
        assert_int_equal(waitpid(writer[w], &end, 0), writer[w]);
        assert_true(WIFEXITED(end) && WEXITSTATUS(end) == 0);
    }
    assert_int_equal(count_files(s, ""), 1);
}

/* ---- the folder ------------------------------------------------------------------------------ */

static void set_or_clear(const char *name, const char *value)
{
    assert_int_equal(value != NULL ? setenv(name, value, 1) : unsetenv(name), 0);
}

static void expect_folder(scene *s, const char *wished, const char *wanted)
{
    const char *folder = ebb_cache_folder(s->ctx, s->arena, wished);
    if (wanted == NULL) {
        assert_null(folder);
        return;
    }
    assert_string_equal(folder, wanted);
    struct stat info;
    assert_int_equal(stat(folder, &info), 0);
    assert_true(S_ISDIR(info.st_mode));
    assert_int_equal(info.st_mode & 077, 0);
}

static void test_folder(void **state)
{
    scene *s = *state;
    static const char *const names[] = {"EBB_CACHE", "XDG_CACHE_HOME", "HOME"};
    char *before[3];
    for (int i = 0; i < 3; i++) {
        before[i] = getenv(names[i]) != NULL ? strdup(getenv(names[i])) : NULL;
        set_or_clear(names[i], NULL);
    }
    char own[100], xdg[100], kept[100], home[100];
    snprintf(own, sizeof own, "%s/own", s->folder);
    snprintf(xdg, sizeof xdg, "%s/ebb", s->folder);
    snprintf(home, sizeof home, "%s/.cache", s->folder);
    snprintf(kept, sizeof kept, "%s/.cache/ebb", s->folder);
    expect_folder(s, NULL, NULL);
    set_or_clear("HOME", s->folder);
    expect_folder(s, NULL, kept);
    set_or_clear("XDG_CACHE_HOME", "not/from/the/root");
    expect_folder(s, NULL, kept);
    set_or_clear("XDG_CACHE_HOME", s->folder);
    expect_folder(s, NULL, xdg);
    set_or_clear("EBB_CACHE", own);
    expect_folder(s, NULL, own);
    set_or_clear("EBB_CACHE", "");
    expect_folder(s, NULL, NULL);
    expect_folder(s, "", NULL);
    expect_folder(s, xdg, xdg);
    assert_int_equal(ebb_ctx_messages(s->ctx), 0);
    expect_folder(s, "/dev/null/x", NULL);
    assert_int_equal(ebb_ctx_errors(s->ctx), 0);
    assert_int_equal(ebb_ctx_messages(s->ctx), 1);
    assert_int_equal(rmdir(kept) + rmdir(home) + rmdir(own) + rmdir(xdg), 0);
    for (int i = 0; i < 3; i++) {
        set_or_clear(names[i], before[i]);
        free(before[i]);
    }
}

static void test_no_folder(void **state)
{
    scene *s = *state;
    const void *data;
    size_t n;
    assert_false(ebb_cache_save(s->ctx, NULL, "k", 1, "d", 1));
    assert_false(ebb_cache_load(s->ctx, s->arena, NULL, "k", 1, &data, &n));
    assert_int_equal(ebb_ctx_messages(s->ctx), 0);
}

/* Those used longest ago go; other files and fresh drafts stay. */
static void test_trim(void **state)
{
    scene *s = *state;
    char key[16], path[128];
    const struct timespec old[2] = {{1000, 0}, {1000, 0}}, older[2] = {{500, 0}, {500, 0}};
    assert_true(save(s, "key 7", "result"));
    const char *seventh = nth_file(s, 0, ".ebb-kept");
    for (int i = 0; i < 64; i++) {
        snprintf(key, sizeof key, "key %d", i);
        assert_true(save(s, key, "result"));
    }
    assert_int_equal(count_files(s, ".ebb-kept"), 64);
    const char *entry;
    for (size_t i = 0; (entry = nth_file(s, i, ".ebb-kept")) != NULL; i++)
        assert_int_equal(utimensat(AT_FDCWD, entry, old, 0), 0);
    assert_int_equal(utimensat(AT_FDCWD, seventh, older, 0), 0);
    expect_kept(s, "key 7", "result"); /* and so used now */
    static const char *const others[] = {"mine.txt", ".x.ebb-kept.1-0.draft",
                                         ".y.ebb-kept.1-0.draft"};
    for (int i = 0; i < 3; i++) {
        snprintf(path, sizeof path, "%s/%s", s->folder, others[i]);
        const int fd = open(path, O_WRONLY | O_CREAT, 0600);
        assert_true(fd >= 0);
        close(fd);
        if (i != 2) /* the last one is fresh */
            assert_int_equal(utimensat(AT_FDCWD, path, old, 0), 0);
    }
    assert_true(save(s, "key 64", "result"));
    assert_true(save(s, "key 65", "result"));
    assert_int_equal(count_files(s, ".ebb-kept"), 64);
    expect_kept(s, "key 7", "result");
    expect_kept(s, "key 64", "result");
    expect_kept(s, "key 65", "result");
    assert_int_equal(count_files(s, "mine.txt"), 1);
    assert_int_equal(count_files(s, ".draft"), 1);
}

static void test_nth_allocation_fails(void **state)
{
    scene *s = *state;
    size_t lost = 0, done = 0;
    for (long n = 0; n < 24; n++) {
        failing f = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&f);
        ebb_arena *arena = ebb_arena_new(ctx);
        f.left = n;
        const void *data;
        size_t got;
        const bool kept = ebb_cache_save(ctx, s->folder, "key", 3, "result", 6);
        const bool there = ebb_cache_load(ctx, arena, s->folder, "key", 3, &data, &got);
        assert_true(!there || memcmp(data, "result", 6) == 0);
        lost += !kept || !there;
        done += kept && there;
        assert_int_equal(ebb_ctx_errors(ctx), 0);
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
    }
    assert_true(lost >= 4 && done >= 1);
    assert_int_equal(count_files(s, ""), 1);
}

#define SCENE_TEST(name) cmocka_unit_test_setup_teardown(name, open_scene, close_scene)

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_keep),
        SCENE_TEST(test_keys_of_any_length),
        SCENE_TEST(test_each_damaged_bit),
        SCENE_TEST(test_each_length),
        SCENE_TEST(test_foreign),
        SCENE_TEST(test_unreadable),
        SCENE_TEST(test_full_disk),
        SCENE_TEST(test_killed_while_writing),
        SCENE_TEST(test_two_writers),
        SCENE_TEST(test_folder),
        SCENE_TEST(test_no_folder),
        SCENE_TEST(test_trim),
        SCENE_TEST(test_nth_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
