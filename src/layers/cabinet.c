/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Boxes: geometry, preparation, admittance, weight, static compliance.
 */
#include "network.h"

#define TWO_PI 6.28318530717958647692

/* Walls are glued or screwed along all edges to boards that are pushed outwards as they are, so
 * they are nearly clamped. In units of their own stiffness, our choice: */
#define WALL_HOLD 1e6    /* rim stiffness times side^3/D */
#define WALL_CLAMP 1e2   /* the same against turning, times side/D */
#define WALL_ORDER 6     /* enough for the first modes of a wall */
#define BRACE_DEPTH 0.05 /* m, of a batten of wall board that stands on edge */
#define SLOW_HZ 1e-4     /* "static" */

double ebb_mount_bending(double modulus, double thickness, double free_width)
{
    const double ratio = thickness / free_width;
    return modulus * ratio * ratio * ratio;
}

double ebb_mount_pressed(double modulus, double thickness, double width)
{
    return modulus * width / thickness;
}

/* ---- geometry -------------------------------------------------------------------------------- */

void ebb_layers_shaft(const ebb_cabinet *cabinet, size_t cell, double side[2])
{
    const double t = cabinet->wall.thickness;
    const double boards = (double)cabinet->n_cells + 1; /* two sides and those between cells */
    side[0] = cabinet->cell[cell].share * (cabinet->size[0] - boards * t);
    side[1] = cabinet->size[1] - 2 * t;
}

void ebb_cabinet_opening(const ebb_cabinet *cabinet, size_t cell, double side[2])
{
    ebb_layers_shaft(cabinet, cell, side);
    side[0] -= 2 * cabinet->rim;
    side[1] -= 2 * cabinet->rim;
}

double ebb_cabinet_cavity(const ebb_cabinet *cabinet, size_t cell)
{
    const ebb_cell *c = &cabinet->cell[cell];
    double depth = cabinet->size[2] - cabinet->wall.thickness;
    for (size_t i = 0; i < c->n_fronts; i++)
        depth -= c->front[i].board.thickness;
    return c->n_fronts > 1 ? depth - c->gap : depth;
}

double ebb_layers_depth(size_t n, const ebb_layer *layers)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++)
        sum += layers[i].thickness;
    return sum;
}

double ebb_layers_front_mass(const ebb_front *front)
{
    return front->mass + front->board.thickness * front->board.density;
}

/* Spans of a cell across the width: braces are spread evenly over the whole width, boards between
 * cells brace the back as well. */
static size_t spans_across(const ebb_cabinet *cabinet, size_t cell)
{
    const double spans = ceil(cabinet->cell[cell].share * (cabinet->brace[0] + 1) - 1e-9);
    return spans > 1 ? (size_t)spans : 1;
}

size_t ebb_layers_wall(const ebb_cabinet *cabinet, size_t cell, int kind, double side[2])
{
    const size_t across = spans_across(cabinet, cell), up = (size_t)cabinet->brace[1] + 1;
    const double depth = ebb_cabinet_cavity(cabinet, cell);
    double shaft[2];
    ebb_layers_shaft(cabinet, cell, shaft);
    const double width = shaft[0] / (double)across, height = shaft[1] / (double)up;
    side[0] = kind == EBB_WALL_SIDE ? height : width;
    side[1] = kind == EBB_WALL_BACK ? height : depth;
    if (kind == EBB_WALL_BACK)
        return across * up;
    if (kind == EBB_WALL_LONG)
        return 2 * across;
    /* boards between cells stand still */
    return up * ((size_t)(cell == 0) + (size_t)(cell + 1 == cabinet->n_cells));
}

const ebb_plate *ebb_layers_wall_plate(const ebb_cabinet *cabinet, size_t cell, int kind)
{
    return cabinet->wall_plate ? cabinet->wall_plate[EBB_WALLS * cell + (size_t)kind] : NULL;
}

/* ---- preparation ----------------------------------------------------------------------------- */

static ebb_status make_front(ebb_ctx *ctx, ebb_arena *arena, size_t order, const double side[2],
                             ebb_front *front)
{
    ebb_plate *plate = NULL;
    ebb_status status = EBB_OK;
    if (front->bends)
        status = ebb_plate_make(ctx, arena, side, &front->board, front->mass, &front->mount, order,
                                &plate);
    front->plate = plate;
    return status;
}

static ebb_status make_wall(ebb_ctx *ctx, ebb_arena *arena, size_t order, const double side[2],
                            const ebb_board *board, ebb_plate **plate)
{
    const double h = board->thickness, nu = board->poisson;
    const double bending = board->modulus * h * h * h / (12 * (1 - nu * nu));
    const double shorter = fmin(side[0], side[1]);
    const ebb_mount mount = {.stiffness = WALL_HOLD * bending / (shorter * shorter * shorter),
                             .rotation = WALL_CLAMP * bending / shorter,
                             .loss = board->loss};
    return ebb_plate_make(ctx, arena, side, board, 0, &mount,
                          order < WALL_ORDER ? order : WALL_ORDER, plate);
}

static ebb_status make_walls(ebb_ctx *ctx, ebb_arena *arena, size_t order, ebb_cabinet *cabinet)
{
    const size_t n = EBB_WALLS * cabinet->n_cells;
    const ebb_plate **made = EBB_NEW(arena, const ebb_plate *, n);
    if (!made)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the walls of a box");
    for (size_t i = 0; i < n; i++) {
        double side[2];
        ebb_plate *plate = NULL;
        if (ebb_layers_wall(cabinet, i / EBB_WALLS, (int)(i % EBB_WALLS), side) == 0)
            continue;
        const ebb_status status = make_wall(ctx, arena, order, side, &cabinet->wall, &plate);
        if (status != EBB_OK)
            return status;
        made[i] = plate;
    }
    cabinet->wall_plate = made;
    return EBB_OK;
}

ebb_status ebb_cabinet_prepare(ebb_ctx *ctx, ebb_arena *arena, size_t order, ebb_cabinet *cabinet)
{
    if (order == 0)
        order = 8;
    cabinet->wall_plate = NULL;
    ebb_status status = ebb_cabinet_check(ctx, cabinet);
    for (size_t i = 0; status == EBB_OK && i < cabinet->n_cells; i++) {
        ebb_cell *cell = &cabinet->cell[i];
        double side[2];
        ebb_cabinet_opening(cabinet, i, side);
        for (size_t k = 0; status == EBB_OK && k < cell->n_fronts; k++)
            status = make_front(ctx, arena, order, side, &cell->front[k]);
    }
    if (status == EBB_OK && !cabinet->rigid)
        status = make_walls(ctx, arena, order, cabinet);
    return status;
}

/* ---- use ------------------------------------------------------------------------------------- */

double _Complex ebb_cabinet_beta(const ebb_cabinet *cabinet, const ebb_air *air,
                                 const ebb_variation *vary, double _Complex omega)
{
    if (!vary)
        vary = &EBB_NO_VARIATION;
    double _Complex flow = 0;
    for (size_t i = 0; i < cabinet->n_cells; i++)
        flow += ebb_layers_cell(cabinet, i, air, vary, omega, NULL);
    const double face = cabinet->size[0] * cabinet->size[1];
    const double _Complex beta = air->density * air->speed / face * flow;
    /* rounding may leave a box without loss slightly active; that much, and no more, is taken off
     */
    if (cimag(omega) == 0 && creal(beta) < 0 && -creal(beta) < 1e-9 * fabs(cimag(beta)))
        return vary->admittance * ebb_layers_complex(0, cimag(beta));
    return vary->admittance * beta;
}

void ebb_cabinet_motion(const ebb_cabinet *cabinet, size_t cell, const ebb_air *air,
                        const ebb_variation *vary, double _Complex omega, ebb_motion *motion)
{
    (void)ebb_layers_cell(cabinet, cell, air, vary ? vary : &EBB_NO_VARIATION, omega, motion);
}

/* ---- weight ---------------------------------------------------------------------------------- */

/* Battens on edge: across the back, and along the walls that they brace. */
static double braces_volume(const ebb_cabinet *cabinet)
{
    const double t = cabinet->wall.thickness, depth = cabinet->size[2] - t;
    const double width = cabinet->size[0] - 2 * t, height = cabinet->size[1] - 2 * t;
    const double length =
        cabinet->brace[0] * (height + 2 * depth) + cabinet->brace[1] * (width + 2 * depth);
    return length * t * BRACE_DEPTH;
}

static double walls_volume(const ebb_cabinet *cabinet)
{
    const double t = cabinet->wall.thickness, *size = cabinet->size;
    const double height = size[1] - 2 * t, depth = size[2] - t;
    const double between = (double)(cabinet->n_cells - 1) * t * height * depth;
    return size[0] * size[1] * size[2] - (size[0] - 2 * t) * height * depth + between;
}

static void weigh_layers(size_t n, const ebb_layer *layers, double area, ebb_weights *weights)
{
    for (size_t i = 0; i < n; i++) {
        if (layers[i].kind == EBB_LAYER_POROUS)
            weights->porous += layers[i].frame_density * layers[i].thickness * area;
        if (layers[i].kind == EBB_LAYER_GRANULAR)
            weights->grains += layers[i].grains.bed_density * layers[i].thickness * area;
    }
}

void ebb_cabinet_weights(const ebb_cabinet *cabinet, ebb_weights *weights)
{
    *weights = (ebb_weights){.frame = cabinet->frame, .extra = cabinet->extra};
    weights->walls = cabinet->wall.density * (walls_volume(cabinet) + braces_volume(cabinet));
    for (size_t i = 0; i < cabinet->n_cells; i++) {
        const ebb_cell *cell = &cabinet->cell[i];
        double opening[2], shaft[2];
        ebb_cabinet_opening(cabinet, i, opening);
        ebb_layers_shaft(cabinet, i, shaft);
        for (size_t k = 0; k < cell->n_fronts; k++)
            weights->fronts += ebb_layers_front_mass(&cell->front[k]) * opening[0] * opening[1];
        if (cell->n_fronts > 1)
            weigh_layers(cell->n_between, cell->between, shaft[0] * shaft[1], weights);
        weigh_layers(cell->n_fill, cell->fill, shaft[0] * shaft[1], weights);
    }
    weights->total = weights->walls + weights->fronts + weights->frame + weights->porous +
                     weights->grains + weights->extra;
}

/* ---- static compliance ----------------------------------------------------------------------- */

/* Compliance of layers and the air left beside them, m/Pa over their own area. */
static double soft_depth(const ebb_cabinet *cabinet, double depth, size_t n,
                         const ebb_layer *layers, const ebb_air *air, double hz)
{
    const double rest = depth - ebb_layers_depth(n, layers);
    double _Complex sum =
        rest / (air->density * air->speed * air->speed * ebb_layers_complex(1, cabinet->air_loss));
    for (size_t i = 0; i < n; i++) {
        const bool grains = layers[i].kind == EBB_LAYER_GRANULAR && hz > 0;
        double _Complex density, modulus;
        ebb_layers_fluid(&layers[i], air, &EBB_NO_VARIATION, TWO_PI * (grains ? hz : SLOW_HZ),
                         &density, &modulus);
        sum += layers[i].thickness / modulus;
    }
    return creal(sum);
}

/* Stiffness of a front that the whole pressure works against, Pa/m. */
static double front_stiffness(const ebb_front *front, const double side[2])
{
    if (!front->plate)
        return front->mount.stiffness * 2 * (side[0] + side[1]) / (side[0] * side[1]);
    double _Complex yields = 0;
    for (size_t k = 0; k < front->plate->n; k++)
        yields += front->plate->share[k] / (front->plate->mass * front->plate->lambda[k]);
    return creal(1 / yields);
}

static double walls_yield(const ebb_cabinet *cabinet, size_t cell)
{
    double sum = 0;
    for (int kind = 0; kind < EBB_WALLS; kind++) {
        const ebb_plate *plate = ebb_layers_wall_plate(cabinet, cell, kind);
        double side[2];
        const double count = (double)ebb_layers_wall(cabinet, cell, kind, side);
        for (size_t k = 0; plate && k < plate->n; k++)
            sum += count * side[0] * side[1] *
                   creal(plate->share[k] / (plate->mass * plate->lambda[k]));
    }
    return sum;
}

/* Volume per pressure of a cell, m3/Pa. */
static double cell_yields(const ebb_cabinet *cabinet, size_t index, const ebb_air *air, double hz)
{
    const ebb_cell *cell = &cabinet->cell[index];
    double side[2], shaft[2];
    ebb_cabinet_opening(cabinet, index, side);
    ebb_layers_shaft(cabinet, index, shaft);
    const double area = side[0] * side[1], across = shaft[0] * shaft[1];
    double volume = across * soft_depth(cabinet, ebb_cabinet_cavity(cabinet, index), cell->n_fill,
                                        cell->fill, air, hz);
    if (cabinet->built_in && !cabinet->rigid)
        volume += walls_yield(cabinet, index);
    if (cell->n_fronts > 1) {
        volume = 1 / (1 / volume + front_stiffness(&cell->front[1], side) / area);
        volume += across * soft_depth(cabinet, cell->gap, cell->n_between, cell->between, air, hz);
    }
    return 1 / (1 / volume + front_stiffness(&cell->front[0], side) / area);
}

double ebb_cabinet_compliance(const ebb_cabinet *cabinet, const ebb_air *air, double hz)
{
    double volume = 0;
    for (size_t i = 0; i < cabinet->n_cells; i++)
        volume += cell_yields(cabinet, i, air, hz);
    return volume / (cabinet->size[0] * cabinet->size[1]);
}
