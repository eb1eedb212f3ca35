/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The same room drawn another way, mirrored or with its axes in another order, answers alike.
 */
#include <ebb/field.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "rooms.h"

static double _Complex *solve(ebb_ctx *ctx, const treated *room, size_t *n)
{
    ebb_reduced *reduced = project(ctx, &room->geometry);
    double _Complex *h = respond(ctx, reduced, &room->state, 3, n);
    ebb_reduced_free(reduced);
    return h;
}

/* The same room seen in a mirror across x = L / 2. */
static void mirror(treated *room)
{
    double length = room->geometry.size[0];
    for (size_t p = 0; p < POINTS; p++)
        room->point[p].x = length - room->point[p].x;
    for (size_t p = 0; p < PATCHES; p++) {
        ebb_patch *patch = &room->patch[p];
        if (patch->face / 2 == 0)
            patch->face = 1 - patch->face;
        else
            patch->at[0] = length - patch->at[0] - patch->size[0];
    }
    const ebb_assembly *first = room->state.face[0];
    room->state.face[0] = room->state.face[1];
    room->state.face[1] = first;
}

static void a_mirrored_room_answers_alike(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 0.5);
    size_t n;
    double _Complex *plain = solve(ctx, &room, &n);
    mirror(&room);
    double _Complex *mirrored = solve(ctx, &room, &n);
    assert_below(worst_difference(n, mirrored, plain), 1e-6);
    free(plain);
    free(mirrored);
    ebb_ctx_free(ctx);
}

/* x -> y -> z -> x. Coordinates on a face come in axis order, so they may change places. */
static void turn(treated *room)
{
    ebb_geometry *geometry = &room->geometry;
    const double size[3] = {geometry->size[2], geometry->size[0], geometry->size[1]};
    memcpy(geometry->size, size, sizeof size);
    for (size_t p = 0; p < POINTS; p++) {
        const ebb_vec3 at = room->point[p];
        room->point[p] = (ebb_vec3){at.z, at.x, at.y};
    }
    for (size_t p = 0; p < PATCHES; p++) {
        ebb_patch *patch = &room->patch[p];
        int from = patch->face / 2;
        patch->face = 2 * ((from + 1) % 3) + patch->face % 2;
        if (from == 2)
            continue;                 /* (x, y) becomes (y, z) */
        const ebb_patch old = *patch; /* (y, z) becomes (z, x); (x, z) becomes (y, x) */
        for (int d = 0; d < 2; d++) {
            patch->at[d] = old.at[1 - d];
            patch->size[d] = old.size[1 - d];
        }
    }
    const ebb_assembly *face[EBB_FACES];
    double wall[EBB_FACES];
    for (int f = 0; f < EBB_FACES; f++) {
        face[(f + 2) % 6] = room->state.face[f];
        wall[(f + 2) % 6] = geometry->wall[f];
    }
    memcpy(room->state.face, face, sizeof face);
    memcpy(geometry->wall, wall, sizeof wall);
}

static void axes_may_change_places(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    treated room;
    treated_make(&room, 0.5);
    size_t n;
    double _Complex *plain = solve(ctx, &room, &n);
    for (int times = 0; times < 2; times++) {
        turn(&room);
        double _Complex *turned = solve(ctx, &room, &n);
        assert_below(worst_difference(n, turned, plain), 1e-6);
        free(turned);
    }
    free(plain);
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_mirrored_room_answers_alike),
        cmocka_unit_test(axes_may_change_places),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
