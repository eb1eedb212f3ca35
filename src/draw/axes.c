/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "axes.h"

#include <math.h>
#include <stdio.h>

/* Preferred third-octave frequencies of one decade, rounded as the trade writes them
 * (IEC 61260-1 nominal mid-band frequencies). */
static const double THIRDS[10] = {1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0};

double ebb_draw_at(const ebb_draw_axis *axis, double value)
{
    const double part = axis->log ? log(value / axis->low) / log(axis->high / axis->low)
                                  : (value - axis->low) / (axis->high - axis->low);
    return axis->from + part * (axis->to - axis->from);
}

/* One more tick, unless the table is full: an axis so long that it would overflow is unreadable
 * anyway, and its grid still covers the lower end. */
static void tick_add(ebb_draw_ticks *ticks, double value)
{
    if (ticks->n == EBB_DRAW_TICKS) {
        return;
    }
    /* %g rids 31.5 of a trailing zero and keeps 0.05; a minus sign proper reads better. */
    char *text = ticks->text[ticks->n];
    if (value < 0.0) {
        snprintf(text, sizeof ticks->text[0], "\u2212%.4g", -value);
    } else {
        snprintf(text, sizeof ticks->text[0], "%.4g", value);
    }
    ticks->value[ticks->n++] = value;
}

/* Is a value on the axis, forgiving rounding at its ends? */
static bool on_axis(const ebb_draw_axis *axis, double value)
{
    const double slack = 1e-9 * (fabs(axis->high) + fabs(axis->low));
    return value >= axis->low - slack && value <= axis->high + slack;
}

/* Multiples of powers of ten from a table within a logarithmic axis. */
static void ticks_decades(const ebb_draw_axis *axis, size_t n, const double *table,
                          ebb_draw_ticks *ticks)
{
    const int first = (int)floor(log10(axis->low)), last = (int)ceil(log10(axis->high));
    for (int decade = first; decade <= last; decade++) {
        for (size_t i = 0; i < n; i++) {
            const double value = table[i] * pow(10.0, decade);
            if (on_axis(axis, value)) {
                tick_add(ticks, value);
            }
        }
    }
}

/* Musicians and makers of equalisers think in third octaves, so every frequency axis is marked at
 * them rather than at powers of ten. */
void ebb_draw_ticks_third(const ebb_draw_axis *axis, ebb_draw_ticks *ticks)
{
    ticks->n = 0;
    ticks_decades(axis, 10, THIRDS, ticks);
}

/* Nominal octave frequencies can not be made from one factor: 31.5 and 63 are rounded, 125 is not
 * twice 63. Hence a table. */
void ebb_draw_ticks_octave(const ebb_draw_axis *axis, ebb_draw_ticks *ticks)
{
    static const double OCTAVES[] = {31.5,   63.0,   125.0,  250.0,  500.0,
                                     1000.0, 2000.0, 4000.0, 8000.0, 16000.0};
    ticks->n = 0;
    for (size_t i = 0; i < sizeof OCTAVES / sizeof OCTAVES[0]; i++) {
        if (on_axis(axis, OCTAVES[i])) {
            tick_add(ticks, OCTAVES[i]);
        }
    }
}

/* Smallest of 1, 2, 5 times a power of ten that is at least `step`. */
static double round_up(double step)
{
    const double power = pow(10.0, floor(log10(step)));
    const double mantissa = step / power;
    if (mantissa <= 1.0 + 1e-9) {
        return power;
    }
    return mantissa <= 2.0 + 1e-9   ? 2.0 * power
           : mantissa <= 5.0 + 1e-9 ? 5.0 * power
                                    : 10.0 * power;
}

void ebb_draw_ticks_round(const ebb_draw_axis *axis, size_t most, ebb_draw_ticks *ticks)
{
    static const double ONE_TWO_FIVE[3] = {1.0, 2.0, 5.0};
    ticks->n = 0;
    if (axis->log) {
        ticks_decades(axis, 3, ONE_TWO_FIVE, ticks);
    }
    /* A short log axis may hold no such number: then linear steps mark it. */
    if (ticks->n > 1) {
        return;
    }
    ticks->n = 0;
    const double step = round_up((axis->high - axis->low) / (double)(most > 1 ? most : 1));
    const double first = ceil(axis->low / step - 1e-9), last = floor(axis->high / step + 1e-9);
    for (double k = first; k <= last && ticks->n < EBB_DRAW_TICKS; k += 1.0) {
        tick_add(ticks, k == 0.0 ? 0.0 : k * step);
    }
}

void ebb_draw_axis_widen(ebb_draw_axis *axis, double step)
{
    axis->low = step * floor(axis->low / step + 1e-9);
    axis->high = step * ceil(axis->high / step - 1e-9);
    if (axis->high <= axis->low) {
        axis->high = axis->low + step;
    }
}

/* The limits of a treated room are those of the smaller room that the units leave: the drawings
 * must show the curve that was judged against, not that of the bare room. */
double ebb_draw_volume(const ebb_answer *answer)
{
    const double left = ebb_layout_volume(answer->room, &answer->shown->after.layout);
    return left > 0.0 ? left : ebb_room_volume(answer->room);
}
