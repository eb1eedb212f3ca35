/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bench_field: what a room of any shape costs, beside a direct solution of the same elements by a
 * general sparse solver in the same run.
 *
 * Times are processor times of one thread on this machine and at this moment; ratios of them can be
 * compared between machines. The room is a gabled one of 60 m3 with resonant units.
 */
#include "../src/field/space.h"

#include <ebb/ebb.h>

#include <cblas.h>
#include <complex.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <suitesparse/umfpack.h>
#include <sys/resource.h>
#include <time.h>

#ifdef _OPENMP
#include <omp.h>
#endif

#define PI 3.14159265358979323846
#define HIGHEST 200.
#define ORDER 6
#define N_HZ 181 /* 20..200 Hz */
#define PLACED 40
#define OPEN 0.85 /* richness for open placements: within 0.05 dB of the full one */
#define MOST_CANDIDATES 400
#define SURFACES 7 /* of the box, the last two being the slopes of the roof */

static const double extent[3] = {5.2, 4.4, 3.2};
static const double eaves = 2.15, ridge_at = 2.6;
static const ebb_vec3 points[5] = {
    {0.6, 0.9, 1.1}, {0.6, 3.4, 1.1}, {3.1, 2.1, 1.2}, {3.3, 2.3, 1.2}, {4.4, 1.2, 1.1}};

static double now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void check(const ebb_ctx *ctx, ebb_status status)
{
    if (status == EBB_OK)
        return;
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++)
        fprintf(stderr, "%s\n", ebb_ctx_message(ctx, i)->text);
    exit(EXIT_FAILURE);
}

static void *room_for(size_t n, size_t size)
{
    void *memory = calloc(n ? n : 1, size);
    if (!memory) {
        fprintf(stderr, "out of memory\n");
        exit(EXIT_FAILURE);
    }
    return memory;
}

static void verdict(const char *what, double got, double limit, const char *unit, bool below)
{
    printf("%-62s %9.4g %-3s  wanted %s %g: %s\n", what, got, unit, below ? "<" : ">", limit,
           (below ? got < limit : got > limit) ? "met" : "not met");
}

/* ---- the room -------------------------------------------------------------------------------- */

static double roof(double x)
{
    double rise = x < ridge_at ? x / ridge_at : (extent[0] - x) / (extent[0] - ridge_at);
    return eaves + rise * (extent[2] - eaves);
}

/* A box whose top follows the roof; the ridge runs along edges of the bricks. */
static ebb_mesh *make_mesh(ebb_ctx *ctx, double edge)
{
    ebb_mesh *mesh;
    size_t bricks[3];
    for (int d = 0; d < 3; d++)
        bricks[d] = (size_t)ceil(extent[d] / edge);
    bricks[0] += bricks[0] % 2;
    check(ctx, ebb_mesh_box(ctx, extent, bricks, &mesh));
    for (size_t i = 0; i < mesh->n_nodes; i++)
        mesh->node[i].z *= roof(mesh->node[i].x) / extent[2];
    for (size_t f = 0; f < mesh->n_faces; f++) {
        double x = 0;
        for (int c = 0; c < 3; c++)
            x += mesh->node[mesh->face[f][c]].x / 3;
        if (mesh->surface[f] == 5 && x > ridge_at)
            mesh->surface[f] = 6;
    }
    mesh->n_surfaces = SURFACES;
    return mesh;
}

/* Patches of 0.6 x 1.2 m side by side, as many as fit, on a rectangle of a surface. */
static size_t tile(ebb_rect area, double length, double width, const ebb_assembly *unit,
                   ebb_patch *out)
{
    size_t n = 0;
    for (double a = 0; a + 0.6 <= length + 1e-9; a += 0.6)
        for (double b = 0; b + 1.2 <= width + 1e-9; b += 1.2) {
            ebb_patch *patch = &out[n++];
            *patch = (ebb_patch){.face = (int)area.surface, .assembly = unit, .rect = area};
            const ebb_vec3 u = area.along, v = area.up;
            patch->rect.at =
                (ebb_vec3){area.at.x + a * u.x + b * v.x, area.at.y + a * u.y + b * v.y,
                           area.at.z + a * u.z + b * v.z};
            patch->rect.along = (ebb_vec3){0.6 * u.x, 0.6 * u.y, 0.6 * u.z};
            patch->rect.up = (ebb_vec3){1.2 * v.x, 1.2 * v.y, 1.2 * v.z};
        }
    return n;
}

static size_t make_candidates(const ebb_assembly *unit, ebb_patch *out)
{
    const double rise = extent[2] - eaves, run = ridge_at, slope = sqrt(rise * rise + run * run);
    const ebb_vec3 x = {1, 0, 0}, y = {0, 1, 0}, z = {0, 0, 1};
    const ebb_vec3 up = {run / slope, 0, rise / slope}, down = {-run / slope, 0, rise / slope};
    size_t n = 0;
    n += tile((ebb_rect){0, {0, 0, 0}, y, z}, extent[1], eaves, unit, out + n);
    n += tile((ebb_rect){1, {extent[0], 0, 0}, y, z}, extent[1], eaves, unit, out + n);
    n += tile((ebb_rect){2, {0, 0, 0}, x, z}, extent[0], eaves, unit, out + n);
    n += tile((ebb_rect){3, {0, extent[1], 0}, x, z}, extent[0], eaves, unit, out + n);
    n += tile((ebb_rect){5, {0, 0, eaves}, y, up}, extent[1], slope, unit, out + n);
    n += tile((ebb_rect){6, {extent[0], 0, eaves}, y, down}, extent[1], slope, unit, out + n);
    return n;
}

/* ---- the general way ------------------------------------------------------------------------- */

/* A complex matrix by columns. */
typedef struct sparse {
    size_t n, n_entries;
    int64_t *from, *row;
    double *re, *im;
} sparse;

/* Entries (row, column, value) of K - k2 M, and of the walls' damping, as triplets. */
static size_t triplets(const ebb_space *space, double k2, const double *damping, int64_t *row,
                       int64_t *column, double *re, double *im)
{
    const ebb_simplex *s = &space->simplex;
    const ebb_mix mix = {{1, 1, 1}, -k2};
    double *matrix = room_for(s->n * s->n, sizeof *matrix);
    size_t e = 0;
    for (size_t t = 0; t < space->mesh.n_tets; t++) {
        ebb_space_element(space, &space->element[t], &mix, matrix);
        for (size_t i = 0; i < s->n * s->n; i++, e++) {
            row[e] = space->element[t].freedom[i / s->n];
            column[e] = space->element[t].freedom[i % s->n];
            re[e] = matrix[i];
        }
    }
    for (size_t w = 0; w < space->mesh.n_faces; w++)
        for (size_t i = 0; i < s->n_face * s->n_face; i++, e++) {
            row[e] = space->wall[w].freedom[i / s->n_face];
            column[e] = space->wall[w].freedom[i % s->n_face];
            im[e] = damping[space->wall[w].surface] * 2 * space->wall[w].area * s->face_mass[i];
        }
    free(matrix);
    return e;
}

static sparse assemble(const ebb_space *space, double k2, const double *damping)
{
    const ebb_simplex *s = &space->simplex;
    size_t most = space->mesh.n_tets * s->n * s->n + space->mesh.n_faces * s->n_face * s->n_face;
    int64_t *row = room_for(most, sizeof *row), *column = room_for(most, sizeof *column);
    double *re = room_for(most, sizeof *re), *im = room_for(most, sizeof *im);
    size_t n = triplets(space, k2, damping, row, column, re, im);
    sparse a = {.n = space->size, .n_entries = n};
    a.from = room_for(space->size + 1, sizeof *a.from);
    a.row = room_for(n, sizeof *a.row);
    a.re = room_for(n, sizeof *a.re);
    a.im = room_for(n, sizeof *a.im);
    umfpack_zl_triplet_to_col((int64_t)a.n, (int64_t)a.n, (int64_t)n, row, column, re, im, a.from,
                              a.row, a.re, a.im, NULL);
    free(row);
    free(column);
    free(re);
    free(im);
    return a;
}

static void sparse_free(sparse *a)
{
    free(a->from);
    free(a->row);
    free(a->re);
    free(a->im);
}

/* p / Q of source 0 at receivers 2.. with walls of an admittance only, at one frequency. Returns
 * the time of the numerical factor and the solution alone: all else can be done once. */
static double direct(ebb_ctx *ctx, const ebb_space *space, const ebb_air *air, double beta,
                     double hz, double _Complex out[3])
{
    double k = 2 * PI * hz / air->speed, damping[SURFACES];
    for (size_t t = 0; t < SURFACES; t++)
        damping[t] = k * beta;
    sparse a = assemble(space, k * k, damping);
    double *v = room_for(4 * a.n, sizeof *v), *load = room_for(2 * a.n, sizeof *load);
    void *symbolic, *numeric;
    double control[UMFPACK_CONTROL];
    umfpack_zl_defaults(control);
    control[UMFPACK_STRATEGY] = UMFPACK_STRATEGY_SYMMETRIC;
    control[UMFPACK_ORDERING] = UMFPACK_ORDERING_METIS;
    umfpack_zl_symbolic((int64_t)a.n, (int64_t)a.n, a.from, a.row, a.re, a.im, &symbolic, control,
                        NULL);
    check(ctx, ebb_space_points(ctx, space, 1, &points[0], load));
    double begin = now();
    umfpack_zl_numeric(a.from, a.row, a.re, a.im, symbolic, &numeric, control, NULL);
    umfpack_zl_solve(UMFPACK_A, a.from, a.row, a.re, a.im, v, v + a.n, load, load + a.n, numeric,
                     control, NULL);
    double taken = now() - begin;
    for (int r = 0; r < 3; r++) {
        double part[2];
        check(ctx, ebb_space_values(ctx, space, 2, v, 1, &points[2 + r], part));
        out[r] = I * 2 * PI * hz * air->density * (part[0] + I * part[1]);
    }
    umfpack_zl_free_symbolic(&symbolic);
    umfpack_zl_free_numeric(&numeric);
    sparse_free(&a);
    free(v);
    free(load);
    return taken;
}

/* ---- the whole ------------------------------------------------------------------------------- */

static double dense_peak(void)
{
    const int n = 1000;
    double *a = room_for((size_t)(3 * n * n), sizeof *a), best = 0;
    for (int i = 0; i < 3 * n * n; i++)
        a[i] = i % 7;
    for (int i = 0; i < 4; i++) {
        double begin = now();
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, n, n, n, 1, a, n, a + n * n, n, 0,
                    a + 2 * n * n, n);
        best = fmax(best, 2e-9 * n * n * n / (now() - begin));
    }
    free(a);
    return best;
}

/* Everything that the parts of the bench share. */
typedef struct bench {
    ebb_ctx *ctx;
    ebb_space *space;
    ebb_reduced *reduced;
    ebb_assembly wall, unit;
    ebb_patch patch[MOST_CANDIDATES];
    size_t used[PLACED];
    ebb_state state;
    double hz[N_HZ];
} bench;

static void bench_set_up(bench *b)
{
    double begin = now(), edge = ebb_space_edge(2 * PI * HIGHEST / 343.2, ORDER, 1e-4);
    ebb_mesh *mesh = make_mesh(b->ctx, edge);
    const ebb_space_wish wish = {.highest = 2 * PI * HIGHEST / 343.2, .order = ORDER};
    check(b->ctx, ebb_space_new(b->ctx, mesh, &wish, &b->space));
    double middle = now();
    ebb_geometry geometry = {.space = b->space,
                             .size = {extent[0], extent[1], extent[2]},
                             .highest = HIGHEST,
                             .speed = 343.2,
                             .n_points = 5,
                             .points = points,
                             .patches = b->patch,
                             .richness = OPEN};
    geometry.n_patches = make_candidates(&b->unit, b->patch);
    for (size_t t = 0; t < SURFACES; t++)
        geometry.wall[t] = 0.05;
    check(b->ctx, ebb_reduced_new(b->ctx, &geometry, &b->reduced));
    double end = now();
    printf("%.1f m3, edge %.2f m, %zu tetrahedra of order %d, %zu freedoms, %zu candidates, "
           "basis of %zu\n",
           ebb_space_volume(b->space), edge, mesh->n_tets, ORDER, ebb_space_size(b->space),
           geometry.n_patches, ebb_reduced_size(b->reduced));
    printf("elements and modes %.2f s, projection for open placements %.2f s\n", middle - begin,
           end - middle);
    verdict("set-up", end - begin, 3, "s", true);
    ebb_mesh_free(mesh);
    for (size_t i = 0; i < PLACED; i++)
        b->used[i] = i * geometry.n_patches / PLACED;
}

static double _Complex *respond(const bench *b, const ebb_state *state, double *taken)
{
    double _Complex *h = room_for(N_HZ * state->n_sources * state->n_receivers, sizeof *h);
    double begin = now();
    check(b->ctx, ebb_response(b->ctx, b->reduced, state, N_HZ, b->hz, h));
    *taken = now() - begin;
    return h;
}

static void bench_response(bench *b, double peak)
{
    double taken, size = (double)ebb_reduced_size(b->reduced);
    free(respond(b, &b->state, &taken));
    verdict("response, 181 frequencies, 2 x 3 points, 40 units placed", 1e3 * taken, 50, "ms",
            true);
    printf("%-62s %9.2g\n", "share of the dense peak (LDL^T flops alone)",
           4 / 3. * pow(size, 3) * N_HZ * 1e-9 / taken / peak);
}

static void bench_modes(const bench *b)
{
    ebb_modes *modes;
    double begin = now();
    check(b->ctx, ebb_modes_new(b->ctx, b->reduced, &b->state, 20, HIGHEST, &modes));
    verdict("all damped modes", now() - begin, 0.5, "s", true);
    printf("%zu modes\n", modes->n);
    ebb_modes_free(modes);
}

/* Walls only: the general way knows no units. */
static void bench_direct(bench *b)
{
    static const size_t some[3] = {20, 90, 170};
    double taken, whole = 0, worst = 0;
    ebb_state bare = b->state;
    bare.n_used = 0;
    bare.n_sources = 1;
    double _Complex *h = respond(b, &bare, &taken);
    for (int i = 0; i < 3; i++) {
        double _Complex want[3];
        whole +=
            N_HZ / 3. *
            direct(b->ctx, b->space, &b->state.air, creal(b->wall.beta0), b->hz[some[i]], want);
        for (int r = 0; r < 3; r++)
            worst = fmax(worst, fabs(20 * log10(cabs(h[r * N_HZ + some[i]]) / cabs(want[r]))));
    }
    printf("direct sweep of the same elements %.1f s (from 3 of %d frequencies), worst difference "
           "%.3f dB\n",
           whole, N_HZ, worst);
    verdict("times faster than that", whole / taken, 800, "", false);
    free(h);
}

int main(void)
{
#ifdef _OPENMP
    omp_set_num_threads(1);
#endif
    openblas_set_num_threads(1);
    bench *b = room_for(1, sizeof *b);
    const ebb_layer layer = {.kind = EBB_LAYER_LUMPED,
                             .mass = 5,
                             .resistance = 1.2 * 1.204 * 343.2,
                             .stiffness = 5 * pow(2 * PI * 60, 2)};
    b->ctx = ebb_ctx_new();
    b->wall = (ebb_assembly){.kind = EBB_ASSEMBLY_CONSTANT, .beta0 = 0.03};
    b->unit = (ebb_assembly){
        .kind = EBB_ASSEMBLY_LAYERS, .n_layers = 1, .layers = &layer, .back = EBB_BACK_RIGID};
    b->state = (ebb_state){.air = {.temperature = 20,
                                   .humidity = 0.5,
                                   .pressure = 101325,
                                   .speed = 343.2,
                                   .density = 1.204,
                                   .gamma = 1.4,
                                   .viscosity = 1.82e-5,
                                   .prandtl = 0.71},
                           .scale = {1, 1, 1},
                           .n_used = PLACED,
                           .used = b->used,
                           .n_sources = 2,
                           .n_receivers = 3,
                           .sources = points,
                           .receivers = points + 2};
    for (size_t t = 0; t < SURFACES; t++)
        b->state.face[t] = &b->wall;
    for (size_t f = 0; f < N_HZ; f++)
        b->hz[f] = 20 + (double)f;
    double peak = dense_peak();
    printf("dense products: %.1f Gflop/s\n", peak);
    bench_set_up(b);
    bench_response(b, peak);
    bench_modes(b);
    bench_direct(b);
    struct rusage usage;
    getrusage(RUSAGE_SELF, &usage);
    verdict("peak memory, the direct solution included", (double)usage.ru_maxrss / 1024 / 1024, 1,
            "GiB", true);
    ebb_reduced_free(b->reduced);
    ebb_space_free(b->space);
    ebb_ctx_free(b->ctx);
    free(b);
    return EXIT_SUCCESS;
}
