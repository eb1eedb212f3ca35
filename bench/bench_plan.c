/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bench_plan: how long the search for a plan takes, how many placements a second it scores, and how
 * much longer it would take to solve each of them anew.
 *
 * The room has 60 m3 and about 200 places; 12 units are allowed, four seats are judged. Times are
 * of this machine and this moment, and of all the threads it gives.
 */
#include "../src/plan/search.h"

#include <complex.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#ifdef _OPENMP
#include <omp.h>
#endif

#define WANTED 10.0 /* s for the plan */
#define PLACES 200
#define STARTS 6

static const char job_text[] =
    "job: bench\nuse: music\nlowest: 20 Hz\nallowance: {count: 12}\n"
    "constructions: {wall: {admittance: 0.02}}\n"
    "absorbers:\n"
    "  front: {face: [0.56 m, 0.56 m], depth: 250 mm, mass: 25 kg, hangs: [walls, ceiling], "
    "layers: "
    "[{lumped: {mass: 5 kg/m2, resonance: 40 Hz, resistance: 413 Pa.s/m}}]}\n"
    "rooms:\n  - name: bench\n    size: [5.2 m, 4.5 m, 2.57 m]\n    surfaces: {all: wall}\n"
    "    seats:\n"
    "      - {name: a, at: [3.2 m, 1.2 m, 1.2 m]}\n      - {name: b, at: [3.2 m, 1.9 m, 1.2 m]}\n"
    "      - {name: c, at: [3.2 m, 2.6 m, 1.2 m]}\n      - {name: d, at: [3.2 m, 3.3 m, 1.2 m]}\n"
    "    speakers:\n"
    "      - {name: left, at: [0.8 m, 1.2 m, 1.2 m]}\n"
    "      - {name: right, at: [0.8 m, 3.3 m, 1.2 m]}\n";

static double now(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* What is measured. */
typedef struct figures {
    size_t places, units, paths, frequencies, scored;
    double processor; /* s of processor for that, all threads */
    double plan;      /* s: everything from the room to the layout */
    double climb;     /* s: the starts alone */
    double anew;      /* s: one placement solved anew, responses only */
} figures;

/* As for any plan: model, size, starts. */
static ebb_status time_plan(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job,
                            const ebb_limits *limits, ebb_search **search, figures *f)
{
    ebb_effort effort;
    ebb_effort_default(&effort);
    ebb_finalist finalist[EBB_FINALISTS];
    size_t n;
    double spread[2];
    const double begin = now(CLOCK_MONOTONIC), processor = now(CLOCK_PROCESS_CPUTIME_ID);
    ebb_status status = ebb_search_new(ctx, job, &job->rooms[0], limits, EBB_USE_MUSIC, search);
    if (status == EBB_OK)
        status = ebb_search_run(ctx, *search, &effort, arena, finalist, &n, spread);
    f->plan = now(CLOCK_MONOTONIC) - begin;
    f->processor = now(CLOCK_PROCESS_CPUTIME_ID) - processor;
    if (status == EBB_OK)
        f->units = finalist[0].layout.n_placed;
    return status;
}

/* The starts again, counted. */
static ebb_status time_climb(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *search,
                             ebb_base *base, ebb_climbed *found, figures *f)
{
    const double scale[3] = {1, 1, 1};
    ebb_effort effort;
    ebb_effort_default(&effort);
    ebb_status status = ebb_search_base(ctx, arena, search, scale, true, base);
    ebb_pick *picks = EBB_NEW(arena, ebb_pick, STARTS * search->spots.n);
    if (status != EBB_OK || !picks || effort.starts != STARTS)
        return status != EBB_OK ? status : EBB_E_NOMEM;
    for (size_t i = 0; i < STARTS; i++)
        found[i] = (ebb_climbed){.pick = picks + i * search->spots.n};
    const double begin = now(CLOCK_MONOTONIC);
    status = ebb_climb_all(base, &effort, found);
    f->climb = now(CLOCK_MONOTONIC) - begin;
    for (size_t i = 0; i < STARTS; i++)
        f->scored += found[i].scored;
    f->places = search->spots.n;
    f->paths = search->stations.n_paths;
    f->frequencies = base->n_hz;
    return status;
}

/* The layout found, on the search's own model, solved as if there were no updates. */
static ebb_status time_anew(ebb_ctx *ctx, ebb_arena *arena, const ebb_search *search,
                            const ebb_base *base, const ebb_climbed *found, figures *f)
{
    ebb_state state = base->state;
    size_t *used = EBB_NEW(arena, size_t, found->n);
    ebb_patch *mounted = EBB_NEW(arena, ebb_patch, found->n);
    double _Complex *h =
        EBB_NEW(arena, double _Complex, base->n_sources * base->n_receivers * base->n_hz);
    if (!used || !mounted || !h)
        return EBB_E_NOMEM;
    for (size_t i = 0; i < found->n; i++) {
        const ebb_unit *unit = base->kind[found->pick[i].kind].unit;
        used[i] = search->n_fixed + found->pick[i].spot;
        mounted[i] = (ebb_patch){.piston = unit->piston, .assembly = &unit->assembly};
    }
    state.n_used = found->n;
    state.used = used;
    state.mounted = mounted;
    state.n_sources = base->n_sources;
    state.sources = base->points;
    state.n_receivers = base->n_receivers;
    state.receivers = base->points + base->n_sources;
    const double begin = now(CLOCK_MONOTONIC);
    ebb_status status = EBB_OK;
    const int times = 5;
    for (int i = 0; i < times && status == EBB_OK; i++)
        status = ebb_response(ctx, search->reduced, &state, base->n_hz, base->hz, h);
    f->anew = (now(CLOCK_MONOTONIC) - begin) / times;
    return status;
}

static void show(const figures *f)
{
    int threads = 1;
#ifdef _OPENMP
    threads = omp_get_max_threads();
#endif
    const double rate = (double)f->scored / f->climb;
    printf("%zu places, %zu units placed, %zu paths, %zu frequencies in the search, %d threads\n",
           f->places, f->units, f->paths, f->frequencies, threads);
    printf("plan: %.2f s (%.2f s of processor), wanted below %.0f s: %s\n", f->plan, f->processor,
           WANTED, f->plan < WANTED && f->places >= PLACES ? "met" : "not met");
    printf("starts: %.2f s for %zu scores, %.0f a second\n", f->climb, f->scored, rate);
    printf("ratio: solving a placement anew takes as long as %.0f scores\n", f->anew * rate);
}

int main(void)
{
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_job *job = NULL;
    ebb_search *search = NULL;
    ebb_limits limits;
    ebb_base base;
    ebb_climbed found[STARTS];
    figures f = {0};
    ebb_status status = ebb_job_parse(ctx, job_text, strlen(job_text), "bench", NULL, &job);
    if (status == EBB_OK) {
        ebb_limits_of(job, &limits);
        status = time_plan(ctx, arena, job, &limits, &search, &f);
    }
    if (status == EBB_OK)
        status = time_climb(ctx, arena, search, &base, found, &f);
    if (status == EBB_OK)
        status = time_anew(ctx, arena, search, &base, &found[0], &f);
    if (status == EBB_OK)
        show(&f);
    for (size_t i = 0; status != EBB_OK && i < ebb_ctx_messages(ctx); i++)
        fprintf(stderr, "%s\n", ebb_ctx_message(ctx, i)->text);
    ebb_search_free(search);
    ebb_job_free(job);
    ebb_arena_free(arena);
    ebb_ctx_free(ctx);
    return status == EBB_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
