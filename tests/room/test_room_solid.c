/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Solids by themselves: the check with every fault it knows, and what lies inside. */
#include "shaped.h"

#include "../../src/room/shape.h"

/* A cube of 2 m with a cube of 1 m taken out of its upper corner: three facets have six corners. */
static const ebb_vec3 corners[] = {
    {0, 0, 0}, {2, 0, 0}, {2, 2, 0}, {0, 2, 0}, {0, 0, 2}, {2, 0, 2}, {0, 2, 2}, /* 6 */
    {2, 1, 2}, {1, 1, 2}, {1, 2, 2}, {2, 2, 1}, {2, 1, 1}, {1, 1, 1}, {1, 2, 1}, /* 13 */
};

/* Facets as lists of corners, counter-clockwise seen from inside, ended by END. */
#define END ((size_t)-1)
#define MOST 8
static const size_t facets[][MOST] = {
    {0, 1, 2, 3, END},         /* floor */
    {4, 6, 9, 8, 7, 5, END},   /* top */
    {0, 4, 5, 1, END},         /* y = 0 */
    {1, 5, 7, 11, 10, 2, END}, /* x = 2 */
    {2, 10, 13, 9, 6, 3, END}, /* y = 2 */
    {0, 3, 6, 4, END},         /* x = 0 */
    {11, 12, 13, 10, END},     /* z = 1 */
    {7, 8, 12, 11, END},       /* y = 1 */
    {8, 9, 13, 12, END},       /* x = 1 */
};
#define FACETS (sizeof facets / sizeof facets[0])
#define CORNERS (sizeof corners / sizeof corners[0])

/* A solid that tests can spoil. */
typedef struct model {
    ebb_vec3 corner[CORNERS + 8];
    size_t list[FACETS + 2][MOST + 8], count[FACETS + 2][3];
    ebb_facet facet[FACETS + 2];
    ebb_solid solid;
    ebb_arena *arena;
} model;

static int set_up_model(void **state)
{
    model *m = calloc(1, sizeof *m);
    memcpy(m->corner, corners, sizeof corners);
    for (size_t f = 0; f < FACETS; f++) {
        size_t n = 0;
        for (; facets[f][n] != END; n++)
            m->list[f][n] = facets[f][n];
        m->count[f][0] = n;
        m->facet[f] = (ebb_facet){f, 1, m->count[f], m->list[f]};
    }
    m->solid = (ebb_solid){CORNERS, m->corner, FACETS, m->facet, FACETS};
    m->arena = ebb_arena_new(NULL);
    *state = m;
    return m->arena == NULL;
}

static int tear_down_model(void **state)
{
    model *m = *state;
    ebb_arena_free(m->arena);
    free(m);
    return 0;
}

static void a_cube_less_a_cube(void **state)
{
    model *m = *state;
    const char *why = "";
    assert_int_equal(ebb_solid_check(m->arena, &m->solid, &why), EBB_OK);
    assert_null(why);
    assert_close(ebb_solid_volume(&m->solid), 7, 1e-12);
    assert_close(ebb_solid_area(&m->solid, 1), 3, 1e-12);
    assert_close(ebb_solid_area(&m->solid, 6), 1, 1e-12);
    assert_close(ebb_solid_area(&m->solid, 99), 0, 0);
    assert_int_equal(euler_number(&m->solid), 2);
}

static void is_refused(model *m, const char *part)
{
    const char *why = NULL;
    assert_int_equal(ebb_solid_check(m->arena, &m->solid, &why), EBB_E_NUMERIC);
    assert_non_null(why);
    if (strstr(why, part) == NULL)
        print_error("got \"%s\", wanted \"%s\"\n", why, part);
    assert_non_null(strstr(why, part));
}

static void too_few_facets(void **state)
{
    model *m = *state;
    m->solid.n_facets = 3;
    is_refused(m, "at least four facets");
}

static void numbers_out_of_range(void **state)
{
    model *m = *state;
    m->facet[2].surface = FACETS;
    is_refused(m, "names surface 9 of 9");
    m->facet[2].surface = 0;
    m->list[4][0] = CORNERS;
    is_refused(m, "names corner 14 of 14");
    m->list[4][0] = 2;
    m->count[5][0] = 2;
    is_refused(m, "less than three corners");
    m->count[5][0] = 4;
    m->facet[5].n_loops = 0;
    is_refused(m, "no outline");
    m->facet[5].n_loops = 1;
    m->corner[3].y = NAN;
    is_refused(m, "not a finite point");
}

static void open_solids(void **state)
{
    model *m = *state;
    m->solid.n_facets--;
    is_refused(m, "open along an edge from the corner at");
}

static void turned_facets(void **state)
{
    model *m = *state;
    for (size_t i = 0; i < 2; i++) {
        const size_t kept = m->list[0][i];
        m->list[0][i] = m->list[0][3 - i];
        m->list[0][3 - i] = kept;
    }
    is_refused(m, "two run the same way");
}

static void inside_out(void **state)
{
    model *m = *state;
    for (size_t i = 0; i < CORNERS; i++)
        m->corner[i].x = -m->corner[i].x;
    is_refused(m, "face outwards");
}

static void bent_facets(void **state)
{
    model *m = *state;
    const char *why;
    m->corner[3].z = 0.5e-6;
    assert_int_equal(ebb_solid_check(m->arena, &m->solid, &why), EBB_OK);
    m->corner[3].z = 1e-3;
    is_refused(m, "a facet is not flat at");
}

static void facets_without_area(void **state)
{
    model *m = *state;
    m->corner[11] = (ebb_vec3){1, 1, 1};
    m->corner[10] = (ebb_vec3){1, 2, 1};
    is_refused(m, "not flat");
    for (size_t i = 0; i < 4; i++)
        m->corner[i] = (ebb_vec3){0, 0, 0};
    is_refused(m, "a facet has no area");
}

static void crossing_lines(void **state)
{
    model *m = *state;
    const size_t kept = m->list[1][2];
    m->list[1][2] = m->list[1][4]; /* the top as a bow */
    m->list[1][4] = kept;
    is_refused(m, "lines of a facet cross");
}

/* A square hole in the floor, the wrong way round, outside, and too large. */
static void holes(void **state)
{
    model *m = *state;
    static const double at[4][2] = {{0.5, 0.5}, {0.5, 1.5}, {1.5, 1.5}, {1.5, 0.5}};
    for (size_t i = 0; i < 4; i++) {
        m->corner[CORNERS + i] = (ebb_vec3){at[i][0], at[i][1], 0};
        m->list[0][4 + i] = CORNERS + i;
    }
    m->count[0][1] = 4;
    m->facet[0].n_loops = 2;
    m->solid.n_corners += 4;
    is_refused(m, "open along an edge"); /* as such it is a good hole, but nothing closes it */
    for (size_t i = 0; i < 4; i++)
        m->corner[CORNERS + i].x += 3;
    is_refused(m, "a hole lies outside its outline");
    for (size_t i = 0; i < 4; i++)
        m->list[0][4 + i] = CORNERS + 3 - i;
    is_refused(m, "runs the same way as its outline");
    for (size_t i = 0; i < 4; i++) {
        m->list[0][4 + i] = CORNERS + i;
        m->corner[CORNERS + i] = (ebb_vec3){4 * at[i][0] - 3, 4 * at[i][1] - 3, 0};
    }
    is_refused(m, "holes leave nothing");
}

/* ---- loops from ways --------------------------------------------------------------------------
 */

/* A floor of 2 x 2 m: ways that a sliver left run there and back and are gone afterwards. */
static void slivers_cancel(void **state)
{
    model *m = *state;
    static const double at[][2] = {{0, 0},   {2, 0}, {2, 2}, {0, 2},  {1.5, 1.5},
                                   {0.5, 0}, {1, 0}, {1, 1}, {0.5, 1}};
    ebb_vec3 place[9];
    for (size_t i = 0; i < 9; i++)
        place[i] = (ebb_vec3){at[i][0], at[i][1], 0};
    const ebb_room_corners all = {9, place};
    /* A spike from corner 2 to 4, and a hole along the side from 0 to 1. */
    size_t way[][2] = {{0, 5}, {5, 6}, {6, 1}, {1, 2}, {2, 4}, {4, 2},
                       {2, 3}, {3, 0}, {6, 5}, {5, 8}, {8, 7}, {7, 6}};
    ebb_room_part part = {.normal = {0, 0, -1}};
    assert_true(ebb_room_trace(m->arena, &all, way, 12, &part));
    assert_int_equal(part.n_loops, 1);
    assert_int_equal(part.loop[0].n, 8);
    assert_close(ebb_room_loop_area(&part.loop[0]).z, 3.5, 1e-12);
}

/* Loops that touch in a corner stay apart, and holes go to the loop around them. */
static void loops_that_touch(void **state)
{
    model *m = *state;
    static const double at[][2] = {{0, 0}, {2, 0}, {2, 2},     {0, 2},   {4, 2},
                                   {4, 4}, {2, 4}, {2.5, 2.5}, {2.5, 3}, {3, 3}};
    ebb_vec3 place[10];
    for (size_t i = 0; i < 10; i++)
        place[i] = (ebb_vec3){at[i][0], at[i][1], 0};
    const ebb_room_corners all = {10, place};
    size_t way[][2] = {{0, 1}, {1, 2}, {2, 4}, {4, 5}, {5, 6}, {6, 2},
                       {2, 3}, {3, 0}, {7, 8}, {8, 9}, {9, 7}};
    ebb_room_part part = {.normal = {0, 0, -1}};
    assert_true(ebb_room_trace(m->arena, &all, way, 11, &part));
    assert_int_equal(part.n_loops, 3);
    assert_false(part.loop[0].hole || part.loop[1].hole);
    assert_true(part.loop[2].hole);
    assert_int_equal(part.loop[0].n, 4);
    assert_int_equal(part.loop[1].n, 4);
    assert_close(ebb_room_loop_area(&part.loop[1]).z, 4, 1e-12);
}

/* ---- inside ---------------------------------------------------------------------------------- */

static double random_in(unsigned long *seed, double low, double high)
{
    *seed = *seed * 6364136223846793005UL + 1442695040888963407UL;
    return low + (high - low) * (double)(*seed >> 11) / 9007199254740992.0;
}

/* Winding number by rays: facets crossed on the way up, each triangle of its fan counted with its
 * sign. */
static int winding(const ebb_solid *solid, ebb_vec3 p)
{
    int sum = 0;
    for (size_t f = 0; f < solid->n_facets; f++) {
        const ebb_facet *facet = &solid->facet[f];
        const size_t *c = facet->corner;
        for (size_t l = 0; l < facet->n_loops; c += facet->loop[l++])
            for (size_t i = 1; i + 1 < facet->loop[l]; i++) {
                const ebb_vec3 t[3] = {solid->corner[c[0]], solid->corner[c[i]],
                                       solid->corner[c[i + 1]]};
                double part[3];
                for (int k = 0; k < 3; k++) {
                    const ebb_vec3 a = t[(k + 1) % 3], b = t[(k + 2) % 3];
                    part[k] = (a.x - p.x) * (b.y - p.y) - (a.y - p.y) * (b.x - p.x);
                }
                const double whole = part[0] + part[1] + part[2];
                if (!((part[0] > 0 && part[1] > 0 && part[2] > 0) ||
                      (part[0] < 0 && part[1] < 0 && part[2] < 0)))
                    continue;
                const double z = (part[0] * t[0].z + part[1] * t[1].z + part[2] * t[2].z) / whole;
                if (z > p.z)
                    sum += whole < 0 ? 1 : -1;
            }
    }
    return sum;
}

static void inside_by_rays(const ebb_solid *solid, const double size[3], unsigned long seed)
{
    size_t in = 0;
    for (int i = 0; i < 3000; i++) {
        const ebb_vec3 p = {random_in(&seed, -0.2, size[0] + 0.2),
                            random_in(&seed, -0.2, size[1] + 0.2),
                            random_in(&seed, -0.2, size[2] + 0.2)};
        const int turns = winding(solid, p);
        assert_true(turns == 0 || turns == 1);
        if (ebb_solid_holds(solid, p, 0) != (turns == 1))
            print_error("at %g %g %g\n", p.x, p.y, p.z);
        assert_int_equal(ebb_solid_holds(solid, p, 0), turns == 1);
        in += turns == 1;
    }
    const double box = (size[0] + 0.4) * (size[1] + 0.4) * (size[2] + 0.4);
    assert_close((double)in / 3000 * box, ebb_solid_volume(solid), 0.04 * box);
}

static void inside_the_cut_cube(void **state)
{
    const model *m = *state;
    inside_by_rays(&m->solid, (const double[3]){2, 2, 2}, 1);
    /* Points in the planes of facets, off the facets, and on them. */
    assert_true(ebb_solid_holds(&m->solid, (ebb_vec3){1, 0.5, 0.5}, 0.4));
    assert_true(ebb_solid_holds(&m->solid, (ebb_vec3){0.5, 1, 1}, 0.4));
    assert_false(ebb_solid_holds(&m->solid, (ebb_vec3){3, 1, 1}, 0));
    assert_false(ebb_solid_holds(&m->solid, (ebb_vec3){2, 2, 2}, 0));
    assert_true(ebb_solid_holds(&m->solid, (ebb_vec3){1.5, 1.5, 1}, 0));
    assert_false(ebb_solid_holds(&m->solid, (ebb_vec3){1.5, 1.5, 1}, 0.01));
    assert_false(ebb_solid_holds(&m->solid, (ebb_vec3){NAN, 1, 1}, 0));
    /* Nearest is the edge that points inwards, then its corner. */
    const double edge = hypot(0.3, 0.2), tip = hypot(edge, 0.1);
    assert_true(ebb_solid_holds(&m->solid, (ebb_vec3){0.7, 0.8, 1.5}, edge - 1e-6));
    assert_false(ebb_solid_holds(&m->solid, (ebb_vec3){0.7, 0.8, 1.5}, edge + 1e-6));
    assert_true(ebb_solid_holds(&m->solid, (ebb_vec3){0.7, 0.8, 0.9}, tip - 1e-6));
    assert_false(ebb_solid_holds(&m->solid, (ebb_vec3){0.7, 0.8, 0.9}, tip + 1e-6));
}

static void inside_a_room_with_everything(void **state)
{
    const ebb_room *room = shaped_room(
        *state,
        "    plan: [[0 m, 0 m], [6 m, 0 m], [6 m, 3 m], [4 m, 3.4 m], [4 m, 5 m], [0 m, 5 m]]\n"
        "    columns: [[[2 m, 2 m], [2.5 m, 2 m], [2.3 m, 2.6 m]]]\n"
        "    ceiling: {eaves: 2 m, ridge: {height: 3 m, from: [0 m, 2.2 m], to: [6 m, 2.7 m]}}\n"
        "    bodies:\n"
        "      - {name: a, on: wall_1, at: [1 m, 0 m], size: [1 m, 1.5 m], depth: 0.4 m, of: "
        "stone}\n"
        "      - {name: b, on: wall_6, at: [2 m, 0.5 m], size: [1 m, 1.5 m], depth: 0.7 m, of: "
        "stone}\n"
        "      - {name: c, on: column_1_1, at: [0.1 m, 1 m], size: [0.2 m, 0.2 m], depth: 0.2 m, "
        "of: stone}\n",
        "3 m, 4 m, 1.2 m");
    check_room(room);
    check_outlines(room);
    assert_int_equal(euler_number(room->solid), 0);
    inside_by_rays(room->solid, room->size, 2);
}

#define MODEL(function) cmocka_unit_test_setup_teardown(function, set_up_model, tear_down_model)

int main(void)
{
    const struct CMUnitTest tests[] = {
        MODEL(a_cube_less_a_cube),   MODEL(too_few_facets),
        MODEL(numbers_out_of_range), MODEL(open_solids),
        MODEL(turned_facets),        MODEL(inside_out),
        MODEL(bent_facets),          MODEL(facets_without_area),
        MODEL(crossing_lines),       MODEL(holes),
        MODEL(slivers_cancel),       MODEL(loops_that_touch),
        MODEL(inside_the_cut_cube),  TEST(inside_a_room_with_everything),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
