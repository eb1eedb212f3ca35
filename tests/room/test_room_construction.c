/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "helper.h"

#include "../../src/room/build.h"

#include <math.h>

#define SURFACES(list) ROOM_HEAD ROOM_SIZE "    surfaces: {" list "}\n" ROOM_SEATS ROOM_SPEAKERS

static void presets_come_after_the_jobs_own_and_only_when_used(void **state)
{
    const ebb_job *job =
        good_job(*state, HEAD "  unused: {admittance: 0.5}\n" SURFACES(
                             "all: stone, floor: glazing, wall_2: door, ceiling: glazing"));
    assert_int_equal(job->n_constructions, 4);
    assert_string_equal(job->constructions[0].name, "stone");
    assert_string_equal(job->constructions[1].name, "unused");
    assert_string_equal(job->constructions[2].name, "glazing");
    assert_string_equal(job->constructions[3].name, "door");
    assert_false(job->constructions[0].preset || job->constructions[1].preset);
    assert_true(job->constructions[2].preset && job->constructions[3].preset);
    assert_true(strlen(job->constructions[2].source) > 10);
    const ebb_surface *s = job->rooms[0].surfaces;
    assert_int_equal(s[0].construction, 2);
    assert_int_equal(s[1].construction, 2);
    assert_int_equal(s[2].construction, 0);
    assert_int_equal(s[3].construction, 3);
    assert_int_equal(s[5].construction, 0);
}

static void the_jobs_own_hides_a_preset(void **state)
{
    const ebb_job *job =
        good_job(*state, HEAD "  glazing: {admittance: 0.3, source: measured}\n"
                              "  door: {admittance: 0.2}\n" SURFACES(
                                  "all: glazing") "    openings: [{on: wall_1, at: [1 m, 0 m], "
                                                  "size: [0.9 m, 2 m], as: door}]\n");
    assert_int_equal(job->n_constructions, 3);
    assert_int_equal(job->rooms[0].surfaces[0].construction, 1);
    assert_int_equal(job->rooms[0].openings[0].construction, 2);
    assert_false(job->constructions[1].preset);
    assert_string_equal(job->constructions[1].source, "measured");
    assert_string_equal(job->constructions[2].source, "");
}

static void the_nearer_key_of_a_surface_counts(void **state)
{
    const ebb_job *job =
        good_job(*state, HEAD "  a: {admittance: 0.1}\n  b: {admittance: 0.2}\n" SURFACES(
                             "wall_3: b, walls: a, all: stone"));
    const ebb_surface *s = job->rooms[0].surfaces;
    const size_t wanted[6] = {0, 0, 1, 1, 2, 1};
    for (size_t i = 0; i < 6; i++)
        assert_int_equal(s[i].construction, wanted[i]);
}

static void absorption_is_kept_or_left_to_the_layers(void **state)
{
    const ebb_job *job = good_job(
        *state, HEAD "  a: {admittance: 0.1, absorption: [0.1, 0.2, 0.3, 0.4, 1, 1.1]}\n" ROOM);
    assert_true(isnan(job->constructions[0].alpha[0]) && isnan(job->constructions[0].alpha[5]));
    assert_near(job->constructions[1].alpha[0], 0.1);
    assert_near(job->constructions[1].alpha[5], 1.1);
}

/* Joints and leaks take a little beside the layers, whose own admittance here is nearly none. */
static void losses_lie_beside_the_layers(void **state)
{
    const ebb_job *job =
        good_job(*state, HEAD "  a: {layers: [{mass: 500 kg/m2}], back: room, losses: 0.02}\n"
                              "  b: {layers: [{mass: 500 kg/m2}], back: room}\n" ROOM);
    const ebb_construction *c = job->constructions;
    const double _Complex with = ebb_assembly_beta(&c[1].assembly, &job->air, NULL, 300);
    const double _Complex without = ebb_assembly_beta(&c[2].assembly, &job->air, NULL, 300);
    assert_true(fabs(creal(with - without) - 0.02) < 1e-12);
    assert_true(fabs(cimag(with - without)) < 1e-12);
    one_fault(*state, HEAD "  a: {admittance: 0.1, losses: 0.02}\n" ROOM, "constructions.a.losses",
              "it goes with layers");
}

/* All presets at once: each is a construction that passes every check, with six octave values
 * and a source. */
static void every_preset_is_good(void **state)
{
    fixture *f = *state;
    ebb_room_reader reader = {.ctx = f->ctx, .arena = ebb_arena_new(f->ctx), .file = "presets"};
    ebb_room_record *record;
    ebb_room_read(&reader, &ebb_room_presets_form, (const char *)ebb_room_presets_text,
                  ebb_room_presets_length, &record);
    ebb_room_report(&reader);
    print_messages(f->ctx);
    assert_int_equal(reader.n_faults, 0);
    const ebb_room_field *list = ebb_room_get(record, "constructions");
    assert_true(list->n >= 2);
    for (size_t i = 0; i < list->n; i++) {
        char text[1024];
        snprintf(text, sizeof text, "job: T\nuse: voice\n" SURFACES("all: %s"),
                 list->record[i].name);
        fixture one = {.ctx = ebb_ctx_new()};
        const ebb_job *job = good_job(&one, text);
        assert_int_equal(job->n_constructions, 1);
        assert_int_equal(ebb_ctx_messages(one.ctx), 0);
        assert_true(strlen(job->constructions[0].source) > 10);
        for (size_t o = 0; o < EBB_OCTAVES; o++)
            assert_true(job->constructions[0].alpha[o] >= 0 && job->constructions[0].alpha[o] <= 1);
        ebb_job_free(one.job);
        ebb_ctx_free(one.ctx);
    }
    ebb_arena_free(reader.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(presets_come_after_the_jobs_own_and_only_when_used),
        TEST(the_jobs_own_hides_a_preset),
        TEST(the_nearer_key_of_a_surface_counts),
        TEST(absorption_is_kept_or_left_to_the_layers),
        TEST(losses_lie_beside_the_layers),
        TEST(every_preset_is_good),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
