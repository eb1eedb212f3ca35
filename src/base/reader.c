/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Text to numbers.
 *
 * People type these texts by hand or paste them from mails and drawings, so the same thing comes in
 * many spellings: a prime or an apostrophe for feet, a superscript or a digit for square metres, a
 * middle dot, an asterisk or a blank between units. All become one spelling of plain ASCII first;
 * everything after it knows only that. What has no plain spelling becomes "?" and is refused later
 * as an unknown unit, where the message can say what was expected.
 */
#include "reader.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool ebb_base_reader_refuse(ebb_base_reader *r, const char *format, ...)
{
    va_list values;
    va_start(values, format);
    if (r->why != NULL && r->why_size > 0)
        vsnprintf(r->why, r->why_size, format, values);
    va_end(values);
    return false;
}

/* isdigit() asks the locale. */
bool ebb_base_is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* ---- one spelling ---------------------------------------------------------------------------- */

/* What people and word processors write for the same thing. The first that fits is taken. */
static const struct {
    const char *from, *to;
} spellings[] = {
    {"\xC2\xB2", "2"},      /* superscript two */
    {"\xC2\xB3", "3"},      /* superscript three */
    {"^2", "2"},            /**/
    {"^3", "3"},            /**/
    {"\xC2\xB7", "."},      /* middle dot */
    {"\xE2\x8B\x85", "."},  /* dot operator */
    {"*", "."},             /**/
    {"\xE2\x80\xB2", "'"},  /* prime */
    {"\xE2\x80\x99", "'"},  /* right single quotation mark */
    {"\xE2\x80\xB3", "\""}, /* double prime */
    {"\xE2\x80\x9D", "\""}, /* right double quotation mark */
    {"''", "\""},           /**/
    {"\xC2\xB0", ""},       /* degree sign */
    {"\xE2\x88\x92", "-"},  /* minus sign */
    {"\xC2\xA0", " "},      /* blank that does not break */
    {"\xE2\x80\xAF", " "},  /* the narrow one */
    {"\t", " "},
};

/* Appends to the text of the reader; false when it is full. A run of blanks becomes one. */
static bool put(ebb_base_reader *r, size_t *used, const char *text)
{
    for (; *text != '\0'; text++) {
        if (*text == ' ' && (*used == 0 || r->text[*used - 1] == ' '))
            continue;
        if (*used + 1 >= EBB_BASE_READER_LONGEST)
            return false;
        r->text[(*used)++] = *text;
    }
    return true;
}

/* Takes one spelling or one character from `text`; the bytes taken, 0 when there is no room. */
static size_t put_next(ebb_base_reader *r, size_t *used, const char *text, size_t length)
{
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        const size_t n = strlen(spellings[i].from);
        if (n <= length && memcmp(text, spellings[i].from, n) == 0)
            return put(r, used, spellings[i].to) ? n : 0;
    }
    /* Anything else outside printable ASCII stands as "?", which no unit contains. */
    const char c = text[0] > ' ' && text[0] < 127 ? text[0] : text[0] == ' ' ? ' ' : '?';
    return put(r, used, (const char[2]){c, '\0'}) ? 1 : 0;
}

bool ebb_base_reader_start(ebb_base_reader *r, const char *text, size_t length)
{
    size_t used = 0;
    for (size_t i = 0; i < length;) {
        const size_t taken = put_next(r, &used, text + i, length - i);
        if (taken == 0)
            return ebb_base_reader_refuse(r, "too long for a number with a unit");
        i += taken;
    }
    while (used > 0 && r->text[used - 1] == ' ')
        used--;
    r->text[used] = '\0';
    r->at = r->text;
    return true;
}

/* ---- numbers --------------------------------------------------------------------------------- */

/* End of the decimal number at `p`, or p itself when there is none: [+-] digits [. digits]
 * [e [+-] digits], with a digit on at least one side of the point. Stricter than strtod, which
 * takes "0x10", "inf" and "nan" too; none of them is a size of anything. */
static const char *number_end(const char *p)
{
    const char *start = p;
    if (*p == '+' || *p == '-')
        p++;
    const char *digits = p;
    while (ebb_base_is_digit(*p))
        p++;
    size_t n = (size_t)(p - digits);
    if (*p == '.') {
        const char *point = p++;
        while (ebb_base_is_digit(*p))
            p++;
        n += (size_t)(p - point - 1);
    }
    if (n == 0)
        return start;
    if (*p == 'e' || *p == 'E') {
        const char *e = p + 1;
        if (*e == '+' || *e == '-')
            e++;
        if (ebb_base_is_digit(*e)) {
            while (ebb_base_is_digit(*e))
                e++;
            p = e;
        }
    }
    return p;
}

/* strtod rounds correctly but wants the decimal point of the locale, which belongs to whoever
 * called the library. One number printed tells what it is, without asking for the locale. */
static double to_double(const char *text, size_t length)
{
    char point[16], copy[EBB_BASE_READER_LONGEST + sizeof point];
    snprintf(point, sizeof point, "%.1f", 0.5); /* "0.5" with the point in the middle */
    const size_t point_length = strlen(point) - 2;
    size_t used = 0;
    for (size_t i = 0; i < length; i++) {
        if (text[i] == '.') {
            memcpy(copy + used, point + 1, point_length);
            used += point_length;
        } else {
            copy[used++] = text[i];
        }
    }
    copy[used] = '\0';
    return strtod(copy, NULL);
}

/* A zero that was written as one is a number; one that came of rounding is lost information. */
static bool has_nonzero_digit(const char *p, const char *end)
{
    for (; p < end && *p != 'e' && *p != 'E'; p++)
        if (*p >= '1' && *p <= '9')
            return true;
    return false;
}

bool ebb_base_reader_number(ebb_base_reader *r, double *value)
{
    const char *start = r->at, *end = number_end(start);
    if (end == start)
        return ebb_base_reader_refuse(r, "\"%s\" does not start with a number", r->at);
    *value = to_double(start, (size_t)(end - start));
    if (!isfinite(*value))
        return ebb_base_reader_refuse(r, "\"%.*s\" is too large", (int)(end - start), start);
    if (*value == 0.0 && has_nonzero_digit(start, end))
        return ebb_base_reader_refuse(r, "\"%.*s\" is too small", (int)(end - start), start);
    if (*end == ',')
        return ebb_base_reader_refuse(
            r,
            "a comma after \"%.*s\": write the decimal point as \".\" and no "
            "thousands separators",
            (int)(end - start), start);
    r->at = *end == ' ' ? end + 1 : end;
    return true;
}

/* A whole number without sign, for the parts of a fraction; false leaves the reader alone. */
static bool read_whole(ebb_base_reader *r, double *value)
{
    const char *end = r->at;
    while (ebb_base_is_digit(*end))
        end++;
    if (end == r->at || end - r->at > 6)
        return false;
    *value = to_double(r->at, (size_t)(end - r->at));
    r->at = end;
    return true;
}

/* Carpenters halve inches: 3/8, 2 5/8. A fraction of a decimal (2.5/8) is no way to write one. */
bool ebb_base_reader_fraction(ebb_base_reader *r, double *value)
{
    const char *start = r->at;
    const bool mixed = ebb_base_is_digit(*start);
    double top = *value, bottom = 0;
    bool good = *value == floor(*value) && (!mixed || read_whole(r, &top));
    if (good && *r->at == '/') {
        r->at++;
        good = read_whole(r, &bottom) && bottom > 0;
    }
    if (!good || bottom == 0) {
        r->at = start;
        return false;
    }
    *value = (mixed ? *value : 0) + top / bottom;
    if (*r->at == ' ')
        r->at++;
    return true;
}
