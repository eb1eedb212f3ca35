/* SPDX-License-Identifier: GPL-3.0-or-later */
/* The shape of a room from its record: plan, columns, ceiling and bodies. */
#include "build.h"
#include "shape.h"

#include <math.h>
#include <string.h>

/* ---- plan and columns ------------------------------------------------------------------------ */

static bool new_outline(ebb_room_builder *builder, const double *number, size_t n,
                        ebb_room_outline *outline)
{
    double(*corner)[2] = ebb_room_keep(builder, n, sizeof *corner);
    if (corner == NULL)
        return false;
    memcpy(corner, number, n * sizeof *corner);
    *outline = (ebb_room_outline){n, corner};
    return true;
}

static bool read_columns(ebb_room_builder *builder, const ebb_room_record *record,
                         ebb_room_shape *shape)
{
    const ebb_room_field *field = ebb_room_get(record, "columns");
    if (!field->given)
        return true;
    shape->column = EBB_KEEP(builder, ebb_room_outline, field->n);
    if (!field->good || shape->column == NULL)
        return false;
    shape->n_columns = field->n;
    for (size_t i = 0; i < field->n; i++)
        if (!new_outline(builder, field->item[i].number, field->item[i].n, &shape->column[i]))
            return false;
    return true;
}

/* ---- ceiling --------------------------------------------------------------------------------- */

static bool misfit(ebb_room_builder *builder, const ebb_room_field *field, const char *why)
{
    if (why == ebb_room_no_memory)
        ebb_room_nomem(builder->reader);
    else if (why != NULL)
        ebb_room_fault(builder->reader, &field->place, "%s", why);
    return why == NULL;
}

static bool read_ridge(ebb_room_builder *builder, const ebb_room_record *record,
                       ebb_room_shape *shape, ebb_room_plane *plane)
{
    const ebb_room_field *ridge = ebb_room_get(record, "ridge");
    const bool eaves = ebb_room_need_key(builder, record, "eaves");
    if (!eaves || !ebb_room_get(record, "eaves")->good || !ridge->good ||
        !ebb_room_is_whole(ridge->record))
        return false;
    const double *from = ebb_room_get(ridge->record, "from")->number;
    const double *to = ebb_room_get(ridge->record, "to")->number;
    const double line[5] = {ebb_room_number(ridge->record, "height", 0), from[0], from[1], to[0],
                            to[1]};
    return misfit(builder, ridge,
                  ebb_room_planes_of_ridge(builder->reader->arena, &shape->plan,
                                           ebb_room_number(record, "eaves", 0), line, plane,
                                           &shape->ceiling.n));
}

static bool read_planes(ebb_room_builder *builder, const ebb_room_record *record,
                        ebb_room_shape *shape, ebb_room_plane *plane)
{
    const ebb_room_field *planes = ebb_room_get(record, "planes");
    ebb_room_refuse_key(builder, record, "eaves", "it goes with ridge; planes say all themselves");
    if (!planes->good || ebb_room_get(record, "eaves")->given)
        return false;
    for (size_t i = 0; i < planes->n; i++) {
        double point[3][3];
        memcpy(point, planes->item[i].number, sizeof point);
        if (!misfit(builder, &planes->item[i],
                    ebb_room_plane_through(builder->reader->arena, point, &plane[i])))
            return false;
    }
    shape->ceiling.n = planes->n;
    return true;
}

static bool read_heights(ebb_room_builder *builder, const ebb_room_field *field,
                         ebb_room_shape *shape, ebb_room_plane *plane)
{
    shape->ceiling.n = 1;
    if (field->n == 1) {
        plane->at = field->number[0];
        return true;
    }
    if (field->n != shape->plan.n) {
        ebb_room_fault(builder->reader, &field->place,
                       "there are %zu heights for the %zu corners of the plan", field->n,
                       shape->plan.n);
        return false;
    }
    return misfit(
        builder, field,
        ebb_room_plane_of_heights(builder->reader->arena, &shape->plan, field->number, plane));
}

static bool read_ceiling(ebb_room_builder *builder, const ebb_room_field *field,
                         ebb_room_shape *shape)
{
    static const char *const ways[] = {"ridge", "planes", NULL};
    ebb_room_plane *plane = EBB_KEEP(builder, ebb_room_plane, EBB_ROOM_MOST_PLANES);
    if (plane == NULL || !field->good)
        return false;
    shape->ceiling.plane = plane;
    if (field->record == NULL)
        return read_heights(builder, field, shape, plane);
    const ebb_room_field *way = ebb_room_one_of(builder, field->record, ways);
    if (way == NULL)
        return false;
    return way == ebb_room_get(field->record, "ridge")
               ? read_ridge(builder, field->record, shape, plane)
               : read_planes(builder, field->record, shape, plane);
}

/* ---- plan or size ---------------------------------------------------------------------------- */

/* The room need not start at the origin: several rooms of a job may share one survey. */
static bool read_plan(ebb_room_builder *builder, const ebb_room_record *record,
                      ebb_room_shape *shape)
{
    ebb_room_reader *reader = builder->reader;
    const ebb_room_field *plan = ebb_room_get(record, "plan");
    if (ebb_room_is_absent(record, "ceiling"))
        ebb_room_fault(reader, &plan->place, "a plan needs ceiling beside it: the height");
    if (!plan->good || !new_outline(builder, plan->number, plan->n, &shape->plan))
        return false;
    /* Told before the ceiling is fitted to the corners, and told once. */
    const char *why = ebb_room_outline_fault(reader->arena, &shape->plan);
    return misfit(builder, plan, why) &&
           read_ceiling(builder, ebb_room_get(record, "ceiling"), shape);
}

static bool read_size(ebb_room_builder *builder, const ebb_room_record *record,
                      ebb_room_shape *shape)
{
    const ebb_room_field *size = ebb_room_get(record, "size");
    ebb_room_refuse_key(builder, record, "ceiling", "it goes with plan; size has the height");
    ebb_room_plane *plane = EBB_KEEP(builder, ebb_room_plane, 1);
    if (!size->good || plane == NULL)
        return false;
    const double l = size->number[0], w = size->number[1];
    const double corner[8] = {0, 0, l, 0, l, w, 0, w};
    plane->at = size->number[2];
    shape->ceiling = (ebb_room_ceiling){1, plane};
    return new_outline(builder, corner, 4, &shape->plan);
}

/* ---- bodies ---------------------------------------------------------------------------------- */

static size_t bare_surface(ebb_room_builder *builder, const ebb_room_shape *shape,
                           const ebb_room_field *on)
{
    char name[24];
    const char *list = "";
    for (size_t i = 0; ebb_room_bare_name(shape, i, name) && list != NULL; i++) {
        if (strcmp(name, on->text) == 0)
            return i;
        list = ebb_room_format(builder->reader, "%s%s%s", list, i > 0 ? ", " : "", name);
    }
    if (list != NULL)
        ebb_room_fault(builder->reader, &on->place, "this room has no %s; it has %s", on->text,
                       list);
    return EBB_ROOM_NONE;
}

static bool read_body(ebb_room_builder *builder, const ebb_room_record *record,
                      const ebb_room_shape *shape, ebb_room_block *block)
{
    if (record->form == NULL)
        return false;
    block->construction = ebb_room_construction(builder, ebb_room_get(record, "of"));
    if (!ebb_room_is_whole(record))
        return false;
    block->name = ebb_room_keep_text(builder, ebb_room_get(record, "name")->text);
    block->on = bare_surface(builder, shape, ebb_room_get(record, "on"));
    memcpy(block->at, ebb_room_get(record, "at")->number, sizeof block->at);
    memcpy(block->size, ebb_room_get(record, "size")->number, sizeof block->size);
    block->depth = ebb_room_number(record, "depth", 0);
    return block->on != EBB_ROOM_NONE;
}

static bool read_bodies(ebb_room_builder *builder, const ebb_room_record *record,
                        ebb_room_shape *shape)
{
    const ebb_room_field *field = ebb_room_get(record, "bodies");
    if (!field->given)
        return true;
    shape->block = EBB_KEEP(builder, ebb_room_block, field->n);
    if (!field->good || shape->block == NULL)
        return false;
    bool good = true;
    shape->n_blocks = field->n;
    for (size_t i = 0; i < field->n; i++)
        good = read_body(builder, &field->record[i], shape, &shape->block[i]) && good;
    return good;
}

ebb_room_shape *ebb_room_read_shape(ebb_room_builder *builder, const ebb_room_record *record)
{
    static const char *const ways[] = {"size", "plan", NULL};
    ebb_room_shape *shape = EBB_KEEP(builder, ebb_room_shape, 1);
    const ebb_room_field *way = ebb_room_one_of(builder, record, ways);
    if (shape == NULL || way == NULL)
        return NULL;
    bool good = way == ebb_room_get(record, "plan") ? read_plan(builder, record, shape)
                                                    : read_size(builder, record, shape);
    good = read_columns(builder, record, shape) && good;
    return good && read_bodies(builder, record, shape) ? shape : NULL;
}
