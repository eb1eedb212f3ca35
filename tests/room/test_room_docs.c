/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * docs/job-file.md is true: its key reference is what the tables say, and its examples can be read.
 *
 * With EBB_WRITE_REFERENCE set the reference in the document is replaced instead of compared.
 */
#include "helper.h"

#include "../../src/room/form.h"
#include "../../src/room/material.h"

#define BEGIN                                                                                      \
    "<!-- reference: made from the tables of the reader, see tests/room/test_room_docs.c -->\n"
#define END "<!-- end of reference -->\n"
#define SPACE ((size_t)1 << 18)

typedef struct page {
    char *text;
    size_t used;
} page;

static void add(page *p, const char *format, ...) EBB_PRINTF(2, 3);
static void add(page *p, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    const int n = vsnprintf(p->text + p->used, SPACE - p->used, format, values);
    va_end(values);
    assert_true(n >= 0 && p->used + (size_t)n < SPACE);
    p->used += (size_t)n;
}

/* ---- the reference --------------------------------------------------------------------------- */

static void add_form(page *p, ebb_arena *arena, const ebb_room_form *form)
{
    add(p, "### %s (`%s`)\n\n", form->what, form->id);
    add(p, "| key | accepted | when absent | meaning |\n|---|---|---|---|\n");
    for (size_t i = 0; i < form->n; i++) {
        const ebb_room_rule *rule = &form->rules[i];
        const char *absent = rule->fallback != NULL ? rule->fallback : "";
        add(p, "| `%s` | %s | %s | %s |\n", rule->key, ebb_room_accepts(arena, rule),
            rule->required ? "**needed**" : absent, rule->meaning);
    }
    add(p, "\n");
}

static void add_materials(page *p)
{
    add(p, "### Materials of panels\n\n");
    add(p, "| name | density kg/m3 | Young's modulus GPa | Poisson's ratio | loss factor |\n");
    add(p, "|---|---|---|---|---|\n");
    for (size_t i = 0; i < ebb_room_n_materials; i++) {
        const ebb_room_material *m = &ebb_room_materials[i];
        add(p, "| %s | %g | %g | %g | %g |\n", m->name, m->density, m->modulus / 1e9, m->poisson,
            m->loss);
    }
    add(p, "\n");
}

static void add_limits(page *p)
{
    static const char *const origins[] = {"standard", "paper", "common practice", "ours"};
    size_t n;
    const ebb_limit *table = ebb_limit_table(&n);
    add(p, "### The table of limits\n\n");
    add(p, "| key | default | origin | meaning | source |\n|---|---|---|---|---|\n");
    for (size_t i = 0; i < n; i++) {
        char value[40];
        add(p, "| `%s` | %s | %s | %s | %s |\n", table[i].key,
            ebb_quantity_print(table[i].kind, table[i].value, EBB_UNITS_METRIC, value,
                               sizeof value),
            origins[table[i].origin], table[i].meaning, table[i].source);
    }
    add(p, "\n");
}

static void make_reference(page *p, ebb_arena *arena)
{
    for (size_t i = 0; i < ebb_room_n_all_forms; i++)
        add_form(p, arena, ebb_room_all_forms[i]);
    add_materials(p);
    add_limits(p);
}

static void rewrite(const char *path, const char *text, const char *reference, const char *end)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    const char *begin = strstr(text, BEGIN) + strlen(BEGIN);
    fprintf(file, "%.*s%s%s", (int)(begin - text), text, reference, end);
    assert_int_equal(fclose(file), 0);
}

static void the_reference_is_that_of_the_tables(void **state)
{
    fixture *f = *state;
    char path[1024];
    size_t length;
    char *text = read_whole(project_file("docs/job-file.md", path, sizeof path), &length);
    ebb_arena *arena = ebb_arena_new(f->ctx);
    page p = {.text = calloc(1, SPACE)};
    make_reference(&p, arena);
    char *begin = strstr(text, BEGIN), *end = strstr(text, END);
    assert_true(begin != NULL && end != NULL && begin < end);
    if (getenv("EBB_WRITE_REFERENCE") != NULL) {
        rewrite(path, text, p.text, end);
    } else {
        begin += strlen(BEGIN);
        char *found = calloc(1, (size_t)(end - begin) + 1);
        memcpy(found, begin, (size_t)(end - begin));
        assert_string_equal(found, p.text);
        free(found);
    }
    ebb_arena_free(arena);
    free(p.text);
    free(text);
}

/* ---- the examples ---------------------------------------------------------------------------- */

/* Does a line of the text start with this? */
static bool has_line(const char *text, const char *start)
{
    for (const char *line = text; line != NULL && *line != '\0';) {
        if (strncmp(line, start, strlen(start)) == 0)
            return true;
        line = strchr(line, '\n');
        line = line != NULL ? line + 1 : NULL;
    }
    return false;
}

/* A block that shows a part of a job is completed by what every job has. */
static void check_block(fixture *f, const char *block, size_t length)
{
    static char text[65536];
    const int used = snprintf(text, sizeof text, "%.*s", (int)length, block);
    assert_true(used > 0 && (size_t)used + 1000 < sizeof text);
    if (!has_line(text, "job:"))
        strcat(text, "job: T\n");
    if (!has_line(text, "use:"))
        strcat(text, "use: music\n");
    if (!has_line(text, "rooms:"))
        strcat(text, ROOM_HEAD ROOM_SIZE "    surfaces: {all: brick}\n" ROOM_SEATS ROOM_SPEAKERS);
    const ebb_status status = parse_in(f, text, NULL);
    if (status != EBB_OK)
        print_error("%s", text);
    print_messages(f->ctx);
    assert_int_equal(status, EBB_OK);
}

static void the_examples_can_be_read(void **state)
{
    char path[1024];
    size_t length, n = 0;
    char *text = read_whole(project_file("docs/job-file.md", path, sizeof path), &length);
    static const char fence[] = "```yaml\n";
    for (char *at = strstr(text, fence); at != NULL; at = strstr(at, fence)) {
        at += strlen(fence);
        const char *end = strstr(at, "```\n");
        assert_non_null(end);
        check_block(*state, at, (size_t)(end - at));
        n++;
    }
    assert_true(n >= 5);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(the_reference_is_that_of_the_tables),
        TEST(the_examples_can_be_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
