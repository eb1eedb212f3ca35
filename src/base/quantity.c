/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Numbers with units, read strictly.
 *
 * A job file decides what is bought and hung on walls. Therefore nothing is guessed here: a missing
 * unit, a unit in the wrong case (mPa for MPa is a factor of a thousand million), a decimal comma
 * or anything left over is refused, each with a reason short enough to stand in an error message.
 */
#include "reader.h"
#include "unit_table.h"

#include <math.h>
#include <string.h>

/* Names of the kinds and what they accept, by kind. The tests parse every example between the
 * quotation marks, so that no message ever recommends what is then refused. */
static const struct {
    const char *name, *accepts;
} kinds[EBB_Q_COUNT_OF_KINDS] = {
    [EBB_Q_NUMBER] = {"number", "a plain number such as \"3\" or \"0.25\""},
    [EBB_Q_FRACTION] = {"share", "a share such as \"40 %\" or \"0.4\""},
    [EBB_Q_LENGTH] = {"length", "a length such as \"5.2 m\", \"350 mm\" or \"17 ft 2 in\""},
    [EBB_Q_AREA] = {"area", "an area such as \"1.2 m2\" or \"13 ft2\""},
    [EBB_Q_MASS] = {"mass", "a mass such as \"42 kg\" or \"90 lb\""},
    [EBB_Q_AREA_MASS] = {"mass per area", "a mass per area such as \"4.2 kg/m2\" or \"9 lb/ft2\""},
    [EBB_Q_DENSITY] = {"density", "a density such as \"60 kg/m3\" or \"3.7 lb/ft3\""},
    [EBB_Q_FREQUENCY] = {"frequency", "a frequency such as \"40 Hz\" or \"1.2 kHz\""},
    [EBB_Q_TIME] = {"time", "a time such as \"0.3 s\" or \"300 ms\""},
    [EBB_Q_SPEED] = {"speed", "a speed such as \"343 m/s\" or \"1125 ft/s\""},
    [EBB_Q_TEMPERATURE] = {"temperature", "a temperature such as \"21 C\", \"70 F\" or \"294 K\""},
    [EBB_Q_PRESSURE] = {"pressure", "a pressure such as \"1.9 kPa\", \"3 GPa\" or \"40 psf\""},
    [EBB_Q_RESISTIVITY] = {"flow resistivity", "a flow resistivity such as \"10 kPa.s/m2\""},
    [EBB_Q_RESISTANCE] = {"flow resistance", "a flow resistance such as \"413 Pa.s/m\""},
    [EBB_Q_AREA_STIFFNESS] = {"stiffness per area", "a stiffness per area such as \"480 kPa/m\""},
    [EBB_Q_LEVEL] = {"level", "a level such as \"3 dB\""},
    [EBB_Q_FORCE] = {"force", "a force such as \"0.5 N\""},
};

/* ---- units ----------------------------------------------------------------------------------- */

/* Copies the unit at the reader up to `end` with blanks made dots ("Pa s/m" is "Pa.s/m"). */
static void copy_unit(const char *from, const char *end, char *unit)
{
    for (; from < end; from++) {
        const bool useless = *from == ' ' && (from[1] == '/' || from[1] == '.' || from[-1] == '/' ||
                                              from[-1] == '.');
        if (!useless)
            *unit++ = *from == ' ' ? '.' : *from;
    }
    *unit = '\0';
}

/* Takes the unit that ends at `end`; NULL with a reason. A slip in the case of letters is named,
 * never forgiven: kinds differ in whether it would change the meaning. */
static const ebb_base_unit *read_unit(ebb_base_reader *r, ebb_quantity_kind kind, const char *end)
{
    char name[EBB_BASE_READER_LONGEST];
    if (ebb_base_is_digit(*r->at)) {
        ebb_base_reader_refuse(r, "more than one number: \"%s\" is left over", r->at);
        return NULL;
    }
    copy_unit(r->at, end, name);
    const ebb_base_unit *unit = ebb_base_unit_find(kind, name);
    if (unit != NULL) {
        r->at = end;
        return unit;
    }
    const ebb_base_unit *like = ebb_base_unit_like(kind, name);
    const char *what = kinds[kind].name;
    if (like != NULL)
        ebb_base_reader_refuse(r, "\"%s\" is not a unit of %s; did you mean \"%s\"?", name, what,
                               like->name);
    else
        ebb_base_reader_refuse(r, "\"%s\" is not a unit of %s", name, what);
    return NULL;
}

/* The shift first: degrees Fahrenheit count from 32. */
static double in_si(const ebb_base_unit *unit, double number)
{
    return (number + unit->shift) * unit->times / unit->over;
}

/* ---- kinds ----------------------------------------------------------------------------------- */

static bool parse_number(ebb_base_reader *r, double *value)
{
    if (!ebb_base_reader_number(r, value))
        return false;
    if (*r->at != '\0')
        return ebb_base_reader_refuse(r, "a plain number is wanted, without \"%s\"", r->at);
    return true;
}

/* Shares are written 40 % or 0.4. A bare 40 could mean either of two things a hundredfold apart. */
static bool parse_share(ebb_base_reader *r, double *value)
{
    double number;
    if (!ebb_base_reader_number(r, &number))
        return false;
    if (*r->at == '\0') {
        if (number < 0 || number > 1)
            return ebb_base_reader_refuse(r, "without \"%%\" a share lies between 0 and 1");
        *value = number;
        return true;
    }
    const ebb_base_unit *unit = read_unit(r, EBB_Q_FRACTION, r->text + strlen(r->text));
    if (unit == NULL)
        return false;
    *value = in_si(unit, number);
    return true;
}

/* The end of a unit of length: a run of letters, or one mark. */
static const char *length_unit_end(const char *p)
{
    if (*p == '\'' || *p == '"')
        return p + 1;
    while (*p != '\0' && *p != ' ' && *p != '\'' && *p != '"' && !ebb_base_is_digit(*p))
        p++;
    return p;
}

/* The inches of "17 ft 2 in". Their unit may not be left out: 17' 2 could be a lost mark as well as
 * a lost digit. */
static bool parse_inches(ebb_base_reader *r, double feet, double *inches)
{
    if (!ebb_base_is_digit(*r->at) && *r->at != '.')
        return ebb_base_reader_refuse(r, "\"%s\" is left over after the feet", r->at);
    if (feet != floor(feet))
        return ebb_base_reader_refuse(r, "feet before inches must be a whole number");
    if (!ebb_base_reader_number(r, inches))
        return false;
    (void)ebb_base_reader_fraction(r, inches);
    if (*r->at == '\0')
        return ebb_base_reader_refuse(r, "a unit is missing after the inches");
    const ebb_base_unit *unit = read_unit(r, EBB_Q_LENGTH, length_unit_end(r->at));
    if (unit == NULL)
        return false;
    if (unit != ebb_base_unit_find(EBB_Q_LENGTH, "in") &&
        unit != ebb_base_unit_find(EBB_Q_LENGTH, "\""))
        return ebb_base_reader_refuse(r, "only inches may follow feet, not \"%s\"", unit->name);
    if (*inches >= 12)
        return ebb_base_reader_refuse(r, "inches after feet must be below 12");
    if (*r->at == ' ')
        r->at++;
    return true;
}

/* Lengths have the richest grammar: a sign, feet and inches, fractions of either. The sign belongs
 * to the whole, so that -3 ft 6 in lies below -3 ft. */
static bool parse_length(ebb_base_reader *r, double *value)
{
    const bool negative = *r->at == '-';
    double number, inches = 0;
    if (!ebb_base_reader_number(r, &number))
        return false;
    number = fabs(number);
    (void)ebb_base_reader_fraction(r, &number);
    if (*r->at == '\0')
        return ebb_base_reader_refuse(r, "a unit is missing");
    const ebb_base_unit *unit = read_unit(r, EBB_Q_LENGTH, length_unit_end(r->at));
    if (unit == NULL)
        return false;
    if (*r->at == ' ')
        r->at++;
    const bool feet = strcmp(unit->name, "ft") == 0 || strcmp(unit->name, "'") == 0;
    if (*r->at != '\0' && !feet)
        return ebb_base_reader_refuse(r, "\"%s\" is left over", r->at);
    if (*r->at != '\0' && !parse_inches(r, number, &inches))
        return false;
    if (*r->at != '\0')
        return ebb_base_reader_refuse(r, "\"%s\" is left over", r->at);
    /* Feet and inches are added as inches, so that 8 ft 6 in is 102 in to the last digit. */
    const double size = inches > 0 ? (12 * number + inches) * 254 / 10000 : in_si(unit, number);
    *value = negative ? -size : size;
    return true;
}

/* Every other kind is one number and one unit. */
static bool parse_plain(ebb_base_reader *r, ebb_quantity_kind kind, double *value)
{
    double number;
    if (!ebb_base_reader_number(r, &number))
        return false;
    if (*r->at == '\0')
        return ebb_base_reader_refuse(r, "a unit is missing");
    const ebb_base_unit *unit = read_unit(r, kind, r->text + strlen(r->text));
    if (unit == NULL)
        return false;
    *value = in_si(unit, number);
    return true;
}

bool ebb_quantity_parse(ebb_quantity_kind kind, const char *text, size_t length, double *value,
                        char *why, size_t why_size)
{
    ebb_base_reader r = {.why = why, .why_size = why_size};
    double result = 0;
    if (kind < 0 || kind >= EBB_Q_COUNT_OF_KINDS)
        return ebb_base_reader_refuse(&r, "unknown kind of quantity");
    if (!ebb_base_reader_start(&r, text, length))
        return false;
    if (r.text[0] == '\0')
        return ebb_base_reader_refuse(&r, "there is nothing here");
    bool good;
    if (kind == EBB_Q_NUMBER)
        good = parse_number(&r, &result);
    else if (kind == EBB_Q_FRACTION)
        good = parse_share(&r, &result);
    else if (kind == EBB_Q_LENGTH)
        good = parse_length(&r, &result);
    else
        good = parse_plain(&r, kind, &result);
    if (good && !isfinite(result))
        good = ebb_base_reader_refuse(&r, "\"%s\" is too large", r.text);
    if (good)
        *value = result;
    return good;
}

const char *ebb_quantity_accepts(ebb_quantity_kind kind)
{
    return kind >= 0 && kind < EBB_Q_COUNT_OF_KINDS ? kinds[kind].accepts : "a quantity";
}
