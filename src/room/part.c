/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Floor, ceilings and uprights of a shape, cut by its bodies, as parts of planes. */
#include "shape.h"

#include "vector.h"

#include <stdio.h>
#include <string.h>

#define NONE ((size_t)-1)

/* ---- from regions to loops in space ---------------------------------------------------------- */

/* Room for as many loops more; loops that are there already move along. */
static bool make_room(ebb_arena *arena, ebb_room_part *part, size_t more)
{
    ebb_room_loop *loop = EBB_NEW(arena, ebb_room_loop, part->n_loops + more);
    if (loop == NULL)
        return false;
    if (part->n_loops > 0)
        memcpy(loop, part->loop, part->n_loops * sizeof *loop);
    part->loop = loop;
    return true;
}

ebb_vec3 ebb_room_loop_area(const ebb_room_loop *loop)
{
    ebb_vec3 sum = {0, 0, 0};
    for (size_t i = 1; i + 1 < loop->n; i++)
        sum = ebb_plus(sum, 0.5,
                       ebb_cross(ebb_minus(loop->point[i], loop->point[0]),
                                 ebb_minus(loop->point[i + 1], loop->point[0])));
    return sum;
}

/* Outer loops run counter-clockwise seen from inside, so their area points into the room. */
static void turn_loop(ebb_room_loop *loop, ebb_vec3 normal)
{
    const bool into = ebb_dot(ebb_room_loop_area(loop), normal) < 0;
    if (into != loop->hole)
        return;
    for (size_t i = 0, j = loop->n - 1; i < j; i++, j--) {
        const ebb_vec3 kept = loop->point[i];
        loop->point[i] = loop->point[j];
        loop->point[j] = kept;
    }
}

static ebb_room_loop *new_loop(ebb_arena *arena, ebb_room_part *part, const ebb_room_ring *ring)
{
    ebb_room_loop *loop = &part->loop[part->n_loops];
    *loop = (ebb_room_loop){ring->n, EBB_NEW(arena, ebb_vec3, ring->n), ring->hole, NULL};
    if (loop->point == NULL)
        return NULL;
    part->n_loops++;
    return loop;
}

/* Where points of a region lie in the room: `at`, plus their first coordinate times `first` and
 * their second times `second`. */
typedef struct placing {
    ebb_vec3 at, first, second;
} placing;

static bool place_region(ebb_arena *arena, ebb_room_part *part, const ebb_room_region *region,
                         const placing *where)
{
    if (!make_room(arena, part, region->n))
        return false;
    for (size_t r = 0; r < region->n; r++) {
        ebb_room_loop *loop = new_loop(arena, part, &region->ring[r]);
        if (loop == NULL)
            return false;
        for (size_t i = 0; i < loop->n; i++) {
            const double *p = region->ring[r].point[i];
            loop->point[i] = ebb_plus(ebb_plus(where->at, p[0], where->first), p[1], where->second);
        }
        turn_loop(loop, part->normal);
    }
    return true;
}

bool ebb_room_part_lift(ebb_arena *arena, ebb_room_part *part, const ebb_room_region *region,
                        const ebb_room_plane *plane)
{
    const placing where = {{0, 0, plane->at}, {1, 0, plane->x}, {0, 1, plane->y}};
    return place_region(arena, part, region, &where);
}

bool ebb_room_part_raise(ebb_arena *arena, ebb_room_part *part, const ebb_room_region *region,
                         const double a[2], const double b[2])
{
    const double length = hypot(b[0] - a[0], b[1] - a[1]);
    const ebb_vec3 along = {(b[0] - a[0]) / length, (b[1] - a[1]) / length, 0};
    const placing where = {{a[0], a[1], 0}, along, {0, 0, 1}};
    return place_region(arena, part, region, &where);
}

ebb_room_region ebb_room_region_over(ebb_room_cutter *cutter, ebb_arena *arena,
                                     const ebb_room_ceiling *ceiling, const double a[2],
                                     const double b[2])
{
    double t[EBB_ROOM_MOST_PLANES];
    const double length = hypot(b[0] - a[0], b[1] - a[1]);
    const size_t n = ebb_room_ceiling_breaks(ceiling, a, b, t);
    double(*p)[2] = ebb_arena_alloc(arena, n + 4, sizeof *p);
    if (p == NULL)
        return ebb_room_region_of(cutter, NULL);
    p[1][0] = p[2][0] = length;
    p[2][1] = ebb_room_ceiling_height(ceiling, b);
    for (size_t i = 0; i < n; i++) {
        const double s = t[n - 1 - i];
        const double at[2] = {a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])};
        p[3 + i][0] = s * length;
        p[3 + i][1] = ebb_room_ceiling_height(ceiling, at);
    }
    p[3 + n][1] = ebb_room_ceiling_height(ceiling, a);
    const ebb_room_outline outline = {n + 4, p};
    return ebb_room_region_of(cutter, &outline);
}

/* ---- what bodies take away ------------------------------------------------------------------- */

static void take(ebb_room_cutter *cutter, ebb_room_region *region, const ebb_room_region *away)
{
    if (away->n > 0 && region->n > 0)
        *region = ebb_room_region_without(cutter, region, away);
}

static ebb_room_region open_plan(ebb_room_cutter *cutter, const ebb_room_shape *shape)
{
    ebb_room_region plan = ebb_room_region_of(cutter, &shape->plan);
    for (size_t i = 0; i < shape->n_columns; i++) {
        const ebb_room_region column = ebb_room_region_of(cutter, &shape->column[i]);
        take(cutter, &plan, &column);
    }
    return plan;
}

/* A body takes from a ceiling what lies between its lower and upper end. */
static void take_from_ceiling(ebb_room_cutter *cutter, const ebb_room_shape *shape,
                              const ebb_room_plane *plane, ebb_room_region *region)
{
    for (size_t i = 0; i < shape->n_blocks; i++) {
        const ebb_room_block *block = &shape->block[i];
        const ebb_room_plane low = {block->low, 0, 0}, high = {block->high, 0, 0};
        ebb_room_region foot = ebb_room_region_of(cutter, &block->foot);
        if (block->low > 0)
            foot = ebb_room_region_below(cutter, &foot, &low, plane);
        if (isfinite(block->high))
            foot = ebb_room_region_below(cutter, &foot, plane, &high);
        take(cutter, region, &foot);
    }
}

/* A body takes a rectangle from every upright that a side of its foot lies on. Both run in
 * opposite directions; the ends are sorted by the cutting. */
static void take_from_upright(ebb_room_cutter *cutter, ebb_arena *arena,
                              const ebb_room_shape *shape, size_t u, ebb_room_region *region)
{
    const ebb_room_upright on = ebb_room_upright_of(shape, u);
    for (size_t i = 0; i < shape->n_blocks; i++) {
        const ebb_room_block *block = &shape->block[i];
        for (size_t s = 0; s < block->foot.n; s++) {
            if (ebb_room_foot_upright(shape, &block->foot, s) != u)
                continue;
            const double *a = block->foot.corner[s];
            const double *b = block->foot.corner[(s + 1) % block->foot.n];
            const double from = hypot(a[0] - on.from[0], a[1] - on.from[1]);
            const double to = hypot(b[0] - on.from[0], b[1] - on.from[1]);
            const double top = isfinite(block->high) ? block->high : 100;
            double(*p)[2] = ebb_arena_alloc(arena, 4, sizeof *p);
            if (p == NULL) {
                *region = ebb_room_region_of(cutter, NULL);
                return;
            }
            for (int k = 0; k < 4; k++) {
                p[k][0] = k == 0 || k == 3 ? from : to;
                p[k][1] = k < 2 ? block->low : top;
            }
            const ebb_room_outline outline = {4, p};
            const ebb_room_region away = ebb_room_region_of(cutter, &outline);
            take(cutter, region, &away);
        }
    }
}

/* ---- parts ----------------------------------------------------------------------------------- */

static bool build_floor(ebb_room_cutter *cutter, ebb_arena *arena, const ebb_room_shape *shape,
                        ebb_room_part *part)
{
    const ebb_room_plane ground = {0, 0, 0};
    ebb_room_region region = open_plan(cutter, shape);
    for (size_t i = 0; i < shape->n_blocks; i++) {
        const ebb_room_region foot = ebb_room_region_of(cutter, &shape->block[i].foot);
        if (shape->block[i].low <= 0)
            take(cutter, &region, &foot);
    }
    part->normal = (ebb_vec3){0, 0, -1};
    return ebb_room_part_lift(arena, part, &region, &ground);
}

/* Region where one plane of the ceiling is the lowest. */
static ebb_room_region lowest_at(ebb_room_cutter *cutter, const ebb_room_shape *shape, size_t i)
{
    const ebb_room_ceiling *ceiling = &shape->ceiling;
    ebb_room_region region = open_plan(cutter, shape);
    for (size_t j = 0; j < ceiling->n; j++)
        if (j != i)
            region = ebb_room_region_below(cutter, &region, &ceiling->plane[i], &ceiling->plane[j]);
    return region;
}

static bool build_ceiling(ebb_room_cutter *cutter, ebb_arena *arena, const ebb_room_shape *shape,
                          size_t i, ebb_room_part *part)
{
    const ebb_room_plane *plane = &shape->ceiling.plane[i];
    ebb_room_region region = lowest_at(cutter, shape, i);
    take_from_ceiling(cutter, shape, plane, &region);
    const double length = sqrt(1 + plane->x * plane->x + plane->y * plane->y);
    part->normal = (ebb_vec3){0 - plane->x / length, 0 - plane->y / length, 1 / length};
    return ebb_room_part_lift(arena, part, &region, plane);
}

static bool build_upright(ebb_room_cutter *cutter, ebb_arena *arena, const ebb_room_shape *shape,
                          size_t u, ebb_room_part *part)
{
    const ebb_room_upright on = ebb_room_upright_of(shape, u);
    const double x = on.to[0] - on.from[0], y = on.to[1] - on.from[1], length = hypot(x, y);
    ebb_room_region region = ebb_room_region_over(cutter, arena, &shape->ceiling, on.from, on.to);
    take_from_upright(cutter, arena, shape, u, &region);
    part->normal = (ebb_vec3){y / length, 0 - x / length, 0};
    part->from = (ebb_vec3){on.from[0], on.from[1], 0};
    part->wall = true;
    return ebb_room_part_raise(arena, part, &region, on.from, on.to);
}

const char *ebb_room_planes_fault(ebb_room_cutter *cutter, ebb_arena *arena,
                                  const ebb_room_shape *shape)
{
    const ebb_room_ceiling *ceiling = &shape->ceiling;
    for (size_t i = 0; i < ceiling->n; i++) {
        for (size_t j = 0; j < i; j++) {
            const ebb_room_plane *p = &ceiling->plane[i], *q = &ceiling->plane[j];
            if (hypot(p->x - q->x, p->y - q->y) < 1e-6 && fabs(p->at - q->at) < 1e-4)
                return ebb_room_say(arena, "planes %zu and %zu are the same", j + 1, i + 1);
        }
        const ebb_room_region region = lowest_at(cutter, shape, i);
        if (ebb_room_cutter_fault(cutter) == NULL && region.n == 0)
            return ebb_room_say(arena, "plane %zu is nowhere the lowest; leave it out", i + 1);
    }
    return NULL;
}

/* A surface that is gone altogether has no construction, no area and no use for its number. */
static const char *gone_fault(ebb_arena *arena, const ebb_room_part *part)
{
    if (part->n_loops > 0)
        return NULL;
    return ebb_room_say(arena, "bodies cover all of %s; draw them into the plan or ceiling instead",
                        part->name);
}

/* A number for a name; there are never more than two digits of it. */
static unsigned short_number(size_t i)
{
    return (unsigned)(i % 100);
}

/* "floor", "ceiling" or "ceiling_1", "wall_1" ..., "ceiling_2" ..., "column_1_1" ... */
bool ebb_room_bare_name(const ebb_room_shape *shape, size_t i, char name[24])
{
    const size_t walls = shape->plan.n, more = shape->ceiling.n - 1;
    if (i >= 1 + shape->ceiling.n + ebb_room_uprights(shape))
        return false;
    if (i < 2) {
        snprintf(name, 24, "%s", i == 0 ? "floor" : more == 0 ? "ceiling" : "ceiling_1");
    } else if (i < 2 + walls) {
        snprintf(name, 24, "wall_%u", short_number(i - 1));
    } else if (i < 2 + walls + more) {
        snprintf(name, 24, "ceiling_%u", short_number(i - walls));
    } else {
        const ebb_room_upright u = ebb_room_upright_of(shape, i - 2 - more);
        snprintf(name, 24, "column_%u_%u", short_number(u.column), short_number(u.side + 1));
    }
    return true;
}

const char *ebb_room_parts_build(ebb_room_cutter *cutter, ebb_arena *arena,
                                 const ebb_room_shape *shape, ebb_room_parts *parts)
{
    const size_t walls = shape->plan.n, more = shape->ceiling.n - 1;
    const size_t bare = 1 + shape->ceiling.n + ebb_room_uprights(shape);
    parts->n = 0;
    parts->part = EBB_NEW(arena, ebb_room_part, bare + 5 * shape->n_blocks);
    if (parts->part == NULL)
        return ebb_room_no_memory;
    for (size_t i = 0; i < bare; i++) {
        ebb_room_part *part = &parts->part[parts->n++];
        part->block = part->side = NONE;
        (void)ebb_room_bare_name(shape, i, part->name);
        bool done;
        if (i < 2)
            done = i == 0 ? build_floor(cutter, arena, shape, part)
                          : build_ceiling(cutter, arena, shape, 0, part);
        else if (i >= 2 + walls && i < 2 + walls + more)
            done = build_ceiling(cutter, arena, shape, i - walls - 1, part);
        else
            done = build_upright(cutter, arena, shape, i < 2 + walls ? i - 2 : i - 2 - more, part);
        if (!done)
            return ebb_room_no_memory;
        const char *why = ebb_room_cutter_fault(cutter);
        if (why == NULL)
            why = gone_fault(arena, part);
        if (why != NULL)
            return why;
    }
    if (!ebb_room_parts_of_bodies(cutter, arena, shape, parts))
        return ebb_room_no_memory;
    return ebb_room_cutter_fault(cutter);
}
