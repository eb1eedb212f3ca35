/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * words.c - the cause of a fault in plain words: which mode, which walls, which path.
 *
 * Texts are built up in the arena. Every helper hands NULL on, so that running out of memory
 * anywhere gives NULL at the end and is tested once.
 */
#include <math.h>

#include "private.h"

/* A printed quantity, returned by value so that several fit into one call. */
typedef struct printed {
    char text[48];
} printed;

static printed print(const ebb_scene *scene, ebb_quantity_kind kind, double value)
{
    printed p;
    ebb_quantity_print(kind, value, scene->job->units, p.text, sizeof p.text);
    return p;
}

static printed hz_of(const ebb_scene *scene, double hz)
{
    return print(scene, EBB_Q_FREQUENCY, hz);
}

static const char *join(ebb_arena *arena, const char *a, const char *between, const char *b)
{
    return a && b ? ebb_arena_format(arena, "%s%s%s", a, between, b) : NULL;
}

/* A voice room has a talker and a microphone or listener where a music room has speakers and seats;
 * the words must fit both. */
static const char *source_word(const ebb_scene *scene)
{
    return scene->use == EBB_USE_VOICE ? "the talker" : "the speaker";
}

static const char *receiver_word(const ebb_scene *scene)
{
    return scene->use == EBB_USE_VOICE ? "the listening point" : "the seat";
}

/* Plans name walls by number, so that the reader can find them on the drawing. */
static const char *face_name(const ebb_scene *scene, int axis, int side)
{
    size_t face = ebb_room_face(scene->room, axis, side);
    return face < scene->room->n_surfaces ? scene->room->surfaces[face].name : "a wall";
}

/* ---- modes ----------------------------------------------------------------------------------- */

/* Length and width by size, not by axis: people call the longer side the length however the plan is
 * turned. */
static const char *axis_word(const ebb_scene *scene, int axis)
{
    const double *size = scene->room->size;
    if (axis == 2)
        return "height";
    return size[axis] >= size[1 - axis] ? "length" : "width";
}

/* "the length (between wall_4 and wall_2) and the height (between floor and ceiling)" */
static const char *axes_words(ebb_arena *arena, const ebb_scene *scene, const int label[3])
{
    const char *words = NULL;
    for (int d = 0; d < 3; d++) {
        if (label[d] == 0)
            continue;
        const char *axis =
            ebb_arena_format(arena, "the %s (between %s and %s)", axis_word(scene, d),
                             face_name(scene, d, 0), face_name(scene, d, 1));
        words = words ? join(arena, words, " and ", axis) : axis;
        if (!words)
            return NULL;
    }
    return words;
}

/* "mode 1-0-0", or "mode 7 of the bare room" where there are no half waves to count. */
static const char *label_words(ebb_arena *arena, const int label[3])
{
    return label[1] < 0 ? ebb_arena_format(arena, "mode %d of the bare room", label[0])
                        : ebb_arena_format(arena, "mode %d-%d-%d", label[0], label[1], label[2]);
}

/* "mostly along the length", by where the air moves. */
static const char *way_words(ebb_arena *arena, const ebb_scene *scene, const int label[3])
{
    double share[3];
    ebb_judge_ways(scene, label, share);
    const char *words = NULL;
    for (int d = 0; d < 3; d++) {
        if (share[d] < 0.25)
            continue;
        const char *axis = ebb_arena_format(arena, "the %s", axis_word(scene, d));
        words = words ? join(arena, words, " and ", axis) : axis;
    }
    return words ? words : "no one way";
}

/* A mode of the bare room. 0-0-0 is no standing wave: yielding walls make a spring of the whole
 * air.
 */
static const char *rigid_words(ebb_arena *arena, const ebb_scene *scene, const int label[3],
                               double hz)
{
    if (label[0] == 0 && label[1] <= 0 && label[2] <= 0)
        return ebb_arena_format(arena, "the air of the whole room, bouncing on its walls at %s,",
                                hz_of(scene, hz).text);
    const char *axes =
        label[1] < 0 ? way_words(arena, scene, label) : axes_words(arena, scene, label);
    const char *name = label_words(arena, label);
    return axes && name
               ? ebb_arena_format(arena, "%s at %s, along %s,", name, hz_of(scene, hz).text, axes)
               : NULL;
}

static const char *mode_words(ebb_arena *arena, const ebb_scene *scene, size_t m)
{
    const ebb_mode *mode = &scene->modes->mode[m];
    const char *words = rigid_words(arena, scene, mode->label, mode->hz);
    /* Heavy treatment mixes the modes of the bare room; then its name is only a likeness. */
    return mode->likeness < 0.5 ? join(arena, "a mixed mode, most like ", "", words) : words;
}

/* "mode 1-0-0 at 34.3 Hz": where the axes have been told or do not matter. */
static const char *short_words(ebb_arena *arena, const ebb_scene *scene, size_t m)
{
    const ebb_mode *mode = &scene->modes->mode[m];
    return join(arena, label_words(arena, mode->label), " at ", hz_of(scene, mode->hz).text);
}

/* Steps of the standing wave that a person can act on; the borders are ours. */
static const char *stand_words(double shape)
{
    if (shape >= 0.8)
        return "at its pressure maximum";
    return shape <= 0.25 ? "near its quiet plane" : "between its quiet plane and its maximum";
}

/* Where the two ends of a path stand in a mode. */
static const char *ends_words(ebb_arena *arena, const ebb_scene *scene, const int label[3],
                              size_t path)
{
    double drives = ebb_judge_shape(scene, label, scene->sources[path / scene->n_receivers]);
    double hears = ebb_judge_shape(scene, label, scene->receivers[path % scene->n_receivers]);
    return ebb_arena_format(arena, "%s stands %s, %s %s", receiver_word(scene), stand_words(hears),
                            source_word(scene), stand_words(drives));
}

/* ---- peaks ----------------------------------------------------------------------------------- */

/* A peak far from the mode that contributes most is not that mode's alone, and is not blamed on it.
 */
static const char *peak_words(ebb_arena *arena, const ebb_scene *scene,
                              const ebb_judge_entry *entry)
{
    double hz = entry->fault.hz, first = ebb_judge_first_mode(scene);
    if (ebb_judge_in_pressure_zone(scene, hz))
        return ebb_arena_format(
            arena,
            "below the first mode (%s) the closed room lifts the level as a "
            "whole; real rooms leak and lift it less; an equaliser can lower it",
            hz_of(scene, first).text);
    size_t m = entry->mode;
    if (m == EBB_JUDGE_NONE || fabs(log2(scene->modes->mode[m].hz / hz)) > 1.0 / 3)
        return "several modes add up here";
    const char *mode = mode_words(arena, scene, m);
    return join(arena, mode, " stands out: ",
                ends_words(arena, scene, scene->modes->mode[m].label, entry->fault.path));
}

/* ---- dips ------------------------------------------------------------------------------------ */

/* Naming both neighbours tells at once whether a change of size could move one of them in. */
static const char *gap_words(ebb_arena *arena, const ebb_scene *scene, double hz)
{
    ebb_judge_stretch s = ebb_judge_neighbours(scene, hz);
    const char *above = label_words(arena, s.above_label);
    const char *below = label_words(arena, s.below_label);
    if (!above || !below)
        return NULL;
    if (s.below > 0)
        return ebb_arena_format(
            arena, "no mode carries this stretch: the nearest are %s at %s and %s at %s", below,
            hz_of(scene, s.below).text, above, hz_of(scene, s.above).text);
    return ebb_arena_format(arena,
                            "no mode carries this stretch: it lies below the first mode (%s at "
                            "%s), where only the room's pressure as a whole is left",
                            above, hz_of(scene, s.above).text);
}

static const char *quiet_words(ebb_arena *arena, const ebb_scene *scene,
                               const ebb_judge_quiet *quiet)
{
    const char *mode = rigid_words(arena, scene, quiet->label, quiet->hz);
    const char *end = quiet->at_source ? source_word(scene) : receiver_word(scene);
    return mode ? ebb_arena_format(arena,
                                   "%s would carry it, but %s stands near its quiet plane and what "
                                   "is left cancels",
                                   mode, end)
                : NULL;
}

static const char *echo_words(ebb_arena *arena, const ebb_scene *scene, const ebb_judge_echo *echo)
{
    return ebb_arena_format(arena,
                            "the reflection from %s, %s from %s, arrives an odd number of half "
                            "waves late and takes away the direct sound",
                            scene->room->surfaces[echo->surface].name,
                            print(scene, EBB_Q_LENGTH, echo->distance).text,
                            echo->from_source ? source_word(scene) : receiver_word(scene));
}

/* The seat's and the speaker's place come first because they can be changed; that two modes pull
 * against each other is true of most dips and says the least. */
static const char *dip_words(ebb_arena *arena, const ebb_scene *scene, const ebb_fault *fault)
{
    if (fault->kind == EBB_FAULT_GAP)
        return gap_words(arena, scene, fault->hz);
    ebb_judge_quiet quiet = ebb_judge_quiet_plane(scene, fault->path, fault->hz);
    if (quiet.found)
        return quiet_words(arena, scene, &quiet);
    ebb_judge_echo echo = ebb_judge_late_echo(scene, fault->path, fault->hz);
    if (echo.found)
        return echo_words(arena, scene, &echo);
    ebb_judge_pull pull = ebb_judge_opposed(scene->modes, fault->path, fault->hz);
    if (pull.mode[1] == EBB_JUDGE_NONE)
        return "sound that arrives along different ways cancels here";
    const char *a = short_words(arena, scene, pull.mode[0]);
    const char *b = short_words(arena, scene, pull.mode[1]);
    return join(arena, join(arena, a, " and ", b), " pull against each other here and cancel", "");
}

/* ---- rings, spread, middle band -------------------------------------------------------------- */

/* The mode's own decay time is given beside the band's, which the fault holds: where they differ,
 * more than one mode is at work. */
static const char *ring_words(ebb_arena *arena, const ebb_scene *scene,
                              const ebb_judge_entry *entry)
{
    if (entry->mode == EBB_JUDGE_NONE)
        return "the band dies away too slowly";
    const char *mode = mode_words(arena, scene, entry->mode);
    double t60 = scene->modes->mode[entry->mode].t60;
    const char *words = join(arena, mode, " rings on: by itself it dies away in ",
                             print(scene, EBB_Q_TIME, t60).text);
    if (entry->second == EBB_JUDGE_NONE)
        return words;
    return join(arena,
                join(arena, words, "; with it rings ", short_words(arena, scene, entry->second)),
                "", "");
}

/* The louder place is said too: the better seat is often the one to move to. */
static const char *spread_words(ebb_arena *arena, const ebb_scene *scene,
                                const ebb_judge_entry *entry)
{
    const char *quiet = scene->receiver_names[entry->fault.path % scene->n_receivers];
    const char *loud = scene->receiver_names[entry->other % scene->n_receivers];
    const char *mode =
        entry->mode == EBB_JUDGE_NONE ? "the sound field" : mode_words(arena, scene, entry->mode);
    return mode ? ebb_arena_format(arena, "%s differs most between %s, the louder, and %s", mode,
                                   loud, quiet)
                : NULL;
}

/* The middle band has no modes to name; what helps is how much absorption is missing or too much.
 */
static const char *middle_words(ebb_arena *arena, const ebb_scene *scene,
                                const ebb_judge_entry *entry)
{
    const ebb_mid *mid = scene->mid;
    int k = entry->octave;
    double octave = ebb_judge_octave_hz(k);
    if (entry->fault.kind == EBB_FAULT_SPEECH)
        return ebb_arena_format(arena, "syllables run together: the %g Hz octave takes longest, %s",
                                octave, print(scene, EBB_Q_TIME, mid->t60[k]).text);
    /* To first order the decay time goes as one over the absorption area. */
    double wanted = mid->area[k] * entry->fault.value / entry->fault.limit;
    const char *words = ebb_arena_format(
        arena, "the room absorbs %s in the %g Hz octave; about %s would %s",
        print(scene, EBB_Q_AREA, mid->area[k]).text, octave, print(scene, EBB_Q_AREA, wanted).text,
        entry->fault.kind == EBB_FAULT_SLOW ? "bring it inside"
                                            : "be enough, so hard facing on "
                                              "part of the soft areas helps");
    if (octave / sqrt(2) >= mid->schroeder)
        return words;
    return join(arena, words, "; a rough guide only below ", hz_of(scene, mid->schroeder).text);
}

/* ---- one entry ------------------------------------------------------------------------------- */

const char *ebb_judge_place_words(ebb_arena *arena, const ebb_scene *scene,
                                  const ebb_judge_entry *entry)
{
    if (entry->fault.path == EBB_JUDGE_NONE)
        return "the room";
    size_t n = scene->n_receivers;
    const char *from = scene->source_names[entry->fault.path / n];
    const char *to = scene->receiver_names[entry->fault.path % n];
    const char *path = join(arena, from, " to ", to);
    if (entry->fault.kind != EBB_FAULT_SPREAD)
        return path;
    return join(arena, path, " against ", scene->receiver_names[entry->other % n]);
}

const char *ebb_judge_cause_words(ebb_arena *arena, const ebb_scene *scene,
                                  const ebb_judge_entry *entry)
{
    const char *words = NULL;
    switch (entry->fault.kind) {
    case EBB_FAULT_RING:
        words = ring_words(arena, scene, entry);
        break;
    case EBB_FAULT_PEAK:
        words = peak_words(arena, scene, entry);
        break;
    case EBB_FAULT_DIP:
    case EBB_FAULT_GAP:
        words = dip_words(arena, scene, &entry->fault);
        break;
    case EBB_FAULT_SPREAD:
        words = spread_words(arena, scene, entry);
        break;
    case EBB_FAULT_SLOW:
    case EBB_FAULT_DRY:
    case EBB_FAULT_SPEECH:
        words = middle_words(arena, scene, entry);
        break;
    }
    return entry->aside ? join(arena, words, "; ", entry->aside) : words;
}
