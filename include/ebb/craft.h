/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/craft.h - the designer: boxes that do what a target asks, of what is at hand.
 *
 * A search is not a proof: what it did not find may still exist. How sure it is of being near the
 * best is told by how many of its starts agree (docs/absorbers.md says how it searches).
 */
#ifndef EBB_CRAFT_H
#define EBB_CRAFT_H

#include <ebb/bounds.h>
#include <ebb/library.h>

#ifndef __cplusplus

/* How hard to search. Plain data; ebb_craft_effort_default fills it. */
typedef struct ebb_craft_effort {
    unsigned seed;
    size_t starts;      /* per aim and layout, 1..64 */
    size_t population;  /* boxes of a generation, 8..400 */
    size_t generations; /* 1..2000 */
    bool trim;          /* fronts may carry weights glued on to tune them */
} ebb_craft_effort;

/* What `ebb craft` does by default: seed 1, 4 starts, 48 boxes, 80 generations, trim. */
EBB_API void ebb_craft_effort_default(ebb_craft_effort *effort);

#define EBB_CRAFT_CELLS 2   /* side by side at most */
#define EBB_CRAFT_LAYOUTS 4 /* one or two cells, one or two fronts each */

/* ---- a box as it is built -------------------------------------------------------------------- */

typedef struct ebb_craft_front {
    const ebb_material *material;
    double thickness;       /* m, one of the material's sheets */
    double price;           /* money per m2 of that sheet, 0 not known */
    double trim;            /* kg/m2, weights glued on, spread evenly */
    const ebb_strip *strip; /* of its rim */
} ebb_craft_front;

typedef struct ebb_craft_cell {
    double share;    /* of the inner width */
    double gap;      /* m between two fronts, 0 with one */
    double gap_wool; /* m of it that is wool, in its middle */
    double wool;     /* m behind the last front, next to the grains or the back */
    double grains;   /* kg, at the back */
    ebb_craft_front front[EBB_FRONTS];
} ebb_craft_cell;

/* Everything a box is decided by; what points points into the target's stock. Plain data. */
typedef struct ebb_craft_recipe {
    int cells, fronts;     /* side by side; one behind the other in each cell */
    double face[2], depth; /* m, outer */
    const ebb_material *wall;
    double wall_thickness, wall_price;
    int brace[2];           /* across width and height, as ebb_cabinet */
    const ebb_wool *wool;   /* NULL: none */
    const ebb_batch *batch; /* NULL: no grains */
    ebb_craft_cell cell[EBB_CRAFT_CELLS];
} ebb_craft_recipe;

/* A cabinet made of a recipe; *cabinet in arena, not yet prepared. `bends`: with fronts that bend
 * and walls that give way, as for an answer; false: as the search sees it, stiff. */
EBB_API ebb_status ebb_craft_cabinet(ebb_ctx *ctx, ebb_arena *arena, const ebb_craft_recipe *recipe,
                                     bool bends, ebb_cabinet **cabinet);

/* ---- what it is worth ------------------------------------------------------------------------ */

typedef struct ebb_craft_merit {
    double margin;     /* curve: least surplus of coefficient at its frequencies; else INFINITY */
    double shortfall;  /* the same when it is lacking, 0: meets all */
    double absorption; /* curve, mean: mean coefficient at normal incidence over its band; mode: dB
                        * by which the peak of the mode falls */
    double excess;     /* by which it is above mass and cost limits, relative, summed; 0: inside */
    double mass, depth, cost; /* kg, m, money of what is priced */
    bool priced;              /* that is everything */
} ebb_craft_merit;

/* Judges a box of given recipe for a target, without search: `bends` as above. */
EBB_API ebb_status ebb_craft_judge(ebb_ctx *ctx, const ebb_target *target, const ebb_air *air,
                                   const ebb_craft_recipe *recipe, bool bends,
                                   ebb_craft_merit *merit);

/* ---- what is picked -------------------------------------------------------------------------- */

typedef enum ebb_craft_aim {
    EBB_CRAFT_BEST,    /* most absorption */
    EBB_CRAFT_LIGHT,   /* lightest that passes */
    EBB_CRAFT_SHALLOW, /* shallowest that passes */
    EBB_CRAFT_CHEAP,   /* cheapest that passes */
    EBB_CRAFT_NEAREST, /* nothing passes: what comes nearest */
    EBB_CRAFT_AIMS
} ebb_craft_aim;

/* "best", "lightest", "shallowest", "cheapest", "nearest miss". Constant. */
EBB_API const char *ebb_craft_aim_name(ebb_craft_aim aim);

/* A piece to be cut or bought. */
typedef struct ebb_craft_part {
    const char *what;     /* "back", "front 1 of cell 2", "rim of ..." */
    const char *material; /* board, wool, strip, batch by name */
    size_t count;
    double size[3]; /* m: long, wide, thick; strips: length, width, thickness; 0 where none */
    double mass;    /* kg, all of them together; NAN not known */
} ebb_craft_part;

/* A front as it should read when it is measured. */
typedef struct ebb_craft_reading {
    int cell, front;    /* counted from 0 */
    double mass;        /* kg, to be weighed before the box is closed */
    double mount_hz;    /* Hz, on its rim with nothing behind it */
    double peak_hz;     /* Hz, where it moves most per pressure at the face */
    double peak;        /* m/(s Pa) there */
    double velocity[3]; /* m/(s Pa), mean over the front, at 30, 40, 50 Hz */
} ebb_craft_reading;

/* How the starts of a search agree. */
typedef struct ebb_craft_sure {
    size_t starts; /* of the layout that won */
    double agree;  /* share of them whose best lies within 1 % of the best of all */
    double worst;  /* the same measure of the worst start: absorption, kg, m or money */
    double best;
} ebb_craft_sure;

/* A box worth building. */
typedef struct ebb_craft_pick {
    ebb_craft_aim aim;
    ebb_craft_recipe recipe;
    ebb_unit unit;         /* the same as a unit; its assembly is prepared */
    ebb_craft_merit quick; /* as the search saw it: stiff fronts and walls */
    ebb_craft_merit merit; /* with fronts that bend and walls that give way */
    ebb_craft_merit worst; /* worst of `n_slips` boxes built badly, of unlucky batches */
    size_t n_slips;
    bool passes; /* by merit; when the target is robust, by the worst of the first few slips */
    size_t n;    /* hz[], alpha[]: 30, 40, 50 Hz and the frequencies of the curve, rising */
    const double *hz, *alpha, *alpha_worst;
    double peak_hz, peak; /* highest coefficient in the target's band and half an octave about it */
    double resonance_hz;  /* Hz, lowest where the reactance passes 0; NAN */
    ebb_weights weights;
    double wave; /* mode: the same dB in the wave engine, all modes coupled; NAN */
    ebb_craft_sure sure;
    size_t n_parts;
    const ebb_craft_part *part;
    size_t n_readings;
    const ebb_craft_reading *reading;
} ebb_craft_pick;

/* What came out for one layout. Values NAN: not searched or nothing passes. */
typedef struct ebb_craft_layout {
    int cells, fronts;
    double shortfall, absorption; /* of the best */
    double mass, depth, cost;     /* least of those that pass, each for itself */
} ebb_craft_layout;

/* What freeing one limit would do, when nothing passes. */
typedef struct ebb_craft_stop {
    const char *limit; /* "depth", "mass", ... */
    bool passes;       /* a box was found without it */
    double shortfall;  /* what is still lacking without it */
} ebb_craft_stop;

/* The mode that a box is tuned to. */
typedef struct ebb_craft_mode {
    const ebb_room *room; /* NULL: the target has no mode */
    double hz, t60;       /* damped, without the units */
    int label[3];
    size_t n;           /* units */
    ebb_placed *placed; /* where they are supposed to hang: where the mode presses most */
    double along;       /* kg/m2, air that moves along with the face of a unit */
    double coupling;    /* sum over the units of psi^2 S/(V Lambda), 1/m */
} ebb_craft_mode;

/* The answer. Owns its memory. */
typedef struct ebb_craft {
    ebb_arena *arena;
    const ebb_target *target;
    ebb_air air;
    ebb_craft_effort effort;
    size_t evaluated; /* boxes, as the search sees them */
    size_t checked;   /* boxes with bending fronts and walls */
    bool passes;      /* a box that meets the target inside its limits was found */
    double required;  /* absorption below which lightest, shallowest, cheapest are not taken: mean
                       * and mode 90 % of the best found (our choice), curve 0 */
    size_t n_front;   /* best trade-offs of absorption, mass, depth, cost, by rising mass */
    const ebb_craft_recipe *front;
    const ebb_craft_merit *front_merit; /* checked */
    size_t n_layouts;
    ebb_craft_layout layout[EBB_CRAFT_LAYOUTS];
    size_t n_picks;
    ebb_craft_pick *pick;
    size_t n_stops;
    ebb_craft_stop *stop;
    double depth_needed; /* m, curve: least depth of wool that passive absorbers need for the curve
                          * with nothing outside it (ebb/bounds.h); NAN */
    ebb_craft_mode mode;
} ebb_craft;

/*
 * Designs boxes for a target of a library. The same target, effort and air give the same answer,
 * whatever the number of threads. When no box passes it is still EBB_OK: passes is false, the only
 * pick the nearest miss, and stop[] says which limit is in the way. EBB_E_NOSOLUTION when no box
 * can be built at all of what is at hand. *craft is new: free with ebb_craft_free; target must
 * outlive it.
 */
EBB_API ebb_status ebb_craft_new(ebb_ctx *ctx, const ebb_target *target, const ebb_air *air,
                                 const ebb_craft_effort *effort, ebb_craft **craft);
/* Frees an answer; NULL is fine. */
EBB_API void ebb_craft_free(ebb_craft *craft);

#endif /* !__cplusplus */
#endif
