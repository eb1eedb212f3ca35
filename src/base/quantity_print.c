/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Quantities for people.
 *
 * One table says how each kind looks in metric and imperial units, so that a length looks the same
 * in the terminal, the report and the drawings. Digits are as many as mean something on a building
 * site: a hundredth of a metre, a tenth of an inch, a tenth of a hertz. Kinds that span decades
 * (pressures, flow resistivities) get significant digits and a prefix instead. Everything printed
 * can be read back by ebb_quantity_parse; the tests hold it to that.
 */
#include "unit_table.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define METRIC 1
#define IMPERIAL 2
#define BOTH (METRIC | IMPERIAL)

/* How a kind is printed: the first row that fits kind, units and size. */
typedef struct style {
    ebb_quantity_kind kind;
    int units;
    double below;       /* for absolute SI values below this */
    const char *unit;   /* in the table of units */
    const char *suffix; /* as printed */
    int digits;         /* after the point; negative: so many significant digits */
} style;

static const style styles[] = {
    {EBB_Q_NUMBER, BOTH, INFINITY, NULL, "", -6},
    {EBB_Q_FRACTION, BOTH, INFINITY, "%", " %", 1},
    {EBB_Q_LENGTH, METRIC, 0.1, "mm", " mm", 1},
    {EBB_Q_LENGTH, METRIC, INFINITY, "m", " m", 2},
    {EBB_Q_AREA, METRIC, INFINITY, "m2", " m\xC2\xB2", 2},
    {EBB_Q_AREA, IMPERIAL, INFINITY, "ft2", " ft\xC2\xB2", 1},
    {EBB_Q_MASS, METRIC, INFINITY, "kg", " kg", 1},
    {EBB_Q_MASS, IMPERIAL, INFINITY, "lb", " lb", 1},
    {EBB_Q_AREA_MASS, METRIC, INFINITY, "kg/m2", " kg/m\xC2\xB2", 2},
    {EBB_Q_AREA_MASS, IMPERIAL, INFINITY, "lb/ft2", " lb/ft\xC2\xB2", 2},
    {EBB_Q_DENSITY, METRIC, INFINITY, "kg/m3", " kg/m\xC2\xB3", -4},
    {EBB_Q_DENSITY, IMPERIAL, INFINITY, "lb/ft3", " lb/ft\xC2\xB3", -4},
    {EBB_Q_FREQUENCY, BOTH, INFINITY, "Hz", " Hz", 1},
    {EBB_Q_TIME, BOTH, 0.1, "ms", " ms", 1},
    {EBB_Q_TIME, BOTH, INFINITY, "s", " s", 2},
    {EBB_Q_SPEED, METRIC, INFINITY, "m/s", " m/s", 1},
    {EBB_Q_SPEED, IMPERIAL, INFINITY, "ft/s", " ft/s", 1},
    {EBB_Q_TEMPERATURE, METRIC, INFINITY, "C", " \xC2\xB0\x43", 1},
    {EBB_Q_TEMPERATURE, IMPERIAL, INFINITY, "F", " \xC2\xB0\x46", 1},
    {EBB_Q_PRESSURE, METRIC, 1e3, "Pa", " Pa", -4},
    {EBB_Q_PRESSURE, METRIC, 1e6, "kPa", " kPa", -4},
    {EBB_Q_PRESSURE, METRIC, 1e9, "MPa", " MPa", -4},
    {EBB_Q_PRESSURE, METRIC, INFINITY, "GPa", " GPa", -4},
    {EBB_Q_PRESSURE, IMPERIAL, 2e4, "psf", " psf", -4}, /* loads; above: air, stiffness */
    {EBB_Q_PRESSURE, IMPERIAL, INFINITY, "psi", " psi", -4},
    {EBB_Q_RESISTIVITY, BOTH, 1e3, "Pa.s/m2", " Pa\xC2\xB7s/m\xC2\xB2", -4},
    {EBB_Q_RESISTIVITY, BOTH, INFINITY, "kPa.s/m2", " kPa\xC2\xB7s/m\xC2\xB2", -4},
    {EBB_Q_RESISTANCE, BOTH, 1e4, "Pa.s/m", " Pa\xC2\xB7s/m", -4},
    {EBB_Q_RESISTANCE, BOTH, INFINITY, "kPa.s/m", " kPa\xC2\xB7s/m", -4},
    {EBB_Q_AREA_STIFFNESS, BOTH, 1e3, "Pa/m", " Pa/m", -4},
    {EBB_Q_AREA_STIFFNESS, BOTH, 1e6, "kPa/m", " kPa/m", -4},
    {EBB_Q_AREA_STIFFNESS, BOTH, INFINITY, "MPa/m", " MPa/m", -4},
    {EBB_Q_LEVEL, BOTH, INFINITY, "dB", " dB", 1},
    {EBB_Q_FORCE, METRIC, 1e3, "N", " N", -4},
    {EBB_Q_FORCE, METRIC, INFINITY, "kN", " kN", -4},
    {EBB_Q_FORCE, IMPERIAL, INFINITY, "lbf", " lbf", -4},
};

/* The locale belongs to the caller; the one character that may differ is put right. */
static void point_for_comma(char *text)
{
    char point[16];
    snprintf(point, sizeof point, "%.1f", 0.5);
    point[strlen(point) - 1] = '\0'; /* "0." without the 5 */
    char *found = strstr(text, point + 1);
    if (found == NULL || strcmp(point + 1, ".") == 0)
        return;
    const size_t n = strlen(point + 1);
    *found = '.';
    memmove(found + 1, found + n, strlen(found + n) + 1);
}

/* NULL for imperial lengths, which are two numbers and not one. */
static const style *style_of(ebb_quantity_kind kind, double value, ebb_units units)
{
    const int wanted = units == EBB_UNITS_IMPERIAL ? IMPERIAL : METRIC;
    for (size_t i = 0; i < sizeof styles / sizeof styles[0]; i++) {
        const style *s = &styles[i];
        const bool small = fabs(value) < s->below || isinf(s->below);
        if (s->kind == kind && (s->units & wanted) != 0 && small)
            return s;
    }
    return NULL;
}

/* Digits after the point that leave so many significant ones; whole digits are never cut. */
static int decimals_for(double number, int significant)
{
    if (number == 0)
        return 0;
    const int whole = (int)floor(log10(fabs(number))) + 1;
    const int decimals = significant - whole;
    return decimals < 0 ? 0 : decimals > 12 ? 12 : decimals;
}

/* "40.00" -> "40", for kinds whose digits follow their size. */
static void trim_zeros(char *text)
{
    if (strchr(text, '.') == NULL)
        return;
    char *end = text + strlen(text);
    while (end[-1] == '0')
        *--end = '\0';
    if (end[-1] == '.')
        end[-1] = '\0';
}

/* A number in decimal notation, never with an exponent: clients read these. */
static void print_number(double number, int digits, char *out, size_t size)
{
    const int decimals = digits >= 0 ? digits : decimals_for(number, -digits);
    snprintf(out, size, "%.*f", decimals, number);
    point_for_comma(out);
    if (digits < 0)
        trim_zeros(out);
    if (out[0] == '-' && strspn(out + 1, "0.") == strlen(out + 1))
        memmove(out, out + 1, strlen(out)); /* no "-0.0" */
}

/* Feet, and inches to a tenth; the carry from 11.96 in goes into the feet. Where a double holds no
 * tenths any more, feet alone. */
static void print_feet(double value, char *out, size_t size)
{
    const double tenths = round(fabs(value) / 0.00254);
    const double feet = floor(tenths / 120);
    const char *sign = value < 0 && tenths > 0 ? "-" : "";
    char inches[32];
    print_number((tenths - 120 * feet) / 10, 1, inches, sizeof inches);
    trim_zeros(inches);
    if (feet > 1e12)
        snprintf(out, size, "%s%.0f ft", sign, feet);
    else if (feet > 0)
        snprintf(out, size, "%s%.0f ft %s in", sign, feet, inches);
    else
        snprintf(out, size, "%s%s in", sign, inches);
}

const char *ebb_quantity_print(ebb_quantity_kind kind, double value, ebb_units units, char *out,
                               size_t size)
{
    if (size == 0)
        return out;
    const style *s = style_of(kind, value, units);
    if (!isfinite(value)) {
        snprintf(out, size, "-");
    } else if (s != NULL) {
        const ebb_base_unit *unit = s->unit != NULL ? ebb_base_unit_find(kind, s->unit) : NULL;
        const double number = unit != NULL ? value * unit->over / unit->times - unit->shift : value;
        char digits[400]; /* the largest double has 309 */
        print_number(number, s->digits, digits, sizeof digits);
        snprintf(out, size, "%s%s", digits, s->suffix);
    } else if (kind == EBB_Q_LENGTH) {
        print_feet(value, out, size);
    } else {
        snprintf(out, size, "?");
    }
    return out;
}
