/* SPDX-License-Identifier: GPL-3.0-or-later */
/* From the best of the search to a box worth building. */
#include "private.h"

#define CANDIDATES 6 /* of the search that are tried with everything that bends */
#define ROUNDS 6     /* of search and check */
#define NEARBY 24    /* boxes that a round starts from */
#define NEARBY_SPREAD 0.1
#define HALF_OCTAVE 1.41421356237309504880
#define AGREE 0.01 /* relative: starts that came out alike */
#define TWO_PI (2 * EBB_CRAFT_PI)

static ebb_craft_quest quest_of(const ebb_craft_work *work, ebb_craft_aim aim)
{
    const bool free_ = aim == EBB_CRAFT_BEST || aim == EBB_CRAFT_NEAREST;
    return (ebb_craft_quest){.aim = free_ ? EBB_CRAFT_BEST : aim,
                             .seed = work->craft->effort.seed,
                             .required = free_ ? 0 : work->craft->required};
}

/* ---- how sure -------------------------------------------------------------------------------- */

static double shown(const ebb_craft_merit *m, ebb_craft_aim aim)
{
    switch (aim) {
    case EBB_CRAFT_LIGHT:
        return m->mass;
    case EBB_CRAFT_SHALLOW:
        return m->depth;
    case EBB_CRAFT_CHEAP:
        return m->cost;
    case EBB_CRAFT_NEAREST:
        return m->shortfall + m->excess;
    case EBB_CRAFT_BEST:
    case EBB_CRAFT_AIMS:
        break;
    }
    return m->absorption;
}

/* Of the layout that won; a start that passes nothing does not agree. */
static void how_sure(const ebb_craft_work *work, ebb_craft_aim aim, size_t layout,
                     ebb_craft_sure *sure)
{
    const ebb_craft_quest quest = quest_of(work, aim);
    const size_t starts = work->craft->effort.starts;
    const ebb_craft_one *run = work->run[quest.aim] + layout * (starts + 1);
    size_t best = starts, worst = 0, agree = 0; /* the run behind them starts from all of them */
    for (size_t i = 0; i < starts; i++) {
        if (ebb_craft_better(&quest, &run[i].merit, &run[best].merit))
            best = i;
        if (ebb_craft_better(&quest, &run[worst].merit, &run[i].merit))
            worst = i;
    }
    const double top = shown(&run[best].merit, aim);
    for (size_t i = 0; i < starts; i++) {
        const bool alike =
            aim == EBB_CRAFT_NEAREST || ebb_craft_breach(&run[i].merit, quest.required) == 0;
        agree += alike && fabs(shown(&run[i].merit, aim) - top) <= AGREE * fabs(top);
    }
    *sure = (ebb_craft_sure){starts, (double)agree / (double)starts, shown(&run[worst].merit, aim),
                             top};
}

/* ---- candidates ------------------------------------------------------------------------------ */

static bool alike(const ebb_craft_one *a, const ebb_craft_one *b)
{
    return memcmp(&a->recipe, &b->recipe, sizeof a->recipe) == 0;
}

/* The best run that is neither taken nor of a box that is, and of a layout of which fewer than
 * `most` are taken; NULL when there is none. */
static const ebb_craft_one *next_of(const ebb_craft_work *work, const ebb_craft_quest *quest,
                                    size_t n, const ebb_craft_one *taken, size_t most)
{
    const ebb_craft_one *run = work->run[quest->aim], *best = NULL;
    for (size_t i = 0; i < work->n_runs; i++) {
        size_t of_layout = 0;
        bool known = !isfinite(run[i].merit.excess);
        for (size_t k = 0; k < n; k++) {
            known = known || alike(&taken[k], &run[i]);
            of_layout += taken[k].layout == run[i].layout;
        }
        if (!known && of_layout < most &&
            (best == NULL || ebb_craft_better(quest, &run[i].merit, &best->merit)))
            best = &run[i];
    }
    return best;
}

/* The best of every layout, then the best of what is left. */
static size_t list_candidates(const ebb_craft_work *work, const ebb_craft_quest *quest,
                              ebb_craft_one taken[CANDIDATES])
{
    size_t n = 0;
    for (size_t most = 1; most <= CANDIDATES; most += CANDIDATES - 1) {
        const ebb_craft_one *next;
        while (n < CANDIDATES && (next = next_of(work, quest, n, taken, most)) != NULL)
            taken[n++] = *next;
    }
    return n;
}

/* Search and check in turns: what the search says is shifted by what it was wrong by at the last
 * box, and goes on from there; what it finds is checked again, until nothing moves. The best of all
 * that were checked. */
static bool refine(const ebb_craft_work *work, const ebb_craft_quest *quest, ebb_craft_one *one,
                   size_t count[2])
{
    ebb_craft_bias bias;
    ebb_craft_judge_task shifted = work->quick;
    ebb_craft_one next = *one, best = {0}, near[NEARBY];
    ebb_craft_quest q = *quest;
    const ebb_craft_effort effort = {.population = 2 * NEARBY, .generations = NEARBY};
    bool found = false, moved = true;
    shifted.bias = &bias;
    q.n_known = NEARBY;
    q.known = near;
    for (int round = 0; round < ROUNDS && moved; round++) {
        ebb_craft_one checked = next;
        if (ebb_craft_merit_of(NULL, &work->full, &checked.recipe, &checked.merit) != EBB_OK ||
            ebb_craft_bias_of(&work->quick, &work->full, &next.recipe, &bias) != EBB_OK)
            break;
        if (!found || ebb_craft_better(quest, &checked.merit, &best.merit))
            best = checked;
        found = true;
        q.seed = quest->seed + (unsigned)round;
        ebb_craft_around(&work->space, &checked, NEARBY_SPREAD, q.seed, NEARBY, near);
        count[0] += ebb_craft_evolve(&shifted, &effort, &q, &next, NULL);
        count[1]++;
        moved = !alike(&next, &checked);
    }
    *one = best;
    return found;
}

/* The best candidates of the search, refined; of them the best. */
static bool choose(ebb_craft_work *work, const ebb_craft_quest *quest, ebb_craft_one *chosen)
{
    ebb_craft_one one[CANDIDATES] = {0};
    bool good[CANDIDATES] = {false}, found = false;
    size_t count[CANDIDATES][2] = {{0}};
    const size_t n = list_candidates(work, quest, one);
#pragma omp parallel for schedule(dynamic, 1)
    for (size_t i = 0; i < n; i++) {
        ebb_craft_quest q = *quest;
        q.layout = one[i].layout;
        good[i] = refine(work, &q, &one[i], count[i]);
    }
    for (size_t i = 0; i < n; i++) {
        work->craft->evaluated += count[i][0];
        work->craft->checked += count[i][1];
        if (good[i] && (!found || ebb_craft_better(quest, &one[i].merit, &chosen->merit)))
            *chosen = one[i];
        found = found || good[i];
    }
    return found;
}

/* ---- the box as a unit ----------------------------------------------------------------------- */

static void name_part(ebb_unit *unit, ebb_origin *origins, const void *part, const char *name,
                      bool measured)
{
    origins[unit->n_origins++] = (ebb_origin){part, name, measured};
}

/* So that reports can say what a rim or a fill is. */
static ebb_status name_parts(ebb_ctx *ctx, ebb_arena *arena, const ebb_craft_recipe *r,
                             const ebb_cabinet *cabinet, ebb_unit *unit)
{
    ebb_origin *origins = EBB_NEW(arena, ebb_origin, EBB_CRAFT_CELLS * (EBB_FRONTS + 3));
    if (origins == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a unit");
    unit->origins = origins;
    for (int c = 0; c < r->cells; c++) {
        const ebb_cell *cell = &cabinet->cell[c];
        for (int f = 0; f < r->fronts; f++)
            name_part(unit, origins, &cell->front[f].mount, r->cell[c].front[f].strip->name, false);
        for (size_t i = 0; i < cell->n_between; i++)
            name_part(unit, origins, &cell->between[i], r->wool->name, false);
        for (size_t i = 0; i < cell->n_fill; i++) {
            const bool wool = cell->fill[i].kind == EBB_LAYER_POROUS;
            name_part(unit, origins, &cell->fill[i], wool ? r->wool->name : r->batch->name,
                      !wool && r->batch->measured);
        }
    }
    return EBB_OK;
}

static ebb_status make_unit(ebb_ctx *ctx, ebb_arena *arena, const ebb_target *target,
                            ebb_craft_pick *pick)
{
    ebb_cabinet *cabinet;
    ebb_unit *unit = &pick->unit;
    const ebb_craft_recipe *r = &pick->recipe;
    ebb_status status = ebb_craft_cabinet(ctx, arena, r, true, &cabinet);
    if (status == EBB_OK)
        status = ebb_cabinet_prepare(ctx, arena, 0, cabinet);
    if (status != EBB_OK)
        return status;
    ebb_cabinet_weights(cabinet, &pick->weights);
    const char *word = pick->aim == EBB_CRAFT_NEAREST ? "nearest" : ebb_craft_aim_name(pick->aim);
    *unit = (ebb_unit){.name = ebb_arena_format(arena, "%s-%s", target->name, word),
                       .from = "",
                       .face = {r->face[0], r->face[1]},
                       .depth = r->depth,
                       .mass = pick->weights.total,
                       .cost = pick->merit.cost,
                       .piston = r->cells == 1,
                       .on_walls = true};
    unit->assembly.kind = EBB_ASSEMBLY_CABINET;
    unit->assembly.cabinet = cabinet;
    for (int o = 0; o < EBB_OCTAVES; o++)
        unit->alpha[o] = NAN;
    if (unit->name == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a unit");
    return name_parts(ctx, arena, r, cabinet, unit);
}

/* ---- curves ---------------------------------------------------------------------------------- */

/* 30, 40, 50 Hz and the frequencies of the curve, rising, each once. */
static size_t list_hz(const ebb_target *t, double *hz)
{
    static const double always[] = {30, 40, 50};
    size_t n = 0, a = 0, c = 0;
    const size_t n_curve = t->goal == EBB_GOAL_CURVE ? t->n : 0;
    while (a < 3 || c < n_curve) {
        const double x = a < 3 ? always[a] : INFINITY;
        const double y = c < n_curve ? t->curve[c].hz : INFINITY;
        hz[n++] = fmin(x, y);
        a += x <= y;
        c += y <= x;
    }
    return n;
}

static ebb_status alphas(ebb_ctx *ctx, ebb_arena *arena, const ebb_craft_work *work,
                         const ebb_craft_judge_task *slipped, ebb_craft_pick *pick)
{
    const ebb_target *t = work->craft->target;
    double *hz = EBB_NEW(arena, double, t->n + 3), *alpha = EBB_NEW(arena, double, t->n + 3);
    double *worst = EBB_NEW(arena, double, t->n + 3);
    if (hz == NULL || alpha == NULL || worst == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for a curve");
    ebb_craft_judge_task planned = work->full;
    planned.n_slips = 0;
    pick->n = list_hz(t, hz);
    pick->hz = hz;
    pick->alpha = alpha;
    pick->alpha_worst = worst;
    ebb_status status = ebb_craft_alpha(ctx, &planned, &pick->recipe, pick->n, hz, alpha);
    if (status == EBB_OK)
        status = ebb_craft_alpha(ctx, slipped, &pick->recipe, pick->n, hz, worst);
    return status;
}

/* Peak of the coefficient and the first resonance, on a fine grid. */
static void find_peak(const ebb_craft_space *space, ebb_craft_pick *pick)
{
    const double low = space->hz[0] / HALF_OCTAVE, high = space->highest * HALF_OCTAVE;
    double before = 0;
    pick->resonance_hz = NAN;
    for (double hz = 10; hz <= fmax(200, high); hz += 0.25) {
        const double _Complex beta =
            ebb_cabinet_beta(pick->unit.assembly.cabinet, &space->air, NULL, TWO_PI * hz);
        const double alpha = ebb_alpha_normal(beta);
        if (hz >= low && hz <= high && alpha > pick->peak) {
            pick->peak = alpha;
            pick->peak_hz = hz;
        }
        /* a spring below, a mass above: Im beta falls through 0 */
        if (isnan(pick->resonance_hz) && before > 0 && cimag(beta) <= 0)
            pick->resonance_hz = hz - 0.25 * cimag(beta) / (cimag(beta) - before);
        before = cimag(beta);
    }
}

static ebb_status describe(ebb_ctx *ctx, ebb_craft_work *work, ebb_craft_pick *pick)
{
    ebb_craft *craft = work->craft;
    ebb_craft_slip slip[EBB_CRAFT_SLIPS];
    ebb_craft_judge_task slipped = work->full, planned = work->full, quick = work->quick;
    ebb_status status =
        ebb_craft_slips_make(ctx, &work->space, EBB_CRAFT_SLIPS, craft->effort.seed + 1, slip);
    slipped.n_slips = pick->n_slips = EBB_CRAFT_SLIPS;
    slipped.slip = slip;
    planned.n_slips = quick.n_slips = 0;
    if (status == EBB_OK)
        status = ebb_craft_merit_of(ctx, &planned, &pick->recipe, &pick->merit);
    if (status == EBB_OK)
        status = ebb_craft_merit_of(ctx, &quick, &pick->recipe, &pick->quick);
    if (status == EBB_OK)
        status = ebb_craft_merit_of(ctx, &slipped, &pick->recipe, &pick->worst);
    if (status == EBB_OK)
        status = make_unit(ctx, craft->arena, craft->target, pick);
    if (status == EBB_OK)
        status = alphas(ctx, craft->arena, work, &slipped, pick);
    if (status != EBB_OK)
        return status;
    find_peak(&work->space, pick);
    pick->wave = NAN;
    if (craft->target->goal == EBB_GOAL_MODE)
        status = ebb_craft_mode_wave(ctx, craft->target, &craft->mode, &pick->unit, &pick->wave);
    return status == EBB_OK ? ebb_craft_sheet_make(ctx, craft->arena, &craft->air, pick) : status;
}

ebb_status ebb_craft_pick_make(ebb_ctx *ctx, ebb_craft_work *work, ebb_craft_aim aim,
                               ebb_craft_pick *pick, bool *found)
{
    const ebb_craft_quest quest = quest_of(work, aim);
    ebb_craft_one chosen = {0};
    *found = choose(work, &quest, &chosen);
    const bool passes = *found && ebb_craft_breach(&chosen.merit, quest.required) == 0;
    if (!passes && aim != EBB_CRAFT_NEAREST)
        *found = false;
    if (!*found)
        return EBB_OK;
    *pick = (ebb_craft_pick){.aim = aim, .recipe = chosen.recipe, .passes = passes};
    how_sure(work, aim, chosen.layout, &pick->sure);
    return describe(ctx, work, pick);
}
