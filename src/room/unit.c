/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Absorbers. */
#include "build.h"

#include <math.h>
#include <string.h>

void ebb_room_note_origin(ebb_room_builder *builder, const void *part, const char *name,
                          bool measured)
{
    if (builder->n_origins < EBB_ROOM_MOST_ORIGINS)
        builder->origin[builder->n_origins++] = (ebb_origin){part, name, measured};
}

static void keep_origins(ebb_room_builder *builder, ebb_unit *unit)
{
    ebb_origin *origins = EBB_KEEP(builder, ebb_origin, builder->n_origins);
    if (origins == NULL)
        return;
    memcpy(origins, builder->origin, builder->n_origins * sizeof *origins);
    unit->origins = origins;
    unit->n_origins = builder->n_origins;
}

/* Do the layers fit into the depth? A lumped layer has no thickness of its own. */
static void check_depth(ebb_room_builder *builder, const ebb_room_record *record,
                        const ebb_unit *unit)
{
    double sum = 0;
    if (unit->assembly.kind != EBB_ASSEMBLY_LAYERS)
        return;
    for (size_t i = 0; i < unit->assembly.n_layers; i++)
        sum += unit->assembly.layers[i].thickness;
    if (sum > unit->depth + 1e-6)
        ebb_room_fault(builder->reader, &ebb_room_get(record, "depth")->place,
                       "the layers are %.0f mm thick together, the unit is only %.0f mm deep",
                       1000 * sum, 1000 * unit->depth);
}

/* Not refused: published cases often give the mass of the front and leave out the box, or the other
 * way round, and the acoustics do not depend on it. */
static void check_mass(ebb_room_builder *builder, const ebb_room_record *record,
                       const ebb_unit *unit)
{
    const ebb_place *place = &ebb_room_get(record, "mass")->place;
    if (unit->assembly.kind == EBB_ASSEMBLY_CABINET) {
        ebb_weights weights;
        ebb_cabinet_weights(unit->assembly.cabinet, &weights);
        if (weights.total > unit->mass * (1 + 1e-9))
            ebb_warn_at(builder->reader->ctx, place, "the unit weighs %.1f kg, its parts %.1f kg",
                        unit->mass, weights.total);
        return;
    }
    const double layers = ebb_assembly_mass(&unit->assembly) * unit->face[0] * unit->face[1];
    if (layers > unit->mass * (1 + 1e-9))
        ebb_warn_at(builder->reader->ctx, place,
                    "the unit weighs %.1f kg, its layers alone %.1f kg", unit->mass, layers);
}

/* A stiff front moves as one; everything else gives way at each point for itself. */
static bool has_front(const ebb_assembly *assembly)
{
    if (assembly->kind == EBB_ASSEMBLY_CABINET)
        return true;
    if (assembly->kind != EBB_ASSEMBLY_LAYERS)
        return false;
    const ebb_layer_kind first = assembly->layers[0].kind;
    return first == EBB_LAYER_LUMPED || first == EBB_LAYER_MASS || first == EBB_LAYER_PANEL;
}

/* Keys of a cabinet that are of no use without one. */
static void refuse_cabinet_keys(ebb_room_builder *builder, const ebb_room_record *record)
{
    static const char *const keys[] = {"fronts", "gap", "between", "fill", "leak", "cells"};
    if (ebb_room_is_absent(record, "cabinet"))
        for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++)
            ebb_room_refuse_key(builder, record, keys[i], "it goes with cabinet");
}

/* False when the assembly has faults. */
static bool build_inside(ebb_room_builder *builder, const ebb_room_record *record,
                         const ebb_room_field *what, ebb_unit *unit)
{
    const double size[3] = {unit->face[0], unit->face[1], unit->depth};
    if (what != ebb_room_get(record, "cabinet"))
        return ebb_room_build_assembly(builder, record, what, EBB_BACK_RIGID, &unit->assembly);
    ebb_room_refuse_key(builder, record, "back", "it goes with layers; a cabinet has its own");
    unit->assembly.kind = EBB_ASSEMBLY_CABINET;
    unit->assembly.cabinet = ebb_room_build_cabinet(builder, record, size);
    return unit->assembly.cabinet != NULL;
}

/* The parts of a cabinet are known, so their weight is; what is given is believed. */
static void weigh(ebb_room_builder *builder, const ebb_room_record *record, ebb_unit *unit)
{
    ebb_weights weights;
    unit->weighed = ebb_room_get(record, "mass")->given;
    unit->mass = ebb_room_number(record, "mass", NAN);
    if (unit->weighed)
        return;
    if (ebb_room_is_absent(record, "cabinet")) {
        (void)ebb_room_need_key(builder, record, "mass");
    } else if (unit->assembly.cabinet != NULL) {
        ebb_cabinet_weights(unit->assembly.cabinet, &weights);
        unit->mass = weights.total;
    }
}

/* Sizes that are missing are NAN: units in rooms are then not checked against walls and doors. */
static void build_own(ebb_room_builder *builder, const ebb_room_record *record,
                      const ebb_room_field *what, ebb_unit *unit)
{
    const ebb_room_field *face = ebb_room_get(record, "face");
    const ebb_room_field *hangs = ebb_room_get(record, "hangs");
    (void)ebb_room_need_key(builder, record, "face");
    (void)ebb_room_need_key(builder, record, "depth");
    for (size_t i = 0; i < 2; i++)
        unit->face[i] = face->good ? face->number[i] : NAN;
    unit->depth = ebb_room_number(record, "depth", NAN);
    unit->cost = ebb_room_number(record, "cost", 0);
    unit->on_walls = !hangs->given || (hangs->word & 1) != 0;
    unit->on_ceiling = (hangs->word & 2) != 0;
    ebb_room_build_alpha(record, unit->alpha);
    ebb_room_refuse_key(builder, record, "named", "it goes with from");
    refuse_cabinet_keys(builder, record);
    const bool good = what != NULL && build_inside(builder, record, what, unit);
    weigh(builder, record, unit);
    if (!good)
        return;
    unit->piston = ebb_room_word(record, "moves", has_front(&unit->assembly)) == 1;
    check_depth(builder, record, unit);
    check_mass(builder, record, unit);
    keep_origins(builder, unit);
}

static void build_unit(ebb_room_builder *builder, const ebb_room_record *record, ebb_unit *unit)
{
    static const char *const ways[] = {"admittance", "layers", "cabinet", "from", NULL};
    unit->name = ebb_room_keep_text(builder, record->name);
    unit->from = "";
    builder->n_origins = 0;
    if (record->form == NULL)
        return;
    const ebb_room_field *what = ebb_room_one_of(builder, record, ways);
    if (what != NULL && what == ebb_room_get(record, "from"))
        ebb_room_take_unit(builder, record, unit);
    else
        build_own(builder, record, what, unit);
}

void ebb_room_build_units(ebb_room_builder *builder, const ebb_room_record *whole, ebb_unit **units,
                          size_t *n)
{
    const ebb_room_field *list = ebb_room_get(whole, "absorbers");
    const size_t count = list->good ? list->n : 0;
    *n = 0;
    *units = EBB_KEEP(builder, ebb_unit, count);
    if (*units == NULL)
        return;
    *n = count;
    for (size_t i = 0; i < count && builder->reader->status == EBB_OK; i++)
        build_unit(builder, &list->record[i], &(*units)[i]);
}

const ebb_origin *ebb_unit_origin(const ebb_unit *unit, const void *part)
{
    for (size_t i = 0; i < unit->n_origins; i++)
        if (unit->origins[i].part == part)
            return &unit->origins[i];
    return NULL;
}
