/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The PDF as another program reads it: poppler's pdftotext, pdffonts and pdfinfo (Debian's
 * poppler-utils). Skipped where they are not installed.
 */
#include "fixture.c"

#include <ebb/version.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <unistd.h>

#include <cmocka.h>

static char folder[] = "/tmp/ebb-print-XXXXXX";

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

/* What a command prints, in the fixture's arena; skips the test when it can not be run. */
static char *output_of(fixture *f, const char *tool, const char *options)
{
    const char *path = ebb_arena_format(f->arena, "%s/r.pdf", folder);
    assert_int_equal(ebb_report_pdf(f->ctx, &f->answers, -1, path), EBB_OK);
    const char *command = ebb_arena_format(f->arena, "%s %s %s %s 2>/dev/null", tool, options, path,
                                           strcmp(tool, "pdftotext") == 0 ? "-" : "");
    char *text = NEW(f, char, 1 << 18);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    const size_t n = fread(text, 1, (1 << 18) - 1, pipe);
    const int status = pclose(pipe);
    assert_int_equal(unlink(path), 0);
    if (status == 127 << 8) {
        fixture_close(f);
        skip();
    }
    assert_int_equal(status, 0);
    assert_true(n > 0 && n < (1 << 18) - 1);
    return text;
}

static void test_words_can_be_read_and_searched(void **state)
{
    (void)state;
    static const char *const WANTED[] = {"Harbour house",
                                         "Sail store: can be made right for music",
                                         "near the border: 61",
                                         "no plan we found makes it right",
                                         "What stays wrong after the plan",
                                         "Level at the heads, by third of an octave",
                                         "frequency, Hz",
                                         "decay time T60, s",
                                         "limit of what is heard",
                                         "from corner 4",
                                         "door",
                                         "Plan, seen from above",
                                         "5.40 m",
                                         "How it was judged",
                                         "29 CFR 1910.146",
                                         "page 1 of "};
    fixture f;
    fixture_open(&f);
    char *text = output_of(&f, "pdftotext", "-layout");
    for (char *at = text; *at; at++) { /* a no-break space prints like any other */
        if (at[0] == '\xc2' && at[1] == '\xa0') {
            memmove(at, at + 1, strlen(at));
            *at = ' ';
        }
    }
    for (size_t i = 0; i < sizeof WANTED / sizeof WANTED[0]; i++) {
        if (!strstr(text, WANTED[i])) {
            fail_msg("not in the PDF: %s", WANTED[i]);
        }
    }
    fixture_close(&f);
}

static void test_no_page_is_empty(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    fixture_nasty(&f);
    const char *text = output_of(&f, "pdftotext", "-layout");
    int pages = 0;
    for (const char *at = text; *at; pages++) {
        /* every page ends in a form feed; its footer alone is one line */
        const char *end = strchr(at, '\f');
        assert_non_null(end);
        int lines = 0;
        for (const char *c = at; c < end; c++) {
            lines += *c == '\n';
        }
        assert_true(lines > 4);
        at = end + 1;
    }
    char last[32];
    snprintf(last, sizeof last, "page %d of %d", pages, pages);
    assert_non_null(strstr(text, last));
    fixture_close(&f);
}

static void test_fonts_are_inside(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *text = output_of(&f, "pdffonts", "");
    assert_non_null(strstr(text, "DejaVuSans"));
    assert_non_null(strstr(text, "DejaVuSans-Bold"));
    int rows = 0;
    /* two lines of head, then a font a line: "... emb sub uni object ID" */
    for (const char *line = strchr(strchr(text, '\n') + 1, '\n') + 1; *line; rows++) {
        const char *end = strchr(line, '\n');
        const char *yes = strstr(line, " yes yes ");
        assert_true(yes && yes < end); /* embedded, and only the glyphs in use */
        line = end + 1;
    }
    assert_true(rows >= 2);
    fixture_close(&f);
}

static void test_page_size_title_and_no_clock(void **state)
{
    (void)state;
    fixture f;
    fixture_open(&f);
    const char *text = output_of(&f, "pdfinfo", "-rawdates");
    assert_non_null(strstr(text, "Title:           Harbour house\n"));
    assert_non_null(strstr(text, "Creator:         Ebb " EBB_VERSION "\n"));
    assert_non_null(strstr(text, "CreationDate:    19700101000000Z\n"));
    assert_null(strstr(text, "ModDate"));
    assert_non_null(strstr(text, "(A4)"));
    fixture_close(&f);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_words_can_be_read_and_searched),
        cmocka_unit_test(test_no_page_is_empty),
        cmocka_unit_test(test_fonts_are_inside),
        cmocka_unit_test(test_page_size_title_and_no_clock),
    };
    return cmocka_run_group_tests(tests, open_folder, close_folder);
}
