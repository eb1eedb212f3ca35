/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Layers, backs and admittances from their records. */
#include "build.h"

#include "material.h"

#include <math.h>
#include <string.h>

#define TWO_PI 6.28318530717958647692

/* A required key that is absent or a value that was refused has had its message already. Building
 * on from such a record would need made-up numbers, and their faults would be told as the user's.
 */
bool ebb_room_is_whole(const ebb_room_record *record)
{
    if (record->form == NULL)
        return false;
    for (size_t i = 0; i < record->form->n; i++) {
        const ebb_room_field *field = &record->field[i];
        if (field->given != field->good || field->meant || (!field->given && field->rule->required))
            return false;
        for (size_t j = 0; field->record != NULL && j < field->n; j++)
            if (!ebb_room_is_whole(&field->record[j]))
                return false;
    }
    return true;
}

/* A key that has no effect is refused, not passed over: whoever wrote it believes it does
 * something, and would read the result with that in mind. */
void ebb_room_refuse_key(ebb_room_builder *builder, const ebb_room_record *record, const char *key,
                         const char *why)
{
    const ebb_room_field *field = ebb_room_get(record, key);
    if (field->given)
        ebb_room_fault(builder->reader, &field->place, "%s", why);
}

/* Nothing is said when a misspelt key was meant to be one of the two: its own message is enough. */
const ebb_room_field *ebb_room_one_of(ebb_room_builder *builder, const ebb_room_record *record,
                                      const char *a, const char *b)
{
    const ebb_room_field *first = ebb_room_get(record, a), *second = ebb_room_get(record, b);
    const bool clear = !first->meant && !second->meant;
    if (first->given != second->given)
        return first->given ? first : second;
    if (first->given)
        ebb_room_fault(builder->reader, &record->place, "give either %s or %s, not both", a, b);
    else if (clear)
        ebb_room_fault(builder->reader, &record->place, "give either %s or %s, one is needed", a,
                       b);
    return NULL;
}

/* ---- layers ---------------------------------------------------------------------------------- */

/* Bending values stay 0 without span, although the material has them, because 0 is how the layers
 * know a limp panel. Where a panel without a material leaves them out, 0.3 and 0.02 are in the
 * middle of what boards have (common practice, no source). */
static void build_panel(ebb_room_builder *builder, const ebb_room_record *record, ebb_layer *layer)
{
    static const ebb_room_material unknown = {"", NAN, NAN, 0.3, 0.02};
    const ebb_room_field *panel = ebb_room_get(record, "panel");
    const ebb_room_material *material =
        panel->text[0] != '\0' ? ebb_room_material_find(panel->text) : &unknown;
    const double density = ebb_room_number(record, "density", material->density);
    layer->thickness = panel->number[0];
    layer->mass = layer->thickness * density;
    layer->span = ebb_room_number(record, "span", 0);
    if (isnan(density))
        ebb_room_fault(builder->reader, &panel->place,
                       "a thickness alone needs density beside it; or name a material, such as "
                       "\"12.5 mm gypsum\"");
    if (layer->span == 0) {
        static const char why[] = "it has an effect only with span";
        ebb_room_refuse_key(builder, record, "modulus", why);
        ebb_room_refuse_key(builder, record, "poisson", why);
        ebb_room_refuse_key(builder, record, "loss", why);
        return;
    }
    layer->modulus = ebb_room_number(record, "modulus", material->modulus);
    layer->poisson = ebb_room_number(record, "poisson", material->poisson);
    layer->loss = ebb_room_number(record, "loss", material->loss);
    if (isnan(layer->modulus))
        ebb_room_fault(builder->reader, &ebb_room_get(record, "span")->place,
                       "a panel with span needs modulus beside it, or a material");
}

/* The defaults are those of mineral wool (common practice, no source). The two lengths stay 0 when
 * not given: the layers then derive them from the resistivity. */
static void build_porous(ebb_room_builder *builder, const ebb_room_record *record, ebb_layer *layer)
{
    layer->thickness = ebb_room_number(record, "porous", 0);
    layer->resistivity = ebb_room_number(record, "resistivity", 0);
    layer->porosity = ebb_room_number(record, "porosity", 0.98);
    layer->tortuosity = ebb_room_number(record, "tortuosity", 1);
    layer->viscous_length = ebb_room_number(record, "viscous_length", 0);
    layer->thermal_length = ebb_room_number(record, "thermal_length", 0);
    layer->frame_density = ebb_room_number(record, "density", 0);
    layer->model = (ebb_porous_model)ebb_room_word(record, "model", EBB_POROUS_JCA);
    if (layer->model == EBB_POROUS_LIMP && layer->frame_density == 0)
        ebb_room_fault(builder->reader, &ebb_room_get(record, "model")->place,
                       "the model \"limp\" needs density beside it");
    if (layer->model == EBB_POROUS_MIKI) {
        static const char why[] = "the model \"miki\" knows the resistivity alone";
        ebb_room_refuse_key(builder, record, "porosity", why);
        ebb_room_refuse_key(builder, record, "tortuosity", why);
        ebb_room_refuse_key(builder, record, "viscous_length", why);
        ebb_room_refuse_key(builder, record, "thermal_length", why);
    }
}

/* The resonance is that of the mass on the spring, so it fixes the stiffness; the tuning of a built
 * unit is what people know, its stiffness is not. */
static void build_lumped(ebb_room_builder *builder, const ebb_room_record *outer, ebb_layer *layer)
{
    const ebb_room_record *record = ebb_room_get(outer, "lumped")->record;
    const ebb_room_field *spring = ebb_room_one_of(builder, record, "resonance", "stiffness");
    layer->mass = ebb_room_number(record, "mass", 0);
    layer->resistance = ebb_room_number(record, "resistance", 0);
    layer->loss = ebb_room_number(record, "loss", 0);
    layer->stiffness = ebb_room_number(record, "stiffness", 0);
    if (spring == ebb_room_get(record, "resonance")) {
        const double omega = TWO_PI * spring->number[0];
        layer->stiffness = layer->mass * omega * omega;
    }
}

/* The forms of layers are in the order of ebb_layer_kind: which form a record was checked by says
 * which kind it is. */
static void build_layer(ebb_room_builder *builder, const ebb_room_record *record, ebb_layer *layer)
{
    layer->kind = (ebb_layer_kind)(record->form - ebb_room_layer_forms);
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
        build_porous(builder, record, layer);
        break;
    case EBB_LAYER_SCREEN:
        layer->resistance = ebb_room_number(record, "screen", 0);
        layer->mass = ebb_room_number(record, "mass", 0);
        break;
    case EBB_LAYER_GRANULAR: /* no form of the job file makes these yet */
    case EBB_LAYER_PERFORATED:
    case EBB_LAYER_SLITS:
    case EBB_LAYER_FRONT:
        break;
    case EBB_LAYER_LUMPED:
        build_lumped(builder, record, layer);
        break;
    }
}

/* All layers are built even when one has faults, so that those of the others are told too; the
 * assembly as a whole is of use only when none had any. */
static bool build_layers(ebb_room_builder *builder, const ebb_room_field *layers,
                         ebb_assembly *assembly)
{
    const size_t faults = builder->reader->n_faults;
    ebb_layer *layer = EBB_KEEP(builder, ebb_layer, layers->n);
    bool whole = layer != NULL;
    for (size_t i = 0; i < layers->n && layer != NULL; i++) {
        if (ebb_room_is_whole(&layers->record[i]))
            build_layer(builder, &layers->record[i], &layer[i]);
        else
            whole = false;
    }
    assembly->kind = EBB_ASSEMBLY_LAYERS;
    assembly->n_layers = layers->n;
    assembly->layers = layer;
    return whole && builder->reader->n_faults == faults;
}

/* ---- assemblies ------------------------------------------------------------------------------ */

static bool build_admittance(ebb_room_builder *builder, const ebb_room_field *field,
                             ebb_assembly *assembly)
{
    if (field->record != NULL)
        return ebb_room_is_whole(field->record) &&
               ebb_room_build_table(builder, ebb_room_get(field->record, "table"), assembly);
    assembly->kind = EBB_ASSEMBLY_CONSTANT;
    assembly->beta0 = field->number[0] + (field->n > 1 ? field->number[1] * I : 0);
    return true;
}

/* The ranges of single values were checked on reading; what remains is what ebb_assembly_check
 * knows better, such as that the real part of an admittance is not negative. It knows no places, so
 * its message is given the place of the whole. */
bool ebb_room_build_assembly(ebb_room_builder *builder, const ebb_room_record *record,
                             size_t back_fallback, ebb_assembly *assembly)
{
    const ebb_room_field *what = ebb_room_one_of(builder, record, "admittance", "layers");
    const ebb_room_field *layers = ebb_room_get(record, "layers");
    if (what == NULL)
        return false;
    if (what != layers)
        ebb_room_refuse_key(builder, record, "back",
                            "it goes with layers; an admittance is that of the whole");
    else if (ebb_room_is_absent(record, "back") && back_fallback == EBB_ROOM_NONE)
        ebb_room_fault(builder->reader, &record->place,
                       "layers need back beside them: rigid, outdoors or room");
    if (!what->good)
        return false;
    assembly->back = (ebb_back)ebb_room_word(
        record, "back", back_fallback != EBB_ROOM_NONE ? back_fallback : EBB_BACK_RIGID);
    if (!(what == layers ? build_layers(builder, layers, assembly)
                         : build_admittance(builder, what, assembly)))
        return false;
    (void)ebb_assembly_check(builder->reader->aside, assembly);
    return !ebb_room_take_aside(builder->reader, &what->place);
}
