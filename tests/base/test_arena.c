/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "failing.h"

#include <ebb/arena.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <string.h>

#include <cmocka.h>

static void test_zeroed_aligned_apart(void **state)
{
    (void)state;
    failing f = {.left = -1};
    ebb_ctx *ctx = failing_ctx(&f);
    ebb_arena *arena = ebb_arena_new(ctx);
    assert_non_null(arena);
    enum { N = 600 };
    unsigned char *block[N];
    size_t size[N];
    for (size_t i = 0; i < N; i++) {
        size[i] = (i * 7919) % 9001 + 1; /* small ones and ones larger than a first chunk */
        block[i] = EBB_NEW(arena, unsigned char, size[i]);
        assert_non_null(block[i]);
        assert_int_equal((uintptr_t)block[i] % 64, 0);
        for (size_t k = 0; k < size[i]; k++)
            assert_int_equal(block[i][k], 0);
        memset(block[i], (int)(i % 251) + 1, size[i]);
    }
    /* Had two blocks overlapped, the later would have overwritten the earlier. */
    for (size_t i = 0; i < N; i++)
        for (size_t k = 0; k < size[i]; k++)
            assert_int_equal(block[i][k], i % 251 + 1);
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
}

static void test_refuses_what_cannot_be(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    assert_null(ebb_arena_alloc(arena, SIZE_MAX, 2));
    assert_null(ebb_arena_alloc(arena, 2, SIZE_MAX));
    assert_null(ebb_arena_alloc(arena, SIZE_MAX, 1));
    assert_null(ebb_arena_alloc(arena, SIZE_MAX / 2 + 2, 2)); /* wraps round to 2 bytes */
    assert_null(ebb_arena_alloc(NULL, 1, 1));
    assert_null(ebb_arena_text(NULL, "x"));
    assert_non_null(ebb_arena_alloc(arena, 0, 8));
    assert_non_null(ebb_arena_alloc(arena, 8, 0));
    assert_non_null(EBB_NEW(arena, double, 3));
    ebb_arena_free(arena);
    ebb_arena_free(NULL);
    ebb_ctx_free(ctx);
}

static void test_texts(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    char from[] = "sail store";
    const char *copy = ebb_arena_text(arena, from);
    from[0] = 'x';
    assert_string_equal(copy, "sail store");
    assert_string_equal(ebb_arena_text(arena, ""), "");
    assert_string_equal(ebb_arena_format(arena, "rooms[%d].%s", 2, "name"), "rooms[2].name");
    const char *wide = ebb_arena_format(arena, "%20000s", "end");
    assert_int_equal(strlen(wide), 20000);
    assert_string_equal(wide + 19997, "end");
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
}

/* Worker threads have no context, but need memory. */
static void test_without_context(void **state)
{
    (void)state;
    ebb_arena *arena = ebb_arena_new(NULL);
    assert_non_null(arena);
    double *numbers = EBB_NEW(arena, double, 100000);
    assert_non_null(numbers);
    assert_true(numbers[99999] == 0);
    ebb_arena_free(arena);
}

/* A large block must not waste what is left of the chunk being filled. */
static void test_large_block_goes_behind(void **state)
{
    (void)state;
    failing f = {.left = -1};
    ebb_ctx *ctx = failing_ctx(&f);
    ebb_arena *arena = ebb_arena_new(ctx);
    char *a = EBB_NEW(arena, char, 64);
    assert_non_null(EBB_NEW(arena, char, 3000000));
    const long asked = f.asked;
    char *b = EBB_NEW(arena, char, 64);
    assert_int_equal(f.asked, asked);
    assert_int_equal(b - a, 64);
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
    assert_int_equal(f.blocks, 0);
}

/* Fails the nth allocation for n = 1, 2, ... until all goes well; nothing may leak or crash. */
/* What was in the joined arena stays readable, the room of the first is still used, and all is
 * freed once (the sanitised build would tell). */
static void test_joined(void **state)
{
    (void)state;
    ebb_arena *one = ebb_arena_new(NULL), *two = ebb_arena_new(NULL), *none = ebb_arena_new(NULL);
    char *kept = ebb_arena_text(two, "kept");
    double *large = EBB_RAW(two, double, 100000);
    char *first = EBB_NEW(one, char, 8);
    assert_non_null(large);
    large[99999] = 1;
    ebb_arena_join(one, two);
    ebb_arena_join(one, NULL);
    ebb_arena_join(none, one);
    assert_string_equal(kept, "kept");
    assert_true(large[99999] == 1);
    char *next = EBB_NEW(none, char, 8);
    assert_non_null(next);
    assert_true(next != first);
    ebb_arena_free(none);
}

static void test_nth_allocation_fails(void **state)
{
    (void)state;
    bool all_well = false;
    long n = 1;
    for (; !all_well && n < 50; n++) {
        failing f = {.left = n};
        ebb_ctx *ctx = failing_ctx(&f);
        ebb_arena *arena = ebb_arena_new(ctx);
        size_t good = 0;
        for (size_t i = 0; i < 5; i++)
            good += EBB_NEW(arena, double, 1000 * i + 1) != NULL;
        good += ebb_arena_text(arena, "text") != NULL;
        good += ebb_arena_format(arena, "%5000d", 1) != NULL;
        all_well = good == 7;
        ebb_arena_free(arena);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
    }
    assert_true(all_well);
    assert_true(n > 4); /* some did fail */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_zeroed_aligned_apart),
        cmocka_unit_test(test_refuses_what_cannot_be),
        cmocka_unit_test(test_texts),
        cmocka_unit_test(test_without_context),
        cmocka_unit_test(test_large_block_goes_behind),
        cmocka_unit_test(test_joined),
        cmocka_unit_test(test_nth_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
