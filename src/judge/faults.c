/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * faults.c - the list of faults: one cause in one third-octave listed once, largest first, in
 * words.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "private.h"

const char *ebb_fault_name(ebb_fault_kind kind)
{
    static const char *const name[] = {"ring",   "peak", "dip", "gap",
                                       "spread", "slow", "dry", "speech"};
    return (unsigned)kind < sizeof name / sizeof name[0] ? name[kind] : "unknown";
}

const char *ebb_fault_meaning(ebb_fault_kind kind)
{
    static const char *const meaning[] = {
        "a band dies away so slowly that it is heard",
        "a stretch of the response stands above its limit",
        "a stretch of the response falls below its limit",
        "no mode carries a stretch of the band, and the response falls below its limit there",
        "two places hear one speaker at levels that differ by more than the limit",
        "the middle band dies away more slowly than its mask allows",
        "the middle band dies away faster than its mask allows",
        "speech is harder to understand than the limit allows"};
    return (unsigned)kind < sizeof meaning / sizeof meaning[0] ? meaning[kind] : "unknown";
}

/* ---- one cause, one fault -------------------------------------------------------------------- */

/* The reading of a fault that is listed within another. */
static const char *second_reading(const ebb_judge_listing *list, const ebb_fault *fault)
{
    char value[48], limit[48];
    ebb_units units = list->scene->job->units;
    bool ring = fault->kind == EBB_FAULT_RING;
    ebb_quantity_kind kind = ring ? EBB_Q_TIME : EBB_Q_LEVEL;
    ebb_quantity_print(kind, fault->value, units, value, sizeof value);
    ebb_quantity_print(kind, fault->limit, units, limit, sizeof limit);
    const char *what = "places differ by";
    if (ring)
        what = "it also rings for";
    else if (fault->kind == EBB_FAULT_PEAK)
        what = "it also stands above the band mean by";
    return ebb_arena_format(list->arena, "%s %s (limit %s)", what, value, limit);
}

/* Lists `less` within `host`: what it said follows the cause of host. */
static bool merge(ebb_judge_listing *list, ebb_judge_entry *host, ebb_judge_entry *less)
{
    const char *reading = second_reading(list, &less->fault);
    const char *before = host->aside ? host->aside : "", *after = less->aside ? less->aside : "";
    if (!reading)
        return false;
    host->aside = ebb_arena_format(list->arena, "%s%s%s%s%s", before, *before ? "; " : "", reading,
                                   *after ? "; " : "", after);
    less->merged = true;
    return host->aside != NULL;
}

/* A spread is one place's peak or dip seen from another place when that fault is at least as large
 * and lies within the third-octave around it. */
static bool explains(const ebb_judge_entry *host, const ebb_judge_entry *spread)
{
    bool level = host->fault.kind == EBB_FAULT_PEAK || host->fault.kind == EBB_FAULT_DIP ||
                 host->fault.kind == EBB_FAULT_GAP;
    bool here = host->fault.path == spread->fault.path || host->fault.path == spread->other;
    bool close = fabs(log10(host->fault.hz / spread->fault.hz)) <= 0.0501; /* to the edge */
    return level && here && close && host->fault.size >= spread->fault.size;
}

/* Each spread goes to the first fault that explains it, which is enough: it is told once. */
static bool merge_spreads(ebb_judge_listing *list)
{
    bool done = true;
    for (size_t i = 0; i < list->n; i++) {
        ebb_judge_entry *spread = &list->entry[i];
        if (spread->fault.kind != EBB_FAULT_SPREAD)
            continue;
        for (size_t k = 0; k < list->n && !spread->merged; k++)
            if (explains(&list->entry[k], spread))
                done = merge(list, &list->entry[k], spread) && done;
    }
    return done;
}

/* Are a peak and a ring of one mode, and do they meet? */
static bool one_cause(const ebb_judge_entry *peak, const ebb_judge_entry *ring)
{
    return peak->fault.kind == EBB_FAULT_PEAK && peak->mode != EBB_JUDGE_NONE &&
           peak->mode == ring->mode && !peak->fault.also_rings &&
           peak->fault.low <= ring->fault.high && peak->fault.high >= ring->fault.low;
}

/* Size and kind are those of the larger reading, the stretch is that of both. */
static bool merge_ring(ebb_judge_listing *list, ebb_judge_entry *peak, ebb_judge_entry *ring)
{
    bool peak_leads = peak->fault.size >= ring->fault.size;
    ebb_judge_entry *host = peak_leads ? peak : ring;
    double low = fmin(peak->fault.low, ring->fault.low);
    double high = fmax(peak->fault.high, ring->fault.high);
    peak->fault.also_rings = ring->fault.also_rings = true;
    ring->fault.equalisable = true; /* the peak in it */
    host->fault.low = low;
    host->fault.high = high;
    return merge(list, host, peak_leads ? ring : peak);
}

static bool merge_rings(ebb_judge_listing *list)
{
    bool done = true;
    for (size_t i = 0; i < list->n; i++) {
        ebb_judge_entry *ring = &list->entry[i];
        if (ring->fault.kind != EBB_FAULT_RING)
            continue;
        for (size_t k = 0; k < list->n && !ring->fault.also_rings; k++)
            if (one_cause(&list->entry[k], ring))
                done = merge_ring(list, &list->entry[k], ring) && done;
    }
    return done;
}

/* ---- the list -------------------------------------------------------------------------------- */

/* Equal sizes by frequency and kind, so that the order never depends on the sorting. */
static int by_size(const void *a, const void *b)
{
    const ebb_fault *x = a, *y = b;
    if (x->size != y->size)
        return x->size > y->size ? -1 : 1;
    if (x->hz != y->hz)
        return x->hz < y->hz ? -1 : 1;
    return x->kind < y->kind ? -1 : x->kind > y->kind;
}

/* Limits used where their source does not reach. */
static void warn_ranges(ebb_ctx *ctx, const ebb_scene *scene, const ebb_reading *reading)
{
    double volume = ebb_room_volume(scene->room);
    char text[48];
    ebb_quantity_print(EBB_Q_FREQUENCY, 32, scene->job->units, text, sizeof text);
    if (scene->use == EBB_USE_MUSIC && scene->grid->n_bands > 0 && scene->grid->band_hz[0] < 31)
        ebb_warn_at(ctx, NULL,
                    "no published limit for the decay of music reaches below %s: the one there is "
                    "used for the bands below",
                    text);
    if (scene->use == EBB_USE_VOICE && !(volume >= 30 && volume <= 5000))
        ebb_warn_at(ctx, NULL,
                    "the reverberation target for speech (DIN 18041) is given for 30 to 5000 m3; "
                    "for %.3g m3 its formula is used beyond that",
                    volume);
    if (reading->worst_decay > 1 && !scene->modes)
        ebb_warn_at(ctx, NULL, "bands ring, but without modes their cause can not be named");
}

/* A scene put together from another reading would send indices out of bounds. */
static ebb_status check(ebb_ctx *ctx, const ebb_scene *scene, const ebb_reading *reading)
{
    if (scene->n_sources != reading->n_sources || scene->n_receivers != reading->n_receivers ||
        reading->n_paths == 0 || scene->grid->n_cells == 0)
        return ebb_fail(ctx, EBB_E_RANGE,
                        "faults of %zu x %zu paths asked from a reading of %zu x "
                        "%zu",
                        scene->n_sources, scene->n_receivers, reading->n_sources,
                        reading->n_receivers);
    if (scene->modes && (scene->modes->n_sources != reading->n_sources ||
                         scene->modes->n_receivers != reading->n_receivers))
        return ebb_fail(ctx, EBB_E_RANGE, "the modes belong to other speakers and seats");
    return EBB_OK;
}

/* Puts what is left after merging into words. */
static bool write_list(const ebb_judge_listing *list, ebb_faults *faults)
{
    faults->fault = EBB_NEW(list->arena, ebb_fault, list->n);
    bool done = faults->fault != NULL;
    for (size_t i = 0; done && i < list->n; i++) {
        const ebb_judge_entry *entry = &list->entry[i];
        if (entry->merged)
            continue;
        ebb_fault *fault = &faults->fault[faults->n++];
        *fault = entry->fault;
        fault->place = ebb_judge_place_words(list->arena, list->scene, entry);
        fault->cause = ebb_judge_cause_words(list->arena, list->scene, entry);
        done = fault->place && fault->cause;
    }
    return done;
}

ebb_status ebb_faults_list(ebb_ctx *ctx, ebb_arena *arena, const ebb_scene *scene,
                           const ebb_reading *reading, ebb_faults *faults)
{
    memset(faults, 0, sizeof *faults);
    ebb_status status = check(ctx, scene, reading);
    if (status != EBB_OK)
        return status;
    ebb_judge_listing list = {.arena = arena, .scene = scene, .reading = reading};
    list.entry = EBB_NEW(arena, ebb_judge_entry, ebb_judge_most_runs(scene->grid));
    bool done = list.entry != NULL;
    if (done) {
        ebb_judge_find_runs(&list);
        /* Spreads first: what a peak says about places stays with it when a ring takes it in. */
        done = merge_spreads(&list) && merge_rings(&list) && write_list(&list, faults);
    }
    if (!done) {
        memset(faults, 0, sizeof *faults);
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory while listing faults");
    }
    warn_ranges(ctx, scene, reading);
    qsort(faults->fault, faults->n, sizeof faults->fault[0], by_size);
    return EBB_OK;
}
