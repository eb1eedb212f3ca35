/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Solids built by hand for the tests of meshes. */
#ifndef TESTS_MESH_SOLIDS_H
#define TESTS_MESH_SOLIDS_H

#include <ebb/mesh.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define MOST 256

/* A solid being put together, with room for what the tests need. */
typedef struct yard {
    ebb_solid solid;
    ebb_vec3 corner[MOST];
    ebb_facet facet[MOST];
    size_t loop[MOST], link[4 * MOST], n_loops, n_links;
} yard;

static inline yard *yard_new(ebb_arena *arena)
{
    yard *y = EBB_NEW(arena, yard, 1);
    assert_non_null(y);
    y->solid.corner = y->corner;
    y->solid.facet = y->facet;
    return y;
}

static inline size_t yard_corner(yard *y, double x, double y_, double z)
{
    y->corner[y->solid.n_corners] = (ebb_vec3){x, y_, z};
    return y->solid.n_corners++;
}

/* Starts a facet of a new surface; its loops follow. */
static inline void yard_facet(yard *y)
{
    y->facet[y->solid.n_facets++] = (ebb_facet){.surface = y->solid.n_surfaces++,
                                                .loop = y->loop + y->n_loops,
                                                .corner = y->link + y->n_links};
}

static inline void yard_loop(yard *y, size_t n, const size_t *corner)
{
    y->facet[y->solid.n_facets - 1].n_loops++;
    y->loop[y->n_loops++] = n;
    for (size_t i = 0; i < n; i++)
        y->link[y->n_links++] = corner[i];
}

static inline void yard_four(yard *y, size_t a, size_t b, size_t c, size_t d)
{
    yard_facet(y);
    yard_loop(y, 4, (const size_t[]){a, b, c, d});
}

/* A plan with an upright wall on each side, floor first, ceiling second; a second loop, run
 * clockwise, is a column. n[1] may be 0. */
static inline const ebb_solid *solid_prism(ebb_arena *arena, const size_t n[2],
                                           const double (*plan)[2], double height)
{
    yard *y = yard_new(arena);
    const size_t all = n[0] + n[1];
    size_t down[MOST], up[MOST];
    for (size_t i = 0; i < 2 * all; i++)
        yard_corner(y, plan[i % all][0], plan[i % all][1], i < all ? 0 : height);
    for (int ceiling = 0; ceiling < 2; ceiling++) {
        yard_facet(y);
        for (size_t l = 0, first = 0; l < 2 && n[l] > 0; first += n[l++]) {
            for (size_t i = 0; i < n[l]; i++) {
                down[i] = first + i;
                up[i] = all + first + n[l] - 1 - i;
            }
            yard_loop(y, n[l], ceiling ? up : down);
        }
    }
    for (size_t l = 0, first = 0; l < 2; first += n[l++])
        for (size_t i = 0; i < n[l]; i++) {
            const size_t a = first + i, b = first + (i + 1) % n[l];
            yard_four(y, a, a + all, b + all, b);
        }
    return &y->solid;
}

static inline const ebb_solid *solid_box(ebb_arena *arena, double x, double y, double z)
{
    const double plan[4][2] = {{0, 0}, {x, 0}, {x, y}, {0, y}};
    return solid_prism(arena, (const size_t[]){4, 0}, plan, z);
}

/* Surfaces in the order of ebb_mesh_box. */
static inline const ebb_solid *solid_brick(ebb_arena *arena, const double size[3])
{
    static const size_t name[6] = {4, 5, 2, 1, 3, 0}; /* of floor, ceiling, walls */
    yard *y = (yard *)(uintptr_t)solid_box(arena, size[0], size[1], size[2]);
    for (size_t f = 0; f < 6; f++)
        y->facet[f].surface = name[f];
    return &y->solid;
}

/* 6 m x 5 m less a corner of 2.8 m x 2.5 m, 2.7 m high: 62.1 m3. Corner 3 is the inner one. */
static inline const ebb_solid *solid_ell(ebb_arena *arena)
{
    static const double plan[6][2] = {{0, 0}, {6, 0}, {6, 2.5}, {3.2, 2.5}, {3.2, 5}, {0, 5}};
    return solid_prism(arena, (const size_t[]){6, 0}, plan, 2.7);
}

/* 6 m x 4 m x 2.7 m with a column of 0.4 m x 0.4 m. */
static inline const ebb_solid *solid_column(ebb_arena *arena)
{
    static const double plan[8][2] = {{0, 0},   {6, 0},   {6, 4},     {0, 4},
                                      {2, 1.5}, {2, 1.9}, {2.4, 1.9}, {2.4, 1.5}};
    return solid_prism(arena, (const size_t[]){4, 4}, plan, 2.7);
}

/* 6 m x 4 m, eaves at 2 m, ridge off the middle at 3.4 m. */
static inline const ebb_solid *solid_gable(ebb_arena *arena)
{
    static const double at[10][3] = {{0, 0, 0}, {6, 0, 0}, {6, 4, 0}, {0, 4, 0},     {0, 0, 2},
                                     {6, 0, 2}, {6, 4, 2}, {0, 4, 2}, {0, 1.7, 3.4}, {6, 1.7, 3.4}};
    yard *y = yard_new(arena);
    for (size_t i = 0; i < 10; i++)
        yard_corner(y, at[i][0], at[i][1], at[i][2]);
    yard_four(y, 0, 1, 2, 3);
    yard_four(y, 4, 8, 9, 5);
    yard_four(y, 0, 4, 5, 1);
    yard_facet(y);
    yard_loop(y, 5, (const size_t[]){1, 5, 9, 6, 2});
    yard_four(y, 2, 6, 7, 3);
    yard_facet(y);
    yard_loop(y, 5, (const size_t[]){3, 7, 8, 4, 0});
    yard_four(y, 8, 7, 6, 9);
    return &y->solid;
}

/* A box with a block of 1.2 m x 0.6 m x 0.9 m in the middle of its floor: a facet with a hole. */
static inline const ebb_solid *solid_block(ebb_arena *arena)
{
    static const double block[4][2] = {{2, 1.5}, {3.2, 1.5}, {3.2, 2.1}, {2, 2.1}};
    yard *y = (yard *)(uintptr_t)solid_box(arena, 6, 4, 2.7);
    const size_t low = y->solid.n_corners;
    for (size_t i = 0; i < 8; i++)
        yard_corner(y, block[i % 4][0], block[i % 4][1], i < 4 ? 0 : 0.9);
    yard_four(y, low + 4, low + 5, low + 6, low + 7);
    for (size_t i = 0; i < 4; i++) {
        const size_t a = low + i, b = low + (i + 1) % 4;
        yard_four(y, a, b, b + 4, a + 4);
    }
    /* The floor again, at the end, with its hole; its first form is forgotten. */
    yard_facet(y);
    yard_loop(y, 4, (const size_t[]){0, 1, 2, 3});
    yard_loop(y, 4, (const size_t[]){low + 3, low + 2, low + 1, low});
    y->facet[0] = y->facet[--y->solid.n_facets];
    y->facet[0].surface = 0;
    y->solid.n_surfaces--;
    return &y->solid;
}

/* The same box with a body of 1.2 m x 0.9 m that hangs on the wall at y = 0, `gap` above the floor
 * and `depth` thick. Surface 6 is its front, 7 its underside. */
static inline const ebb_solid *solid_hanging(ebb_arena *arena, double gap, double depth)
{
    const double body[4][2] = {{2, gap}, {3.2, gap}, {3.2, gap + 0.9}, {2, gap + 0.9}};
    yard *y = (yard *)(uintptr_t)solid_box(arena, 6, 4, 2.7);
    const size_t low = y->solid.n_corners;
    for (size_t i = 0; i < 8; i++)
        yard_corner(y, body[i % 4][0], i < 4 ? 0 : depth, body[i % 4][1]);
    yard_four(y, low + 4, low + 7, low + 6, low + 5);
    for (size_t i = 0; i < 4; i++) {
        const size_t a = low + i, b = low + (i + 1) % 4;
        yard_four(y, a, a + 4, b + 4, b);
    }
    /* The wall again, with its hole. */
    yard_facet(y);
    yard_loop(y, 4, (const size_t[]){0, 4, 5, 1});
    yard_loop(y, 4, (const size_t[]){low, low + 1, low + 2, low + 3});
    y->facet[2] = y->facet[--y->solid.n_facets];
    y->facet[2].surface = 2;
    y->solid.n_surfaces--;
    return &y->solid;
}

/* A test's context and arena. */
typedef struct scene {
    ebb_ctx *ctx;
    ebb_arena *arena;
} scene;

static inline int open_scene(void **state)
{
    scene *s = calloc(1, sizeof *s);
    s->ctx = ebb_ctx_new();
    s->arena = ebb_arena_new(s->ctx);
    *state = s;
    return s->arena == NULL;
}

static inline int close_scene(void **state)
{
    scene *s = *state;
    ebb_arena_free(s->arena);
    ebb_ctx_free(s->ctx);
    free(s);
    return 0;
}

#define SCENE_TEST(name) cmocka_unit_test_setup_teardown(name, open_scene, close_scene)

static inline void print_messages(const scene *s)
{
    for (size_t i = 0; i < ebb_ctx_messages(s->ctx); i++)
        print_error("%s\n", ebb_ctx_message(s->ctx, i)->text);
}

/* One error was recorded and holds these words; then all is forgotten. */
static inline void expect_error(const scene *s, const char *words)
{
    if (ebb_ctx_errors(s->ctx) != 1 || strstr(ebb_ctx_message(s->ctx, 0)->text, words) == NULL)
        print_messages(s);
    assert_int_equal(ebb_ctx_errors(s->ctx), 1);
    assert_non_null(strstr(ebb_ctx_message(s->ctx, 0)->text, words));
    ebb_ctx_clear(s->ctx);
}

#endif
