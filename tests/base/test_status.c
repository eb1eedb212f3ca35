/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "failing.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

static void test_every_status_has_a_text(void **state)
{
    (void)state;
    assert_string_equal(ebb_status_text(EBB_OK), "done");
    assert_string_equal(ebb_status_text(EBB_E_NOSOLUTION), "there is no solution");
    for (int s = EBB_OK; s <= EBB_E_NOSOLUTION; s++)
        for (int t = EBB_OK; t < s; t++)
            assert_string_not_equal(ebb_status_text((ebb_status)s), ebb_status_text((ebb_status)t));
    assert_string_equal(ebb_status_text((ebb_status)99), "unknown status");
}

static void test_fail_records_and_returns(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    assert_non_null(ctx);
    assert_int_equal(ebb_ctx_messages(ctx), 0);
    assert_int_equal(ebb_fail(ctx, EBB_E_RANGE, "%s is %d m", "height", 3), EBB_E_RANGE);
    assert_int_equal(ebb_ctx_errors(ctx), 1);
    const ebb_message *m = ebb_ctx_message(ctx, 0);
    assert_string_equal(m->text, "height is 3 m");
    assert_int_equal(m->status, EBB_E_RANGE);
    assert_null(m->place.file);
    assert_int_equal(m->place.line, 0);
    assert_null(ebb_ctx_message(ctx, 1));
    ebb_ctx_free(ctx);
}

static void test_place_is_copied(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    char file[] = "house.yaml", key[] = "rooms[0].name";
    const ebb_place place = {file, 12, 7, key};
    assert_int_equal(ebb_fail_at(ctx, EBB_E_INPUT, &place, "empty"), EBB_E_INPUT);
    memset(file, 'x', sizeof file - 1);
    memset(key, 'x', sizeof key - 1);
    const ebb_message *m = ebb_ctx_message(ctx, 0);
    assert_string_equal(m->place.file, "house.yaml");
    assert_string_equal(m->place.key, "rooms[0].name");
    assert_int_equal(m->place.line, 12);
    assert_int_equal(m->place.column, 7);
    ebb_ctx_free(ctx);
}

/* Texts longer than the buffer of the first try must arrive whole. */
static void test_long_text(void **state)
{
    (void)state;
    char text[3000];
    memset(text, 'a', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_fail(ctx, EBB_E_INPUT, "<%s>", text);
    ebb_warn_at(ctx, NULL, "<%s>", text);
    ebb_warn_at(ctx, NULL, "<%s>", text);
    assert_int_equal(ebb_ctx_messages(ctx), 2);
    for (size_t i = 0; i < 2; i++) {
        const char *kept = ebb_ctx_message(ctx, i)->text;
        assert_int_equal(strlen(kept), sizeof text + 1);
        assert_memory_equal(kept + 1, text, sizeof text - 1);
        assert_int_equal(kept[sizeof text], '>');
    }
    ebb_ctx_free(ctx);
}

static void test_first_errors_win(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    for (int i = 0; i < 1000; i++)
        ebb_fail(ctx, EBB_E_INPUT, "fault %d", i);
    assert_int_equal(ebb_ctx_errors(ctx), 1000);
    assert_int_equal(ebb_ctx_messages(ctx), 200);
    assert_string_equal(ebb_ctx_message(ctx, 0)->text, "fault 0");
    assert_string_equal(ebb_ctx_message(ctx, 199)->text, "fault 199");
    /* Full of errors there is still room for warnings. */
    for (int i = 0; i < 1000; i++)
        ebb_warn_at(ctx, NULL, "warning %d", i);
    assert_int_equal(ebb_ctx_messages(ctx), 400);
    assert_string_equal(ebb_ctx_message(ctx, 399)->text, "warning 199");
    ebb_ctx_free(ctx);
}

static void test_warnings_once_and_in_order(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    const ebb_place place = {"a.yaml", 3, 1, "air"};
    ebb_warn_at(ctx, &place, "outside %d..%d", 1, 2);
    ebb_fail(ctx, EBB_E_RANGE, "too hot");
    ebb_warn_at(ctx, NULL, "outside %d..%d", 1, 2);
    ebb_warn_at(ctx, NULL, "outside %d..%d", 1, 3);
    /* An error of the same text is not a repeated warning. */
    ebb_warn_at(ctx, NULL, "too hot");
    assert_int_equal(ebb_ctx_errors(ctx), 1);
    assert_int_equal(ebb_ctx_messages(ctx), 4);
    assert_int_equal(ebb_ctx_message(ctx, 0)->status, EBB_OK);
    assert_string_equal(ebb_ctx_message(ctx, 0)->place.key, "air");
    assert_int_equal(ebb_ctx_message(ctx, 1)->status, EBB_E_RANGE);
    assert_string_equal(ebb_ctx_message(ctx, 2)->text, "outside 1..3");
    assert_string_equal(ebb_ctx_message(ctx, 3)->text, "too hot");
    ebb_ctx_free(ctx);
}

static void test_clear_forgets(void **state)
{
    (void)state;
    failing f = {.left = -1};
    ebb_ctx *ctx = failing_ctx(&f);
    ebb_fail(ctx, EBB_E_INPUT, "one");
    ebb_warn_at(ctx, NULL, "two");
    ebb_ctx_clear(ctx);
    assert_int_equal(ebb_ctx_errors(ctx), 0);
    assert_int_equal(ebb_ctx_messages(ctx), 0);
    assert_int_equal(f.blocks, 1); /* the context alone */
    ebb_fail(ctx, EBB_E_INPUT, "three");
    assert_string_equal(ebb_ctx_message(ctx, 0)->text, "three");
    ebb_ctx_free(ctx);
    assert_int_equal(f.blocks, 0);
}

/* Running out of memory at any allocation leaves a message with the right status, and no leak. */
static void test_nth_allocation_fails(void **state)
{
    (void)state;
    const ebb_place place = {"a.yaml", 3, 1, "air"};
    char text[400];
    memset(text, 'b', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    failing f = {.left = 0};
    assert_null(failing_ctx(&f));
    for (long n = 1; n < 6; n++) {
        f = (failing){.left = n};
        ebb_ctx *ctx = failing_ctx(&f);
        assert_non_null(ctx);
        assert_int_equal(ebb_fail_at(ctx, EBB_E_INPUT, &place, "%s", text), EBB_E_INPUT);
        assert_int_equal(ebb_ctx_errors(ctx), 1);
        const ebb_message *m = ebb_ctx_message(ctx, 0);
        assert_int_equal(m->status, EBB_E_INPUT);
        assert_int_equal(m->place.line, 3);
        assert_non_null(m->text);
        if (n < 3)
            assert_string_equal(m->text, "(out of memory)");
        else
            assert_string_equal(m->text, text);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
    }
}

static void note_progress(void *user, const char *what, double done)
{
    snprintf(user, 64, "%s %.2f", what, done);
}

static void test_progress_and_null(void **state)
{
    (void)state;
    char seen[64] = "nothing";
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_progress(ctx, "modes", 0.5);
    assert_string_equal(seen, "nothing");
    ebb_ctx_on_progress(ctx, note_progress, seen);
    ebb_progress(ctx, "modes", 0.25);
    assert_string_equal(seen, "modes 0.25");
    ebb_ctx_free(ctx);
    /* A call without context still hands its status on. */
    assert_int_equal(ebb_fail(NULL, EBB_E_IO, "x"), EBB_E_IO);
    assert_int_equal(ebb_fail_at(NULL, EBB_E_RANGE, NULL, "x"), EBB_E_RANGE);
    ebb_warn_at(NULL, NULL, "x");
    const ebb_allocator *libc = ebb_ctx_allocator(NULL);
    void *block = libc->resize(libc->user, NULL, 10);
    assert_non_null(block);
    assert_null(libc->resize(libc->user, block, 0));
    ebb_progress(NULL, "x", 0);
    ebb_ctx_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_status_has_a_text),
        cmocka_unit_test(test_fail_records_and_returns),
        cmocka_unit_test(test_place_is_copied),
        cmocka_unit_test(test_long_text),
        cmocka_unit_test(test_first_errors_win),
        cmocka_unit_test(test_warnings_once_and_in_order),
        cmocka_unit_test(test_clear_forgets),
        cmocka_unit_test(test_nth_allocation_fails),
        cmocka_unit_test(test_progress_and_null),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
