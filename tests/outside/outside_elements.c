/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Finite elements against modes that are known: of a box, a cylinder, a room with a re-entrant
 * edge.
 */
#include <ebb/space.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>

#include <cmocka.h>

#include "../field/meshes.h"
#include "outside.h"

/* Modes of a mesh, the mesh is freed. */
static ebb_space *solve(ebb_ctx *ctx, ebb_mesh *mesh, double highest, size_t order)
{
    const ebb_space_wish wish = {.highest = highest, .reach = 1.1, .order = order};
    ebb_space *space;
    if (ebb_space_new(ctx, mesh, &wish, &space) != EBB_OK)
        fail_msg("%s", ebb_ctx_message(ctx, 0)->text);
    ebb_mesh_free(mesh);
    return space;
}

/* Wave number of a mode, the constant being number 0. */
static double wave_number(const ebb_space *space, size_t mode)
{
    const double *lambda, *shape;
    assert_true(mode < ebb_space_modes(space, &lambda, &shape, NULL));
    return sqrt(lambda[mode]);
}

/* ---- a box ----------------------------------------------------------------------------------- */

static int compare(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return a < b ? -1 : a > b;
}

static void rectangular_room(void **unused)
{
    (void)unused;
    static const double size[3] = {5.1, 3.9, 2.7};
    static const size_t bricks[3] = {3, 2, 2};
    const double pi = acos(-1), highest = 2 * pi * 100 / 343;
    double known[100], worst = 0;
    size_t n = 0;
    for (int i = 0; i < 5; i++)
        for (int j = 0; j < 5; j++)
            for (int k = 0; k < 5; k++) {
                const double here =
                    pi * sqrt(pow(i / size[0], 2) + pow(j / size[1], 2) + pow(k / size[2], 2));
                if (here <= highest)
                    known[n++] = here;
            }
    qsort(known, n, sizeof *known, compare);
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_space *space = solve(ctx, mesh_box(ctx, size, bricks), highest, 6);
    for (size_t m = 1; m < n; m++)
        worst = fmax(worst, fabs(wave_number(space, m) / known[m] - 1));
    outside_below("relative error of all mode frequencies of a rectangular room to 100 Hz, "
                  "72 elements of order 6",
                  "Rayleigh's closed form", 2e-5, worst);
    ebb_space_free(space);
    ebb_ctx_free(ctx);
}

/* ---- a cylinder ------------------------------------------------------------------------------ */

/* A low prism over a polygon of the area of the unit circle: its lowest modes are flat. */
static ebb_space *polygon(ebb_ctx *ctx, size_t sides)
{
    static mesh_plan plan;
    const double angle = 2 * acos(-1) / (double)sides;
    mesh_polygon(&plan, sides, 2, sqrt(angle / sin(angle)));
    return solve(ctx, mesh_pull_up(ctx, &plan, 0.5, 1), 4.3, 5);
}

static void cylinder(void **unused)
{
    (void)unused;
    static const struct {
        double root;
        const char *name;
        size_t mode;
    } table[] = {{1.84118, "J1'", 1}, {1.84118, "J1'", 2}, {3.05424, "J2'", 3}, {3.05424, "J2'", 4},
                 {3.83171, "J0'", 5}, {4.20119, "J3'", 6}, {4.20119, "J3'", 7}};
    const size_t n = sizeof table / sizeof table[0];
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_space *fine = polygon(ctx, 48), *coarse = polygon(ctx, 24);
    char what[80];
    for (size_t i = 0; i < n; i++) {
        snprintf(what, sizeof what, "mode %zu of a prism of 48 sides, ka, first root of %s",
                 table[i].mode, table[i].name);
        outside_value(what, "Abramowitz & Stegun, table 9.5, from memory", table[i].root,
                      wave_number(fine, table[i].mode), 1.5e-4);
    }
    outside_below("what is left of the error of ka when a prism has 48 instead of 24 sides, J3'",
                  "Abramowitz & Stegun, table 9.5, from memory", 0.15,
                  fabs(wave_number(fine, 6) - 4.20119) / fabs(wave_number(coarse, 6) - 4.20119));
    ebb_space_free(coarse);
    ebb_space_free(fine);
    ebb_ctx_free(ctx);
}

/* ---- a re-entrant edge ----------------------------------------------------------------------- */

static void l_shaped_room(void **unused)
{
    (void)unused;
    static const double known[] = {1.4756218450, 3.5340313670, 9.8696044011, 9.8696044011,
                                   11.389479398};
    static const double tolerance[] = {3e-5, 1e-6, 1e-5, 1e-5, 5e-5};
    static mesh_plan plan;
    double line[8];
    ebb_ctx *ctx = ebb_ctx_new();
    mesh_lines(4, 5, line);
    mesh_l_plan(&plan, 4, line);
    ebb_space *space = solve(ctx, mesh_pull_up(ctx, &plan, 0.3, 1), 3.4, 5);
    char what[80];
    for (size_t m = 0; m < 5; m++) {
        snprintf(what, sizeof what, "mode %zu of an L-shaped room, k2, graded elements", m + 1);
        outside_value(what, "M. Dauge, benchmark for the L with Neumann walls, from memory",
                      known[m], pow(wave_number(space, m + 1), 2), tolerance[m]);
    }
    ebb_space_free(space);
    ebb_ctx_free(ctx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rectangular_room),
        cmocka_unit_test(cylinder),
        cmocka_unit_test(l_shaped_room),
    };
    return cmocka_run_group_tests_name("elements", tests, NULL, NULL);
}
