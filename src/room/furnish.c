/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Openings, seats and speakers. */
#include "build.h"
#include "shape.h"
#include "vector.h"

#include <math.h>
#include <string.h>

#define CLEAR EBB_ROOM_CLEAR
#define STEPS 32 /* places round a zone that are looked at */

/* A millimetre is forgiven: sizes taken on the spot and added up in two units do not fit better.
 * The value is kept as written, not moved. */
bool ebb_room_on_surface(ebb_room_builder *builder, const ebb_place *place,
                         const ebb_surface *surface, const double at[2], const double size[2])
{
    static const char *const ways[2][2] = {{"before the near end", "beyond the far end"},
                                           {"below the lower end", "beyond the upper end"}};
    for (size_t d = 0; d < 2; d++) {
        const double under = surface->range[d][0] - at[d];
        const double over = at[d] + size[d] - surface->range[d][1];
        if (under <= 1e-3 && over <= 1e-3)
            continue;
        const bool far = over > under;
        ebb_room_fault(builder->reader, place,
                       "it reaches %.4g m %s of %s, which runs from %.4g m to %.4g m",
                       far ? over : under, ways[d][far], surface->name, surface->range[d][0],
                       surface->range[d][1]);
        return false;
    }
    if (ebb_surface_holds(surface, at, size))
        return true;
    ebb_room_fault(builder->reader, place,
                   "it is not on %s with all of its area: a slope, body or column ends %s there",
                   surface->name, surface->name);
    return false;
}

/* ---- openings -------------------------------------------------------------------------------- */

/* A door or window that says nothing more is the usual one; a vent can be anything. */
static size_t opening_construction(ebb_room_builder *builder, const ebb_room_record *record,
                                   const ebb_opening *opening)
{
    const ebb_room_field *field = ebb_room_get(record, "construction");
    if (field->given)
        return ebb_room_construction(builder, field);
    if (opening->kind != EBB_OPENING_VENT && !field->meant)
        return ebb_room_preset(builder, &record->place,
                               opening->kind == EBB_OPENING_DOOR ? "door" : "glazing");
    if (!field->meant)
        ebb_room_fault(builder->reader, &record->place,
                       "a vent needs construction: what is behind it");
    return EBB_ROOM_NONE;
}

/* Is there an opening before number i that this one overlaps? */
static void check_overlap(ebb_room_builder *builder, const ebb_room_field *list,
                          const ebb_room *room, size_t i)
{
    const ebb_opening *a = &room->openings[i];
    for (size_t j = 0; j < i; j++) {
        const ebb_opening *b = &room->openings[j];
        if (b->surface != a->surface || !ebb_rect_overlap(a->at, a->size, b->at, b->size))
            continue;
        ebb_room_fault(builder->reader, &list->record[i].place, "it overlaps %s in line %d",
                       list->record[j].place.key, list->record[j].place.line);
        return;
    }
}

/* Fills an opening; false when its place is not known. The surface is NONE until everything about
 * the place is right: units are checked only against openings whose place is known. */
static bool build_opening(ebb_room_builder *builder, const ebb_room_record *record,
                          const ebb_room *room, ebb_opening *opening)
{
    opening->surface = EBB_ROOM_NONE;
    if (record->form == NULL)
        return false;
    const ebb_room_field *at = ebb_room_get(record, "at"), *size = ebb_room_get(record, "size");
    const ebb_room_field *as = ebb_room_get(record, "as");
    opening->kind = (ebb_opening_kind)as->word;
    if (as->good)
        opening->construction = opening_construction(builder, record, opening);
    const size_t surface = ebb_room_surface_on(builder, record, room);
    if (!at->good || !size->good || surface == EBB_ROOM_NONE)
        return false;
    memcpy(opening->at, at->number, sizeof opening->at);
    memcpy(opening->size, size->number, sizeof opening->size);
    if (!ebb_room_on_surface(builder, &at->place, &room->surfaces[surface], opening->at,
                             opening->size))
        return false;
    opening->surface = surface;
    return true;
}

void ebb_room_build_openings(ebb_room_builder *builder, const ebb_room_record *record,
                             ebb_room *room)
{
    const ebb_room_field *list = ebb_room_get(record, "openings");
    const size_t n = list->good ? list->n : 0;
    room->openings = EBB_KEEP(builder, ebb_opening, n);
    if (room->openings == NULL)
        return;
    room->n_openings = n;
    for (size_t i = 0; i < n; i++)
        if (build_opening(builder, &list->record[i], room, &room->openings[i]))
            check_overlap(builder, list, room, i);
}

/* ---- seats and speakers ---------------------------------------------------------------------- */

/* The circle is walked round: what stands within it is found when places in it are tried. */
static void check_zone(ebb_room_builder *builder, const ebb_room_record *record,
                       const ebb_room *room, const ebb_station *station, ebb_vec3 at)
{
    for (int i = 0; i < STEPS; i++) {
        const double angle = 6.283185307179586 * i / STEPS;
        const double x = station->zone * cos(angle), y = station->zone * sin(angle);
        if (ebb_room_holds(room, (ebb_vec3){at.x + x, at.y + y, at.z}, CLEAR))
            continue;
        ebb_room_fault(builder->reader, &ebb_room_get(record, "zone")->place,
                       "the zone reaches to %.4g m, %.4g m, which is not 50 mm inside the room",
                       station->at.x + x, station->at.y + y);
        return;
    }
}

/* In a room of any shape no single coordinate is to blame. */
static void check_shaped(ebb_room_builder *builder, const ebb_room_record *record,
                         const ebb_room *room, const ebb_station *station)
{
    const ebb_place *place = &ebb_room_get(record, "at")->place;
    const ebb_vec3 at = ebb_minus(station->at, room->origin);
    size_t nearest = 0;
    const double clear = ebb_room_clearance(room->solid, at, &nearest);
    if (!ebb_room_holds(room, at, 0))
        ebb_room_fault(builder->reader, place, "it is outside the room; %s is the nearest surface",
                       room->surfaces[nearest].name);
    else if (!ebb_room_holds(room, at, CLEAR))
        ebb_room_fault(builder->reader, place, "it is %.3g mm from %s; accepted is at least 50 mm",
                       1000 * clear, room->surfaces[nearest].name);
    else if (station->zone > 0)
        check_zone(builder, record, room, station, at);
}

/* The station and the circle in which it may be moved keep clear of all surfaces. */
static void check_inside(ebb_room_builder *builder, const ebb_room_record *record,
                         const ebb_room *room, const ebb_station *station)
{
    static const char axes[] = "xyz";
    const ebb_place *place = &ebb_room_get(record, "at")->place;
    const double at[3] = {station->at.x, station->at.y, station->at.z};
    const double origin[3] = {room->origin.x, room->origin.y, room->origin.z};
    for (size_t d = 0; d < 3; d++) {
        const double low = origin[d] + CLEAR, high = origin[d] + room->size[d] - CLEAR;
        const double zone = d < 2 ? station->zone : 0;
        const bool inside = at[d] >= low - 1e-9 && at[d] <= high + 1e-9;
        if (!inside)
            ebb_room_fault(builder->reader, place,
                           "%c is %.4g m; 50 mm inside the room it runs from %.4g m to %.4g m",
                           axes[d], at[d], low, high);
        else if (at[d] - zone < low - 1e-9 || at[d] + zone > high + 1e-9)
            ebb_room_fault(builder->reader, &ebb_room_get(record, "zone")->place,
                           "the zone reaches %c from %.4g m to %.4g m; 50 mm inside the room it "
                           "runs from %.4g m to %.4g m",
                           axes[d], at[d] - zone, at[d] + zone, low, high);
        else
            continue;
        return;
    }
}

/* Places are kept even when they are outside: units are then checked against them all the same. */
static void build_list(ebb_room_builder *builder, const ebb_room_field *list, const ebb_room *room,
                       ebb_station *station)
{
    for (size_t i = 0; i < list->n; i++) {
        const ebb_room_record *record = &list->record[i];
        station[i].name = "";
        if (record->form == NULL)
            continue;
        const ebb_room_field *name = ebb_room_get(record, "name"), *at = ebb_room_get(record, "at");
        if (name->good)
            station[i].name = ebb_room_keep_text(builder, name->text);
        station[i].zone = ebb_room_number(record, "zone", 0);
        if (!at->good)
            continue;
        station[i].at = (ebb_vec3){at->number[0], at->number[1], at->number[2]};
        if (room->n_surfaces > 0 && room->shaped)
            check_shaped(builder, record, room, &station[i]);
        else if (room->n_surfaces > 0)
            check_inside(builder, record, room, &station[i]);
    }
}

/* The name field of number i of two lists in a row; NULL when it has none that is good. */
static const ebb_room_field *name_of(const ebb_room_field *seats, const ebb_room_field *speakers,
                                     size_t i)
{
    const size_t n = seats->good ? seats->n : 0;
    const ebb_room_record *record = i < n ? &seats->record[i] : &speakers->record[i - n];
    const ebb_room_field *name = record->form != NULL ? ebb_room_get(record, "name") : NULL;
    return name != NULL && name->good ? name : NULL;
}

/* Results are named "from speaker to seat", so no two of a room may share a name. */
static void check_names(ebb_room_builder *builder, const ebb_room_field *seats,
                        const ebb_room_field *speakers)
{
    const size_t n = (seats->good ? seats->n : 0) + (speakers->good ? speakers->n : 0);
    for (size_t i = 0; i < n; i++) {
        const ebb_room_field *name = name_of(seats, speakers, i);
        for (size_t j = 0; j < i && name != NULL; j++) {
            const ebb_room_field *other = name_of(seats, speakers, j);
            if (other == NULL || strcmp(name->text, other->text) != 0)
                continue;
            ebb_room_fault(builder->reader, &name->place,
                           "another seat or speaker of this room is called \"%s\" too, in line %d",
                           name->text, other->place.line);
            break;
        }
    }
}

void ebb_room_build_stations(ebb_room_builder *builder, const ebb_room_record *record,
                             ebb_room *room)
{
    const ebb_room_field *seats = ebb_room_get(record, "seats");
    const ebb_room_field *speakers = ebb_room_get(record, "speakers");
    check_names(builder, seats, speakers);
    room->seats = EBB_KEEP(builder, ebb_station, seats->good ? seats->n : 0);
    room->speakers = EBB_KEEP(builder, ebb_station, speakers->good ? speakers->n : 0);
    if (room->seats == NULL || room->speakers == NULL)
        return;
    if (seats->good) {
        room->n_seats = seats->n;
        build_list(builder, seats, room, room->seats);
    }
    if (speakers->good) {
        room->n_speakers = speakers->n;
        build_list(builder, speakers, room, room->speakers);
    }
}
