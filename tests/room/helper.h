/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Jobs from text for the tests of this module. */
#ifndef TESTS_ROOM_HELPER_H
#define TESTS_ROOM_HELPER_H

#include <ebb/job.h>
#include <ebb/limits.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* The parts of a job without faults, for tests to put together. */
#define HEAD "job: Test\nuse: music\nconstructions:\n  stone: {admittance: 0.01}\n"
#define ROOM_HEAD "rooms:\n  - name: A\n"
#define ROOM_SIZE "    size: [5 m, 4 m, 3 m]\n"
#define ROOM_SURFACES "    surfaces: {all: stone}\n"
#define ROOM_SEATS "    seats: [{name: lead, at: [2 m, 2 m, 1.2 m]}]\n"
#define ROOM_SPEAKERS "    speakers: [{name: left, at: [1 m, 1 m, 1.2 m]}]\n"
#define ROOM ROOM_HEAD ROOM_SIZE ROOM_SURFACES ROOM_SEATS ROOM_SPEAKERS

typedef struct fixture {
    ebb_ctx *ctx;
    ebb_job *job;
} fixture;

static inline int set_up(void **state)
{
    fixture *f = calloc(1, sizeof *f);
    f->ctx = ebb_ctx_new();
    *state = f;
    return f->ctx == NULL;
}

static inline int tear_down(void **state)
{
    fixture *f = *state;
    ebb_job_free(f->job);
    ebb_ctx_free(f->ctx);
    free(f);
    return 0;
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, set_up, tear_down)

static inline void print_messages(const ebb_ctx *ctx)
{
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++) {
        const ebb_message *m = ebb_ctx_message(ctx, i);
        print_error("%s:%d:%d: %s: %s\n", m->place.file != NULL ? m->place.file : "-",
                    m->place.line, m->place.column, m->place.key != NULL ? m->place.key : "-",
                    m->text);
    }
}

static inline ebb_status parse_in(fixture *f, const char *text, const char *folder)
{
    ebb_job_free(f->job);
    f->job = NULL;
    ebb_ctx_clear(f->ctx);
    return ebb_job_parse(f->ctx, text, strlen(text), "job.yaml", folder, &f->job);
}

/* Parses a job that must be without faults. */
static inline const ebb_job *good_job(fixture *f, const char *text)
{
    const ebb_status status = parse_in(f, text, NULL);
    if (status != EBB_OK)
        print_messages(f->ctx);
    assert_int_equal(status, EBB_OK);
    assert_non_null(f->job);
    return f->job;
}

/* Parses a job that must have exactly one fault, at `key`, whose text holds `part`. */
static inline void one_fault(fixture *f, const char *text, const char *key, const char *part)
{
    const ebb_status status = parse_in(f, text, NULL);
    if (ebb_ctx_messages(f->ctx) != 1 || strstr(ebb_ctx_message(f->ctx, 0)->text, part) == NULL)
        print_messages(f->ctx);
    assert_int_equal(status, EBB_E_INPUT);
    assert_null(f->job);
    assert_int_equal(ebb_ctx_messages(f->ctx), 1);
    const ebb_message *m = ebb_ctx_message(f->ctx, 0);
    assert_int_equal(m->status, EBB_E_INPUT);
    assert_string_equal(m->place.key, key);
    assert_non_null(strstr(m->text, part));
}

/* Relative closeness, for numbers that went through units. */
static inline void assert_near(double got, double wanted)
{
    const double size = wanted < 0 ? -wanted : wanted;
    if (!(got - wanted <= 1e-12 * size && wanted - got <= 1e-12 * size))
        print_error("got %.17g, wanted %.17g\n", got, wanted);
    assert_true(got - wanted <= 1e-12 * size && wanted - got <= 1e-12 * size);
}

/* Path of a file of the project, in a buffer of the caller. */
static inline const char *project_file(const char *name, char *out, size_t size)
{
    const char *tests = getenv("EBB_TEST_DATA");
    assert_non_null(tests);
    snprintf(out, size, "%s/../%s", tests, name);
    return out;
}

/* A whole file as text, to be freed. */
static inline char *read_whole(const char *path, size_t *length)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        print_error("%s cannot be opened\n", path);
    assert_non_null(file);
    char *text = NULL;
    size_t used = 0, got;
    do {
        text = realloc(text, used + 65536 + 1);
        assert_non_null(text);
        got = fread(text + used, 1, 65536, file);
        used += got;
    } while (got > 0);
    fclose(file);
    text[used] = '\0';
    *length = used;
    return text;
}

#endif
