/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Libraries from text for the tests of this module. */
#ifndef TESTS_ROOM_SHELF_H
#define TESTS_ROOM_SHELF_H

#include "helper.h"

#include <ebb/library.h>

#define LIBRARY "library: Test\n"
#define BOX_SIZE "face: [0.6 m, 1.2 m], depth: 0.3 m, "
#define BOX_CABINET "cabinet: {board: 15 mm plywood, rigid: yes}, "

typedef struct shelf {
    ebb_ctx *ctx;
    ebb_library *library;
} shelf;

static inline int open_shelf(void **state)
{
    shelf *s = calloc(1, sizeof *s);
    s->ctx = ebb_ctx_new();
    *state = s;
    return s->ctx == NULL;
}

static inline int close_shelf(void **state)
{
    shelf *s = *state;
    ebb_library_free(s->library);
    ebb_ctx_free(s->ctx);
    free(s);
    return 0;
}

#define SHELF_TEST(function) cmocka_unit_test_setup_teardown(function, open_shelf, close_shelf)

static inline ebb_status read_shelf(shelf *s, const char *text, const char *folder)
{
    ebb_library_free(s->library);
    s->library = NULL;
    ebb_ctx_clear(s->ctx);
    return ebb_library_parse(s->ctx, text, strlen(text), "boxes.yaml", folder, &s->library);
}

/* Parses a library that must be without faults. */
static inline const ebb_library *good_library(shelf *s, const char *text, const char *folder)
{
    const ebb_status status = read_shelf(s, text, folder);
    if (status != EBB_OK)
        print_messages(s->ctx);
    assert_int_equal(status, EBB_OK);
    assert_non_null(s->library);
    return s->library;
}

/* The only unit of a library, from the inside of its mapping. */
static inline const ebb_unit *unit_in(shelf *s, const char *body)
{
    char text[4096];
    snprintf(text, sizeof text, LIBRARY "absorbers:\n  box: {%s}\n", body);
    const ebb_library *library = good_library(s, text, NULL);
    assert_int_equal(library->n_units, 1);
    return library->unit;
}

/* Parses a library that must have exactly one fault, at `key`, whose text holds `part`. */
static inline void one_library_fault(shelf *s, const char *text, const char *key, const char *part)
{
    const ebb_status status = read_shelf(s, text, NULL);
    const size_t n = ebb_ctx_messages(s->ctx);
    if (n != 1 || strstr(ebb_ctx_message(s->ctx, 0)->text, part) == NULL)
        print_messages(s->ctx);
    assert_int_equal(status, EBB_E_INPUT);
    assert_null(s->library);
    assert_int_equal(n, 1);
    const ebb_message *m = ebb_ctx_message(s->ctx, 0);
    assert_string_equal(m->place.key, key);
    assert_non_null(strstr(m->text, part));
}

#endif
