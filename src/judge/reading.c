/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * reading.c - what is read off one configuration: levels, decays, wrong cells, the core rule.
 *
 * A cell is one grid point of one path. It is wrong once, by its level or by the decay of the
 * 1/3-octave band that holds it, so that neither double counting nor the cutting of faults into
 * runs changes the share.
 */
#include <math.h>
#include <string.h>

#include "private.h"

/* Counts over all cells from some frequency upwards. */
typedef struct tally {
    size_t cells, level_wrong, decay_wrong, wrong;
    double worst_level, worst_decay;
} tally;

/* A NAN in a mode would pass as "no mode there" and make a room look better than it is. */
static ebb_status check_modes(ebb_ctx *ctx, const ebb_reading *reading, const ebb_modes *modes)
{
    if (modes->n_sources != reading->n_sources || modes->n_receivers != reading->n_receivers)
        return ebb_fail(ctx, EBB_E_RANGE,
                        "modes of %zu x %zu paths can not be read with responses of %zu x %zu",
                        modes->n_sources, modes->n_receivers, reading->n_sources,
                        reading->n_receivers);
    for (size_t m = 0; m < modes->n; m++) {
        double sum = modes->mode[m].hz + modes->mode[m].delta;
        for (size_t p = 0; p < reading->n_paths; p++)
            sum += ebb_judge_square(modes->residue[m * reading->n_paths + p]);
        if (!isfinite(sum))
            return ebb_fail(ctx, EBB_E_NUMERIC, "mode %zu is not a finite number", m + 1);
    }
    return EBB_OK;
}

static ebb_status check(ebb_ctx *ctx, const ebb_grid *grid, double volume, ebb_reading *reading)
{
    if (reading->n_paths == 0)
        return ebb_fail(ctx, EBB_E_RANGE, "there is no path from a speaker to a seat to judge");
    if (grid->n_cells == 0)
        return ebb_fail(ctx, EBB_E_RANGE,
                        "the judged band is empty or too wide: check the lowest frequency and the "
                        "limits response_highest and decay_highest");
    if (!(volume > 0) || !isfinite(volume))
        return ebb_fail(ctx, EBB_E_RANGE, "a room volume of %g m3 can not be judged", volume);
    return EBB_OK;
}

static ebb_status make_arrays(ebb_ctx *ctx, ebb_arena *arena, const ebb_grid *grid,
                              ebb_reading *reading)
{
    reading->level = EBB_NEW(arena, double, reading->n_paths * grid->n_cells);
    reading->mean = EBB_NEW(arena, double, reading->n_paths);
    reading->decay = EBB_NEW(arena, double, reading->n_paths * grid->n_bands);
    reading->decay_limit = EBB_NEW(arena, double, grid->n_bands);
    if (!reading->level || !reading->mean || !reading->decay || !reading->decay_limit)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory while judging a room");
    return EBB_OK;
}

/* Adds the cells of one grid point, all paths, to a tally. */
static void count_point(const ebb_reading *reading, const ebb_grid *grid, const ebb_limits *limits,
                        size_t c, tally *sum)
{
    int b = grid->band[grid->first + c];
    for (size_t p = 0; p < reading->n_paths; p++) {
        double level = fabs(reading->level[p * grid->n_cells + c]), slow = 0;
        if (b >= 0)
            slow = reading->decay[p * grid->n_bands + (size_t)b] / reading->decay_limit[b];
        bool level_wrong = level > limits->response_deviation, decay_wrong = slow > 1;
        sum->cells++;
        sum->level_wrong += level_wrong;
        sum->decay_wrong += decay_wrong;
        sum->wrong += level_wrong || decay_wrong;
        sum->worst_level = fmax(sum->worst_level, level);
        sum->worst_decay = fmax(sum->worst_decay, slow); /* fmax passes over a NAN */
    }
}

/* A plain quotient of counts: it equals a limit such as 0.9 exactly when the counts say so. */
static double inside_of(const tally *sum)
{
    return (double)(sum->cells - sum->level_wrong) / (double)sum->cells;
}

/* Limits themselves are still right, here and in the margin, which is 0 there. */
static bool core_rule(const tally *sum, const ebb_limits *limits)
{
    return inside_of(sum) >= limits->response_inside &&
           sum->worst_level <= limits->response_worst && sum->worst_decay <= limits->decay_factor;
}

/* From the highest cell down, so that each step holds the counts of all cells from there up: one
 * pass gives the lowest right frequency and, at its end, the totals. */
static tally count_cells(ebb_reading *reading, const ebb_grid *grid, const ebb_limits *limits)
{
    tally sum = {0};
    reading->lowest_right = NAN;
    for (size_t c = grid->n_cells; c-- > 0;) {
        count_point(reading, grid, limits, c, &sum);
        if (core_rule(&sum, limits))
            reading->lowest_right = grid->hz[grid->first + c];
    }
    return sum;
}

/* The margin is the smallest distance to a limit, each as a share of it: >= 0 means right. */
static void settle(ebb_reading *reading, const tally *sum, const ebb_limits *limits)
{
    double cells = (double)sum->cells;
    reading->inside = inside_of(sum);
    reading->worst_level = sum->worst_level;
    reading->worst_decay = sum->worst_decay;
    reading->wrong = (double)sum->wrong / cells;
    reading->wrong_level = (double)sum->level_wrong / cells;
    reading->wrong_decay = (double)sum->decay_wrong / cells;
    reading->right = core_rule(sum, limits);
    double by_share = reading->inside / limits->response_inside - 1;
    double by_level = 1 - reading->worst_level / limits->response_worst;
    double by_decay = 1 - reading->worst_decay / limits->decay_factor;
    reading->margin = fmin(by_share, fmin(by_level, by_decay));
}

static ebb_status fill_levels(ebb_ctx *ctx, const ebb_grid *grid, const double _Complex *h,
                              ebb_reading *reading)
{
    for (size_t p = 0; p < reading->n_paths; p++) {
        /* Any density will do: it drops out of d and of differences between paths. */
        reading->mean[p] =
            ebb_smooth_levels(grid, 1.0, h + p * grid->n_hz, reading->level + p * grid->n_cells);
        if (!isfinite(reading->mean[p]))
            return ebb_fail(ctx, EBB_E_NUMERIC,
                            "the response of speaker %zu at receiver %zu is zero or not a finite "
                            "number",
                            p / reading->n_receivers + 1, p % reading->n_receivers + 1);
    }
    return EBB_OK;
}

static void fill_decays(const ebb_grid *grid, const ebb_limits *limits, ebb_use use, double volume,
                        const ebb_modes *modes, ebb_reading *reading)
{
    for (size_t b = 0; b < grid->n_bands; b++) {
        reading->decay_limit[b] = ebb_decay_limit(limits, use, volume, grid->band_hz[b]);
        for (size_t p = 0; p < reading->n_paths; p++)
            reading->decay[p * grid->n_bands + b] =
                modes ? ebb_judge_decay(modes, p, grid->band_hz[b]) : NAN;
    }
}

ebb_status ebb_reading_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_grid *grid,
                            const ebb_limits *limits, ebb_use use, double volume, size_t n_sources,
                            size_t n_receivers, const double _Complex *h, const ebb_modes *modes,
                            ebb_reading *reading)
{
    ebb_reading made = {
        .n_paths = n_sources * n_receivers, .n_sources = n_sources, .n_receivers = n_receivers};
    memset(reading, 0, sizeof *reading);
    ebb_status status = check(ctx, grid, volume, &made);
    if (status == EBB_OK && modes)
        status = check_modes(ctx, &made, modes);
    if (status == EBB_OK)
        status = make_arrays(ctx, arena, grid, &made);
    if (status == EBB_OK)
        status = fill_levels(ctx, grid, h, &made);
    if (status != EBB_OK)
        return status;
    fill_decays(grid, limits, use, volume, modes, &made);
    tally sum = count_cells(&made, grid, limits);
    settle(&made, &sum, limits);
    *reading = made;
    return EBB_OK;
}
