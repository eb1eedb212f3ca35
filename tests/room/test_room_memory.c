/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The nth allocation fails, for n = 0, 1, 2 ...: no crash, no leak, no half a job. */
#include "../base/failing.h"
#include "shelf.h"

static void run_until_it_succeeds(const char *text, size_t length, const char *folder,
                                  ebb_status wanted)
{
    long n = 0;
    for (;; n++) {
        failing memory = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&memory);
        assert_non_null(ctx);
        memory.left = n;
        ebb_job *job = (ebb_job *)ctx; /* anything but NULL */
        const ebb_status status = ebb_job_parse(ctx, text, length, "job.yaml", folder, &job);
        assert_true(status == wanted || status == EBB_E_NOMEM);
        if (status != EBB_OK) {
            assert_null(job);
            assert_true(ebb_ctx_errors(ctx) > 0);
        }
        const bool enough = memory.left > 0;
        if (enough)
            assert_int_equal(status, wanted);
        ebb_job_free(job);
        ebb_ctx_free(ctx);
        assert_int_equal(memory.blocks, 0);
        if (enough)
            break;
    }
    assert_true(n > 5); /* the allocator was in the way */
}

static void reading_the_example(void **state)
{
    (void)state;
    char path[1024];
    size_t length;
    char *text =
        read_whole(project_file("examples/harbour-house.yaml", path, sizeof path), &length);
    run_until_it_succeeds(text, length, NULL, EBB_OK);
    free(text);
}

static void reading_rooms_of_any_shape(void **state)
{
    (void)state;
    static const char text[] = HEAD ROOM_HEAD
        "    plan: [[0 m, 0 m], [5 m, 0 m], [5 m, 2 m], [3 m, 2 m], [3 m, 4 m], [0 m, 4 m]]\n"
        "    columns: [[[1 m, 3 m], [1.2 m, 3 m], [1.2 m, 3.2 m]]]\n"
        "    ceiling: {eaves: 2 m, ridge: {height: 3 m, from: [0 m, 2 m], to: [5 m, 2 m]}}\n"
        "    bodies: [{name: b, on: wall_1, at: [3 m, 0 m], size: [1 m, 2 m], depth: 0.3 m, of: "
        "stone}]\n" ROOM_SURFACES ROOM_SEATS ROOM_SPEAKERS;
    run_until_it_succeeds(text, sizeof text - 1, NULL, EBB_OK);
}

static void moving_a_wall(void **state)
{
    (void)state;
    static const char text[] = HEAD ROOM_HEAD
        "    plan: [[0 m, 0 m], [5 m, 0 m], [5 m, 2 m], [3 m, 2 m], [3 m, 4 m], [0 m, 4 m]]\n"
        "    ceiling: 3 m\n" ROOM_SURFACES ROOM_SEATS ROOM_SPEAKERS;
    for (long n = 0;; n++) {
        failing memory = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&memory);
        ebb_job *job = NULL;
        assert_int_equal(ebb_job_parse(ctx, text, sizeof text - 1, "job.yaml", NULL, &job), EBB_OK);
        memory.left = n;
        ebb_arena *arena = ebb_arena_new(ctx);
        ebb_room moved;
        const ebb_status status = ebb_room_moved(ctx, arena, job, job->rooms, 3, 0.5, &moved);
        const bool enough = memory.left > 0;
        assert_true(status == EBB_OK || (status == EBB_E_NOMEM && !enough));
        assert_int_equal(status == EBB_OK, moved.n_surfaces > 0);
        ebb_arena_free(arena);
        ebb_job_free(job);
        ebb_ctx_free(ctx);
        assert_int_equal(memory.blocks, 0);
        if (enough)
            break;
    }
}

static void reading_a_job_full_of_faults(void **state)
{
    (void)state;
    char path[1024];
    size_t length;
    char *text = read_whole(
        project_file("tests/room/bad/153-everything-at-once/job.yaml", path, sizeof path), &length);
    run_until_it_succeeds(text, length, NULL, EBB_E_INPUT);
    free(text);
}

static void reading_a_table(void **state)
{
    (void)state;
    char folder[1024];
    static const char text[] = HEAD "  x: {admittance: {table: wall.csv}}\n" ROOM;
    project_file("tests/room/bad/137-table-rows", folder, sizeof folder);
    run_until_it_succeeds(text, sizeof text - 1, folder, EBB_E_INPUT);
}

static void run_library(const char *name, const char *folder, ebb_status wanted)
{
    char path[1024];
    size_t length;
    char *text = read_whole(project_file(name, path, sizeof path), &length);
    long n = 0;
    for (bool enough = false; !enough; n++) {
        failing memory = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&memory);
        memory.left = n;
        ebb_library *library = (ebb_library *)ctx; /* anything but NULL */
        const ebb_status status =
            ebb_library_parse(ctx, text, length, "library.yaml", folder, &library);
        assert_true(status == wanted || status == EBB_E_NOMEM);
        assert_int_equal(status == EBB_OK, library != NULL);
        assert_true(status == EBB_OK || ebb_ctx_errors(ctx) > 0);
        enough = memory.left > 0;
        if (enough)
            assert_int_equal(status, wanted);
        ebb_library_free(library);
        ebb_ctx_free(ctx);
        assert_int_equal(memory.blocks, 0);
    }
    assert_true(n > 5);
    free(text);
}

static void reading_a_library_with_its_job(void **state)
{
    (void)state;
    char folder[1024];
    project_file("tests/room/shelf", folder, sizeof folder);
    run_library("tests/room/shelf/boxes.yaml", folder, EBB_OK);
}

static void reading_a_library_full_of_faults(void **state)
{
    (void)state;
    run_library("tests/room/bad-library/054-everything-at-once/library.yaml", NULL, EBB_E_INPUT);
}

static void reading_a_job_that_takes_units(void **state)
{
    (void)state;
    char path[1024], folder[1024];
    size_t length;
    char *text = read_whole(project_file("tests/room/shelf/job.yaml", path, sizeof path), &length);
    project_file("tests/room/shelf", folder, sizeof folder);
    run_until_it_succeeds(text, length, folder, EBB_OK);
    free(text);
}

static void writing_the_schema(void **state)
{
    (void)state;
    for (long n = 0;; n++) {
        failing memory = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&memory);
        memory.left = n;
        ebb_arena *arena = ebb_arena_new(ctx);
        const char *text = "";
        const ebb_status status = ebb_job_schema(ctx, arena, &text);
        assert_int_equal(status == EBB_OK, text != NULL);
        const bool enough = memory.left > 0;
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
        assert_int_equal(memory.blocks, 0);
        if (enough) {
            assert_int_equal(status, EBB_OK);
            break;
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reading_the_example),
        cmocka_unit_test(reading_rooms_of_any_shape),
        cmocka_unit_test(moving_a_wall),
        cmocka_unit_test(reading_a_job_full_of_faults),
        cmocka_unit_test(reading_a_table),
        cmocka_unit_test(reading_a_library_with_its_job),
        cmocka_unit_test(reading_a_library_full_of_faults),
        cmocka_unit_test(reading_a_job_that_takes_units),
        cmocka_unit_test(writing_the_schema),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
