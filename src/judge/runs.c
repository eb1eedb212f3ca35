/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * runs.c - wrong readings that lie next to each other, as raw faults.
 */
#include <math.h>

#include "private.h"

#define MOST 160 /* points of a grid */

static const double boost = 3; /* dB an equaliser may lift a gap; ours */

/* The worst of all paths along the grid or the bands: size in units of the limit. */
typedef struct profile {
    size_t n;
    double size[MOST];
    size_t path[MOST];
    size_t other[MOST]; /* spread: the louder path; rings: the mode that carries the band */
} profile;

typedef struct run {
    size_t first, last, worst;
} run;

/* ---- runs ------------------------------------------------------------------------------------ */

/* Next maximal run of sizes above 1 from *at on. With `split`, a change of `other` ends a run. */
static bool next_run(const profile *p, bool split, size_t *at, run *found)
{
    size_t i = *at;
    while (i < p->n && !(p->size[i] > 1))
        i++;
    *found = (run){i, i, i};
    for (; i < p->n && p->size[i] > 1; i++) {
        if (split && p->other[i] != p->other[found->first])
            break;
        found->last = i;
        if (p->size[i] > p->size[found->worst])
            found->worst = i;
    }
    *at = i;
    return found->first < p->n;
}

/* New entry; the array has room for all that can come (ebb_judge_most_runs). */
static ebb_judge_entry *add(ebb_judge_listing *list, ebb_fault_kind kind, double size, size_t path)
{
    ebb_judge_entry *entry = &list->entry[list->n++];
    *entry = (ebb_judge_entry){
        .fault = {.kind = kind, .size = size, .path = path},
        .mode = EBB_JUDGE_NONE,
        .second = EBB_JUDGE_NONE,
        .other = EBB_JUDGE_NONE,
    };
    return entry;
}

/* Ends of a run are its outermost wrong cells, not the edges of their thirds: what is listed is
 * what was read. */
static void place_run(ebb_judge_entry *entry, const ebb_grid *grid, const run *r)
{
    entry->fault.low = grid->hz[grid->first + r->first];
    entry->fault.high = grid->hz[grid->first + r->last];
    entry->fault.hz = grid->hz[grid->first + r->worst];
}

/* ---- response -------------------------------------------------------------------------------- */

/* How far the response lies off on one side, worst path. Paths inside the limit, or off on the
 * other side, count as 0. */
static void level_profile(const ebb_judge_listing *list, double sign, profile *p)
{
    const ebb_reading *reading = list->reading;
    p->n = list->scene->grid->n_cells;
    for (size_t c = 0; c < p->n; c++) {
        p->size[c] = 0;
        p->path[c] = 0;
        for (size_t k = 0; k < reading->n_paths; k++) {
            double d =
                sign * reading->level[k * p->n + c] / list->scene->limits->response_deviation;
            if (d > p->size[c]) {
                p->size[c] = d;
                p->path[c] = k;
            }
        }
    }
}

/* Sorts a dip into gap or dip, and says what an equaliser can do about it. */
static void settle_dip(const ebb_judge_listing *list, ebb_fault *fault)
{
    if (!ebb_judge_gap(list->scene, fault->hz))
        return;
    fault->kind = EBB_FAULT_GAP;
    ebb_judge_pull pull = ebb_judge_opposed(list->scene->modes, fault->path, fault->hz);
    bool known = pull.mode[0] != EBB_JUDGE_NONE;
    bool cancels = pull.mode[1] != EBB_JUDGE_NONE && pull.left < 0.5;
    fault->equalisable = known && !cancels && fault->limit - fault->value <= boost;
}

/* A peak keeps the mode behind it, so that it can meet its ring; a dip has no single mode. */
static void add_levels(ebb_judge_listing *list, ebb_fault_kind kind)
{
    const ebb_scene *scene = list->scene;
    double sign = kind == EBB_FAULT_PEAK ? 1 : -1;
    profile p;
    level_profile(list, sign, &p);
    size_t at = 0;
    for (run r; next_run(&p, false, &at, &r);) {
        size_t path = p.path[r.worst];
        ebb_judge_entry *entry = add(list, kind, p.size[r.worst], path);
        place_run(entry, scene->grid, &r);
        entry->fault.value = list->reading->level[path * p.n + r.worst];
        entry->fault.limit = sign * scene->limits->response_deviation;
        if (kind == EBB_FAULT_DIP) {
            settle_dip(list, &entry->fault);
            continue;
        }
        entry->fault.equalisable = true;
        if (!ebb_judge_in_pressure_zone(scene, entry->fault.hz))
            entry->mode = ebb_judge_strongest(scene->modes, path, entry->fault.hz);
    }
}

/* ---- decay ----------------------------------------------------------------------------------- */

/* How slow each band is on its worst path, and the mode that carries it there. */
static void ring_profile(const ebb_judge_listing *list, profile *p)
{
    const ebb_reading *reading = list->reading;
    p->n = list->scene->grid->n_bands;
    for (size_t b = 0; b < p->n; b++) {
        p->size[b] = 0;
        p->path[b] = 0;
        for (size_t k = 0; k < reading->n_paths; k++) {
            double slow = reading->decay[k * p->n + b] / reading->decay_limit[b];
            if (slow > p->size[b]) { /* false for a band without a mode */
                p->size[b] = slow;
                p->path[b] = k;
            }
        }
        size_t carrier[2] = {EBB_JUDGE_NONE, EBB_JUDGE_NONE};
        if (p->size[b] > 1 && list->scene->modes)
            ebb_judge_carriers(list->scene->modes, p->path[b], list->scene->grid->band_hz[b],
                               carrier);
        p->other[b] = carrier[0];
    }
}

/* A run of bands ends where another mode takes over: that is another cause. */
static void add_rings(ebb_judge_listing *list)
{
    const ebb_grid *grid = list->scene->grid;
    const double half_band = pow(10, 0.05);
    profile p;
    ring_profile(list, &p);
    size_t at = 0;
    for (run r; next_run(&p, true, &at, &r);) {
        size_t path = p.path[r.worst];
        ebb_judge_entry *entry = add(list, EBB_FAULT_RING, p.size[r.worst], path);
        entry->fault.low = grid->band_hz[r.first] / half_band;
        entry->fault.high = grid->band_hz[r.last] * half_band;
        entry->fault.hz = grid->band_hz[r.worst];
        entry->fault.value = list->reading->decay[path * p.n + r.worst];
        entry->fault.limit = list->reading->decay_limit[r.worst];
        entry->mode = p.other[r.worst];
        size_t carrier[2] = {EBB_JUDGE_NONE, EBB_JUDGE_NONE};
        if (list->scene->modes)
            ebb_judge_carriers(list->scene->modes, path, entry->fault.hz, carrier);
        entry->second = carrier[1];
    }
}

/* ---- spread between receivers ---------------------------------------------------------------- */

/* Levels with their band means put back: what differs between two places is the level itself. */
static double true_level(const ebb_judge_listing *list, size_t path, size_t c)
{
    return list->reading->mean[path] + list->reading->level[path * list->scene->grid->n_cells + c];
}

/* Receivers of one speaker against each other. Speakers are not compared: they are meant to be set
 * to one level. Nor are microphone and listener, which are meant to differ. */
static void spread_profile(const ebb_judge_listing *list, profile *p)
{
    const ebb_reading *reading = list->reading;
    size_t n = reading->n_receivers;
    p->n = list->scene->grid->n_cells;
    for (size_t c = 0; c < p->n; c++) {
        p->size[c] = 0;
        p->path[c] = p->other[c] = 0;
        for (size_t s = 0; s < reading->n_sources; s++) {
            size_t low = s * n, high = s * n;
            for (size_t k = s * n; k < (s + 1) * n; k++) {
                low = true_level(list, k, c) < true_level(list, low, c) ? k : low;
                high = true_level(list, k, c) > true_level(list, high, c) ? k : high;
            }
            double apart = true_level(list, high, c) - true_level(list, low, c);
            if (apart / list->scene->limits->spread > p->size[c]) {
                p->size[c] = apart / list->scene->limits->spread;
                p->path[c] = low;
                p->other[c] = high;
            }
        }
    }
}

static void add_spreads(ebb_judge_listing *list)
{
    const ebb_scene *scene = list->scene;
    profile p;
    spread_profile(list, &p);
    size_t at = 0;
    for (run r; next_run(&p, false, &at, &r);) {
        ebb_judge_entry *entry = add(list, EBB_FAULT_SPREAD, p.size[r.worst], p.path[r.worst]);
        place_run(entry, scene->grid, &r);
        entry->other = p.other[r.worst];
        entry->fault.value = p.size[r.worst] * scene->limits->spread;
        entry->fault.limit = scene->limits->spread;
        entry->mode =
            ebb_judge_divider(scene->modes, entry->fault.path, entry->other, entry->fault.hz);
    }
}

/* ---- middle band ----------------------------------------------------------------------------- */

/* Edge of the mask at an octave: 0 the lower, 1 the upper. */
static double mask_edge(const ebb_scene *scene, size_t octave, int side)
{
    double mask[2];
    ebb_mid_mask(scene->limits, scene->use, ebb_room_volume(scene->room), (int)octave, mask);
    return mask[side];
}

static void mid_profile(const ebb_scene *scene, int side, profile *p)
{
    p->n = EBB_OCTAVES;
    for (size_t k = 0; k < EBB_OCTAVES; k++) {
        double over = scene->mid->t60[k] / mask_edge(scene, k, side);
        p->size[k] = side ? over : 1 / over;
    }
}

/* Octaves outside the mask on one side. */
static void add_middle(ebb_judge_listing *list, ebb_fault_kind kind)
{
    const ebb_scene *scene = list->scene;
    int side = kind == EBB_FAULT_SLOW;
    profile p;
    mid_profile(scene, side, &p);
    size_t at = 0;
    for (run r; next_run(&p, false, &at, &r);) {
        ebb_judge_entry *entry = add(list, kind, p.size[r.worst], EBB_JUDGE_NONE);
        entry->octave = (int)r.worst;
        entry->fault.low = ebb_judge_octave_hz((int)r.first) / sqrt(2);
        entry->fault.high = ebb_judge_octave_hz((int)r.last) * sqrt(2);
        entry->fault.hz = ebb_judge_octave_hz((int)r.worst);
        entry->fault.value = scene->mid->t60[r.worst];
        entry->fault.limit = mask_edge(scene, r.worst, side);
    }
}

/* Speech has one number for the whole room; the octave is the one to treat first. */
static void add_speech(ebb_judge_listing *list)
{
    const ebb_scene *scene = list->scene;
    double wanted = scene->limits->speech_index, got = scene->mid->speech_index;
    if (scene->use != EBB_USE_VOICE || !(got < wanted))
        return;
    ebb_judge_entry *entry = add(list, EBB_FAULT_SPEECH, wanted / got, EBB_JUDGE_NONE);
    for (int k = 1; k < EBB_OCTAVES; k++)
        if (scene->mid->t60[k] > scene->mid->t60[entry->octave])
            entry->octave = k;
    entry->fault.low = ebb_judge_octave_hz(0) / sqrt(2);
    entry->fault.high = ebb_judge_octave_hz(EBB_OCTAVES - 1) * sqrt(2);
    entry->fault.hz = ebb_judge_octave_hz(entry->octave);
    entry->fault.value = got;
    entry->fault.limit = wanted;
}

size_t ebb_judge_most_runs(const ebb_grid *grid)
{
    /* Runs of one kind have at least one point between them: half of the points, rounded up. Three
     * kinds lie on the grid, one on the bands (split, so one each), two on the octaves. */
    return 3 * (grid->n_cells / 2 + 1) + grid->n_bands + (size_t)EBB_OCTAVES + 2 + 1;
}

void ebb_judge_find_runs(ebb_judge_listing *list)
{
    add_levels(list, EBB_FAULT_PEAK);
    add_levels(list, EBB_FAULT_DIP);
    add_rings(list);
    if (list->scene->use == EBB_USE_MUSIC)
        add_spreads(list);
    if (!list->scene->mid)
        return;
    add_middle(list, EBB_FAULT_SLOW);
    add_middle(list, EBB_FAULT_DRY);
    add_speech(list);
}
