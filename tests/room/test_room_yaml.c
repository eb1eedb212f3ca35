/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the file as a whole may be: its limits, and places in it. */
#include "helper.h"

/* head, then n times a piece, then tail; to be freed. */
static char *repeat(const char *head, const char *piece, size_t n, const char *tail)
{
    const size_t size = strlen(piece);
    char *text = malloc(strlen(head) + n * size + strlen(tail) + 1);
    assert_non_null(text);
    strcpy(text, head);
    char *at = text + strlen(head);
    for (size_t i = 0; i < n; i++, at += size)
        memcpy(at, piece, size);
    strcpy(at, tail);
    return text;
}

/* Does any of the messages hold this? */
static bool is_said(const ebb_ctx *ctx, const char *part)
{
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++)
        if (strstr(ebb_ctx_message(ctx, i)->text, part) != NULL)
            return true;
    print_messages(ctx);
    return false;
}

/* Parses a text that must be refused with these words; frees it. */
static void check_one(fixture *f, char *text, const char *part)
{
    const ebb_status status = parse_in(f, text, NULL);
    free(text);
    assert_int_equal(status, EBB_E_INPUT);
    assert_true(is_said(f->ctx, part));
}

static void at_most_32_levels(void **state)
{
    /* The 32nd bracket makes the file 33 deep, for the job itself is a mapping. */
    check_one(*state, repeat("job: ", "[", 32, ""), "levels deep");
    check_one(*state, repeat("job: ", "[", 100000, ""), "levels deep");
    char text[200] = "job: ";
    for (int i = 0; i < 31; i++)
        strcat(text, "[");
    for (int i = 0; i < 31; i++)
        strcat(text, "]");
    parse_in(*state, text, NULL);
    assert_true(is_said(((fixture *)*state)->ctx, "found a list"));
}

static void at_most_20000_keys_and_values(void **state)
{
    check_one(*state, repeat("note: [", "a,", 25000, "]\n"), "more than 20000 keys and values");
    check_one(*state, repeat("note: [", "a,", 19000, "]\n"), "found a list");
}

static void an_alias_flood_is_stopped(void **state)
{
    char *seats = repeat(HEAD "rooms:\n  - &r {name: A, seats: [&s {name: 1, at: [0 m, 0 m, 0 m]}",
                         ", *s", 31, "]}\n");
    char *text = repeat(seats, "  - *r\n", 63, "");
    char *more = repeat("", text, 1, "");
    free(seats);
    free(text);
    fixture *f = *state;
    assert_int_equal(parse_in(f, more, NULL), EBB_E_INPUT);
    assert_true(ebb_ctx_messages(f->ctx) <= 101); /* 64 x 32 seats, each with a fault */
    free(more);
}

/* 51 rooms that share lists of seats and speakers, and `n` constructions more; to be freed. */
static char *large_job(size_t n)
{
    const size_t size = (size_t)1 << 16;
    char *text = calloc(size, 1);
    assert_non_null(text);
    size_t used = (size_t)snprintf(text, size, "job: T\nuse: music\nconstructions:\n");
    for (size_t i = 0; i <= n; i++)
        used += (size_t)snprintf(text + used, size - used, "  c%zu: {admittance: 0.1}\n", i);
    used += (size_t)snprintf(text + used, size - used, "rooms:\n");
    for (size_t r = 0; r < 51; r++) {
        used += (size_t)snprintf(text + used, size - used,
                                 "  - name: R%zu\n    size: [9 m, 9 m, 9 m]\n"
                                 "    surfaces: {all: c0}\n    seats: %s\n    speakers: %s\n",
                                 r, r == 0 ? "&s" : "*s", r == 0 ? "&l" : "*l");
        /* The first room writes its lists out. */
        for (size_t i = 0; r == 0 && i < 31 + 16; i++) {
            char *key = i < 31 ? strstr(text, "    speakers:") : text + used;
            char item[80];
            const int length = snprintf(
                item, sizeof item, "      - {name: n%zu, at: [1 m, 2 m, 3 m], zone: 1 mm}\n", i);
            memmove(key + length, key, (size_t)(text + used - key) + 1);
            memcpy(key, item, (size_t)length);
            used += (size_t)length;
        }
    }
    assert_true(used + 1 < size);
    return text;
}

/* Up to the very limit a job is good: the presets, which are read after it, do not count. */
static void the_presets_do_not_count(void **state)
{
    fixture *f = *state;
    size_t n = 0;
    ebb_status status = EBB_OK;
    for (; status == EBB_OK && n < 190; n += 10) {
        char *text = large_job(n);
        status = parse_in(f, text, NULL);
        free(text);
    }
    /* The step is 20 values, the presets hold many more. */
    assert_int_equal(status, EBB_E_INPUT);
    assert_true(n > 10);
    assert_true(is_said(f->ctx, "more than 20000 values"));
    assert_string_equal(ebb_ctx_message(f->ctx, 0)->place.file, "job.yaml");
}

/* Every place a fault can have is that of the value, counted from 1 in characters. */
static void places_are_exact(void **state)
{
    static const struct {
        const char *text;
        int line, column;
    } cases[] = {
        {HEAD "lowest: 5 Hz\n" ROOM, 5, 9},
        {HEAD "lowest:    5 Hz\n" ROOM, 5, 12},
        {HEAD "lowest:\n  5 Hz\n" ROOM, 6, 3},
        {HEAD "lowest: '5 Hz'\n" ROOM, 5, 9},
        {HEAD "lowest: >-\n  5 Hz\n" ROOM, 5, 9},
        {HEAD "{lowest: 5 Hz}: 1\n" ROOM, 5, 1},
        {HEAD "note: \xC3\xA4\xC3\xA4\nallowance: {mass: 1 kg, depth: 9 m}\n" ROOM, 6, 32},
        {HEAD "allowance: {mass: \"1 kg\" , depth: !x 1 m}\n" ROOM, 5, 35},
        {"# c\r\n\r\n" HEAD "lowest: 5 Hz\n" ROOM, 7, 9},
        {"\xEF\xBB\xBF"
         "lowest: 5 Hz\n" HEAD ROOM,
         1, 9},
    };
    fixture *f = *state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_int_equal(parse_in(f, cases[i].text, NULL), EBB_E_INPUT);
        assert_int_equal(ebb_ctx_messages(f->ctx), 1);
        const ebb_message *m = ebb_ctx_message(f->ctx, 0);
        if (m->place.line != cases[i].line || m->place.column != cases[i].column)
            print_messages(f->ctx);
        assert_int_equal(m->place.line, cases[i].line);
        assert_int_equal(m->place.column, cases[i].column);
    }
}

/* Block and flow style, comments, quotes, a document marker: YAML as people write it. */
static void styles_of_yaml(void **state)
{
    const ebb_job *job = good_job(
        *state,
        "%YAML 1.1\n---\n# a comment\n\"job\": 'It''s a \"job\"' # another\nuse: \"music\"\n"
        "constructions: {stone: {admittance: 0.01}}\n"
        "rooms:\n- name: >-\n    folded\n    name\n"
        "  size:\n  - 5 m\n  - \"4 m\"\n  - '9'' 10\"'\n"
        "  surfaces: {all: stone,}\n" /* a comma too many is fine */
        "  seats: [{name: a, at: [2 m, 2 m, 1 m]}]\n"
        "  speakers:\n  - name: b\n    at: [1 m, 1 m, 1 m]\n...\n");
    assert_string_equal(job->name, "It's a \"job\"");
    assert_string_equal(job->rooms[0].name, "folded name");
    assert_near(job->rooms[0].size[2], 118 * 0.0254);
}

/* Every prefix of a good job is either good or has faults, and never anything else. */
static void every_prefix_is_handled(void **state)
{
    fixture *f = *state;
    char path[1024];
    size_t length;
    char *text =
        read_whole(project_file("examples/harbour-house.yaml", path, sizeof path), &length);
    size_t good = 0;
    for (size_t n = 0; n <= length; n += n < length && length - n < 7 ? length - n : 7) {
        ebb_job *job;
        ebb_ctx_clear(f->ctx);
        const ebb_status status = ebb_job_parse(f->ctx, text, n, "p", NULL, &job);
        assert_true(status == EBB_OK || status == EBB_E_INPUT);
        assert_int_equal(status == EBB_OK, job != NULL);
        assert_int_equal(status == EBB_OK, ebb_ctx_errors(f->ctx) == 0);
        good += status == EBB_OK;
        ebb_job_free(job);
        if (n == length)
            break;
    }
    assert_true(good > 0);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(at_most_32_levels),         TEST(at_most_20000_keys_and_values),
        TEST(an_alias_flood_is_stopped), TEST(the_presets_do_not_count),
        TEST(places_are_exact),          TEST(styles_of_yaml),
        TEST(every_prefix_is_handled),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
