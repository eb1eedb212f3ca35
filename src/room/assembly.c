/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Assemblies of layers, and admittances. */
#include "build.h"

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
                             const ebb_room_field *what, size_t back_fallback,
                             ebb_assembly *assembly)
{
    const ebb_room_field *layers = ebb_room_get(record, "layers");
    if (what != layers)
        ebb_room_refuse_key(builder, record, "back",
                            "it goes with layers; an admittance is that of the whole");
    else if (ebb_room_is_absent(record, "back") && back_fallback == EBB_ROOM_NONE)
        ebb_room_fault(builder->reader, &record->place,
                       "layers need back beside them: rigid, outdoors or room");
    if (!what->good)
        return false;
    assembly->kind = EBB_ASSEMBLY_LAYERS;
    assembly->back = (ebb_back)ebb_room_word(
        record, "back", back_fallback != EBB_ROOM_NONE ? back_fallback : EBB_BACK_RIGID);
    if (!(what == layers
              ? ebb_room_build_layers(builder, layers, &assembly->layers, &assembly->n_layers)
              : build_admittance(builder, what, assembly)))
        return false;
    (void)ebb_assembly_check(builder->reader->aside, assembly);
    return !ebb_room_take_aside(builder->reader, &what->place);
}
