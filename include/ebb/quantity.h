/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/quantity.h - numbers with units as people write them, and back.
 *
 * Accepted forms: "5.2 m", "350 mm", "17 ft 2 in", "17' 2\"", "9 lb/ft2", "4.2 kg/m2",
 * "10 kPa.s/m2", "40 Hz", "21 C", "70 F", "50 %", "1.9 kPa", "90 lb". A blank between number and
 * unit is optional. Decimal point only, whatever the locale. A bare number is refused for every
 * kind but EBB_Q_NUMBER. NaN and infinity are refused.
 */
#ifndef EBB_QUANTITY_H
#define EBB_QUANTITY_H

#include <ebb/status.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Kinds of quantity and the SI unit in which ebb_quantity_parse returns them. */
typedef enum ebb_quantity_kind {
    EBB_Q_NUMBER,         /* no unit */
    EBB_Q_FRACTION,       /* "40 %" -> 0.40; a bare number 0..1 is accepted too */
    EBB_Q_LENGTH,         /* m (m, cm, mm, um, ft, in, ' and ", and "12 ft 6 in") */
    EBB_Q_AREA,           /* m2 (m2, ft2) */
    EBB_Q_MASS,           /* kg (kg, g, lb) */
    EBB_Q_AREA_MASS,      /* kg/m2 (kg/m2, lb/ft2) */
    EBB_Q_DENSITY,        /* kg/m3 (kg/m3, lb/ft3) */
    EBB_Q_FREQUENCY,      /* Hz (Hz, kHz) */
    EBB_Q_TIME,           /* s (s, ms) */
    EBB_Q_SPEED,          /* m/s (m/s, ft/s) */
    EBB_Q_TEMPERATURE,    /* degrees Celsius (C, F, K) */
    EBB_Q_PRESSURE,       /* Pa (Pa, hPa, kPa, MPa, GPa, N/m2, kN/m2, psi, psf) */
    EBB_Q_RESISTIVITY,    /* Pa s/m2 (Pa.s/m2, kPa.s/m2) */
    EBB_Q_RESISTANCE,     /* Pa s/m (Pa.s/m, kPa.s/m) */
    EBB_Q_AREA_STIFFNESS, /* Pa/m (Pa/m, kPa/m, MPa/m) */
    EBB_Q_LEVEL,          /* dB */
    EBB_Q_FORCE,          /* N (N, kN, lbf) */
    EBB_Q_COUNT_OF_KINDS
} ebb_quantity_kind;

typedef enum ebb_units { EBB_UNITS_METRIC, EBB_UNITS_IMPERIAL } ebb_units;

/*
 * Parses text[0..length) as a quantity of the given kind. Returns true and the SI value in *value;
 * false leaves *value alone and puts a short reason such as `"kg" is not a unit of length` into
 * why[0..why_size) (why may be NULL). Uses no locale, allocates nothing.
 */
EBB_API bool ebb_quantity_parse(ebb_quantity_kind kind, const char *text, size_t length,
                                double *value, char *why, size_t why_size);

/* What is accepted, for error messages: `a length such as "5.2 m", "350 mm" or "17 ft 2 in"`. */
EBB_API const char *ebb_quantity_accepts(ebb_quantity_kind kind);

/*
 * Writes value (SI) for people, in metric or imperial units, into out[0..size), e.g. "2.70 m",
 * "8 ft 10 in", "42.0 kg", "92.6 lb". Returns out. Values that are not finite print as "-".
 * Reading the text back with ebb_quantity_parse gives the value within the digits printed.
 */
EBB_API const char *ebb_quantity_print(ebb_quantity_kind kind, double value, ebb_units units,
                                       char *out, size_t size);

#ifdef __cplusplus
}
#endif
#endif
