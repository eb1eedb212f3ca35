/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The HTML report: html.c, html_style.c. */
#include "fixture.c"

#include <ebb/file.h>
#include <glib.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

static char folder[] = "/tmp/ebb-html-XXXXXX";

static int open_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) ? 0 : -1;
}

static int close_folder(void **state)
{
    (void)state;
    return rmdir(folder);
}

static char *page_of(fixture *f)
{
    const char *path = ebb_arena_format(f->arena, "%s/r.html", folder);
    char *data = NULL;
    size_t length;
    assert_int_equal(ebb_report_html(f->ctx, &f->answers, -1, path), EBB_OK);
    assert_int_equal(ebb_file_read(f->ctx, f->arena, path, 1 << 26, &data, &length), EBB_OK);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(strlen(data), length);
    assert_true(g_utf8_validate(data, (gssize)length, NULL));
    return data;
}

static size_t count(const char *text, const char *part)
{
    size_t n = 0;
    for (const char *at = strstr(text, part); at; at = strstr(at + 1, part)) {
        n++;
    }
    return n;
}

/* Walks all tags: every one opened is closed in order, attributes are quoted. */
static void check_tags(const char *page)
{
    static const char *const VOID[] = {"meta", "col", "hr", "!DOCTYPE"};
    char open[64][16];
    size_t depth = 0;
    for (const char *at = strchr(page, '<'); at; at = strchr(at + 1, '<')) {
        const bool closing = at[1] == '/';
        char name[16];
        const char *from = at + 1 + closing;
        snprintf(name, sizeof name, "%.*s", (int)strcspn(from, " >/\n"), from);
        const char *end = from;
        bool quoted = false;
        while (*end && (quoted || *end != '>')) {
            quoted = quoted != (*end == '"');
            end++;
        }
        assert_int_equal(*end, '>');
        bool lone = end[-1] == '/';
        for (size_t i = 0; i < sizeof VOID / sizeof VOID[0]; i++) {
            lone = lone || strcmp(name, VOID[i]) == 0;
        }
        if (closing) {
            assert_true(depth > 0);
            assert_string_equal(name, open[--depth]);
        } else if (!lone) {
            assert_true(depth < 64);
            memcpy(open[depth++], name, sizeof name);
        }
        at = end;
    }
    assert_int_equal(depth, 0);
}

/* Nothing that runs, nothing from elsewhere, nothing with a style of its own. */
static void check_contained(const char *page)
{
    assert_int_equal(count(page, "<script"), 0);
    assert_int_equal(count(page, "<link"), 0);
    assert_int_equal(count(page, "<img"), 0);
    assert_int_equal(count(page, "<a "), 0);
    assert_int_equal(count(page, "javascript:"), 0);
    assert_int_equal(count(page, " style=\""), 0);
    assert_int_equal(count(page, "@import"), 0);
    /* the only addresses are the names of SVG and XLink, which are never fetched */
    assert_int_equal(count(page, "://"), 2 * count(page, "<svg "));
    assert_int_equal(count(page, "href=\""), count(page, "xlink:href=\"#"));
}

static void test_page_is_whole_and_alone(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *page = page_of(&f);
    assert_memory_equal(page, "<!DOCTYPE html>\n<html lang=\"en\">", 32);
    check_tags(page);
    check_contained(page);
    assert_int_equal(count(page, "<svg "), 4 * FIXTURE_ROOMS);
    assert_int_equal(count(page, "role=\"img\""), 4 * FIXTURE_ROOMS);
    assert_int_equal(count(page, "aria-label=\"\""), 0);
    assert_int_equal(count(page, "aria-label=\""), 4 * FIXTURE_ROOMS);
    assert_non_null(strstr(page, "<title>Harbour house</title>"));
    fixture_close(&f);
}

static void test_policy_names_the_style_by_its_hash(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *page = page_of(&f);
    const char *style = strstr(page, "<style>") + 7;
    const size_t length = (size_t)(strstr(style, "</style>") - style);
    /* by another road than the program's: digest as hex, then bytes, then base64 */
    gchar *hex = g_compute_checksum_for_data(G_CHECKSUM_SHA256, (const guchar *)style, length);
    guchar raw[32];
    for (int i = 0; i < 32; i++) {
        raw[i] =
            (guchar)(g_ascii_xdigit_value(hex[2 * i]) * 16 + g_ascii_xdigit_value(hex[2 * i + 1]));
    }
    gchar *base = g_base64_encode(raw, 32);
    const char *policy =
        ebb_arena_format(f.arena,
                         "content=\"default-src 'none'; style-src 'sha256-%s'; base-uri 'none'; "
                         "form-action 'none'\"",
                         base);
    assert_non_null(strstr(page, policy));
    assert_true(strstr(page, policy) < style);
    g_free(base);
    g_free(hex);
    fixture_close(&f);
}

static void test_names_are_unique_over_all_drawings(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *page = page_of(&f);
    GHashTable *known = g_hash_table_new_full(g_str_hash, g_str_equal, g_free, NULL);
    for (const char *at = strstr(page, " id=\""); at; at = strstr(at + 1, " id=\"")) {
        gchar *name = g_strndup(at + 5, strcspn(at + 5, "\""));
        assert_true(g_hash_table_add(known, name));
    }
    assert_true(g_hash_table_size(known) > 100);
    for (const char *at = strstr(page, "href=\"#"); at; at = strstr(at + 1, "href=\"#")) {
        gchar *name = g_strndup(at + 7, strcspn(at + 7, "\""));
        assert_true(g_hash_table_contains(known, name));
        g_free(name);
    }
    g_hash_table_destroy(known);
    fixture_close(&f);
}

static void test_hostile_names_stay_text(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    fixture_nasty(&f);
    const char *page = page_of(&f);
    check_tags(page);
    check_contained(page);
    assert_non_null(strstr(page, "<h2>&lt;script&gt;alert(&quot;x&quot;)&lt;/script&gt; &amp; "
                                 "&#39;quoted&#39;  [31mred</h2>"));
    for (const char *at = page; *at; at++) {
        assert_true((unsigned char)*at >= 0x20 || *at == '\n');
    }
    fixture_close(&f);
}

static void test_bare_and_empty_pages(void **state)
{
    (void)state;
    for (int how = 0; how < 2; how++) {
        fixture f;
        fixture_open(&f);
        if (how == 0) {
            fixture_bare(&f);
        } else {
            f.answers.n = 0;
        }
        const char *page = page_of(&f);
        check_tags(page);
        check_contained(page);
        assert_non_null(strstr(page, how ? "The job has no rooms" : "No plan was calculated."));
        fixture_close(&f);
    }
}

static void test_same_words_as_the_print(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *page = page_of(&f);
    size_t n;
    const char *const *caution = ebb_cautions(&n);
    assert_int_equal(count(page, "<h2>"), FIXTURE_ROOMS + 2);
    for (size_t i = 0; i < n; i++) {
        /* up to the first number, which is tied to its unit */
        char start[48];
        snprintf(start, sizeof start, "<li>%.40s", caution[i]);
        assert_non_null(strstr(page, start));
    }
    assert_non_null(strstr(page, "data-head=\"Along\">100\u00a0mm from corner 4</td>"));
    fixture_close(&f);
}

static void test_same_bytes_again_and_no_half_files(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *a = page_of(&f), *b = page_of(&f);
    assert_string_equal(a, b);
    assert_int_equal(ebb_report_html(f.ctx, &f.answers, -1, "/tmp/no/such/folder/r.html"),
                     EBB_E_IO);
    f.job.rooms[1].size[0] = 0.0;
    const char *path = ebb_arena_format(f.arena, "%s/r.html", folder);
    assert_int_equal(ebb_report_html(f.ctx, &f.answers, -1, path), EBB_E_RANGE);
    assert_int_not_equal(access(path, F_OK), 0);
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_page_is_whole_and_alone),
        cmocka_unit_test(test_policy_names_the_style_by_its_hash),
        cmocka_unit_test(test_names_are_unique_over_all_drawings),
        cmocka_unit_test(test_hostile_names_stay_text),
        cmocka_unit_test(test_bare_and_empty_pages),
        cmocka_unit_test(test_same_words_as_the_print),
        cmocka_unit_test(test_same_bytes_again_and_no_half_files),
    };
    return cmocka_run_group_tests(tests, open_folder, close_folder);
}
