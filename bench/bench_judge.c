/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * bench_judge JOB: how long the judgement of a job takes, and how many untreated rooms a second.
 *
 * Times are of this machine and this moment; the last lines are ratios of times from the same run
 * and can be compared between machines.
 */
#include <ebb/ebb.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define BARE_ROOMS 16

static double now(clockid_t clock)
{
    struct timespec t;
    clock_gettime(clock, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

/* Wall and processor time, s. */
typedef struct timing {
    double wall, cpu;
} timing;

static timing start(void)
{
    return (timing){now(CLOCK_MONOTONIC), now(CLOCK_PROCESS_CPUTIME_ID)};
}

static timing since(timing begin)
{
    const timing end = start();
    return (timing){end.wall - begin.wall, end.cpu - begin.cpu};
}

static int complain(const ebb_ctx *ctx)
{
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++)
        fprintf(stderr, "%s\n", ebb_ctx_message(ctx, i)->text);
    return EXIT_FAILURE;
}

static ebb_status judge_rooms(ebb_ctx *ctx, const ebb_job *job, const ebb_effort *effort)
{
    ebb_status status = EBB_OK;
    for (size_t i = 0; i < job->n_rooms && status == EBB_OK; i++) {
        ebb_answer *answer = NULL;
        status = ebb_answer_room(ctx, job, i, effort, &answer);
        ebb_answer_free(answer);
    }
    return status;
}

/* The whole judgement, as the program does it by default. */
static ebb_status time_job(ebb_ctx *ctx, const char *path, timing *taken)
{
    ebb_effort effort;
    ebb_effort_default(&effort);
    ebb_job *job = NULL;
    const timing begin = start();
    ebb_status status = ebb_job_read(ctx, path, &job);
    if (status == EBB_OK)
        status = judge_rooms(ctx, job, &effort);
    *taken = since(begin);
    if (status == EBB_OK)
        printf("%s: %zu rooms, %zu starts, %zu draws: %.2f s (%.2f s of processor)\n", path,
               job->n_rooms, effort.starts, effort.draws, taken->wall, taken->cpu);
    ebb_job_free(job);
    return status;
}

/* A job of bare rooms from 20 to 100 m3 and no absorbers: nothing to plan. */
static void write_bare(char *text, size_t size)
{
    size_t at = (size_t)snprintf(text, size, "job: Bare rooms\nuse: music\nrooms:\n");
    for (int i = 0; i < BARE_ROOMS && at < size; i++) {
        const double x = 3.5 + 0.17 * i, y = 2.6 + 0.13 * i, z = 2.4 + 0.04 * i;
        at += (size_t)snprintf(text + at, size - at,
                               "  - name: Room %d\n"
                               "    size: [%.2f m, %.2f m, %.2f m]\n"
                               "    surfaces: {all: wall}\n"
                               "    seats: [{name: lead, at: [%.2f m, %.2f m, 1.2 m]}]\n"
                               "    speakers: [{name: left, at: [0.6 m, 0.7 m, 1.2 m]}]\n",
                               i + 1, x, y, z, 0.62 * x, 0.5 * y);
    }
    snprintf(text + at, at < size ? size - at : 0, "constructions: {wall: {admittance: 0.01}}\n");
}

static ebb_status time_bare(ebb_ctx *ctx, timing *taken)
{
    char text[8192];
    write_bare(text, sizeof text);
    ebb_effort effort;
    ebb_effort_default(&effort);
    effort.draws = 0;
    effort.relaxed = false;
    ebb_job *job = NULL;
    ebb_status status = ebb_job_parse(ctx, text, strlen(text), "bare rooms", NULL, &job);
    const timing begin = start();
    if (status == EBB_OK)
        status = judge_rooms(ctx, job, &effort);
    *taken = since(begin);
    if (status == EBB_OK)
        printf("untreated: %d rooms, no draws: %.2f s, %.1f rooms a second\n", BARE_ROOMS,
               taken->wall, BARE_ROOMS / taken->wall);
    ebb_job_free(job);
    return status;
}

int main(int argc, char **argv)
{
    if (argc != 2) {
        fprintf(stderr, "usage: bench_judge JOB\n");
        return 2;
    }
    ebb_ctx *ctx = ebb_ctx_new();
    if (ctx == NULL)
        return EXIT_FAILURE;
    timing whole = {0}, bare = {0};
    ebb_status status = time_job(ctx, argv[1], &whole);
    if (status == EBB_OK)
        status = time_bare(ctx, &bare);
    int code = EXIT_SUCCESS;
    if (status == EBB_OK)
        printf("ratio: the job's judgement takes as long as %.0f untreated rooms\n"
               "ratio: processor to wall time %.2f\n",
               whole.wall / (bare.wall / BARE_ROOMS), whole.cpu / whole.wall);
    else
        code = complain(ctx);
    ebb_ctx_free(ctx);
    return code;
}
