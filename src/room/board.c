/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Boards: a thickness, a material or what stands beside it. */
#include "build.h"

#include <math.h>

/* Where a panel without a material leaves them out, 0.3 and 0.02 are in the middle of what boards
 * have (common practice, no source). */
bool ebb_room_build_board(ebb_room_builder *builder, const ebb_room_record *record, const char *key,
                          bool bends, ebb_board *board)
{
    static const ebb_board unknown = {"", 0, NAN, NAN, 0.3, 0.02};
    const ebb_room_field *field = ebb_room_get(record, key);
    const ebb_material *material = ebb_room_material(builder, field);
    const bool named = field->text[0] != '\0';
    *board = material != NULL ? material->board : unknown;
    board->thickness = field->number[0];
    board->density = ebb_room_number(record, "density", board->density);
    board->modulus = ebb_room_number(record, "modulus", board->modulus);
    board->poisson = ebb_room_number(record, "poisson", board->poisson);
    board->loss = ebb_room_number(record, "loss", board->loss);
    if (named && material == NULL)
        return false;
    if (isnan(board->density))
        ebb_room_fault(builder->reader, &field->place,
                       "a thickness alone needs density beside it; or name a material, such as "
                       "\"12.5 mm gypsum\"");
    if (bends && isnan(board->modulus))
        ebb_room_fault(builder->reader, &field->place,
                       "a board that bends needs modulus beside it, or a material");
    return !isnan(board->density) && !(bends && isnan(board->modulus));
}
