/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Bodies: from how they are given on a surface to upright prisms. */
#include "shape.h"

#include "vector.h"

#include <string.h>

#define LITTLE 1e-9 /* m */

/* ---- where it stands ------------------------------------------------------------------------- */

static bool new_foot(ebb_arena *arena, ebb_room_block *block, const double corner[4][2],
                     const ebb_room_side tag[4])
{
    block->foot = (ebb_room_outline){4, ebb_arena_alloc(arena, 4, sizeof *block->foot.corner)};
    block->tag = EBB_NEW(arena, ebb_room_side, 4);
    if (block->foot.corner == NULL || block->tag == NULL)
        return false;
    memcpy(block->foot.corner, corner, 4 * sizeof *corner);
    memcpy(block->tag, tag, 4 * sizeof *tag);
    return true;
}

/* Seen from the room, metres along a wall count to the left. */
static const char *stand_on_wall(ebb_arena *arena, const ebb_room_upright *u, ebb_room_block *b)
{
    static const ebb_room_side tag[4] = {EBB_ROOM_BACK, EBB_ROOM_LEFT, EBB_ROOM_FRONT,
                                         EBB_ROOM_RIGHT};
    const double length = hypot(u->to[0] - u->from[0], u->to[1] - u->from[1]);
    const double along[2] = {(u->to[0] - u->from[0]) / length, (u->to[1] - u->from[1]) / length};
    const double in[2] = {-along[1], along[0]};
    const double over = b->at[0] + b->size[0] - length;
    if (b->at[0] < -EBB_ROOM_FLUSH || over > EBB_ROOM_FLUSH)
        return ebb_room_say(arena, "it reaches %.4g m %s end of the wall, which is %.4g m long",
                            over > -b->at[0] ? over : -b->at[0],
                            over > -b->at[0] ? "beyond the far" : "before the near", length);
    double corner[4][2];
    for (int i = 0; i < 4; i++) {
        const double s = b->at[0] + (i == 1 || i == 2 ? b->size[0] : 0), d = i < 2 ? 0 : b->depth;
        for (int k = 0; k < 2; k++)
            corner[i][k] = u->from[k] + s * along[k] + d * in[k];
    }
    b->under = EBB_ROOM_BOTTOM;
    b->over = EBB_ROOM_TOP;
    b->low = b->at[1];
    b->high = b->at[1] + b->size[1];
    return new_foot(arena, b, (const double(*)[2])corner, tag) ? NULL : ebb_room_no_memory;
}

static const char *stand_level(ebb_arena *arena, const ebb_room_plane *ceiling, ebb_room_block *b)
{
    static const ebb_room_side tag[4] = {EBB_ROOM_BOTTOM, EBB_ROOM_RIGHT, EBB_ROOM_TOP,
                                         EBB_ROOM_LEFT};
    const double x = b->at[0], y = b->at[1], l = b->size[0], w = b->size[1];
    const double corner[4][2] = {{x, y}, {x + l, y}, {x + l, y + w}, {x, y + w}};
    if (ceiling == NULL) {
        b->under = EBB_ROOM_BACK;
        b->over = EBB_ROOM_FRONT;
        b->low = 0;
        b->high = b->depth;
    } else if (ebb_room_plane_is_level(ceiling)) {
        b->under = EBB_ROOM_FRONT;
        b->over = EBB_ROOM_BACK;
        b->low = ceiling->at - b->depth;
        b->high = ceiling->at;
    } else {
        return "a body stands on the floor, a wall, a column or a level ceiling; hang it on a wall "
               "instead, it may reach up to the slope";
    }
    return new_foot(arena, b, corner, tag) ? NULL : ebb_room_no_memory;
}

/* The order of surfaces: floor, first ceiling, walls, further ceilings, columns. */
static const char *stand(ebb_arena *arena, const ebb_room_shape *shape, ebb_room_block *block)
{
    const size_t walls = shape->plan.n, more = shape->ceiling.n - 1;
    size_t on = block->on;
    if (on < 2)
        return stand_level(arena, on == 0 ? NULL : &shape->ceiling.plane[0], block);
    on -= 2;
    if (on >= walls && on < walls + more)
        return stand_level(arena, &shape->ceiling.plane[1 + on - walls], block);
    const ebb_room_upright u = ebb_room_upright_of(shape, on < walls ? on : on - more);
    return stand_on_wall(arena, &u, block);
}

/* ---- how high it reaches --------------------------------------------------------------------- */

static const char *low_fault(ebb_arena *arena, ebb_room_block *block)
{
    if (block->low < -EBB_ROOM_FLUSH)
        return ebb_room_say(arena, "it reaches %.4g m below the floor", -block->low);
    if (block->low <= EBB_ROOM_FLUSH)
        block->low = 0;
    else if (block->low < EBB_ROOM_GAP)
        return ebb_room_say(arena,
                            "it is %.3g mm above the floor; let it stand there or leave at "
                            "least %.3g mm",
                            1000 * block->low, 1000 * EBB_ROOM_GAP);
    return NULL;
}

/* Under a slope the top may reach the ceiling on a wall, where the slope rises from it, but not
 * touch it with an edge in the open: the air would be pinched there. */
static bool touches_in_the_open(const ebb_room_shape *shape, const ebb_room_block *block)
{
    for (size_t i = 0; i < block->foot.n; i++) {
        const double *at = block->foot.corner[i];
        const size_t before = (i + block->foot.n - 1) % block->foot.n;
        if (fabs(ebb_room_ceiling_height(&shape->ceiling, at) - block->high) < LITTLE &&
            ebb_room_foot_upright(shape, &block->foot, i) == (size_t)-1 &&
            ebb_room_foot_upright(shape, &block->foot, before) == (size_t)-1)
            return true;
    }
    return false;
}

/* A body that is given higher than the ceiling anywhere over it is a slip. */
static const char *high_fault(ebb_arena *arena, const ebb_room_shape *shape, ebb_room_block *block)
{
    double range[2];
    ebb_room_ceiling_range(&shape->ceiling, &block->foot, range);
    if (block->high > range[1] + EBB_ROOM_FLUSH)
        return ebb_room_say(arena,
                            "it reaches up to %.4g m; the ceiling over it is %.4g m high at "
                            "most",
                            block->high, range[1]);
    if (block->high >= range[1] - EBB_ROOM_FLUSH) {
        block->high = INFINITY;
        return NULL;
    }
    for (size_t i = 0; i < block->foot.n; i++) {
        const double height = ebb_room_ceiling_height(&shape->ceiling, block->foot.corner[i]);
        if (fabs(height - block->high) <= EBB_ROOM_FLUSH)
            block->high = height;
    }
    for (size_t i = 0; i < block->foot.n; i++) {
        const double off =
            fabs(ebb_room_ceiling_height(&shape->ceiling, block->foot.corner[i]) - block->high);
        if (off > EBB_ROOM_SAME && off <= EBB_ROOM_FLUSH)
            return ebb_room_say(arena,
                                "its upper edge runs along a slope that rises by %.3g mm over it; "
                                "let it end at least 30 mm lower or higher",
                                1000 * off);
    }
    const double gap = range[0] - block->high;
    if (gap > LITTLE && gap < EBB_ROOM_GAP)
        return ebb_room_say(arena,
                            "it ends %.3g mm below the ceiling; let it reach it or leave at "
                            "least %.3g mm",
                            1000 * gap, 1000 * EBB_ROOM_GAP);
    if (gap > -LITTLE && touches_in_the_open(shape, block))
        return "its upper edge just touches the slope; let it end lower or reach into it";
    return NULL;
}

/* ---- beside others --------------------------------------------------------------------------- */

static bool overlap_in_plan(ebb_room_cutter *cutter, const ebb_room_block *a,
                            const ebb_room_block *b)
{
    const ebb_room_region p = ebb_room_region_of(cutter, &a->foot);
    const ebb_room_region q = ebb_room_region_of(cutter, &b->foot);
    const ebb_room_region both = ebb_room_region_within(cutter, &p, &q);
    return both.n > 0;
}

static const char *beside_fault(ebb_room_cutter *cutter, ebb_arena *arena,
                                const ebb_room_shape *shape, size_t i)
{
    const ebb_room_block *a = &shape->block[i];
    for (size_t j = 0; j < i; j++) {
        const ebb_room_block *b = &shape->block[j];
        const double over = fmax(a->low - b->high, b->low - a->high);
        const bool both = overlap_in_plan(cutter, a, b);
        const double aside = both ? 0 : ebb_room_outlines_apart(&a->foot, &b->foot);
        if (over > EBB_ROOM_GAP - LITTLE || aside > EBB_ROOM_GAP - LITTLE)
            continue;
        if (both && over < -EBB_ROOM_FLUSH)
            return ebb_room_say(arena, "it overlaps body %zu, \"%s\"", j + 1, b->name);
        return ebb_room_say(arena,
                            "it is %.3g mm from body %zu, \"%s\"; bodies must stand at least "
                            "%.3g mm apart: make one body of two that touch",
                            1000 * fmax(fmax(over, aside), 0), j + 1, b->name, 1000 * EBB_ROOM_GAP);
    }
    return NULL;
}

const char *ebb_room_block_build(ebb_room_cutter *cutter, ebb_arena *arena,
                                 const ebb_room_shape *shape, size_t i)
{
    ebb_room_block *block = &shape->block[i];
    const char *why = stand(arena, shape, block);
    if (why != NULL)
        return why;
    if (!ebb_room_foot_fit(arena, shape, block))
        return ebb_room_no_memory;
    why = low_fault(arena, block);
    if (why == NULL)
        why = ebb_room_foot_fault(cutter, arena, shape, block);
    if (why == NULL)
        why = high_fault(arena, shape, block);
    if (why == NULL && block->low > 0 && !(block->high - block->low >= EBB_ROOM_GAP))
        why = "it reaches down below the floor or is thinner than 30 mm";
    return why != NULL ? why : beside_fault(cutter, arena, shape, i);
}
