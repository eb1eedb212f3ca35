/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The rules in words: ranges, and what a value may be. */
#include "form.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* The SI unit of each kind as it is written in a job file. */
static const char *const si_units[EBB_Q_COUNT_OF_KINDS] = {
    [EBB_Q_NUMBER] = "",
    [EBB_Q_FRACTION] = " %",
    [EBB_Q_LENGTH] = " m",
    [EBB_Q_AREA] = " m2",
    [EBB_Q_MASS] = " kg",
    [EBB_Q_AREA_MASS] = " kg/m2",
    [EBB_Q_DENSITY] = " kg/m3",
    [EBB_Q_FREQUENCY] = " Hz",
    [EBB_Q_TIME] = " s",
    [EBB_Q_SPEED] = " m/s",
    [EBB_Q_TEMPERATURE] = " C",
    [EBB_Q_PRESSURE] = " Pa",
    [EBB_Q_RESISTIVITY] = " Pa.s/m2",
    [EBB_Q_RESISTANCE] = " Pa.s/m",
    [EBB_Q_AREA_STIFFNESS] = " Pa/m",
    [EBB_Q_LEVEL] = " dB",
    [EBB_Q_FORCE] = " N",
};

/* SI units whatever the units of the job: the range is the same for everybody, and the unit shown
 * is one the key accepts. Seven digits show every end of a range exactly. */
const char *ebb_room_range(const ebb_room_rule *rule, char *out, size_t size)
{
    const char *unit = si_units[rule->quantity];
    const double scale = rule->quantity == EBB_Q_FRACTION ? 100 : 1;
    const double low = rule->low * scale, high = rule->high * scale;
    snprintf(out, size, "from %.7g%s to %.7g%s", low, unit, high, unit);
    return out;
}

/* "least to most", "at most", or the one number. */
static const char *count_words(const ebb_room_rule *rule, char *out, size_t size)
{
    if (rule->least == rule->most)
        snprintf(out, size, "%zu", rule->most);
    else if (rule->least == 0)
        snprintf(out, size, "at most %zu", rule->most);
    else
        snprintf(out, size, "%zu to %zu", rule->least, rule->most);
    return out;
}

/* "door, window, vent" */
static const char *join_words(ebb_arena *arena, const char *const *words)
{
    const char *text = "";
    for (; *words != NULL && text != NULL; words++)
        text = ebb_arena_format(arena, "%s%s%s", text, *text != '\0' ? ", " : "", *words);
    return text;
}

static const char *join_keys(ebb_arena *arena, const ebb_room_form *form)
{
    const char *text = "";
    for (size_t i = 0; i < form->n && text != NULL; i++)
        text = ebb_arena_format(arena, "%s%s%s", text, i > 0 ? ", " : "", form->rules[i].key);
    return text;
}

static const char *join_kinds(ebb_arena *arena, const ebb_room_rule *rule)
{
    const char *text = "";
    for (size_t i = 0; i < rule->n_forms && text != NULL; i++)
        text =
            ebb_arena_format(arena, "%s%s%s", text, i > 0 ? ", " : "", rule->form[i].rules[0].key);
    return text;
}

/* Phrases made of a list of words. */
static const char *accepts_listed(ebb_arena *arena, const ebb_room_rule *rule)
{
    char count[48];
    count_words(rule, count, sizeof count);
    const char *list;
    switch (rule->kind) {
    case EBB_ROOM_CHOICE:
        list = join_words(arena, rule->words);
        return list != NULL ? ebb_arena_format(arena, "one of %s", list) : NULL;
    case EBB_ROOM_CHOICES:
        list = join_words(arena, rule->words);
        return list != NULL ? ebb_arena_format(arena, "a list of %s of %s", count, list) : NULL;
    case EBB_ROOM_FORM:
        if (rule->n_forms > 1) {
            list = join_kinds(arena, rule);
            return list != NULL ? ebb_arena_format(arena, "a mapping with one of the keys %s", list)
                                : NULL;
        }
        list = join_keys(arena, rule->form);
        return list != NULL ? ebb_arena_format(arena, "a mapping with the keys %s", list) : NULL;
    case EBB_ROOM_FORMS:
        list = join_keys(arena, rule->form);
        return list != NULL
                   ? ebb_arena_format(arena, "a list of %s mappings with the keys %s", count, list)
                   : NULL;
    default:
        list = join_kinds(arena, rule);
        return list != NULL
                   ? ebb_arena_format(arena,
                                      "a list of %s layers, each a mapping with one of the keys %s",
                                      count, list)
                   : NULL;
    }
}

/* Phrases made of one quantity and a range. */
static const char *accepts_measured(ebb_arena *arena, const ebb_room_rule *rule)
{
    char range[80], count[48];
    ebb_room_range(rule, range, sizeof range);
    count_words(rule, count, sizeof count);
    const char *one = ebb_quantity_accepts(rule->quantity);
    switch (rule->kind) {
    case EBB_ROOM_SPAN:
        return ebb_arena_format(arena, "%s, %s, or two of them as [least, most]", one, range);
    case EBB_ROOM_VECTOR:
        return ebb_arena_format(arena, "a list of %s values, each %s, %s", count, one, range);
    case EBB_ROOM_CURVE:
        return ebb_arena_format(arena,
                                "a list of %s pairs [frequency, value], frequencies from %g Hz to "
                                "%g Hz and rising, each value %s, %s",
                                count, EBB_ROOM_CURVE_LOW, EBB_ROOM_CURVE_HIGH, one, range);
    case EBB_ROOM_PAIR:
        return ebb_arena_format(arena,
                                "[frequency, value], the frequency from %g Hz to %g Hz, the value "
                                "%s, %s",
                                EBB_ROOM_CURVE_LOW, EBB_ROOM_CURVE_HIGH, one, range);
    default:
        return ebb_arena_format(arena, "%s, %s", one, range);
    }
}

/* Shapes: points, outlines, heights. */
static const char *accepts_drawn(ebb_arena *arena, const ebb_room_rule *rule)
{
    char range[80], count[48], points[48];
    const ebb_room_rule each = {.least = rule->points[0], .most = rule->points[1]};
    const char *point = rule->width == 3 ? "[x, y, z]" : "[x, y]";
    const char *one = ebb_quantity_accepts(rule->quantity);
    count_words(rule, count, sizeof count);
    count_words(&each, points, sizeof points);
    ebb_room_range(rule, range, sizeof range);
    switch (rule->kind) {
    case EBB_ROOM_POINTS:
        return ebb_arena_format(arena, "a list of %s points %s, each coordinate %s", count, point,
                                one);
    case EBB_ROOM_OUTLINES:
        return ebb_arena_format(arena, "a list of %s lists of %s points %s, each coordinate %s",
                                count, points, point, one);
    default:
        return ebb_arena_format(arena, "%s, %s, or a list of them, or %s", one, range,
                                "a mapping with the keys eaves and ridge, or planes");
    }
}

/* One wording for messages, the schema and the reference, so that they cannot disagree. */
const char *ebb_room_accepts(ebb_arena *arena, const ebb_room_rule *rule)
{
    char count[48];
    count_words(rule, count, sizeof count);
    switch (rule->kind) {
    case EBB_ROOM_TEXT:
        return ebb_arena_format(arena, "a text of %s characters on one line", count);
    case EBB_ROOM_NOTE:
        return ebb_arena_format(arena, "a text of %s characters", count);
    case EBB_ROOM_NAME:
        return ebb_arena_format(arena, "a name of %s characters", count);
    case EBB_ROOM_NAMES:
        return ebb_arena_format(arena, "a list of %s different names", count);
    case EBB_ROOM_FILE:
        return "a plain path below the folder of this file such as \"tables/wall.csv\"";
    case EBB_ROOM_QUANTITY:
    case EBB_ROOM_SPAN:
    case EBB_ROOM_VECTOR:
    case EBB_ROOM_CURVE:
    case EBB_ROOM_PAIR:
        return accepts_measured(arena, rule);
    case EBB_ROOM_POINTS:
    case EBB_ROOM_OUTLINES:
    case EBB_ROOM_HEIGHTS:
        return accepts_drawn(arena, rule);
    case EBB_ROOM_FLAG:
        return "yes or no";
    case EBB_ROOM_PANEL:
        return "a thickness and a material such as \"12.5 mm gypsum\", or a thickness alone";
    case EBB_ROOM_ADMITTANCE:
        return "a number such as 0.01, a list [real, imaginary], or {table: file.csv}";
    case EBB_ROOM_NAMED:
        return ebb_arena_format(arena, "a mapping of %s names, each %s", count, rule->form->what);
    default:
        return accepts_listed(arena, rule);
    }
}
