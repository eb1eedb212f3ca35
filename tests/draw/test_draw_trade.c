/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The plot of trade-offs: trade.c. */
#include <ebb/draw.h>
#include <ebb/file.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

/* Three invented trade-offs and a pick; nothing of it was searched for. */
static ebb_craft invented(const ebb_target *target, const ebb_craft_merit *merit,
                          ebb_craft_pick *pick)
{
    pick->aim = EBB_CRAFT_LIGHT;
    pick->merit = merit[0];
    return (ebb_craft){.target = target,
                       .passes = true,
                       .n_front = 3,
                       .front_merit = merit,
                       .n_picks = 1,
                       .pick = pick};
}

static const ebb_craft_merit MERITS[3] = {{.absorption = 0.5, .mass = 20, .depth = 0.2},
                                          {.absorption = 0.7, .mass = 30, .depth = 0.3},
                                          {.absorption = 0.8, .mass = 50, .depth = 0.4}};

static void a_plot_is_written_and_repeats(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    const ebb_target target = {.name = "bay"};
    ebb_craft_pick pick = {0};
    const ebb_craft craft = invented(&target, MERITS, &pick);
    char path[2][64], *data[2];
    size_t length[2];
    for (int i = 0; i < 2; i++) {
        snprintf(path[i], sizeof path[i], "/tmp/ebb-trade-%ld-%d.svg", (long)getpid(), i);
        assert_int_equal(ebb_trade_file(ctx, path[i], &craft), EBB_OK);
        assert_int_equal(ebb_file_read(ctx, arena, path[i], 1 << 20, &data[i], &length[i]), EBB_OK);
        unlink(path[i]);
    }
    assert_int_equal(length[0], length[1]);
    assert_memory_equal(data[0], data[1], length[0]);
    assert_non_null(strstr(data[0], "<svg"));
    /* other points, another picture */
    ebb_craft_merit other[3];
    memcpy(other, MERITS, sizeof other);
    other[1].absorption = 0.6;
    const ebb_craft moved = invented(&target, other, &pick);
    assert_int_equal(ebb_trade_file(ctx, path[1], &moved), EBB_OK);
    assert_int_equal(ebb_file_read(ctx, arena, path[1], 1 << 20, &data[1], &length[1]), EBB_OK);
    unlink(path[1]);
    assert_true(length[0] != length[1] || memcmp(data[0], data[1], length[0]) != 0);
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
}

static void without_boxes_there_is_no_plot(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    const ebb_target target = {.name = "bay"};
    const ebb_craft craft = {.target = &target};
    assert_int_equal(ebb_trade_file(ctx, "/tmp/ebb-no-trade.svg", &craft), EBB_E_RANGE);
    assert_int_equal(access("/tmp/ebb-no-trade.svg", F_OK), -1);
    assert_non_null(strstr(ebb_ctx_message(ctx, 0)->text, "bay"));
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plot_is_written_and_repeats),
        cmocka_unit_test(without_boxes_there_is_no_plot),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
