/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A good mesh is spoilt in one way at a time, and each is found out by name. */
#include "solids.h"

#include "../base/failing.h"

#include <math.h>

static const double size[3] = {4, 3, 2};

static ebb_mesh *good(const scene *s)
{
    ebb_mesh *mesh;
    assert_int_equal(ebb_mesh_box(s->ctx, size, (const size_t[]){3, 2, 2}, &mesh), EBB_OK);
    return mesh;
}

static void expect_bad(scene *s, ebb_mesh *mesh, const char *words)
{
    assert_int_equal(ebb_mesh_check(s->ctx, solid_brick(s->arena, size), mesh), EBB_E_NUMERIC);
    expect_error(s, words);
    ebb_mesh_free(mesh);
}

static void swap(size_t *a, size_t *b)
{
    const size_t kept = *a;
    *a = *b;
    *b = kept;
}

static void test_tetrahedra(void **state)
{
    scene *s = *state;
    ebb_mesh *m = good(s);
    swap(&m->tet[7][0], &m->tet[7][1]);
    expect_bad(s, m, "turned inside out");

    m = good(s);
    m->n_tets--;
    expect_bad(s, m, "24 m3");

    m = good(s);
    m->tet[5][3] = m->tet[5][2];
    expect_bad(s, m, "flat");

    m = good(s);
    memcpy(m->tet[3], m->tet[4], sizeof m->tet[3]);
    expect_bad(s, m, "is not the face of one tetrahedron");
}

/* Brick corners seen from the middle node of the mesh. */
static void test_nodes(void **state)
{
    scene *s = *state;
    ebb_mesh *m = good(s);
    const size_t middle = 1 + 4 * (1 + 3 * 1);
    m->node[middle].z += 0.98; /* almost up to the ceiling: slivers, but none turned over */
    expect_bad(s, m, "nearly flat");

    m = good(s);
    m->node[middle].z += 1.2;
    expect_bad(s, m, "turned inside out");

    m = good(s);
    m->node[middle].x = NAN;
    expect_bad(s, m, "out of range");

    m = good(s);
    m->node[1].z = 1e-5; /* a node of the floor: too little to be seen in the volume */
    expect_bad(s, m, "does not lie on its surface");

    m = good(s);
    m->node[middle].x += 0.1; /* moves inside: as good as before */
    assert_int_equal(ebb_mesh_check(s->ctx, solid_brick(s->arena, size), m), EBB_OK);
    ebb_mesh_free(m);
}

static void test_unused_node(void **state)
{
    scene *s = *state;
    ebb_mesh *m = good(s);
    ebb_vec3 more[MOST];
    memcpy(more, m->node, m->n_nodes * sizeof *more);
    more[m->n_nodes++] = (ebb_vec3){1, 1, 1};
    m->node = more;
    expect_bad(s, m, "belongs to nothing");
}

static void test_triangles(void **state)
{
    scene *s = *state;
    ebb_mesh *m = good(s);
    m->n_faces--;
    expect_bad(s, m, "ends where no surface is");

    m = good(s);
    memcpy(m->face[1], m->face[0], sizeof m->face[0]);
    m->owner[1] = m->owner[0];
    expect_bad(s, m, "there twice");

    m = good(s);
    m->owner[2] = (m->owner[2] + 1) % m->n_tets;
    expect_bad(s, m, "is not the face of one tetrahedron");

    m = good(s);
    m->owner[2] = m->n_tets;
    expect_bad(s, m, "is not the face of one tetrahedron");

    m = good(s);
    m->surface[0] = 5 - m->surface[0];
    expect_bad(s, m, "does not lie on its surface");

    m = good(s);
    m->surface[0] = 6;
    expect_bad(s, m, "out of range");

    m = good(s);
    m->n_surfaces = 5;
    expect_bad(s, m, "other surfaces");
}

/* Two nodes at one place, each used by one side: no crack may stay unseen. */
static void test_crack(void **state)
{
    scene *s = *state;
    ebb_mesh *m = good(s);
    ebb_vec3 more[MOST];
    const size_t middle = 1 + 4 * (1 + 3 * 1);
    memcpy(more, m->node, m->n_nodes * sizeof *more);
    more[m->n_nodes] = more[middle];
    m->node = more;
    for (int k = 0; k < 4; k++)
        for (size_t i = 0; i < m->n_tets / 2; i++)
            if (m->tet[i][k] == middle)
                m->tet[i][k] = m->n_nodes;
    m->n_nodes++;
    expect_bad(s, m, "ends where no surface is");
}

/* The mesh of another solid does not pass, even where volume and areas are the same. */
static void test_other_solid(void **state)
{
    scene *s = *state;
    ebb_mesh *m = good(s);
    yard *y = (yard *)(uintptr_t)solid_brick(s->arena, size);
    for (size_t i = 0; i < 8; i++)
        y->corner[i].x += 0.5;
    assert_int_equal(ebb_mesh_check(s->ctx, &y->solid, m), EBB_E_NUMERIC);
    expect_error(s, "does not lie on its surface");
    const double larger[3] = {4.0001, 3, 2};
    assert_int_equal(ebb_mesh_check(s->ctx, solid_brick(s->arena, larger), m), EBB_E_NUMERIC);
    expect_error(s, "24.0006 m3");
    ebb_mesh_free(m);
}

/* Inside the room, one tetrahedron in the place of another. */
static void test_inside(void **state)
{
    scene *s = *state;
    size_t doubled = 0;
    const ebb_solid *solid = solid_brick(s->arena, size);
    const size_t middle = 6 * (1 + 3 * (1 + 3 * 1)); /* the brick that touches no wall */
    for (size_t i = 0; i < 36; i++) {
        ebb_mesh *m;
        assert_int_equal(ebb_mesh_box(s->ctx, size, (const size_t[]){3, 3, 3}, &m), EBB_OK);
        if (i / 6 != i % 6) {
            memcpy(m->tet[middle + i / 6], m->tet[middle + i % 6], sizeof m->tet[0]);
            assert_int_equal(ebb_mesh_check(s->ctx, solid, m), EBB_E_NUMERIC);
            doubled += strstr(ebb_ctx_message(s->ctx, 0)->text, "more than two") != NULL;
            ebb_ctx_clear(s->ctx);
        }
        ebb_mesh_free(m);
    }
    assert_true(doubled > 0);
}

/* A floor in two parts side by side, surfaces 4 and 6. */
static const ebb_solid *split_floor(const scene *s)
{
    yard *y = (yard *)(uintptr_t)solid_brick(s->arena, size);
    const size_t low = yard_corner(y, 1, 0, 0), high = yard_corner(y, 1, 3, 0);
    yard_facet(y);
    yard_loop(y, 4, (const size_t[]){0, low, high, 3});
    y->facet[0] = y->facet[--y->solid.n_facets];
    y->facet[0].surface = 4;
    y->solid.n_surfaces = 6;
    yard_four(y, low, 1, 2, high);
    yard_facet(y); /* the two walls have a corner more */
    yard_loop(y, 5, (const size_t[]){0, 4, 5, 1, low});
    y->facet[2] = y->facet[--y->solid.n_facets];
    y->facet[2].surface = 2;
    yard_facet(y);
    yard_loop(y, 5, (const size_t[]){2, 6, 7, 3, high});
    y->facet[4] = y->facet[--y->solid.n_facets];
    y->facet[4].surface = 3;
    y->solid.n_surfaces = 7;
    return &y->solid;
}

/* Checks a box meshed with n bricks along, whose floor triangles go to the part that their middle
 * is in, or to the other. */
static ebb_status check_split(scene *s, size_t n, bool other)
{
    ebb_mesh *m;
    assert_int_equal(ebb_mesh_box(s->ctx, size, (const size_t[]){n, 2, 2}, &m), EBB_OK);
    m->n_surfaces = 7;
    for (size_t i = 0; i < m->n_faces; i++) {
        double middle = 0;
        for (int k = 0; k < 3; k++)
            middle += m->node[m->face[i][k]].x / 3;
        if (m->surface[i] == 4 && (middle > 1) != other)
            m->surface[i] = 6;
    }
    const ebb_status status = ebb_mesh_check(s->ctx, split_floor(s), m);
    ebb_mesh_free(m);
    return status;
}

/* Surfaces in one plane: only outline and area tell them apart. */
static void test_two_surfaces_in_a_plane(void **state)
{
    scene *s = *state;
    assert_int_equal(check_split(s, 4, false), EBB_OK);
    assert_int_equal(check_split(s, 4, true), EBB_E_NUMERIC);
    expect_error(s, "does not lie on its surface");
    assert_int_equal(check_split(s, 3, false), EBB_E_NUMERIC); /* bricks across the border */
    expect_error(s, "m2 in the mesh and 3 m2 in the room");
}

/* A mesh of the whole box for a solid with a hollow: nothing covers the hollow's walls. */
static void test_hollow_left_out(void **state)
{
    scene *s = *state;
    ebb_mesh *m;
    const double whole[3] = {6, 4, 2.7};
    assert_int_equal(ebb_mesh_box(s->ctx, whole, (const size_t[]){5, 4, 2}, &m), EBB_OK);
    const ebb_solid *solid = solid_block(s->arena);
    m->n_surfaces = solid->n_surfaces;
    assert_int_equal(ebb_mesh_check(s->ctx, solid, m), EBB_E_NUMERIC);
    expect_error(s, "m3");
    ebb_mesh_free(m);
}

static void test_nth_allocation_fails(void **state)
{
    scene *s = *state;
    size_t refused = 0, done = 0;
    const ebb_solid *solid = solid_brick(s->arena, size);
    for (long n = 0; n < 12; n++) {
        failing f = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&f);
        f.left = n;
        ebb_mesh *mesh;
        ebb_status status = ebb_mesh_box(ctx, size, (const size_t[]){6, 5, 4}, &mesh);
        if (status == EBB_OK)
            status = ebb_mesh_check(ctx, solid, mesh);
        else
            assert_null(mesh);
        assert_true(status == EBB_OK || status == EBB_E_NOMEM);
        refused += status != EBB_OK;
        done += status == EBB_OK;
        ebb_mesh_free(mesh);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
    }
    assert_true(refused >= 3 && done >= 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_tetrahedra),
        SCENE_TEST(test_nodes),
        SCENE_TEST(test_unused_node),
        SCENE_TEST(test_triangles),
        SCENE_TEST(test_crack),
        SCENE_TEST(test_inside),
        SCENE_TEST(test_two_surfaces_in_a_plane),
        SCENE_TEST(test_other_solid),
        SCENE_TEST(test_hollow_left_out),
        SCENE_TEST(test_nth_allocation_fails),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
