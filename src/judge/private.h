/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * private.h - what the files of the judge module share. Not installed.
 */
#ifndef EBB_JUDGE_PRIVATE_H
#define EBB_JUDGE_PRIVATE_H

#include <complex.h>
#include <ebb/judge.h>

#define EBB_JUDGE_NONE ((size_t)-1)

/* |z|^2 */
static inline double ebb_judge_square(double _Complex z)
{
    return creal(z) * creal(z) + cimag(z) * cimag(z);
}

/* Nominal middle of octave 0..5, Hz. */
static inline double ebb_judge_octave_hz(int octave)
{
    return 125.0 * (double)(1 << octave);
}

/* ---- decay.c: ebb_band_decay by path, and the modes that carry a band ------------------------ */

double ebb_judge_decay(const ebb_modes *modes, size_t path, double band_hz);
/* Modes that bring most energy where the decay is read; EBB_JUDGE_NONE where there is none. */
void ebb_judge_carriers(const ebb_modes *modes, size_t path, double band_hz, size_t carrier[2]);

/* ---- trace.c: where a fault comes from, in numbers ------------------------------------------- */

/* Strongest mode in the response of a path at hz, or EBB_JUDGE_NONE. */
size_t ebb_judge_strongest(const ebb_modes *modes, size_t path, double hz);
/* Mode that differs most between two paths at hz, or EBB_JUDGE_NONE. */
size_t ebb_judge_divider(const ebb_modes *modes, size_t path, size_t other, double hz);

/* Two modes that pull against each other on a path at hz. */
typedef struct ebb_judge_pull {
    size_t mode[2]; /* the strongest, and the one most against it; EBB_JUDGE_NONE: none */
    double left;    /* what is left of the modes' sum of magnitudes, 0..1 */
} ebb_judge_pull;
ebb_judge_pull ebb_judge_opposed(const ebb_modes *modes, size_t path, double hz);

/* ---- rigid.c: what the modes of the bare room tell ------------------------------------------- */

/* Rigid-wall modes of the room around a frequency. */
typedef struct ebb_judge_stretch {
    double below, above; /* Hz, nearest on either side; below = 0: hz is under the first */
    int below_label[3], above_label[3];
} ebb_judge_stretch;
ebb_judge_stretch ebb_judge_neighbours(const ebb_scene *scene, double hz);
/* First rigid-wall mode of the room, Hz. */
double ebb_judge_first_mode(const ebb_scene *scene);
/* True when no mode carries hz: none within 10 %, the next ones over a third octave apart. */
bool ebb_judge_gap(const ebb_scene *scene, double hz);

/* |pressure| of a rigid-wall mode at a point, 0..1. */
double ebb_judge_shape(const ebb_scene *scene, const int label[3], ebb_vec3 at);
/* In a room that is no box: shares of a mode's kinetic energy along x, y and z. */
void ebb_judge_ways(const ebb_scene *scene, const int label[3], double share[3]);

/* A mode near hz that one end of the path does not couple to. */
typedef struct ebb_judge_quiet {
    bool found;
    int label[3];
    double hz;
    bool at_source; /* the speaker stands in the quiet plane, not the seat */
} ebb_judge_quiet;
ebb_judge_quiet ebb_judge_quiet_plane(const ebb_scene *scene, size_t path, double hz);
/* True well below the first mode, where the room's pressure moves as a whole. */
bool ebb_judge_in_pressure_zone(const ebb_scene *scene, double hz);

/* A first reflection that arrives an odd number of half waves late. */
typedef struct ebb_judge_echo {
    bool found;
    size_t surface;  /* that reflects */
    double distance; /* m, from the face to the nearer end of the path */
    bool from_source;
} ebb_judge_echo;
ebb_judge_echo ebb_judge_late_echo(const ebb_scene *scene, size_t path, double hz);

/* ---- runs.c: raw faults ---------------------------------------------------------------------- */

/* A fault on its way into the list. */
typedef struct ebb_judge_entry {
    ebb_fault fault;
    size_t mode;       /* damped mode behind it, or EBB_JUDGE_NONE */
    size_t second;     /* ring: another mode that carries it */
    size_t other;      /* spread: the louder path */
    int octave;        /* slow, dry, speech: the octave where it is worst */
    const char *aside; /* said after the cause: what was merged into this fault; NULL: nothing */
    bool merged;       /* listed within another one */
} ebb_judge_entry;

typedef struct ebb_judge_listing {
    ebb_arena *arena;
    const ebb_scene *scene;
    const ebb_reading *reading;
    size_t n;
    ebb_judge_entry *entry;
} ebb_judge_listing;

/* Most entries that can come of a grid; entry must have room for that many. */
size_t ebb_judge_most_runs(const ebb_grid *grid);
void ebb_judge_find_runs(ebb_judge_listing *list);

/* ---- words.c: an entry in plain words; texts in arena, NULL when out of memory ----------------
 */

const char *ebb_judge_place_words(ebb_arena *arena, const ebb_scene *scene,
                                  const ebb_judge_entry *entry);
const char *ebb_judge_cause_words(ebb_arena *arena, const ebb_scene *scene,
                                  const ebb_judge_entry *entry);

#endif
