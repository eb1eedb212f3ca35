/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "unit_table.h"

#include <string.h>
#include <strings.h>

/* Exact by definition: inch 0.0254 m and pound 0.453 592 37 kg (international yard and pound
 * agreement of 1959), standard gravity 9.806 65 m/s2 (3rd CGPM, 1901); all from memory. Written as
 * ratios of whole numbers, which doubles hold exactly. */
#define SQUARE_FOOT 9290304.0        /* 1e-8 m2 */
#define CUBIC_FOOT 28316846592.0     /* 1e-12 m3 */
#define SQUARE_INCH 64516.0          /* 1e-8 m2 */
#define POUND 45359237.0             /* 1e-8 kg */
#define POUND_FORCE 44482216152605.0 /* 1e-13 N */

static const ebb_base_unit units[] = {
    {EBB_Q_FRACTION, "%", 1, 100, 0},
    {EBB_Q_LENGTH, "m", 1, 1, 0},
    {EBB_Q_LENGTH, "cm", 1, 100, 0},
    {EBB_Q_LENGTH, "mm", 1, 1000, 0},
    {EBB_Q_LENGTH, "um", 1, 1e6, 0},
    {EBB_Q_LENGTH, "ft", 3048, 10000, 0},
    {EBB_Q_LENGTH, "'", 3048, 10000, 0},
    {EBB_Q_LENGTH, "in", 254, 10000, 0},
    {EBB_Q_LENGTH, "\"", 254, 10000, 0},
    {EBB_Q_AREA, "m2", 1, 1, 0},
    {EBB_Q_AREA, "ft2", SQUARE_FOOT, 1e8, 0},
    {EBB_Q_MASS, "kg", 1, 1, 0},
    {EBB_Q_MASS, "g", 1, 1000, 0},
    {EBB_Q_MASS, "lb", POUND, 1e8, 0},
    {EBB_Q_AREA_MASS, "kg/m2", 1, 1, 0},
    {EBB_Q_AREA_MASS, "lb/ft2", POUND, SQUARE_FOOT, 0},
    {EBB_Q_DENSITY, "kg/m3", 1, 1, 0},
    {EBB_Q_DENSITY, "lb/ft3", POUND * 1e4, CUBIC_FOOT, 0},
    {EBB_Q_FREQUENCY, "Hz", 1, 1, 0},
    {EBB_Q_FREQUENCY, "kHz", 1000, 1, 0},
    {EBB_Q_TIME, "s", 1, 1, 0},
    {EBB_Q_TIME, "ms", 1, 1000, 0},
    {EBB_Q_SPEED, "m/s", 1, 1, 0},
    {EBB_Q_SPEED, "ft/s", 3048, 10000, 0},
    {EBB_Q_TEMPERATURE, "C", 1, 1, 0},
    {EBB_Q_TEMPERATURE, "F", 5, 9, -32},
    {EBB_Q_TEMPERATURE, "K", 1, 1, -273.15},
    {EBB_Q_PRESSURE, "Pa", 1, 1, 0},
    {EBB_Q_PRESSURE, "hPa", 100, 1, 0},
    {EBB_Q_PRESSURE, "kPa", 1000, 1, 0},
    {EBB_Q_PRESSURE, "MPa", 1e6, 1, 0},
    {EBB_Q_PRESSURE, "GPa", 1e9, 1, 0},
    {EBB_Q_PRESSURE, "N/m2", 1, 1, 0},
    {EBB_Q_PRESSURE, "kN/m2", 1000, 1, 0},
    {EBB_Q_PRESSURE, "psi", POUND_FORCE, 1e5 * SQUARE_INCH, 0},
    {EBB_Q_PRESSURE, "psf", POUND_FORCE, 1e5 * SQUARE_FOOT, 0},
    {EBB_Q_RESISTIVITY, "Pa.s/m2", 1, 1, 0},
    {EBB_Q_RESISTIVITY, "kPa.s/m2", 1000, 1, 0},
    {EBB_Q_RESISTANCE, "Pa.s/m", 1, 1, 0},
    {EBB_Q_RESISTANCE, "kPa.s/m", 1000, 1, 0},
    {EBB_Q_AREA_STIFFNESS, "Pa/m", 1, 1, 0},
    {EBB_Q_AREA_STIFFNESS, "kPa/m", 1000, 1, 0},
    {EBB_Q_AREA_STIFFNESS, "MPa/m", 1e6, 1, 0},
    {EBB_Q_LEVEL, "dB", 1, 1, 0},
    {EBB_Q_FORCE, "N", 1, 1, 0},
    {EBB_Q_FORCE, "kN", 1000, 1, 0},
    {EBB_Q_FORCE, "lbf", POUND_FORCE, 1e13, 0},
};

#define N_UNITS (sizeof units / sizeof units[0])

const ebb_base_unit *ebb_base_unit_find(ebb_quantity_kind kind, const char *name)
{
    for (size_t i = 0; i < N_UNITS; i++)
        if (units[i].kind == kind && strcmp(units[i].name, name) == 0)
            return &units[i];
    return NULL;
}

const ebb_base_unit *ebb_base_unit_like(ebb_quantity_kind kind, const char *name)
{
    for (size_t i = 0; i < N_UNITS; i++)
        if (units[i].kind == kind && strcasecmp(units[i].name, name) == 0)
            return &units[i];
    return NULL;
}
