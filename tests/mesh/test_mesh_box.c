/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solids.h"

#include <math.h>

static void expect_good_box(scene *s, const double size[3], const size_t bricks[3])
{
    ebb_mesh *mesh;
    assert_int_equal(ebb_mesh_box(s->ctx, size, bricks, &mesh), EBB_OK);
    const size_t *n = bricks;
    assert_int_equal(mesh->n_nodes, (n[0] + 1) * (n[1] + 1) * (n[2] + 1));
    assert_int_equal(mesh->n_tets, 6 * n[0] * n[1] * n[2]);
    assert_int_equal(mesh->n_faces, 4 * (n[0] * n[1] + n[1] * n[2] + n[2] * n[0]));
    assert_int_equal(ebb_mesh_check(s->ctx, solid_brick(s->arena, size), mesh), EBB_OK);
    ebb_mesh_free(mesh);
}

static void test_boxes(void **state)
{
    scene *s = *state;
    expect_good_box(s, (const double[]){1, 1, 1}, (const size_t[]){1, 1, 1});
    expect_good_box(s, (const double[]){6.1, 4.3, 2.7}, (const size_t[]){5, 4, 2});
    expect_good_box(s, (const double[]){0.7, 4.1, 3.3}, (const size_t[]){1, 3, 7});
}

/* Each triangle lies on the face that its number names. */
static void test_faces_by_axis_and_side(void **state)
{
    scene *s = *state;
    const double size[3] = {5, 4, 3};
    ebb_mesh *mesh;
    assert_int_equal(ebb_mesh_box(s->ctx, size, (const size_t[]){3, 2, 2}, &mesh), EBB_OK);
    for (size_t i = 0; i < mesh->n_faces; i++)
        for (int k = 0; k < 3; k++) {
            const ebb_vec3 at = mesh->node[mesh->face[i][k]];
            const size_t axis = mesh->surface[i] / 2;
            const double value = axis == 0 ? at.x : axis == 1 ? at.y : at.z;
            assert_true(value == (mesh->surface[i] % 2 == 0 ? 0 : size[axis]));
        }
    ebb_mesh_free(mesh);
}

static void test_refused(void **state)
{
    scene *s = *state;
    ebb_mesh *mesh = (ebb_mesh *)s;
    const double good[3] = {1, 1, 1}, flat[3] = {1, 0, 1}, none[3] = {1, NAN, 1};
    const size_t one[3] = {1, 1, 1}, no[3] = {1, 0, 1}, many[3] = {1000, 1000, 1000};
    assert_int_equal(ebb_mesh_box(s->ctx, flat, one, &mesh), EBB_E_RANGE);
    assert_null(mesh);
    assert_int_equal(ebb_mesh_box(s->ctx, none, one, &mesh), EBB_E_RANGE);
    assert_int_equal(ebb_mesh_box(s->ctx, good, no, &mesh), EBB_E_RANGE);
    assert_int_equal(ebb_mesh_box(s->ctx, good, many, &mesh), EBB_E_RANGE);
    assert_null(mesh);
    ebb_mesh_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_boxes),
        SCENE_TEST(test_faces_by_axis_and_side),
        SCENE_TEST(test_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
