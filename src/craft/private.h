/* SPDX-License-Identifier: GPL-3.0-or-later */
/* private.h - what the parts of the designer share. */
#ifndef EBB_CRAFT_PRIVATE_H
#define EBB_CRAFT_PRIVATE_H

#include <ebb/craft.h>
#include <ebb/field.h>

#include <math.h>
#include <stdint.h>
#include <string.h>

#define EBB_CRAFT_PI 3.14159265358979323846
#define EBB_CRAFT_MOST_HZ 96    /* frequencies at which a box is judged */
#define EBB_CRAFT_GENES 26      /* numbers 0..1 that decide a recipe */
#define EBB_CRAFT_KEPT 64       /* trade-offs kept */
#define EBB_CRAFT_SLIPS 64      /* boxes built badly, for a pick */
#define EBB_CRAFT_SOME_SLIPS 16 /* the same when a robust search is checked, */
#define EBB_CRAFT_FEW_SLIPS 5   /* and when it searches */
#define EBB_CRAFT_SLIP_DIMS 6
#define EBB_CRAFT_NEARLY 0.9 /* of the best: what still passes without a curve; our choice */

/* ---- box.c: a recipe as a cabinet ------------------------------------------------------------ */

/* How a box differs from its plan. All factors 1, leak 0 when built as planned. */
typedef struct ebb_craft_slip {
    double front;           /* factor of the fronts' mass */
    double mount;           /* factor of the mounts' stiffness */
    double wool;            /* factor of the flow resistivity */
    double uptake;          /* factor of the grains' uptake */
    double leak;            /* m */
    double pressure;        /* factor of the static pressure */
    const ebb_batch *batch; /* takes the place of the planned one; NULL: as planned */
} ebb_craft_slip;

extern const ebb_craft_slip EBB_CRAFT_NO_SLIP;

/* A cabinet with everything it points to, in one piece; not to be copied. */
typedef struct ebb_craft_box {
    ebb_cabinet cabinet;
    ebb_cell cell[EBB_CRAFT_CELLS];
    ebb_layer fill[EBB_CRAFT_CELLS][2];    /* wool, grains */
    ebb_layer between[EBB_CRAFT_CELLS][1]; /* wool */
    /* walls of a box as the search sees it: one mode each, three kinds a cell */
    ebb_plate wall[EBB_CRAFT_CELLS][3];
    const ebb_plate *walls[3 * EBB_CRAFT_CELLS];
    double _Complex lambda[EBB_CRAFT_CELLS][3], share[EBB_CRAFT_CELLS][3];
} ebb_craft_box;

void ebb_craft_box_make(const ebb_craft_recipe *recipe, bool bends, const ebb_craft_slip *slip,
                        ebb_craft_box *box);
/* m2 that a cell's fill covers. */
double ebb_craft_cell_area(const ebb_craft_recipe *recipe, int cell);
/* m, width of the frame around the fronts. */
double ebb_craft_rim(const ebb_craft_recipe *recipe);
/* m, what wood, fronts and gap leave of the depth behind the last front of a cell. */
double ebb_craft_cavity(const ebb_craft_recipe *recipe, int cell);
/* Opening of a cell, m. */
void ebb_craft_opening(const ebb_craft_recipe *recipe, int cell, double side[2]);
/* N/m per m. */
double ebb_craft_strip_stiffness(const ebb_strip *strip);
/* Money; *priced false when something in it has no price. */
double ebb_craft_cost(const ebb_craft_recipe *recipe, bool *priced);
/* Braces that keep the walls' first resonance above hz; false: a wall too thin for it. */
bool ebb_craft_brace(ebb_craft_recipe *recipe, double hz);

/* ---- space.c: what may be chosen ------------------------------------------------------------- */

/* A board that can be bought. */
typedef struct ebb_craft_sheet {
    const ebb_material *material;
    double thickness, price;
} ebb_craft_sheet;

/* All that a search may choose from, and what it judges by. Lists are sorted so that neighbours
 * are alike: a search that moves by differences needs that. */
typedef struct ebb_craft_space {
    const ebb_target *target;
    ebb_air air;
    bool trim;
    size_t n_walls, n_boards, n_wools, n_batches, n_strips;
    ebb_craft_sheet *wall, *board; /* by thickness; by mass per area */
    const ebb_wool **wool;         /* by resistivity */
    const ebb_batch **batch;       /* by grain size */
    const ebb_strip **strip;       /* by stiffness */
    size_t n_layouts;
    int cells[EBB_CRAFT_LAYOUTS], fronts[EBB_CRAFT_LAYOUTS];
    double highest; /* Hz, that matters: walls are braced for it */
    size_t n_hz;
    double hz[EBB_CRAFT_MOST_HZ];
    double weight[EBB_CRAFT_MOST_HZ];          /* of the mean coefficient, sum 1 */
    double need[EBB_CRAFT_MOST_HZ];            /* of the curve, NAN where none */
    const ebb_craft_mode *mode;                /* NULL unless the goal is a mode */
    ebb_craft_slip slip[EBB_CRAFT_SOME_SLIPS]; /* of a robust search */
} ebb_craft_space;

/* Lists, layouts and frequencies of a target; arrays in arena. EBB_E_NOSOLUTION when there is
 * nothing to build of. `mode` borrowed, NULL unless the goal is one. */
ebb_status ebb_craft_space_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_target *target,
                                const ebb_air *air, const ebb_craft_mode *mode,
                                ebb_craft_space *space);
/* Frequencies, weights and needs alone. */
void ebb_craft_space_grid(ebb_craft_space *space);

/* ---- decode.c: numbers 0..1 to a recipe ------------------------------------------------------ */

/* Every vector gives a box that can be put together; false only when nothing fits the depth. */
bool ebb_craft_decode(const ebb_craft_space *space, size_t layout,
                      const double gene[EBB_CRAFT_GENES], ebb_craft_recipe *recipe);

/* How many things a number chooses from by name; 0: it is a size. */
size_t ebb_craft_gene_names(const ebb_craft_space *space, size_t gene);

/* ---- merit.c: what a recipe is worth --------------------------------------------------------- */

/* The model: normalised admittance of a cabinet. Tests put another in its place. */
typedef double _Complex (*ebb_craft_model)(const ebb_cabinet *cabinet, const ebb_air *air,
                                           const ebb_variation *vary, double _Complex omega);

/* What is added to what the model says: by how much a better one differs nearby. */
typedef struct ebb_craft_bias {
    double alpha[EBB_CRAFT_MOST_HZ]; /* at the frequencies of the space */
    double margin, absorption;       /* what is left after that */
} ebb_craft_bias;

typedef struct ebb_craft_judge_task {
    const ebb_craft_space *space;
    ebb_craft_model model;
    bool bends;
    size_t n_slips; /* 0: as planned only; else the worst of them */
    const ebb_craft_slip *slip;
    const ebb_craft_bias *bias; /* NULL: none */
} ebb_craft_judge_task;

/* EBB_E_NUMERIC and the like only when it bends. ctx may be NULL. */
ebb_status ebb_craft_merit_of(ebb_ctx *ctx, const ebb_craft_judge_task *task,
                              const ebb_craft_recipe *recipe, ebb_craft_merit *merit);
/* By how much `full` differs from `quick` for a recipe: first of the box as planned, then of the
 * worst of the slips. */
ebb_status ebb_craft_bias_of(const ebb_craft_judge_task *quick, const ebb_craft_judge_task *full,
                             const ebb_craft_recipe *recipe, ebb_craft_bias *bias);
/* Coefficients at n frequencies, the lowest of all slips (n_slips 0: as planned). */
ebb_status ebb_craft_alpha(ebb_ctx *ctx, const ebb_craft_judge_task *task,
                           const ebb_craft_recipe *recipe, size_t n, const double *hz,
                           double *alpha);

/* ---- slips.c --------------------------------------------------------------------------------- */

/* Boxes built badly: Latin hypercube of the tolerances, n of them, the first as planned. */
ebb_status ebb_craft_slips_make(ebb_ctx *ctx, const ebb_craft_space *space, size_t n, unsigned seed,
                                ebb_craft_slip *slip);

/* ---- evolve.c: one run of the search --------------------------------------------------------- */

/* A box that was judged. */
typedef struct ebb_craft_one {
    double gene[EBB_CRAFT_GENES];
    size_t layout;
    ebb_craft_recipe recipe;
    ebb_craft_merit merit;
} ebb_craft_one;

/* What a run is after. */
typedef struct ebb_craft_quest {
    ebb_craft_aim aim; /* BEST, LIGHT, SHALLOW, CHEAP */
    size_t layout;
    double required; /* absorption that must be reached, 0 none */
    double slack;    /* breach that is overlooked, 0 at the end of a search */
    unsigned seed;
    size_t n_known; /* boxes to start from, those of the layout are taken; 0: chance alone */
    const ebb_craft_one *known;
} ebb_craft_quest;

/* Trade-offs: none in it is worse than another in everything. */
typedef struct ebb_craft_store {
    size_t n;
    ebb_craft_one one[EBB_CRAFT_KEPT];
} ebb_craft_store;

/* By how much a merit breaks what is asked; 0: passes. */
double ebb_craft_breach(const ebb_craft_merit *merit, double required);
/* What a run makes small. */
double ebb_craft_measure(const ebb_craft_merit *merit, ebb_craft_aim aim);
bool ebb_craft_better(const ebb_craft_quest *quest, const ebb_craft_merit *a,
                      const ebb_craft_merit *b);
/* Differential evolution and a polish of its best. *best and store (may be NULL) filled, count of
 * judged boxes returned. */
size_t ebb_craft_evolve(const ebb_craft_judge_task *task, const ebb_craft_effort *effort,
                        const ebb_craft_quest *quest, ebb_craft_one *best, ebb_craft_store *store);
/* The box itself and n - 1 others with sizes up to `spread` away. */
void ebb_craft_around(const ebb_craft_space *space, const ebb_craft_one *one, double spread,
                      unsigned seed, size_t n, ebb_craft_one *near);
/* Steps along each number, ever smaller, at most `most` boxes; returns how many. */
size_t ebb_craft_polish(const ebb_craft_judge_task *task, const ebb_craft_quest *quest, size_t most,
                        ebb_craft_one *best, ebb_craft_store *store);

/* ---- store.c --------------------------------------------------------------------------------- */

/* Is a nowhere worse than b, and somewhere better? */
bool ebb_craft_dominates(const ebb_craft_merit *a, const ebb_craft_merit *b);
/* Takes one in unless it is dominated; throws out what it dominates, or the most crowded. */
void ebb_craft_store_add(ebb_craft_store *store, const ebb_craft_one *one);
/* Leaves at most n, the most crowded go first; then sorts by mass. */
void ebb_craft_store_thin(ebb_craft_store *store, size_t n);

/* ---- stages of the answer -------------------------------------------------------------------- */

/* Everything a search carries from stage to stage. */
typedef struct ebb_craft_work {
    ebb_craft *craft;
    ebb_craft_space space;
    ebb_craft_judge_task quick, full;
    ebb_craft_store *store;
    size_t n_runs;                      /* layouts x (starts + 1) */
    ebb_craft_one *run[EBB_CRAFT_AIMS]; /* best of each run per aim, NULL: not searched */
} ebb_craft_work;

/* wave.c: the mode, and its peak in the wave engine; mode.c: places and the single-mode model */
ebb_status ebb_craft_mode_place(ebb_ctx *ctx, ebb_arena *arena, const ebb_target *target,
                                ebb_craft_mode *mode);
ebb_status ebb_craft_mode_find(ebb_ctx *ctx, ebb_arena *arena, const ebb_target *target,
                               ebb_craft_mode *mode);
/* dB by which the peak falls when n = space->n_hz admittances act at hz (SDOF model). */
double ebb_craft_mode_fall(const ebb_craft_space *space, const double _Complex *beta);
/* The same from the wave engine. */
ebb_status ebb_craft_mode_wave(ebb_ctx *ctx, const ebb_target *target, const ebb_craft_mode *mode,
                               const ebb_unit *unit, double *fall);
/* pick.c: checks candidates of an aim with everything that bends and keeps the first that passes */
ebb_status ebb_craft_pick_make(ebb_ctx *ctx, ebb_craft_work *work, ebb_craft_aim aim,
                               ebb_craft_pick *pick, bool *found);
/* front.c: checked trade-offs */
ebb_status ebb_craft_front_make(ebb_ctx *ctx, ebb_craft_work *work);
/* sheet.c: parts, readings */
ebb_status ebb_craft_sheet_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_air *air,
                                ebb_craft_pick *pick);
/* stop.c: which limit is in the way */
ebb_status ebb_craft_stops_find(ebb_ctx *ctx, ebb_craft_work *work);

#endif
