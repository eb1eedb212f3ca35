/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Boxes built badly.
 *
 * Sizes of the slips are our own assumptions, with no statistics behind them: what is weighed and
 * cut comes out well, rubber, wool and grains scatter. Deviates stop at two standard deviations,
 * for a worst case over an unbounded draw would grow with the number of draws.
 */
#include "private.h"

#include <ebb/judge.h>

#define SD_FRONT 0.03    /* of the logarithm: boards as bought, glue, paint */
#define SD_MOUNT 0.20    /* rubber and foam */
#define SD_WOOL 0.20     /* flow resistivity from batch to batch */
#define SD_UPTAKE 0.40   /* grains of which no batch was measured */
#define SD_MEASURED 0.10 /* grains of a measured batch */
#define SD_LEAK 0.15e-3  /* m, one-sided */
#define SD_PRESSURE 0.015
#define MOST_DEVIATES 2.0

static double held(double deviate)
{
    return fmax(-MOST_DEVIATES, fmin(MOST_DEVIATES, deviate));
}

static double factor(double sd, double deviate)
{
    return exp(sd * held(deviate));
}

/* An unmeasured batch may turn out to be any of those that the stock knows and nobody measured. */
static const ebb_batch *other_batch(const ebb_craft_space *space, size_t i)
{
    if (space->n_batches == 0)
        return NULL;
    const ebb_batch *batch = space->batch[i % space->n_batches];
    return batch->measured ? NULL : batch;
}

ebb_status ebb_craft_slips_make(ebb_ctx *ctx, const ebb_craft_space *space, size_t n, unsigned seed,
                                ebb_craft_slip *slip)
{
    double deviate[EBB_CRAFT_SLIPS * EBB_CRAFT_SLIP_DIMS];
    slip[0] = EBB_CRAFT_NO_SLIP;
    if (n < 2)
        return EBB_OK;
    const ebb_status status = ebb_draws_normal(ctx, n - 1, EBB_CRAFT_SLIP_DIMS, seed, deviate);
    for (size_t i = 1; i < n && status == EBB_OK; i++) {
        const double *x = deviate + (i - 1) * EBB_CRAFT_SLIP_DIMS;
        const ebb_batch *batch = other_batch(space, i);
        slip[i] = (ebb_craft_slip){.front = factor(SD_FRONT, x[0]),
                                   .mount = factor(SD_MOUNT, x[1]),
                                   .wool = factor(SD_WOOL, x[2]),
                                   .uptake = factor(batch ? SD_UPTAKE : SD_MEASURED, x[3]),
                                   .leak = SD_LEAK * fabs(held(x[4])),
                                   .pressure = factor(SD_PRESSURE, x[5]),
                                   .batch = batch};
    }
    return status;
}
