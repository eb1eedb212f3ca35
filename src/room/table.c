/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Impedance tables: CSV files with the columns Hz, z_re, z_im beside the job. */
#include "build.h"

#include <complex.h>
#include <string.h>

#define MOST_BYTES ((size_t)256 << 10)
#define COLUMNS 3

/* One row being read. */
typedef struct row_reader {
    ebb_room_reader *reader;
    ebb_place place;
    const char *at, *end; /* what is left of the row */
    const char *start;
} row_reader;

static void row_fault(row_reader *row, const char *cell, const char *text)
{
    ebb_place place = row->place;
    place.column = (int)(cell - row->start) + 1;
    ebb_room_fault(row->reader, &place, "%s", text);
}

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r';
}

/* The next cell without the blanks around it; false at the end of the row. */
static bool next_cell(row_reader *row, const char **cell, size_t *length)
{
    if (row->at > row->end)
        return false;
    const char *comma = memchr(row->at, ',', (size_t)(row->end - row->at));
    const char *stop = comma != NULL ? comma : row->end;
    const char *next = stop + 1;
    while (row->at < stop && is_blank(*row->at))
        row->at++;
    while (stop > row->at && is_blank(stop[-1]))
        stop--;
    *cell = row->at;
    *length = (size_t)(stop - row->at);
    row->at = next;
    return true;
}

static bool is_word(const char *cell, size_t length, const char *word)
{
    return strlen(word) == length && memcmp(cell, word, length) == 0;
}

/* Is this row the header? Only exactly these words are one, so that a slip in the first number is
 * not taken for a header. */
static bool is_header(row_reader row)
{
    static const char *const words[COLUMNS] = {"Hz", "z_re", "z_im"};
    const char *cell;
    size_t length;
    for (size_t i = 0; i < COLUMNS; i++)
        if (!next_cell(&row, &cell, &length) || !is_word(cell, length, words[i]))
            return false;
    return !next_cell(&row, &cell, &length);
}

/* A short or long row is refused as a whole: which of its numbers is which is anybody's guess. */
static bool read_row(row_reader *row, double value[COLUMNS])
{
    static const char wanted[] = "a row has three numbers: Hz, z_re, z_im";
    const char *cell = row->start;
    size_t length;
    for (size_t i = 0; i < COLUMNS; i++) {
        char why[160];
        if (!next_cell(row, &cell, &length)) {
            row_fault(row, row->end, wanted);
            return false;
        }
        if (!ebb_quantity_parse(EBB_Q_NUMBER, cell, length, &value[i], why, sizeof why)) {
            const char *text = ebb_room_format(
                row->reader, "%s: %s; %s", ebb_room_quote(row->reader, cell, length), why, wanted);
            if (text != NULL)
                row_fault(row, cell, text);
            return false;
        }
    }
    if (next_cell(row, &cell, &length)) {
        row_fault(row, cell, wanted);
        return false;
    }
    return true;
}

/* What is wrong with a row after the one at `before` Hz, or NULL. */
static const char *value_fault(const double value[COLUMNS], double before)
{
    if (!(value[0] > 0 && value[0] <= 20000))
        return "the frequency must lie above 0 and not above 20000 Hz";
    if (!(value[0] > before))
        return "frequencies must rise from row to row";
    if (!(value[1] >= 0))
        return "z_re must not be negative: a surface gives no energy";
    if (value[1] == 0 && value[2] == 0)
        return "the impedance must not be 0";
    return NULL;
}

/* Rows of the text into the arrays; how many, or NONE after a fault. */
static size_t read_rows(row_reader *row, const char *text, size_t length, double *hz,
                        double _Complex *z)
{
    size_t n = 0;
    bool first = true, good = true;
    for (const char *end = text + length; text < end; text = row->end + 1) {
        const char *newline = memchr(text, '\n', (size_t)(end - text));
        row->start = row->at = text;
        row->end = newline != NULL ? newline : end;
        row->place.line++;
        while (row->at < row->end && is_blank(*row->at))
            row->at++;
        if (row->at == row->end || *row->at == '#')
            continue;
        const bool header = first && is_header(*row);
        first = false;
        double value[COLUMNS];
        if (header)
            continue;
        if (!read_row(row, value)) {
            good = false;
            continue;
        }
        const char *why = value_fault(value, n > 0 ? hz[n - 1] : 0);
        if (why != NULL) {
            row_fault(row, row->start, why);
            return EBB_ROOM_NONE;
        }
        hz[n] = value[0];
        z[n++] = value[1] + value[2] * I;
    }
    return good ? n : EBB_ROOM_NONE;
}

/* Rows are at most lines: one block of memory each for frequencies and impedances. */
static size_t count_lines(const char *text, size_t length)
{
    size_t n = 1;
    for (size_t i = 0; i < length; i++)
        n += text[i] == '\n';
    return n;
}

static bool parse_table(ebb_room_builder *builder, const char *name, const char *text,
                        size_t length, ebb_assembly *assembly)
{
    ebb_room_reader *reader = builder->reader;
    const size_t most = count_lines(text, length);
    double *hz = EBB_KEEP(builder, double, most);
    double _Complex *z = EBB_KEEP(builder, double _Complex, most);
    if (hz == NULL || z == NULL)
        return false;
    row_reader row = {.reader = reader, .place = {.file = name}};
    const size_t n = read_rows(&row, text, length, hz, z);
    if (n != EBB_ROOM_NONE && n < 2)
        ebb_room_fault(reader, &(const ebb_place){.file = name, .line = 1, .column = 1},
                       "a table needs at least two rows of Hz, z_re, z_im");
    assembly->kind = EBB_ASSEMBLY_TABLE;
    assembly->n_table = n;
    assembly->table_hz = hz;
    assembly->table_z = z;
    return n != EBB_ROOM_NONE && n >= 2;
}

bool ebb_room_build_table(ebb_room_builder *builder, const ebb_room_field *field,
                          ebb_assembly *assembly)
{
    ebb_room_reader *reader = builder->reader;
    ebb_room_beside file = {.text = NULL};
    if (!ebb_room_open_beside(builder, field, MOST_BYTES, &file))
        return false;
    if (file.length >= 3 && memcmp(file.text, "\xEF\xBB\xBF", 3) == 0) { /* as spreadsheets do */
        file.text += 3;
        file.length -= 3;
    }
    const size_t number = reader->file_number;
    reader->file_number = ++reader->n_files;
    const bool good = ebb_room_is_text(reader, file.name, file.text, file.length) &&
                      parse_table(builder, file.name, file.text, file.length, assembly);
    reader->file_number = number;
    return good;
}
