/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "failing.h"

#include <ebb/file.h>

#include <dirent.h>
#include <fcntl.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include "disk.h"

/* Every test runs in an empty folder of its own. */
typedef struct scene {
    ebb_ctx *ctx;
    ebb_arena *arena;
    char folder[64], before[4096];
} scene;

static int open_scene(void **state)
{
    scene *s = calloc(1, sizeof *s);
    s->ctx = ebb_ctx_new();
    s->arena = ebb_arena_new(s->ctx);
    strcpy(s->folder, "/tmp/ebb-file-XXXXXX");
    *state = s;
    return s->arena == NULL || getcwd(s->before, sizeof s->before) == NULL ||
           mkdtemp(s->folder) == NULL || chdir(s->folder) != 0;
}

/* Names in the folder but "." and "..". */
static size_t count_files(const char *folder, bool remove_them)
{
    size_t n = 0;
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    for (struct dirent *entry; (entry = readdir(dir)) != NULL;) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        n++;
        if (remove_them)
            remove(entry->d_name);
    }
    closedir(dir);
    return n;
}

static int close_scene(void **state)
{
    scene *s = *state;
    count_files(".", true);
    ebb_arena_free(s->arena);
    ebb_ctx_free(s->ctx);
    const int bad = chdir(s->before) != 0 || rmdir(s->folder) != 0;
    free(s);
    return bad;
}

static void put_file(const char *path, const char *text)
{
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    assert_true(fputs(text, f) >= 0);
    assert_int_equal(fclose(f), 0);
}

static void expect_file(scene *s, const char *path, const char *text)
{
    char *data;
    size_t length;
    assert_int_equal(ebb_file_read(s->ctx, s->arena, path, 1 << 20, &data, &length), EBB_OK);
    assert_int_equal(length, strlen(text));
    assert_string_equal(data, text);
}

static void test_read(void **state)
{
    scene *s = *state;
    put_file("a", "some words\n");
    expect_file(s, "a", "some words\n");
    put_file("empty", "");
    expect_file(s, "empty", "");
}

static void expect_unreadable(scene *s, const char *path, ebb_status wanted)
{
    char *data = s->before;
    size_t length = 7;
    ebb_ctx_clear(s->ctx);
    assert_int_equal(ebb_file_read(s->ctx, s->arena, path, 8, &data, &length), wanted);
    assert_null(data);
    assert_int_equal(length, 0);
    assert_int_equal(ebb_ctx_errors(s->ctx), 1);
    assert_string_equal(ebb_ctx_message(s->ctx, 0)->place.file, path);
}

static void test_read_refusals(void **state)
{
    scene *s = *state;
    put_file("long", "123456789");
    put_file("full", "12345678");
    assert_int_equal(mkfifo("pipe", 0600), 0);
    expect_unreadable(s, "long", EBB_E_INPUT);
    expect_unreadable(s, "missing", EBB_E_IO);
    expect_unreadable(s, ".", EBB_E_IO);
    expect_unreadable(s, "pipe", EBB_E_IO); /* and does not wait for a writer */
    expect_unreadable(s, "/dev/zero", EBB_E_IO);
    char *data;
    size_t length;
    assert_int_equal(ebb_file_read(s->ctx, s->arena, "full", 8, &data, &length), EBB_OK);
    assert_int_equal(length, 8);
}

static void test_commit_replaces(void **state)
{
    scene *s = *state;
    ebb_draft *draft;
    put_file("a", "old");
    assert_int_equal(chmod("a", 0640), 0);
    assert_int_equal(ebb_draft_open(s->ctx, "a", &draft), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, draft, "new ", 4), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, draft, NULL, 0), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, draft, "words", 5), EBB_OK);
    expect_file(s, "a", "old");
    assert_int_equal(ebb_draft_commit(s->ctx, draft), EBB_OK);
    expect_file(s, "a", "new words");
    assert_int_equal(count_files(".", false), 1);
    struct stat info;
    assert_int_equal(stat("a", &info), 0);
    assert_int_equal(info.st_mode & 0777, 0640);
}

static void test_new_file_and_folders(void **state)
{
    scene *s = *state;
    ebb_draft *draft;
    char path[128];
    snprintf(path, sizeof path, "%s/b", s->folder);
    assert_int_equal(ebb_draft_open(s->ctx, path, &draft), EBB_OK);
    assert_int_equal(count_files(".", false), 1); /* the draft lies beside its target */
    assert_int_equal(ebb_draft_commit(s->ctx, draft), EBB_OK);
    expect_file(s, "b", "");
    assert_int_equal(ebb_draft_open(s->ctx, ".", &draft), EBB_E_IO);
    assert_null(draft);
    assert_int_equal(ebb_draft_open(s->ctx, "no/such/folder", &draft), EBB_E_IO);
    assert_null(draft);
    assert_int_equal(count_files(".", false), 1);
}

static void test_drop_leaves_target(void **state)
{
    scene *s = *state;
    ebb_draft *draft;
    put_file("a", "old");
    assert_int_equal(ebb_draft_open(s->ctx, "a", &draft), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, draft, "new", 3), EBB_OK);
    ebb_draft_drop(draft);
    ebb_draft_drop(NULL);
    expect_file(s, "a", "old");
    assert_int_equal(count_files(".", false), 1);
}

/* Two drafts of one target at a time do not meet; the last one committed stays. */
static void test_two_drafts(void **state)
{
    scene *s = *state;
    ebb_draft *one, *two;
    assert_int_equal(ebb_draft_open(s->ctx, "a", &one), EBB_OK);
    assert_int_equal(ebb_draft_open(s->ctx, "a", &two), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, one, "one", 3), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, two, "two", 3), EBB_OK);
    assert_int_equal(ebb_draft_commit(s->ctx, two), EBB_OK);
    expect_file(s, "a", "two");
    assert_int_equal(ebb_draft_commit(s->ctx, one), EBB_OK);
    expect_file(s, "a", "one");
    assert_int_equal(count_files(".", false), 1);
}

static void test_link_is_followed(void **state)
{
    scene *s = *state;
    ebb_draft *draft;
    put_file("real", "old");
    assert_int_equal(symlink("real", "link"), 0);
    assert_int_equal(symlink("link", "link2"), 0);
    assert_int_equal(ebb_draft_open(s->ctx, "link2", &draft), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, draft, "new", 3), EBB_OK);
    assert_int_equal(ebb_draft_commit(s->ctx, draft), EBB_OK);
    expect_file(s, "real", "new");
    struct stat info;
    assert_int_equal(lstat("link", &info), 0);
    assert_true(S_ISLNK(info.st_mode));
}

static void test_large_blocks(void **state)
{
    scene *s = *state;
    ebb_draft *draft;
    const size_t n = 300001;
    char *text = EBB_NEW(s->arena, char, n + 1);
    for (size_t i = 0; i < n; i++)
        text[i] = (char)('a' + i * i % 23);
    assert_int_equal(ebb_draft_open(s->ctx, "a", &draft), EBB_OK);
    for (size_t at = 0, step = 1; at < n; at += step, step = step * 3 + 1) {
        if (step > n - at)
            step = n - at;
        assert_int_equal(ebb_draft_write(s->ctx, draft, text + at, step), EBB_OK);
    }
    assert_int_equal(ebb_draft_commit(s->ctx, draft), EBB_OK);
    expect_file(s, "a", text);
}

/* The disk fills up while the draft is written; the target keeps its old content. */
static void test_full_disk_while_writing(void **state)
{
    scene *s = *state;
    ebb_draft *draft;
    char block[10000] = {0};
    put_file("a", "old");
    const rlim_t before = limit_files(100000);
    assert_int_equal(ebb_draft_open(s->ctx, "a", &draft), EBB_OK);
    size_t written = 0;
    while (written < 100 && ebb_draft_write(s->ctx, draft, block, sizeof block) == EBB_OK)
        written++;
    assert_in_range(written, 10, 99);
    assert_int_equal(ebb_draft_write(s->ctx, draft, block, 1), EBB_E_IO);
    assert_int_equal(ebb_draft_commit(s->ctx, draft), EBB_E_IO);
    limit_files(before);
    expect_file(s, "a", "old");
    assert_int_equal(count_files(".", false), 1);
}

/* The same when only the last flush finds it full. */
static void test_full_disk_at_commit(void **state)
{
    scene *s = *state;
    ebb_draft *draft;
    put_file("a", "old");
    const rlim_t before = limit_files(10);
    assert_int_equal(ebb_draft_open(s->ctx, "a", &draft), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, draft, "more than ten", 13), EBB_OK);
    assert_int_equal(ebb_draft_commit(s->ctx, draft), EBB_E_IO);
    limit_files(before);
    assert_int_equal(ebb_ctx_errors(s->ctx), 1);
    expect_file(s, "a", "old");
    assert_int_equal(count_files(".", false), 1);
}

/* What is no ordinary file is written as it is and never replaced by one. A pipe of our own stands
 * for all of them: were the code broken, a real device would be lost. */
static void test_pipe_is_written_directly(void **state)
{
    scene *s = *state;
    ebb_draft *draft;
    char got[8] = "";
    assert_int_equal(mkfifo("pipe", 0600), 0);
    const int reader = open("pipe", O_RDONLY | O_NONBLOCK);
    assert_true(reader >= 0);
    assert_int_equal(ebb_draft_open(s->ctx, "pipe", &draft), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, draft, "words", 5), EBB_OK);
    assert_int_equal(ebb_draft_commit(s->ctx, draft), EBB_OK);
    assert_int_equal(read(reader, got, sizeof got), 5);
    assert_string_equal(got, "words");
    /* Now nobody reads it any more. */
    assert_int_equal(ebb_draft_open(s->ctx, "pipe", &draft), EBB_OK);
    assert_int_equal(ebb_draft_write(s->ctx, draft, "words", 5), EBB_OK);
    close(reader);
    signal(SIGPIPE, SIG_IGN);
    assert_int_equal(ebb_draft_commit(s->ctx, draft), EBB_E_IO);
    signal(SIGPIPE, SIG_DFL);
    struct stat info;
    assert_int_equal(stat("pipe", &info), 0);
    assert_true(S_ISFIFO(info.st_mode));
    assert_int_equal(count_files(".", false), 1);
}

static void test_nth_allocation_fails(void **state)
{
    scene *s = *state;
    put_file("a", "old");
    size_t refused = 0, done = 0;
    for (long n = 2; n < 12; n++) {
        failing f = {.left = n};
        ebb_ctx *ctx = failing_ctx(&f);
        ebb_arena *arena = ebb_arena_new(ctx);
        char *data;
        size_t length;
        ebb_draft *draft;
        ebb_status status = ebb_file_read(ctx, arena, "a", 100, &data, &length);
        if (status == EBB_OK)
            status = ebb_draft_open(ctx, "a", &draft);
        if (status == EBB_OK && ebb_draft_write(ctx, draft, "new", 3) == EBB_OK)
            status = ebb_draft_commit(ctx, draft);
        assert_true(status == EBB_OK || status == EBB_E_NOMEM || status == EBB_E_IO);
        refused += status != EBB_OK;
        done += status == EBB_OK;
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
        assert_int_equal(count_files(".", false), 1);
        expect_file(s, "a", done > 0 ? "new" : "old");
    }
    assert_true(refused >= 3 && done >= 3);
}

#define SCENE_TEST(name) cmocka_unit_test_setup_teardown(name, open_scene, close_scene)

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_read),
        SCENE_TEST(test_read_refusals),
        SCENE_TEST(test_commit_replaces),
        SCENE_TEST(test_new_file_and_folders),
        SCENE_TEST(test_drop_leaves_target),
        SCENE_TEST(test_two_drafts),
        SCENE_TEST(test_link_is_followed),
        SCENE_TEST(test_large_blocks),
        SCENE_TEST(test_full_disk_while_writing),
        SCENE_TEST(test_full_disk_at_commit),
        SCENE_TEST(test_pipe_is_written_directly),
        SCENE_TEST(test_nth_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
