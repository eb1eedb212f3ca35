/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Modes of the bare room and first reflections: a box known by its closed form against the same box
 * known by its mesh.
 */
#include "../../src/judge/private.h"
#include "scene.h"

/* The stage's room twice: as a rectangle, and as a shape with elements. */
typedef struct twins {
    stage box, shaped;
    ebb_mesh *mesh;
    ebb_space *space;
} twins;

/* Frames of the surfaces, which a hand-made scene leaves out; faces in the order of the mesh. */
static void frame(stage *s)
{
    for (size_t i = 0; i < 6; i++) {
        ebb_surface *on = &s->surfaces[i];
        const int a = on->axis == 0 ? 1 : 0, b = on->axis == 2 ? 1 : 2;
        on->along = (ebb_vec3){a == 0, a == 1, 0};
        on->up = (ebb_vec3){0, b == 1, b == 2};
        on->range[0][1] = s->room.size[a];
        on->range[1][1] = s->room.size[b];
    }
}

static int make(void **state)
{
    static const size_t bricks[3] = {3, 2, 2};
    twins *t = calloc(1, sizeof *t);
    assert_non_null(t);
    stage_make(&t->box, 1, 1);
    stage_make(&t->shaped, 1, 1);
    frame(&t->shaped);
    const ebb_space_wish wish = {.highest = 2 * pi * 100 / 343, .order = 6};
    assert_int_equal(ebb_mesh_box(NULL, t->box.room.size, bricks, &t->mesh), EBB_OK);
    assert_int_equal(ebb_space_new(NULL, t->mesh, &wish, &t->space), EBB_OK);
    t->shaped.room.shaped = true;
    t->shaped.room.space = t->space;
    *state = t;
    return 0;
}

static int drop(void **state)
{
    twins *t = *state;
    ebb_space_free(t->space);
    ebb_mesh_free(t->mesh);
    free(t);
    return 0;
}

static void neighbours_are_the_same(void **state)
{
    twins *t = *state;
    for (double hz = 36; hz < 95; hz += 7.3) {
        ebb_judge_stretch a = ebb_judge_neighbours(&t->box.scene, hz);
        ebb_judge_stretch b = ebb_judge_neighbours(&t->shaped.scene, hz);
        assert_near(b.below, a.below, 1e-3 * a.below);
        assert_near(b.above, a.above, 1e-3 * a.above);
        assert_int_equal(b.above_label[0], b.below_label[0] + 1);
        assert_int_equal(b.above_label[1], -1);
        assert_int_equal(ebb_judge_gap(&t->box.scene, hz), ebb_judge_gap(&t->shaped.scene, hz));
    }
    assert_near(ebb_judge_first_mode(&t->shaped.scene), 34.3, 1e-3);
    assert_int_equal(ebb_judge_neighbours(&t->shaped.scene, 20).below_label[0], 0);
}

/* Modes 1-0-0, 0-1-0 and 1-1-0 are numbers 1, 2 and 3. */
static void shapes_are_the_same(void **state)
{
    twins *t = *state;
    static const int label[3][3] = {{1, 0, 0}, {0, 1, 0}, {1, 1, 0}};
    for (int m = 0; m < 3; m++) {
        const int number[3] = {m + 1, -1, -1};
        const ebb_vec3 at[3] = {{0, 0, 0}, {1.3, 2.6, 1.1}, {2.5, 3.9, 2}};
        for (int i = 0; i < 3; i++)
            assert_near(ebb_judge_shape(&t->shaped.scene, number, at[i]),
                        ebb_judge_shape(&t->box.scene, label[m], at[i]), 1e-3);
    }
}

/* An axial mode moves air along its axis only, a tangential one by the squares of its halves. */
static void the_way_of_the_air_is_told(void **state)
{
    twins *t = *state;
    double share[3];
    ebb_judge_ways(&t->shaped.scene, (int[3]){2, -1, -1}, share);
    assert_near(share[0], 0, 1e-6);
    assert_near(share[1], 1, 1e-4);
    ebb_judge_ways(&t->shaped.scene, (int[3]){3, -1, -1}, share);
    assert_near(share[0], (1 / 25.0) / (1 / 25.0 + 1 / 16.0), 1e-3);
    assert_near(share[0] + share[1] + share[2], 1, 1e-4);
}

static void quiet_planes_are_the_same(void **state)
{
    twins *t = *state;
    const ebb_vec3 middle = {2.5, 1.1, 0.9};
    t->box.receiver_at[0] = t->shaped.receiver_at[0] = middle;
    ebb_judge_quiet a = ebb_judge_quiet_plane(&t->box.scene, 0, 34);
    ebb_judge_quiet b = ebb_judge_quiet_plane(&t->shaped.scene, 0, 34);
    assert_true(a.found && b.found);
    assert_false(b.at_source);
    assert_near(b.hz, a.hz, 1e-3);
    assert_int_equal(b.label[0], 1);
}

/* The reflection off wall_4 behind a speaker in line with the seat, quarter wave at 1.2 m. */
static void echoes_need_the_wall_that_reflects(void **state)
{
    twins *t = *state;
    stage *s = &t->shaped;
    s->source_at[0] = (ebb_vec3){1.2, 1.4, 1.5};
    s->receiver_at[0] = (ebb_vec3){3.5, 1.4, 1.5};
    t->box.source_at[0] = s->source_at[0];
    t->box.receiver_at[0] = s->receiver_at[0];
    const double hz = 343 / (4 * 1.2);
    ebb_judge_echo a = ebb_judge_late_echo(&t->box.scene, 0, hz);
    ebb_judge_echo b = ebb_judge_late_echo(&s->scene, 0, hz);
    assert_true(a.found && b.found);
    assert_string_equal(s->surfaces[b.surface].name, "wall_4");
    assert_int_equal(a.surface, b.surface);
    assert_near(b.distance, 1.2, 1e-9);
    assert_true(b.from_source);
    /* with an alcove where it would reflect there is none */
    s->surfaces[b.surface].range[0][1] = 1;
    b = ebb_judge_late_echo(&s->scene, 0, hz);
    assert_true(!b.found || strcmp(s->surfaces[b.surface].name, "wall_4") != 0);
}

static void modes_of_a_shape_are_named_by_number(void **state)
{
    twins *t = *state;
    stage *s = &t->shaped;
    s->scene.modes = &s->modes;
    stage_mode(s, 0, 1, 0, 0.5);
    s->mode[0].label[0] = 2;
    s->mode[0].label[1] = s->mode[0].label[2] = -1;
    ebb_judge_entry entry = {.fault = {.kind = EBB_FAULT_RING}, .mode = 0, .second = NONE};
    ebb_arena *arena = ebb_arena_new(NULL);
    const char *words = ebb_judge_cause_words(arena, &s->scene, &entry);
    assert_non_null(words);
    assert_non_null(strstr(words, "mode 2 of the bare room at 42.9 Hz, along the width, rings on"));
    ebb_arena_free(arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(neighbours_are_the_same, make, drop),
        cmocka_unit_test_setup_teardown(shapes_are_the_same, make, drop),
        cmocka_unit_test_setup_teardown(the_way_of_the_air_is_told, make, drop),
        cmocka_unit_test_setup_teardown(quiet_planes_are_the_same, make, drop),
        cmocka_unit_test_setup_teardown(echoes_need_the_wall_that_reflects, make, drop),
        cmocka_unit_test_setup_teardown(modes_of_a_shape_are_named_by_number, make, drop),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
