/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sweep_sizes CSV PLOT: judges rooms of 8 to 150 m3, two constructions, cover 15, 30 and 60 %, and
 * writes a table and a plot of the mended share over volume. docs/room-sizes.md tells what came
 * out.
 */
#include "sizes.h"

#include <ebb/ebb.h>

#include <stdlib.h>
#include <string.h>

#define SIZES 7
#define SERIES 6 /* two constructions x three covers */

static ebb_status judge(ebb_ctx *ctx, const char *text, ebb_answer **answer, ebb_job **job)
{
    ebb_effort effort;
    ebb_effort_default(&effort);
    effort.relaxed = false;
    ebb_status status = ebb_job_parse(ctx, text, strlen(text), "sweep", NULL, job);
    return status == EBB_OK ? ebb_answer_room(ctx, *job, 0, &effort, answer) : status;
}

static void write_row(FILE *csv, double volume, const char *wall, double cover, const ebb_answer *a)
{
    const ebb_treatment *m = &a->music;
    fprintf(csv, "%.0f,%s,%.0f,%s,%.2f,%.3f,%.3f,%.3f,%.2f,%.2f,%.2f,%zu\n", volume, wall,
            100 * cover, ebb_verdict_name(a->verdict), m->odds.share, m->mended,
            m->before.reading.wrong, m->after.reading.wrong, m->after.reading.inside,
            m->after.reading.worst_level, m->after.reading.worst_decay, m->after.layout.n_placed);
    fflush(csv);
}

int main(int argc, char **argv)
{
    static const double volumes[SIZES] = {8, 12, 18, 27, 45, 80, 150};
    static const char *const walls[2] = {"stud-wall", "brick"};
    static const double covers[3] = {0.15, 0.30, 0.60};
    static const char *const names[SERIES] = {"stud wall, 15 %", "stud wall, 30 %",
                                              "stud wall, 60 %", "brick, 15 %",
                                              "brick, 30 %",     "brick, 60 %"};
    double mended[SERIES][SIZES];
    ebb_series series[SERIES];
    FILE *csv = argc == 3 ? fopen(argv[1], "w") : NULL;
    ebb_ctx *ctx = ebb_ctx_new();
    if (!csv || !ctx) {
        fprintf(stderr, "usage: sweep_sizes CSV PLOT\n");
        return EXIT_FAILURE;
    }
    fprintf(csv, "volume_m3,walls,cover_percent,verdict,share_right_music,mended,wrong_before,"
                 "wrong_after,inside,worst_db,worst_decay,units\n");
    for (size_t i = 0; i < SERIES * SIZES; i++) {
        size_t s = i % SERIES, v = i / SERIES;
        char text[4096];
        ebb_answer *answer = NULL;
        ebb_job *job = NULL;
        sizes_job(text, sizeof text, volumes[v], walls[s / 3], covers[s % 3]);
        mended[s][v] = NAN;
        if (judge(ctx, text, &answer, &job) == EBB_OK) {
            mended[s][v] = answer->music.mended;
            write_row(csv, volumes[v], walls[s / 3], covers[s % 3], answer);
        } else {
            fprintf(stderr, "%g m3: %s\n", volumes[v], ebb_ctx_message(ctx, 0)->text);
        }
        ebb_answer_free(answer);
        ebb_job_free(job);
        ebb_ctx_clear(ctx);
    }
    for (size_t s = 0; s < SERIES; s++)
        series[s] = (ebb_series){names[s], SIZES, volumes, mended[s], false};
    const ebb_plot plot = {"Share mended by the best plan found, music",
                           "volume, m³",
                           "mended share",
                           true,
                           {8, 150},
                           {0, 1},
                           SERIES,
                           series};
    ebb_status status = ebb_plot_file(ctx, argv[2], 480, 300, &plot);
    ebb_ctx_free(ctx);
    return fclose(csv) == 0 && status == EBB_OK ? EXIT_SUCCESS : EXIT_FAILURE;
}
