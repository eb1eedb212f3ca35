/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layers from their records. */
#include "build.h"

#include <math.h>

#define TWO_PI 6.28318530717958647692

/* Mineral wool (common practice, no source). The two lengths stay 0 when not given: the layers then
 * derive them from the resistivity. */
const ebb_layer ebb_room_plain_wool = {
    .kind = EBB_LAYER_POROUS, .porosity = 0.98, .tortuosity = 1, .model = EBB_POROUS_JCA};

/* What a bed of activated carbon may be like inside; nobody prints it on the bag. Assumed, but for
 * the porosity of poured spheres (common practice, no source). */
const ebb_layer ebb_room_plain_grains = {.kind = EBB_LAYER_GRANULAR,
                                         .grains = {.bed_porosity = 0.4,
                                                    .pore_share = 0.5,
                                                    .pore_radius = 0.5e-6,
                                                    .tortuosity = 3,
                                                    .sorption_hz = 200}};

/* Bending values stay 0 without span, although the material has them, because 0 is how the layers
 * know a limp panel. */
static void build_panel(ebb_room_builder *builder, const ebb_room_record *record, ebb_layer *layer)
{
    ebb_board board;
    const bool bends = ebb_room_get(record, "span")->given;
    if (!ebb_room_build_board(builder, record, "panel", bends, &board))
        return;
    layer->thickness = board.thickness;
    layer->mass = board.thickness * board.density;
    if (board.name[0] != '\0')
        ebb_room_note_origin(builder, layer, board.name, false);
    layer->span = ebb_room_number(record, "span", 0);
    if (!bends) {
        static const char why[] = "it has an effect only with span";
        ebb_room_refuse_key(builder, record, "modulus", why);
        ebb_room_refuse_key(builder, record, "poisson", why);
        ebb_room_refuse_key(builder, record, "loss", why);
        return;
    }
    layer->modulus = board.modulus;
    layer->poisson = board.poisson;
    layer->loss = board.loss;
}

void ebb_room_build_porous(ebb_room_builder *builder, const ebb_room_record *record,
                           ebb_layer *layer)
{
    layer->resistivity = ebb_room_number(record, "resistivity", layer->resistivity);
    layer->porosity = ebb_room_number(record, "porosity", layer->porosity);
    layer->tortuosity = ebb_room_number(record, "tortuosity", layer->tortuosity);
    layer->viscous_length = ebb_room_number(record, "viscous_length", layer->viscous_length);
    layer->thermal_length = ebb_room_number(record, "thermal_length", layer->thermal_length);
    layer->frame_density = ebb_room_number(record, "density", layer->frame_density);
    layer->model = (ebb_porous_model)ebb_room_word(record, "model", layer->model);
    const ebb_room_field *model = ebb_room_get(record, "model");
    if (layer->model == EBB_POROUS_LIMP && layer->frame_density == 0)
        ebb_room_fault(builder->reader, model->given ? &model->place : &record->place,
                       "the model \"limp\" needs density beside it");
    if (layer->model == EBB_POROUS_MIKI) {
        static const char why[] = "the model \"miki\" knows the resistivity alone";
        ebb_room_refuse_key(builder, record, "porosity", why);
        ebb_room_refuse_key(builder, record, "tortuosity", why);
        ebb_room_refuse_key(builder, record, "viscous_length", why);
        ebb_room_refuse_key(builder, record, "thermal_length", why);
    }
}

/* What stands beside the name of a wool replaces that wool's value. */
static void build_wool_layer(ebb_room_builder *builder, const ebb_room_record *record,
                             ebb_layer *layer)
{
    static const char *const ways[] = {"resistivity", "wool", NULL};
    const ebb_room_field *way = ebb_room_one_of(builder, record, ways);
    *layer = ebb_room_plain_wool;
    if (way == NULL)
        return;
    if (way == ebb_room_get(record, "wool")) {
        const ebb_wool *wool = ebb_room_wool(builder, way);
        if (wool == NULL)
            return;
        *layer = wool->layer;
        ebb_room_note_origin(builder, layer, wool->name, false);
    }
    layer->thickness = ebb_room_number(record, "porous", 0);
    ebb_room_build_porous(builder, record, layer);
}

void ebb_room_build_grains(const ebb_room_record *record, ebb_layer *layer)
{
    ebb_grains *grains = &layer->grains;
    grains->diameter = ebb_room_number(record, "grain", grains->diameter);
    grains->bed_porosity = ebb_room_number(record, "bed_porosity", grains->bed_porosity);
    grains->pore_share = ebb_room_number(record, "pore_share", grains->pore_share);
    grains->uptake = ebb_room_number(record, "uptake", grains->uptake);
    grains->pore_radius = ebb_room_number(record, "pore_radius", grains->pore_radius);
    grains->tortuosity = ebb_room_number(record, "tortuosity", grains->tortuosity);
    grains->sorption_hz = ebb_room_number(record, "sorption", grains->sorption_hz);
    grains->bed_density = ebb_room_number(record, "density", grains->bed_density);
    layer->resistivity = ebb_room_number(record, "resistivity", layer->resistivity);
}

/* A batch that was tested is that batch only as long as nothing is said beside it. */
static bool is_batch_alone(const ebb_room_record *record)
{
    size_t given = 0;
    for (size_t i = 0; i < record->form->n; i++)
        given += record->field[i].given;
    return given == 2; /* granular and batch */
}

static void build_grain_layer(ebb_room_builder *builder, const ebb_room_record *record,
                              ebb_layer *layer)
{
    const ebb_room_field *field = ebb_room_get(record, "batch");
    *layer = ebb_room_plain_grains;
    if (field->given) {
        const ebb_batch *batch = ebb_room_batch(builder, field);
        if (batch == NULL)
            return;
        *layer = batch->layer;
        ebb_room_note_origin(builder, layer, batch->name,
                             batch->measured && is_batch_alone(record));
    } else if (!field->meant) {
        (void)ebb_room_need_key(builder, record, "grain");
        (void)ebb_room_need_key(builder, record, "uptake");
        (void)ebb_room_need_key(builder, record, "density");
    }
    layer->thickness = ebb_room_number(record, "granular", 0);
    ebb_room_build_grains(record, layer);
}

/* The resonance is that of the mass on the spring, so it fixes the stiffness; the tuning of a built
 * unit is what people know, its stiffness is not. */
static void build_lumped(ebb_room_builder *builder, const ebb_room_record *outer, ebb_layer *layer)
{
    static const char *const ways[] = {"resonance", "stiffness", NULL};
    const ebb_room_record *record = ebb_room_get(outer, "lumped")->record;
    const ebb_room_field *spring = ebb_room_one_of(builder, record, ways);
    layer->mass = ebb_room_number(record, "mass", 0);
    layer->resistance = ebb_room_number(record, "resistance", 0);
    layer->loss = ebb_room_number(record, "loss", 0);
    layer->stiffness = ebb_room_number(record, "stiffness", 0);
    if (spring == ebb_room_get(record, "resonance")) {
        const double omega = TWO_PI * spring->number[0];
        layer->stiffness = layer->mass * omega * omega;
    }
}

static void build_layer(ebb_room_builder *builder, const ebb_room_record *record, ebb_layer *layer)
{
    layer->kind = ebb_room_layer_kind(record->form);
    switch (layer->kind) {
    case EBB_LAYER_MASS:
        layer->mass = ebb_room_number(record, "mass", 0);
        break;
    case EBB_LAYER_PANEL:
        build_panel(builder, record, layer);
        break;
    case EBB_LAYER_AIR:
        layer->thickness = ebb_room_number(record, "air", 0);
        layer->loss = ebb_room_number(record, "loss", 0);
        break;
    case EBB_LAYER_POROUS:
        build_wool_layer(builder, record, layer);
        break;
    case EBB_LAYER_SCREEN:
        layer->resistance = ebb_room_number(record, "screen", 0);
        layer->mass = ebb_room_number(record, "mass", 0);
        break;
    case EBB_LAYER_LUMPED:
        build_lumped(builder, record, layer);
        break;
    case EBB_LAYER_GRANULAR:
        build_grain_layer(builder, record, layer);
        break;
    case EBB_LAYER_PERFORATED:
        layer->thickness = ebb_room_number(record, "perforated", 0);
        layer->opening = ebb_room_number(record, "hole", 0);
        layer->open_share = ebb_room_number(record, "open", 0);
        layer->mass = ebb_room_number(record, "mass", 0);
        break;
    case EBB_LAYER_SLITS:
        layer->thickness = ebb_room_number(record, "slits", 0);
        layer->opening = ebb_room_number(record, "width", 0);
        layer->open_share = ebb_room_number(record, "open", 0);
        break;
    case EBB_LAYER_FRONT: /* only in cabinets */
        break;
    }
}

/* All layers are built even when one has faults, so that those of the others are told too; they
 * are of use only when none had any. */
bool ebb_room_build_layers(ebb_room_builder *builder, const ebb_room_field *list,
                           const ebb_layer **layers, size_t *n)
{
    const size_t faults = builder->reader->n_faults;
    ebb_layer *layer = EBB_KEEP(builder, ebb_layer, list->n);
    bool whole = layer != NULL;
    for (size_t i = 0; i < list->n && layer != NULL; i++) {
        if (ebb_room_is_whole(&list->record[i]))
            build_layer(builder, &list->record[i], &layer[i]);
        else
            whole = false;
    }
    *layers = layer;
    *n = list->n;
    return whole && builder->reader->n_faults == faults;
}
