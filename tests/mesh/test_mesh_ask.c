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
    for (size_t i = 0; i < solid->n_corners; i++)
        y->corner[i].x -= 1.0 / 3;
    y->corner[4].y = 1e-300;
    const char *at = ask(s, solid, 1.2, 0.35);
    assert_null(strpbrk(at, ".,")); /* nothing that a locale could change */
    expect_word(&at, "ebb-solid"), expect_count(&at, 1);
    expect_word(&at, "edge"), assert_true(take(&at) == 1.2);
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
    expect_word(&at, "lines");
}

/* The lines along which elements are to be smaller. */
typedef struct line {
    ebb_vec3 from, to;
    double size;
} line;

static ebb_vec3 take_point(const char **at)
{
    ebb_vec3 p;
    p.x = take(at);
    p.y = take(at);
    p.z = take(at);
    return p;
}

static size_t lines_of(const char *text, line *found)
{
    const char *at = strstr(text, "\nlines ");
    assert_non_null(at);
    expect_word(&at, "lines");
    const size_t n = (size_t)take(&at);
    for (size_t i = 0; i < n; i++) {
        found[i].from = take_point(&at);
        found[i].to = take_point(&at);
        found[i].size = take(&at);
    }
    expect_word(&at, "areas");
    return n;
}

/* With edges so short that only re-entrant ones are asked to be shorter. */
static size_t sharp_edges(scene *s, const ebb_solid *solid, line *found)
{
    const size_t n = lines_of(ask(s, solid, 0.3, 0.1), found);
    for (size_t i = 0; i < n; i++)
        assert_true(found[i].size == 0.1);
    assert_int_equal(lines_of(ask(s, solid, 0.3, 0), found + n), 0);
    return n;
}

static void test_sharp_edges(void **state)
{
    scene *s = *state;
    line edge[MOST];
    assert_int_equal(sharp_edges(s, solid_box(s->arena, 5, 4, 3), edge), 0);
    assert_int_equal(sharp_edges(s, solid_gable(s->arena), edge), 0);
    assert_int_equal(sharp_edges(s, solid_ell(s->arena), edge), 1);
    assert_true(edge[0].from.x == 3.2 && edge[0].from.y == 2.5 && edge[0].to.x == 3.2);
    assert_true(fabs(edge[0].from.z - edge[0].to.z) == 2.7);
    assert_int_equal(sharp_edges(s, solid_column(s->arena), edge), 4);
    for (int i = 0; i < 4; i++) { /* upright, around the column */
        assert_true(edge[i].from.x == edge[i].to.x && edge[i].from.y == edge[i].to.y);
        assert_true(fabs(edge[i].from.x - 2.2) < 0.21 && fabs(edge[i].from.y - 1.7) < 0.21);
    }
    /* The block's upper four and upright four edges, not those on the floor. */
    assert_int_equal(sharp_edges(s, solid_block(s->arena), edge), 8);
    for (int i = 0; i < 8; i++)
        assert_true(edge[i].from.z == 0.9 || edge[i].to.z == 0.9);
}

/* A wall that is bent a little is not sharp, one bent more is. */
static void test_how_sharp(void **state)
{
    scene *s = *state;
    line edge[MOST];
    for (int degrees = -20; degrees <= 20; degrees += 4) {
        const double dent = 2 * tan(degrees / 2.0 * 3.14159265358979 / 180);
        const double plan[5][2] = {{0, 0}, {2, dent}, {4, 0}, {4, 4}, {0, 4}};
        const ebb_solid *solid = solid_prism(s->arena, (const size_t[]){5, 0}, plan, 3);
        assert_int_equal(sharp_edges(s, solid, edge), degrees > 10 ? 1 : 0);
    }
}

static void test_short_edges(void **state)
{
    scene *s = *state;
    line edge[MOST];
    const char *text = ask(s, solid_box(s->arena, 5, 4, 0.6), 1, 0);
    assert_int_equal(lines_of(text, edge), 4);
    for (int i = 0; i < 4; i++)
        assert_true(edge[i].size == 0.6 && edge[i].from.x == edge[i].to.x);
    assert_non_null(strstr(text, "areas 0\nend\n"));
}

/* Under a body that hangs low elements are small, at the edges and all over its underside; the
 * floor below is left as it is elsewhere. */
static void test_gaps(void **state)
{
    scene *s = *state;
    line edge[MOST];
    const ebb_solid *solid = solid_hanging(s->arena, 0.04, 0.5);
    const char *text = ask(s, solid, 0.45, 0);
    const size_t n = lines_of(text, edge);
    size_t under = 0;
    for (size_t i = 0; i < n; i++) {
        assert_true(fabs(edge[i].size - 6 * 0.04) < 1e-9);
        under += edge[i].from.z == 0.04 && edge[i].to.z == 0.04;
        /* The foot of the wall, where the body is above it and not further. */
        assert_true(edge[i].from.x >= 1.5 && edge[i].from.x <= 3.7);
        assert_true(edge[i].to.x >= 1.5 && edge[i].to.x <= 3.7);
    }
    assert_int_equal(under, 4);
    assert_int_equal(n, 5);
    const char *at = strstr(text, "\nareas ");
    assert_non_null(at);
    expect_word(&at, "areas"), expect_count(&at, 1);
    expect_count(&at, 7);
    assert_true(fabs(take(&at) - 6 * 0.04) < 1e-9);
    expect_word(&at, "end");
    /* High enough above the floor it is no gap; nor is a sharp corner between walls. */
    assert_int_equal(lines_of(ask(s, solid_hanging(s->arena, 0.1, 0.5), 0.45, 0), edge), 0);
    const double wedge[3][2] = {{0, 0}, {5, 0}, {5, 0.5}};
    solid = solid_prism(s->arena, (const size_t[]){3, 0}, wedge, 2.5);
    assert_int_equal(lines_of(ask(s, solid, 0.45, 0), edge), 0);
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

static void test_open_solid(void **state)
{
    scene *s = *state;
    const char *text = "";
    size_t n = 7;
    yard *y = (yard *)(uintptr_t)solid_box(s->arena, 5, 4, 3);
    y->solid.n_facets--;
    const ebb_mesh_wish wish = {.edge = 1};
    assert_int_not_equal(ebb_mesh_ask(s->ctx, s->arena, &y->solid, &wish, &text, &n), EBB_OK);
    assert_null(text);
    assert_int_equal(n, 0);
    expect_error(s, "not closed as it should be");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_all_of_it),   SCENE_TEST(test_sharp_edges), SCENE_TEST(test_how_sharp),
        SCENE_TEST(test_short_edges), SCENE_TEST(test_gaps),        SCENE_TEST(test_refused),
        SCENE_TEST(test_open_solid),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
