/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A meshed room does not know how it stands in space, which way round it is or how its corners are
 * numbered; and what it is made of is as symmetric and passive as physics wants it.
 */
#include "../../src/field/shaped.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include <lapacke.h>

#include "rooms.h"

#include "meshed.h"

#define EDGE 1.4
#define ORDER 5
#define RICHNESS 1

static void open_room(ebb_ctx *ctx, meshed *m)
{
    treated_make(&m->room, RICHNESS);
    mesh_room(ctx, m, EDGE);
}

/* Responses of what m has become. */
static double _Complex *answers(ebb_ctx *ctx, meshed *m, size_t *n)
{
    open_space(ctx, m, ORDER);
    ebb_reduced *reduced = project(ctx, &m->room.geometry);
    double _Complex *h = respond(ctx, reduced, &m->room.state, 3, n);
    ebb_reduced_free(reduced);
    return h;
}

static double _Complex *plain_answers(ebb_ctx *ctx, size_t *n)
{
    meshed m;
    open_room(ctx, &m);
    double _Complex *h = answers(ctx, &m, n);
    meshed_free(&m);
    return h;
}

static void assert_same(ebb_ctx *ctx, meshed *m)
{
    size_t n, same;
    double _Complex *want = plain_answers(ctx, &n), *got = answers(ctx, m, &same);
    assert_int_equal(n, same);
    assert_below(level_p99(n, got, want), 0.015);
    free(want);
    free(got);
    meshed_free(m);
}

/* About no axis of its own: product of a turn about z and one about x. */
static void turned_rooms_are_the_same(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    meshed m;
    open_room(ctx, &m);
    const double a = 0.6, b = -0.35;
    motion by = {.turn = {{cos(a), -sin(a), 0},
                          {cos(b) * sin(a), cos(b) * cos(a), -sin(b)},
                          {sin(b) * sin(a), sin(b) * cos(a), cos(b)}}};
    move_room(&m, &by, false);
    assert_same(ctx, &m);
    ebb_ctx_free(ctx);
}

static void mirrored_rooms_are_the_same(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    meshed m;
    open_room(ctx, &m);
    motion by = {.turn = {{-1, 0, 0}, {0, 1, 0}, {0, 0, 1}}};
    move_room(&m, &by, true);
    assert_same(ctx, &m);
    ebb_ctx_free(ctx);
}

/* Nodes and tetrahedra in another order; corners of each tetrahedron in another even order. */
static void renumbered_rooms_are_the_same(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    meshed m;
    open_room(ctx, &m);
    ebb_mesh *mesh = m.mesh;
    size_t n = mesh->n_nodes, n_tets = mesh->n_tets;
    for (size_t i = 0; i < n / 2; i++) {
        ebb_vec3 node = mesh->node[i];
        mesh->node[i] = mesh->node[n - 1 - i];
        mesh->node[n - 1 - i] = node;
    }
    size_t(*tet)[4] = malloc(n_tets * sizeof *tet);
    memcpy(tet, mesh->tet, n_tets * sizeof *tet);
    for (size_t t = 0; t < n_tets; t++)
        for (size_t i = 0; i < 4; i++) {
            static const size_t even[4] = {1, 2, 0, 3};
            mesh->tet[n_tets - 1 - t][i] = n - 1 - tet[t][even[i]];
        }
    for (size_t f = 0; f < mesh->n_faces; f++) {
        mesh->owner[f] = n_tets - 1 - mesh->owner[f];
        for (size_t i = 0; i < 3; i++)
            mesh->face[f][i] = n - 1 - mesh->face[f][i];
    }
    free(tet);
    assert_same(ctx, &m);
    ebb_ctx_free(ctx);
}

/* Every number twice the same: mixtures are drawn from a fixed seed. */
static void twice_is_the_same(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    size_t n, m;
    double _Complex *a = plain_answers(ctx, &n), *b = plain_answers(ctx, &m);
    assert_int_equal(n, m);
    assert_memory_equal(a, b, n * sizeof *a);
    free(a);
    free(b);
    ebb_ctx_free(ctx);
}

/* ---- what it is made of ---------------------------------------------------------------------- */

typedef struct closet {
    ebb_ctx *ctx;
    meshed m;
    ebb_reduced *reduced;
} closet;

static int open_closet(void **state)
{
    static closet c;
    c.ctx = ebb_ctx_new();
    treated_make_tiny(&c.m.room);
    c.m.room.geometry.richness = 1;
    mesh_room(c.ctx, &c.m, 1.0);
    open_space(c.ctx, &c.m, 5);
    c.reduced = project(c.ctx, &c.m.room.geometry);
    *state = &c;
    return 0;
}

static int close_closet(void **state)
{
    closet *c = *state;
    ebb_reduced_free(c->reduced);
    meshed_free(&c->m);
    ebb_ctx_free(c->ctx);
    return 0;
}

static double lowest_eigenvalue(size_t size, const double *matrix)
{
    double *copy = malloc(size * size * sizeof *copy), *value = malloc(size * sizeof *value);
    memcpy(copy, matrix, size * size * sizeof *copy);
    assert_int_equal(LAPACKE_dsyevd(LAPACK_COL_MAJOR, 'N', 'L', (int)size, copy, (int)size, value),
                     0);
    double lowest = value[0] / value[size - 1];
    free(copy);
    free(value);
    return lowest;
}

static void matrices_are_symmetric_and_not_negative(void **state)
{
    const closet *c = *state;
    size_t size = c->reduced->size;
    for (size_t k = 0; k < 3 + c->reduced->n_faces; k++) {
        const double *a = k < 3 ? c->reduced->stiffness[k] : c->reduced->face[k - 3];
        for (size_t i = 0; i < size; i++)
            for (size_t j = 0; j < i; j++)
                assert_true(a[i * size + j] == a[j * size + i]);
        assert_true(lowest_eigenvalue(size, a) > -1e-12);
    }
}

/* A wall less what its patches take from it is still a wall. */
static void patches_take_no_more_than_the_wall_has(void **state)
{
    const closet *c = *state;
    size_t size = c->reduced->size;
    double *left = malloc(size * size * sizeof *left);
    memcpy(left, c->reduced->face[0], size * size * sizeof *left);
    for (size_t q = 1; q < ebb_reduced_ports(c->reduced, 0); q++) {
        const double *port = ebb_reduced_port(c->reduced, 0, q);
        for (size_t i = 0; i < size * size; i++)
            left[i] -= port[i / size] * port[i % size];
    }
    assert_true(lowest_eigenvalue(size, left) > -1e-10);
    free(left);
}

/* The whole patch as one is what its cells move alike. */
static void whole_patches_are_the_sum_of_their_cells(void **state)
{
    const closet *c = *state;
    for (size_t i = 0; i < c->reduced->size; i++)
        assert_near(ebb_reduced_port(c->reduced, 0, 0)[i], ebb_reduced_port(c->reduced, 0, 1)[i],
                    1e-10);
}

static void enriching_functions_are_orthonormal_and_free_of_modes(void **state)
{
    const closet *c = *state;
    const ebb_shaped *shaped = c->reduced->space;
    size_t n = shaped->n_extra, length = shaped->length;
    const double *lambda, *shape;
    size_t n_modes = ebb_space_modes(shaped->space, &lambda, &shape, NULL);
    double *mass = malloc(n * length * sizeof *mass);
    ebb_space_mass(shaped->space, n, shaped->extra, mass);
    assert_true(n > 20);
    for (size_t v = 0; v < n; v++)
        for (size_t w = 0; w < n + n_modes; w++) {
            const double *other = w < n ? shaped->extra + w * length : shape + (w - n) * length;
            double sum = 0;
            for (size_t i = 0; i < length; i++)
                sum += mass[v * length + i] * other[i];
            assert_near(sum, v == w, w < n ? 1e-9 : 1e-8);
        }
    free(mass);
}

/* Of the modes the stiffness is known. */
static void stiffness_of_modes_is_their_wave_number(void **state)
{
    const closet *c = *state;
    const ebb_shaped *shaped = c->reduced->space;
    const double *lambda, *shape;
    size_t n = ebb_space_modes(shaped->space, &lambda, &shape, NULL), size = c->reduced->size;
    for (size_t m = 0; m < n; m++)
        for (size_t j = 0; j < size; j++) {
            double sum = 0;
            for (int d = 0; d < 3; d++)
                sum += c->reduced->stiffness[d][m * size + j];
            assert_near(sum, m == j ? lambda[m] : 0, 1e-6);
        }
}

/* Normals of a box, whatever the order of its triangles' corners. */
static void normals_point_out(void **state)
{
    const closet *c = *state;
    for (size_t t = 0; t < 6; t++)
        for (size_t d = 0; d < 3; d++)
            assert_near(c->reduced->normal[t][d], d == t / 2 ? (t % 2 ? 1 : -1) : 0, 1e-12);
}

/* ---- what is refused ------------------------------------------------------------------------- */

static void assert_refused(const ebb_geometry *geometry, const char *what)
{
    ebb_reduced *reduced;
    ebb_ctx *ctx = ebb_ctx_new();
    assert_int_equal(ebb_reduced_new(ctx, geometry, &reduced), EBB_E_RANGE);
    assert_null(reduced);
    assert_true(ebb_ctx_messages(ctx) > 0);
    assert_non_null(strstr(ebb_ctx_message(ctx, 0)->text, what));
    ebb_ctx_free(ctx);
}

static void what_does_not_fit_is_refused(void **state)
{
    const closet *c = *state;
    ebb_geometry bad = c->m.room.geometry;
    bad.highest = 180;
    assert_refused(&bad, "made for 120 Hz");
    ebb_vec3 outside = {1, 1.6, 1};
    bad = c->m.room.geometry;
    bad.points = &outside;
    bad.n_points = 1;
    assert_refused(&bad, "outside the room");
    ebb_patch patch = c->m.room.patch[0];
    bad = c->m.room.geometry;
    bad.patches = &patch;
    bad.n_patches = 1;
    patch.face = 6;
    assert_refused(&bad, "no such face");
    patch = c->m.room.patch[0];
    patch.rect.at.y += 1.0;
    assert_refused(&bad, "");
    patch = c->m.room.patch[0];
    patch.rect.up = (ebb_vec3){0, 0, 0};
    assert_refused(&bad, "large");
}

static void points_outside_are_refused(void **state)
{
    const closet *c = *state;
    const ebb_vec3 outside = {2.01, 1, 1};
    double *value = malloc(c->reduced->size * sizeof *value);
    value[0] = 1;
    assert_int_equal(ebb_reduced_points(c->ctx, c->reduced, 1, &outside, value), EBB_E_RANGE);
    assert_true(value[0] == 0);
    free(value);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(turned_rooms_are_the_same),
        cmocka_unit_test(mirrored_rooms_are_the_same),
        cmocka_unit_test(renumbered_rooms_are_the_same),
        cmocka_unit_test(twice_is_the_same),
        cmocka_unit_test(matrices_are_symmetric_and_not_negative),
        cmocka_unit_test(patches_take_no_more_than_the_wall_has),
        cmocka_unit_test(whole_patches_are_the_sum_of_their_cells),
        cmocka_unit_test(enriching_functions_are_orthonormal_and_free_of_modes),
        cmocka_unit_test(stiffness_of_modes_is_their_wave_number),
        cmocka_unit_test(normals_point_out),
        cmocka_unit_test(what_does_not_fit_is_refused),
        cmocka_unit_test(points_outside_are_refused),
    };
    return cmocka_run_group_tests(tests, open_closet, close_closet);
}
