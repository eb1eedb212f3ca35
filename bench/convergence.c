/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * convergence CSV PLOT: the error of the mode frequencies of a rectangular room by finite elements
 * of order 1 to 8 on finer and finer meshes, against the closed form. docs/convergence.md tells
 * what came out.
 */
#include <ebb/draw.h>
#include <ebb/mesh.h>
#include <ebb/space.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define ORDERS 8
#define STEPS 12
#define FREEDOMS_MOST 16000
#define PI 3.14159265358979323846

static const double size[3] = {5.1, 3.9, 2.7}; /* m */
static const double highest = 2 * PI * 100 / 343;

static int compare(const void *left, const void *right)
{
    const double a = *(const double *)left, b = *(const double *)right;
    return a < b ? -1 : a > b;
}

/* Wave numbers of the room up to the highest, rising. */
static size_t closed_form(double known[200])
{
    size_t n = 0;
    for (int i = 0; i < 8; i++)
        for (int j = 0; j < 8; j++)
            for (int k = 0; k < 8; k++) {
                const double a = i / size[0], b = j / size[1], c = k / size[2];
                const double here = PI * sqrt(a * a + b * b + c * c);
                if (here <= highest)
                    known[n++] = here;
            }
    qsort(known, n, sizeof *known, compare);
    return n;
}

/* One mesh and order. */
typedef struct outcome {
    double edge, freedoms, worst, estimated; /* mean edge of a brick, m; relative errors */
} outcome;

static double nodes(const size_t bricks[3], size_t order)
{
    double n = 1;
    for (int d = 0; d < 3; d++)
        n *= (double)(order * bricks[d] + 1);
    return n;
}

static ebb_status measure(ebb_ctx *ctx, size_t order, const size_t bricks[3], outcome *out)
{
    const ebb_space_wish wish = {.highest = highest, .reach = 1.5, .order = order};
    const double *lambda, *shape, *error;
    double known[200];
    ebb_mesh *mesh = NULL;
    ebb_space *space = NULL;
    ebb_status status = ebb_mesh_box(ctx, size, bricks, &mesh);
    if (status == EBB_OK)
        status = ebb_space_new(ctx, mesh, &wish, &space);
    ebb_mesh_free(mesh);
    if (status != EBB_OK)
        return status;
    const size_t n_known = closed_form(known);
    const size_t n = ebb_space_modes(space, &lambda, &shape, &error);
    out->freedoms = (double)ebb_space_size(space);
    out->edge = cbrt(size[0] * size[1] * size[2] / (double)(bricks[0] * bricks[1] * bricks[2]));
    out->worst = n < n_known ? NAN : 0;
    out->estimated = 0;
    for (size_t m = 1; m < n_known && n >= n_known; m++) {
        out->worst = fmax(out->worst, fabs(sqrt(lambda[m]) / known[m] - 1));
        out->estimated = fmax(out->estimated, error[m]);
    }
    ebb_space_free(space);
    return EBB_OK;
}

/* Finer and finer meshes of one order; returns how many, or 0 with a message. */
static size_t run_order(ebb_ctx *ctx, FILE *csv, size_t order, double *x, double *y)
{
    size_t n = 0;
    for (size_t layers = 1; n < STEPS; layers += 1 + layers / 3) {
        size_t bricks[3];
        outcome here;
        for (int d = 0; d < 3; d++)
            bricks[d] = (size_t)ceil(size[d] / size[2] * (double)layers - 0.25);
        if (nodes(bricks, order) > FREEDOMS_MOST)
            break;
        if (measure(ctx, order, bricks, &here) != EBB_OK)
            return 0;
        fprintf(csv, "%zu,%.3f,%.0f,%.2e,%.2e\n", order, here.edge, here.freedoms, here.worst,
                here.estimated);
        x[n] = here.freedoms;
        y[n++] = log10(here.worst);
    }
    return n;
}

int main(int argc, char **argv)
{
    static const char *const names[ORDERS] = {"order 1", "order 2", "order 3", "order 4",
                                              "order 5", "order 6", "order 7", "order 8"};
    double x[ORDERS][STEPS], y[ORDERS][STEPS];
    ebb_series series[ORDERS];
    FILE *csv = argc == 3 ? fopen(argv[1], "w") : NULL;
    ebb_ctx *ctx = ebb_ctx_new();
    if (!csv || !ctx) {
        fprintf(stderr, "usage: convergence CSV PLOT\n");
        return EXIT_FAILURE;
    }
    fprintf(csv, "order,edge_m,freedoms,worst_error,estimated_error\n");
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < ORDERS && status == EBB_OK; i++) {
        series[i] =
            (ebb_series){names[i], run_order(ctx, csv, i + 1, x[i], y[i]), x[i], y[i], false};
        status = series[i].n > 0 ? EBB_OK : EBB_E_NUMERIC;
    }
    const ebb_plot plot = {"Error of the mode frequencies of a room below 100 Hz",
                           "freedoms",
                           "log10 of the largest relative error",
                           true,
                           {10, FREEDOMS_MOST},
                           {-13, 0},
                           ORDERS,
                           series};
    if (status == EBB_OK)
        status = ebb_plot_file(ctx, argv[2], 480, 340, &plot);
    if (status != EBB_OK && ebb_ctx_messages(ctx) > 0)
        fprintf(stderr, "convergence: %s\n", ebb_ctx_message(ctx, 0)->text);
    ebb_ctx_free(ctx);
    return fclose(csv) == 0 && status == EBB_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
