/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solids.h"

#include <math.h>

static const char *ask(scene *s, const ebb_solid *solid, double edge, double fine)
{
    const ebb_mesh_wish wish = {.edge = edge, .edge_min = fine};
    const char *text;
    size_t n;
    assert_int_equal(ebb_mesh_ask(s->ctx, s->arena, solid, &wish, &text, &n), EBB_OK);
    assert_int_equal(strlen(text), n);
    assert_string_equal(text + n - 5, "\nend\n");
    return text;
}

/* Word by word, read with the C library. */
static void expect_word(const char **at, const char *wanted)
{
    char got[64];
    int n = 0;
    assert_int_equal(sscanf(*at, "%63s%n", got, &n), 1);
    assert_string_equal(got, wanted);
    *at += n;
}

static double take(const char **at)
{
    char *end;
    const double value = strtod(*at, &end);
    assert_true(end != *at);
    *at = end;
    return value;
}

static void expect_count(const char **at, size_t wanted)
{
    assert_int_equal((size_t)take(at), wanted);
}

static void test_all_of_it(void **state)
{
    scene *s = *state;
    const ebb_solid *solid = solid_block(s->arena);
    yard *y = (yard *)(uintptr_t)solid;
    y->corner[3].x = -1.0 / 3;
    y->corner[4].y = 1e-300;
    const char *at = ask(s, solid, 1.2, 0.35);
    assert_null(strpbrk(at, ".,")); /* nothing that a locale could change */
    expect_word(&at, "ebb-solid"), expect_count(&at, 1);
    expect_word(&at, "edge"), assert_true(take(&at) == 1.2);
    expect_word(&at, "fine"), assert_true(take(&at) == 0.35);
    expect_word(&at, "corners"), expect_count(&at, solid->n_corners);
    for (size_t i = 0; i < solid->n_corners; i++) {
        assert_true(take(&at) == solid->corner[i].x);
        assert_true(take(&at) == solid->corner[i].y);
        assert_true(take(&at) == solid->corner[i].z);
    }
    expect_word(&at, "facets"), expect_count(&at, solid->n_facets);
    for (size_t f = 0; f < solid->n_facets; f++) {
        const ebb_facet *facet = &solid->facet[f];
        const size_t *corner = facet->corner;
        expect_count(&at, facet->surface), expect_count(&at, facet->n_loops);
        for (size_t l = 0; l < facet->n_loops; l++) {
            expect_count(&at, facet->loop[l]);
            for (size_t i = 0; i < facet->loop[l]; i++)
                expect_count(&at, *corner++);
        }
    }
    expect_word(&at, "sharp");
}

/* The re-entrant edges among those of a solid, as pairs of corners. */
static size_t sharp_edges(scene *s, const ebb_solid *solid, size_t edge[][2])
{
    const char *at = strstr(ask(s, solid, 1, 0.5), "\nsharp ");
    assert_non_null(at);
    expect_word(&at, "sharp");
    const size_t n = (size_t)take(&at);
    for (size_t i = 0; i < 2 * n; i++)
        edge[i / 2][i % 2] = (size_t)take(&at);
    expect_word(&at, "end");
    return n;
}

static void test_sharp_edges(void **state)
{
    scene *s = *state;
    size_t edge[MOST][2];
    assert_int_equal(sharp_edges(s, solid_box(s->arena, 5, 4, 3), edge), 0);
    assert_int_equal(sharp_edges(s, solid_gable(s->arena), edge), 0);
    assert_int_equal(sharp_edges(s, solid_ell(s->arena), edge), 1);
    assert_int_equal(edge[0][0] + edge[0][1], 3 + 9);
    assert_true(edge[0][0] == 3 || edge[0][0] == 9);
    assert_int_equal(sharp_edges(s, solid_column(s->arena), edge), 4);
    for (int i = 0; i < 4; i++) /* upright, from the floor's to the ceiling's corner */
        assert_true(edge[i][0] % 8 >= 4 && edge[i][0] % 8 == edge[i][1] % 8);
    /* The block's upper four and upright four edges, not those on the floor. */
    assert_int_equal(sharp_edges(s, solid_block(s->arena), edge), 8);
    for (int i = 0; i < 8; i++)
        assert_true(edge[i][0] >= 12 || edge[i][1] >= 12);
}

/* A wall that is bent a little is not sharp, one bent more is. */
static void test_how_sharp(void **state)
{
    scene *s = *state;
    size_t edge[MOST][2];
    for (int degrees = -20; degrees <= 20; degrees += 4) {
        const double dent = 2 * tan(degrees / 2.0 * 3.14159265358979 / 180);
        const double plan[5][2] = {{0, 0}, {2, dent}, {4, 0}, {4, 4}, {0, 4}};
        const ebb_solid *solid = solid_prism(s->arena, (const size_t[]){5, 0}, plan, 3);
        assert_int_equal(sharp_edges(s, solid, edge), degrees > 10 ? 1 : 0);
    }
}

static void test_refused(void **state)
{
    scene *s = *state;
    const ebb_mesh_wish wrong[] = {{.edge = 0.01},
                                   {.edge = 11},
                                   {.edge = NAN},
                                   {.edge = 1, .edge_min = 0.001},
                                   {.edge = 0},
                                   {.edge = -1},
                                   {.edge = 1, .edge_min = 1.1},
                                   {.edge = 1, .edge_min = NAN},
                                   {.edge = 1, .edge_min = -1}};
    const ebb_solid *solid = solid_box(s->arena, 5, 4, 3);
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        const char *text = "";
        size_t n = 7;
        assert_int_equal(ebb_mesh_ask(s->ctx, s->arena, solid, &wrong[i], &text, &n), EBB_E_RANGE);
        assert_null(text);
        assert_int_equal(n, 0);
        expect_error(s, "edges of a mesh are");
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_all_of_it),
        SCENE_TEST(test_sharp_edges),
        SCENE_TEST(test_how_sharp),
        SCENE_TEST(test_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
