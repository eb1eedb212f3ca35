/* SPDX-License-Identifier: GPL-3.0-or-later */
/* A job of shaped rooms made by hand, and an empty folder for a cache. */
#ifndef TESTS_PREPARE_WORKSHOP_H
#define TESTS_PREPARE_WORKSHOP_H

#include <ebb/prepare.h>
#include <ebb/space.h>

#include "../mesh/solids.h"

#include <dirent.h>
#include <unistd.h>

/* Rooms: 0 a rectangle, 1 and 2 of the same L shape, 3 another L. */
#define ROOMS 4

typedef struct workshop {
    scene base;
    char folder[64];
    ebb_job job;
    ebb_room room[ROOMS];
    ebb_prepare_wish wish;
    char steps[256]; /* told so far */
} workshop;

static inline void note_step(void *user, const ebb_room *room, const char *step)
{
    workshop *w = user;
    const size_t n = strlen(w->steps);
    snprintf(w->steps + n, sizeof w->steps - n, "%s:%s ", room->name, step);
}

static inline int open_workshop(void **state)
{
    static const double ell[2][6][2] = {
        {{0, 0}, {4, 0}, {4, 2}, {2.2, 2}, {2.2, 3.5}, {0, 3.5}},
        {{0, 0}, {4, 0}, {4, 2}, {2.2, 2}, {2.2, 3.6}, {0, 3.6}},
    };
    workshop *w = calloc(1, sizeof *w);
    w->base.ctx = ebb_ctx_new();
    w->base.arena = ebb_arena_new(w->base.ctx);
    strcpy(w->folder, "/tmp/ebb-prepare-XXXXXX");
    for (int i = 0; i < ROOMS; i++)
        w->room[i] = (ebb_room){
            .name = ebb_arena_format(w->base.arena, "room %d", i),
            .shaped = i > 0,
            .solid =
                i > 0 ? solid_prism(w->base.arena, (const size_t[]){6, 0}, ell[i / 3], 2.5) : NULL};
    w->job = (ebb_job){
        .n_rooms = ROOMS, .rooms = w->room, .lowest = 40, .air = {.speed = 343, .density = 1.2}};
    w->wish =
        (ebb_prepare_wish){.highest = 50, .cache = w->folder, .progress = note_step, .user = w};
    *state = w;
    return w->base.arena == NULL || mkdtemp(w->folder) == NULL;
}

/* The nth entry of the cache; in the arena. */
static inline const char *nth_entry(const workshop *w, size_t n)
{
    const char *path = NULL;
    DIR *dir = opendir(w->folder);
    assert_non_null(dir);
    for (struct dirent *d; path == NULL && (d = readdir(dir)) != NULL;)
        if (strcmp(d->d_name, ".") != 0 && strcmp(d->d_name, "..") != 0 && n-- == 0)
            path = ebb_arena_format(w->base.arena, "%s/%s", w->folder, d->d_name);
    closedir(dir);
    return path;
}

static inline size_t count_entries(const workshop *w)
{
    size_t n = 0;
    while (nth_entry(w, n) != NULL)
        n++;
    return n;
}

static inline void empty_folder(const workshop *w)
{
    for (const char *path; (path = nth_entry(w, 0)) != NULL;)
        assert_int_equal(remove(path), 0);
}

static inline int close_workshop(void **state)
{
    workshop *w = *state;
    empty_folder(w);
    const int bad = rmdir(w->folder);
    ebb_arena_free(w->base.arena);
    ebb_ctx_free(w->base.ctx);
    free(w);
    return bad;
}

#define WORKSHOP_TEST(name) cmocka_unit_test_setup_teardown(name, open_workshop, close_workshop)

/* Prepares a room (NULL all); it must work. Steps are told afresh. */
static inline ebb_prepared *prepare(workshop *w, const char *room)
{
    ebb_prepared *prepared;
    w->steps[0] = '\0';
    if (ebb_prepare(w->base.ctx, &w->job, room, &w->wish, &prepared) != EBB_OK)
        print_messages(&w->base);
    assert_int_equal(ebb_ctx_errors(w->base.ctx), 0);
    assert_non_null(prepared);
    return prepared;
}

#endif
