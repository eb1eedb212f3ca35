/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rooms: their shape, their surfaces, and how far walls could move. */
#include "build.h"
#include "shape.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define SMALL 1e-6 /* m: two lengths written in different units are the same within this */

/* ---- what could change ----------------------------------------------------------------------- */

/* A range that leaves out the room as it stands is a slip: the rooms compared would not be this
 * one. */
static void read_change(ebb_room_builder *builder, const ebb_room_record *record, ebb_room *room)
{
    static const char *const keys[3] = {"length", "width", "height"};
    const ebb_room_field *change = ebb_room_get(record, "may_change");
    if (change->given && room->shaped)
        ebb_room_fault(builder->reader, &change->place,
                       "length, width and height are those of a rectangular room; for this one say "
                       "which walls may move: may_move: [{surface: wall_1, by: [-0.5 m, 0.3 m]}]");
    for (size_t d = 0; d < 3; d++) {
        room->may_change[d][0] = room->may_change[d][1] = NAN;
        const ebb_room_field *field = change->good ? ebb_room_get(change->record, keys[d]) : change;
        if (!field->good || field == change)
            continue;
        const double low = field->number[0], high = field->number[1];
        memcpy(room->may_change[d], field->number, sizeof room->may_change[d]);
        if (low > high)
            ebb_room_fault(builder->reader, &field->place,
                           "the smallest comes first: [%.4g m, %.4g m]", high, low);
        else if (room->n_surfaces > 0 && !room->shaped &&
                 (room->size[d] < low - SMALL || room->size[d] > high + SMALL))
            ebb_room_fault(builder->reader, &field->place,
                           "the room's own %s, %.4g m, lies outside %.4g m to %.4g m", keys[d],
                           room->size[d], low, high);
    }
}

/* Moves of single walls, for rooms of any shape. */
static void read_moves(ebb_room_builder *builder, const ebb_room_record *record, ebb_room *room)
{
    const ebb_room_field *list = ebb_room_get(record, "may_move");
    const size_t n = list->good ? list->n : 0;
    room->moves = EBB_KEEP(builder, ebb_movable, n);
    if (room->moves == NULL)
        return;
    for (size_t i = 0; i < n; i++) {
        if (list->record[i].form == NULL)
            continue;
        const ebb_room_field *by = ebb_room_get(&list->record[i], "by");
        const ebb_room_field *what = ebb_room_get(&list->record[i], "surface");
        if (!by->good || !what->good)
            continue;
        const double low = by->number[0], high = by->number[1];
        if (low > 0 || high < 0)
            ebb_room_fault(builder->reader, &by->place,
                           "from %.4g m to %.4g m leaves out the room as it stands; the first must "
                           "not be above 0 m, the second not below",
                           low, high);
        const size_t s = ebb_room_surface_named(builder, &what->place, what->text, room);
        if (s == EBB_ROOM_NONE)
            continue;
        if (ebb_surface_is_ceiling(&room->surfaces[s]) && room->surfaces[s].normal.z < 1)
            ebb_room_fault(builder->reader, &what->place,
                           "%s is a slope; walls and level ceilings can be moved", what->text);
        room->moves[room->n_moves++] = (ebb_movable){s, {low, high}};
    }
}

/* ---- rooms ----------------------------------------------------------------------------------- */

/* The place in the file that an outcome is about. */
static const ebb_place *place_of(const ebb_room_record *record, const ebb_room_outcome *outcome)
{
    static const char *const keys[] = {"plan", "ceiling", "columns", "bodies", "bodies"};
    const ebb_room_field *field = ebb_room_get(record, keys[outcome->about]);
    if (outcome->about == EBB_ROOM_ABOUT_BODY)
        return &field->record[outcome->which].place;
    if (outcome->about == EBB_ROOM_ABOUT_COLUMN)
        return &field->item[outcome->which].place;
    if (!field->given && outcome->about == EBB_ROOM_ABOUT_ALL)
        field = ebb_room_get(record, "ceiling");
    if (!field->given)
        field = ebb_room_get(record, "size");
    return field->given ? &field->place : &record->place;
}

/* Where the shape is faulty the room has no surfaces. A solid that is not closed is no fault of the
 * file: nothing that was checked before may lead to one. */
static void build_shape(ebb_room_builder *builder, const ebb_room_record *record, ebb_room *room)
{
    ebb_room_reader *reader = builder->reader;
    ebb_room_shape *shape = ebb_room_read_shape(builder, record);
    if (shape == NULL)
        return;
    const ebb_room_outcome out = ebb_room_shape_build(builder->arena, reader->arena, shape, room);
    if (out.status == EBB_OK)
        return;
    room->n_surfaces = room->n_bodies = 0;
    if (out.status == EBB_E_NOMEM)
        ebb_room_nomem(reader);
    else
        ebb_room_fault(reader, place_of(record, &out), "%s%s",
                       out.status == EBB_E_NUMERIC
                           ? "the shape of this room could not be made, which is a fault of the "
                             "program and not of the file: "
                           : "",
                       out.why);
    if (out.status == EBB_E_NUMERIC)
        reader->status = EBB_E_NUMERIC;
}

/* Without a shape the room has no surfaces; its contents are then checked for everything but their
 * places. */
static void build_room(ebb_room_builder *builder, const ebb_room_record *record, ebb_room *room)
{
    if (record->form == NULL)
        return;
    const ebb_room_field *name = ebb_room_get(record, "name");
    room->name = ebb_room_keep_text(builder, name->good ? name->text : "");
    room->line = record->place.line;
    build_shape(builder, record, room);
    ebb_room_build_made_of(builder, record, room);
    read_change(builder, record, room);
    read_moves(builder, record, room);
    ebb_room_build_openings(builder, record, room);
    ebb_room_build_stations(builder, record, room);
    ebb_room_build_placed(builder, record, room);
}

/* Rooms are asked for by name. */
static void check_room_names(ebb_room_builder *builder, const ebb_room_field *list)
{
    for (size_t i = 0; i < list->n; i++) {
        if (list->record[i].form == NULL)
            continue;
        const ebb_room_field *name = ebb_room_get(&list->record[i], "name");
        for (size_t j = 0; j < i && name->good; j++) {
            if (list->record[j].form == NULL)
                continue;
            const ebb_room_field *other = ebb_room_get(&list->record[j], "name");
            if (other->good && strcmp(name->text, other->text) == 0) {
                ebb_room_fault(builder->reader, &name->place,
                               "another room is called \"%s\" too, in line %d", name->text,
                               other->place.line);
                break;
            }
        }
    }
}

void ebb_room_build_rooms(ebb_room_builder *builder, const ebb_room_record *job)
{
    const ebb_room_field *list = ebb_room_get(job, "rooms");
    if (!list->good)
        return;
    check_room_names(builder, list);
    ebb_room *room = EBB_KEEP(builder, ebb_room, list->n);
    if (room == NULL)
        return;
    builder->job->rooms = room;
    builder->job->n_rooms = list->n;
    for (size_t i = 0; i < list->n; i++)
        build_room(builder, &list->record[i], &room[i]);
}
