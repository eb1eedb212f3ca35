/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The one table of limits. What is ours is marked so; the reasons are in docs/judging.md. */
#include <ebb/limits.h>

#include "form.h"

#include <string.h>

/*
 * X(field of ebb_limits, kind of quantity, default, lowest, highest override, origin, source,
 * meaning). The key in a job file is the name of the field.
 */
#define LIMIT_LIST(X)                                                                              \
    X(response_deviation, LEVEL, 3, 1, 12, STANDARD,                                               \
      "ITU-R BS.1116-3 and EBU Tech 3276, operational room response curve from 50 Hz, from "       \
      "memory; its use from 40 to 50 Hz and against the band mean is ours",                        \
      "1/3-octave level of a response against its band mean")                                      \
    X(response_worst, LEVEL, 5, 1, 24, OWN, "our choice: what moves of 5 cm and 1 % leave open",   \
      "no cell of a right room is further off than this")                                          \
    X(response_inside, FRACTION, 0.90, 0.5, 1, OWN,                                                \
      "our choice: keeps a verdict when the room is varied a little",                              \
      "share of response cells of a right room within response_deviation")                         \
    X(response_highest, FREQUENCY, 200, 120, 300, OWN,                                             \
      "our choice: BS.1116 takes its reference from 200 Hz on",                                    \
      "upper end of the judged low band")                                                          \
    X(decay_factor, NUMBER, 1.25, 1, 3, OWN,                                                       \
      "our choice: keeps a verdict when the room is varied a little",                              \
      "times its limit that a decay of a right room may reach")                                    \
    X(decay_highest, FREQUENCY, 125, 63, 250, OWN,                                                 \
      "our choice: above, the audibility threshold lies below the reverberation masks",            \
      "highest 1/3-octave band in which the decay of modes is judged")                             \
    X(decay_music_32, TIME, 0.9, 0.05, 5, PAPER,                                                   \
      "Fazenda, Stephenson and Goldberg, JASA 137(3), 1088-1098 (2015), for single tones without " \
      "masking, from memory",                                                                      \
      "decay just heard at 32 Hz")                                                                 \
    X(decay_music_63, TIME, 0.51, 0.05, 5, PAPER,                                                  \
      "Fazenda, Stephenson and Goldberg, JASA 137(3), 1088-1098 (2015), for music, from memory",   \
      "decay just heard at 63 Hz")                                                                 \
    X(decay_music_250, TIME, 0.12, 0.02, 5, PAPER,                                                 \
      "Fazenda, Stephenson and Goldberg, JASA 137(3), 1088-1098 (2015), for music, from memory",   \
      "decay just heard at 250 Hz")                                                                \
    X(spread, LEVEL, 4, 1, 24, OWN, "our choice",                                                  \
      "levels of two seats further apart than this are listed as a fault")                         \
    X(head_offset, LENGTH, 0.3, 0, 0.6, OWN, "our choice: how far people lean",                    \
      "heads are judged at a seat and this far left and right of it")                              \
    X(voice_lowest, FREQUENCY, 80, 40, 160, OWN, "our choice: the lowest of male voices",          \
      "voice is judged from here up, or from the job's lowest if that is higher")                  \
    X(voice_mic, LENGTH, 0.3, 0.05, 1, OWN, "our choice: a usual microphone distance",             \
      "microphone in front of the talker")                                                         \
    X(voice_listener, LENGTH, 1.1, 0.3, 3, OWN, "our choice: across a table",                      \
      "listener in front of the talker")                                                           \
    X(voice_move, LENGTH, 0.25, 0, 1, OWN, "our choice: how far a seated talker moves",            \
      "the talker is judged this far around a place")                                              \
    X(speech_index, NUMBER, 0.60, 0.3, 1, STANDARD, "IEC 60268-16, from 0.60 rated good",          \
      "lowest speech transmission index for voice")                                                \
    X(mid_upper, NUMBER, 1.2, 1, 3, STANDARD,                                                      \
      "DIN 18041:2016, tolerance in the octaves 250 to 2000 Hz, from memory",                      \
      "times its target that the mid-band decay may reach")                                        \
    X(mid_lower, NUMBER, 0.8, 0, 1, STANDARD,                                                      \
      "DIN 18041:2016, tolerance in the octaves 250 to 2000 Hz, from memory",                      \
      "times its target below which the mid band is too dry")

enum ebb_limit_id {
#define LIMIT_ID(field, ...) LIMIT_##field,
    LIMIT_LIST(LIMIT_ID) LIMIT_COUNT
};

static const ebb_limit table[LIMIT_COUNT] = {
#define LIMIT_ROW(field, kind, value, low, high, origin, source, meaning)                          \
    {#field, EBB_Q_##kind, value, low, high, EBB_LIMIT_##origin, source, meaning},
    LIMIT_LIST(LIMIT_ROW)};

static const ebb_room_rule rules[LIMIT_COUNT] = {
#define LIMIT_RULE(field, kind, value, low_, high_, origin, source, meaning_)                      \
    {#field,                                                                                       \
     EBB_ROOM_QUANTITY,                                                                            \
     .quantity = EBB_Q_##kind,                                                                     \
     .low = low_,                                                                                  \
     .high = high_,                                                                                \
     .fallback = "see the table of limits",                                                        \
     .meaning = meaning_},
    LIMIT_LIST(LIMIT_RULE)};

const ebb_room_form ebb_room_limits_form = {"limits", "limits", LIMIT_COUNT, rules};

const ebb_limit *ebb_limit_table(size_t *n)
{
    *n = LIMIT_COUNT;
    return table;
}

size_t ebb_limit_index(const char *key)
{
    for (size_t i = 0; i < LIMIT_COUNT; i++)
        if (strcmp(table[i].key, key) == 0)
            return i;
    return (size_t)-1;
}

/* Set by name through the list, so that the order of the fields does not matter. */
void ebb_limits_of(const ebb_job *job, ebb_limits *limits)
{
    double value[LIMIT_COUNT];
    for (size_t i = 0; i < LIMIT_COUNT; i++)
        value[i] = table[i].value;
    for (size_t i = 0; job != NULL && i < job->n_overrides; i++)
        value[job->overrides[i].limit] = job->overrides[i].value;
#define LIMIT_SET(field, ...) limits->field = value[LIMIT_##field];
    LIMIT_LIST(LIMIT_SET)
}
