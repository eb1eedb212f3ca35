/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Meshes and modes for the shaped rooms of a job, from the cache or made anew.
 */
#include "private.h"

#include <ebb/cache.h>

#include <math.h>
#include <string.h>
#include <time.h>

/* A room's part. */
typedef struct made {
    bool done;
    ebb_space *space;
    bool shared; /* the space of an earlier room of the same shape: not ours to free */
    const char *key;
    size_t n_key;
    ebb_prepared_note note;
} made;

struct ebb_prepared {
    ebb_arena *arena;
    ebb_job *job;
    made *room; /* [job->n_rooms] */
};

typedef struct work {
    ebb_ctx *ctx;
    const ebb_prepare_wish *wish;
    ebb_prepared *prepared;
    const char *cache;
    ebb_prepare_want want;
    const ebb_room *room;
    made *made;
} work;

static double now(void)
{
    struct timespec t = {0};
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void tell(const work *w, const char *step)
{
    if (w->wish->progress != NULL)
        w->wish->progress(w->wish->user, w->room, step);
}

/* ---- ways to a space ------------------------------------------------------------------------- */

/* Rooms of one shape differ in what they are made of, which the space does not know: the costly
 * part is done once for all of them. */
static bool share(work *w)
{
    const ebb_prepared *p = w->prepared;
    for (made *other = p->room; other != w->made; other++)
        if (other->done && other->n_key == w->made->n_key &&
            memcmp(other->key, w->made->key, other->n_key) == 0) {
            w->made->space = other->space;
            w->made->shared = true;
            w->made->note.cached = other->note.cached;
            return true;
        }
    return false;
}

/* Whatever is wrong with a kept result is a warning: it is made anew. */
static bool load(work *w)
{
    ebb_arena *scratch = ebb_arena_new(w->ctx);
    ebb_ctx *own = ebb_ctx_new_with(ebb_ctx_allocator(w->ctx));
    const void *bytes;
    size_t n;
    if (own != NULL &&
        ebb_cache_load(w->ctx, scratch, w->cache, w->made->key, w->made->n_key, &bytes, &n)) {
        tell(w, "kept modes");
        if (ebb_space_unpack(own, bytes, n, &w->want.space, &w->made->space) != EBB_OK) {
            w->made->space = NULL;
            ebb_warn_at(w->ctx, NULL,
                        "the modes kept for room %s can not be used and are made "
                        "anew: %s",
                        w->room->name,
                        ebb_ctx_messages(own) > 0 ? ebb_ctx_message(own, 0)->text : "");
        }
    }
    ebb_arena_free(scratch);
    ebb_ctx_free(own);
    return w->made->note.cached = w->made->space != NULL;
}

/* After the room is ready: whatever goes wrong here costs nothing but the next run's time. */
static void save(const work *w)
{
    ebb_arena *scratch = ebb_arena_new(w->ctx);
    ebb_ctx *own = ebb_ctx_new_with(ebb_ctx_allocator(w->ctx));
    void *bytes;
    size_t n;
    if (ebb_space_pack(own, scratch, w->made->space, &bytes, &n) == EBB_OK)
        (void)ebb_cache_save(w->ctx, w->cache, w->made->key, w->made->n_key, bytes, n);
    else
        ebb_warn_at(w->ctx, NULL, "no memory to keep the modes of room %s for later runs",
                    w->room->name);
    ebb_arena_free(scratch);
    ebb_ctx_free(own);
}

/* The mesh is only needed until the space has its copy. */
static ebb_status make(work *w)
{
    ebb_mesh *mesh;
    tell(w, "mesh");
    ebb_status status =
        ebb_mesh_make(w->ctx, w->room->solid, &w->want.mesh, w->wish->mesher, &mesh);
    if (status != EBB_OK)
        return status;
    tell(w, "modes");
    status = ebb_space_new(w->ctx, mesh, &w->want.space, &w->made->space);
    ebb_mesh_free(mesh);
    if (status == EBB_OK && w->cache != NULL)
        save(w);
    return status;
}

/* ---- rooms ----------------------------------------------------------------------------------- */

static void fill_note(work *w, double seconds)
{
    const ebb_space *space = w->made->space;
    const double *lambda, *shape, *error;
    const double highest = ebb_space_highest(space);
    ebb_prepared_note *note = &w->made->note;
    note->freedoms = ebb_space_size(space);
    note->order = w->want.space.order;
    note->modes = ebb_space_modes(space, &lambda, &shape, &error);
    note->tets = ebb_space_mesh(space)->n_tets;
    note->seconds = seconds;
    /* Modes above only help those below; their own error is nobody's concern. */
    for (size_t m = 0; m < note->modes && error != NULL; m++)
        if (lambda[m] <= highest * highest)
            note->mesh_error = fmax(note->mesh_error, error[m]);
}

static ebb_status prepare_room(work *w)
{
    const double from = now();
    ebb_arena *arena = w->prepared->arena;
    ebb_status status = ebb_prepare_grade(w->ctx, arena, w->room->solid, &w->want.mesh);
    if (status == EBB_OK)
        status = ebb_prepare_key(w->ctx, arena, w->room->solid, &w->want, &w->made->key,
                                 &w->made->n_key);
    if (status == EBB_OK && !share(w) && !load(w))
        status = make(w);
    if (status != EBB_OK)
        return status;
    fill_note(w, now() - from);
    w->made->done = true;
    return EBB_OK;
}

/* The rooms asked for; EBB_E_RANGE when a name is none of them. */
static ebb_status prepare_all(work *w, const char *name)
{
    ebb_job *job = w->prepared->job;
    bool any = name == NULL;
    for (size_t i = 0; i < job->n_rooms; i++) {
        w->room = &job->rooms[i];
        w->made = &w->prepared->room[i];
        if (name != NULL && strcmp(name, w->room->name) != 0)
            continue;
        any = true;
        if (!w->room->shaped)
            continue;
        const ebb_status status = prepare_room(w);
        if (status != EBB_OK)
            return status;
        job->rooms[i].space = w->made->space;
    }
    return any ? EBB_OK : ebb_fail(w->ctx, EBB_E_RANGE, "the job has no room %s", name);
}

/* A job of rectangles must not touch the cache: not even an empty folder is to be left behind. */
static bool needs_anything(const ebb_job *job, const char *name)
{
    for (size_t i = 0; i < job->n_rooms; i++)
        if (job->rooms[i].shaped && (name == NULL || strcmp(name, job->rooms[i].name) == 0))
            return true;
    return false;
}

ebb_status ebb_prepare(ebb_ctx *ctx, ebb_job *job, const char *room, const ebb_prepare_wish *wish,
                       ebb_prepared **prepared)
{
    *prepared = NULL;
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_prepared *p = EBB_NEW(arena, ebb_prepared, 1);
    made *rooms = EBB_NEW(arena, made, job->n_rooms);
    if (p == NULL || rooms == NULL) {
        ebb_arena_free(arena);
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory to prepare the rooms");
    }
    *p = (ebb_prepared){arena, job, rooms};
    work w = {.ctx = ctx, .wish = wish, .prepared = p};
    ebb_status status = EBB_OK;
    if (needs_anything(job, room)) {
        w.cache = ebb_cache_folder(ctx, arena, wish->cache);
        status = ebb_prepare_decide(ctx, job, wish->highest, wish->error, &w.want);
        if (status == EBB_OK)
            status = ebb_prepare_order(ctx, wish->order, wish->error, &w.want);
    }
    if (status == EBB_OK)
        status = prepare_all(&w, room);
    if (status != EBB_OK) {
        ebb_prepared_free(p);
        p = NULL;
    }
    *prepared = p;
    return status;
}

/* A pointer that somebody has changed meanwhile is left as it is. */
void ebb_prepared_free(ebb_prepared *prepared)
{
    if (prepared == NULL)
        return;
    for (size_t i = 0; i < prepared->job->n_rooms; i++) {
        made *m = &prepared->room[i];
        if (m->space != NULL && prepared->job->rooms[i].space == m->space)
            prepared->job->rooms[i].space = NULL;
        if (!m->shared)
            ebb_space_free(m->space);
    }
    ebb_arena_free(prepared->arena);
}

bool ebb_prepared_about(const ebb_prepared *prepared, size_t room, ebb_prepared_note *note)
{
    *note = (ebb_prepared_note){0};
    if (prepared == NULL || room >= prepared->job->n_rooms || !prepared->room[room].done)
        return false;
    *note = prepared->room[room].note;
    return true;
}
