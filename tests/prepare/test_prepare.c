/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "workshop.h"

#include "../../src/prepare/private.h"

#include <ebb/cache.h>

#include <math.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>

static void test_rectangles_need_nothing(void **state)
{
    workshop *w = *state;
    char never[80];
    snprintf(never, sizeof never, "%s/never", w->folder);
    w->job.n_rooms = 1;
    w->wish.cache = never;
    w->wish.mesher = "/no/such/mesher";
    ebb_prepared *p = prepare(w, NULL);
    ebb_prepared_note note = {.modes = 7};
    assert_false(ebb_prepared_about(p, 0, &note));
    assert_int_equal(note.modes, 0);
    assert_false(ebb_prepared_about(p, 1, &note));
    assert_string_equal(w->steps, "");
    assert_int_equal(count_entries(w), 0);
    ebb_prepared_free(p);
    ebb_prepared_free(NULL);
}

static void test_all_rooms(void **state)
{
    workshop *w = *state;
    ebb_prepared *p = prepare(w, NULL);
    assert_string_equal(w->steps, "room 1:mesh room 1:modes room 3:mesh room 3:modes ");
    assert_null(w->room[0].space);
    for (int i = 1; i < ROOMS; i++) {
        ebb_prepared_note note;
        assert_non_null(w->room[i].space);
        assert_true(ebb_prepared_about(p, (size_t)i, &note));
        assert_int_equal(note.freedoms, ebb_space_size(w->room[i].space));
        assert_true(note.order == 6 && note.modes >= 3 && note.tets > 5 && !note.cached);
        assert_true(note.mesh_error > 0 && note.mesh_error < 5e-3);
        assert_true(note.seconds >= 0 && note.seconds < 1000);
        const double volume = 2.5 * (4 * 2 + 2.2 * (i < 3 ? 1.5 : 1.6));
        assert_true(fabs(ebb_space_volume(w->room[i].space) - volume) < 1e-6 * volume);
    }
    assert_ptr_equal(w->room[1].space, w->room[2].space); /* made once */
    assert_ptr_not_equal(w->room[1].space, w->room[3].space);
    assert_int_equal(count_entries(w), 2);
    ebb_prepared_free(p);
    for (int i = 0; i < ROOMS; i++)
        assert_null(w->room[i].space);
}

static void test_one_room(void **state)
{
    workshop *w = *state;
    ebb_prepared *p = prepare(w, "room 3");
    ebb_prepared_note note;
    assert_string_equal(w->steps, "room 3:mesh room 3:modes ");
    assert_true(w->room[3].space != NULL && w->room[1].space == NULL);
    assert_false(ebb_prepared_about(p, 1, &note));
    ebb_prepared_free(p);
    p = prepare(w, "room 0");
    assert_string_equal(w->steps, "");
    ebb_prepared_free(p);
    assert_int_equal(ebb_prepare(w->base.ctx, &w->job, "no room", &w->wish, &p), EBB_E_RANGE);
    assert_null(p);
    expect_error(&w->base, "the job has no room no room");
}

/* ---- the cache ------------------------------------------------------------------------------- */

/* Modes of room 1 as they are told to come about, in the arena. */
static const double *modes_by(workshop *w, const char *steps, size_t *n)
{
    const double *lambda, *shape;
    ebb_prepared *p = prepare(w, "room 1");
    assert_string_equal(w->steps, steps);
    ebb_prepared_note note;
    assert_true(ebb_prepared_about(p, 1, &note));
    assert_int_equal(note.cached, strstr(steps, "kept") != NULL && strstr(steps, "mesh") == NULL);
    *n = ebb_space_modes(w->room[1].space, &lambda, &shape, NULL);
    assert_int_equal(note.modes, *n);
    double *copy = EBB_NEW(w->base.arena, double, *n);
    memcpy(copy, lambda, *n * sizeof *copy);
    ebb_prepared_free(p);
    return copy;
}

#define ANEW "room 1:mesh room 1:modes "
#define KEPT "room 1:kept modes "

static void test_kept(void **state)
{
    workshop *w = *state;
    size_t n[3];
    const double *anew = modes_by(w, ANEW, &n[0]);
    const double *kept = modes_by(w, KEPT, &n[1]);
    w->wish.cache = "";
    const double *again = modes_by(w, ANEW, &n[2]);
    assert_true(n[0] == n[1] && n[0] == n[2]);
    assert_memory_equal(anew, kept, n[0] * sizeof *anew);
    assert_memory_equal(anew, again, n[0] * sizeof *anew); /* and the same every time */
    assert_int_equal(ebb_ctx_messages(w->base.ctx), 0);
    assert_int_equal(count_entries(w), 1);
}

static void expect_warning(workshop *w, const char *words)
{
    assert_int_equal(ebb_ctx_errors(w->base.ctx), 0);
    assert_int_equal(ebb_ctx_messages(w->base.ctx), 1);
    assert_non_null(strstr(ebb_ctx_message(w->base.ctx, 0)->text, words));
    ebb_ctx_clear(w->base.ctx);
}

/* The modes come out as they were, whatever has happened to the file, and the next run has them. */
static void expect_mended(workshop *w, const char *words, const char *steps, const double *wanted)
{
    size_t n;
    const double *got = modes_by(w, steps, &n);
    assert_memory_equal(got, wanted, n * sizeof *got);
    expect_warning(w, words);
    got = modes_by(w, KEPT, &n);
    assert_memory_equal(got, wanted, n * sizeof *got);
    assert_int_equal(ebb_ctx_messages(w->base.ctx), 0);
}

static void test_damaged(void **state)
{
    workshop *w = *state;
    size_t n;
    const double *modes = modes_by(w, ANEW, &n);
    const char *path = nth_entry(w, 0);
    struct stat info;
    assert_int_equal(stat(path, &info), 0);
    const long places[] = {0, 20, 64 + 5, info.st_size / 3, info.st_size / 2, info.st_size - 1};
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        FILE *f = fopen(path, "r+");
        assert_non_null(f);
        assert_int_equal(fseek(f, places[i], SEEK_SET), 0);
        const int c = fgetc(f);
        assert_int_equal(fseek(f, places[i], SEEK_SET), 0);
        assert_true(fputc(c ^ 16, f) >= 0);
        assert_int_equal(fclose(f), 0);
        expect_mended(w, "is damaged or not ours and is made anew", ANEW, modes);
    }
    assert_int_equal(truncate(path, info.st_size / 2), 0);
    expect_mended(w, "is damaged", ANEW, modes);
    assert_int_equal(truncate(path, 0), 0);
    expect_mended(w, "is damaged", ANEW, modes);
}

/* The name of room 1's entry for a highest frequency. */
static const char *key_of(workshop *w, double highest, size_t *length)
{
    scene *s = &w->base;
    ebb_prepare_want want;
    const char *key;
    const ebb_solid *solid = w->room[1].solid;
    assert_int_equal(ebb_prepare_decide(s->ctx, &w->job, highest, 0, &want), EBB_OK);
    assert_int_equal(ebb_prepare_grade(s->ctx, s->arena, solid, &want.mesh), EBB_OK);
    assert_int_equal(ebb_prepare_key(s->ctx, s->arena, solid, &want, &key, length), EBB_OK);
    return key;
}

/* An entry that is whole but holds something else is found out by what reads it. */
static void test_whole_but_wrong(void **state)
{
    workshop *w = *state;
    size_t n, length;
    const double *modes = modes_by(w, ANEW, &n);
    const char *key = key_of(w, 50, &length);
    assert_true(ebb_cache_save(w->base.ctx, w->folder, key, length, "no modes", 8));
    expect_mended(w, "the modes kept for room room 1 can not be used", KEPT ANEW, modes);
    assert_true(ebb_cache_save(w->base.ctx, w->folder, key, length, "", 0));
    expect_mended(w, "can not be used", KEPT ANEW, modes);

    /* Those of another highest frequency. */
    w->wish.highest = 40;
    (void)modes_by(w, ANEW, &n);
    size_t low_length;
    const char *low_key = key_of(w, 40, &low_length);
    const void *data;
    assert_true(
        ebb_cache_load(w->base.ctx, w->base.arena, w->folder, low_key, low_length, &data, &n));
    assert_true(ebb_cache_save(w->base.ctx, w->folder, key, length, data, n));
    w->wish.highest = 50;
    expect_mended(w, "can not be used", KEPT ANEW, modes);
}

static void test_full_disk(void **state)
{
    workshop *w = *state;
    struct rlimit before, small;
    size_t n;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = 2000;
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    const double *modes = modes_by(w, ANEW, &n);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    signal(SIGXFSZ, SIG_DFL);
    assert_true(n >= 3 && modes[0] == 0 && modes[1] > 0.3);
    expect_warning(w, "can not be kept for later runs");
    assert_int_equal(count_entries(w), 0);
}

static void test_no_place_for_a_cache(void **state)
{
    workshop *w = *state;
    size_t n;
    w->wish.cache = "/dev/null/cache";
    assert_true(modes_by(w, ANEW, &n)[1] > 0.3);
    expect_warning(w, "the folder can not be made");
}

/* A run killed at any moment leaves nothing that a later one would fall over. */
static void test_killed(void **state)
{
    workshop *w = *state;
    size_t n, n_kept;
    const double *modes = modes_by(w, ANEW, &n);
    for (int i = 0; i < 6; i++) {
        empty_folder(w);
        const pid_t run = fork();
        if (run == 0) {
            ebb_prepared *p;
            (void)ebb_prepare(w->base.ctx, &w->job, "room 1", &w->wish, &p);
            _exit(0);
        }
        assert_true(run > 0);
        nanosleep(&(struct timespec){.tv_nsec = 150000000L * i + 1000000}, NULL);
        kill(run, SIGKILL);
        assert_int_equal(waitpid(run, NULL, 0), run);
        ebb_prepared *p = prepare(w, "room 1");
        const double *lambda, *shape;
        n_kept = ebb_space_modes(w->room[1].space, &lambda, &shape, NULL);
        assert_int_equal(n_kept, n);
        assert_memory_equal(lambda, modes, n * sizeof *modes);
        ebb_prepared_free(p);
        assert_int_equal(ebb_ctx_messages(w->base.ctx), 0);
    }
}

/* Two programs start at once with nothing kept. */
static void test_two_at_once(void **state)
{
    workshop *w = *state;
    pid_t run[2];
    size_t n;
    for (int i = 0; i < 2; i++)
        if ((run[i] = fork()) == 0) {
            ebb_prepared *p;
            const bool good = ebb_prepare(w->base.ctx, &w->job, NULL, &w->wish, &p) == EBB_OK &&
                              ebb_ctx_messages(w->base.ctx) == 0;
            _exit(good ? 0 : 1);
        }
    for (int i = 0; i < 2; i++) {
        int end;
        assert_int_equal(waitpid(run[i], &end, 0), run[i]);
        assert_true(WIFEXITED(end) && WEXITSTATUS(end) == 0);
    }
    assert_int_equal(count_entries(w), 2);
    (void)modes_by(w, KEPT, &n);
    assert_int_equal(ebb_ctx_messages(w->base.ctx), 0);
}

/* ---- no mesh --------------------------------------------------------------------------------- */

static void test_no_mesher(void **state)
{
    workshop *w = *state;
    ebb_prepared *p;
    w->wish.mesher = "/no/such/ebb-mesh";
    assert_int_equal(ebb_prepare(w->base.ctx, &w->job, NULL, &w->wish, &p), EBB_E_IO);
    assert_null(p);
    for (int i = 0; i < ROOMS; i++)
        assert_null(w->room[i].space);
    assert_int_equal(count_entries(w), 0);
    expect_error(&w->base, "there is no program /no/such/ebb-mesh");
    /* With the result kept from before the mesher is not missed. */
    w->wish.mesher = NULL;
    ebb_prepared_free(prepare(w, NULL));
    w->wish.mesher = "/no/such/ebb-mesh";
    p = prepare(w, NULL);
    assert_string_equal(w->steps, KEPT "room 3:kept modes ");
    ebb_prepared_free(p);
}

/* The second of two rooms fails: the first one's space is given back. */
static void test_second_room_fails(void **state)
{
    workshop *w = *state;
    ebb_prepared *p;
    yard *y = (yard *)(uintptr_t)w->room[3].solid;
    y->solid.n_facets--; /* open */
    assert_int_not_equal(ebb_prepare(w->base.ctx, &w->job, NULL, &w->wish, &p), EBB_OK);
    assert_null(p);
    for (int i = 0; i < ROOMS; i++)
        assert_null(w->room[i].space);
    expect_error(&w->base, "not closed as it should be");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        WORKSHOP_TEST(test_rectangles_need_nothing),
        WORKSHOP_TEST(test_all_rooms),
        WORKSHOP_TEST(test_one_room),
        WORKSHOP_TEST(test_kept),
        WORKSHOP_TEST(test_damaged),
        WORKSHOP_TEST(test_whole_but_wrong),
        WORKSHOP_TEST(test_full_disk),
        WORKSHOP_TEST(test_no_place_for_a_cache),
        WORKSHOP_TEST(test_killed),
        WORKSHOP_TEST(test_two_at_once),
        WORKSHOP_TEST(test_no_mesher),
        WORKSHOP_TEST(test_second_room_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
