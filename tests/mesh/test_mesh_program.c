/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The program ebb-mesh on its own: what it says, and what it refuses. */
#include "solids.h"

#include <ebb/process.h>
#include <ebb/version.h>

static void run(scene *s, const char *argument, const char *input, ebb_process_end *end)
{
    const char *program =
        ebb_arena_format(s->arena, "%s../mesher/ebb-mesh", ebb_process_folder(s->arena));
    const char *arguments[] = {program, argument, NULL};
    const ebb_process p = {.arguments = arguments,
                           .input = input,
                           .n_input = strlen(input),
                           .most_output = 1 << 20,
                           .seconds = 60,
                           .mebibytes = 1024};
    assert_int_equal(ebb_process_run(s->ctx, s->arena, &p, end), EBB_OK);
    assert_int_equal(end->how, EBB_PROCESS_EXITED);
}

static void test_help_and_version(void **state)
{
    scene *s = *state;
    ebb_process_end end;
    run(s, "--help", "", &end);
    assert_int_equal(end.code, 0);
    assert_non_null(strstr(end.output, "Usage: ebb-mesh"));
    run(s, "-h", "", &end);
    assert_int_equal(end.code, 0);
    run(s, "--version", "", &end);
    assert_int_equal(end.code, 0);
    assert_string_equal(end.output, ebb_arena_format(s->arena, "ebb-mesh %s\n", ebb_version()));
    run(s, "--what", "", &end);
    assert_int_equal(end.code, 2);
    assert_int_equal(end.n_output, 0);
}

/* Written by hand as the manual shows it: decimal numbers, any blanks. */
#define HEAD "ebb-solid 1\nedge 0.8\n"
#define CORNERS "corners 4\n0 0 0\n1.5 0 0\n0 1.5 0\n0 0 1.5\n"
#define FACETS "facets 4\n0 1 3  0 1 2\n1 1 3  0 3 1\n2 1 3  0 2 3\n3 1 3  1 3 2\n"
#define TAIL "lines 1\n0 0 0  0 0 1.5  0.3\nareas 1\n3 0.4\nend\n"

static void test_by_hand(void **state)
{
    scene *s = *state;
    ebb_process_end end;
    run(s, NULL, HEAD CORNERS FACETS TAIL, &end);
    assert_int_equal(end.code, 0);
    assert_string_equal(end.words, "");
    const char *wanted = "ebb-mesh 1\nnodes ";
    assert_memory_equal(end.output, wanted, strlen(wanted));
    yard *y = yard_new(s->arena);
    for (int i = 0; i < 4; i++)
        yard_corner(y, 1.5 * (i == 1), 1.5 * (i == 2), 1.5 * (i == 3));
    static const size_t facet[4][3] = {{0, 1, 2}, {0, 3, 1}, {0, 2, 3}, {1, 3, 2}};
    for (int f = 0; f < 4; f++) {
        yard_facet(y);
        yard_loop(y, 3, facet[f]);
    }
    ebb_mesh *mesh;
    assert_int_equal(ebb_mesh_read(s->ctx, &y->solid, end.output, end.n_output, &mesh), EBB_OK);
    assert_int_equal(ebb_mesh_check(s->ctx, &y->solid, mesh), EBB_OK);
    assert_true(mesh->n_tets > 4);
    ebb_mesh_free(mesh);
}

static void expect_refused(scene *s, const char *input, const char *words)
{
    ebb_process_end end;
    run(s, NULL, input, &end);
    if (strstr(end.words, words) == NULL)
        print_error("wanted '%s', got '%s'\n", words, end.words);
    assert_int_equal(end.code, 1);
    assert_int_equal(end.n_output, 0);
    assert_non_null(strstr(end.words, words));
    assert_memory_equal(end.words, "ebb-mesh: ", 10);
}

static void test_refused(void **state)
{
    scene *s = *state;
    expect_refused(s, "", "line 1: the solid ends too early");
    expect_refused(s, "ebb-solid 2", "line 1: '2' where '1' was expected");
    expect_refused(s, "ebb-solid 1\nedge 0", "line 2: '0' is no number from 0.01 to 100");
    expect_refused(s, "ebb-solid 1\nedge 1,5", "line 2: '1,5' is no number");
    expect_refused(s, "ebb-solid 1\nedge nan", "line 2: 'nan' is no number");
    expect_refused(s, HEAD "corners 3", "line 3: '3' is no whole number from 4");
    expect_refused(s, HEAD "corners 9999999999999999999999", "is no whole number");
    expect_refused(s, HEAD CORNERS "facets 4 0 1 3 0 1 4", "'4' is no whole number from 0 to 3");
    expect_refused(s, HEAD CORNERS "facets 4 0 1 3 0 1 -1", "'-1' is no whole number");
    expect_refused(s, HEAD CORNERS FACETS "lines 0", "the solid ends too early");
    expect_refused(s, HEAD CORNERS FACETS "lines 1 0 0 x", "'x' is no number");
    expect_refused(s, HEAD CORNERS FACETS "lines 1 0 0 0 1 0 0 0", "'0' is no number from 0.0001");
    expect_refused(s, HEAD CORNERS FACETS "lines 0 areas 1 4 0.5", "'4' is no whole number");
    expect_refused(s, HEAD CORNERS FACETS "lines 0 areas 1 3 2", "'2' is no number from 0.0001");
    expect_refused(s, HEAD CORNERS FACETS "lines 0 areas 5", "'5' is no whole number from 0 to 4");
    const char *word = ebb_arena_format(s->arena, "%0100d", 1);
    expect_refused(s, word, "line 1: a word that is no word");
}

/* What is no solid fails, too, one way or another, and says so. */
static void test_open_solid(void **state)
{
    scene *s = *state;
    ebb_process_end end;
    run(s, NULL, HEAD CORNERS "facets 4 0 1 3 0 1 2 1 1 3 0 3 1 2 1 3 0 2 3 3 1 3 0 2 3 " TAIL,
        &end);
    assert_int_equal(end.code, 1);
    assert_int_equal(end.n_output, 0);
    assert_memory_equal(end.words, "ebb-mesh: ", 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SCENE_TEST(test_help_and_version),
        SCENE_TEST(test_by_hand),
        SCENE_TEST(test_refused),
        SCENE_TEST(test_open_solid),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
