/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The best box of a depth that can be found: none, one or two fronts, what a label allows inside.
 *
 * A coarse grid over all kinds of box, then steps downhill from the best few. No random numbers:
 * the same label gives the same box. It is a search and no proof, and what it finds is named so;
 * only the depth limit is a bound. Everything is in the label's favour: the whole outer depth is
 * inside, mounts are soft, nothing leaks.
 */
#include "private.h"

#include <string.h>

#define SOFT_HZ 5.0  /* mounts */
#define LIGHTEST 1.5 /* kg/m2, a front that still holds together: our choice */
#define HEAVIEST 60.0
#define MOST_RESISTANCE 4.0 /* times rho c */
enum { MOST_FIGURES = 64, MASSES = 10, RESISTANCES = 4, SHARES = 3, GAPS = 3, VARIABLES = 6 };

/* One search: a kind of box with a kind of fill, everything that does not change precomputed. */
typedef struct search {
    const ebb_unit_task *task;
    ebb_box box; /* kind and fill; the rest varies */
    double rho_c;
    double front_mass, most_mass;         /* kg/m2: exactly; at most */
    double _Complex behind[MOST_FIGURES]; /* Pa s/m, of the fill */
} search;

/* ---- one box --------------------------------------------------------------------------------- */

/* A stiff body on a mount that hardly counts: what a real rim takes of the depth is the bench's
 * matter, not the label's. */
static double _Complex front_z(const ebb_box *box, int k, double omega)
{
    const double soft = EBB_UNIT_TWO_PI * SOFT_HZ;
    const double x = omega * box->mass[k] - box->mass[k] * soft * soft / omega;
    return box->resistance[k] + I * x;
}

/* Normalised admittance of the whole face at figure j. */
static double _Complex beta_of(const search *s, const ebb_box *box, size_t j)
{
    const double omega = EBB_UNIT_TWO_PI * s->task->hz[j];
    const double _Complex fill = s->behind[j];
    if (box->n_fronts == 0)
        return s->rho_c / (box->resistance[0] + fill);
    const double _Complex first = front_z(box, 0, omega);
    if (box->n_fronts == 1)
        return s->rho_c / (first + fill);
    const double _Complex second = front_z(box, 1, omega) + fill;
    if (!box->behind)
        return s->rho_c * (box->share / (first + fill) + (1 - box->share) / second);
    /* The gap is a slab of air before the second front. */
    const double kd = omega / s->task->air->speed * box->gap * s->task->claim->depth;
    const double _Complex top = second * cos(kd) + I * s->rho_c * sin(kd);
    const double _Complex bottom = cos(kd) + I * second / s->rho_c * sin(kd);
    return s->rho_c / (first + top / bottom);
}

/* The same admittance, three figures: that they differ so much is what the label check is about. */
static double read_as(const ebb_unit_task *task, size_t j, double _Complex beta)
{
    switch (task->reading) {
    case EBB_UNIT_DIFFUSE:
        return ebb_alpha_diffuse(beta);
    case EBB_UNIT_PATCH:
        return ebb_unit_patch_alpha(&task->patch[j], beta);
    case EBB_UNIT_NORMAL:
        break;
    }
    return ebb_alpha_normal(beta);
}

/* Mass of all fronts over the face. */
static double front_mass(const ebb_box *box)
{
    if (box->n_fronts < 2)
        return box->n_fronts == 0 ? 0 : box->mass[0];
    return box->behind ? box->mass[0] + box->mass[1]
                       : box->share * box->mass[0] + (1 - box->share) * box->mass[1];
}

/* How far a box falls short, squares summed. Among boxes that reach everything, at normal incidence
 * the one that has most to spare; read from a reverberation room the one that shows no more than
 * was asked, since the question is then how little is behind such figures. Infinite where the label
 * forbids the box. */
static double shortfall(const search *s, const ebb_box *box)
{
    const bool light = box->n_fronts == 2 && box->mass[1] < 0.99 * LIGHTEST;
    double sum = 0, spare = 0;
    if (front_mass(box) > s->most_mass * 1.001 || light)
        return INFINITY;
    for (size_t j = 0; j < s->task->n; j++) {
        const double over = read_as(s->task, j, beta_of(s, box, j)) - s->task->want[j];
        sum += over < 0 ? over * over : 0;
        spare += s->task->reading == EBB_UNIT_NORMAL ? over : -over * over;
    }
    return sum - 1e-4 * spare / (double)s->task->n;
}

/* ---- variables ------------------------------------------------------------------------------- */

/* A box as numbers without bounds of their own; masses and resistances by their logarithm. With the
 * mass of all fronts given, the second mass follows from the first. */
static ebb_box box_of(const search *s, const double v[VARIABLES])
{
    ebb_box box = s->box;
    box.mass[0] = fmin(HEAVIEST, fmax(LIGHTEST, exp(v[0])));
    box.mass[1] = fmin(HEAVIEST, fmax(LIGHTEST, exp(v[1])));
    for (int k = 0; k < 2; k++)
        box.resistance[k] = s->rho_c * fmin(MOST_RESISTANCE, fmax(0, exp(v[2 + k]) - 0.05));
    box.share = fmin(0.9, fmax(0.1, v[4]));
    if (isfinite(s->front_mass) && box.n_fronts == 1)
        box.mass[0] = s->front_mass;
    if (isfinite(s->front_mass) && box.n_fronts == 2) {
        const double share = box.behind ? 1 : box.share, other = box.behind ? 1 : 1 - box.share;
        box.mass[0] = fmin(box.mass[0], 0.95 * s->front_mass / share);
        box.mass[1] = (s->front_mass - share * box.mass[0]) / other;
    }
    return box;
}

/* Which variables a kind of box has. */
static bool varies(const ebb_box *box, int variable)
{
    switch (variable) {
    case 0:
        return box->n_fronts > 0;
    case 1:
    case 3:
        return box->n_fronts > 1;
    case 4:
        return box->n_fronts > 1 && !box->behind;
    default:
        return variable == 2;
    }
}

/* Steps in one variable after the other, halved when none helps. */
static double descend(const search *s, double v[VARIABLES], double value)
{
    for (double step = 0.25; step > 0.002;) {
        bool better = false;
        for (int i = 0; i < VARIABLES; i++) {
            for (int sign = -1; varies(&s->box, i) && sign <= 1; sign += 2) {
                const double old = v[i];
                v[i] += sign * step;
                const ebb_box box = box_of(s, v);
                const double now = shortfall(s, &box);
                better = better || now < value;
                v[i] = now < value ? v[i] : old;
                value = fmin(value, now);
            }
        }
        step = better ? step : step / 2;
    }
    return value;
}

/* ---- the grid -------------------------------------------------------------------------------- */

/* The grid point with number i, in mixed digits: mass, mass, resistance, share. */
static void grid_point(const search *s, size_t i, double v[VARIABLES])
{
    static const double RESISTANCE[RESISTANCES] = {0.05, 0.35, 0.75, 1.3},
                        SHARE[SHARES] = {0.3, 0.5, 0.7};
    const double span = log(HEAVIEST / LIGHTEST) / (MASSES - 1);
    v[0] = log(LIGHTEST) + span * (double)(i % MASSES);
    v[2] = v[3] = log(RESISTANCE[i / MASSES % RESISTANCES]);
    i /= (size_t)MASSES * RESISTANCES;
    v[1] = log(LIGHTEST) + span * (double)(i % MASSES);
    v[4] = SHARE[i / MASSES % SHARES];
    v[5] = 0;
    /* The inner front of two needs no resistance: the fill has it. */
    if (s->box.behind)
        v[3] = log(0.05);
}

/* Only the digits that a kind of box has are counted through. */
static size_t grid_size(const ebb_box *box)
{
    const size_t one = (size_t)MASSES * RESISTANCES;
    return box->n_fronts < 2 ? one : box->behind ? one * MASSES : one * MASSES * SHARES;
}

/* Best of one kind of box with one fill; kept when it is better than what is known. */
static void search_kind(search *s, double *best, ebb_box *found)
{
    double start[VARIABLES] = {0}, least = INFINITY;
    const double depth = s->task->claim->depth * (1 - (s->box.behind ? s->box.gap : 0));
    for (size_t j = 0; j < s->task->n; j++)
        s->behind[j] =
            ebb_unit_fill(&s->box, s->task->air, depth, EBB_UNIT_TWO_PI * s->task->hz[j]);
    for (size_t i = 0; i < grid_size(&s->box); i++) {
        double v[VARIABLES];
        grid_point(s, i, v);
        const ebb_box box = box_of(s, v);
        const double value = shortfall(s, &box);
        if (value < least) {
            least = value;
            memcpy(start, v, sizeof start);
        }
    }
    if (!isfinite(least))
        return;
    least = descend(s, start, least);
    if (least < *best) {
        *best = least;
        *found = box_of(s, start);
    }
}

/* Every kind of box around one fill. Without a front a cloth may lie before the fill. */
static void search_fill(search *s, const ebb_box *fill, double *best, ebb_box *found)
{
    static const double GAP[GAPS] = {0.1, 0.25, 0.45};
    s->box = *fill;
    if (!s->task->claim->front) {
        search_kind(s, best, found);
        return;
    }
    for (size_t n = 1; n <= 2; n++) {
        s->box.n_fronts = n;
        search_kind(s, best, found);
    }
    s->box.behind = true;
    for (size_t g = 0; g < GAPS; g++) {
        s->box.gap = GAP[g];
        search_kind(s, best, found);
    }
}

/* ---- fills ----------------------------------------------------------------------------------- */

/* Fills that a label of this kind can mean. A limp frame is a mass of its own: behind a front that
 * is in the label's favour; without one a heavy blanket would be a front in disguise, and real wool
 * is stiffer than that. */
static const struct kind {
    ebb_fill_kind kind;
    ebb_box box;
} FILLS[] = {
    {EBB_FILL_AIR, {0}},
    {EBB_FILL_WOOL, {.resistivity = 1500}},
    {EBB_FILL_WOOL, {.resistivity = 3000}},
    {EBB_FILL_WOOL, {.resistivity = 5000}},
    {EBB_FILL_WOOL, {.resistivity = 9000}},
    {EBB_FILL_WOOL, {.resistivity = 16000}},
    {EBB_FILL_WOOL, {.resistivity = 30000}},
    {EBB_FILL_WOOL, {.resistivity = 5000, .frame = 30}},
    {EBB_FILL_WOOL, {.resistivity = 10000, .frame = 30}},
    {EBB_FILL_GRAINS, {.resistivity = 5000, .grains = 0.1}},
    {EBB_FILL_GRAINS, {.resistivity = 5000, .grains = 0.2}},
    {EBB_FILL_GRAINS, {.resistivity = 3000, .grains = 0.4}},
    {EBB_FILL_GRAINS, {.grains = 0.3}},
    {EBB_FILL_GRAINS, {.grains = 0.6}},
    {EBB_FILL_GRAINS, {.grains = 1}},
};
enum { N_FILLS = sizeof FILLS / sizeof FILLS[0] };

/* Silence about the fill leaves air and wool; grains are named by whoever pays for them. */
static bool may_hold(const ebb_claim *claim, const struct kind *fill)
{
    if (!claim->front && fill->box.frame > 0)
        return false;
    return claim->fill == fill->kind ||
           (claim->fill == EBB_FILL_UNSAID && fill->kind != EBB_FILL_GRAINS);
}

/* Kinds and fills are tried one after the other and the best kept. The result is computed once more
 * from the box alone, so that what is told belongs to the box that is told. */
ebb_status ebb_unit_best(ebb_ctx *ctx, const ebb_unit_task *task, ebb_box *box, double *got,
                         double *normal)
{
    const ebb_claim *claim = task->claim;
    search s = {.task = task,
                .rho_c = task->air->density * task->air->speed,
                .front_mass = claim->front_mass,
                .most_mass = INFINITY};
    if (task->n > MOST_FIGURES)
        return ebb_fail(ctx, EBB_E_RANGE, "%zu figures are too many; the most is %d", task->n,
                        MOST_FIGURES);
    if (claim->mass > 0 && claim->face[0] > 0 && claim->face[1] > 0)
        s.most_mass = claim->mass / (claim->face[0] * claim->face[1]);
    double best = INFINITY;
    for (size_t i = 0; i < N_FILLS; i++)
        if (may_hold(claim, &FILLS[i]))
            search_fill(&s, &FILLS[i].box, &best, box);
    if (!isfinite(best))
        return EBB_E_NOSOLUTION; /* the caller says what contradicts what */
    s.box = *box;
    const double depth = claim->depth * (1 - (box->behind ? box->gap : 0));
    for (size_t j = 0; j < task->n; j++) {
        s.behind[j] = ebb_unit_fill(box, task->air, depth, EBB_UNIT_TWO_PI * task->hz[j]);
        const double _Complex beta = beta_of(&s, box, j);
        got[j] = read_as(task, j, beta);
        normal[j] = ebb_alpha_normal(beta);
    }
    return EBB_OK;
}
