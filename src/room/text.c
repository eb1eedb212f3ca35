/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bytes and characters: is a file text, and how is a piece of it shown in a message? */
#include "record.h"

#include <string.h>

#define QUOTED 48 /* bytes of a value that a message shows */

/* ---- files ----------------------------------------------------------------------------------- */

/* Code point of the UTF-8 character at text and its length; 0 bytes when it is none. Overlong
 * forms, surrogates and anything beyond U+10FFFF are none. */
static size_t decode(const unsigned char *text, size_t left, unsigned *code)
{
    static const unsigned smallest[] = {0, 0, 0x80, 0x800, 0x10000};
    size_t n = text[0] < 0x80   ? 1
               : text[0] < 0xC0 ? 0
               : text[0] < 0xE0 ? 2
               : text[0] < 0xF0 ? 3
                                : 4;
    if (n == 0 || n > left || text[0] > 0xF4)
        return 0;
    *code = n == 1 ? text[0] : text[0] & (0xFFu >> (n + 1));
    for (size_t i = 1; i < n; i++) {
        if ((text[i] & 0xC0) != 0x80)
            return 0;
        *code = *code << 6 | (text[i] & 0x3Fu);
    }
    const bool surrogate = *code >= 0xD800 && *code < 0xE000;
    return *code < smallest[n] || *code > 0x10FFFF || surrogate ? 0 : n;
}

/* The characters that YAML 1.1 allows in a file. */
static bool is_printable(unsigned code)
{
    if (code < 0x20)
        return code == '\t' || code == '\n' || code == '\r';
    return code != 0x7F && (code < 0x80 || code >= 0xA0 || code == 0x85) && code != 0xFEFF &&
           code != 0xFFFE && code != 0xFFFF;
}

static bool is_utf16(const char *text, size_t length)
{
    return length >= 2 && (memcmp(text, "\xFF\xFE", 2) == 0 || memcmp(text, "\xFE\xFF", 2) == 0);
}

bool ebb_room_is_text(ebb_room_reader *reader, const char *file, const char *text, size_t length)
{
    ebb_place place = {.file = file, .line = 1, .column = 1};
    if (is_utf16(text, length)) {
        ebb_room_fault(reader, &place, "the file is UTF-16; save it as UTF-8");
        return false;
    }
    for (size_t i = 0; i < length; place.column++) {
        unsigned code = 0;
        const size_t n = decode((const unsigned char *)text + i, length - i, &code);
        if (n == 0) {
            ebb_room_fault(reader, &place, "the byte 0x%02X is not UTF-8; save the file as UTF-8",
                           (unsigned char)text[i]);
            return false;
        }
        if (!is_printable(code)) {
            ebb_room_fault(reader, &place, "the character U+%04X is not accepted in a file", code);
            return false;
        }
        /* \r\n counts once, at its \n. */
        if (code == '\n' || (code == '\r' && (i + 1 == length || text[i + 1] != '\n'))) {
            place.line++;
            place.column = 0;
        }
        i += n;
    }
    return true;
}

/* ---- pieces ---------------------------------------------------------------------------------- */

size_t ebb_room_char_length(const char *text, size_t left)
{
    size_t n = 1;
    while (n < left && ((unsigned char)text[n] & 0xC0) == 0x80)
        n++;
    return n;
}

/* The ranges C0 and C1. */
bool ebb_room_is_control(const char *text, size_t n)
{
    const unsigned char first = (unsigned char)text[0];
    return first < 0x20 || first == 0x7F ||
           (n == 2 && first == 0xC2 && (unsigned char)text[1] < 0xA0);
}

const char *ebb_room_clean(ebb_room_reader *reader, const char *text, size_t length)
{
    char *out = ebb_room_alloc(reader, QUOTED + 4, 1);
    if (out == NULL)
        return "";
    size_t used = 0, i = 0;
    while (i < length) {
        const size_t n = ebb_room_char_length(text + i, length - i);
        if (used + n > QUOTED)
            break;
        if (ebb_room_is_control(text + i, n))
            out[used++] = ' ';
        else {
            memcpy(out + used, text + i, n);
            used += n;
        }
        i += n;
    }
    memcpy(out + used, i < length ? "..." : "", i < length ? 4 : 1);
    return out;
}

const char *ebb_room_quote(ebb_room_reader *reader, const char *text, size_t length)
{
    const char *quoted = ebb_room_format(reader, "\"%s\"", ebb_room_clean(reader, text, length));
    return quoted != NULL ? quoted : "";
}
