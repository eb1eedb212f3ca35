/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Numbers 0..1 to a recipe.
 *
 * Sizes are rounded to what can be cut and weighed, and shares are taken of what is left, so that
 * nearly every vector is a box that can be put together: the search need not learn what fits.
 */
#include "private.h"

#define CLEAR 0.010        /* m between a front and wool: they must not touch; our choice */
#define LEAST_GAP 0.015    /* m between two fronts */
#define LEAST_CAVITY 0.04  /* m behind the last front */
#define MOST_TRIM 3.0      /* kg/m2 of weights glued on */
#define TRIM_STEP 0.05     /* kg/m2 */
#define LENGTH_STEP 0.001  /* m */
#define WOOL_STEP 0.005    /* m */
#define GRAIN_STEP 0.5     /* kg */
#define MOST_FILLED 0.9    /* of a cavity, by grains */
#define LEAST_OPENING 0.08 /* m, of a front */

/* Where the numbers stand in the vector. */
enum { G_DEPTH, G_WALL, G_SHARE, G_WOOL, G_BATCH, G_GRAINS, G_CELL = 6 };
enum { C_WOOL, C_GRAINS, C_GAP, C_GAP_WOOL, C_FRONT = 4, C_COUNT = 10 };
enum { F_BOARD, F_TRIM, F_STRIP, F_COUNT };

_Static_assert(G_CELL + EBB_CRAFT_CELLS * C_COUNT == EBB_CRAFT_GENES, "one number each");
_Static_assert(C_FRONT + EBB_FRONTS * F_COUNT == C_COUNT, "three numbers a front");

/* Names have no order worth speaking of; numbers have. */
size_t ebb_craft_gene_names(const ebb_craft_space *s, size_t gene)
{
    if (gene == G_WALL)
        return s->n_walls;
    if (gene == G_WOOL)
        return s->n_wools;
    if (gene == G_BATCH)
        return s->n_batches;
    if (gene < G_CELL || (gene - G_CELL) % C_COUNT < C_FRONT)
        return 0;
    const size_t of_front = ((gene - G_CELL) % C_COUNT - C_FRONT) % F_COUNT;
    if (of_front == F_BOARD)
        return s->n_boards;
    return of_front == F_STRIP ? s->n_strips : 0;
}

static size_t pick(double gene, size_t n)
{
    const size_t i = (size_t)(gene * (double)n);
    return i < n ? i : n - 1;
}

static double down(double value, double step)
{
    return step * floor(value / step + 1e-9);
}

/* The same with a value that is as near to n steps as can be: 0.30 and not 0.3000000001. */
static double mm(double value)
{
    return round(down(value, LENGTH_STEP) * 1000) / 1000;
}

static void decode_front(const ebb_craft_space *s, const double *gene, ebb_craft_front *front)
{
    const ebb_craft_sheet *sheet = &s->board[pick(gene[F_BOARD], s->n_boards)];
    const double own = sheet->material->board.density * sheet->thickness;
    front->material = sheet->material;
    front->thickness = sheet->thickness;
    front->price = sheet->price;
    front->strip = s->strip[pick(gene[F_STRIP], s->n_strips)];
    /* what the lightest front allowed lacks comes first, then what tunes */
    const double least = fmax(0, s->target->lightest - own);
    /* the lower third means none: most boxes should need no weights */
    const double more = fmax(0, 1.5 * gene[F_TRIM] - 0.5) * MOST_TRIM;
    if (s->trim)
        front->trim = TRIM_STEP * ceil(least / TRIM_STEP - 1e-9) + down(more, TRIM_STEP);
}

static bool decode_fronts(const ebb_craft_space *s, const double *gene, int c, ebb_craft_recipe *r)
{
    ebb_craft_cell *cell = &r->cell[c];
    for (int f = 0; f < r->fronts; f++)
        decode_front(s, gene + C_FRONT + f * F_COUNT, &cell->front[f]);
    if (r->fronts == 1)
        return ebb_craft_cavity(r, c) >= LEAST_CAVITY;
    const double free_depth = ebb_craft_cavity(r, c) - LEAST_GAP - LEAST_CAVITY;
    if (free_depth < 0)
        return false;
    cell->gap = LEAST_GAP + mm(gene[C_GAP] * free_depth);
    return true;
}

/* Grains first: they lie at the back, and wool takes what is left. */
static void decode_fill(const ebb_craft_space *s, const double *gene, int c, ebb_craft_recipe *r)
{
    ebb_craft_cell *cell = &r->cell[c];
    const double deep = ebb_craft_cavity(r, c), area = ebb_craft_cell_area(r, c);
    double bed = 0;
    if (r->batch) {
        const double density = r->batch->layer.grains.bed_density;
        const double fits = MOST_FILLED * deep * area * density;
        /* the limit is for the box: each cell may have its part by area */
        const double limit = s->target->grains * cell->share;
        const double wanted = gene[C_GRAINS] * fmin(fits, limit);
        cell->grains = down(wanted, GRAIN_STEP);
        bed = cell->grains / (density * area);
    }
    if (r->wool) {
        /* the upper quarter means full, the lower tenth none */
        const double share = fmin(1, fmax(0, (gene[C_WOOL] - 0.1) / 0.65));
        cell->wool = down(share * fmax(0, deep - bed - CLEAR), WOOL_STEP);
        if (r->fronts > 1)
            cell->gap_wool =
                down(fmax(0, 2 * gene[C_GAP_WOOL] - 1) * fmax(0, cell->gap - 2 * CLEAR), WOOL_STEP);
    }
}

/* A share of the inner width to whole per cents. */
static void decode_shares(double gene, ebb_craft_recipe *r)
{
    r->cell[0].share = 1;
    if (r->cells == 1)
        return;
    r->cell[0].share = round(100 * (0.2 + 0.6 * gene)) / 100;
    r->cell[1].share = 1 - r->cell[0].share;
}

/* What is named must be there; what is there must be named. */
static void tidy(ebb_craft_recipe *r)
{
    bool wool = false, grains = false;
    for (int c = 0; c < r->cells; c++) {
        wool = wool || r->cell[c].wool > 0 || r->cell[c].gap_wool > 0;
        grains = grains || r->cell[c].grains > 0;
    }
    if (!wool)
        r->wool = NULL;
    if (!grains)
        r->batch = NULL;
}

bool ebb_craft_decode(const ebb_craft_space *s, size_t layout, const double gene[EBB_CRAFT_GENES],
                      ebb_craft_recipe *r)
{
    const ebb_target *t = s->target;
    const ebb_craft_sheet *wall = &s->wall[pick(gene[G_WALL], s->n_walls)];
    memset(r, 0, sizeof *r); /* also what lies between members: recipes are compared by bytes */
    r->cells = s->cells[layout];
    r->fronts = s->fronts[layout];
    r->face[0] = t->face[0];
    r->face[1] = t->face[1];
    r->depth =
        fmin(t->depth[1],
             fmax(t->depth[0],
                  mm(t->depth[0] + gene[G_DEPTH] * (t->depth[1] - t->depth[0] + LENGTH_STEP))));
    r->wall = wall->material;
    r->wall_thickness = wall->thickness;
    r->wall_price = wall->price;
    r->wool = s->n_wools ? s->wool[pick(gene[G_WOOL], s->n_wools)] : NULL;
    /* the lower third means none */
    const bool grains = s->n_batches > 0 && gene[G_GRAINS] > 1.0 / 3;
    r->batch = grains ? s->batch[pick(gene[G_BATCH], s->n_batches)] : NULL;
    decode_shares(gene[G_SHARE], r);
    /* all fronts first: the widest rim sets every opening */
    for (int c = 0; c < r->cells; c++)
        if (!decode_fronts(s, gene + G_CELL + c * C_COUNT, c, r))
            return false;
    for (int c = 0; c < r->cells; c++) {
        double side[2];
        ebb_craft_opening(r, c, side);
        if (side[0] < LEAST_OPENING || side[1] < LEAST_OPENING)
            return false;
        decode_fill(s, gene + G_CELL + c * C_COUNT, c, r);
    }
    tidy(r);
    return ebb_craft_brace(r, s->highest);
}
