/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Can a box, and a plate, be built? The ranges are wide: they catch slips of unit and sign.
 */
#include "network.h"
#include "plate.h"

#include <stdio.h>

#define FIT 1e-6 /* m that layers may be thicker than their space: sums of rounded numbers */

typedef struct limit {
    const char *what;
    double value, low, high;
    const char *unit;
} limit;

/* The first value outside its range is reported; written so that NaN fails. */
static ebb_status within(ebb_ctx *ctx, const char *where, size_t n, const limit *limits)
{
    for (size_t i = 0; i < n; i++) {
        const limit *l = &limits[i];
        if (!(l->value >= l->low && l->value <= l->high))
            return ebb_fail(ctx, EBB_E_RANGE, "%s: %s is %g, must lie between %g and %g%s%s", where,
                            l->what, l->value, l->low, l->high, *l->unit ? " " : "", l->unit);
    }
    return EBB_OK;
}
#define WITHIN(ctx, where, limits) within(ctx, where, sizeof(limits) / sizeof *(limits), limits)

/* Stiffness and loss matter only for boards that bend. */
static ebb_status check_board(ebb_ctx *ctx, const char *where, const ebb_board *board, bool bends)
{
    const limit solid[] = {{"board thickness", board->thickness, 1e-4, 0.5, "m"},
                           {"board density", board->density, 1, 25000, "kg/m3"}};
    const limit elastic[] = {{"board modulus", board->modulus, 1e5, 1e12, "Pa"},
                             {"board poisson", board->poisson, 0, 0.49, ""},
                             {"board loss", board->loss, 0, 1, ""}};
    const ebb_status status = WITHIN(ctx, where, solid);
    return status == EBB_OK && bends ? WITHIN(ctx, where, elastic) : status;
}

/* A plate without any support at its rim would float away; a front that moves as one may. */
static ebb_status check_mount(ebb_ctx *ctx, const char *where, const ebb_mount *mount, bool bends)
{
    const limit limits[] = {
        {"mount stiffness", mount->stiffness, bends ? 1e-3 : 0, 1e18, "N/m per m"},
        {"mount rotation", mount->rotation, 0, 1e18, "N.m/rad per m"},
        {"mount loss", mount->loss, 0, 2, ""}};
    return WITHIN(ctx, where, limits);
}

ebb_status ebb_layers_plate_check(ebb_ctx *ctx, const double side[2], const ebb_board *board,
                                  double added, const ebb_mount *mount, size_t order)
{
    const limit limits[] = {{"first side", side[0], 0.01, 30, "m"},
                            {"second side", side[1], 0.01, 30, "m"},
                            {"added mass", added, 0, 5000, "kg/m2"},
                            {"number of functions", (double)order, 1, EBB_PLATE_ORDER, ""}};
    ebb_status status = WITHIN(ctx, "plate", limits);
    if (status == EBB_OK)
        status = check_board(ctx, "plate", board, true);
    return status == EBB_OK ? check_mount(ctx, "plate", mount, true) : status;
}

static ebb_status check_front(ebb_ctx *ctx, const char *where, const ebb_front *front)
{
    const limit limits[] = {{"mass", front->mass, 0, 5000, "kg/m2"},
                            {"resistance", front->resistance, 0, 1e7, "Pa.s/m"}};
    ebb_status status = WITHIN(ctx, where, limits);
    if (status == EBB_OK && front->board.thickness != 0)
        status = check_board(ctx, where, &front->board, front->bends);
    if (status == EBB_OK && front->bends && front->board.thickness == 0)
        status = ebb_fail(ctx, EBB_E_RANGE, "%s: it cannot bend without a board", where);
    if (status == EBB_OK && !(ebb_layers_front_mass(front) >= 1e-3))
        status = ebb_fail(ctx, EBB_E_RANGE,
                          "%s: mass is missing: it needs a board or a mass above 0 kg/m2", where);
    return status == EBB_OK ? check_mount(ctx, where, &front->mount, front->bends) : status;
}

/* Layers must be fluids and fit into their space. */
static ebb_status check_space(ebb_ctx *ctx, const char *where, double depth, size_t n,
                              const ebb_layer *layers)
{
    if (n > 0 && !layers)
        return ebb_fail(ctx, EBB_E_RANGE, "%s: the layers are missing", where);
    if (n > 16)
        return ebb_fail(ctx, EBB_E_RANGE, "%s: %zu layers, at most 16 are possible", where, n);
    char prefix[80];
    snprintf(prefix, sizeof prefix, "%s, ", where);
    for (size_t i = 0; i < n; i++) {
        const ebb_status status = ebb_layers_check(ctx, &layers[i], prefix, i + 1);
        if (status != EBB_OK)
            return status;
        if (layers[i].kind != EBB_LAYER_AIR && layers[i].kind != EBB_LAYER_POROUS &&
            layers[i].kind != EBB_LAYER_GRANULAR)
            return ebb_fail(ctx, EBB_E_RANGE,
                            "%s: layer %zu is neither air nor porous nor granular", where, i + 1);
    }
    const double thickness = ebb_layers_depth(n, layers);
    if (thickness > depth + FIT)
        return ebb_fail(ctx, EBB_E_RANGE,
                        "%s does not fit: its layers are %g m thick together, there are %g m",
                        where, thickness, depth);
    return EBB_OK;
}

static ebb_status check_depths(ebb_ctx *ctx, const ebb_cabinet *cabinet, size_t index)
{
    const ebb_cell *cell = &cabinet->cell[index];
    const size_t number = index + 1;
    const double cavity = ebb_cabinet_cavity(cabinet, index);
    char where[60];
    if (cell->n_fronts == 1 && (cell->gap != 0 || cell->n_between > 0))
        return ebb_fail(ctx, EBB_E_RANGE, "cell %zu: a gap needs two fronts", number);
    if (cell->n_fronts == 2 && !(cell->gap >= 1e-3 && cell->gap < cabinet->size[2]))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "cell %zu: gap is %g, must lie between 0.001 m and the depth of the box, "
                        "%g m",
                        number, cell->gap, cabinet->size[2]);
    if (!(cavity >= 1e-3))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "cell %zu: fronts, gap and back take %g m of %g m depth, no cavity is left",
                        number, cabinet->size[2] - cavity, cabinet->size[2]);
    snprintf(where, sizeof where, "cell %zu, between the fronts", number);
    const ebb_status status =
        cell->n_fronts > 1 ? check_space(ctx, where, cell->gap, cell->n_between, cell->between)
                           : EBB_OK;
    snprintf(where, sizeof where, "cell %zu, fill", number);
    return status == EBB_OK ? check_space(ctx, where, cavity, cell->n_fill, cell->fill) : status;
}

static ebb_status check_cell(ebb_ctx *ctx, const ebb_cabinet *cabinet, size_t index)
{
    const ebb_cell *cell = &cabinet->cell[index];
    const size_t number = index + 1;
    char where[60];
    double side[2];
    if (cell->n_fronts < 1 || cell->n_fronts > EBB_FRONTS)
        return ebb_fail(ctx, EBB_E_RANGE, "cell %zu: %zu fronts, must be 1 or %d", number,
                        cell->n_fronts, EBB_FRONTS);
    for (size_t k = 0; k < cell->n_fronts; k++) {
        snprintf(where, sizeof where, "cell %zu, %sfront", number,
                 cell->n_fronts == 1 ? ""
                 : k == 0            ? "outer "
                                     : "inner ");
        const ebb_status status = check_front(ctx, where, &cell->front[k]);
        if (status != EBB_OK)
            return status;
    }
    ebb_cabinet_opening(cabinet, index, side);
    if (!(side[0] >= 0.01 && side[1] >= 0.01))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "cell %zu: walls and rims leave an opening of %g x %g m, it needs 0.01 m",
                        number, side[0], side[1]);
    snprintf(where, sizeof where, "cell %zu", number);
    const limit leak[] = {{"leak", cell->leak, 0, 0.1, "m"},
                          {"leak path", cell->leak_path, cell->leak > 0 ? 1e-4 : 0, 1, "m"}};
    const ebb_status status = WITHIN(ctx, where, leak);
    return status == EBB_OK ? check_depths(ctx, cabinet, index) : status;
}

static ebb_status check_box(ebb_ctx *ctx, const ebb_cabinet *cabinet)
{
    const limit limits[] = {{"width", cabinet->size[0], 0.02, 30, "m"},
                            {"height", cabinet->size[1], 0.02, 30, "m"},
                            {"depth", cabinet->size[2], 0.005, 10, "m"},
                            {"braces across the width", cabinet->brace[0], 0, 50, ""},
                            {"braces across the height", cabinet->brace[1], 0, 50, ""},
                            {"rim", cabinet->rim, 0, 5, "m"},
                            {"frame", cabinet->frame, 0, 1e4, "kg"},
                            {"extra", cabinet->extra, 0, 1e4, "kg"},
                            {"air loss", cabinet->air_loss, 0, 1, ""}};
    const ebb_status status = WITHIN(ctx, "box", limits);
    return status == EBB_OK ? check_board(ctx, "box, walls", &cabinet->wall, !cabinet->rigid)
                            : status;
}

ebb_status ebb_cabinet_check(ebb_ctx *ctx, const ebb_cabinet *cabinet)
{
    ebb_status status = check_box(ctx, cabinet);
    if (status != EBB_OK)
        return status;
    if (cabinet->n_cells < 1 || cabinet->n_cells > 16 || !cabinet->cell)
        return ebb_fail(ctx, EBB_E_RANGE, "box: %zu cells, must be 1 to 16", cabinet->n_cells);
    double sum = 0;
    for (size_t i = 0; i < cabinet->n_cells; i++) {
        const double share = cabinet->cell[i].share;
        if (!(share > 0 && share <= 1))
            return ebb_fail(ctx, EBB_E_RANGE, "cell %zu: share is %g, must lie above 0 and up to 1",
                            i + 1, share);
        sum += share;
    }
    if (fabs(sum - 1) > 1e-6)
        return ebb_fail(ctx, EBB_E_RANGE, "box: the shares of its cells add up to %g, not 1", sum);
    for (size_t i = 0; status == EBB_OK && i < cabinet->n_cells; i++)
        status = check_cell(ctx, cabinet, i);
    return status;
}

bool ebb_layers_prepared(const ebb_cabinet *cabinet)
{
    if (!cabinet->rigid && !cabinet->wall_plate)
        return false;
    for (size_t i = 0; i < cabinet->n_cells; i++)
        for (size_t k = 0; k < cabinet->cell[i].n_fronts; k++)
            if (cabinet->cell[i].front[k].bends && !cabinet->cell[i].front[k].plate)
                return false;
    return true;
}
