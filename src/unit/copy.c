/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Units that may be changed.
 *
 * What a slip in building does is found by building the unit with the slip and computing it again;
 * nothing is estimated by derivatives. So every slip needs a unit of its own.
 */
#include "private.h"

#include <string.h>

/* In a cabinet a layer can lie in any gap or fill. */
bool ebb_unit_holds(const ebb_unit *unit, ebb_layer_kind kind)
{
    const ebb_assembly *a = &unit->assembly;
    if (a->kind == EBB_ASSEMBLY_CABINET) {
        for (size_t i = 0; i < a->cabinet->n_cells; i++) {
            const ebb_cell *cell = &a->cabinet->cell[i];
            if (ebb_unit_layers_hold(cell->n_fill, cell->fill, kind) ||
                ebb_unit_layers_hold(cell->n_between, cell->between, kind))
                return true;
        }
        return false;
    }
    return a->kind == EBB_ASSEMBLY_LAYERS && ebb_unit_layers_hold(a->n_layers, a->layers, kind);
}

/* Copies of n layers; *copy NULL when out of memory. */
static bool copy_layers(ebb_arena *arena, size_t n, const ebb_layer *layers, ebb_layer **copy)
{
    *copy = EBB_NEW(arena, ebb_layer, n);
    if (*copy == NULL)
        return false;
    if (n > 0)
        memcpy(*copy, layers, n * sizeof *layers);
    return true;
}

/* Fronts are held by value and copied with the cell; layers are not. */
static bool copy_cell(ebb_arena *arena, const ebb_cell *from, ebb_cell *to)
{
    ebb_layer *between, *fill;
    *to = *from;
    if (!copy_layers(arena, from->n_between, from->between, &between) ||
        !copy_layers(arena, from->n_fill, from->fill, &fill))
        return false;
    to->between = between;
    to->fill = fill;
    return true;
}

/* Plates stay those of the original until the copy is made ready: then it gets its own. */
static bool copy_cabinet(ebb_arena *arena, const ebb_cabinet *from, ebb_cabinet *to)
{
    *to = *from;
    to->cell = EBB_NEW(arena, ebb_cell, from->n_cells);
    for (size_t i = 0; to->cell != NULL && i < from->n_cells; i++)
        if (!copy_cell(arena, &from->cell[i], &to->cell[i]))
            return false;
    return to->cell != NULL;
}

/* The air, tables and plates that a unit borrows from its file are borrowed by the copy too. */
ebb_unit_model *ebb_unit_copy(ebb_arena *arena, const ebb_assembly *assembly)
{
    ebb_unit_model *model = EBB_NEW(arena, ebb_unit_model, 1);
    if (model == NULL)
        return NULL;
    model->assembly = *assembly;
    if (assembly->kind == EBB_ASSEMBLY_CABINET) {
        if (!copy_cabinet(arena, assembly->cabinet, &model->cabinet))
            return NULL;
        model->assembly.cabinet = &model->cabinet;
    } else if (!copy_layers(arena, assembly->n_layers, assembly->layers, &model->layer)) {
        return NULL;
    }
    model->assembly.layers = model->layer;
    return model;
}

/* The layers of a cell are const for everybody else; here they are copies of our own. */
static bool each_of(size_t n, const ebb_layer *layer, ebb_unit_layer_fn change, double factor)
{
    bool any = false;
    for (size_t i = 0; i < n; i++)
        any = change((ebb_layer *)&layer[i], factor) || any;
    return any;
}

/* Every layer is visited, also after one has answered true: `||` must not cut the walk short. */
bool ebb_unit_each_layer(ebb_unit_model *model, ebb_unit_layer_fn change, double factor)
{
    bool any = false;
    if (model->assembly.kind == EBB_ASSEMBLY_LAYERS)
        return each_of(model->assembly.n_layers, model->layer, change, factor);
    for (size_t i = 0; model->assembly.kind == EBB_ASSEMBLY_CABINET && i < model->cabinet.n_cells;
         i++) {
        const ebb_cell *cell = &model->cabinet.cell[i];
        any = each_of(cell->n_between, cell->between, change, factor) || any;
        any = each_of(cell->n_fill, cell->fill, change, factor) || any;
    }
    return any;
}

/* Stacks have no fronts of this kind; their moving layers are layers. */
bool ebb_unit_each_front(ebb_unit_model *model, ebb_unit_front_fn change, double factor)
{
    bool any = false;
    for (size_t i = 0; model->assembly.kind == EBB_ASSEMBLY_CABINET && i < model->cabinet.n_cells;
         i++) {
        ebb_cell *cell = &model->cabinet.cell[i];
        for (size_t k = 0; k < cell->n_fronts; k++)
            any = change(&cell->front[k], factor) || any;
    }
    return any;
}

/* A change can make a box that no one can build; the check says so before plates are made. */
ebb_status ebb_unit_ready(ebb_ctx *ctx, ebb_arena *arena, ebb_unit_model *model)
{
    return model->assembly.kind == EBB_ASSEMBLY_CABINET
               ? ebb_cabinet_prepare(ctx, arena, 0, &model->cabinet)
               : ebb_assembly_check(ctx, &model->assembly);
}
