/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The PDF report: pages.c, pages_table.c, pdf.c. */
#include "../../src/report/pages.h"
#include "../base/failing.h"
#include "fixture.c"

#include <cairo-pdf.h>
#include <ebb/file.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

static char folder[] = "/tmp/ebb-pdf-XXXXXX";

static int open_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) ? 0 : -1;
}

static int close_folder(void **state)
{
    (void)state;
    return rmdir(folder); /* fails when a test left something behind */
}

static const char *path_of(fixture *f, const char *name)
{
    return ebb_arena_format(f->arena, "%s/%s", folder, name);
}

static char *written(fixture *f, const char *path, size_t *length)
{
    char *data = NULL;
    assert_int_equal(ebb_report_pdf(f->ctx, &f->answers, -1, path), EBB_OK);
    assert_int_equal(ebb_file_read(f->ctx, f->arena, path, 1 << 26, &data, length), EBB_OK);
    assert_int_equal(unlink(path), 0);
    return data;
}

static void test_same_bytes_a_second_later(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    size_t first, second;
    const char *a = written(&f, path_of(&f, "r.pdf"), &first);
    sleep(1);
    const char *b = written(&f, path_of(&f, "r.pdf"), &second);
    assert_memory_equal(a, "%PDF-", 5);
    assert_int_equal(first, second);
    assert_memory_equal(a, b, first);
    fixture_close(&f);
}

/* Counts pages and remembers headings. */
typedef struct seen {
    int n;
    char text[16][64];
    int page[16];
} seen;

static void see(void *user, const char *text, int page)
{
    seen *s = user;
    assert_true(s->n < 16);
    snprintf(s->text[s->n], sizeof s->text[0], "%s", text);
    s->page[s->n++] = page;
}

static cairo_status_t drop(void *closure, const unsigned char *data, unsigned int length)
{
    (void)closure;
    (void)data;
    (void)length;
    return CAIRO_STATUS_SUCCESS;
}

/* Lays a document out without writing it. */
static int flow(fixture *f, const ebb_report_doc *doc, seen *s)
{
    cairo_surface_t *surface = cairo_pdf_surface_create_for_stream(
        drop, NULL, EBB_REPORT_PAGE_WIDTH, EBB_REPORT_PAGE_HEIGHT);
    cairo_t *cr = cairo_create(surface);
    ebb_report_pages pages = {.ctx = f->ctx, .cr = cr, .doc = doc, .on_heading = see, .user = s};
    ebb_report_flow(&pages);
    assert_int_equal(pages.status, EBB_OK);
    assert_true(pages.y <= EBB_REPORT_BOTTOM + 1.0);
    assert_int_equal(ebb_draw_check(f->ctx, cr), EBB_OK);
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
    return pages.page;
}

static int pages_of(fixture *f, seen *s)
{
    ebb_report_doc doc = {.arena = f->arena};
    ebb_report_source source = {f->ctx, &doc, &f->answers, EBB_UNITS_METRIC};
    assert_int_equal(ebb_report_compose(&source), EBB_OK);
    return flow(f, &doc, s);
}

static void test_each_part_starts_a_page(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    seen s = {0};
    const int pages = pages_of(&f, &s);
    static const char *const PARTS[] = {"Sail store", "Net loft", "Lamp room", "How it was judged",
                                        "Cautions"};
    assert_int_equal(s.n, 5);
    for (int i = 0; i < 5; i++) {
        assert_string_equal(s.text[i], PARTS[i]);
        assert_true(s.page[i] > (i ? s.page[i - 1] : 1));
    }
    assert_int_equal(s.page[0], 2); /* the summary fits one page */
    assert_int_equal(s.page[1], 6); /* a usual room takes four */
    assert_in_range(pages, s.page[4], s.page[4] + 1);
    fixture_close(&f);
}

static void test_long_text_goes_on_over_pages(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    ebb_report_doc doc = {.arena = f.arena, .title = "t", .trace = "t"};
    char *word = NEW(&f, char, 20001);
    for (int i = 0; i < 20000; i++) {
        word[i] = i % 7 == 6 ? ' ' : 'w';
    }
    ebb_report_say(&doc, EBB_REPORT_TEXT, "%s", word);
    seen s = {0};
    const int pages = flow(&f, &doc, &s);
    assert_in_range(pages, 3, 6);
    fixture_close(&f);
}

static void test_tables_are_broken_between_rows(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    static const ebb_report_column COLUMNS[2] = {{"A", 1.0, false}, {"B", 1.0, true}};
    static const char *const CELLS[2] = {"one", "two"};
    ebb_report_doc doc = {.arena = f.arena, .title = "t", .trace = "t"};
    ebb_report_table *table = ebb_report_table_start(&doc, "test", 2, COLUMNS);
    for (int i = 0; i < 200; i++) {
        ebb_report_row(&doc, table, CELLS);
    }
    assert_false(doc.failed);
    assert_int_equal(table->n_rows, 200);
    seen s = {0};
    /* a row is about 15 points high, a page 740 */
    assert_in_range(flow(&f, &doc, &s), 4, 6);
    fixture_close(&f);
}

static void test_nasty_bare_and_empty_reports(void **state)
{
    (void)state;
    for (int how = 0; how < 3; how++) {
        fixture f;
        fixture_open(&f);
        if (how == 0) {
            fixture_nasty(&f);
        } else if (how == 1) {
            fixture_bare(&f);
        } else {
            f.answers.n = 0;
        }
        seen s = {0};
        size_t length;
        assert_in_range(pages_of(&f, &s), how == 2 ? 3 : 10, how == 2 ? 4 : 40);
        written(&f, path_of(&f, "r.pdf"), &length);
        assert_true(length > 10000);
        fixture_close(&f);
    }
}

static void test_failure_leaves_no_file(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    assert_int_equal(ebb_report_pdf(f.ctx, &f.answers, -1, "/tmp/no/such/folder/r.pdf"), EBB_E_IO);
    f.job.rooms[1].size[0] = 0.0; /* can not be drawn */
    assert_int_equal(ebb_report_pdf(f.ctx, &f.answers, -1, path_of(&f, "r.pdf")), EBB_E_RANGE);
    assert_int_not_equal(access(path_of(&f, "r.pdf"), F_OK), 0);
    fixture_close(&f);
}

static void test_out_of_memory_leaves_no_file(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *path = path_of(&f, "r.pdf");
    f.answers.n = 1;
    for (int n = 0; n < 6; n++) {
        failing fail = {.left = -1};
        ebb_ctx *ctx = failing_ctx(&fail);
        fail.left = n;
        const ebb_status status = ebb_report_pdf(ctx, &f.answers, -1, path);
        if (status == EBB_OK) {
            assert_true(n > 1);
            assert_int_equal(unlink(path), 0);
        } else {
            assert_int_equal(status, EBB_E_NOMEM);
            assert_int_not_equal(access(path, F_OK), 0);
        }
        ebb_ctx_free(ctx);
    }
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_same_bytes_a_second_later),
        cmocka_unit_test(test_each_part_starts_a_page),
        cmocka_unit_test(test_long_text_goes_on_over_pages),
        cmocka_unit_test(test_tables_are_broken_between_rows),
        cmocka_unit_test(test_nasty_bare_and_empty_reports),
        cmocka_unit_test(test_failure_leaves_no_file),
        cmocka_unit_test(test_out_of_memory_leaves_no_file),
    };
    return cmocka_run_group_tests(tests, open_folder, close_folder);
}
