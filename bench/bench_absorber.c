/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bench_absorber LIBRARY [NUMPY_SCRIPT PYTHON]: how long one unit takes, and how many boxes a
 * second the designer judges.
 *
 * The unit is a box with two fronts that bend, walls that give way, wool and grains, at 200
 * frequencies, plates included. With the script, the same admittances are computed by numpy in the
 * same run, compared, and the ratio of the times is printed: it can be compared between machines.
 */
#include <ebb/cabinet.h>
#include <ebb/craft.h>
#include <ebb/ebb.h>

#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define FREQUENCIES 200
#define REPEATS 50
#define TWO_PI 6.28318530717958647692

static double now(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static int complain(const ebb_ctx *ctx)
{
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++)
        fprintf(stderr, "%s\n", ebb_ctx_message(ctx, i)->text);
    return EXIT_FAILURE;
}

/* ---- one unit -------------------------------------------------------------------------------- */

/* A box of the stock with all that costs time. */
static ebb_craft_recipe two_fronts(const ebb_stock *stock)
{
    const ebb_material *ply = &stock->material[0];
    ebb_craft_recipe r = {.cells = 1,
                          .fronts = 2,
                          .face = {0.6, 1.2},
                          .depth = 0.3,
                          .wall = ply,
                          .wall_thickness = 0.015,
                          .brace = {0, 1},
                          .wool = &stock->wool[0],
                          .batch = &stock->batch[0]};
    r.cell[0] =
        (ebb_craft_cell){.share = 1, .gap = 0.06, .gap_wool = 0.03, .wool = 0.1, .grains = 10};
    r.cell[0].front[0] = (ebb_craft_front){ply, 0.006, 0, 0, &stock->strip[0]};
    r.cell[0].front[1] = (ebb_craft_front){ply, 0.009, 0, 1, &stock->strip[0]};
    return r;
}

/* Everything anew: box, plates, all frequencies. */
static ebb_status solve(ebb_ctx *ctx, const ebb_craft_recipe *recipe, const ebb_air *air,
                        double _Complex *beta)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_cabinet *cabinet;
    ebb_status status = ebb_craft_cabinet(ctx, arena, recipe, true, &cabinet);
    if (status == EBB_OK)
        status = ebb_cabinet_prepare(ctx, arena, 8, cabinet);
    for (size_t i = 0; i < FREQUENCIES && status == EBB_OK; i++)
        beta[i] = ebb_cabinet_beta(cabinet, air, NULL, TWO_PI * (20.0 + 0.9 * (double)i));
    ebb_arena_free(arena);
    return status;
}

/* The shortest of several: what else the machine does only adds. */
static ebb_status time_unit(ebb_ctx *ctx, const ebb_library *library, double _Complex *beta,
                            double *best)
{
    const ebb_craft_recipe recipe = two_fronts(&library->stock);
    ebb_status status = EBB_OK;
    *best = INFINITY;
    for (int k = 0; k < REPEATS && status == EBB_OK; k++) {
        const double begin = now(CLOCK_MONOTONIC);
        status = solve(ctx, &recipe, &library->air, beta);
        *best = fmin(*best, now(CLOCK_MONOTONIC) - begin);
    }
    if (status == EBB_OK)
        printf("one unit, two fronts with plates, %d frequencies: %.3f ms\n", FREQUENCIES,
               1e3 * *best);
    return status;
}

/* ---- the same in numpy ----------------------------------------------------------------------- */

/* What the script needs of the box: numbers only, in the order it reads them. */
static void describe(FILE *to, const ebb_library *library)
{
    const ebb_craft_recipe r = two_fronts(&library->stock);
    const ebb_board *b = &r.wall->board;
    const ebb_grains *g = &r.batch->layer.grains;
    const ebb_layer *w = &r.wool->layer;
    const ebb_strip *s = r.cell[0].front[0].strip;
    const ebb_air *a = &library->air;
    fprintf(to, "%.17g %.17g %.17g %.17g %.17g %.17g\n", a->density, a->speed, a->pressure,
            a->gamma, a->viscosity, a->prandtl);
    fprintf(to, "%.17g %.17g %.17g %.17g\n", b->density, b->modulus, b->poisson, b->loss);
    fprintf(to, "%.17g %.17g %.17g\n", w->resistivity, w->porosity, w->tortuosity);
    fprintf(to, "%.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", g->diameter, g->bed_porosity,
            g->pore_share, g->uptake, g->pore_radius, g->tortuosity, g->sorption_hz,
            g->bed_density);
    fprintf(to, "%.17g %.17g %.17g %.17g\n", s->width, s->thickness, s->modulus, s->loss);
}

/* Runs the script; its output is the time of one unit and the admittances. */
static int time_numpy(char **script, const ebb_library *library, const double _Complex *beta,
                      double ours)
{
    char input[] = "/tmp/ebb-bench-XXXXXX", command[512];
    const int fd = mkstemp(input);
    FILE *to = fd >= 0 ? fdopen(fd, "w") : NULL;
    if (to == NULL)
        return EXIT_FAILURE;
    describe(to, library);
    fclose(to);
    snprintf(command, sizeof command, "'%s' '%s' '%s'", script[1], script[0], input);
    FILE *from = popen(command, "r");
    double seconds, worst = 0, re, im;
    size_t n = 0;
    const bool timed = from != NULL && fscanf(from, "%lf", &seconds) == 1;
    while (timed && n < FREQUENCIES && fscanf(from, "%lf %lf", &re, &im) == 2) {
        worst = fmax(worst, cabs(beta[n] - (re + im * I)) / cabs(beta[n]));
        n++;
    }
    const int ended = from != NULL ? pclose(from) : -1;
    remove(input);
    if (ended != 0 || n != FREQUENCIES) {
        printf("numpy: not run\n");
        return EXIT_SUCCESS; /* a machine without numpy can still time the program */
    }
    printf("the same in numpy: %.3f ms; largest relative difference of admittance %.1e\n",
           1e3 * seconds, worst);
    printf("ratio: numpy takes %.1f times as long\n", seconds / ours);
    return worst < 1e-3 ? EXIT_SUCCESS : EXIT_FAILURE;
}

/* ---- the designer ---------------------------------------------------------------------------- */

static ebb_status time_craft(ebb_ctx *ctx, const ebb_library *library)
{
    ebb_craft_effort effort;
    ebb_craft *craft = NULL;
    ebb_craft_effort_default(&effort);
    const double wall = now(CLOCK_MONOTONIC), cpu = now(CLOCK_PROCESS_CPUTIME_ID);
    const ebb_status status =
        ebb_craft_new(ctx, &library->target[0], &library->air, &effort, &craft);
    const double seconds = now(CLOCK_MONOTONIC) - wall;
    if (status == EBB_OK)
        printf("craft, target %s, default effort: %zu boxes, %zu of them with plates, in %.2f s "
               "(%.2f s of processor): %.0f boxes a second\n",
               library->target[0].name, craft->evaluated, craft->checked, seconds,
               now(CLOCK_PROCESS_CPUTIME_ID) - cpu, (double)craft->evaluated / seconds);
    ebb_craft_free(craft);
    return status;
}

int main(int argc, char **argv)
{
    double _Complex beta[FREQUENCIES];
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_library *library = NULL;
    double ours;
    if ((argc != 2 && argc != 4) || ctx == NULL) {
        fprintf(stderr, "usage: bench_absorber LIBRARY [NUMPY_SCRIPT PYTHON]\n");
        return 2;
    }
    ebb_status status = ebb_library_read(ctx, argv[1], &library);
    if (status == EBB_OK)
        status = time_unit(ctx, library, beta, &ours);
    int code = EXIT_SUCCESS;
    if (status == EBB_OK && argc == 4)
        code = time_numpy(argv + 2, library, beta, ours);
    if (status == EBB_OK && library->n_targets > 0)
        status = time_craft(ctx, library);
    if (status != EBB_OK)
        code = complain(ctx);
    ebb_library_free(library);
    ebb_ctx_free(ctx);
    return code;
}
