/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Geometries and states that make no sense are refused with a message that names the fault.
 */
#include <ebb/field.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

/* ---- geometries ------------------------------------------------------------------------------ */

static void refuse_geometry(const ebb_geometry *geometry, const char *word)
{
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_reduced *reduced = (ebb_reduced *)&ctx;
    assert_int_equal(ebb_reduced_new(ctx, geometry, &reduced), EBB_E_RANGE);
    assert_null(reduced);
    assert_int_equal(ebb_ctx_errors(ctx), 1);
    assert_non_null(strstr(ebb_ctx_message(ctx, 0)->text, word));
    ebb_ctx_free(ctx);
}

#define REFUSED(word, change)                                                                      \
    do {                                                                                           \
        treated room;                                                                              \
        treated_make_tiny(&room);                                                                  \
        ebb_geometry *g = &room.geometry;                                                          \
        change;                                                                                    \
        refuse_geometry(g, word);                                                                  \
    } while (0)

static void geometries_out_of_range_are_refused(void **state)
{
    (void)state;
    REFUSED("room size", g->size[0] = 0.4);
    REFUSED("room size", g->size[2] = 41);
    REFUSED("room size", g->size[1] = NAN);
    REFUSED("frequency", g->highest = 19);
    REFUSED("frequency", g->highest = 401);
    REFUSED("speed", g->speed = 0);
    REFUSED("speed", g->speed = INFINITY);
    REFUSED("richness", g->richness = 0.1);
    REFUSED("richness", g->richness = 1.1);
    REFUSED("richness", g->richness = NAN);
}

static void points_and_patches_off_the_room_are_refused(void **state)
{
    (void)state;
    REFUSED("point 1", room.point[1].x = 2.01);
    REFUSED("point 0", room.point[0].z = -0.01);
    REFUSED("point 1", room.point[1].y = NAN);
    REFUSED("patch 0", room.patch[0].at[0] = -0.01);
    REFUSED("patch 0", room.patch[0].at[1] = 0.61);
    REFUSED("patch 1", room.patch[1].size[0] = 1.2);
    REFUSED("patch 1", room.patch[1].size[1] = 0);
    REFUSED("patch 1", room.patch[1].size[1] = NAN);
    REFUSED("patch 0", room.patch[0].face = 6);
    REFUSED("patch 0", room.patch[0].face = -1);
    REFUSED("patch 1", room.patch[1].assembly = NULL);
}

/* ---- states ---------------------------------------------------------------------------------- */

typedef struct fixture {
    ebb_ctx *ctx;
    treated room;
    ebb_reduced *reduced;
} fixture;

static void open_tiny(fixture *f)
{
    f->ctx = ebb_ctx_new();
    treated_make_tiny(&f->room);
    f->reduced = project(f->ctx, &f->room.geometry);
}

static void close_room(fixture *f)
{
    ebb_reduced_free(f->reduced);
    ebb_ctx_free(f->ctx);
}

/* All three solvers refuse, say one word, and leave zeros behind. */
static void refuse_state(fixture *f, double hz, const char *word)
{
    const double vector = 1, both[2] = {50, hz};
    double power[1 + EBB_FACES + 2];
    double _Complex h[2] = {1, 1}, g[2] = {1, 1};
    for (size_t i = 0; i < COUNT(power); i++)
        power[i] = 1;
    ebb_ctx_clear(f->ctx);
    assert_int_equal(ebb_response(f->ctx, f->reduced, &f->room.state, 2, both, h), EBB_E_RANGE);
    assert_int_equal(ebb_green(f->ctx, f->reduced, &f->room.state, 2, both, 1, &vector, g),
                     EBB_E_RANGE);
    assert_int_equal(ebb_power(f->ctx, f->reduced, &f->room.state, hz, power), EBB_E_RANGE);
    assert_int_equal(ebb_ctx_errors(f->ctx), 3);
    for (size_t i = 0; i < 3; i++)
        assert_non_null(strstr(ebb_ctx_message(f->ctx, i)->text, word));
    for (size_t i = 0; i < 2; i++)
        assert_true(h[i] == 0 && g[i] == 0);
    for (size_t i = 0; i < 1 + EBB_FACES + f->room.state.n_used; i++)
        assert_true(power[i] == 0);
}

static void frequencies_out_of_range_are_refused(void **unused)
{
    (void)unused;
    static const double bad[] = {0, -20, 1001, NAN, INFINITY};
    fixture f;
    open_tiny(&f);
    for (size_t i = 0; i < COUNT(bad); i++)
        refuse_state(&f, bad[i], "frequency");
    close_room(&f);
}

static void points_outside_the_room_are_refused(void **unused)
{
    (void)unused;
    fixture f;
    open_tiny(&f);
    f.room.point[0].z = 1.21;
    refuse_state(&f, 50, "source 0");
    f.room.point[0].z = 1;
    f.room.point[1].x = -0.01;
    refuse_state(&f, 50, "receiver 0");
    f.room.point[1].x = NAN;
    refuse_state(&f, 50, "receiver 0");
    close_room(&f);
}

static void states_that_do_not_fit_are_refused(void **unused)
{
    (void)unused;
    fixture f;
    open_tiny(&f);
    f.room.state.face[3] = NULL;
    refuse_state(&f, 50, "face 3");
    f.room.state.face[3] = &f.room.hard;
    f.room.state.scale[0] = 0;
    refuse_state(&f, 50, "scale");
    f.room.state.scale[0] = 1;
    const ebb_patch nothing[2] = {{.assembly = &f.room.low}, {.assembly = NULL}};
    f.room.state.mounted = nothing;
    refuse_state(&f, 50, "patch 1");
    close_room(&f);
}

static void power_needs_a_source(void **unused)
{
    (void)unused;
    fixture f;
    open_tiny(&f);
    f.room.state.n_sources = 0;
    double power[1 + EBB_FACES + 2];
    assert_int_equal(ebb_power(f.ctx, f.reduced, &f.room.state, 50, power), EBB_E_RANGE);
    close_room(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(geometries_out_of_range_are_refused),
        cmocka_unit_test(points_and_patches_off_the_room_are_refused),
        cmocka_unit_test(frequencies_out_of_range_are_refused),
        cmocka_unit_test(points_outside_the_room_are_refused),
        cmocka_unit_test(states_that_do_not_fit_are_refused),
        cmocka_unit_test(power_needs_a_source),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
