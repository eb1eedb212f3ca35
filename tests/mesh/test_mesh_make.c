/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The mesher at work, and programs in its place that do what a mesher should not. */
#include "solids.h"

#include <ebb/process.h>

#include <dirent.h>
#include <math.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static const ebb_mesh_wish coarse = {.edge = 1.2, .edge_min = 0.35};

/* ---- the mesher ------------------------------------------------------------------------------ */

static ebb_mesh *make(scene *s, const ebb_solid *solid, const ebb_mesh_wish *wish)
{
    ebb_mesh *mesh;
    if (ebb_mesh_make(s->ctx, solid, wish, NULL, &mesh) != EBB_OK)
        print_messages(s);
    assert_int_equal(ebb_ctx_errors(s->ctx), 0);
    assert_non_null(mesh);
    return mesh;
}

static ebb_vec3 minus(ebb_vec3 a, ebb_vec3 b)
{
    return (ebb_vec3){a.x - b.x, a.y - b.y, a.z - b.z};
}

static double length(ebb_vec3 a)
{
    return sqrt(a.x * a.x + a.y * a.y + a.z * a.z);
}

/* Shortest, mean and longest edge of all tetrahedra. */
static void edges_of(const ebb_mesh *m, double edge[3])
{
    edge[0] = INFINITY;
    edge[1] = edge[2] = 0;
    for (size_t i = 0; i < m->n_tets; i++)
        for (int k = 0; k < 6; k++) {
            static const int pair[6][2] = {{0, 1}, {0, 2}, {0, 3}, {1, 2}, {1, 3}, {2, 3}};
            const double e =
                length(minus(m->node[m->tet[i][pair[k][0]]], m->node[m->tet[i][pair[k][1]]]));
            edge[0] = fmin(edge[0], e);
            edge[1] += e / (6 * (double)m->n_tets);
            edge[2] = fmax(edge[2], e);
        }
}

/* ebb_mesh_make has checked it; that the check runs at all is asked of a spoilt copy. */
static void expect_rooms_mesh(scene *s, const ebb_solid *solid, size_t most_tets)
{
    ebb_mesh *m = make(s, solid, &coarse);
    double edge[3];
    edges_of(m, edge);
    if (m->n_tets > most_tets || !(edge[1] > 0.5 && edge[1] < 1.5))
        print_error("%zu tetrahedra, edges %.2f to %.2f, mean %.2f\n", m->n_tets, edge[0], edge[2],
                    edge[1]);
    assert_in_range(m->n_tets, 50, most_tets);
    assert_true(edge[1] > 0.5 && edge[1] < 1.5 && edge[2] < 3);
    assert_int_equal(ebb_mesh_check(s->ctx, solid, m), EBB_OK);
    m->surface[0] = (m->surface[0] + 1) % m->n_surfaces;
    assert_int_equal(ebb_mesh_check(s->ctx, solid, m), EBB_E_NUMERIC);
    ebb_ctx_clear(s->ctx);
    ebb_mesh_free(m);
}

/* Coarse meshes, a few hundred elements: what elements of high order need. */
static void test_rooms(void **state)
{
    scene *s = *state;
    expect_rooms_mesh(s, solid_box(s->arena, 6, 4, 2.7), 500);
    expect_rooms_mesh(s, solid_ell(s->arena), 800);
    expect_rooms_mesh(s, solid_gable(s->arena), 500);
    expect_rooms_mesh(s, solid_column(s->arena), 1200);
    expect_rooms_mesh(s, solid_block(s->arena), 1200);
}

/* A body 30 mm above the floor, the narrowest gap that job files allow. */
static void test_narrow_gap(void **state)
{
    scene *s = *state;
    for (double depth = 0.2; depth < 1.3; depth += 0.5) {
        ebb_mesh *m = make(s, solid_hanging(s->arena, 0.03, depth), &coarse);
        assert_in_range(m->n_tets, 300, 2500);
        ebb_mesh_free(m);
    }
}

/* Turned in space nothing lies along an axis. */
static void test_turned_room(void **state)
{
    scene *s = *state;
    yard *y = (yard *)(uintptr_t)solid_block(s->arena);
    for (size_t i = 0; i < y->solid.n_corners; i++) {
        const ebb_vec3 a = y->corner[i];
        const ebb_vec3 b = {0.6 * a.x - 0.8 * a.y, 0.8 * a.x + 0.6 * a.y, a.z};
        y->corner[i] = (ebb_vec3){b.x, 0.28 * b.y - 0.96 * b.z, 0.96 * b.y + 0.28 * b.z};
    }
    expect_rooms_mesh(s, &y->solid, 1200);
}

static void test_finer(void **state)
{
    scene *s = *state;
    const ebb_solid *solid = solid_ell(s->arena);
    double edge[3], was = INFINITY;
    for (double wish = 1.6; wish > 0.3; wish /= 1.6) {
        ebb_mesh *m = make(s, solid, &(ebb_mesh_wish){.edge = wish});
        edges_of(m, edge);
        assert_true(edge[1] < 1.35 * wish && edge[1] > 0.5 * wish && edge[1] < was);
        was = edge[1];
        ebb_mesh_free(m);
    }
}

/* Edges at the inner corner shrink as asked, those far from it do not. */
static void test_grading(void **state)
{
    scene *s = *state;
    ebb_mesh *m = make(s, solid_ell(s->arena), &(ebb_mesh_wish){.edge = 1.2, .edge_min = 0.2});
    double near = 0, far = 0, n_near = 0, n_far = 0;
    for (size_t i = 0; i < m->n_tets; i++)
        for (int k = 0; k < 3; k++) {
            const ebb_vec3 a = m->node[m->tet[i][k]], b = m->node[m->tet[i][k + 1]];
            const double off = hypot((a.x + b.x) / 2 - 3.2, (a.y + b.y) / 2 - 2.5);
            near += off < 0.3 ? length(minus(a, b)) : 0;
            n_near += off < 0.3;
            far += off > 2 ? length(minus(a, b)) : 0;
            n_far += off > 2;
        }
    assert_true(n_near > 20 && n_far > 20);
    near /= n_near;
    far /= n_far;
    if (!(near < 0.45 && far > 0.9))
        print_error("mean edge %.2f near, %.2f far\n", near, far);
    assert_true(near < 0.45 && far > 0.9);
    ebb_mesh_free(m);
}

static void test_same_bytes(void **state)
{
    scene *s = *state;
    ebb_mesh *a = make(s, solid_block(s->arena), &coarse);
    ebb_mesh *b = make(s, solid_block(s->arena), &coarse);
    assert_int_equal(a->n_nodes, b->n_nodes);
    assert_int_equal(a->n_tets, b->n_tets);
    assert_int_equal(a->n_faces, b->n_faces);
    assert_memory_equal(a->node, b->node, a->n_nodes * sizeof *a->node);
    assert_memory_equal(a->tet, b->tet, a->n_tets * sizeof *a->tet);
    assert_memory_equal(a->face, b->face, a->n_faces * sizeof *a->face);
    assert_memory_equal(a->surface, b->surface, a->n_faces * sizeof *a->surface);
    assert_memory_equal(a->owner, b->owner, a->n_faces * sizeof *a->owner);
    ebb_mesh_free(a);
    ebb_mesh_free(b);
}

/* ---- in its place ---------------------------------------------------------------------------- */

/* Runs a line of shell in the mesher's place. */
static ebb_status make_by(scene *s, const char *line, const ebb_mesh_wish *wish)
{
    char folder[] = "/tmp/ebb-mesh-XXXXXX", path[64];
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/mesher", folder);
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    assert_true(fprintf(f, "#!/bin/sh\n%s\n", line) > 0);
    assert_int_equal(fclose(f), 0);
    assert_int_equal(chmod(path, 0700), 0);
    ebb_mesh *mesh = (ebb_mesh *)s;
    const ebb_status status =
        ebb_mesh_make(s->ctx, solid_box(s->arena, 4, 3, 2), wish, path, &mesh);
    assert_true((status == EBB_OK) == (mesh != NULL));
    ebb_mesh_free(mesh);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0);
    return status;
}

static void expect_failure(scene *s, const char *line, ebb_status wanted, const char *words)
{
    assert_int_equal(make_by(s, line, &(ebb_mesh_wish){.edge = 1, .seconds = 20}), wanted);
    expect_error(s, words);
}

static void test_bad_ends(void **state)
{
    scene *s = *state;
    expect_failure(s, "kill -SEGV $$", EBB_E_IO, "killed by signal 11 (a fault of its own");
    expect_failure(s, "echo some trouble >&2; kill -KILL $$", EBB_E_IO, "some trouble");
    expect_failure(s, "echo line 7: bad >&2; exit 3", EBB_E_IO,
                   "failed with status 3: line 7: bad");
    expect_failure(s, "exit 0", EBB_E_IO, "line 1: a word is missing");
    expect_failure(s, "echo all is well", EBB_E_IO, "line 1: a word is missing");
    expect_failure(s, "exec head -c 100000 /dev/urandom", EBB_E_IO, "can not be read: line");
    expect_failure(s, "exec cat", EBB_E_IO, "line 1: a word is missing");
    expect_failure(s, "echo ebb-mesh 1; echo nodes 0; echo tetrahedra 0; echo faces 0; echo end",
                   EBB_E_NUMERIC, "the mesh is empty");
}

static void test_hangs(void **state)
{
    scene *s = *state;
    struct timespec from, to;
    clock_gettime(CLOCK_MONOTONIC, &from);
    assert_int_equal(make_by(s, "sleep 30", &(ebb_mesh_wish){.edge = 1, .seconds = 1}), EBB_E_IO);
    clock_gettime(CLOCK_MONOTONIC, &to);
    expect_error(s, "ended after 1 s");
    assert_in_range(to.tv_sec - from.tv_sec, 0, 6);
}

static void test_eats_memory(void **state)
{
    scene *s = *state;
    const ebb_mesh_wish wish = {.edge = 1, .seconds = 20, .mebibytes = 60};
    assert_int_equal(make_by(s, "x=$(head -c 90000000 /dev/zero | tr '\\0' a); exit 0", &wish),
                     EBB_E_IO);
    assert_null(strstr(ebb_ctx_message(s->ctx, 0)->text, "line 1"));
    ebb_ctx_clear(s->ctx);
    /* The same with memory enough gets as far as the missing mesh. */
    expect_failure(s, "x=$(head -c 90000000 /dev/zero | tr '\\0' a); exit 0", EBB_E_IO, "line 1");
}

/* The real mesher runs into its limits, too. */
static void test_mesher_without_memory_or_time(void **state)
{
    scene *s = *state;
    const ebb_mesh_wish fine = {.edge = 0.06, .seconds = 0.7},
                        small = {.edge = 0.1, .mebibytes = 90};
    ebb_mesh *mesh;
    const ebb_solid *solid = solid_ell(s->arena);
    assert_int_equal(ebb_mesh_make(s->ctx, solid, &fine, NULL, &mesh), EBB_E_IO);
    expect_error(s, "ended after 0.7 s");
    assert_int_equal(ebb_mesh_make(s->ctx, solid, &small, NULL, &mesh), EBB_E_IO);
    expect_error(s, "the mesher ");
    assert_null(mesh);
}

/* What the mesher writes, spoilt on its way: never taken for a mesh. */
static void test_spoilt_on_the_way(void **state)
{
    scene *s = *state;
    const char *folder = ebb_process_folder(s->arena);
    const char *mesher = ebb_arena_format(s->arena, "%s../mesher/ebb-mesh", folder);
    static const struct {
        const char *filter, *words;
        ebb_status status;
    } cases[] = {
        {"head -n 60", "can not be read", EBB_E_IO},
        {"sed '$d'", "can not be read", EBB_E_IO},
        {"sed 's/^end/end end/'", "behind the end", EBB_E_IO},
        {"sed '5s/^0x1/0x2/;4s/^0x1/0x3/'", "the mesh", EBB_E_NUMERIC},
        {"awk '/^faces/ {print; getline l; getline; print; print; next} {print}'", "",
         EBB_E_NUMERIC},
        {"awk '/^tetrahedra/ {print; getline a; getline b; print b; print b; next} {print}'", "",
         EBB_E_NUMERIC},
        {"awk 'f {$1 = ($1 + 1) % 6; f = 0} /^faces/ {f = 1} {print}'",
         "does not lie on its surface", EBB_E_NUMERIC},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        expect_failure(s, ebb_arena_format(s->arena, "%s | %s", mesher, cases[i].filter),
                       cases[i].status, cases[i].words);
    const char *line = ebb_arena_format(s->arena, "%s | cat", mesher);
    assert_int_equal(make_by(s, line, &(ebb_mesh_wish){.edge = 1}), EBB_OK);
}

/* ---- what is asked --------------------------------------------------------------------------- */

static void test_no_mesher(void **state)
{
    scene *s = *state;
    ebb_mesh *mesh;
    const ebb_solid *solid = solid_box(s->arena, 4, 3, 2);
    assert_int_equal(ebb_mesh_make(s->ctx, solid, &coarse, "/no/such/ebb-mesh", &mesh), EBB_E_IO);
    expect_error(s, "there is no program /no/such/ebb-mesh");
    assert_int_equal(setenv("EBB_MESH", "/nor/this", 1), 0);
    assert_int_equal(ebb_mesh_make(s->ctx, solid, &coarse, NULL, &mesh), EBB_E_IO);
    expect_error(s, "there is no program /nor/this");
    assert_int_equal(unsetenv("EBB_MESH"), 0);
    assert_null(mesh);
}

static void test_bad_questions(void **state)
{
    scene *s = *state;
    ebb_mesh *mesh;
    yard *y = (yard *)(uintptr_t)solid_box(s->arena, 4, 3, 2);
    const ebb_mesh_wish slow = {.edge = 1, .seconds = -1}, small = {.edge = 1, .mebibytes = -1},
                        none = {.edge = 0};
    assert_int_equal(ebb_mesh_make(s->ctx, &y->solid, &slow, NULL, &mesh), EBB_E_RANGE);
    assert_int_equal(ebb_mesh_make(s->ctx, &y->solid, &small, NULL, &mesh), EBB_E_RANGE);
    assert_int_equal(ebb_mesh_make(s->ctx, &y->solid, &none, NULL, &mesh), EBB_E_RANGE);
    ebb_ctx_clear(s->ctx);
    y->solid.n_facets--; /* open */
    assert_int_not_equal(ebb_mesh_make(s->ctx, &y->solid, &coarse, NULL, &mesh), EBB_OK);
    expect_error(s, "not closed as it should be");
    assert_null(mesh);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_rooms),
        SCENE_TEST(test_narrow_gap),
        SCENE_TEST(test_turned_room),
        SCENE_TEST(test_finer),
        SCENE_TEST(test_grading),
        SCENE_TEST(test_same_bytes),
        SCENE_TEST(test_bad_ends),
        SCENE_TEST(test_hangs),
        SCENE_TEST(test_eats_memory),
        SCENE_TEST(test_mesher_without_memory_or_time),
        SCENE_TEST(test_spoilt_on_the_way),
        SCENE_TEST(test_no_mesher),
        SCENE_TEST(test_bad_questions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
