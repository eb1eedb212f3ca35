/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Library files from hostile hands: any bytes give either a library whose parts fit together or
 * faults. Job files come this way too, for their absorbers.
 *
 * By hand, from the root of the project, with the lists of presets made by tools/embed.py:
 *   python3 tools/embed.py data/constructions.yaml presets.c ebb_room_presets
 *   python3 tools/embed.py data/materials.yaml stock.c ebb_room_stock
 *   clang -g -O1 -std=c17 -D_XOPEN_SOURCE=700 -fsanitize=fuzzer,address,undefined -Iinclude \
 *     fuzz/fuzz_library.c presets.c stock.c src/{base,air,layers,room}/[a-z]*.c \
 *     -lyaml -llapacke -lopenblas -lm -o fuzz_library
 *   ./fuzz_library -max_total_time=60 -max_len=8192 new-corpus fuzz/corpus/library
 */
#include <ebb/library.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#define DEMAND(condition)                                                                          \
    do {                                                                                           \
        if (!(condition))                                                                          \
            abort();                                                                               \
    } while (0)

static void check_stock(const ebb_stock *stock)
{
    for (size_t i = 0; i < stock->n_materials; i++) {
        const ebb_material *m = &stock->material[i];
        DEMAND(m->name[0] != '\0' && m->board.density > 0 && m->board.modulus > 0);
        for (size_t k = 0; k < m->n_sheets; k++)
            DEMAND(m->sheet[k].thickness > (k > 0 ? m->sheet[k - 1].thickness : 0));
    }
    for (size_t i = 0; i < stock->n_wools; i++)
        DEMAND(stock->wool[i].layer.resistivity > 0);
    for (size_t i = 0; i < stock->n_batches; i++)
        DEMAND(stock->batch[i].layer.grains.diameter > 0);
    for (size_t i = 0; i < stock->n_strips; i++)
        DEMAND(stock->strip[i].thickness > 0 && stock->strip[i].source != NULL);
}

static void check_unit(const ebb_library *library, const ebb_unit *unit)
{
    const double _Complex beta = ebb_assembly_beta(&unit->assembly, &library->air, NULL, 300);
    DEMAND(isfinite(creal(beta)) && isfinite(cimag(beta)) && creal(beta) >= -1e-9 * cabs(beta));
    DEMAND(unit->mass > 0 && unit->depth > 0 && unit->face[0] > 0 && unit->face[1] > 0);
    DEMAND(unit->name[0] != '\0' && unit->from[0] == '\0');
    for (size_t i = 0; i < unit->n_origins; i++)
        DEMAND(ebb_unit_origin(unit, unit->origins[i].part) != NULL);
}

static void check_figures(const ebb_figure *figure, size_t n)
{
    DEMAND(n > 0);
    for (size_t i = 0; i < n; i++)
        DEMAND(figure[i].hz > (i > 0 ? figure[i - 1].hz : 0) && figure[i].value >= 0);
}

static void check_target(const ebb_target *target)
{
    if (target->goal == EBB_GOAL_CURVE)
        check_figures(target->curve, target->n);
    else if (target->goal == EBB_GOAL_MEAN)
        DEMAND(target->band[0] > 0 && target->band[0] < target->band[1]);
    else /* no file can be read here */
        abort();
    DEMAND(target->depth[0] > 0 && target->depth[0] <= target->depth[1]);
    DEMAND(target->fronts[0] >= 1 && target->fronts[0] <= target->fronts[1]);
    DEMAND(target->cells >= 1 && target->cells <= 2 && target->thinnest > 0);
    check_stock(&target->stock);
}

static void check_library(const ebb_library *library)
{
    check_stock(&library->stock);
    for (size_t i = 0; i < library->n_units; i++)
        check_unit(library, &library->unit[i]);
    for (size_t i = 0; i < library->n_claims; i++)
        check_figures(library->claim[i].figure, library->claim[i].n);
    for (size_t i = 0; i < library->n_targets; i++)
        check_target(&library->target[i]);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_library *library;
    if (ctx == NULL)
        return 0;
    const ebb_status status =
        ebb_library_parse(ctx, (const char *)data, size, "library.yaml", NULL, &library);
    DEMAND((status == EBB_OK) == (library != NULL));
    DEMAND((status == EBB_OK) == (ebb_ctx_errors(ctx) == 0));
    for (size_t i = 0; i < ebb_ctx_messages(ctx); i++)
        DEMAND(ebb_ctx_message(ctx, i)->text[0] != '\0');
    if (library != NULL)
        check_library(library);
    ebb_library_free(library);
    ebb_ctx_free(ctx);
    return 0;
}
