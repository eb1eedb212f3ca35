/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/library.h - a library file: units that jobs may use by name, what is at hand to build them
 * of, what labels claim, and what a box to be designed must do.
 */
#ifndef EBB_LIBRARY_H
#define EBB_LIBRARY_H

#include <ebb/cabinet.h>
#include <ebb/job.h>

#ifndef __cplusplus

/* ---- what is at hand ------------------------------------------------------------------------- */

/* A board that can be bought. */
typedef struct ebb_sheet {
    double thickness; /* m */
    double price;     /* money per m2, 0 when not given */
} ebb_sheet;

/* A panel material and the thicknesses it comes in. */
typedef struct ebb_material {
    const char *name;
    ebb_board board; /* thickness 0 */
    size_t n_sheets;
    const ebb_sheet *sheet; /* rising thickness */
    const char *source;     /* where the values come from */
    bool preset;            /* from the project's own list */
} ebb_material;

/* Porous fill. */
typedef struct ebb_wool {
    const char *name;
    ebb_layer layer; /* EBB_LAYER_POROUS, thickness 0 */
    double price;    /* money per m3 */
    const char *source;
    bool preset;
} ebb_wool;

/* A batch of grains. */
typedef struct ebb_batch {
    const char *name;
    ebb_layer layer; /* EBB_LAYER_GRANULAR, thickness 0 */
    double price;    /* money per kg */
    bool measured;   /* its values come from a test of the batch, not from a table */
    const char *source;
    bool preset;
} ebb_batch;

/* A strip from which rims can be made. */
typedef struct ebb_strip {
    const char *name;
    double width, thickness; /* m: free width (bending) or width (pressed), and thickness */
    double modulus;          /* Pa */
    double loss;
    bool pressed; /* works in compression; false: in bending */
    double price; /* money per m */
    const char *source;
    bool preset;
} ebb_strip;

/* Everything at hand: what the file gives first, then the presets it does not replace. */
typedef struct ebb_stock {
    size_t n_materials, n_wools, n_batches, n_strips;
    const ebb_material *material;
    const ebb_wool *wool;
    const ebb_batch *batch;
    const ebb_strip *strip;
} ebb_stock;

/* ---- what a label says ----------------------------------------------------------------------- */

/* What a figure on a label means. */
typedef enum ebb_figure_kind {
    EBB_FIGURE_NORMAL,  /* coefficient at normal incidence (impedance tube) */
    EBB_FIGURE_DIFFUSE, /* coefficient from a reverberation room; may exceed 1 */
    EBB_FIGURE_AREA,    /* equivalent absorption area per unit, m2 */
    EBB_FIGURE_UNSAID   /* a coefficient of which the label does not say what kind it is */
} ebb_figure_kind;

typedef struct ebb_figure {
    double hz, value;
} ebb_figure;

typedef enum ebb_fill_kind {
    EBB_FILL_UNSAID,
    EBB_FILL_AIR,
    EBB_FILL_WOOL,
    EBB_FILL_GRAINS
} ebb_fill_kind;

/* What is known of a box that somebody sells. NAN where the label is silent. */
typedef struct ebb_claim {
    const char *name;
    double face[2];    /* m */
    double depth;      /* m, outer */
    double mass;       /* kg, complete */
    double front_mass; /* kg/m2, all fronts together */
    bool front;        /* it has a front that moves; false: porous only */
    ebb_fill_kind fill;
    ebb_figure_kind kind; /* of its figures */
    size_t n;
    const ebb_figure *figure; /* rising hz */
    int line;
} ebb_claim;

/* ---- what a box to be designed must do --------------------------------------------------------
 */

typedef enum ebb_goal {
    EBB_GOAL_CURVE, /* at least these coefficients at these frequencies, normal incidence */
    EBB_GOAL_MEAN,  /* best mean coefficient from one frequency to another, normal incidence */
    EBB_GOAL_MODE   /* damp one mode of a room with a number of units */
} ebb_goal;

/* A mode that a box is tuned to: the mode of `room` nearest to `hz`. */
typedef struct ebb_tuning {
    const ebb_job *job; /* owned by the library; `room` indexes its rooms */
    size_t room;
    double hz;
    size_t units;
} ebb_tuning;

/* A task for the designer. Limits are INFINITY where not given; face and depth always are. */
typedef struct ebb_target {
    const char *name;
    ebb_goal goal;
    size_t n;
    const ebb_figure *curve; /* EBB_GOAL_CURVE, rising hz */
    double band[2];          /* Hz, EBB_GOAL_MEAN */
    ebb_tuning tuning;       /* EBB_GOAL_MODE */
    double face[2];          /* m, given */
    double depth[2];         /* m, least and largest outer depth; equal: exactly that */
    double mass, cost;       /* kg, money, at most */
    double grains;           /* kg at most, 0 none */
    int fronts[2];           /* at least and at most, 1..EBB_FRONTS */
    int cells;               /* side by side at most, 1 or 2 */
    double thinnest;         /* m, thinnest board of a front */
    double lightest;         /* kg/m2, lightest front */
    bool robust;             /* judge by the worst case over build tolerances */
    ebb_stock stock; /* what may be used: of each kind what the target names, else all of the
                      * library's. Materials without sheets are not for building */
    int line;
} ebb_target;

/* ---- the file ---------------------------------------------------------------------------------
 */

/* A library. Owns everything it points to. Of a job file it has name, note, units, air, the
 * absorbers and the presets as stock. */
typedef struct ebb_library {
    ebb_arena *arena;
    const char *file, *name, *note;
    ebb_units units;
    ebb_air air;
    ebb_stock stock;
    size_t n_units;
    const ebb_unit *unit;
    size_t n_claims;
    const ebb_claim *claim;
    size_t n_targets;
    const ebb_target *target;
    size_t n_jobs;
    ebb_job **jobs; /* jobs that targets tune to, or the job file itself */
} ebb_library;

/* Reads a library file or, for its absorbers, a job file (the key `library` or `job` tells which);
 * faults as in ebb_job_read. *library is new: free with ebb_library_free. */
EBB_API ebb_status ebb_library_read(ebb_ctx *ctx, const char *path, ebb_library **library);
/* The same from memory, as ebb_job_parse. */
EBB_API ebb_status ebb_library_parse(ebb_ctx *ctx, const char *text, size_t length,
                                     const char *name, const char *folder, ebb_library **library);
/* Frees a library; NULL is fine. */
EBB_API void ebb_library_free(ebb_library *library);
/* JSON Schema of the library file, as ebb_job_schema. */
EBB_API ebb_status ebb_library_schema(ebb_ctx *ctx, ebb_arena *arena, const char **text);

#endif /* !__cplusplus */
#endif
