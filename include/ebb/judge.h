/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/judge.h - limits, cells, faults, verdict.
 *
 * The judgement counts cells: every speaker-to-head response on a 1/24-octave grid. A cell is wrong
 * once if its 1/3-octave level leaves the limit or its band decays too slowly. See
 * docs/judging.md for the reasons and the study behind them.
 */
#ifndef EBB_JUDGE_H
#define EBB_JUDGE_H

#include <ebb/field.h>
#include <ebb/limits.h>
#include <ebb/mid.h>

#ifndef __cplusplus

/* ---- limits (the table itself: ebb/limits.h) ---------------------------------------------- */

/* Decay limit T_l in s at hz for a use in a room of volume m3 (formulas: docs/judging.md). NAN
 * unless hz and volume are above 0. */
EBB_API double ebb_decay_limit(const ebb_limits *limits, ebb_use use, double volume, double hz);
/* Target of the mid-band decay for a use, s (NAN unless volume > 0); its mask [lower, upper] at
 * octave 0..5 = 125..4000 Hz (NAN for any other). */
EBB_API double ebb_mid_target(ebb_use use, double volume);
EBB_API void ebb_mid_mask(const ebb_limits *limits, ebb_use use, double volume, int octave,
                          double mask[2]);

/* ---- readings of one configuration ----------------------------------------------------------- */

/* The grid on which a use is judged: points 1000 * 10^(i / 80) Hz, 24 an octave, which hold the
 * exact 1/3-octave midbands. Cells are the points from lowest to highest, each rounded to its
 * nearest point (so 40 Hz means 39.8 Hz); the calculation grid carries 1/6 octave more on both
 * sides for the sliding 1/3-octave mean. */
typedef struct ebb_grid {
    double lowest, highest; /* Hz */
    size_t n_hz;            /* calculation grid */
    double hz[160];
    size_t first, n_cells; /* cells are hz[first .. first + n_cells) */
    size_t n_bands;        /* 1/3-octave bands of the decay test, none above the highest cell */
    double band_hz[16];    /* exact midbands, from the one that holds the first cell */
    signed char band[160]; /* band that holds each point of hz, -1: its decay is not tested */
} ebb_grid;

/* Lowest frequency from the caller, highest ones from limits. A grid that can not be (lowest not
 * above 0 or above response_highest, more than 160 points or 16 bands) comes back all zero, and
 * ebb_reading_make refuses it. */
EBB_API void ebb_grid_make(const ebb_limits *limits, double lowest, ebb_grid *grid);

/* What is read off one configuration. Arrays have n_paths rows (source-major: path = s *
 * n_receivers
 * + r). Owned by the arena given at creation. */
typedef struct ebb_reading {
    size_t n_paths, n_sources, n_receivers;
    double *level; /* [path * n_cells + c] 1/3-octave level, dB re the path's band mean: d */
    double *mean;  /* [path] that band mean, dB; only differences between paths mean anything */
    double *decay; /* [path * n_bands + b] T of the band at the seat, s; NAN: no mode there */
    double *decay_limit;             /* [b] s */
    double inside;                   /* share of response cells inside D */
    double worst_level;              /* max |d|, dB */
    double worst_decay;              /* max T / T_l */
    double wrong;                    /* q: share of wrong cells, response or decay */
    double wrong_level, wrong_decay; /* the two parts by themselves */
    double lowest_right; /* Hz: lowest f from which the core rule holds up to the top; NAN: none */
    double margin;       /* min(in/.9 - 1, 1 - max|d|/5, 1 - T/(1.25 T_l)) */
    bool right;          /* core rule: in >= .90, max |d| <= 5 dB, T <= 1.25 T_l */
} ebb_reading;

/* Reads responses h[path * grid->n_hz + f] (p/Q) and damped modes. modes == NULL: decay is left out
 * (NAN, worst_decay 0). Arrays in arena. Errors: EBB_E_RANGE (no path, empty grid, volume, modes of
 * other paths), EBB_E_NUMERIC (a response or mode that is not a finite number, a silent path). */
EBB_API ebb_status ebb_reading_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_grid *grid,
                                    const ebb_limits *limits, ebb_use use, double volume,
                                    size_t n_sources, size_t n_receivers, const double _Complex *h,
                                    const ebb_modes *modes, ebb_reading *reading);

/* Decay T of one path in a 1/3-octave band from damped modes: energy of the band-weighted modes
 * E(t) = sum w |R|^2 e^{-2 delta t} / (2 delta), line fitted from -5 to -25 dB; w is the power
 * response of a third-order 1/3-octave filter, modes with w < 0.01 are left out. NAN when no mode
 * is left or none is heard; INFINITY when one that is heard does not decay. */
EBB_API double ebb_band_decay(const ebb_modes *modes, size_t source, size_t receiver,
                              double band_hz);

/* Sliding 1/3-octave power mean of |p/(j w rho Q)|^2 at the cells, dB, minus its band mean, into
 * level[n_cells]. Returns that band mean, dB re 1/m2; it is not finite when h is not or is zero. */
EBB_API double ebb_smooth_levels(const ebb_grid *grid, double density, const double _Complex *h,
                                 double *level);

/* ---- faults ---------------------------------------------------------------------------------- */

typedef enum ebb_fault_kind {
    EBB_FAULT_RING,   /* a band whose decay exceeds its limit */
    EBB_FAULT_PEAK,   /* a run of the response above its limit */
    EBB_FAULT_DIP,    /* below */
    EBB_FAULT_GAP,    /* no mode carries a stretch of the band */
    EBB_FAULT_SPREAD, /* seats differ (music only) */
    EBB_FAULT_SLOW,   /* mid-band decay above its mask */
    EBB_FAULT_DRY,    /* below its mask */
    EBB_FAULT_SPEECH  /* speech index too low */
} ebb_fault_kind;

/* One audible thing that is wrong. Strings in the arena of the list. */
typedef struct ebb_fault {
    ebb_fault_kind kind;
    double low, high;  /* Hz, the stretch */
    double hz;         /* where it is worst */
    double value;      /* the reading there: s, dB (below 0 for a dip and a gap) or index */
    double limit;      /* the limit it is measured against, same unit and sign */
    double size;       /* in units of the limit, > 1 */
    size_t path;       /* path where it is worst; (size_t)-1: the room as a whole */
    const char *place; /* path in words: "left to lead", or "the room" */
    const char *cause; /* plain words: which mode, which wall, which path */
    bool equalisable;  /* an equaliser could lower it (its decay still counts) */
    bool also_rings;   /* a peak and a ring of one mode in one third-octave: one fault, listed once,
                          under the kind of its larger reading */
} ebb_fault;

typedef struct ebb_faults {
    size_t n;
    ebb_fault *fault; /* by falling size */
} ebb_faults;

/* What the listing needs to put causes into words. Borrowed. */
typedef struct ebb_scene {
    const ebb_job *job;
    const ebb_room *room;
    const ebb_grid *grid;
    const ebb_limits *limits;
    ebb_use use;
    const ebb_modes *modes;
    const ebb_mid *mid; /* may be NULL */
    size_t n_sources, n_receivers;
    const char *const *source_names;     /* one per source */
    const char *const *receiver_names;   /* one per receiver */
    const ebb_vec3 *sources, *receivers; /* room coordinates, lower corner = 0 */
} ebb_scene;

/* Lists faults of a reading, largest first. Memory in arena. Warns where a limit is used outside
 * the range of its source. Errors: EBB_E_RANGE when scene and reading do not fit each other. */
EBB_API ebb_status ebb_faults_list(ebb_ctx *ctx, ebb_arena *arena, const ebb_scene *scene,
                                   const ebb_reading *reading, ebb_faults *faults);

/* "ring", "peak", ... ; what the kind means in one line. Constant strings. */
EBB_API const char *ebb_fault_name(ebb_fault_kind kind);
EBB_API const char *ebb_fault_meaning(ebb_fault_kind kind);

/* ---- verdict --------------------------------------------------------------------------------- */

typedef enum ebb_verdict { EBB_NO, EBB_VOICE, EBB_MUSIC } ebb_verdict;
/* "no", "voice", "music". Constant strings. */
EBB_API const char *ebb_verdict_name(ebb_verdict verdict);

/* Share of draws in which a kept plan is right, and what decided. */
typedef struct ebb_odds {
    size_t draws;         /* how many were evaluated */
    double share;         /* P */
    double margin_median; /* median margin over draws */
    const char *decider;  /* which number fails most often: "response", "one dip", "decay", "mid
                             band", "speech index"; constant string */
} ebb_odds;

/* The verdict rule. music: odds of the music plan or NULL when music was not asked; voice likewise.
 * *sure = max(P, 1 - P) of the deciding test, which is the one that could turn the verdict most
 * easily: music's for `music`, the less sure of both otherwise. NAN when that is not known: nothing
 * was asked, or a deciding test has no draws (its share then speaks for the nominal plan). */
EBB_API ebb_verdict ebb_verdict_of(const ebb_odds *music, const ebb_odds *voice, double *sure);

/* Latin hypercube of standard normal deviates: out[draw * n_dims + dim], same bytes for the same
 * seed on every machine. In each dimension every draw has a stratum of probability 1/n_draws to
 * itself. EBB_E_RANGE when n_draws or n_dims is 0. */
EBB_API ebb_status ebb_draws_normal(ebb_ctx *ctx, size_t n_draws, size_t n_dims, unsigned seed,
                                    double *out);

/* mended share M = 1 - after/before; NAN when before < 0.05 ("nothing to mend"). */
EBB_API double ebb_mended(double before, double after);

#endif /* !__cplusplus */
#endif
