/* SPDX-License-Identifier: GPL-3.0-or-later */
/* mid.c - decay in the middle band before and after, against its mask. */
#include "axes.h"

#include <math.h>

static const ebb_draw_style BEFORE = {
    .ink = EBB_INK_BEFORE, .width = 1.0, .dash = {3.0, 1.5}, .marker = EBB_DRAW_RING};
static const ebb_draw_style AFTER = {
    .ink = EBB_INK_AFTER, .width = 2.0, .marker = EBB_DRAW_DIAMOND};
static const double OCTAVES[EBB_OCTAVES] = {125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0};

/* Lower and upper end of the mask per octave. */
typedef struct mask {
    double low[EBB_OCTAVES], high[EBB_OCTAVES];
} mask;

/* Masks are given by octave, and differ by use: music has one about the target of listening rooms,
 * voice one about that of rooms for speech. */
static mask mask_of(const ebb_answer *answer)
{
    mask m;
    const double volume = ebb_draw_volume(answer);
    for (int i = 0; i < EBB_OCTAVES; i++) {
        double ends[2];
        ebb_mid_mask(&answer->limits, answer->shown->use, volume, i, ends);
        m.low[i] = ends[0];
        m.high[i] = ends[1];
    }
    return m;
}

/* Steps one octave wide: a mask holds for the whole band, not only at its middle. */
static void draw_mask(const ebb_draw_chart *chart, const mask *m)
{
    for (int i = 0; i < EBB_OCTAVES; i++) {
        const double left = ebb_draw_at(&chart->x, OCTAVES[i] / sqrt(2.0));
        const double right = ebb_draw_at(&chart->x, OCTAVES[i] * sqrt(2.0));
        /* An octave without an upper limit is open to the top. */
        const double high = isfinite(m->high[i]) ? m->high[i] : chart->y.high;
        const double top = ebb_draw_at(&chart->y, high);
        const double bottom = ebb_draw_at(&chart->y, fmax(m->low[i], chart->y.low));
        const ebb_frame box = {left, top, right - left, bottom - top};
        if (isfinite(box.y) && box.height > 0.0) {
            ebb_draw_fill(chart->cr, EBB_INK_BAND, &box);
        }
    }
}

/* The axis starts at 0 s: a decay is an amount, and half of it must look like half. */
static double highest(const ebb_treatment *shown, const mask *m)
{
    double most = 0.2;
    for (int i = 0; i < EBB_OCTAVES; i++) {
        const double values[3] = {shown->before.mid.t60[i], shown->after.mid.t60[i], m->high[i]};
        for (int k = 0; k < 3; k++) {
            most = isfinite(values[k]) ? fmax(most, values[k]) : most;
        }
    }
    return most;
}

/* Lines and marks in two goes, as marks are drawn after the clip has ended. */
static void draw_case(const ebb_draw_chart *chart, const ebb_draw_style *style, const ebb_mid *mid,
                      bool marks)
{
    double t[EBB_OCTAVES];
    for (int i = 0; i < EBB_OCTAVES; i++) {
        /* 0 means "not calculated". */
        t[i] = mid->t60[i] > 0.0 ? mid->t60[i] : NAN;
    }
    if (marks) {
        ebb_draw_marks(chart, style, EBB_OCTAVES, OCTAVES, t);
    } else {
        ebb_draw_curve(chart, style, EBB_OCTAVES, OCTAVES, t);
    }
}

ebb_status ebb_draw_mid(ebb_ctx *ctx, cairo_t *cr, const ebb_frame *frame, const ebb_answer *answer)
{
    ebb_status status = ebb_draw_room_for(ctx, frame);
    if (status != EBB_OK) {
        return status;
    }
    static const ebb_treatment NOTHING;
    ebb_answer view = *answer;
    if (!view.shown) {
        view.shown = &NOTHING;
    }
    static const ebb_draw_key KEYS[] = {
        {"before",
         {.ink = EBB_INK_BEFORE, .width = 1.0, .dash = {3.0, 1.5}, .marker = EBB_DRAW_RING}},
        {"after", {.ink = EBB_INK_AFTER, .width = 2.0, .marker = EBB_DRAW_DIAMOND}},
        {"mask for this use and size", {.ink = EBB_INK_BAND, .area = true}}};
    ebb_draw_chart chart = {.cr = cr,
                            .title = "Reverberation of the middle band",
                            .x_label = "octave band, Hz",
                            .y_label = "decay time T60, s",
                            .x_ticks = EBB_DRAW_OCTAVES,
                            .n_keys = 3,
                            .keys = KEYS};
    const mask m = mask_of(&view);
    chart.x = (ebb_draw_axis){.low = 125.0 / sqrt(2.0), .high = 4000.0 * sqrt(2.0), .log = true};
    chart.y = (ebb_draw_axis){.low = 0.0, .high = 1.05 * highest(view.shown, &m)};
    ebb_draw_axis_widen(&chart.y, 0.1);
    ebb_draw_chart_open(&chart, frame);
    draw_mask(&chart, &m);
    ebb_draw_chart_grid(&chart);
    ebb_draw_chart_clip(&chart);
    draw_case(&chart, &BEFORE, &view.shown->before.mid, false);
    draw_case(&chart, &AFTER, &view.shown->after.mid, false);
    ebb_draw_chart_close(&chart);
    draw_case(&chart, &BEFORE, &view.shown->before.mid, true);
    draw_case(&chart, &AFTER, &view.shown->after.mid, true);
    return ebb_draw_check(ctx, cr);
}
