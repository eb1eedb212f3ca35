/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What surfaces are made of, and which surface a name means. */
#include "build.h"
#include "shape.h"

#include <string.h>

/* Constructions of groups; NONE where not given or not known. */
typedef struct groups {
    const ebb_room_field *field[4];
    size_t of[4];
} groups;
enum { ALL, WALLS, CEILINGS, COLUMNS };

static groups read_groups(ebb_room_builder *builder, const ebb_room_record *record)
{
    static const char *const keys[4] = {"all", "walls", "ceilings", "columns"};
    groups g;
    for (size_t i = 0; i < 4; i++) {
        g.field[i] = ebb_room_get(record, keys[i]);
        g.of[i] = g.field[i]->given ? ebb_room_construction(builder, g.field[i]) : EBB_ROOM_NONE;
    }
    return g;
}

static bool starts(const char *name, const char *with)
{
    return strncmp(name, with, strlen(with)) == 0;
}

/* The group that speaks for a surface, ALL or -1 when none does: the nearest one that is given. */
static int group_of(const groups *g, const char *name)
{
    const bool column = starts(name, "column"), wall = starts(name, "wall");
    if (column && g->field[COLUMNS]->given)
        return COLUMNS;
    if ((column || wall) && g->field[WALLS]->given)
        return WALLS;
    if (starts(name, "ceiling") && g->field[CEILINGS]->given)
        return CEILINGS;
    return g->field[ALL]->given ? ALL : -1;
}

/* The body a surface is a side of, or NULL. */
static const ebb_room_block *block_of(const ebb_room *room, size_t surface)
{
    for (size_t b = 0; b < room->n_bodies; b++)
        for (size_t i = 0; i < room->bodies[b].n_sides; i++)
            if (room->bodies[b].side[i] == surface)
                return &room->shape->block[b];
    return NULL;
}

/* A name that fits a rule but not the room. */
static void check_names(ebb_room_builder *builder, const ebb_room_record *record,
                        const ebb_room *room)
{
    for (const ebb_room_numbered *n = record->numbered; n != NULL; n = n->next)
        (void)ebb_room_surface_named(builder, &n->field.place, n->key, room);
    const ebb_room_field *one = ebb_room_get(record, "ceiling");
    if (one->given)
        (void)ebb_room_surface_named(builder, &one->place, "ceiling", room);
}

/* Without surfaces the names of constructions are checked all the same. */
static void check_constructions(ebb_room_builder *builder, const ebb_room_record *record)
{
    for (const char *const *key = (const char *const[]){"floor", "ceiling", NULL}; *key; key++)
        if (ebb_room_get(record, *key)->given)
            (void)ebb_room_construction(builder, ebb_room_get(record, *key));
    for (const ebb_room_numbered *n = record->numbered; n != NULL; n = n->next)
        (void)ebb_room_construction(builder, &n->field);
}

/* Construction of each surface: its own key, else that of its group, else that of all. */
void ebb_room_build_made_of(ebb_room_builder *builder, const ebb_room_record *record,
                            ebb_room *room)
{
    const ebb_room_field *field = ebb_room_get(record, "surfaces");
    if (!field->good)
        return;
    const groups g = read_groups(builder, field->record);
    const char *missing = "";
    if (room->n_surfaces == 0)
        check_constructions(builder, field->record);
    else
        check_names(builder, field->record, room);
    for (size_t i = 0; i < room->n_surfaces; i++) {
        ebb_surface *surface = &room->surfaces[i];
        const ebb_room_field *own = ebb_room_given(field->record, surface->name);
        const ebb_room_block *block = block_of(room, i);
        const int group = group_of(&g, surface->name);
        if (own != NULL)
            surface->construction = ebb_room_construction(builder, own);
        else if (block != NULL)
            surface->construction = block->construction;
        else
            surface->construction = group >= 0 ? g.of[group] : EBB_ROOM_NONE;
        if (own == NULL && block == NULL && group < 0 && missing != NULL)
            missing = ebb_room_format(builder->reader, "%s%s%s", missing,
                                      *missing != '\0' ? ", " : "", surface->name);
    }
    if (missing != NULL && *missing != '\0')
        ebb_room_fault(builder->reader, &field->place,
                       "nothing says what is there: %s; name them, or give walls or all", missing);
}

/* ---- names ----------------------------------------------------------------------------------- */

/* A long list of walls helps nobody: without a near name, the number of each kind is told. */
size_t ebb_room_surface_named(ebb_room_builder *builder, const ebb_place *place, const char *name,
                              const ebb_room *room)
{
    ebb_room_guess guess;
    const char *list = "";
    ebb_room_guess_start(&guess, name);
    for (size_t i = 0; i < room->n_surfaces && list != NULL; i++) {
        const char *other = room->surfaces[i].name;
        if (strcmp(other, name) == 0)
            return i;
        ebb_room_guess_try(&guess, other);
        list = ebb_room_format(builder->reader, "%s%s%s", list, i > 0 ? ", " : "", other);
    }
    if (room->n_surfaces == 0 || list == NULL)
        return EBB_ROOM_NONE;
    if (guess.best != NULL)
        ebb_room_fault(builder->reader, place, "this room has no %s; did you mean \"%s\"?", name,
                       guess.best);
    else
        ebb_room_fault(builder->reader, place, "this room has no %s; it has %s", name, list);
    return EBB_ROOM_NONE;
}

size_t ebb_room_surface_on(ebb_room_builder *builder, const ebb_room_record *record,
                           const ebb_room *room)
{
    const ebb_room_field *on = ebb_room_get(record, "on");
    return on->good ? ebb_room_surface_named(builder, &on->place, on->text, room) : EBB_ROOM_NONE;
}
