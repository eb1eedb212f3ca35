/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "helper.h"

#include <math.h>
#include <unistd.h>

static void a_short_job_has_the_usual_values(void **state)
{
    const ebb_job *job = good_job(*state, HEAD ROOM);
    assert_string_equal(job->file, "job.yaml");
    assert_string_equal(job->name, "Test");
    assert_string_equal(job->note, "");
    assert_int_equal(job->use, EBB_USE_MUSIC);
    assert_true(job->lowest == 40);
    assert_int_equal(job->units, EBB_UNITS_METRIC);
    assert_true(job->air.temperature == 20 && job->air.humidity == 0.5);
    assert_true(job->air.pressure == 101325);
    assert_true(fabs(job->air.speed - 343.987) < 0.01); /* Cramer 1993, computed */
    assert_true(isinf(job->allowance.mass) && isinf(job->allowance.cover));
    assert_true(isinf(job->allowance.depth) && isinf(job->allowance.cost));
    assert_true(isinf(job->allowance.count) && isinf(job->allowance.floor));
    assert_int_equal(job->n_constructions, 1);
    assert_int_equal(job->n_units, 0);
    assert_int_equal(job->n_rooms, 1);
    assert_int_equal(job->n_overrides, 0);
}

static void every_key_of_the_job_arrives(void **state)
{
    const ebb_job *job = good_job(
        *state, "job: Quay\nnote: |\n  two\n  lines\nuse: voice\nlowest: 0.063 kHz\n"
                "units: imperial\nair: {temperature: 50 F, humidity: 70 %, pressure: 95 kPa}\n"
                "allowance: {mass: 100 lb, cover: 0.3, depth: 1 ft, cost: 1e3, count: 12, "
                "floor: 40 psf}\n"
                "limits: {response_deviation: 4 dB, head_offset: 200 mm}\n"
                "constructions: {stone: {admittance: 0.01}}\n" ROOM);
    assert_string_equal(job->name, "Quay");
    assert_string_equal(job->note, "two\nlines\n");
    assert_int_equal(job->use, EBB_USE_VOICE);
    assert_near(job->lowest, 63);
    assert_int_equal(job->units, EBB_UNITS_IMPERIAL);
    assert_near(job->air.temperature, 10);
    assert_near(job->air.humidity, 0.7);
    assert_near(job->air.pressure, 95e3);
    assert_near(job->allowance.mass, 45.359237);
    assert_near(job->allowance.cover, 0.3);
    assert_near(job->allowance.depth, 0.3048);
    assert_near(job->allowance.cost, 1000);
    assert_near(job->allowance.count, 12);
    /* 40 lbf/ft2 = 40 x 0.45359237 x 9.80665 / 0.3048^2 Pa */
    assert_near(job->allowance.floor, 40 * 0.45359237 * 9.80665 / (0.3048 * 0.3048));
    assert_int_equal(job->n_overrides, 2);
}

static void air_may_be_given_directly(void **state)
{
    const ebb_job *job =
        good_job(*state, HEAD "air: {speed: 343 m/s, density: 1.204 kg/m3}\n" ROOM);
    assert_near(job->air.speed, 343);
    assert_near(job->air.density, 1.204);
}

static void air_outside_its_formula_is_warned_about_with_its_place(void **state)
{
    fixture *f = *state;
    good_job(f, HEAD "air: {temperature: -5 C}\n" ROOM);
    assert_int_equal(ebb_ctx_errors(f->ctx), 0);
    assert_int_equal(ebb_ctx_messages(f->ctx), 1);
    const ebb_message *m = ebb_ctx_message(f->ctx, 0);
    assert_int_equal(m->status, EBB_OK);
    assert_string_equal(m->place.key, "air");
    assert_int_equal(m->place.line, 5);
}

static void aliases_stand_for_what_they_name(void **state)
{
    const ebb_job *job =
        good_job(*state, HEAD ROOM_HEAD "    size: &size [5 m, 4 m, 3 m]\n"
                                        "    surfaces: &made {all: stone}\n"
                                        "    seats: &seats\n"
                                        "      - {name: lead, at: [2 m, 2 m, 1.2 m]}\n"
                                        "    speakers: &speakers\n"
                                        "      - {name: left, at: [1 m, 1 m, 1.2 m]}\n"
                                        "  - name: B\n    size: *size\n    surfaces: *made\n"
                                        "    seats: *seats\n    speakers: *speakers\n");
    assert_int_equal(job->n_rooms, 2);
    assert_string_equal(job->rooms[1].name, "B");
    assert_near(job->rooms[1].size[1], 4);
    assert_string_equal(job->rooms[1].seats[0].name, "lead");
}

static void name_and_folder_may_be_absent(void **state)
{
    fixture *f = *state;
    static const char text[] = "use: music\n" ROOM;
    assert_int_equal(ebb_job_parse(f->ctx, text, sizeof text - 1, NULL, NULL, &f->job),
                     EBB_E_INPUT);
    assert_string_equal(ebb_ctx_message(f->ctx, 0)->place.file, "job");
}

/* ---- files ----------------------------------------------------------------------------------- */

static void the_example_is_good(void **state)
{
    fixture *f = *state;
    char path[1024];
    const ebb_status status = ebb_job_read(
        f->ctx, project_file("examples/harbour-house.yaml", path, sizeof path), &f->job);
    print_messages(f->ctx);
    assert_int_equal(status, EBB_OK);
    assert_int_equal(ebb_ctx_messages(f->ctx), 0);
    assert_string_equal(f->job->file, path);
    assert_int_equal(f->job->n_rooms, 3);
    for (size_t i = 0; i < f->job->n_rooms; i++) {
        const ebb_room *room = &f->job->rooms[i];
        assert_true(room->n_seats > 0 && room->n_speakers > 0 && room->n_openings > 0);
    }
    assert_true(f->job->n_units >= 3);
}

static void messages_name_files_as_the_user_does(void **state)
{
    fixture *f = *state;
    char path[1024], table[1024];
    project_file("tests/room/bad/139-table-one-row/job.yaml", path, sizeof path);
    project_file("tests/room/bad/139-table-one-row/wall.csv", table, sizeof table);
    assert_int_equal(ebb_job_read(f->ctx, path, &f->job), EBB_E_INPUT);
    assert_int_equal(ebb_ctx_messages(f->ctx), 1);
    assert_string_equal(ebb_ctx_message(f->ctx, 0)->place.file, table);
}

static void a_missing_file_is_no_fault_of_the_input(void **state)
{
    fixture *f = *state;
    f->job = (ebb_job *)f; /* anything but NULL */
    const ebb_status status = ebb_job_read(f->ctx, "no/such/job.yaml", &f->job);
    assert_int_equal(status, EBB_E_IO);
    assert_null(f->job);
    assert_int_equal(ebb_ctx_errors(f->ctx), 1);
    assert_string_equal(ebb_ctx_message(f->ctx, 0)->place.file, "no/such/job.yaml");
}

/* One byte over 4 MiB, all of it a comment: refused before it is looked at. */
static void a_file_over_4_mib_is_refused(void **state)
{
    fixture *f = *state;
    const size_t length = ((size_t)4 << 20) + 1;
    char *text = malloc(length);
    assert_non_null(text);
    memset(text, '#', length);
    assert_int_equal(ebb_job_parse(f->ctx, text, length, "big.yaml", NULL, &f->job), EBB_E_INPUT);
    assert_non_null(strstr(ebb_ctx_message(f->ctx, 0)->text, "at most 4194304"));

    char path[] = "/tmp/ebb-test-XXXXXX";
    const int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_true(write(fd, text, length) == (ssize_t)length);
    close(fd);
    ebb_ctx_clear(f->ctx);
    assert_int_equal(ebb_job_read(f->ctx, path, &f->job), EBB_E_INPUT);
    assert_null(f->job);
    unlink(path);
    free(text);
}

static void freeing_nothing_is_fine(void **state)
{
    (void)state;
    ebb_job_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(a_short_job_has_the_usual_values),
        TEST(every_key_of_the_job_arrives),
        TEST(air_may_be_given_directly),
        TEST(air_outside_its_formula_is_warned_about_with_its_place),
        TEST(aliases_stand_for_what_they_name),
        TEST(name_and_folder_may_be_absent),
        TEST(the_example_is_good),
        TEST(messages_name_files_as_the_user_does),
        TEST(a_missing_file_is_no_fault_of_the_input),
        TEST(a_file_over_4_mib_is_refused),
        TEST(freeing_nothing_is_fine),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
