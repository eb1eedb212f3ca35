/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Absorbers. */
#include "build.h"

#include <math.h>

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
    const double layers = ebb_assembly_mass(&unit->assembly) * unit->face[0] * unit->face[1];
    if (layers > unit->mass * (1 + 1e-9))
        ebb_warn_at(builder->reader->ctx, &ebb_room_get(record, "mass")->place,
                    "the unit weighs %.1f kg, its layers alone %.1f kg", unit->mass, layers);
}

/* A stiff front moves as one; everything else gives way at each point for itself. */
static bool has_front(const ebb_assembly *assembly)
{
    if (assembly->kind != EBB_ASSEMBLY_LAYERS)
        return false;
    const ebb_layer_kind first = assembly->layers[0].kind;
    return first == EBB_LAYER_LUMPED || first == EBB_LAYER_MASS || first == EBB_LAYER_PANEL;
}

/* Sizes that are missing are NAN: units in rooms are then not checked against walls and doors. */
static void build_unit(ebb_room_builder *builder, const ebb_room_record *record, ebb_unit *unit)
{
    unit->name = ebb_room_keep_text(builder, record->name);
    if (record->form == NULL)
        return;
    const ebb_room_field *face = ebb_room_get(record, "face");
    const ebb_room_field *hangs = ebb_room_get(record, "hangs");
    for (size_t i = 0; i < 2; i++)
        unit->face[i] = face->good ? face->number[i] : NAN;
    unit->depth = ebb_room_number(record, "depth", NAN);
    unit->mass = ebb_room_number(record, "mass", NAN);
    unit->cost = ebb_room_number(record, "cost", 0);
    unit->on_walls = !hangs->given || (hangs->word & 1) != 0;
    unit->on_ceiling = (hangs->word & 2) != 0;
    ebb_room_build_alpha(record, unit->alpha);
    if (!ebb_room_build_assembly(builder, record, EBB_BACK_RIGID, &unit->assembly))
        return;
    unit->piston = ebb_room_word(record, "moves", has_front(&unit->assembly)) == 1;
    check_depth(builder, record, unit);
    check_mass(builder, record, unit);
}

void ebb_room_build_units(ebb_room_builder *builder, const ebb_room_record *job)
{
    const ebb_room_field *list = ebb_room_get(job, "absorbers");
    const size_t n = list->good ? list->n : 0;
    builder->job->absorbers = EBB_KEEP(builder, ebb_unit, n);
    if (builder->job->absorbers == NULL)
        return;
    builder->job->n_units = n;
    for (size_t i = 0; i < n; i++)
        build_unit(builder, &list->record[i], &builder->job->absorbers[i]);
}
