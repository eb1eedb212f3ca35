/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/verify.h - a plan solved once more, with every unit as a box that stands in the room.
 *
 * The search takes units for flat patches and the room for as much smaller as they are. Here they
 * are cut out of the air as what they are, the room that is left is meshed and solved in full, and
 * both answers are put side by side.
 */
#ifndef EBB_VERIFY_H
#define EBB_VERIFY_H

#include <ebb/detail.h>
#include <ebb/prepare.h>

#ifndef __cplusplus

/* What is free of a unit's front, as a rectangle on the solid. */
typedef struct ebb_body_front {
    bool body;      /* cut out of the air; false: flatter than 10 mm, left a patch on its surface */
    double covered; /* share of the front that other units hide, 0..1; 1: there is no rectangle */
    ebb_rect rect;  /* the front, or the largest rectangle of it that is free */
} ebb_body_front;

/* A rectangular room with its units cut out. Its surfaces: 2 * axis + side those of the room,
 * EBB_FACES + 2 * axis + side what faces the same way of all boxes. */
typedef struct ebb_bodies {
    ebb_solid solid;
    ebb_body_front *front; /* [n placed] */
    size_t n_closed;       /* places too narrow to be solved that were closed */
    double closed;         /* m3 of them */
} ebb_bodies;

#define EBB_BODY_SURFACES (2 * EBB_FACES)

/* Cuts n placed units out of a room. Faces within 2 mm of each other become one, gaps narrower than
 * 30 mm are closed, a plug goes where boxes would touch along an edge or in a corner alone, and
 * what is shut off is filled. EBB_E_RANGE with the reason for a room that is no box. Arrays in
 * arena. */
EBB_API ebb_status ebb_bodies_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_job *job,
                                   const ebb_room *room, size_t n, const ebb_placed *placed,
                                   ebb_bodies *bodies);

/* Both answers side by side. Text in the arena given. */
typedef struct ebb_verified {
    bool solved;
    const char *reason;         /* why it could not be solved again; "" when it was */
    double volume, flat_volume; /* m3 of air: with boxes, in the search model */
    double level, level_most;   /* dB: 95 of 100 third-octave levels of all judged paths differ by
                                 * no more; the largest difference */
    double wrong, flat_wrong;   /* share of wrong cells */
    double margin, flat_margin;
    bool right, flat_right; /* at nominal values */
    bool passes; /* what the verdict was, by draws of what is not known where there are any */
    size_t n_bodies, n_flat; /* units cut out; too flat for that */
    size_t n_closed;         /* as in ebb_bodies */
    double closed;
    size_t n_covered; /* fronts that other units hide in part or whole */
    double covered_most;
    ebb_prepared_note note; /* of the mesh */
    double seconds;         /* for all of it */
    const char *sentence;   /* all that matters of it, in plain words */
} ebb_verified;

/* Solves a case of an answer again. Only EBB_E_NOMEM is an error: whatever else goes wrong is the
 * reason why it was not solved. wish as for ebb_prepare; `highest` is set here. */
EBB_API ebb_status ebb_verify_case(ebb_ctx *ctx, ebb_arena *arena, const ebb_answer *answer,
                                   const ebb_case *flat, const ebb_prepare_wish *wish,
                                   ebb_verified *verified);

/* The same for the plan shown, unless it has no units; when the verdict flips, the first of the
 * answer's reasons says so. */
EBB_API ebb_status ebb_verify_plan(ebb_ctx *ctx, ebb_arena *arena, ebb_planned *planned,
                                   const ebb_prepare_wish *wish, ebb_verified *verified);

/* Do the boxes turn the verdict? Where both answers agree at nominal values, or the boxes agree
 * with what the draws have said already, they do not. */
EBB_API bool ebb_verified_flips(const ebb_verified *verified);

#endif /* !__cplusplus */
#endif
