/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The library file as a whole: claims, targets, and what it shares with jobs. */
#include "shelf.h"

#include <math.h>

#define TARGET "face: [0.6 m, 1.2 m], depth: 0.3 m"

static const ebb_claim *claim_in(shelf *s, const char *body)
{
    char text[1024];
    snprintf(text, sizeof text, LIBRARY "claims: {x: {%s}}\n", body);
    return good_library(s, text, NULL)->claim;
}

static const ebb_target *target_in(shelf *s, const char *body)
{
    char text[1024];
    snprintf(text, sizeof text, LIBRARY "targets: {x: {" TARGET ", %s}}\n", body);
    return good_library(s, text, NULL)->target;
}

static void an_empty_library(void **state)
{
    const ebb_library *l = good_library(*state, "library: Nothing\n", NULL);
    assert_string_equal(l->name, "Nothing");
    assert_string_equal(l->note, "");
    assert_string_equal(l->file, "boxes.yaml");
    assert_true(l->n_units == 0 && l->n_claims == 0 && l->n_targets == 0 && l->n_jobs == 0);
    assert_int_equal(l->units, EBB_UNITS_METRIC);
    assert_true(l->air.speed > 343 && l->air.speed < 344);
    assert_true(l->stock.n_materials > 0);
}

static void head_of_a_library(void **state)
{
    const ebb_library *l =
        good_library(*state,
                     "library: L\nnote: two words\nunits: imperial\nair: {speed: 340 m/s, density: "
                     "1.2 kg/m3}\n",
                     NULL);
    assert_string_equal(l->note, "two words");
    assert_int_equal(l->units, EBB_UNITS_IMPERIAL);
    assert_near(l->air.speed, 340);
}

/* ---- claims ---------------------------------------------------------------------------------- */

static void a_claim_with_everything(void **state)
{
    const ebb_claim *c =
        claim_in(*state, "face: [0.6 m, 1.2 m], depth: 200 mm, mass: 30 kg, front_mass: 5 kg/m2, "
                         "fill: grains, measured: diffuse, figures: [[40 Hz, 1.2], [50 Hz, 0.9]]");
    assert_string_equal(c->name, "x");
    assert_near(c->face[1], 1.2);
    assert_near(c->depth, 0.2);
    assert_near(c->mass, 30);
    assert_near(c->front_mass, 5);
    assert_true(c->front); /* a mass of fronts is a front */
    assert_int_equal(c->fill, EBB_FILL_GRAINS);
    assert_int_equal(c->kind, EBB_FIGURE_DIFFUSE);
    assert_int_equal(c->n, 2);
    assert_near(c->figure[0].hz, 40);
    assert_near(c->figure[0].value, 1.2);
    assert_int_equal(c->line, 2);
}

static void a_claim_that_says_little(void **state)
{
    const ebb_claim *c = claim_in(*state, "figures: [[40 Hz, 1]]");
    assert_true(isnan(c->face[0]) && isnan(c->depth) && isnan(c->mass) && isnan(c->front_mass));
    assert_false(c->front);
    assert_int_equal(c->fill, EBB_FILL_UNSAID);
    assert_int_equal(c->kind, EBB_FIGURE_UNSAID);
    c = claim_in(*state, "measured: normal, fill: air, front: yes, figures: [[40 Hz, 1]]");
    assert_true(c->front);
    assert_int_equal(c->fill, EBB_FILL_AIR);
    assert_int_equal(c->kind, EBB_FIGURE_NORMAL);
}

static void areas_are_areas(void **state)
{
    const ebb_claim *c = claim_in(*state, "areas: [[40 Hz, 1.2 m2], [50 Hz, 10 ft2]]");
    assert_int_equal(c->kind, EBB_FIGURE_AREA);
    assert_near(c->figure[0].value, 1.2);
    assert_near(c->figure[1].value, 10 * 0.3048 * 0.3048);
    one_library_fault(*state, LIBRARY "claims: {x: {areas: [[40 Hz, 1 m2]], measured: diffuse}}\n",
                      "claims.x.measured", "an area is an area");
}

/* ---- targets --------------------------------------------------------------------------------- */

static void a_target_that_says_little(void **state)
{
    const ebb_target *t = target_in(*state, "curve: [[30 Hz, 0.33], [40 Hz, 0.63]]");
    assert_string_equal(t->name, "x");
    assert_int_equal(t->goal, EBB_GOAL_CURVE);
    assert_int_equal(t->n, 2);
    assert_near(t->curve[1].hz, 40);
    assert_near(t->curve[1].value, 0.63);
    assert_near(t->face[0], 0.6);
    assert_near(t->depth[0], 0.3);
    assert_near(t->depth[1], 0.3);
    assert_true(isinf(t->mass) && isinf(t->cost) && isinf(t->grains) && !t->robust);
    assert_true(t->fronts[0] == 1 && t->fronts[1] == 2 && t->cells == 2);
    assert_near(t->thinnest, 0.004);
    assert_near(t->lightest, 2.5);
    assert_int_equal(t->line, 2);
    const ebb_stock *all = &((shelf *)*state)->library->stock;
    assert_int_equal(t->stock.n_materials, all->n_materials);
    assert_ptr_equal(t->stock.strip, all->strip);
}

static void a_target_with_limits(void **state)
{
    char text[1024];
    snprintf(text, sizeof text,
             LIBRARY "targets: {x: {mean: [30 Hz, 60 Hz], face: [0.6 m, 1.2 m], depth: [150 mm, "
                     "0.3 m], mass: 50 kg, cost: 400, grains: 0 kg, fronts: 2, cells: 1, "
                     "thinnest: 6 mm, lightest: 3 kg/m2, robust: yes, "
                     "use: {materials: [mdf, plywood], grains: [], strips: [rubber-30x2]}}}\n");
    const ebb_target *t = good_library(*state, text, NULL)->target;
    assert_int_equal(t->goal, EBB_GOAL_MEAN);
    assert_near(t->band[0], 30);
    assert_near(t->band[1], 60);
    assert_near(t->depth[0], 0.15);
    assert_near(t->depth[1], 0.3);
    assert_near(t->mass, 50);
    assert_near(t->cost, 400);
    assert_true(t->grains == 0 && t->robust && t->cells == 1);
    assert_true(t->fronts[0] == 2 && t->fronts[1] == 2);
    assert_near(t->thinnest, 0.006);
    assert_near(t->lightest, 3);
    assert_int_equal(t->stock.n_materials, 2);
    assert_string_equal(t->stock.material[0].name, "mdf");
    assert_int_equal(t->stock.n_batches, 0);
    assert_int_equal(t->stock.n_strips, 1);
    assert_true(t->stock.n_wools >= 3); /* not named: all */
}

/* The job takes units from the library that tunes to it: each file is read for what is needed. */
static void a_target_for_a_mode_of_a_job(void **state)
{
    char path[1024];
    shelf *s = *state;
    assert_int_equal(
        ebb_library_read(s->ctx, project_file("tests/room/shelf/boxes.yaml", path, sizeof path),
                         &s->library),
        EBB_OK);
    const ebb_target *t = s->library->target;
    assert_int_equal(t->goal, EBB_GOAL_MODE);
    assert_near(t->tuning.hz, 40);
    assert_int_equal(t->tuning.units, 1);
    assert_string_equal(t->tuning.job->name, "Taker");
    assert_int_equal(t->tuning.room, 0);
    assert_int_equal(s->library->n_jobs, 1);
    assert_ptr_equal(s->library->jobs[0], t->tuning.job);
    assert_int_equal(t->tuning.job->n_units, 3);
}

static void two_targets_share_a_job(void **state)
{
    char folder[1024];
    const char text[] =
        LIBRARY "targets:\n"
                "  a: {" TARGET ", mode: {job: job.yaml, room: A, hz: 40 Hz, units: 4}}\n"
                "  b: {" TARGET ", mode: {job: job.yaml, room: B, hz: 50 Hz}}\n";
    const ebb_library *l =
        good_library(*state, text, project_file("tests/room/shelf", folder, sizeof folder));
    assert_int_equal(l->n_jobs, 1);
    assert_ptr_equal(l->target[0].tuning.job, l->target[1].tuning.job);
    assert_int_equal(l->target[0].tuning.units, 4);
    assert_int_equal(l->target[1].tuning.room, 1);
}

/* ---- jobs and libraries ---------------------------------------------------------------------- */

static void the_absorbers_of_a_job(void **state)
{
    const ebb_library *l = good_library(*state,
                                        HEAD "note: hello\nabsorbers:\n  x: {" BOX_SIZE
                                             "mass: 9 kg, admittance: 0.5}\n" ROOM,
                                        NULL);
    assert_string_equal(l->name, "Test");
    assert_string_equal(l->note, "hello");
    assert_int_equal(l->n_units, 1);
    assert_string_equal(l->unit[0].name, "x");
    assert_true(l->n_claims == 0 && l->n_targets == 0 && l->n_jobs == 1);
    assert_true(l->stock.n_materials > 0 && l->stock.material[0].preset);
    assert_true(l->air.speed > 343);
}

/* Faults of a job are those of a job, each told once. */
static void a_faulty_job(void **state)
{
    one_library_fault(*state,
                      "job: Test\nuse: musik\n" ROOM_HEAD ROOM_SIZE
                      "    surfaces: {all: brick}\n" ROOM_SEATS ROOM_SPEAKERS,
                      "use", "did you mean");
}

static void job_or_library(void **state)
{
    shelf *s = *state;
    static const struct {
        const char *text, *first;
    } cases[] = {
        {"rooms: []\n", "job"}, /* somebody forgot the name of the job */
        {"note: x\n", "library"},
        {"library: L\nabsorbers: {job: {}}\n", "absorbers.job"}, /* a unit may be called so */
        {"note: {library: x}\njob: 3\n", "use"},
        {"note: library\njob: 3\n", "use"}, /* a value is no key */
        {"note: job\nabsorbers: {}\n", "library"},
        {"- job\n", NULL},
        {"job: [\n", NULL},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        bool found = cases[i].first == NULL;
        assert_int_equal(read_shelf(s, cases[i].text, NULL), EBB_E_INPUT);
        for (size_t k = 0; k < ebb_ctx_messages(s->ctx) && !found; k++) {
            const char *key = ebb_ctx_message(s->ctx, k)->place.key;
            found = key != NULL && strcmp(key, cases[i].first) == 0;
        }
        if (!found)
            print_messages(s->ctx);
        assert_true(found);
    }
}

static void units_taken_from_a_library(void **state)
{
    fixture *f = *state;
    char path[1024];
    assert_int_equal(
        ebb_job_read(f->ctx, project_file("tests/room/shelf/job.yaml", path, sizeof path), &f->job),
        EBB_OK);
    assert_int_equal(ebb_ctx_messages(f->ctx), 0);
    const ebb_unit *u = f->job->absorbers;
    assert_int_equal(f->job->n_units, 3);
    assert_string_equal(u[0].name, "slab");
    assert_near(u[0].mass, 12);
    assert_near(u[0].cost, 90);
    assert_near(u[0].face[0], 0.5);
    assert_true(u[0].on_ceiling && !u[0].on_walls);
    assert_near(u[0].assembly.layers[0].mass, 0.006 * 650); /* the library's own board */
    assert_string_equal(ebb_unit_origin(&u[0], &u[0].assembly.layers[0])->name, "shelf-ply");
    assert_string_equal(u[1].name, "mine");
    assert_near(u[1].cost, 70);
    assert_near(u[1].depth, 0.15);
    assert_ptr_equal(u[0].assembly.layers, u[1].assembly.layers); /* read once */
    assert_int_equal(u[2].assembly.kind, EBB_ASSEMBLY_TABLE);     /* beside the library */
    assert_int_equal(u[2].assembly.n_table, 2);
    const size_t n = strlen(u[0].from);
    assert_true(n > 10 && strcmp(u[0].from + n - 10, "boxes.yaml") == 0);
    assert_int_equal(f->job->rooms[0].placed[0].unit, 1);
}

static void the_example_can_be_read(void **state)
{
    char path[1024];
    shelf *s = *state;
    const ebb_status status = ebb_library_read(
        s->ctx, project_file("examples/harbour-boxes.yaml", path, sizeof path), &s->library);
    print_messages(s->ctx);
    assert_int_equal(status, EBB_OK);
    assert_int_equal(ebb_ctx_messages(s->ctx), 0);
    assert_true(s->library->n_units == 4 && s->library->n_claims == 3);
    assert_int_equal(s->library->n_targets, 3);
    for (size_t i = 0; i < s->library->n_units; i++) {
        const double alpha =
            ebb_assembly_alpha(&s->library->unit[i].assembly, &s->library->air, 50);
        assert_true(alpha > 0.01 && alpha <= 1);
    }
}

static void nothing_to_free(void **state)
{
    (void)state;
    ebb_library_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHELF_TEST(an_empty_library),
        SHELF_TEST(head_of_a_library),
        SHELF_TEST(a_claim_with_everything),
        SHELF_TEST(a_claim_that_says_little),
        SHELF_TEST(areas_are_areas),
        SHELF_TEST(a_target_that_says_little),
        SHELF_TEST(a_target_with_limits),
        SHELF_TEST(a_target_for_a_mode_of_a_job),
        SHELF_TEST(two_targets_share_a_job),
        SHELF_TEST(the_absorbers_of_a_job),
        SHELF_TEST(a_faulty_job),
        SHELF_TEST(job_or_library),
        TEST(units_taken_from_a_library),
        SHELF_TEST(the_example_can_be_read),
        cmocka_unit_test(nothing_to_free),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
