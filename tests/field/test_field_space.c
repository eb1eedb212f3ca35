/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Spaces as a whole: what they say of the room, solutions at the shifts, refusals, lack of memory,
 * and the same modes however the room is turned and its mesh numbered.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "../base/failing.h"
#include "spaces.h"

static const size_t bricks[3] = {2, 2, 1};
static const ebb_space_wish wish = {.highest = 5, .order = 3};

static void the_room_is_measured(void **state)
{
    (void)state;
    space_fixture f;
    open_space(&f, small_size, bricks, &wish);
    assert_near(ebb_space_volume(f.space), 1.3 * 1.1 * 0.8, 1e-12);
    assert_int_equal(ebb_space_surfaces(f.space), 6);
    const double area[6] = {1.1 * 0.8, 1.1 * 0.8, 1.3 * 0.8, 1.3 * 0.8, 1.3 * 1.1, 1.3 * 1.1};
    for (size_t s = 0; s < 6; s++)
        assert_near(ebb_space_area(f.space, s), area[s], 1e-12);
    assert_true(ebb_space_area(f.space, 6) == 0);
    assert_true(ebb_space_highest(f.space) == 5);
    assert_int_equal(ebb_space_mesh(f.space)->n_tets, 24);
    /* 7 x 7 x 4 nodes of a grid of cubic bricks */
    assert_int_equal(ebb_space_size(f.space), 7 * 7 * 4);
    close_space(&f);
}

static void the_first_mode_is_the_constant_exactly(void **state)
{
    (void)state;
    space_fixture f;
    const double *lambda, *shape, *error;
    open_space(&f, small_size, bricks, &wish);
    assert_true(ebb_space_modes(f.space, &lambda, &shape, &error) > 4);
    assert_true(lambda[0] == 0 && error[0] == 0);
    for (size_t i = 1; i < ebb_space_size(f.space); i++)
        assert_true(shape[i] == shape[0]);
    assert_near(shape[0] * shape[0] * ebb_space_volume(f.space), 1, 1e-12);
    assert_true(ebb_space_modes(f.space, NULL, NULL, NULL) > 4); /* nothing need be wanted */
    close_space(&f);
}

/* (K - s M) x = b at both shifts, residual by the products. */
static void solutions_leave_no_residual(void **state)
{
    (void)state;
    enum { LOADS = 70 };
    space_fixture f;
    uint64_t seed = 3;
    open_space(&f, small_size, bricks, &wish);
    const size_t size = ebb_space_size(f.space);
    double *b = EBB_NEW(f.arena, double, LOADS *size), *x = EBB_NEW(f.arena, double, LOADS *size);
    double *y = EBB_NEW(f.arena, double, size), *k = EBB_NEW(f.arena, double, size);
    for (size_t i = 0; i < LOADS * size; i++)
        b[i] = draw(&seed) - 0.5;
    for (int shift = 0; shift < 2; shift++) {
        const double s = ebb_space_shift(f.space, shift);
        assert_ok(f.ctx, ebb_space_solve(f.ctx, f.space, 15, shift, LOADS, b, x));
        for (size_t v = 0; v < LOADS; v += LOADS - 1) {
            ebb_space_mass(f.space, 1, x + v * size, y);
            for (size_t i = 0; i < size; i++)
                y[i] = -s * y[i] - b[v * size + i];
            for (int axis = 0; axis < 3; axis++) {
                ebb_space_stiffness(f.space, axis, 1, x + v * size, k);
                for (size_t i = 0; i < size; i++)
                    y[i] += k[i];
            }
            assert_below(sqrt(inner(f.space, y, y)), 1e-10);
        }
    }
    close_space(&f);
}

static void shifts_are_clear_of_modes(void **state)
{
    (void)state;
    space_fixture f;
    const double *lambda, *shape;
    for (double highest = 4; highest < 5; highest += 0.13) {
        const ebb_space_wish here = {.highest = highest, .order = 2};
        open_space(&f, small_size, bricks, &here);
        const size_t n = ebb_space_modes(f.space, &lambda, &shape, NULL);
        const double s = ebb_space_shift(f.space, 1), square = highest * highest;
        assert_true(ebb_space_shift(f.space, 0) < 0);
        assert_true(s >= square && s <= 1.11 * square);
        for (size_t m = 0; m < n; m++)
            assert_true(fabs(lambda[m] - s) > 1e-3 * s);
        close_space(&f);
    }
}

/* The first choice, in the middle of the window, is made to lie on a mode: it moves, far enough for
 * good solutions and not out of the window. */
static void a_shift_on_a_mode_moves(void **state)
{
    (void)state;
    space_fixture f;
    const double *lambda, *shape;
    const ebb_space_wish far = {.highest = 8, .order = 2};
    open_space(&f, small_size, bricks, &far);
    const size_t n = ebb_space_modes(f.space, &lambda, &shape, NULL);
    for (size_t m = 4; m < 9 && m < n; m++) {
        const ebb_space_wish here = {.highest = sqrt(lambda[m] / 1.05), .order = 2};
        ebb_space *space;
        assert_ok(f.ctx, ebb_space_new(f.ctx, f.mesh, &here, &space));
        const double s = ebb_space_shift(space, 1), square = here.highest * here.highest;
        assert_true(s >= square && s <= 1.11 * square);
        for (size_t i = 0; i < n; i++)
            assert_true(fabs(lambda[i] - s) > 4e-3 * s);
        ebb_space_free(space);
    }
    close_space(&f);
}

static void modes_reach_as_far_as_wished(void **state)
{
    (void)state;
    static const double reach[] = {1, 0, 2};
    size_t before = 0;
    for (size_t i = 0; i < COUNT(reach); i++) {
        space_fixture f;
        const double *lambda, *shape;
        const ebb_space_wish here = {.highest = 5, .order = 4, .reach = reach[i]};
        const double top = 5 * (reach[i] > 0 ? reach[i] : 1.25);
        open_space(&f, small_size, bricks, &here);
        const size_t n = ebb_space_modes(f.space, &lambda, &shape, NULL);
        assert_true(n > before);
        assert_true(lambda[n - 1] <= top * top);
        before = n;
        close_space(&f);
    }
}

/* A room of which nothing but the constant is wanted. */
static void a_room_may_have_one_mode(void **state)
{
    (void)state;
    space_fixture f;
    const double *lambda, *shape;
    const ebb_space_wish here = {.highest = 0.5, .order = 2};
    open_space(&f, small_size, bricks, &here);
    assert_int_equal(ebb_space_modes(f.space, &lambda, &shape, NULL), 1);
    close_space(&f);
}

/* ---- turned, mirrored, renumbered ------------------------------------------------------------ */

/* A mesh with its nodes moved and its numbers shuffled; orientation kept. */
static ebb_mesh *changed(ebb_ctx *ctx, const ebb_mesh *from, const double turn[3][3], bool shuffle)
{
    ebb_mesh *mesh = mesh_with(ctx, from->n_nodes, from->n_tets);
    uint64_t seed = 5;
    size_t *name = EBB_NEW(mesh->arena, size_t, from->n_nodes);
    for (size_t i = 0; i < from->n_nodes; i++)
        name[i] = i;
    for (size_t i = from->n_nodes - 1; shuffle && i > 0; i--) {
        const size_t j = (size_t)(draw(&seed) * (double)(i + 1)), swap = name[i];
        name[i] = name[j];
        name[j] = swap;
    }
    for (size_t i = 0; i < from->n_nodes; i++) {
        const double at[3] = {from->node[i].x, from->node[i].y, from->node[i].z};
        double to[3] = {0.3, -2, 1};
        for (int r = 0; r < 3; r++)
            for (int d = 0; d < 3; d++)
                to[r] += turn[r][d] * at[d];
        mesh->node[name[i]] = (ebb_vec3){to[0], to[1], to[2]};
    }
    for (size_t t = 0; t < from->n_tets; t++) {
        const size_t to = shuffle ? (t * 7 + 3) % from->n_tets : t;
        for (size_t c = 0; c < 4; c++)
            mesh->tet[to][c] = name[from->tet[t][(c + t) % 4]];
    }
    mesh_complete(mesh, 3, mesh_plan_label, NULL);
    return mesh;
}

static void compare_changed(const double turn[3][3], bool shuffle)
{
    space_fixture f;
    const double *lambda, *shape, *error, *other, *other_error;
    open_space(&f, small_size, bricks, &wish);
    ebb_mesh *mesh = changed(f.ctx, f.mesh, turn, shuffle);
    ebb_space *space;
    assert_ok(f.ctx, ebb_space_new(f.ctx, mesh, &wish, &space));
    const size_t n = ebb_space_modes(f.space, &lambda, &shape, &error);
    assert_int_equal(ebb_space_modes(space, &other, &shape, &other_error), n);
    for (size_t m = 1; m < n; m++) {
        assert_near(other[m], lambda[m], 1e-10 * lambda[m]);
        assert_near(other_error[m], error[m], 1e-5 * error[m]);
    }
    ebb_space_free(space);
    ebb_mesh_free(mesh);
    close_space(&f);
}

static void a_turned_or_mirrored_room_has_the_same_modes(void **state)
{
    (void)state;
    const double c = cos(0.7), s = sin(0.7);
    const double turned[3][3] = {{c * c, -s, c * s}, {s * c, c, s * s}, {-s, 0, c}};
    const double mirrored[3][3] = {{0, 1, 0}, {1, 0, 0}, {0, 0, 1}};
    compare_changed(turned, false);
    compare_changed(mirrored, false);
}

static void a_renumbered_mesh_has_the_same_modes(void **state)
{
    (void)state;
    const double same[3][3] = {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}};
    compare_changed(same, true);
}

/* ---- refusals -------------------------------------------------------------------------------- */

static void refuse(const ebb_space_wish *bad, const ebb_mesh *mesh, ebb_ctx *ctx, const char *word)
{
    ebb_space *space = (ebb_space *)&ctx;
    ebb_ctx_clear(ctx);
    assert_int_equal(ebb_space_new(ctx, mesh, bad, &space), EBB_E_RANGE);
    assert_null(space);
    assert_int_equal(ebb_ctx_errors(ctx), 1);
    if (!strstr(ebb_ctx_message(ctx, 0)->text, word))
        fail_msg("\"%s\" does not say %s", ebb_ctx_message(ctx, 0)->text, word);
}

static void wishes_out_of_range_are_refused(void **state)
{
    (void)state;
    static const ebb_space_wish bad[] = {{.highest = 0},
                                         {.highest = -3},
                                         {.highest = NAN},
                                         {.highest = INFINITY},
                                         {.highest = 5, .reach = 0.5},
                                         {.highest = 5, .reach = NAN},
                                         {.highest = 5, .order = 9}};
    static const char *const word[] = {"wave number", "wave number",       "wave number",
                                       "wave number", "times the highest", "times the highest",
                                       "order"};
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_mesh *mesh = mesh_box(ctx, small_size, bricks);
    for (size_t i = 0; i < COUNT(bad); i++)
        refuse(&bad[i], mesh, ctx, word[i]);
    ebb_mesh_free(mesh);
    ebb_ctx_free(ctx);
}

#define BROKEN(word, change)                                                                       \
    do {                                                                                           \
        ebb_mesh *m = mesh_box(ctx, small_size, bricks);                                           \
        change;                                                                                    \
        refuse(&wish, m, ctx, word);                                                               \
        ebb_mesh_free(m);                                                                          \
    } while (0)

static void meshes_that_do_not_hold_together_are_refused(void **state)
{
    (void)state;
    ebb_ctx *ctx = ebb_ctx_new();
    BROKEN("0 tetrahedra", m->n_tets = 0);
    BROKEN("node 3 ", m->node[3].y = NAN);
    BROKEN("tetrahedron 2 has a node", m->tet[2][1] = m->n_nodes);
    BROKEN("tetrahedron 5 of the mesh is flat", m->tet[5][1] = m->tet[5][0]);
    BROKEN("triangle 4 lies on no surface", m->surface[4] = 6);
    BROKEN("triangle 1 has a node", m->face[1][2] = m->n_nodes + 7);
    BROKEN("belong to no tetrahedron", m->n_nodes++);
    BROKEN("outer triangles", m->n_faces--);
    BROKEN("no outer face", m->owner[0] = (m->owner[0] + 12) % m->n_tets);
    BROKEN("no outer face", m->owner[0] = m->n_tets);
    BROKEN("triangle 1 is no outer face",
           (memcpy(m->face[1], m->face[0], sizeof m->face[0]), m->owner[1] = m->owner[0]));
    ebb_ctx_free(ctx);
}

static void workers_and_shifts_that_are_not_there_are_refused(void **state)
{
    (void)state;
    space_fixture f;
    open_space(&f, small_size, bricks, &wish);
    const size_t size = ebb_space_size(f.space);
    double *b = EBB_NEW(f.arena, double, size), *x = EBB_NEW(f.arena, double, size);
    b[0] = 1;
    static const int bad[4][2] = {{-1, 0}, {16, 0}, {0, -1}, {0, 2}};
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(ebb_space_solve(f.ctx, f.space, bad[i][0], bad[i][1], 1, b, x),
                         EBB_E_RANGE);
        assert_true(inner(f.space, x, x) == 0);
    }
    close_space(&f);
}

/* The nth allocation fails, for every n: an error each time, and nothing is left behind. */
static void lack_of_memory_is_told(void **state)
{
    (void)state;
    static const size_t few[3] = {1, 1, 1};
    const ebb_space_wish tiny = {.highest = 2, .order = 2};
    ebb_ctx *plain = ebb_ctx_new();
    ebb_mesh *mesh = mesh_box(plain, small_size, few);
    ebb_status status = EBB_E_NOMEM;
    long n = 0;
    for (; status != EBB_OK; n++) {
        failing f = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&f);
        ebb_space *space;
        f.left = n;
        status = ebb_space_new(ctx, mesh, &tiny, &space);
        f.left = -1;
        assert_true(status == EBB_OK || (status == EBB_E_NOMEM && space == NULL));
        ebb_space_free(space);
        ebb_ctx_free(ctx);
        assert_int_equal(f.blocks, 0);
    }
    assert_true(n > 20);
    ebb_mesh_free(mesh);
    ebb_ctx_free(plain);
}

/* Edges for 1e-4 at the measured sizes of docs/convergence.md lie where they should. */
static void edges_shrink_with_frequency_and_error(void **state)
{
    (void)state;
    for (size_t order = 1; order <= EBB_ORDER_MOST; order++) {
        const double edge = ebb_space_edge(3.66, order, 1e-4);
        assert_near(ebb_space_edge(7.32, order, 1e-4), edge / 2, 1e-12);
        assert_true(ebb_space_edge(3.66, order, 1e-5) < edge);
        assert_true(order == 1 || edge > ebb_space_edge(3.66, order - 1, 1e-4));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_room_is_measured),
        cmocka_unit_test(the_first_mode_is_the_constant_exactly),
        cmocka_unit_test(solutions_leave_no_residual),
        cmocka_unit_test(shifts_are_clear_of_modes),
        cmocka_unit_test(a_shift_on_a_mode_moves),
        cmocka_unit_test(modes_reach_as_far_as_wished),
        cmocka_unit_test(a_room_may_have_one_mode),
        cmocka_unit_test(a_turned_or_mirrored_room_has_the_same_modes),
        cmocka_unit_test(a_renumbered_mesh_has_the_same_modes),
        cmocka_unit_test(wishes_out_of_range_are_refused),
        cmocka_unit_test(meshes_that_do_not_hold_together_are_refused),
        cmocka_unit_test(workers_and_shifts_that_are_not_there_are_refused),
        cmocka_unit_test(lack_of_memory_is_told),
        cmocka_unit_test(edges_shrink_with_frequency_and_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
