/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A short text being read from the front: first brought into one spelling, then taken number by
 * number. Allocates nothing, so that it may be called from any thread and any loop. */
#ifndef EBB_BASE_READER_H
#define EBB_BASE_READER_H

#include <ebb/status.h>

/* No number with a unit that a person writes is longer; what is, is refused. */
#define EBB_BASE_READER_LONGEST 96

typedef struct ebb_base_reader {
    char text[EBB_BASE_READER_LONGEST]; /* in one spelling, see reader.c */
    const char *at;                     /* what is left of it */
    char *why;                          /* reason of a refusal, may be NULL */
    size_t why_size;
} ebb_base_reader;

/* Starts a reader on text[0..length); false and a reason when the text is too long. */
bool ebb_base_reader_start(ebb_base_reader *r, const char *text, size_t length);
/* Writes the reason of a refusal and returns false, for `return refuse(...)`. */
bool ebb_base_reader_refuse(ebb_base_reader *r, const char *format, ...) EBB_PRINTF(2, 3);
/* Takes a decimal number and one blank behind it. */
bool ebb_base_reader_number(ebb_base_reader *r, double *value);
/* Takes "3/8" behind a whole *value, or "/8" right behind it, and adds or divides. False: there was
 * none, and the reader has not moved. */
bool ebb_base_reader_fraction(ebb_base_reader *r, double *value);
bool ebb_base_is_digit(char c);

#endif
