/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * ebb/prepare.h - what must be ready before the wave engine can answer for rooms that are no boxes:
 * a mesh and its modes, from the cache or made anew.
 *
 * The engine itself touches no files and starts no programs; this module does both for it. The
 * cache is a folder of files named by a hash of the shape and of what was wanted of it. They are
 * written beside and renamed, so that two programs may share the folder and a kill leaves nothing
 * broken; a file that does not check is thrown away, said, and made anew.
 */
#ifndef EBB_PREPARE_H
#define EBB_PREPARE_H

#include <ebb/job.h>

#ifndef __cplusplus

typedef struct ebb_prepare_wish {
    double highest; /* Hz, highest frequency of interest; 0: what judging the job needs */
    double error;   /* wanted relative error of mode frequencies; 0: 2e-5 */
    size_t order;   /* of the elements, 1..8; 0: 6. Rooms of many small parts need small elements
                     * anyhow, and no high order in them */
    const char
        *cache; /* folder; "": none; NULL: EBB_CACHE, else ebb in XDG_CACHE_HOME or ~/.cache */
    const char *mesher; /* NULL: as in ebb/mesh.h */
    /* Told of each step of a room ("mesh", "modes" ...) that takes long; may be NULL. */
    void (*progress)(void *user, const ebb_room *room, const char *step);
    void *user;
} ebb_prepare_wish;

/* Spaces made for a job's rooms. */
typedef struct ebb_prepared ebb_prepared;

/* Makes what the shaped rooms of a job need and sets their `space`; `room` names one of them, NULL
 * all. *prepared is new and owns the spaces: it must outlive every use of the rooms;
 * ebb_prepared_free clears the rooms' pointers again. A job of rectangles needs nothing and gets an
 * empty one. Errors: those of ebb_mesh_make and ebb_space_new; a cache that can not be used is only
 * a warning. */
EBB_API ebb_status ebb_prepare(ebb_ctx *ctx, ebb_job *job, const char *room,
                               const ebb_prepare_wish *wish, ebb_prepared **prepared);
EBB_API void ebb_prepared_free(ebb_prepared *prepared);

/* How room i of the job was had: freedoms, order, modes, seconds, from the cache or not; false for
 * a rectangular room. */
typedef struct ebb_prepared_note {
    size_t freedoms, order, modes, tets;
    double mesh_error; /* largest estimated relative error of a mode's frequency */
    double seconds;
    bool cached;
} ebb_prepared_note;
EBB_API bool ebb_prepared_about(const ebb_prepared *prepared, size_t room, ebb_prepared_note *note);

#endif /* !__cplusplus */
#endif
