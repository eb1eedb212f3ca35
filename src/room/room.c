/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Rooms: their shape, their surfaces, and how far walls could move. */
#include "build.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CORNERS 4
#define SMALL 1e-6 /* m: two lengths written in different units are the same within this */

static const char *const surface_names[EBB_FACES] = {"floor",  "ceiling", "wall_1",
                                                     "wall_2", "wall_3",  "wall_4"};

/* ---- shape ----------------------------------------------------------------------------------- */

/* A plan and its height. */
typedef struct shape {
    double corner[CORNERS][2];
    double height;
} shape;

static void side_of(const shape *s, size_t i, double side[2])
{
    for (size_t d = 0; d < 2; d++)
        side[d] = s->corner[(i + 1) % CORNERS][d] - s->corner[i][d];
}

/* Other directions are a matter of the wave engine, whose basis is a product along x, y and z. */
static bool is_along_axis(const double side[2], int axis)
{
    return fabs(side[1 - axis]) < SMALL && fabs(side[axis]) >= SMALL;
}

/* What is wrong with a plan of four corners, or NULL. */
static const char *plan_fault(const shape *s)
{
    bool square = true;
    double area = 0, before[2], side[2];
    side_of(s, CORNERS - 1, before);
    for (size_t i = 0; i < CORNERS; i++) {
        side_of(s, i, side);
        const double length = hypot(side[0], side[1]);
        if (length < SMALL)
            return "two corners after each other are the same point";
        const double dot = before[0] * side[0] + before[1] * side[1];
        square = square && fabs(dot) < SMALL * length;
        area += 0.5 * (s->corner[i][0] * side[1] - s->corner[i][1] * side[0]);
        memcpy(before, side, sizeof before);
    }
    if (!square)
        return "only rectangular plans are supported so far; a corner of this one is not square";
    /* Where all corners are square, one side speaks for all. */
    if (!is_along_axis(side, 0) && !is_along_axis(side, 1))
        return "the sides of the plan must run along x and y so far; turn the plan";
    return area > 0 ? NULL
                    : "the corners run clockwise; write them counter-clockwise seen from above";
}

/* Sides of a plan must lie in the range of `size`. */
static bool check_sides(ebb_room_builder *builder, const ebb_room_record *record, const shape *s)
{
    const ebb_room_rule *rule = ebb_room_get(record, "size")->rule;
    const ebb_place *place = &ebb_room_get(record, "plan")->place;
    char range[80];
    for (size_t i = 0; i < 2; i++) {
        double side[2];
        side_of(s, i, side);
        const double length = hypot(side[0], side[1]);
        if (length >= rule->low && length <= rule->high)
            continue;
        ebb_room_fault(builder->reader, place,
                       "the side from corner %zu to %zu is %.4g m long; accepted is %s", i + 1,
                       i + 2, length, ebb_room_range(rule, range, sizeof range));
        return false;
    }
    return true;
}

/* The room need not start at the origin: several rooms of a job may share one survey. */
static bool read_plan(ebb_room_builder *builder, const ebb_room_record *record, shape *s)
{
    ebb_room_reader *reader = builder->reader;
    const ebb_room_field *plan = ebb_room_get(record, "plan");
    const ebb_room_field *ceiling = ebb_room_get(record, "ceiling");
    if (ebb_room_is_absent(record, "ceiling"))
        ebb_room_fault(reader, &plan->place, "a plan needs ceiling beside it: the height");
    if (!plan->good)
        return false;
    if (plan->n != CORNERS) {
        ebb_room_fault(reader, &plan->place, "%s; found %zu corners, accepted are four",
                       plan->rule->instead, plan->n);
        return false;
    }
    memcpy(s->corner, plan->number, sizeof s->corner);
    s->height = ebb_room_number(record, "ceiling", NAN);
    const char *why = plan_fault(s);
    if (why != NULL) {
        ebb_room_fault(reader, &plan->place, "%s", why);
        return false;
    }
    return check_sides(builder, record, s) && ceiling->good;
}

/* Corners and height from size or plan; false when they are not known. */
static bool read_shape(ebb_room_builder *builder, const ebb_room_record *record, shape *s)
{
    static const char *const ways[] = {"size", "plan", NULL};
    const ebb_room_field *size = ebb_room_one_of(builder, record, ways);
    if (size == NULL)
        return false;
    if (size == ebb_room_get(record, "plan"))
        return read_plan(builder, record, s);
    ebb_room_refuse_key(builder, record, "ceiling", "it goes with plan; size has the height");
    if (!size->good)
        return false;
    const double l = size->number[0], w = size->number[1];
    *s = (shape){{{0, 0}, {l, 0}, {l, w}, {0, w}}, size->number[2]};
    return true;
}

/* ---- surfaces -------------------------------------------------------------------------------- */

/* Construction of each surface: its own key, else that of all walls, else that of all. */
static void read_surfaces(ebb_room_builder *builder, const ebb_room_record *record,
                          size_t made_of[EBB_FACES])
{
    const ebb_room_field *field = ebb_room_get(record, "surfaces");
    for (size_t i = 0; i < EBB_FACES; i++)
        made_of[i] = EBB_ROOM_NONE;
    if (!field->good)
        return;
    const ebb_room_field *all = ebb_room_get(field->record, "all");
    const ebb_room_field *walls = ebb_room_get(field->record, "walls");
    const size_t of_all = ebb_room_construction(builder, all);
    const size_t of_walls = ebb_room_construction(builder, walls);
    const char *missing = "";
    for (size_t i = 0; i < EBB_FACES; i++) {
        const ebb_room_field *own = ebb_room_get(field->record, surface_names[i]);
        const bool wall = i >= 2;
        made_of[i] = of_all;
        if (wall && walls->given)
            made_of[i] = of_walls;
        if (own->given)
            made_of[i] = ebb_room_construction(builder, own);
        if (!own->given && !all->given && !(wall && walls->given) && missing != NULL)
            missing = ebb_room_format(builder->reader, "%s%s%s", missing,
                                      *missing != '\0' ? ", " : "", surface_names[i]);
    }
    if (missing != NULL && *missing != '\0')
        ebb_room_fault(builder->reader, &field->place,
                       "nothing says what is there: %s; name them, or give walls or all", missing);
}

/* Floor and ceiling have the plan's own coordinates, so their frame starts at the job's origin and
 * it is the range that says where the room is. */
static void make_level(ebb_room *room, ebb_surface *surface, int side)
{
    surface->origin = (ebb_vec3){0, 0, room->origin.z + side * room->size[2]};
    surface->along = (ebb_vec3){1, 0, 0};
    surface->up = (ebb_vec3){0, 1, 0};
    surface->range[0][0] = room->origin.x;
    surface->range[0][1] = room->origin.x + room->size[0];
    surface->range[1][0] = room->origin.y;
    surface->range[1][1] = room->origin.y + room->size[1];
    surface->axis = 2;
    surface->side = side;
}

/* Wall from corner i on. The room lies to the left of the way from corner to corner. */
static void make_wall(ebb_room *room, ebb_surface *surface, const shape *s, size_t i)
{
    double side[2];
    side_of(s, i, side);
    const bool along_x = fabs(side[0]) > fabs(side[1]);
    const double length = room->size[along_x ? 0 : 1];
    const double sign = (along_x ? side[0] : side[1]) > 0 ? 1 : -1;
    surface->origin = (ebb_vec3){s->corner[i][0], s->corner[i][1], room->origin.z};
    surface->along = along_x ? (ebb_vec3){sign, 0, 0} : (ebb_vec3){0, sign, 0};
    surface->up = (ebb_vec3){0, 0, 1};
    surface->range[0][1] = length;
    surface->range[1][1] = room->size[2];
    surface->axis = along_x ? 1 : 0;
    /* Walking towards +x keeps the room on the side of larger y, towards +y on that of smaller x.
     */
    surface->side = along_x ? (sign > 0 ? 0 : 1) : (sign > 0 ? 1 : 0);
}

static void make_surfaces(ebb_room_builder *builder, const shape *s,
                          const size_t made_of[EBB_FACES], ebb_room *room)
{
    const double *a = s->corner[0], *c = s->corner[2];
    room->origin = (ebb_vec3){fmin(a[0], c[0]), fmin(a[1], c[1]), 0};
    room->size[0] = fabs(c[0] - a[0]);
    room->size[1] = fabs(c[1] - a[1]);
    room->size[2] = s->height;
    room->surfaces = EBB_KEEP(builder, ebb_surface, EBB_FACES);
    if (room->surfaces == NULL)
        return;
    room->n_surfaces = EBB_FACES;
    for (size_t i = 0; i < EBB_FACES; i++) {
        ebb_surface *surface = &room->surfaces[i];
        snprintf(surface->name, sizeof surface->name, "%s", surface_names[i]);
        surface->construction = made_of[i];
        if (i < 2)
            make_level(room, surface, (int)i);
        else
            make_wall(room, surface, s, i - 2);
    }
}

/* ---- what could change ----------------------------------------------------------------------- */

/* A range that leaves out the room as it stands is a slip: the rooms compared would not be this
 * one. */
static void read_change(ebb_room_builder *builder, const ebb_room_record *record, ebb_room *room)
{
    static const char *const keys[3] = {"length", "width", "height"};
    const ebb_room_field *change = ebb_room_get(record, "may_change");
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
        else if (room->n_surfaces > 0 &&
                 (room->size[d] < low - SMALL || room->size[d] > high + SMALL))
            ebb_room_fault(builder->reader, &field->place,
                           "the room's own %s, %.4g m, lies outside %.4g m to %.4g m", keys[d],
                           room->size[d], low, high);
    }
}

/* ---- rooms ----------------------------------------------------------------------------------- */

/* Without a shape the room has no surfaces; its contents are then checked for everything but their
 * places. */
static void build_room(ebb_room_builder *builder, const ebb_room_record *record, ebb_room *room)
{
    size_t made_of[EBB_FACES];
    shape s = {.height = NAN};
    if (record->form == NULL)
        return;
    const ebb_room_field *name = ebb_room_get(record, "name");
    room->name = ebb_room_keep_text(builder, name->good ? name->text : "");
    room->line = record->place.line;
    read_surfaces(builder, record, made_of);
    if (read_shape(builder, record, &s))
        make_surfaces(builder, &s, made_of, room);
    read_change(builder, record, room);
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
