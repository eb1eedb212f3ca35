/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "solids.h"

#include "../../src/mesh/quality.h"

#include <math.h>

static void expect_quality(double wanted, const ebb_vec3 at[4])
{
    const double got = ebb_mesh_quality(at[0], at[1], at[2], at[3]);
    assert_true(fabs(got - wanted) < 1e-12);
    assert_true(fabs(ebb_mesh_quality(at[2], at[0], at[1], at[3]) - wanted) < 1e-12);
    assert_true(fabs(ebb_mesh_quality(at[1], at[0], at[2], at[3]) - wanted) < 1e-12);
}

/* Radii worked out by hand. The corner of a cube: inscribed 1 / (3 + sqrt 3), circumscribed
 * sqrt(3) / 2. */
static void test_known_shapes(void **state)
{
    (void)state;
    expect_quality(1, (const ebb_vec3[]){{1, 1, 1}, {1, -1, -1}, {-1, 1, -1}, {-1, -1, 1}});
    expect_quality(3 / (3 + sqrt(3)) / (sqrt(3) / 2),
                   (const ebb_vec3[]){{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}});
    expect_quality(0, (const ebb_vec3[]){{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {1, 1, 0}});
    expect_quality(0, (const ebb_vec3[]){{2, 2, 2}, {2, 2, 2}, {2, 2, 2}, {2, 2, 2}});
}

static void test_size_and_place_do_not_matter(void **state)
{
    (void)state;
    const ebb_vec3 a = {0.3, 0.1, -0.2}, b = {1.4, 0.2, 0.1}, c = {0.1, 1.7, 0.4},
                   d = {0.2, 0, 1.1};
    const double q = ebb_mesh_quality(a, b, c, d);
    assert_true(q > 0.5 && q < 1);
    const ebb_vec3 at[4] = {a, b, c, d};
    ebb_vec3 far[4];
    for (int i = 0; i < 4; i++)
        far[i] = (ebb_vec3){7 - 3 * at[i].y, 2 + 3 * at[i].x, 3 * at[i].z - 5};
    assert_true(fabs(ebb_mesh_quality(far[0], far[1], far[2], far[3]) - q) < 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_known_shapes),
        cmocka_unit_test(test_size_and_place_do_not_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
