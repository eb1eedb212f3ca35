/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Checks against something outside the project. Every check names its source; with the environment
 * variable EBB_VALIDATION set, each also appends a row to that file, from which docs/validation.md
 * is made (tools/validation).
 */
#ifndef OUTSIDE_H
#define OUTSIDE_H

/* Asserts |got - expected| <= tolerance. `what` names quantity and unit; `source` names the
 * publication or standard, "common practice, no source", or a library, and says "from memory" where
 * the value was not read there. */
void outside_value(const char *what, const char *source, double expected, double got,
                   double tolerance);

/* Asserts got <= limit; for errors against a reference solution. */
void outside_below(const char *what, const char *source, double limit, double got);

/* Asserts that a fact holds; expected and got are shown as texts. */
void outside_fact(const char *what, const char *source, const char *expected, const char *got);

#endif
