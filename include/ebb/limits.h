/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/limits.h - every number a fault is measured against, in one table with its source.
 */
#ifndef EBB_LIMITS_H
#define EBB_LIMITS_H

#include <ebb/job.h>

#ifndef __cplusplus

typedef enum ebb_limit_origin {
    EBB_LIMIT_STANDARD,
    EBB_LIMIT_PAPER,
    EBB_LIMIT_PRACTICE, /* common practice, no source */
    EBB_LIMIT_OWN       /* our choice, see docs/judging.md */
} ebb_limit_origin;

/* One row of the table of limits. Constant strings. */
typedef struct ebb_limit {
    const char *key; /* as in the job file, e.g. "response_deviation" */
    ebb_quantity_kind kind;
    double value;     /* default, SI (dB for levels) */
    double low, high; /* range an override may take */
    ebb_limit_origin origin;
    const char *source;  /* named source, and "from memory" where it was not read */
    const char *meaning; /* one line for people */
} ebb_limit;

/* The table, borrowed, *n rows; the order is that of enum ebb_limit_id in room/limits.c. */
EBB_API const ebb_limit *ebb_limit_table(size_t *n);
/* Index of a key, or (size_t)-1. */
EBB_API size_t ebb_limit_index(const char *key);

/* Values in force for one job: the table with the job's overrides. Plain data. */
typedef struct ebb_limits {
    double response_deviation; /* dB, D: 1/3-octave level against the band mean */
    double response_worst;     /* dB, no cell of a right room beyond this */
    double response_inside;    /* share of response cells inside D in a right room */
    double response_highest;   /* Hz, upper end of the judged band */
    double decay_factor;       /* times the limit that a right room's decays may reach */
    double decay_highest;      /* Hz, upper band of the modal decay test */
    double decay_music_32, decay_music_63, decay_music_250; /* s, audibility corner points */
    double spread;                    /* dB, seat-to-seat spread listed as a fault above this */
    double head_offset;               /* m, heads sit this far left and right of a seat */
    double voice_lowest;              /* Hz, voice is judged from here up (or the job's lowest) */
    double voice_mic, voice_listener; /* m in front of the talker */
    double voice_move;                /* m, the talker moves this far */
    double speech_index;              /* lowest acceptable STI for voice */
    double mid_upper, mid_lower;      /* factors on the speech reverberation target, 250-2000 Hz */
} ebb_limits;

/* Limits in force: defaults and the job's overrides (checked by the job reader); the defaults alone
 * when job is NULL. */
EBB_API void ebb_limits_of(const ebb_job *job, ebb_limits *limits);

#endif /* !__cplusplus */
#endif
