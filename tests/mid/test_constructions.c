/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The presets of data/constructions.yaml: all can be read, each behaves as its kind should, and
 * docs/constructions.md tells what they really give. With the environment variable EBB_WRITE_DOCS
 * set, that page is written anew.
 */
#include <ebb/mid.h>

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define PAGE_SIZE 40000

#define SEATS                                                                                      \
    "    seats: [{name: s, at: [2 m, 2 m, 1 m]}]\n"                                                \
    "    speakers: [{name: l, at: [1 m, 1 m, 1 m]}]\n"

static const char job_text[] =
    "job: presets\nuse: music\nrooms:\n"
    "  - name: one\n    size: [5 m, 4 m, 3 m]\n" SEATS
    "    surfaces: {floor: stud-wall, ceiling: stud-wall-double, wall_1: brick, wall_2: block,\n"
    "               wall_3: concrete, wall_4: timber-floor}\n"
    "  - name: two\n    size: [5 m, 4 m, 3 m]\n" SEATS
    "    surfaces: {floor: concrete-floor, ceiling: plaster-ceiling, wall_1: glazing,\n"
    "               wall_2: glazing-double, wall_3: door, wall_4: carpet-on-concrete}\n";

#define PRESETS 12

typedef struct presets {
    ebb_ctx *ctx;
    ebb_job *job;
} presets;

static int read_presets(void **state)
{
    presets *made = calloc(1, sizeof *made);
    if (!made)
        return -1;
    made->ctx = ebb_ctx_new();
    *state = made;
    const ebb_status status =
        ebb_job_parse(made->ctx, job_text, sizeof job_text - 1, "presets", NULL, &made->job);
    for (size_t i = 0; i < ebb_ctx_messages(made->ctx); i++)
        print_error("%s\n", ebb_ctx_message(made->ctx, i)->text);
    return status == EBB_OK ? 0 : -1;
}

static int free_presets(void **state)
{
    presets *made = *state;
    ebb_job_free(made->job);
    ebb_ctx_free(made->ctx);
    free(made);
    return 0;
}

static const ebb_construction *preset(const presets *all, const char *name)
{
    for (size_t i = 0; i < all->job->n_constructions; i++)
        if (strcmp(all->job->constructions[i].name, name) == 0)
            return &all->job->constructions[i];
    fail_msg("no preset %s", name);
    return NULL;
}

static double conductance(const presets *all, const ebb_construction *of, double hz)
{
    return creal(
        ebb_assembly_beta(&of->assembly, &all->job->air, NULL, 2 * 3.14159265358979323846 * hz));
}

static double alpha(const presets *all, const char *name, double hz)
{
    return ebb_assembly_alpha(&preset(all, name)->assembly, &all->job->air, hz);
}

static void all_are_complete(void **state)
{
    const presets *all = *state;
    assert_int_equal(all->job->n_constructions, PRESETS);
    for (size_t i = 0; i < PRESETS; i++) {
        const ebb_construction *one = &all->job->constructions[i];
        assert_true(one->preset);
        assert_true(strlen(one->source) > 20);
        assert_int_equal(ebb_assembly_check(all->ctx, &one->assembly), EBB_OK);
        for (int octave = 0; octave < EBB_OCTAVES; octave++)
            assert_true(one->alpha[octave] >= 0.01 && one->alpha[octave] < 1);
        double low, high;
        const char *why;
        ebb_assembly_range(&one->assembly, &low, &high, &why);
        assert_true(low <= 20 && high >= 400); /* no formula leaves its range in the modal band */
        for (double hz = 20; hz < 400; hz += 0.5)
            assert_true(conductance(all, one, hz) > 0);
    }
}

static double area_mass(const presets *all, const char *name)
{
    return ebb_assembly_mass(&preset(all, name)->assembly);
}

static void weights_are_those_of_the_trade(void **state)
{
    const presets *all = *state;
    assert_true(fabs(area_mass(all, "stud-wall") - 19.4) < 0.5);
    assert_true(fabs(area_mass(all, "stud-wall-double") - 37.4) < 1);
    assert_true(fabs(area_mass(all, "glazing") - 10) < 0.1);
    assert_true(fabs(area_mass(all, "door") - 26) < 0.1);
    assert_true(fabs(area_mass(all, "plaster-ceiling") - 19.5) < 0.5);
}

/* Light walls absorb deep tones, heavy ones do not; the mass-air-mass resonance of the stud wall
 * lies between 60 and 90 Hz and is lower with two boards a side. */
static void they_behave_as_their_kind(void **state)
{
    const presets *all = *state;
    double peak[2] = {0, 0}, where[2] = {0, 0};
    for (double hz = 45; hz < 120; hz += 0.5)
        for (int i = 0; i < 2; i++) {
            const double a = alpha(all, i ? "stud-wall-double" : "stud-wall", hz);
            if (a > peak[i]) {
                peak[i] = a;
                where[i] = hz;
            }
        }
    assert_true(where[0] > 60 && where[0] < 90 && peak[0] > 0.4);
    assert_true(where[1] > 45 && where[1] < where[0] - 10);
    assert_true(alpha(all, "stud-wall", 50) < 0.5 * peak[0]);
    assert_true(alpha(all, "concrete", 50) < alpha(all, "brick", 50));
    assert_true(alpha(all, "brick", 50) < alpha(all, "block", 50));
    assert_true(alpha(all, "block", 50) < alpha(all, "stud-wall", 50));
    assert_true(alpha(all, "glazing", 40) > alpha(all, "door", 40));
}

/* ---- the page -------------------------------------------------------------------------------- */

static const double bands[] = {30, 40, 50, 63, 80, 100, 125, 160, 200};
#define BANDS (sizeof bands / sizeof bands[0])

typedef struct page_text {
    char text[PAGE_SIZE];
    size_t used;
} page_text;

static void put(page_text *page, const char *format, ...)
{
    va_list list;
    va_start(list, format);
    const int n = vsnprintf(page->text + page->used, PAGE_SIZE - page->used, format, list);
    va_end(list);
    assert_true(n >= 0 && page->used + (size_t)n < PAGE_SIZE);
    page->used += (size_t)n;
}

typedef double value_fn(const presets *all, const ebb_construction *of, double hz);

static double absorbed(const presets *all, const ebb_construction *of, double hz)
{
    return ebb_assembly_alpha(&of->assembly, &all->job->air, hz);
}

static double transmitted(const presets *all, const ebb_construction *of, double hz)
{
    return ebb_assembly_transmitted(&of->assembly, &all->job->air, hz);
}

static void put_table(page_text *page, const presets *all, value_fn *value, const char *format)
{
    put(page, "| construction |");
    for (size_t b = 0; b < BANDS; b++)
        put(page, " %g |", bands[b]);
    put(page, "\n|---|");
    for (size_t b = 0; b < BANDS; b++)
        put(page, "---|");
    for (size_t i = 0; i < PRESETS; i++) {
        put(page, "\n| %s |", all->job->constructions[i].name);
        for (size_t b = 0; b < BANDS; b++)
            put(page, format, value(all, &all->job->constructions[i], bands[b]));
    }
    put(page, "\n\n");
}

static void put_octaves(page_text *page, const presets *all)
{
    put(page, "| construction | kg/m2 | 125 | 250 | 500 | 1000 | 2000 | 4000 | 125 from layers |\n"
              "|---|---|---|---|---|---|---|---|---|\n");
    for (size_t i = 0; i < PRESETS; i++) {
        const ebb_construction *one = &all->job->constructions[i];
        put(page, "| %s | %.1f |", one->name, ebb_assembly_mass(&one->assembly));
        for (int octave = 0; octave < EBB_OCTAVES; octave++)
            put(page, " %.2f |", one->alpha[octave]);
        put(page, " %.2f |\n", ebb_mid_alpha(&one->assembly, NULL, &all->job->air, 0));
    }
    put(page, "\n");
}

static void put_page(page_text *page, const presets *all)
{
    put(page, "# Constructions\n\n"
              "What the presets of `data/constructions.yaml` give, at 20 C, 50 %% and 101.325 kPa."
              "\nThis page is made and checked by `tests/mid/test_constructions.c`; run that test\n"
              "with `EBB_WRITE_DOCS=1` to make it anew.\n\n"
              "The values are a fair guess at walls as they are built. Between two real walls of\n"
              "one kind they easily differ by half. A job that knows better defines its own.\n\n");
    put(page, "## Share of sound absorbed, normal incidence\n\n"
              "What passes through to the other side is absorbed too. Hz.\n\n");
    put_table(page, all, absorbed, " %.2f |");
    put(page, "## Real part of the admittance, rho c / Z\n\n"
              "What damps the modes of a room. Hz.\n\n");
    put_table(page, all, conductance, " %.4f |");
    put(page, "## Share of sound that passes through\n\n"
              "Normal incidence, layers only; what is given by an admittance says nothing of it, "
              "and\nshows 0. Hz.\n\n");
    put_table(page, all, transmitted, " %.3f |");
    put(page,
        "## Weight and octaves\n\n"
        "Random-incidence absorption used above the modal range. The last column is what the\n"
        "layers alone would give in the lowest octave: where the two differ, published\n"
        "tables and simple layers do not agree, and the truth for one wall lies anywhere\n"
        "between. Weight 0: given by an admittance.\n\n");
    put_octaves(page, all);
    put(page, "## Where the values come from\n\n");
    for (size_t i = 0; i < PRESETS; i++)
        put(page, "- **%s**: %s\n", all->job->constructions[i].name,
            all->job->constructions[i].source);
}

/* Numbers of the page must be near, everything else must be the same. */
static void compare(const char *is, const char *should)
{
    while (*is && *should) {
        char *end_is, *end_should;
        const double a = strtod(is, &end_is), b = strtod(should, &end_should);
        if (end_is != is && end_should != should) {
            /* half a digit of the last place that is printed for small and large values */
            if (!(fabs(a - b) <= 0.0105 && (fabs(b) > 0.02 || fabs(a - b) <= 0.0015)))
                fail_msg("docs/constructions.md says %g where it is %g: %.40s", a, b, should);
            is = end_is;
            should = end_should;
        } else if (*is++ != *should++) {
            fail_msg("docs/constructions.md differs from here: %.60s", should - 1);
        }
    }
    assert_true(*is == *should);
}

static void the_page_is_true(void **state)
{
    const char *tests = getenv("EBB_TEST_DATA");
    if (!tests)
        skip();
    char path[1000];
    snprintf(path, sizeof path, "%s/../docs/constructions.md", tests);
    page_text *want = calloc(2, sizeof *want), *have = want + 1;
    assert_non_null(want);
    put_page(want, *state);
    const char *write = getenv("EBB_WRITE_DOCS");
    if (write && *write) {
        FILE *file = fopen(path, "w");
        assert_non_null(file);
        assert_int_equal(fwrite(want->text, 1, want->used, file), want->used);
        assert_int_equal(fclose(file), 0);
    }
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    have->used = fread(have->text, 1, PAGE_SIZE - 1, file);
    fclose(file);
    compare(have->text, want->text);
    free(want);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_are_complete),
        cmocka_unit_test(weights_are_those_of_the_trade),
        cmocka_unit_test(they_behave_as_their_kind),
        cmocka_unit_test(the_page_is_true),
    };
    return cmocka_run_group_tests(tests, read_presets, free_presets);
}
