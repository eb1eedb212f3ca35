/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "failing.h"

#include <ebb/process.h>

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/time.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

typedef struct scene {
    ebb_ctx *ctx;
    ebb_arena *arena;
    char folder[64];
    ebb_process_end end;
} scene;

static int open_scene(void **state)
{
    scene *s = calloc(1, sizeof *s);
    s->ctx = ebb_ctx_new();
    s->arena = ebb_arena_new(s->ctx);
    strcpy(s->folder, "/tmp/ebb-process-XXXXXX");
    *state = s;
    return s->arena == NULL || mkdtemp(s->folder) == NULL;
}

static int close_scene(void **state)
{
    scene *s = *state;
    DIR *dir = opendir(s->folder);
    for (struct dirent *entry; dir != NULL && (entry = readdir(dir)) != NULL;)
        (void)unlinkat(dirfd(dir), entry->d_name, 0);
    closedir(dir);
    const int bad = rmdir(s->folder);
    ebb_arena_free(s->arena);
    ebb_ctx_free(s->ctx);
    free(s);
    return bad;
}

static double seconds_now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static size_t open_files(void)
{
    size_t n = 0;
    DIR *dir = opendir("/proc/self/fd");
    assert_non_null(dir);
    while (readdir(dir) != NULL)
        n++;
    closedir(dir);
    return n;
}

/* Runs a line of shell; whatever happens, nothing stays open and no child stays behind. */
static ebb_status run_with(scene *s, const char *line, ebb_process p)
{
    const char *arguments[] = {"/bin/sh", "-c", line, NULL};
    p.arguments = arguments;
    const size_t files = open_files();
    const ebb_status status = ebb_process_run(s->ctx, s->arena, &p, &s->end);
    assert_int_equal(open_files(), files);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1);
    assert_int_equal(errno, ECHILD);
    return status;
}

static void run(scene *s, const char *line)
{
    assert_int_equal(run_with(s, line, (ebb_process){.most_output = 1 << 20, .seconds = 20}),
                     EBB_OK);
}

static void expect_exit(const scene *s, int code)
{
    assert_int_equal(s->end.how, EBB_PROCESS_EXITED);
    assert_int_equal(s->end.code, code);
}

static void test_output_and_words(void **state)
{
    scene *s = *state;
    run(s, "echo some; echo first >&2; printf 'the reason\\001\\n\\n  \\n' >&2; exit 3");
    expect_exit(s, 3);
    assert_string_equal(s->end.output, "some\n");
    assert_int_equal(s->end.n_output, 5);
    assert_string_equal(s->end.words, "the reason");
    run(s, "exit 0");
    expect_exit(s, 0);
    assert_int_equal(s->end.n_output, 0);
    assert_string_equal(s->end.words, "");
}

static void test_only_the_tail_of_words(void **state)
{
    scene *s = *state;
    run(s, "i=0; while [ $i -lt 3000 ]; do echo word $i >&2; i=$((i + 1)); done");
    expect_exit(s, 0);
    assert_string_equal(s->end.words, "word 2999");
    run(s, "printf '%01000d' 7 >&2");
    assert_int_equal(strlen(s->end.words), 200);
}

/* More than any pipe holds goes in and comes out at the same time. */
static void test_input_and_output_at_once(void **state)
{
    scene *s = *state;
    const size_t n = 3000000;
    char *text = EBB_NEW(s->arena, char, n);
    for (size_t i = 0; i < n; i++)
        text[i] = (char)(i * i % 251);
    ebb_process p = {.input = text, .n_input = n, .most_output = n, .seconds = 20};
    assert_int_equal(run_with(s, "exec cat", p), EBB_OK);
    expect_exit(s, 0);
    assert_int_equal(s->end.n_output, n);
    assert_memory_equal(s->end.output, text, n);
    assert_int_equal(s->end.output[n], 0);
}

/* The host's own SIGPIPE is at its default: it would end this test. */
static void test_input_nobody_reads(void **state)
{
    scene *s = *state;
    const size_t n = 3000000;
    ebb_process p = {
        .input = EBB_NEW(s->arena, char, n), .n_input = n, .most_output = 9, .seconds = 20};
    assert_int_equal(run_with(s, "exec <&-; echo fine", p), EBB_OK);
    expect_exit(s, 0);
    assert_string_equal(s->end.output, "fine\n");
}

static void test_killed(void **state)
{
    scene *s = *state;
    run(s, "echo half; kill -9 $$");
    assert_int_equal(s->end.how, EBB_PROCESS_KILLED);
    assert_int_equal(s->end.code, SIGKILL);
    assert_string_equal(s->end.output, "half\n");
}

static void expect_too_slow(scene *s, const char *line)
{
    const double from = seconds_now();
    assert_int_equal(run_with(s, line, (ebb_process){.most_output = 100, .seconds = 0.3}), EBB_OK);
    const double took = seconds_now() - from;
    assert_int_equal(s->end.how, EBB_PROCESS_TOO_SLOW);
    assert_true(took >= 0.3 && took < 5);
}

static void test_hangs(void **state)
{
    scene *s = *state;
    expect_too_slow(s, "sleep 30");
    expect_too_slow(s, "exec >&- 2>&-; sleep 30");
    expect_too_slow(s, "trap '' TERM INT; while :; do :; done");
}

/* Still there after a while, and not only waiting to be buried? */
static bool stays_alive(long process)
{
    char path[64], line[256];
    snprintf(path, sizeof path, "/proc/%ld/stat", process);
    for (int i = 0; i < 300; i++) {
        FILE *f = fopen(path, "r");
        const bool there = f != NULL && fgets(line, sizeof line, f) != NULL;
        if (f != NULL)
            fclose(f);
        if (!there || strstr(line, ") Z ") != NULL || strstr(line, ") X ") != NULL)
            return false;
        nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
    }
    return true;
}

/* What a program leaves behind is ended with it, and not waited for. */
static void test_whole_group_is_killed(void **state)
{
    scene *s = *state;
    const double from = seconds_now();
    run(s, "sleep 30 & echo $!");
    expect_exit(s, 0);
    assert_true(seconds_now() - from < 5);
    const long left = strtol(s->end.output, NULL, 10);
    assert_true(left > 1);
    assert_false(stays_alive(left));
}

static void test_too_much_output(void **state)
{
    scene *s = *state;
    ebb_process p = {.most_output = 100000, .seconds = 20};
    assert_int_equal(run_with(s, "while :; do echo more and more; done", p), EBB_OK);
    assert_int_equal(s->end.how, EBB_PROCESS_TOO_LONG);
    assert_int_equal(run_with(s, "printf '%0100000d' 1", p), EBB_OK);
    expect_exit(s, 0);
    assert_int_equal(s->end.n_output, 100000);
    assert_int_equal(run_with(s, "printf '%0100001d' 1", p), EBB_OK);
    assert_int_equal(s->end.how, EBB_PROCESS_TOO_LONG);
}

static void test_memory_is_limited(void **state)
{
    scene *s = *state;
    ebb_process p = {.most_output = 1000, .seconds = 20};
    const char *line = "x=$(head -c 100000000 /dev/zero | tr '\\0' a); echo ${#x}";
    assert_int_equal(run_with(s, line, p), EBB_OK);
    expect_exit(s, 0);
    assert_string_equal(s->end.output, "100000000\n");
    p.mebibytes = 64;
    assert_int_equal(run_with(s, line, p), EBB_OK);
    assert_true(s->end.how == EBB_PROCESS_KILLED || s->end.code != 0);
}

static void expect_no_start(scene *s, const char *program, const char *text)
{
    const char *arguments[] = {program, NULL};
    const ebb_process p = {.arguments = arguments, .most_output = 9, .seconds = 9};
    ebb_ctx_clear(s->ctx);
    s->end.code = 7;
    assert_int_equal(ebb_process_run(s->ctx, s->arena, &p, &s->end), EBB_E_IO);
    assert_int_equal(ebb_ctx_errors(s->ctx), 1);
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, text));
    assert_int_equal(s->end.code, 0);
    assert_null(s->end.output);
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1);
}

static void put_program(const char *path, const char *text, mode_t mode)
{
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    assert_true(fputs(text, f) >= 0);
    assert_int_equal(fclose(f), 0);
    assert_int_equal(chmod(path, mode), 0);
}

static void test_what_can_not_be_started(void **state)
{
    scene *s = *state;
    char path[128];
    snprintf(path, sizeof path, "%s/p", s->folder);
    expect_no_start(s, path, "there is no program");
    expect_no_start(s, s->folder, "there is no program");
    expect_no_start(s, "no-such-program-anywhere", "there is no program");
    put_program(path, "\001\002\003 no program", 0700);
    expect_no_start(s, path, "can not be started: Exec format");
    put_program(path, "#!/no/such/interpreter\n", 0700);
    expect_no_start(s, path, "can not be started: No such file");
    if (geteuid() != 0) { /* who may do everything may run anything that has one x */
        put_program(path, "#!/bin/sh\n", 0600);
        expect_no_start(s, path, "there is no program");
    }
    const ebb_process p = {.arguments = (const char *[]){"/bin/sh", NULL}};
    assert_int_equal(ebb_process_run(s->ctx, s->arena, &p, &s->end), EBB_E_RANGE);
}

static void test_path_is_searched(void **state)
{
    scene *s = *state;
    char path[128], search[256], before[4096] = "";
    snprintf(path, sizeof path, "%s/ebb-test-program", s->folder);
    put_program(path, "#!/bin/sh\necho found\n", 0700);
    if (getenv("PATH") != NULL)
        snprintf(before, sizeof before, "%s", getenv("PATH"));
    assert_null(ebb_process_find(s->arena, "ebb-test-program"));
    snprintf(search, sizeof search, "/no/such:%s:/bin", s->folder);
    assert_int_equal(setenv("PATH", search, 1), 0);
    assert_string_equal(ebb_process_find(s->arena, "ebb-test-program"), path);
    assert_null(ebb_process_find(s->arena, ""));
    assert_int_equal(chdir(s->folder), 0); /* an empty entry is not the folder we are in */
    assert_int_equal(setenv("PATH", "::/bin:", 1), 0);
    assert_null(ebb_process_find(s->arena, "ebb-test-program"));
    assert_int_equal(setenv("PATH", before, 1), 0);
    assert_int_equal(chdir("/tmp"), 0);
}

static void test_folder_of_this_program(void **state)
{
    scene *s = *state;
    const char *folder = ebb_process_folder(s->arena);
    assert_non_null(folder);
    assert_int_equal(folder[strlen(folder) - 1], '/');
    const char *self = ebb_arena_format(s->arena, "%stest_process", folder);
    assert_int_equal(access(self, X_OK), 0);
}

static void test_variables(void **state)
{
    scene *s = *state;
    const char *const set[] = {"EBB_TEST_ONE=new", "EBB_TEST_TWO=2", NULL};
    assert_int_equal(setenv("EBB_TEST_ONE", "old", 1), 0);
    assert_int_equal(setenv("EBB_TEST_ON", "kept", 1), 0);
    ebb_process p = {.variables = set, .most_output = 100, .seconds = 20};
    assert_int_equal(run_with(s, "echo $EBB_TEST_ONE $EBB_TEST_TWO $EBB_TEST_ON", p), EBB_OK);
    assert_string_equal(s->end.output, "new 2 kept\n");
    assert_string_equal(getenv("EBB_TEST_ONE"), "old");
}

/* A host may ignore or block signals; the program starts as from a shell. */
static void test_signals_start_afresh(void **state)
{
    scene *s = *state;
    sigset_t all, before;
    sigfillset(&all);
    signal(SIGPIPE, SIG_IGN);
    sigprocmask(SIG_BLOCK, &all, &before);
    run(s, "kill -PIPE $$; echo alive");
    sigprocmask(SIG_SETMASK, &before, NULL);
    signal(SIGPIPE, SIG_DFL);
    assert_int_equal(s->end.how, EBB_PROCESS_KILLED);
    assert_int_equal(s->end.code, SIGPIPE);
}

static void no_more_than_interrupt(int signal_number)
{
    (void)signal_number;
}

static void test_interrupted_all_the_time(void **state)
{
    scene *s = *state;
    const struct sigaction action = {.sa_handler = no_more_than_interrupt};
    const struct itimerval often = {{0, 2000}, {0, 2000}}, never = {{0, 0}, {0, 0}};
    const size_t n = 1000000;
    ebb_process p = {
        .input = EBB_NEW(s->arena, char, n), .n_input = n, .most_output = n, .seconds = 20};
    assert_int_equal(sigaction(SIGALRM, &action, NULL), 0);
    assert_int_equal(setitimer(ITIMER_REAL, &often, NULL), 0);
    const ebb_status status = run_with(s, "sleep 0.1; exec cat", p);
    assert_int_equal(setitimer(ITIMER_REAL, &never, NULL), 0);
    signal(SIGALRM, SIG_DFL);
    assert_int_equal(status, EBB_OK);
    expect_exit(s, 0);
    assert_int_equal(s->end.n_output, n);
}

/* Some hosts run without standard streams: the numbers 0 to 2 are then given to our pipes. */
static void test_host_without_streams(void **state)
{
    scene *s = *state;
    int kept[3];
    for (int i = 0; i < 3; i++) {
        kept[i] = fcntl(i, F_DUPFD_CLOEXEC, 10);
        close(i);
    }
    const char *arguments[] = {"/bin/sh", "-c", "cat; echo words >&2", NULL};
    const ebb_process p = {
        .arguments = arguments, .input = "abc", .n_input = 3, .most_output = 9, .seconds = 20};
    const ebb_status status = ebb_process_run(s->ctx, s->arena, &p, &s->end);
    for (int i = 0; i < 3; i++)
        if (kept[i] >= 0) {
            dup2(kept[i], i);
            close(kept[i]);
        }
    assert_int_equal(status, EBB_OK);
    expect_exit(s, 0);
    assert_string_equal(s->end.output, "abc");
    assert_string_equal(s->end.words, "words");
}

/* The program dies with us, however we die. */
static void test_dies_with_its_parent(void **state)
{
    scene *s = *state;
    char path[96], line[512], written[32] = "";
    snprintf(path, sizeof path, "%s/pid", s->folder);
    snprintf(line, sizeof line, "echo $$ >%s.new; mv %s.new %s; exec sleep 30", path, path, path);
    const pid_t host = fork();
    if (host == 0) {
        const char *arguments[] = {"/bin/sh", "-c", line, NULL};
        const ebb_process p = {.arguments = arguments, .most_output = 9, .seconds = 40};
        (void)ebb_process_run(s->ctx, s->arena, &p, &s->end);
        _exit(0);
    }
    for (int i = 0; i < 1000 && access(path, R_OK) != 0; i++)
        nanosleep(&(struct timespec){.tv_nsec = 10000000}, NULL);
    kill(host, SIGKILL);
    assert_int_equal(waitpid(host, NULL, 0), host);
    FILE *f = fopen(path, "r");
    assert_non_null(f);
    assert_non_null(fgets(written, sizeof written, f));
    fclose(f);
    assert_true(strtol(written, NULL, 10) > 1);
    assert_false(stays_alive(strtol(written, NULL, 10)));
}

static void test_nth_allocation_fails(void **state)
{
    (void)state;
    size_t refused = 0, done = 0;
    for (long n = 1; n < 16; n++) {
        failing f = {.left = n};
        ebb_ctx *ctx = failing_ctx(&f);
        ebb_arena *arena = ebb_arena_new(ctx);
        ebb_process_end end;
        const char *arguments[] = {"/bin/sh", "-c", "printf '%0300000d' 1", NULL};
        const ebb_process p = {.arguments = arguments, .most_output = 1 << 20, .seconds = 20};
        const ebb_status status = ebb_process_run(ctx, arena, &p, &end);
        assert_true(status == EBB_OK || status == EBB_E_NOMEM || status == EBB_E_IO);
        assert_true((status == EBB_OK) == (end.n_output == 300000));
        refused += status != EBB_OK;
        done += status == EBB_OK;
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
        assert_int_equal(waitpid(-1, NULL, WNOHANG), -1);
    }
    assert_true(refused >= 2 && done >= 1);
}

#define SCENE_TEST(name) cmocka_unit_test_setup_teardown(name, open_scene, close_scene)

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_output_and_words),
        SCENE_TEST(test_only_the_tail_of_words),
        SCENE_TEST(test_input_and_output_at_once),
        SCENE_TEST(test_input_nobody_reads),
        SCENE_TEST(test_killed),
        SCENE_TEST(test_hangs),
        SCENE_TEST(test_whole_group_is_killed),
        SCENE_TEST(test_too_much_output),
        SCENE_TEST(test_memory_is_limited),
        SCENE_TEST(test_what_can_not_be_started),
        SCENE_TEST(test_path_is_searched),
        SCENE_TEST(test_folder_of_this_program),
        SCENE_TEST(test_variables),
        SCENE_TEST(test_signals_start_afresh),
        SCENE_TEST(test_interrupted_all_the_time),
        SCENE_TEST(test_host_without_streams),
        SCENE_TEST(test_dies_with_its_parent),
        cmocka_unit_test(test_nth_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
