/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/unit.h - the absorber bench: what one unit does, what building it badly would do, and what a
 * label can claim.
 *
 * Frequencies, curves and sentences are made once here and printed by the report module. Nothing
 * of this was compared with a measured absorber below 100 Hz (docs/absorbers.md).
 */
#ifndef EBB_UNIT_H
#define EBB_UNIT_H

#include <ebb/bounds.h>
#include <ebb/cabinet.h>
#include <ebb/library.h>

#ifndef __cplusplus

/* ---- what a unit does ------------------------------------------------------------------------ */

/* From here up an absorber is called useful at all: our choice. */
#define EBB_USEFUL 0.2
/* The band of the mean, Hz: where heavy absorbers are needed and rare. */
#define EBB_DEEP_LOW 30.0
#define EBB_DEEP_HIGH 60.0

/* What a unit does at n frequencies; arrays of n. */
typedef struct ebb_spectrum {
    size_t n;
    const double *hz;
    const double _Complex *z; /* Pa s/m, pressure over velocity into the unit, outer face */
    const double *normal;     /* absorption coefficient, normal incidence */
    const double *diffuse;    /* random incidence, unbounded and locally reacting: at most 0.951 */
    const double *bulk;  /* the same when sound may run along inside the layers, NULL for what is
                          * always local: cabinets, tables, constants */
    const double *patch; /* random incidence, this one unit alone in a rigid wall; may exceed 1 */
    const double *area;  /* m2, patch times face: what a reverberation room would show */
    const double *conductance; /* Re(rho c/Z), what damps a mode of a room */
    const double *transmitted; /* share of the power that leaves behind, normal incidence */
} ebb_spectrum;

/* A moving front. Arrays run with table.hz; NULL where they are not known. */
typedef struct ebb_front_view {
    size_t cell, front; /* counted from 0; front 0 is the outer one */
    double mass;        /* kg/m2, board and what is on it */
    double side[2];     /* m */
    double mount_hz;    /* Hz, as a stiff body on its rim with nothing behind it; NAN */
    double panel_hz;    /* Hz, lowest resonance with its bending, nothing behind it; NAN */
    double radiation;   /* kg/m2, air that moves with the face of one unit alone */
    const double _Complex *velocity; /* m/(s Pa), mean over the front, per pressure at the face */
    const double _Complex *centre;   /* the same at its centre */
    const double _Complex *pressure; /* Pa/Pa behind it */
} ebb_front_view;

/* The honest band, of the coefficient at normal incidence between 10 and 400 Hz. */
typedef struct ebb_band {
    double peak_hz, peak;
    bool inside;      /* the peak is one; false: highest at the end of the range */
    double half[2];   /* Hz, where half of the peak is reached below and above; NAN: not within */
    double useful[2]; /* Hz, the stretch around the peak with EBB_USEFUL or more; NAN: none */
    double mean;      /* over EBB_DEEP_LOW to EBB_DEEP_HIGH */
    double match;     /* Re Z/(rho c) at the peak: 1 takes everything */
} ebb_band;

/* The depth limit (ebb/bounds.h). Values are NAN when `unknown` says why there are none. */
typedef struct ebb_budget {
    double used;       /* m, integral of -ln(1 - alpha) over wavelength, 0.1 to 2000 Hz; with grains
                        * from 20 Hz: what they take up more slowly is not counted either */
    double available;  /* m, with the static compliance, grains as at 25 Hz */
    double deep;       /* share of `used` between EBB_DEEP_LOW and EBB_DEEP_HIGH */
    double compliance; /* m/Pa */
    double mounts;     /* share of the stiffness that is the mounts'; NAN for layers */
    double flat;       /* coefficient over EBB_DEEP_LOW to EBB_DEEP_HIGH if all went there */
    const char *unknown;
} ebb_budget;

#define EBB_CHANGE_HZ 3 /* 30, 40, 50 Hz */

/* What one slip in building does: differences to the unit as designed; NAN when it can not be
 * built so. */
typedef struct ebb_change {
    const char *what;
    double alpha[EBB_CHANGE_HZ];
    double mean;
    double peak_hz; /* Hz, the new one; NAN: none between 10 and 400 Hz */
} ebb_change;

typedef enum ebb_remark_kind {
    EBB_REMARK_RANGE,     /* a formula is used beyond its range */
    EBB_REMARK_LEAK,      /* the box leaks */
    EBB_REMARK_RIM,       /* a mount takes a large part of the stiffness */
    EBB_REMARK_GRAINS,    /* grains whose batch was not measured */
    EBB_REMARK_WALLS,     /* walls give way too much */
    EBB_REMARK_CONTACT,   /* fill touches a front */
    EBB_REMARK_LOSS,      /* constant loss factors */
    EBB_REMARK_RADIATION, /* air moving along takes a share of the front's mass */
    EBB_REMARK_MATCH,     /* over- or underdamped */
    EBB_REMARK_UNKNOWN    /* what can not be told of this unit */
} ebb_remark_kind;

typedef struct ebb_remark {
    ebb_remark_kind kind;
    const char *text;
} ebb_remark;

/* A study of a unit. Owns what it points to but the unit. */
typedef struct ebb_study {
    ebb_arena *arena;
    const ebb_unit *unit; /* borrowed */
    ebb_air air;
    ebb_spectrum table; /* 30 Hz and the third octaves from 20 to 200 Hz */
    ebb_spectrum fine;  /* 10 to 400 Hz, for plots; patch to a per cent or so */
    size_t n_fronts;
    const ebb_front_view *front;
    ebb_band band;
    ebb_weights weights; /* NAN where not known; total is always the unit's mass */
    ebb_budget budget;
    double alpha[EBB_CHANGE_HZ]; /* what the changes are differences to */
    size_t n_changes;
    const ebb_change *change;
    size_t n_remarks;
    const ebb_remark *remark;
    size_t n_cautions;
    const char *const *caution; /* for those who build, carry and hang it */
} ebb_study;

/* Studies a unit of a job or library (its assembly is checked, a cabinet prepared); sentences give
 * measures in `units`. *study is new: free with ebb_study_free. */
EBB_API ebb_status ebb_study_new(ebb_ctx *ctx, const ebb_unit *unit, const ebb_air *air,
                                 ebb_units units, ebb_study **study);
/* Frees a study; NULL is fine. */
EBB_API void ebb_study_free(ebb_study *study);

/* What those should know who build, carry and hang a unit: constant strings into list[],
 * EBB_UNIT_CAUTIONS at most; returns how many. */
#define EBB_UNIT_CAUTIONS 8
EBB_API size_t ebb_unit_cautions(const ebb_unit *unit, const char *list[EBB_UNIT_CAUTIONS]);

/* ---- what a label can claim ------------------------------------------------------------------ */

typedef enum ebb_claim_word {
    EBB_CLAIM_POSSIBLE,     /* a box of that depth does it; we found one */
    EBB_CLAIM_ONLY_DIFFUSE, /* only as a figure from a reverberation room */
    EBB_CLAIM_NOT_FOUND,    /* no box we found does it; no bound forbids it */
    EBB_CLAIM_IMPOSSIBLE,   /* a bound of passive absorbers forbids it */
    EBB_CLAIM_UNTOLD        /* the label says too little */
} ebb_claim_word;

/* One figure judged. Values in the kind of the claim's figures; a coefficient of unsaid kind is
 * read as normal incidence first. */
typedef struct ebb_claim_figure {
    double hz, value;
    ebb_claim_word word;
    double reached; /* by the best box we found for all figures together; NAN */
    double alone;   /* by the best box we found for this figure alone; NAN */
    double normal;  /* coefficient at normal incidence of the box of `reached` or, when only a
                     * reverberation room explains the figure, of the box that does; NAN */
    double limit;   /* largest value that any passive surface of that face can show; NAN */
    const char *why;
} ebb_claim_figure;

/* A box found by the search: the whole outer depth is its inside, its mounts are soft (5 Hz), its
 * walls and joints perfect. So it does more than any box that is built. */
typedef struct ebb_box {
    size_t n_fronts;      /* 0: porous only */
    bool behind;          /* two fronts: the second behind the first, else beside it */
    double share;         /* two beside each other: of the face, the first one's */
    double gap;           /* two behind each other: of the depth, between them; air */
    double mass[2];       /* kg/m2 */
    double resistance[2]; /* Pa s/m, of a front or, without fronts, of a cloth before the fill */
    double resistivity;   /* Pa s/m2, of the fill; 0 air */
    double frame;         /* kg/m3, limp fill; 0 rigid frame or air */
    double grains; /* share of the depth, at the back, that is grains of a favourable batch */
} ebb_box;

/* A claim judged. Text and arrays in the arena given. */
typedef struct ebb_claim_check {
    const ebb_claim *claim;
    double ratio;  /* stiffness of air over that of the fill, as assumed */
    double needed; /* m, least depth with that fill for all figures read as normal incidence,
                    * straight lines between them; NAN */
    double needed_air;
    double flat;   /* coefficient that the depth allows if it were the same from the first
                    * figure's frequency to the last one's (a third of an octave around a
                    * single one); NAN */
    bool searched; /* there is a box */
    ebb_box box;   /* best we found for all figures */
    size_t n;
    const ebb_claim_figure *figure;
    const char *summary;
} ebb_claim_check;

/* Judges what a label says; sentences give measures in `units`. *check in arena. EBB_E_RANGE for
 * figures whose frequencies do not rise or that are not finite. */
EBB_API ebb_status ebb_claim_judge(ebb_ctx *ctx, ebb_arena *arena, const ebb_claim *claim,
                                   const ebb_air *air, ebb_units units, ebb_claim_check **check);
/* "possible", "possible only as a diffuse figure", ... Constant. */
EBB_API const char *ebb_claim_word_name(ebb_claim_word word);

#endif /* !__cplusplus */
#endif
