/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Rectangular plates on a compliant rim.
 *
 * Ritz method with products of even Legendre polynomials, scaled so that the mass matrix is the
 * unit matrix (times mass and area) and that the mean velocity is the first coefficient alone.
 * plate_modes.c solves for the modes.
 */
#include "plate.h"

#include <float.h>

typedef double table[EBB_PLATE_ORDER][EBB_PLATE_ORDER];

/* One direction: integrals over the even Legendre functions sqrt(4 i + 1) P_2i on -1..1, halved so
 * that the functions have the mean square 1; values and slopes at the end, values in the middle. */
typedef struct line {
    table bend;   /* second derivative times second derivative */
    table twist;  /* first derivative times first derivative */
    table second; /* [i][k]: function i times second derivative of function k */
    double edge[EBB_PLATE_ORDER], slope[EBB_PLATE_ORDER], middle[EBB_PLATE_ORDER];
} line;

/* All follow from P_n' = (2n-1) P_(n-1) + (2n-5) P_(n-3) + ... */
static void fill_line(size_t n, line *l)
{
    double scale[EBB_PLATE_ORDER], middle = 1;
    for (size_t i = 0; i < n; i++) {
        const double x = (double)i;
        middle *= i ? -(2 * x - 1) / (2 * x) : 1;
        scale[i] = sqrt(4 * x + 1);
        l->edge[i] = scale[i];
        l->slope[i] = scale[i] * x * (2 * x + 1);
        l->middle[i] = scale[i] * middle;
    }
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < n; k++) {
            const double low = (double)(i < k ? i : k), high = (double)(i < k ? k : i);
            const double steps = high * (2 * high + 1) - low * (2 * low + 1);
            l->twist[i][k] = scale[i] * scale[k] * low * (2 * low + 1);
            l->second[i][k] = i < k ? scale[i] * scale[k] * steps : 0;
        }
    for (size_t i = 0; i < n; i++)
        for (size_t k = 0; k < n; k++) {
            l->bend[i][k] = 0;
            for (size_t o = 0; o < n; o++)
                l->bend[i][k] += l->second[o][i] * l->second[o][k];
        }
}

/* What a plate is made of, per area. */
typedef struct recipe {
    size_t order;
    double per_x, per_y; /* 2/side */
    double bending, poisson, loss;
    ebb_mount mount;
    double mass;
} recipe;

/* Entry of the bending stiffness between functions (i, j) and (k, l). */
static double bending(const recipe *r, const line *t, size_t i, size_t j, size_t k, size_t l)
{
    const double x2 = r->per_x * r->per_x, y2 = r->per_y * r->per_y;
    const double cross =
        t->second[k][i] * t->second[j][l] + t->second[i][k] * t->second[l][j]; /* w_xx w_yy */
    double sum =
        x2 * y2 * (r->poisson * cross + 2 * (1 - r->poisson) * t->twist[i][k] * t->twist[j][l]);
    if (j == l)
        sum += x2 * x2 * t->bend[i][k];
    if (i == k)
        sum += y2 * y2 * t->bend[j][l];
    return r->bending * sum;
}

/* The same of the rim: springs against moving and against turning along all four sides. */
static double rim(const recipe *r, const line *t, size_t i, size_t j, size_t k, size_t l)
{
    const double kt = r->mount.stiffness, kr = r->mount.rotation;
    double sum = 0;
    if (j == l)
        sum += r->per_x * (kt * t->edge[i] * t->edge[k] +
                           kr * r->per_x * r->per_x * t->slope[i] * t->slope[k]);
    if (i == k)
        sum += r->per_y * (kt * t->edge[j] * t->edge[l] +
                           kr * r->per_y * r->per_y * t->slope[j] * t->slope[l]);
    return sum;
}

static void stiffness(const recipe *r, ebb_plate_problem *w)
{
    line t;
    fill_line(r->order, &t);
    for (size_t p = 0; p < w->n; p++) {
        const size_t i = p / r->order, j = p % r->order;
        w->middle[p] = t.middle[i] * t.middle[j];
        for (size_t q = 0; q <= p; q++) {
            const size_t k = q / r->order, l = q % r->order;
            const double plate = bending(r, &t, i, j, k, l) / r->mass;
            const double mount = rim(r, &t, i, j, k, l) / r->mass;
            w->elastic[p * w->n + q] = w->elastic[q * w->n + p] = plate + mount;
            w->lossy[p * w->n + q] = w->lossy[q * w->n + p] =
                plate * r->loss + mount * r->mount.loss;
        }
    }
}

static ebb_status solve_plate(ebb_ctx *ctx, const recipe *r, const double side[2],
                              ebb_plate_modes *modes)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_plate_problem w = {
        .n = r->order * r->order, .one_loss = r->loss == r->mount.loss, .loss = r->loss};
    w.elastic = EBB_NEW(scratch, double, w.n *w.n);
    w.lossy = EBB_NEW(scratch, double, w.n *w.n);
    w.factor = EBB_NEW(scratch, double, w.n *w.n);
    w.basis = EBB_NEW(scratch, double, EBB_PLATE_MODES *w.n);
    ebb_status status = EBB_OK;
    if (!w.elastic || !w.lossy || !w.factor || !w.basis) {
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a plate");
    } else {
        stiffness(r, &w);
        if (!ebb_layers_plate_modes(&w, modes))
            status = ebb_fail(ctx, EBB_E_NUMERIC,
                              "plate %g x %g m: its modes cannot be found; is the rim very much "
                              "softer or stiffer than the board?",
                              side[0], side[1]);
    }
    ebb_arena_free(scratch);
    return status;
}

/* The plate, with what it needs of the modes, in arena. */
static ebb_status keep(ebb_ctx *ctx, ebb_arena *arena, const double side[2], double mass,
                       const ebb_plate_modes *modes, ebb_plate **plate)
{
    const size_t n = modes->n;
    ebb_plate *made = EBB_NEW(arena, ebb_plate, 1);
    double _Complex *number = EBB_NEW(arena, double _Complex, 3 * n);
    if (!made || !number)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a plate");
    memcpy(number, modes->lambda, n * sizeof *number);
    memcpy(number + n, modes->share, n * sizeof *number);
    memcpy(number + 2 * n, modes->middle, n * sizeof *number);
    *made = (ebb_plate){.side = {side[0], side[1]},
                        .mass = mass,
                        .n = n,
                        .lambda = number,
                        .share = number + n,
                        .middle = number + 2 * n};
    *plate = made;
    return EBB_OK;
}

ebb_status ebb_plate_make(ebb_ctx *ctx, ebb_arena *arena, const double side[2],
                          const ebb_board *board, double added, const ebb_mount *mount,
                          size_t order, ebb_plate **plate)
{
    const double h = board->thickness, nu = board->poisson;
    *plate = NULL;
    const ebb_status status = ebb_layers_plate_check(ctx, side, board, added, mount, order);
    if (status != EBB_OK)
        return status;
    const recipe r = {.order = order,
                      .per_x = 2 / side[0],
                      .per_y = 2 / side[1],
                      .bending = board->modulus * h * h * h / (12 * (1 - nu * nu)),
                      .poisson = nu,
                      .loss = board->loss,
                      .mount = *mount,
                      .mass = h * board->density + added};
    ebb_plate_modes modes;
    const ebb_status solved = solve_plate(ctx, &r, side, &modes);
    return solved == EBB_OK ? keep(ctx, arena, side, r.mass, &modes, plate) : solved;
}

/* Sum over the modes; exactly on a mode without loss a large number stands for infinity. */
static double _Complex sum_modes(const ebb_plate *plate, const double _Complex *share,
                                 double stiffness, double _Complex omega)
{
    const double _Complex square = omega * omega;
    double _Complex sum = 0;
    for (size_t k = 0; k < plate->n; k++) {
        double _Complex distance = stiffness * plate->lambda[k] - square;
        if (ebb_layers_abs2(distance) == 0)
            distance = DBL_EPSILON * square;
        sum += share[k] / distance;
    }
    return ebb_layers_turn(omega) * sum / plate->mass;
}

double _Complex ebb_plate_mobility(const ebb_plate *plate, double stiffness, double _Complex omega)
{
    return sum_modes(plate, plate->share, stiffness, omega);
}

double _Complex ebb_plate_centre(const ebb_plate *plate, double stiffness, double _Complex omega)
{
    return sum_modes(plate, plate->middle, stiffness, omega);
}
