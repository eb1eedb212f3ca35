/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Free sides of bodies as parts of planes. */
#include "shape.h"

#include "vector.h"

#include <stdio.h>

static const char *const side_names[] = {"front", "left", "right", "top", "bottom"};

/* What of a region of heights lies between the ends of a block. */
static ebb_room_region between(ebb_room_cutter *cutter, ebb_arena *arena,
                               const ebb_room_block *block, double length,
                               const ebb_room_region *region)
{
    double(*p)[2] = ebb_arena_alloc(arena, 4, sizeof *p);
    if (p == NULL)
        return ebb_room_region_of(cutter, NULL);
    for (int k = 0; k < 4; k++) {
        p[k][0] = k == 0 || k == 3 ? -1 : length + 1;
        p[k][1] = k < 2 ? block->low : isfinite(block->high) ? block->high : 100;
    }
    const ebb_room_outline outline = {4, p};
    const ebb_room_region band = ebb_room_region_of(cutter, &outline);
    return ebb_room_region_within(cutter, region, &band);
}

/* Sides of the foot that carry the tag, unless they lie on a wall. The foot runs round the body,
 * the air is on its right: seen as a wall, a side runs the other way. */
static bool build_upright(ebb_room_cutter *cutter, ebb_arena *arena, const ebb_room_shape *shape,
                          const ebb_room_block *block, ebb_room_part *part)
{
    for (size_t i = 0; i < block->foot.n; i++) {
        if (block->tag[i] != (ebb_room_side)part->side ||
            ebb_room_foot_upright(shape, &block->foot, i) != (size_t)-1)
            continue;
        const double *b = block->foot.corner[i], *a = block->foot.corner[(i + 1) % block->foot.n];
        const double x = b[0] - a[0], y = b[1] - a[1], length = hypot(x, y);
        ebb_room_region region = ebb_room_region_over(cutter, arena, &shape->ceiling, a, b);
        region = between(cutter, arena, block, length, &region);
        part->normal = (ebb_vec3){y / length, 0 - x / length, 0};
        if (!ebb_room_part_raise(arena, part, &region, a, b))
            return false;
    }
    return true;
}

/* The level side at the upper end where the ceiling is above it, or at the lower end where that is
 * above floor and below the ceiling. */
static bool build_level(ebb_room_cutter *cutter, ebb_arena *arena, const ebb_room_shape *shape,
                        const ebb_room_block *block, bool upper, ebb_room_part *part)
{
    const ebb_room_plane level = {upper ? block->high : block->low, 0, 0};
    if (!isfinite(level.at) || level.at <= 0)
        return true;
    ebb_room_region region = ebb_room_region_of(cutter, &block->foot);
    for (size_t i = 0; i < shape->ceiling.n; i++)
        region = ebb_room_region_below(cutter, &region, &level, &shape->ceiling.plane[i]);
    part->normal = (ebb_vec3){0, 0, upper ? -1 : 1};
    return ebb_room_part_lift(arena, part, &region, &level);
}

bool ebb_room_parts_of_bodies(ebb_room_cutter *cutter, ebb_arena *arena,
                              const ebb_room_shape *shape, ebb_room_parts *parts)
{
    for (size_t i = 0; i < shape->n_blocks; i++) {
        const ebb_room_block *block = &shape->block[i];
        for (size_t side = EBB_ROOM_FRONT; side < EBB_ROOM_BACK; side++) {
            ebb_room_part *part = &parts->part[parts->n];
            *part = (ebb_room_part){.block = i, .side = side};
            snprintf(part->name, sizeof part->name, "body_%u_%s", (unsigned)(i + 1) % 100,
                     side_names[side]);
            const bool upper = (size_t)block->over == side, lower = (size_t)block->under == side;
            if (!(upper || lower ? build_level(cutter, arena, shape, block, upper, part)
                                 : build_upright(cutter, arena, shape, block, part)))
                return false;
            parts->n += part->n_loops > 0;
        }
    }
    return true;
}
