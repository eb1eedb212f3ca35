/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Job files from hostile hands: any bytes give either a job whose parts fit together or faults.
 *
 * By hand, from the root of the project, with the lists of presets made by tools/embed.py:
 *   python3 tools/embed.py data/constructions.yaml presets.c ebb_room_presets
 *   python3 tools/embed.py data/materials.yaml stock.c ebb_room_stock
 *   clang -g -O1 -std=c17 -D_XOPEN_SOURCE=700 -fsanitize=fuzzer,address,undefined -Iinclude \
 *     fuzz/fuzz_job.c presets.c stock.c src/{base,air,layers,room}/[a-z]*.c \
 *     -lyaml -lgeos_c -llapacke -lopenblas -lm -o fuzz_job
 *   ./fuzz_job -max_total_time=60 -max_len=8192 new-corpus fuzz/corpus/job
 */
#include <ebb/job.h>
#include <ebb/limits.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#define DEMAND(condition)                                                                          \
    do {                                                                                           \
        if (!(condition))                                                                          \
            abort();                                                                               \
    } while (0)

/* Moved walls give a room or a reason, never half a room. */
static void move_walls(const ebb_job *job, const ebb_room *room)
{
    ebb_ctx *ctx = ebb_ctx_new();
    for (size_t i = 1; ctx != NULL && i < 4; i++) {
        ebb_arena *arena = ebb_arena_new(ctx);
        ebb_room moved;
        const ebb_status status = ebb_room_moved(ctx, arena, job, room, i, 0.1, &moved);
        DEMAND(status == EBB_OK || status == EBB_E_RANGE);
        DEMAND((status == EBB_OK) == (moved.n_surfaces > 0));
        ebb_arena_free(arena);
    }
    ebb_ctx_free(ctx);
}

static void check_room(const ebb_job *job, const ebb_room *room)
{
    const size_t n = room->n_surfaces;
    DEMAND(room->shaped ? n >= 5 && n <= EBB_MOST_SURFACES : n == EBB_FACES);
    DEMAND(room->shaped == (room->solid != NULL) && ebb_room_volume(room) > 0);
    for (size_t i = 0; i < n; i++)
        DEMAND(room->surfaces[i].construction < job->n_constructions &&
               ebb_surface_area(&room->surfaces[i]) > 0);
    for (size_t i = 0; i < room->n_openings; i++)
        DEMAND(room->openings[i].surface < n &&
               room->openings[i].construction < job->n_constructions);
    for (size_t i = 0; i < room->n_placed; i++)
        DEMAND(room->placed[i].surface < n && room->placed[i].unit < job->n_units);
    DEMAND(room->n_seats > 0 && room->n_speakers > 0);
    for (size_t i = 0; i < room->n_seats; i++)
        DEMAND(room->seats[i].name[0] != '\0' && isfinite(room->seats[i].at.x));
    move_walls(job, room);
}

static void check_job(const ebb_job *job)
{
    ebb_limits limits;
    ebb_limits_of(job, &limits);
    DEMAND(limits.response_deviation > 0);
    DEMAND(job->n_rooms > 0 && job->name[0] != '\0');
    for (size_t i = 0; i < job->n_constructions; i++) {
        const double _Complex beta =
            ebb_assembly_beta(&job->constructions[i].assembly, &job->air, NULL, 300);
        DEMAND(creal(beta) >= 0 && isfinite(cimag(beta)));
    }
    for (size_t i = 0; i < job->n_rooms; i++)
        check_room(job, &job->rooms[i]);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_job *job;
    if (ctx == NULL)
        return 0;
    const ebb_status status = ebb_job_parse(ctx, (const char *)data, size, "job.yaml", NULL, &job);
    DEMAND(status == EBB_OK || status == EBB_E_INPUT);
    DEMAND((status == EBB_OK) == (job != NULL));
    DEMAND((status == EBB_OK) == (ebb_ctx_errors(ctx) == 0));
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++)
        DEMAND(ebb_ctx_message(ctx, i)->text[0] != '\0');
    if (job != NULL)
        check_job(job);
    ebb_job_free(job);
    ebb_ctx_free(ctx);
    return 0;
}
