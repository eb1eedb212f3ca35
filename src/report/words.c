/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "words.h"

#include "column.h"

#include <ebb/version.h>
#include <glib.h>
#include <math.h>
#include <string.h>

#define DASH "\u2013"

/* Characters that would move the cursor, colour the terminal or turn the line around. */
static bool harmful(gunichar c)
{
    return c < 0x20 || (c >= 0x7f && c < 0xa0) || c == 0x200e || c == 0x200f ||
           (c >= 0x2028 && c <= 0x202e) || (c >= 0x2066 && c <= 0x2069) || c == 0xfeff;
}

/* Job files are valid UTF-8 when the reader has checked them, but answers may be filled in by other
 * programs too. */
const char *ebb_report_clean(ebb_arena *arena, const char *text, const char *empty)
{
    const size_t length = text ? strlen(text) : 0;
    /* A broken byte becomes U+FFFD, three bytes long. */
    char *clean = EBB_NEW(arena, char, 3 * length + 1);
    if (!clean) {
        return NULL;
    }
    size_t n = 0, i = 0;
    while (i < length) {
        const gunichar c = g_utf8_get_char_validated(text + i, (gssize)(length - i));
        if (c == (gunichar)-1 || c == (gunichar)-2) {
            n += (size_t)g_unichar_to_utf8(0xfffd, clean + n);
            i++;
            continue;
        }
        i += (size_t)(g_utf8_next_char(text + i) - (text + i));
        if (harmful(c)) {
            clean[n++] = ' ';
        } else {
            n += (size_t)g_unichar_to_utf8(c, clean + n);
        }
    }
    clean[n] = '\0';
    return n ? clean : ebb_arena_text(arena, empty);
}

const char *ebb_report_room_name(ebb_arena *arena, const ebb_answer *answer)
{
    const size_t most = 60;
    const char *name = ebb_report_clean(arena, answer->room->name, "(unnamed room)");
    if (!name || ebb_report_width(name, strlen(name)) <= most) {
        return name;
    }
    return ebb_arena_format(arena, "%.*s\u2026", (int)ebb_report_cut(name, most - 1), name);
}

/* Whole percent: a model of a room is not better than that. */
const char *ebb_report_percent(ebb_arena *arena, double share)
{
    return isfinite(share) ? ebb_arena_format(arena, "%.0f %%", 100.0 * share)
                           : ebb_arena_text(arena, DASH);
}

const char *ebb_report_quantity(ebb_arena *arena, ebb_quantity_kind kind, double value,
                                ebb_units units)
{
    char text[64];
    if (!isfinite(value)) {
        return ebb_arena_text(arena, DASH);
    }
    return ebb_arena_text(arena, ebb_quantity_print(kind, value, units, text, sizeof text));
}

const char *ebb_report_measure(ebb_arena *arena, double metres, ebb_units units)
{
    if (units == EBB_UNITS_IMPERIAL || !isfinite(metres)) {
        return ebb_report_quantity(arena, EBB_Q_LENGTH, metres, units);
    }
    /* A tape is read in millimetres; the general form has only centimetres from 0.1 m up. */
    const double mm = round(1000.0 * metres);
    return ebb_arena_format(arena, "%.0f mm", mm == 0.0 ? 0.0 : mm);
}

const char *ebb_report_mass(ebb_arena *arena, double kg, ebb_units units)
{
    char text[64];
    if (!isfinite(kg)) {
        return ebb_arena_text(arena, DASH);
    }
    ebb_quantity_print(EBB_Q_MASS, kg, units, text, sizeof text);
    /* Tenths of a kilogram say nothing about a wall of absorbers. */
    char *point = strchr(text, '.'), *blank = strchr(text, ' ');
    if (point && blank && point < blank) {
        const double number = g_ascii_strtod(text, NULL);
        return ebb_arena_format(arena, "%.0f%s", number, blank);
    }
    return ebb_arena_text(arena, text);
}

const char *ebb_report_hz(ebb_arena *arena, double hz)
{
    return isfinite(hz) ? ebb_arena_format(arena, "%.0f Hz", hz) : ebb_arena_text(arena, "none");
}

/* The job does not say in which money; a number alone is honest. */
const char *ebb_report_money(ebb_arena *arena, double cost)
{
    return isfinite(cost) && cost > 0.0 ? ebb_arena_format(arena, "%.0f", cost)
                                        : ebb_arena_text(arena, DASH);
}

/* Little was wrong before, or nothing is known after: two things that one dash would confuse. */
const char *ebb_report_mended(ebb_arena *arena, const ebb_treatment *treatment)
{
    const bool known = treatment->before.reading.level && treatment->after.reading.level;
    if (known && !isfinite(treatment->mended)) {
        return ebb_arena_text(arena, "nothing to mend");
    }
    return ebb_report_percent(arena, known ? treatment->mended : NAN);
}

const char *ebb_report_from(ebb_arena *arena, const ebb_case *one)
{
    return one->reading.level ? ebb_report_hz(arena, one->reading.lowest_right)
                              : ebb_arena_text(arena, DASH);
}

/* Number of faults of a case; empty lists of cases that were not calculated say nothing. */
static const char *fault_count(ebb_arena *arena, const ebb_case *one)
{
    return one->reading.level ? ebb_arena_format(arena, "%zu", one->faults.n)
                              : ebb_arena_text(arena, DASH);
}

const char *ebb_report_fault_counts(ebb_arena *arena, const ebb_treatment *treatment)
{
    const char *before = fault_count(arena, &treatment->before);
    const char *after = fault_count(arena, &treatment->after);
    return before && after ? ebb_arena_format(arena, "%s \u2192 %s", before, after) : NULL;
}

/* Answers without a shown treatment are told like all others, with dashes for what is missing. */
const ebb_treatment *ebb_report_shown(const ebb_answer *answer)
{
    static const ebb_treatment NOTHING = {
        .mended = NAN, .mended_level = NAN, .mended_decay = NAN, .stopper = ""};
    return answer->shown ? answer->shown : &NOTHING;
}

const char *ebb_report_use(ebb_use use)
{
    return use == EBB_USE_VOICE ? "voice" : "music";
}

const char *ebb_report_verdict(const ebb_answer *answer)
{
    switch (answer->verdict) {
    case EBB_MUSIC:
        return "can be made right for music";
    case EBB_VOICE:
        return answer->music.asked ? "can be made right for voice, not for music"
                                   : "can be made right for voice";
    case EBB_NO:
        break;
    }
    /* A search is not a proof: "can not" would claim too much. */
    if (answer->music.asked && answer->voice.asked) {
        return "no plan we found makes it right, neither for music nor for voice";
    }
    return answer->voice.asked ? "no plan we found makes it right for voice"
                               : "no plan we found makes it right";
}

ebb_ink ebb_report_verdict_ink(const ebb_answer *answer)
{
    return answer->verdict == EBB_MUSIC   ? EBB_INK_MUSIC
           : answer->verdict == EBB_VOICE ? EBB_INK_VOICE
                                          : EBB_INK_NO;
}

/* How sure is told in draws that agree: a bare percentage would not say of what. */
const char *ebb_report_sure(ebb_arena *arena, const ebb_answer *answer)
{
    const size_t draws = ebb_report_shown(answer)->odds.draws;
    if (draws == 0) {
        return ebb_arena_text(arena, "not tested by draws");
    }
    if (!answer->near_border) {
        return ebb_arena_format(arena, "sure: %.0f %% of %zu draws agree", 100.0 * answer->sure,
                                draws);
    }
    const char *decider = answer->decider ? answer->decider : "";
    return ebb_arena_format(arena, "near the border: %.0f %% of %zu draws agree%s%s",
                            100.0 * answer->sure, draws, *decider ? "; what decides: " : "",
                            decider);
}

/* Do two stretches of frequency touch within a sixth of an octave? */
static bool overlap(const ebb_fault *a, const ebb_fault *b)
{
    const double slack = pow(2.0, 1.0 / 6.0);
    return a->low <= b->high * slack && b->low <= a->high * slack;
}

/* Faults have no names of their own: the same kind in the same stretch counts as the same fault. */
const ebb_fault *ebb_report_rest(const ebb_fault *fault, const ebb_faults *after)
{
    const ebb_fault *rest = NULL;
    for (size_t i = 0; i < after->n; i++) {
        const ebb_fault *other = &after->fault[i];
        const bool same = other->kind == fault->kind && overlap(fault, other);
        if (same && (!rest || other->size > rest->size)) {
            rest = other;
        }
    }
    return rest;
}

bool ebb_report_is_new(const ebb_fault *fault, const ebb_faults *before)
{
    return ebb_report_rest(fault, before) == NULL;
}

/* Deviations carry their sign, spreads have none. */
const char *ebb_report_reading(ebb_arena *arena, ebb_fault_kind kind, double value)
{
    if (!isfinite(value)) {
        return ebb_arena_text(arena, DASH);
    }
    switch (kind) {
    case EBB_FAULT_RING:
    case EBB_FAULT_SLOW:
    case EBB_FAULT_DRY:
        return ebb_arena_format(arena, "%.2f s", value);
    case EBB_FAULT_PEAK:
    case EBB_FAULT_DIP:
    case EBB_FAULT_GAP:
        return ebb_arena_format(arena, "%+.1f dB", value);
    case EBB_FAULT_SPREAD:
        return ebb_arena_format(arena, "%.1f dB", value);
    case EBB_FAULT_SPEECH:
        break;
    }
    return ebb_arena_format(arena, "%.2f", value);
}

const char *ebb_report_trace(ebb_arena *arena, const ebb_answers *answers)
{
    const char *file = ebb_report_clean(arena, answers->job->file, "(no file)");
    const ebb_effort *effort = answers->effort;
    if (!file || !effort) {
        return file ? ebb_arena_format(arena, "Ebb %s, input %s", ebb_version(), file) : NULL;
    }
    return ebb_arena_format(arena, "Ebb %s, input %s, seed %u, %zu starts, %zu draws",
                            ebb_version(), file, effort->seed, effort->starts, effort->draws);
}

ebb_units ebb_report_units(const ebb_answers *answers, int units)
{
    return units < 0 ? answers->job->units : (ebb_units)units;
}
