/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Any text as a quantity of any kind: no crash, and what is accepted is finite, stays finite when
 * printed, and can be read back. */
#include <ebb/quantity.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_printed(ebb_quantity_kind kind, double value, ebb_units units)
{
    char out[64], why[64];
    double back;
    ebb_quantity_print(kind, value, units, out, sizeof out);
    if (strlen(out) + 1 == sizeof out)
        return; /* cut: a value far beyond anything real */
    if (kind == EBB_Q_FRACTION && strchr(out, '%') == NULL)
        abort();
    if (!ebb_quantity_parse(kind, out, strlen(out), &back, why, sizeof why))
        abort();
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 1)
        return 0;
    const ebb_quantity_kind kind = (ebb_quantity_kind)(data[0] % EBB_Q_COUNT_OF_KINDS);
    char *text = malloc(size); /* of the exact size, so that reading past the end is seen */
    if (text == NULL)
        return 0;
    memcpy(text, data + 1, size - 1);
    double value = 12345;
    char why[40] = "";
    if (!ebb_quantity_parse(kind, text, size - 1, &value, why, sizeof why)) {
        if (value != 12345 || why[0] == '\0')
            abort();
    } else {
        if (!isfinite(value))
            abort();
        check_printed(kind, value, EBB_UNITS_METRIC);
        check_printed(kind, value, EBB_UNITS_IMPERIAL);
    }
    free(text);
    return 0;
}
