/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sweep_sizes CSV PLOT: judges rooms of 8 to 150 m3, two constructions, cover 15, 30 and 60 %, and
 * writes a table and a plot of the mended share over volume. docs/room-sizes.md tells what came
 * out.
 */
#include <ebb/ebb.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SIZES 7
#define SERIES 6 /* two constructions x three covers */

/* Proportions 1.9 : 1.4 : 1 (Louden 1971) up to a height of 3.2 m, then wider only. */
static void dimensions(double volume, double size[3])
{
    size[2] = fmin(cbrt(volume / (1.9 * 1.4)) * 1.15, 3.2);
    double plan = volume / size[2];
    size[0] = sqrt(plan * 1.9 / 1.4);
    size[1] = plan / size[0];
}

/* One room; units as in the example: heavy fronts at four frequencies and porous panels. */
static int write_job(char *text, size_t size, double volume, const char *wall, double cover)
{
    double d[3];
    dimensions(volume, d);
    return snprintf(
        text, size,
        "job: sweep\nuse: music\nlowest: 40 Hz\nallowance: {cover: %.0f %%}\nabsorbers:\n"
        "  f40: {face: [0.6 m, 1.2 m], depth: 350 mm, mass: 48 kg, layers: [{lumped: {mass: 5.6 "
        "kg/m2, resonance: 40 Hz, resistance: 413 Pa.s/m}}]}\n"
        "  f50: {face: [0.6 m, 1.2 m], depth: 320 mm, mass: 43 kg, layers: [{lumped: {mass: 3.8 "
        "kg/m2, resonance: 50 Hz, resistance: 413 Pa.s/m}}]}\n"
        "  f63: {face: [0.6 m, 1.2 m], depth: 280 mm, mass: 38 kg, layers: [{lumped: {mass: 3.6 "
        "kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n"
        "  f80: {face: [0.6 m, 1.2 m], depth: 250 mm, mass: 34 kg, layers: [{lumped: {mass: 3.2 "
        "kg/m2, resonance: 80 Hz, resistance: 413 Pa.s/m}}]}\n"
        "  wool: {face: [0.6 m, 1.2 m], depth: 150 mm, mass: 11 kg, hangs: [walls, ceiling], "
        "layers: [{porous: 145 mm, resistivity: 10 kPa.s/m2, density: 45 kg/m3}]}\n"
        "rooms:\n  - name: room\n    size: [%.3f m, %.3f m, %.3f m]\n"
        "    surfaces: {walls: %s, floor: timber-floor, ceiling: plaster-ceiling}\n"
        "    seats: [{name: seat, at: [%.3f m, %.3f m, 1.2 m], zone: %.2f m}]\n"
        "    speakers:\n      - {name: left, at: [%.3f m, %.3f m, 1.2 m]}\n"
        "      - {name: right, at: [%.3f m, %.3f m, 1.2 m]}\n",
        100 * cover, d[0], d[1], d[2], wall, 0.6 * d[0], 0.5 * d[1], fmin(0.15 * d[1], 0.6),
        0.18 * d[0], 0.72 * d[1], 0.18 * d[0], 0.28 * d[1]);
}

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
        write_job(text, sizeof text, volumes[v], walls[s / 3], covers[s % 3]);
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
