/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * docs/job-file.md and docs/library-file.md are true: their key references are what the tables say,
 * and their examples can be read.
 *
 * With EBB_WRITE_REFERENCE set the references in the documents are replaced instead of compared.
 */
#include "shelf.h"

#include "../../src/room/form.h"

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

/* The presets, as a library without a stock of its own has them. */
static void add_materials(page *p, const ebb_stock *stock)
{
    add(p, "### Materials of panels\n\n");
    add(p, "| name | density kg/m3 | Young's modulus GPa | Poisson's ratio | loss factor | "
           "thicknesses mm | source |\n");
    add(p, "|---|---|---|---|---|---|---|\n");
    for (size_t i = 0; i < stock->n_materials; i++) {
        const ebb_material *m = &stock->material[i];
        add(p, "| %s | %g | %g | %g | %g | ", m->name, m->board.density, m->board.modulus / 1e9,
            m->board.poisson, m->board.loss);
        for (size_t k = 0; k < m->n_sheets; k++)
            add(p, "%s%g", k > 0 ? ", " : "", 1000 * m->sheet[k].thickness);
        add(p, " | %s |\n", m->source);
    }
    add(p, "\n");
}

static void add_fill(page *p, const ebb_stock *stock)
{
    add(p, "### Wools\n\n");
    add(p, "| name | flow resistivity kPa.s/m2 | porosity | density kg/m3 | source |\n");
    add(p, "|---|---|---|---|---|\n");
    for (size_t i = 0; i < stock->n_wools; i++) {
        const ebb_wool *w = &stock->wool[i];
        add(p, "| %s | %g | %g | %g | %s |\n", w->name, w->layer.resistivity / 1000,
            w->layer.porosity, w->layer.frame_density, w->source);
    }
    add(p, "\n### Batches of grains\n\n");
    add(p, "| name | grain mm | uptake | bed density kg/m3 | bed porosity | pore share | pore "
           "radius um | tortuosity | sorption Hz | source |\n");
    add(p, "|---|---|---|---|---|---|---|---|---|---|\n");
    for (size_t i = 0; i < stock->n_batches; i++) {
        const ebb_batch *b = &stock->batch[i];
        const ebb_grains *g = &b->layer.grains;
        add(p, "| %s | %g | %g | %g | %g | %g | %g | %g | %g | %s |\n", b->name, 1000 * g->diameter,
            g->uptake, g->bed_density, g->bed_porosity, g->pore_share, 1e6 * g->pore_radius,
            g->tortuosity, g->sorption_hz, b->source);
    }
    add(p, "\n### Strips\n\n");
    add(p, "| name | works | width mm | thickness mm | modulus MPa | loss factor | rim kN/m2 | "
           "source |\n");
    add(p, "|---|---|---|---|---|---|---|---|\n");
    for (size_t i = 0; i < stock->n_strips; i++) {
        const ebb_strip *t = &stock->strip[i];
        const double rim = t->pressed ? ebb_mount_pressed(t->modulus, t->thickness, t->width)
                                      : ebb_mount_bending(t->modulus, t->thickness, t->width);
        add(p, "| %s | %s | %g | %g | %g | %g | %.3g | %s |\n", t->name,
            t->pressed ? "pressed" : "bending", 1000 * t->width, 1000 * t->thickness,
            t->modulus / 1e6, t->loss, rim / 1000, t->source);
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

static void make_job_reference(page *p, ebb_arena *arena, const ebb_stock *stock)
{
    for (size_t i = 0; i < ebb_room_n_job_forms; i++)
        add_form(p, arena, ebb_room_job_forms[i]);
    add_materials(p, stock);
    add_limits(p);
}

/* What jobs may hold too is in their reference. */
static void make_library_reference(page *p, ebb_arena *arena, const ebb_stock *stock)
{
    for (size_t i = 0; i < ebb_room_n_library_forms; i++) {
        bool common = false;
        for (size_t j = 0; j < ebb_room_n_job_forms; j++)
            common = common || ebb_room_job_forms[j] == ebb_room_library_forms[i];
        if (!common)
            add_form(p, arena, ebb_room_library_forms[i]);
    }
    add_fill(p, stock);
}

static void rewrite(const char *path, const char *text, const char *reference, const char *end)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    const char *begin = strstr(text, BEGIN) + strlen(BEGIN);
    fprintf(file, "%.*s%s%s", (int)(begin - text), text, reference, end);
    assert_int_equal(fclose(file), 0);
}

static void check_reference(const char *name, const page *p)
{
    char path[1024];
    size_t length;
    char *text = read_whole(project_file(name, path, sizeof path), &length);
    char *begin = strstr(text, BEGIN), *end = strstr(text, END);
    assert_true(begin != NULL && end != NULL && begin < end);
    if (getenv("EBB_WRITE_REFERENCE") != NULL) {
        rewrite(path, text, p->text, end);
    } else {
        begin += strlen(BEGIN);
        char *found = calloc(1, (size_t)(end - begin) + 1);
        memcpy(found, begin, (size_t)(end - begin));
        assert_string_equal(found, p->text);
        free(found);
    }
    free(text);
}

static void the_references_are_those_of_the_tables(void **state)
{
    shelf *s = *state;
    const ebb_stock *stock = &good_library(s, LIBRARY, NULL)->stock;
    ebb_arena *arena = ebb_arena_new(s->ctx);
    page job = {.text = calloc(1, SPACE)}, library = {.text = calloc(1, SPACE)};
    assert_true(job.text != NULL && library.text != NULL);
    make_job_reference(&job, arena, stock);
    make_library_reference(&library, arena, stock);
    check_reference("docs/job-file.md", &job);
    check_reference("docs/library-file.md", &library);
    ebb_arena_free(arena);
    free(job.text);
    free(library.text);
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
static void check_block(void *with, const char *block, size_t length)
{
    fixture *f = with;
    char folder[1024];
    static char text[65536];
    const int used = snprintf(text, sizeof text, "%.*s", (int)length, block);
    assert_true(used > 0 && (size_t)used + 1000 < sizeof text);
    if (!has_line(text, "job:"))
        strcat(text, "job: T\n");
    if (!has_line(text, "use:"))
        strcat(text, "use: music\n");
    if (!has_line(text, "rooms:"))
        strcat(text, ROOM_HEAD ROOM_SIZE "    surfaces: {all: brick}\n" ROOM_SEATS ROOM_SPEAKERS);
    const ebb_status status = parse_in(f, text, project_file("examples", folder, sizeof folder));
    if (status != EBB_OK)
        print_error("%s", text);
    print_messages(f->ctx);
    assert_int_equal(status, EBB_OK);
}

/* Calls `check` for every YAML block of a document. */
static size_t each_block(const char *name, void *with,
                         void (*check)(void *with, const char *block, size_t length))
{
    char path[1024];
    size_t length, n = 0;
    char *text = read_whole(project_file(name, path, sizeof path), &length);
    static const char fence[] = "```yaml\n";
    for (char *at = strstr(text, fence); at != NULL; at = strstr(at, fence)) {
        at += strlen(fence);
        const char *end = strstr(at, "```\n");
        assert_non_null(end);
        check(with, at, (size_t)(end - at));
        n++;
    }
    free(text);
    return n;
}

static void the_examples_of_jobs_can_be_read(void **state)
{
    assert_true(each_block("docs/job-file.md", *state, check_block) >= 5);
}

/* Blocks of libraries name the examples of the project. */
static void check_library_block(void *with, const char *block, size_t length)
{
    static char text[65536];
    char folder[1024];
    snprintf(text, sizeof text, "%s%.*s", strncmp(block, "library:", 8) == 0 ? "" : LIBRARY,
             (int)length, block);
    (void)good_library(with, text, project_file("examples", folder, sizeof folder));
    assert_int_equal(ebb_ctx_messages(((shelf *)with)->ctx), 0);
}

static void the_examples_of_libraries_can_be_read(void **state)
{
    assert_true(each_block("docs/library-file.md", *state, check_library_block) >= 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        SHELF_TEST(the_references_are_those_of_the_tables),
        TEST(the_examples_of_jobs_can_be_read),
        SHELF_TEST(the_examples_of_libraries_can_be_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
