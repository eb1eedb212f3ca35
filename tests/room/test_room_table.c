/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "helper.h"

#include <sys/stat.h>
#include <unistd.h>

/* A folder of its own for each test, with one table in it. */
typedef struct folder {
    char path[64], sub[128], file[256];
} folder;

static void make_folder(folder *d, const char *table)
{
    snprintf(d->path, sizeof d->path, "/tmp/ebb-test-XXXXXX");
    assert_non_null(mkdtemp(d->path));
    snprintf(d->sub, sizeof d->sub, "%s/tables", d->path);
    snprintf(d->file, sizeof d->file, "%s/wall.csv", d->sub);
    assert_int_equal(mkdir(d->sub, 0700), 0);
    FILE *file = fopen(d->file, "wb");
    assert_non_null(file);
    fputs(table, file);
    fclose(file);
}

static void remove_folder(const folder *d)
{
    unlink(d->file);
    rmdir(d->sub);
    rmdir(d->path);
}

#define TABLE_JOB HEAD "  x: {admittance: {table: tables/wall.csv}}\n" ROOM

static const ebb_assembly *read_table(fixture *f, const char *table)
{
    folder d;
    make_folder(&d, table);
    const ebb_status status = parse_in(f, TABLE_JOB, d.path);
    remove_folder(&d);
    print_messages(f->ctx);
    assert_int_equal(status, EBB_OK);
    return &f->job->constructions[1].assembly;
}

static void rows_arrive(void **state)
{
    const ebb_assembly *a = read_table(*state, "20,1.5,-8\n40, 2 ,\t-4e0\n80,0,3\n");
    assert_int_equal(a->kind, EBB_ASSEMBLY_TABLE);
    assert_int_equal(a->n_table, 3);
    assert_true(a->table_hz[0] == 20 && a->table_hz[2] == 80);
    assert_true(creal(a->table_z[0]) == 1.5 && cimag(a->table_z[0]) == -8);
    assert_true(creal(a->table_z[1]) == 2 && cimag(a->table_z[1]) == -4);
    assert_true(creal(a->table_z[2]) == 0 && cimag(a->table_z[2]) == 3);
}

static void comments_header_and_line_ends(void **state)
{
    const ebb_assembly *a =
        read_table(*state, "\xEF\xBB\xBF# measured\r\n\r\n  Hz , z_re,z_im \r\n"
                           "20,1,0\r\n  # a gap\r\n40,2,-1"); /* and no newline at the end */
    assert_int_equal(a->n_table, 2);
    assert_true(a->table_hz[1] == 40 && cimag(a->table_z[1]) == -1);
}

static void faults_have_the_place_in_the_table(void **state)
{
    fixture *f = *state;
    folder d;
    make_folder(&d, "# one\nHz, z_re, z_im\n20, 1, 0\n30, 1, zero\n");
    assert_int_equal(parse_in(f, TABLE_JOB, d.path), EBB_E_INPUT);
    remove_folder(&d);
    assert_int_equal(ebb_ctx_messages(f->ctx), 1);
    const ebb_message *m = ebb_ctx_message(f->ctx, 0);
    assert_string_equal(m->place.file, "tables/wall.csv");
    assert_int_equal(m->place.line, 4);
    assert_int_equal(m->place.column, 8);
}

static void the_header_comes_first_or_not_at_all(void **state)
{
    fixture *f = *state;
    folder d;
    make_folder(&d, "20, 1, 0\nHz, z_re, z_im\n30, 1, 0\n");
    assert_int_equal(parse_in(f, TABLE_JOB, d.path), EBB_E_INPUT);
    remove_folder(&d);
    assert_int_equal(ebb_ctx_message(f->ctx, 0)->place.line, 2);
}

static void tables_over_256_kib_are_refused(void **state)
{
    fixture *f = *state;
    const size_t length = (size_t)257 << 10;
    char *table = malloc(length + 1);
    assert_non_null(table);
    memset(table, '#', length);
    table[length] = '\0';
    folder d;
    make_folder(&d, table);
    assert_int_equal(parse_in(f, TABLE_JOB, d.path), EBB_E_INPUT);
    remove_folder(&d);
    free(table);
    assert_int_equal(ebb_ctx_messages(f->ctx), 1);
    assert_string_equal(ebb_ctx_message(f->ctx, 0)->place.key, "constructions.x.admittance.table");
}

static void without_a_folder_no_file_is_read(void **state)
{
    one_fault(*state, TABLE_JOB, "constructions.x.admittance.table", "cannot be read here");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(rows_arrive),
        TEST(comments_header_and_line_ends),
        TEST(faults_have_the_place_in_the_table),
        TEST(the_header_comes_first_or_not_at_all),
        TEST(tables_over_256_kib_are_refused),
        TEST(without_a_folder_no_file_is_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
