/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solids.h"

#include "../base/failing.h"

#include <math.h>

/* One tetrahedron, turned inside out, on the facets of a box. */
static const char small[] = "ebb-mesh 1\n"
                            "nodes 4\n"
                            "0x0p+0 0x0p+0 -0x0p+0\n"
                            "0x1.8p+1 0x0p+0 0x0p+0\n"
                            "0x0p+0 0x1p+2 0x0p+0\n"
                            "0x0p+0 0x0p+0 0x1.5555555555555p-2\n"
                            "tetrahedra 1\n"
                            "0 2 1 3\n"
                            "faces 4\n"
                            "0 0 1 2\n"
                            "2 0 1 3\n"
                            "5 0 2 3\n"
                            "1 1 2 3\n"
                            "end\n";

static void test_read(void **state)
{
    scene *s = *state;
    ebb_mesh *m;
    const ebb_solid *solid = solid_box(s->arena, 5, 4, 3);
    assert_int_equal(ebb_mesh_read(s->ctx, solid, small, sizeof small - 1, &m), EBB_OK);
    assert_int_equal(m->n_nodes, 4);
    assert_int_equal(m->n_tets, 1);
    assert_int_equal(m->n_faces, 4);
    assert_int_equal(m->n_surfaces, 6);
    assert_true(m->node[1].x == 3 && m->node[2].y == 4 && m->node[3].z == 1.0 / 3);
    const size_t tet[4] = {0, 2, 3, 1}; /* two of the nodes changed places */
    assert_memory_equal(m->tet[0], tet, sizeof tet);
    const size_t surface[4] = {0, 2, 5, 1};
    assert_memory_equal(m->surface, surface, sizeof surface);
    for (int i = 0; i < 4; i++)
        assert_int_equal(m->owner[i], 0);
    assert_int_equal(m->face[3][2], 3);
    ebb_mesh_free(m);
}

/* Facets are the mesher's, surfaces the room's. */
static void test_facets_become_surfaces(void **state)
{
    scene *s = *state;
    ebb_mesh *m;
    yard *y = (yard *)(uintptr_t)solid_box(s->arena, 5, 4, 3);
    y->facet[5].surface = 3;
    assert_int_equal(ebb_mesh_read(s->ctx, &y->solid, small, sizeof small - 1, &m), EBB_OK);
    assert_int_equal(m->surface[2], 3);
    ebb_mesh_free(m);
}

static void expect_refused(scene *s, const char *text, size_t n, const char *words)
{
    ebb_mesh *m = (ebb_mesh *)s;
    /* Of the exact size, so that reading past the end is seen by the sanitiser. */
    char *copy = malloc(n > 0 ? n : 1);
    memcpy(copy, text, n);
    const ebb_solid *solid = solid_box(s->arena, 5, 4, 3);
    assert_int_equal(ebb_mesh_read(s->ctx, solid, copy, n, &m), EBB_E_IO);
    assert_null(m);
    free(copy);
    expect_error(s, words);
}

static void test_cut_short(void **state)
{
    scene *s = *state;
    for (size_t n = 0; n + 2 < sizeof small - 1; n++) /* the last newline may be missing */
        expect_refused(s, small, n, "the mesher's answer can not be read: line ");
}

/* The good text with one part replaced. */
static void expect_refused_with(scene *s, const char *old, const char *new, const char *words)
{
    const char *at = strstr(small, old);
    assert_non_null(at);
    const char *text =
        ebb_arena_format(s->arena, "%.*s%s%s", (int)(at - small), small, new, at + strlen(old));
    expect_refused(s, text, strlen(text), words);
}

static void test_garbage(void **state)
{
    scene *s = *state;
    expect_refused_with(s, "ebb-mesh 1", "ebb-mesh 2", "line 1: a word is missing");
    expect_refused_with(s, "ebb-mesh 1", "ebb-mesh 12", "line 1: a word is longer");
    expect_refused_with(s, "nodes 4", "nodes 5", "line 7: no number");
    expect_refused_with(s, "nodes 4", "nodes 3", "line 6: a word is missing");
    expect_refused_with(s, "nodes 4", "nodes 99999999999999", "line 2: a number is too large");
    expect_refused_with(s, "nodes 4", "nodes 99999999999999999999999", "line 2: a number is too");
    expect_refused_with(s, "nodes 4", "nodes -4", "line 2: no whole number");
    expect_refused_with(s, "nodes 4", "nodes 4x", "line 2: no whole number");
    expect_refused_with(s, "0 2 1 3", "0 2 1 4", "line 8: a number is too large");
    expect_refused_with(s, "5 0 2 3", "6 0 2 3", "line 12: a number is too large");
    expect_refused_with(s, "5 0 2 3", "5 0 2 4", "line 12: a number is too large");
    expect_refused_with(s, "end\n", "end\nmore", "line 15: something stands behind");
}

static void test_numbers(void **state)
{
    scene *s = *state;
    const char *const wrong[] = {"3",       "nan",     "inf",          "0x",
                                 "0xp+1",   "0x1",     "0x1p",         "0x1p+",
                                 "0x1p-",   "0x1p++1", "--0x1p1",      "0x1.1.1p+1",
                                 "1.5",     "0xG",     "+0x1p1",       "0x1p 1",
                                 "0x1p+1,", "0x1p+1e", "0x1p+9999999", "0x1111111111111111p+0",
                                 "0x.p+0"};
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        expect_refused_with(s, "0x1p+2", wrong[i], "line 5: ");
    expect_refused_with(s, "0x1p+2", "0x1p+300", "line 5: a place is too far away");
    expect_refused_with(s, "0x1p+2", "-0x1p+17", "line 5: a place is too far away");
    expect_refused_with(s, "0x1p+2", "0x1p+1999", "line 5: a place is too far away");
}

/* Everything that printf writes comes back to the last bit. */
static void test_exact_numbers(void **state)
{
    scene *s = *state;
    const ebb_solid *solid = solid_box(s->arena, 5, 4, 3);
    unsigned long long seed = 12345;
    for (int i = 0; i < 1000; i++) {
        seed = seed * 6364136223846793005ULL + 1442695040888963407ULL;
        const double value = ldexp((double)(seed >> 11), -50) - 3000 * (i % 3);
        char text[sizeof small + 64];
        const char *at = strstr(small, "0x1p+2");
        snprintf(text, sizeof text, "%.*s%a%s", (int)(at - small), small, value,
                 at + strlen("0x1p+2"));
        ebb_mesh *m;
        assert_int_equal(ebb_mesh_read(s->ctx, solid, text, strlen(text), &m), EBB_OK);
        assert_true(m->node[2].y == value);
        ebb_mesh_free(m);
    }
}

static void test_nth_allocation_fails(void **state)
{
    scene *s = *state;
    const ebb_solid *solid = solid_box(s->arena, 5, 4, 3);
    size_t refused = 0, done = 0;
    for (long n = 0; n < 8; n++) {
        failing f = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&f);
        f.left = n;
        ebb_mesh *m;
        const ebb_status status = ebb_mesh_read(ctx, solid, small, sizeof small - 1, &m);
        assert_true(status == EBB_OK || status == EBB_E_NOMEM);
        assert_true((status == EBB_OK) == (m != NULL));
        refused += status != EBB_OK;
        done += status == EBB_OK;
        ebb_mesh_free(m);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
    }
    assert_true(refused >= 3 && done >= 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_read),
        SCENE_TEST(test_facets_become_surfaces),
        SCENE_TEST(test_cut_short),
        SCENE_TEST(test_garbage),
        SCENE_TEST(test_numbers),
        SCENE_TEST(test_exact_numbers),
        SCENE_TEST(test_nth_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
