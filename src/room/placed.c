/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Units that hang in a room already: on their surface, out of the way of openings, of each other
 * round the corner too, and of seats and speakers.
 */
#include "build.h"
#include "shape.h"
#include "vector.h"

#include <math.h>
#include <string.h>

#define FREE 0.01 /* m before an opening that must be free: enough to tell covered from not */

/* Units have no presets: what can be built or bought is the job's own business. */
static size_t unit_named(ebb_room_builder *builder, const ebb_room_field *field)
{
    const ebb_job *job = builder->job;
    ebb_room_guess guess;
    if (!field->good)
        return EBB_ROOM_NONE;
    ebb_room_guess_start(&guess, field->text);
    for (size_t i = 0; i < job->n_units; i++) {
        if (strcmp(job->absorbers[i].name, field->text) == 0)
            return i;
        ebb_room_guess_try(&guess, job->absorbers[i].name);
    }
    if (guess.best != NULL)
        ebb_room_fault(builder->reader, &field->place,
                       "there is no absorber \"%s\"; did you mean \"%s\"?", field->text,
                       guess.best);
    else
        ebb_room_fault(builder->reader, &field->place,
                       "there is no absorber \"%s\" under absorbers", field->text);
    return EBB_ROOM_NONE;
}

/* May the unit be there at all: on this kind of surface, in a room of this size? */
static bool check_hanging(ebb_room_builder *builder, const ebb_room_record *record,
                          const ebb_room *room, const ebb_unit *unit, const ebb_surface *surface)
{
    const bool floor = ebb_surface_is_floor(surface), ceiling = ebb_surface_is_ceiling(surface);
    const ebb_room_field *on = ebb_room_get(record, "on");
    if (floor || !(ceiling ? unit->on_ceiling : unit->on_walls)) {
        ebb_room_fault(builder->reader, &on->place, "\"%s\" may not hang on %s; it hangs on %s%s%s",
                       unit->name, surface->name, unit->on_walls ? "walls" : "",
                       unit->on_walls && unit->on_ceiling ? " and " : "",
                       unit->on_ceiling ? "ceiling" : "");
        return false;
    }
    if (!room->shaped && !(unit->depth < room->size[surface->axis])) {
        ebb_room_fault(builder->reader, &on->place,
                       "\"%s\" is %.4g m deep, the room only %.4g m there", unit->name, unit->depth,
                       room->size[surface->axis]);
        return false;
    }
    return true;
}

/* In a room of any shape a body may be in the way, or a wall that is not square. */
static bool check_air(ebb_room_builder *builder, const ebb_room_record *record,
                      const ebb_room *room, const ebb_room_crate *here)
{
    size_t surface = 0;
    ebb_room_crate in_room = *here;
    in_room.corner = ebb_minus(here->corner, room->origin);
    if (!room->shaped || ebb_room_crate_is_free(room->solid, &in_room, &surface))
        return true;
    ebb_room_fault(builder->reader, &record->place, "it does not fit in there: %s is in its way",
                   room->surfaces[surface].name);
    return false;
}

/* The opening is taken as a thin box, so that a unit on the next wall that reaches across a door in
 * the corner is found by the same test. */
static void check_openings(ebb_room_builder *builder, const ebb_room_record *record,
                           const ebb_room *room, const ebb_room_crate *here)
{
    static const char *const kinds[] = {"door", "window", "vent"};
    for (size_t i = 0; i < room->n_openings; i++) {
        const ebb_opening *opening = &room->openings[i];
        if (opening->surface == EBB_ROOM_NONE)
            continue;
        const ebb_room_crate free =
            ebb_room_crate_on(&room->surfaces[opening->surface], opening->at, opening->size, FREE);
        if (ebb_room_crates_overlap(here, &free))
            ebb_room_fault(builder->reader, &record->place,
                           "it covers a %s, openings[%zu] of this room", kinds[opening->kind], i);
    }
}

/* Only the place itself counts here: the rest of a zone may well be taken by a unit. */
static void check_stations(ebb_room_builder *builder, const ebb_room_record *record,
                           const ebb_room *room, const ebb_room_crate *here)
{
    for (size_t i = 0; i < room->n_seats + room->n_speakers; i++) {
        const ebb_station *station =
            i < room->n_seats ? &room->seats[i] : &room->speakers[i - room->n_seats];
        if (ebb_room_crate_holds(here, station->at))
            ebb_room_fault(builder->reader, &record->place, "\"%s\" would be inside it",
                           station->name);
    }
}

/* Fills number i and checks it against all before it; the box stays empty when it has faults. */
static void build_one(ebb_room_builder *builder, const ebb_room_field *list, ebb_room *room,
                      size_t i, ebb_room_crate *boxes)
{
    const ebb_room_record *record = &list->record[i];
    ebb_placed *placed = &room->placed[i];
    if (record->form == NULL)
        return;
    const ebb_room_field *at = ebb_room_get(record, "at");
    placed->unit = unit_named(builder, ebb_room_get(record, "unit"));
    placed->turned = ebb_room_word(record, "turned", 0) == 1;
    const size_t number = ebb_room_surface_on(builder, record, room);
    if (placed->unit == EBB_ROOM_NONE || !at->good || number == EBB_ROOM_NONE)
        return;
    const ebb_unit *unit = &builder->job->absorbers[placed->unit];
    if (!(unit->face[0] > 0 && unit->face[1] > 0 && unit->depth > 0)) /* has faults of its own */
        return;
    const ebb_surface *surface = &room->surfaces[number];
    double size[2];
    placed->surface = number;
    memcpy(placed->at, at->number, sizeof placed->at);
    ebb_placed_size(unit, placed, size);
    if (!check_hanging(builder, record, room, unit, surface) ||
        !ebb_room_on_surface(builder, &at->place, surface, placed->at, size))
        return;
    const ebb_room_crate here = ebb_room_crate_on(surface, placed->at, size, unit->depth);
    if (!check_air(builder, record, room, &here))
        return;
    boxes[i] = here;
    check_openings(builder, record, room, &boxes[i]);
    check_stations(builder, record, room, &boxes[i]);
    for (size_t j = 0; j < i; j++)
        if (ebb_room_crates_overlap(&boxes[i], &boxes[j])) {
            ebb_room_fault(builder->reader, &record->place, "it overlaps %s in line %d",
                           list->record[j].place.key, list->record[j].place.line);
            break;
        }
}

void ebb_room_build_placed(ebb_room_builder *builder, const ebb_room_record *record, ebb_room *room)
{
    const ebb_room_field *list = ebb_room_get(record, "placed");
    const size_t n = list->good ? list->n : 0;
    ebb_room_crate *boxes = ebb_room_alloc(builder->reader, n, sizeof *boxes);
    room->placed = EBB_KEEP(builder, ebb_placed, n);
    if (boxes == NULL || room->placed == NULL)
        return;
    room->n_placed = n;
    for (size_t i = 0; i < n; i++)
        build_one(builder, list, room, i, boxes);
}
