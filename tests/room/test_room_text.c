/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bytes, quotations and suggestions. */
#include "helper.h"

#include "../../src/room/record.h"

static ebb_room_reader new_reader(fixture *f)
{
    return (ebb_room_reader){.ctx = f->ctx, .arena = ebb_arena_new(f->ctx), .file = "t"};
}

/* Place of the first bad byte as line * 1000 + column, 0 when there is none. */
static int bad_place(fixture *f, const char *text, size_t length)
{
    ebb_room_reader reader = new_reader(f);
    const bool good = ebb_room_is_text(&reader, "t", text, length);
    assert_int_equal(good, reader.n_faults == 0);
    const int place = good ? 0 : reader.faults->place.line * 1000 + reader.faults->place.column;
    ebb_arena_free(reader.arena);
    return place;
}
#define BAD(text) bad_place(*state, text, sizeof text - 1)

static void utf8_is_text(void **state)
{
    assert_int_equal(BAD(""), 0);
    assert_int_equal(BAD("plain\ttext\r\n"), 0);
    assert_int_equal(BAD("\xC2\xA0\xDF\xBF\xE0\xA0\x80\xED\x9F\xBF\xEE\x80\x80\xEF\xBF\xBD"), 0);
    assert_int_equal(BAD("\xF0\x90\x80\x80\xF4\x8F\xBF\xBF"), 0);
}

static void anything_else_is_not(void **state)
{
    assert_int_equal(BAD("ab\x80"), 1003);               /* a stray continuation */
    assert_int_equal(BAD("\n\xC3"), 2001);               /* cut off */
    assert_int_equal(BAD("\n\n \xC3("), 3002);           /* not continued */
    assert_int_equal(BAD("\xC0\xAF"), 1001);             /* overlong */
    assert_int_equal(BAD("\xE0\x9F\xBF"), 1001);         /* overlong */
    assert_int_equal(BAD("\xF0\x8F\xBF\xBF"), 1001);     /* overlong */
    assert_int_equal(BAD("\xED\xA0\x80"), 1001);         /* a surrogate */
    assert_int_equal(BAD("\xF4\x90\x80\x80"), 1001);     /* beyond U+10FFFF */
    assert_int_equal(BAD("\xF8\x88\x80\x80\x80"), 1001); /* five bytes */
    assert_int_equal(BAD("a\x1B[31m"), 1002);
    assert_int_equal(BAD("a\x7F"), 1002);
    assert_int_equal(BAD("a\xC2\x9B"), 1002); /* a control of the second set */
    assert_int_equal(BAD("a\0b"), 1002);
    assert_int_equal(BAD("a\xEF\xBB\xBF"), 1002);
    assert_int_equal(BAD("\xFE\xFF\0a"), 1001);
}

static void lines_end_in_three_ways(void **state)
{
    assert_int_equal(BAD("a\nb\n\x01"), 3001);
    assert_int_equal(BAD("a\r\nb\r\n\x01"), 3001);
    assert_int_equal(BAD("a\rb\r\x01"), 3001);
    assert_int_equal(BAD("\xC3\xA4\xC3\xB6\x01"), 1003); /* characters are counted, not bytes */
}

static void quotations_are_short_and_harmless(void **state)
{
    ebb_room_reader r = new_reader(*state);
    assert_string_equal(ebb_room_quote(&r, "5 m", 3), "\"5 m\"");
    assert_string_equal(ebb_room_quote(&r, "", 0), "\"\"");
    assert_string_equal(ebb_room_quote(&r,
                                       "a\nb\x1B\xC2\x9B"
                                       "c",
                                       7),
                        "\"a b  c\"");
    char text[200];
    memset(text, 'x', sizeof text);
    const char *clean = ebb_room_clean(&r, text, sizeof text);
    assert_int_equal(strlen(clean), 51);
    assert_string_equal(clean + 48, "...");
    assert_int_equal(strlen(ebb_room_clean(&r, text, 48)), 48);
    /* A character is kept whole or left out: 47 bytes and one of two do not fit into 48. */
    memcpy(text + 47, "\xC3\xA4", 2);
    clean = ebb_room_clean(&r, text, sizeof text);
    assert_string_equal(clean + 47, "...");
    ebb_arena_free(r.arena);
}

static const char *guess(const char *word)
{
    static const char *const words[] = {"size", "seats", "speakers", "may_change", "at", "on"};
    ebb_room_guess g;
    ebb_room_guess_start(&g, word);
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        ebb_room_guess_try(&g, words[i]);
    return g.best != NULL ? g.best : "";
}

static void near_words_are_suggested(void **state)
{
    (void)state;
    assert_string_equal(guess("sise"), "size");  /* changed */
    assert_string_equal(guess("sze"), "size");   /* left out */
    assert_string_equal(guess("sizze"), "size"); /* put in */
    assert_string_equal(guess("szie"), "size");  /* swapped */
    assert_string_equal(guess("SIZE"), "size");  /* case */
    assert_string_equal(guess("may-change"), "may_change");
    assert_string_equal(guess("spekers"), "speakers");
    assert_string_equal(guess("seast"), "seats");
    assert_string_equal(guess("At"), "at");
}

static void far_words_are_not(void **state)
{
    (void)state;
    assert_string_equal(guess("colour"), "");
    assert_string_equal(guess("it"), ""); /* too short for a slip to be told from another word */
    assert_string_equal(guess("zs"), "");
    assert_string_equal(guess(""), "");
    assert_string_equal(guess("sssssssssssssssssssssssssssssssssssssssssssssssssssssss"), "");
}

/* Faults come out in the order of the file whatever the order they were found in, the job itself
 * before other files, and no more of them than anybody reads. */
static void faults_are_reported_in_order(void **state)
{
    fixture *f = *state;
    ebb_room_reader r = new_reader(f);
    const ebb_place late = {"t", 9, 1, "late"}, early = {"t", 2, 5, "early"};
    const ebb_place right = {"t", 2, 9, "right"}, other = {"u", 1, 1, "other"};
    r.file_number = 1;
    ebb_room_fault(&r, &other, "%s", "other");
    r.file_number = 0;
    ebb_room_fault(&r, &late, "%s", "late");
    ebb_room_fault(&r, &right, "%s", "right");
    ebb_room_fault(&r, &early, "%s", "early");
    ebb_room_fault(&r, &early, "%s", "early too");
    ebb_room_report(&r);
    static const char *const wanted[] = {"early", "early too", "right", "late", "other"};
    assert_int_equal(ebb_ctx_messages(f->ctx), 5);
    for (size_t i = 0; i < 5; i++)
        assert_string_equal(ebb_ctx_message(f->ctx, i)->text, wanted[i]);
    ebb_arena_free(r.arena);
}

static void a_flood_of_faults_is_cut(void **state)
{
    fixture *f = *state;
    ebb_room_reader r = new_reader(f);
    for (int i = 0; i < 5000; i++)
        ebb_room_fault(&r, &(const ebb_place){.file = "t", .line = 5000 - i}, "fault %d", i);
    ebb_room_report(&r);
    assert_int_equal(ebb_ctx_messages(f->ctx), EBB_ROOM_MOST_FAULTS + 1);
    assert_string_equal(ebb_ctx_message(f->ctx, EBB_ROOM_MOST_FAULTS)->text,
                        "and 4900 more faults that are not listed");
    ebb_arena_free(r.arena);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(utf8_is_text),
        TEST(anything_else_is_not),
        TEST(lines_end_in_three_ways),
        TEST(quotations_are_short_and_harmless),
        cmocka_unit_test(near_words_are_suggested),
        cmocka_unit_test(far_words_are_not),
        TEST(faults_are_reported_in_order),
        TEST(a_flood_of_faults_is_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
