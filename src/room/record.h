/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * record.h - what reading a file by a form gives, and the list of its faults.
 *
 * A record is a checked mapping: one field for every rule of its form, given or not. It knows
 * nothing of YAML, and owns nothing: everything is in the reader's arena.
 */
#ifndef EBB_ROOM_RECORD_H
#define EBB_ROOM_RECORD_H

#include "form.h"

#define EBB_ROOM_MOST_FAULTS 100 /* listed; the rest are counted */

struct ebb_room_record;

/* The value of one key. Only when `good` is set are the members after it of use. */
typedef struct ebb_room_field {
    const ebb_room_rule *rule;
    ebb_place place;  /* of the value */
    bool given;       /* the key is there */
    bool meant;       /* it is not, but an unknown key was meant to be it */
    bool good;        /* and its value has the right shape and range */
    size_t n;         /* of numbers, points or records */
    double *number;   /* SI; two or three per point */
    const char *text; /* text, name, file, word, or the material of a panel ("": none) */
    size_t word;      /* index of the choice; for several choices a bit mask */
    struct ebb_room_record *record;
    struct ebb_room_field *item; /* of a list of names or outlines */
} ebb_room_field;

/* A key that stands for a rule with numbers: wall_12 for wall_N. */
typedef struct ebb_room_numbered {
    struct ebb_room_numbered *next;
    const char *key;
    ebb_room_field field;
} ebb_room_numbered;

typedef struct ebb_room_record {
    const ebb_room_form *form;
    ebb_place place;
    const char *name; /* in a mapping of names, else NULL */
    ebb_room_field *field;
    ebb_room_numbered *numbered;
} ebb_room_record;

/* A fault waiting for its turn: faults are reported in the order of the file. */
typedef struct ebb_room_fault_entry {
    struct ebb_room_fault_entry *next;
    size_t file; /* which file: the job itself comes first */
    ebb_place place;
    const char *text;
} ebb_room_fault_entry;

/* One reading of one job. */
typedef struct ebb_room_reader {
    ebb_ctx *ctx;
    ebb_ctx *aside;   /* takes the messages of calls that know no place; moved to ctx with one */
    ebb_arena *arena; /* scratch */
    ebb_status status;
    size_t visited; /* values looked at, aliases followed each time */
    size_t n_faults;
    size_t file_number; /* of the file being read: 0 is the job itself */
    size_t n_files;     /* other files so far */
    const char *file;   /* its name */
    ebb_room_fault_entry *faults;
} ebb_room_reader;

/* ---- faults (fault.c, text.c, guess.c)
 * ------------------------------------------------------------------------ */

/* Keeps a fault of the input. */
void ebb_room_fault(ebb_room_reader *reader, const ebb_place *place, const char *format, ...)
    EBB_PRINTF(3, 4);
/* Records that memory ran out. */
void ebb_room_nomem(ebb_room_reader *reader);
/* Hands all faults to the context, in the order of the file. */
void ebb_room_report(ebb_room_reader *reader);
/* Moves the messages of `aside` to a place: errors become faults, warnings go to the context.
 * Returns true when there was an error. */
bool ebb_room_take_aside(ebb_room_reader *reader, const ebb_place *place);

/* Memory and text of the reader's arena; on failure the reader's status says so. */
void *ebb_room_alloc(ebb_room_reader *reader, size_t count, size_t size);
const char *ebb_room_format(ebb_room_reader *reader, const char *format, ...) EBB_PRINTF(2, 3);
/* A value as written, made fit for a terminal (shortened, on one line), without and with quotation
 * marks. Never NULL. */
const char *ebb_room_clean(ebb_room_reader *reader, const char *text, size_t length);
const char *ebb_room_quote(ebb_room_reader *reader, const char *text, size_t length);
/* The place of a part of something: "rooms[0]" and "size" give "rooms[0].size". */
ebb_place ebb_room_place(ebb_room_reader *reader, const char *parent, const char *key, int line,
                         int column);

/* The nearest of several words to a misspelt one. */
typedef struct ebb_room_guess {
    const char *word;
    const char *best; /* NULL: nothing is near */
    size_t distance;
} ebb_room_guess;

void ebb_room_guess_start(ebb_room_guess *guess, const char *word);
void ebb_room_guess_try(ebb_room_guess *guess, const char *candidate);

/* A word like this one that fits a pattern: its own numbers in place of the N. */
const char *ebb_room_like(ebb_room_reader *reader, const char *pattern, const char *word);

/* Is this UTF-8 character (n bytes) a control character, which could steer a terminal? */
bool ebb_room_is_control(const char *text, size_t n);
/* Bytes of the UTF-8 character at text, at most `left`; for checked text only. */
size_t ebb_room_char_length(const char *text, size_t left);

/* Is the text UTF-8 without control characters? Records the first place where it is not. */
bool ebb_room_is_text(ebb_room_reader *reader, const char *file, const char *text, size_t length);

/* Records that the key of a rule is missing from a record. */
void ebb_room_missing(ebb_room_reader *reader, const ebb_room_record *record,
                      const ebb_room_rule *rule);

/* ---- reading (yaml.c, check.c, check_list.c, value.c, value_list.c)
 * ------------------------------------------------------ */

/*
 * Reads text[0..length) by a form. *record is NULL when the text is no YAML or not a mapping;
 * otherwise it is there even when faults were found in it.
 */
void ebb_room_read(ebb_room_reader *reader, const ebb_room_form *form, const char *text,
                   size_t length, ebb_room_record **record);

/* ---- using records (record.c) ---------------------------------------------------------------- */

/* The field of a key that the form has (asserted). */
const ebb_room_field *ebb_room_get(const ebb_room_record *record, const char *key);
/* The field of any key, numbered ones too; NULL when the form has none or it is not given. */
const ebb_room_field *ebb_room_given(const ebb_room_record *record, const char *key);
/* Its first number, or the fallback when the key is absent or faulty. */
double ebb_room_number(const ebb_room_record *record, const char *key, double fallback);
/* The index of its choice, or the fallback. */
size_t ebb_room_word(const ebb_room_record *record, const char *key, size_t fallback);
/* Is the key absent, and no unknown key was meant to be it? */
bool ebb_room_is_absent(const ebb_room_record *record, const char *key);

#endif
