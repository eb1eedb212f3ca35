/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "outside.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void record(const char *what, const char *source, const char *expected, const char *got)
{
    const char *path = getenv("EBB_VALIDATION");
    if (!path)
        return;
    FILE *file = fopen(path, "a");
    if (!file)
        return;
    fprintf(file, "%s\t%s\t%s\t%s\n", what, source, expected, got);
    fclose(file);
}

void outside_value(const char *what, const char *source, double expected, double got,
                   double tolerance)
{
    char want[64], have[64];
    snprintf(want, sizeof want, "%.5g +- %.2g", expected, tolerance);
    snprintf(have, sizeof have, "%.5g", got);
    record(what, source, want, have);
    if (!(fabs(got - expected) <= tolerance))
        fail_msg("%s (%s): expected %.10g +- %g, got %.10g", what, source, expected, tolerance,
                 got);
}

void outside_below(const char *what, const char *source, double limit, double got)
{
    char want[64], have[64];
    snprintf(want, sizeof want, "<= %.4g", limit);
    snprintf(have, sizeof have, "%.2g", got);
    record(what, source, want, have);
    if (!(got <= limit))
        fail_msg("%s (%s): expected at most %g, got %g", what, source, limit, got);
}

void outside_fact(const char *what, const char *source, const char *expected, const char *got)
{
    record(what, source, expected, got);
    if (strcmp(expected, got) != 0)
        fail_msg("%s (%s): expected %s, got %s", what, source, expected, got);
}
