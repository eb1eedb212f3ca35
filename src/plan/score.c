/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "score.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define AIM 0.5          /* share of the response limit that costs nothing */
#define AIM_DECAY 0.95   /* the same for decays */
#define WORST_WEIGHT 1.0 /* the worst cell of each path against all its cells */
#define DECAY_WEIGHT 0.3 /* decays against response; see docs/judging.md on how they trade */
#define MUSIC_MID 0.1    /* the mid band is no part of the music rule, but nobody wants it wrong */
#define EFFORT_COST 0.02 /* of using the whole allowance: a unit must earn its place */

ebb_status ebb_score_make(ebb_arena *arena, const ebb_base *base, ebb_score *score)
{
    size_t paths = base->stations->n_paths;
    *score = (ebb_score){.modes_arena = arena};
    score->h = EBB_NEW(arena, double _Complex, paths * base->n_hz);
    score->power = EBB_NEW(arena, double, base->n_hz);
    score->level = EBB_NEW(arena, double, paths * base->n_cells);
    return score->h && score->power && score->level ? EBB_OK : EBB_E_NOMEM;
}

/* ---- modes -------------------------------------------------------------------------------------
 */

/* Energy of every mode between all stations. */
static void fill_heard(const ebb_modes *modes, double *heard)
{
    size_t pairs = modes->n_sources * modes->n_receivers;
    for (size_t m = 0; m < modes->n; m++)
        for (size_t i = 0; i < pairs; i++) {
            double _Complex r = modes->residue[m * pairs + i];
            heard[m * pairs + i] = creal(r * conj(r)) / modes->mode[m].delta;
        }
}

/* Share of its third-octave's energy that each mode carries at the heads, over all paths. */
void ebb_score_weigh(ebb_score *score, const ebb_base *base, const size_t option[2])
{
    const ebb_stations *st = base->stations;
    size_t s0 = option[0] * st->n_sources, r0 = option[1] * st->n_receivers;
    for (size_t m = 0; m < score->n_modes; m++) {
        const double *heard = score->heard + m * base->n_sources * base->n_receivers;
        score->energy[m] = 0;
        for (size_t s = s0; s < s0 + st->n_sources; s++)
            for (size_t r = r0; r < r0 + st->n_receivers; r++)
                score->energy[m] += heard[s * base->n_receivers + r];
    }
    for (size_t m = 0; m < score->n_modes; m++) {
        double sum = 0;
        for (size_t o = score->near[m][0]; o < score->near[m][1]; o++)
            sum += score->energy[o];
        score->weight[m] = sum > 0 ? score->energy[m] / sum : 0;
    }
}

/* Which modes lie within a third octave around each; they come by rising frequency. */
static void fill_near(const ebb_modes *modes, size_t (*near)[2])
{
    const double half = exp2(1.0 / 6);
    for (size_t m = 0; m < modes->n; m++) {
        double hz = modes->mode[m].hz;
        near[m][0] = near[m][1] = m;
        while (near[m][0] > 0 && modes->mode[near[m][0] - 1].hz > hz / half)
            near[m][0]--;
        while (near[m][1] < modes->n && modes->mode[near[m][1]].hz < hz * half)
            near[m][1]++;
    }
}

/* Squared shape of every mode over every spot: how strongly a unit there takes hold of it. */
static void fill_touch(const ebb_base *base, const ebb_modes *modes, double _Complex *touch)
{
    size_t size = modes->size, n_spots = base->spots->n;
    for (size_t m = 0; m < modes->n; m++) {
        const double _Complex *x = modes->vector + m * size;
        double _Complex norm = 0;
        for (size_t i = 0; i < size; i++)
            norm += x[i] * x[i];
        for (size_t p = 0; p < n_spots; p++) {
            double _Complex *out = touch + (m * n_spots + p) * 2;
            out[0] = out[1] = 0;
            for (size_t q = 0; q < EBB_SPOT_PORTS; q++) {
                const double *v = base->modal_vectors + (p * EBB_SPOT_PORTS + q) * size;
                double _Complex sum = 0;
                for (size_t i = 0; i < size; i++)
                    sum += v[i] * x[i];
                if (q == 0)
                    out[0] = sum * sum / norm;
                out[1] += sum * sum / norm;
            }
        }
    }
}

/* State of the base with a layout's units mounted; arrays in arena. */
static ebb_status mounted_state(ebb_arena *arena, const ebb_base *base, const ebb_climbed *layout,
                                ebb_state *state)
{
    size_t fixed = base->state.n_used, n = fixed + layout->n;
    size_t *used = EBB_NEW(arena, size_t, n);
    ebb_patch *mounted = EBB_NEW(arena, ebb_patch, n);
    if (!used || !mounted)
        return EBB_E_NOMEM;
    memcpy(used, base->state.used, fixed * sizeof *used);
    memcpy(mounted, base->state.mounted, fixed * sizeof *mounted);
    for (size_t i = 0; i < layout->n; i++) {
        const ebb_kind *kind = &base->kind[layout->pick[i].kind];
        used[fixed + i] = fixed + layout->pick[i].spot;
        mounted[fixed + i] =
            (ebb_patch){.piston = kind->ports == 1, .assembly = &kind->unit->assembly};
    }
    *state = base->state;
    state->n_used = n;
    state->used = used;
    state->mounted = mounted;
    state->n_sources = base->n_sources;
    state->n_receivers = base->n_receivers;
    state->sources = base->points;
    state->receivers = base->points + base->n_sources;
    return EBB_OK;
}

/* Room for n modes: what is there already serves as long as it can. */
static bool hold_modes(ebb_score *score, const ebb_base *base, size_t n)
{
    score->n_modes = n;
    if (n <= score->most_modes)
        return true;
    ebb_arena *arena = score->modes_arena;
    score->most_modes = n += n / 4;
    score->omega = EBB_NEW(arena, double _Complex, n);
    score->kept = EBB_NEW(arena, double _Complex, n);
    score->near = ebb_arena_alloc(arena, n, sizeof *score->near);
    score->heard = EBB_NEW(arena, double, n * base->n_sources * base->n_receivers);
    score->energy = EBB_NEW(arena, double, n);
    score->weight = EBB_NEW(arena, double, n);
    score->touch = EBB_NEW(arena, double _Complex, n * base->spots->n * 2);
    return score->omega && score->kept && score->near && score->heard && score->energy &&
           score->weight && score->touch;
}

ebb_status ebb_score_modes(const ebb_base *base, const ebb_climbed *layout, ebb_score *score)
{
    ebb_arena *scratch = ebb_arena_new(NULL);
    ebb_state state;
    ebb_modes *modes = NULL;
    ebb_status status = scratch ? mounted_state(scratch, base, layout, &state) : EBB_E_NOMEM;
    if (status == EBB_OK)
        status =
            ebb_modes_new(NULL, base->modal, &state, base->lowest_mode, base->highest_mode, &modes);
    if (status == EBB_OK && !hold_modes(score, base, modes->n))
        status = EBB_E_NOMEM;
    if (status == EBB_OK) {
        for (size_t m = 0; m < modes->n; m++)
            score->omega[m] = 2 * PI * modes->mode[m].hz + I * modes->mode[m].delta;
        fill_near(modes, score->near);
        fill_heard(modes, score->heard);
        fill_touch(base, modes, score->touch);
        ebb_score_weigh(score, base, layout->option);
    }
    ebb_modes_free(modes);
    ebb_arena_free(scratch);
    return status;
}

/* Admittance of a kind or face between grid points: nearest one, enough for a first-order shift. */
static size_t nearest(const ebb_base *base, double hz)
{
    double step = log(base->hz[1] / base->hz[0]);
    double at = log(hz / base->hz[0]) / step + 0.5;
    if (!(at > 0))
        return 0;
    return at >= (double)base->n_hz ? base->n_hz - 1 : (size_t)at;
}

/* -x^T dT x / x^T T' x = j c/2 (dbeta) (P^T x)^2 / (scale x^T x) */
static double _Complex shift_of(const ebb_score *score, const ebb_base *base, size_t m,
                                ebb_pick pick)
{
    const ebb_kind *kind = &base->kind[pick.kind];
    size_t f = nearest(base, creal(score->omega[m]) / (2 * PI));
    size_t surface = base->spots->spot[pick.spot].surface;
    const double _Complex *touch = score->touch + (m * base->spots->n + pick.spot) * 2;
    double _Complex unit = kind->beta[f] * touch[kind->ports == 1 ? 0 : 1];
    double _Complex wall = base->face_beta[surface * base->n_hz + f] * touch[1];
    return I * base->state.air.speed / 2 * (unit - wall) / base->volume_scale;
}

void ebb_score_shift(ebb_score *score, const ebb_base *base, ebb_pick pick, double sign)
{
    for (size_t m = 0; m < score->n_modes; m++)
        score->omega[m] += sign * shift_of(score, base, m, pick);
}

void ebb_score_keep(ebb_score *score)
{
    memcpy(score->kept, score->omega, score->n_modes * sizeof *score->kept);
}

void ebb_score_return(ebb_score *score)
{
    memcpy(score->omega, score->kept, score->n_modes * sizeof *score->omega);
}

/* ---- the parts of the score
 * ---------------------------------------------------------------------- */

static double hinge(double x)
{
    return x > 0 ? x * x : 0;
}

/* Deviations of one path at the coarse cells, dB from their mean. Third octave: the point itself,
 * one to each side, and half of the second ones. */
static void deviations(const ebb_score *score, const ebb_base *base, size_t path, double *level)
{
    const double _Complex *h = score->h + path * base->n_hz;
    double mean = 0;
    for (size_t f = 0; f < base->n_hz; f++)
        score->power[f] = creal(h[f] * conj(h[f])); /* already p / (j w rho Q) */
    for (size_t c = 0; c < base->n_cells; c++) {
        const double *p = score->power + base->first + c;
        level[c] = 10 * log10(0.125 * p[-2] + 0.25 * (p[-1] + p[0] + p[1]) + 0.125 * p[2]);
        mean += level[c] / (double)base->n_cells;
    }
    for (size_t c = 0; c < base->n_cells; c++)
        level[c] -= mean;
}

/* The rule of a right room also bounds the worst cell; keep well clear of it. */
static double worst_part(const double *level, size_t n, double bound)
{
    double worst = 0;
    for (size_t c = 0; c < n; c++)
        worst = fmax(worst, fabs(level[c]));
    return hinge(worst / bound - AIM);
}

static double response_part(ebb_score *score, const ebb_base *base)
{
    size_t paths = base->stations->n_paths;
    double sum = 0, worst = 0;
    for (size_t path = 0; path < paths; path++) {
        double *level = score->level + path * base->n_cells;
        deviations(score, base, path, level);
        for (size_t c = 0; c < base->n_cells; c++)
            sum += hinge(fabs(level[c]) / base->limits->response_deviation - AIM);
        worst += worst_part(level, base->n_cells, base->limits->response_worst);
    }
    return sum / (double)(paths * base->n_cells) + WORST_WEIGHT * worst / (double)paths;
}

static double decay_part(const ebb_score *score, const ebb_base *base, const ebb_pick *pick,
                         double sign)
{
    double sum = 0, total = 1e-30;
    for (size_t m = 0; m < score->n_modes; m++) {
        double _Complex omega = score->omega[m];
        double hz = creal(omega) / (2 * PI);
        if (hz > 1.12 * base->limits->decay_highest)
            continue;
        if (pick)
            omega += sign * shift_of(score, base, m, *pick);
        double t60 = 6.907755 / fmax(cimag(omega), 0.5);
        double limit = ebb_decay_limit(base->limits, base->stations->use, base->volume, hz);
        double over = fmax(t60 / limit / AIM_DECAY - 1, 0);
        sum += score->weight[m] * over * over / (1 + over);
        total += score->weight[m];
    }
    return sum / total;
}

static double mid_part(const ebb_base *base, const double absorption[EBB_OCTAVES],
                       const ebb_pick *pick, double sign)
{
    double surface = ebb_room_area(base->room), sum = 0;
    for (int o = 0; o < EBB_OCTAVES; o++) {
        double area = absorption[o];
        if (pick) {
            const ebb_spot *spot = &base->spots->spot[pick->spot];
            area += sign * spot->size[0] * spot->size[1] *
                    (base->kind[pick->kind].alpha[o] - base->face_alpha[spot->surface][o]);
        }
        double alpha = fmin(fmax(area / surface, 1e-4), 0.98);
        double t60 = 55.26 * ebb_room_volume(base->room) /
                     (base->state.air.speed * -surface * log(1 - alpha));
        /* Aim well inside: the draws move the mid band by a tenth. */
        double low = base->mask[o][0], high = base->mask[o][1], rim = 0.3 * (high - low);
        double weight = o >= 1 && o <= 4 ? 1 : 0.2;
        sum += weight * (hinge((t60 - (high - rim)) / base->target) +
                         hinge((low + rim - t60) / base->target));
    }
    return sum;
}

double ebb_score_of(ebb_score *score, const ebb_base *base, const double absorption[EBB_OCTAVES],
                    const ebb_pick *pick, double sign, double mass)
{
    double mid = base->stations->use == EBB_USE_VOICE ? 1 : MUSIC_MID;
    if (pick)
        mass += sign * base->kind[pick->kind].unit->mass;
    double most = isfinite(base->job->allowance.mass) ? base->job->allowance.mass : 2000;
    return response_part(score, base) + DECAY_WEIGHT * decay_part(score, base, pick, sign) +
           mid * mid_part(base, absorption, pick, sign) + EFFORT_COST * mass / most;
}

double ebb_score_wrong(const ebb_score *score, const ebb_base *base)
{
    size_t n = base->stations->n_paths * base->n_cells, wrong = 0;
    for (size_t i = 0; i < n; i++)
        wrong += fabs(score->level[i]) > base->limits->response_deviation;
    return (double)wrong / (double)n;
}
