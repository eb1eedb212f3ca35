/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Numbers the freedoms by nested halves (George 1973, from memory): the room is cut in two, each
 * half in two, down to single elements; what no element outside a half shares is eliminated with
 * it. Cuts are planes: rooms are compact and their meshes even, so the best of a few directions is
 * as good as a general partitioner, and it can be drawn on a napkin.
 */
#include "space.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define DIRECTIONS 9

/* Walls are mostly square to each other, and rooms may be turned: axes and diagonals of the planes
 * between them. */
static const double direction[DIRECTIONS][3] = {{1, 0, 0},  {0, 1, 0},  {0, 0, 1},
                                                {1, 1, 0},  {1, -1, 0}, {1, 0, 1},
                                                {1, 0, -1}, {0, 1, 1},  {0, 1, -1}};

/* An element seen along a direction. */
typedef struct along {
    double key;
    size_t element;
} along;

static int compare_along(const void *left, const void *right)
{
    const along *a = left, *b = right;
    if (a->key != b->key)
        return a->key < b->key ? -1 : 1;
    return a->element < b->element ? -1 : a->element > b->element;
}

/* Work arrays of the cutting; `first` and `last` hold by part where it begins and ends in the row
 * of elements at hand. */
typedef struct cutter {
    ebb_space *space;
    along *row, *best;
    size_t *first, *last;
    double *crossing; /* freedoms cut between neighbours in the row */
} cutter;

/* Four times the place of the middle; only the order counts. */
static double middle_along(const ebb_space *space, const ebb_element *element, const double d[3])
{
    double sum = 0;
    for (int c = 0; c < 4; c++) {
        const ebb_vec3 at = space->mesh.node[element->corner[c]];
        sum += d[0] * at.x + d[1] * at.y + d[2] * at.z;
    }
    return sum;
}

/* Freedoms that a cut after each element of the row would go through. */
static void count_crossings(cutter *c, size_t n)
{
    const ebb_space *space = c->space;
    for (size_t i = 0; i < n; i++) {
        c->crossing[i] = 0;
        for (int p = 0; p < EBB_PARTS; p++) {
            const size_t part = space->element[c->row[i].element].part[p];
            if (c->first[part] == SIZE_MAX)
                c->first[part] = i;
            c->last[part] = i;
        }
    }
    for (size_t i = 0; i < n; i++)
        for (int p = 0; p < EBB_PARTS; p++) {
            const size_t part = space->element[c->row[i].element].part[p];
            if (c->first[part] == SIZE_MAX)
                continue;
            const double freedoms = (double)space->simplex.inside[space->part_kind[part]];
            c->crossing[c->first[part]] += freedoms;
            c->crossing[c->last[part]] -= freedoms;
            c->first[part] = SIZE_MAX;
        }
    for (size_t i = 1; i < n; i++)
        c->crossing[i] += c->crossing[i - 1];
}

/* The cheapest cut of the row, near its middle: one that balances badly must be much smaller to
 * pay. */
static size_t cheapest(const cutter *c, size_t n, double *least)
{
    size_t where = 0;
    for (size_t i = n < 3 ? 1 : n * 35 / 100; i <= n * 65 / 100; i++) {
        const double left = (double)i / (double)n;
        const double cost = i > 0 ? c->crossing[i - 1] / (left * (1 - left)) : INFINITY;
        if (cost < *least) {
            *least = cost;
            where = i;
        }
    }
    return where;
}

/* Puts the elements in the order of the best cut, and says where it is. */
static size_t cut(cutter *c, size_t from, size_t to)
{
    const size_t n = to - from;
    size_t *order = c->space->order + from, where = 0;
    double least = INFINITY;
    for (int d = 0; d < DIRECTIONS; d++) {
        for (size_t i = 0; i < n; i++)
            c->row[i] = (along){middle_along(c->space, &c->space->element[order[i]], direction[d]),
                                order[i]};
        qsort(c->row, n, sizeof *c->row, compare_along);
        count_crossings(c, n);
        const size_t here = cheapest(c, n, &least);
        if (here > 0) {
            where = here;
            memcpy(c->best, c->row, n * sizeof *c->row);
        }
    }
    for (size_t i = 0; i < n; i++)
        order[i] = c->best[i].element;
    return from + where;
}

/* Halves of elements from..to; children are numbered before their parent. Returns its number. The
 * depth is that of a balanced tree, so recursion is safe. */
static size_t halve(cutter *c, size_t from, size_t to)
{
    ebb_half half = {.from = from, .to = to};
    if (to - from > 1) {
        const size_t middle = cut(c, from, to);
        half.child[0] = halve(c, from, middle);
        half.child[1] = halve(c, middle, to);
    }
    c->space->half[c->space->n_halves] = half;
    return c->space->n_halves++;
}

/* The two markers of every part are kept empty between cuts: clearing them all would cost more than
 * the cut of a small half. */
static bool make_halves(ebb_arena *scratch, ebb_space *space)
{
    const size_t n = space->mesh.n_tets;
    cutter c = {space,
                EBB_NEW(scratch, along, n),
                EBB_NEW(scratch, along, n),
                EBB_NEW(scratch, size_t, space->n_parts),
                EBB_NEW(scratch, size_t, space->n_parts),
                EBB_NEW(scratch, double, n)};
    space->order = EBB_NEW(space->arena, size_t, n);
    space->half = EBB_NEW(space->arena, ebb_half, 2 * n);
    if (!c.row || !c.best || !c.first || !c.last || !c.crossing || !space->order || !space->half)
        return false;
    for (size_t t = 0; t < n; t++)
        space->order[t] = t;
    for (size_t p = 0; p < space->n_parts; p++)
        c.first[p] = SIZE_MAX;
    halve(&c, 0, n);
    return true;
}

/* ---- numbers --------------------------------------------------------------------------------- */

/* Half in which each part is eliminated: the smallest that holds all its elements. */
static bool own_parts(ebb_arena *scratch, const ebb_space *space, size_t *owner)
{
    size_t *first = EBB_NEW(scratch, size_t, space->n_parts);
    size_t *last = EBB_NEW(scratch, size_t, space->n_parts);
    if (!first || !last)
        return false;
    for (size_t i = space->mesh.n_tets; i-- > 0;)
        for (int p = 0; p < EBB_PARTS; p++) {
            const size_t part = space->element[space->order[i]].part[p];
            first[part] = i;
            if (last[part] == 0)
                last[part] = i;
        }
    for (size_t part = 0; part < space->n_parts; part++) {
        size_t h = space->n_halves - 1;
        for (bool deeper = true; deeper && space->half[h].to - space->half[h].from > 1;) {
            const size_t left = space->half[h].child[0], right = space->half[h].child[1];
            const size_t middle = space->half[left].to;
            deeper = last[part] < middle || first[part] >= middle;
            if (deeper)
                h = last[part] < middle ? left : right;
        }
        owner[part] = h;
    }
    return true;
}

/* Numbers freedoms half by half; parts of a half in the order of their numbers. */
static ebb_status number_freedoms(ebb_ctx *ctx, ebb_arena *scratch, ebb_space *space)
{
    size_t *owner = EBB_NEW(scratch, size_t, space->n_parts);
    space->part_first = EBB_NEW(space->arena, int, space->n_parts);
    if (!owner || !space->part_first || !own_parts(scratch, space, owner))
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the freedoms");
    for (size_t p = 0; p < space->n_parts; p++) {
        const size_t freedoms = space->simplex.inside[space->part_kind[p]];
        space->half[owner[p]].own += (int)freedoms;
        space->size += freedoms;
        if (space->size > EBB_FREEDOMS_MOST)
            return ebb_fail(
                ctx, EBB_E_RANGE,
                "the mesh has more than %d freedoms; take longer edges or a lower order",
                EBB_FREEDOMS_MOST);
    }
    int next = 0;
    for (size_t h = 0; h < space->n_halves; h++) {
        space->half[h].first = next;
        next += space->half[h].own;
        space->half[h].own = 0;
    }
    for (size_t p = 0; p < space->n_parts; p++) {
        ebb_half *half = &space->half[owner[p]];
        space->part_first[p] = half->first + half->own;
        half->own += (int)space->simplex.inside[space->part_kind[p]];
    }
    return EBB_OK;
}

/* ---- freedoms of elements, walls and rims ---------------------------------------------------- */

/* The freedoms of the parts of a simplex, in the order of its nodes. */
static int *list_freedoms(const ebb_space *space, size_t n, size_t n_parts, const size_t *part)
{
    int *out = EBB_NEW(space->arena, int, n), *next = out;
    for (size_t p = 0; out && p < n_parts; p++)
        for (size_t i = 0; i < space->simplex.inside[space->part_kind[part[p]]]; i++)
            *next++ = space->part_first[part[p]] + (int)i;
    return out;
}

/* Parts of a face among those of its element: corner bits translated from face to element. */
static void parts_of_wall(const ebb_element *owner, const ebb_wall *wall, size_t part[7])
{
    static const unsigned char bits[7] = {1, 2, 4, 3, 5, 6, 7};
    unsigned corner[3] = {0};
    for (unsigned i = 0; i < 3; i++)
        for (unsigned c = 0; c < 4; c++)
            if (owner->corner[c] == wall->corner[i])
                corner[i] = 1u << c;
    for (int p = 0; p < 7; p++) {
        unsigned wanted = 0;
        for (int i = 0; i < 3; i++)
            wanted |= bits[p] >> i & 1 ? corner[i] : 0;
        for (int q = 0; q < EBB_PARTS; q++)
            if (ebb_tet_part[q] == wanted)
                part[p] = owner->part[q];
    }
}

/* Elements and walls get the numbers themselves: looking them up part by part in every product
 * would cost more than the product. */
static bool give_freedoms(ebb_space *space)
{
    bool given = true;
    for (size_t t = 0; given && t < space->mesh.n_tets; t++) {
        ebb_element *element = &space->element[t];
        element->freedom = list_freedoms(space, space->simplex.n, EBB_PARTS, element->part);
        given = element->freedom != NULL;
    }
    for (size_t w = 0; given && w < space->mesh.n_faces; w++) {
        ebb_wall *wall = &space->wall[w];
        size_t part[7];
        parts_of_wall(&space->element[wall->owner], wall, part);
        wall->freedom = list_freedoms(space, space->simplex.n_face, 7, part);
        given = wall->freedom != NULL;
    }
    return given;
}

/* Rims are kept rising, so that merging them is one walk. */
static int compare_int(const void *left, const void *right)
{
    const int a = *(const int *)left, b = *(const int *)right;
    return a < b ? -1 : a > b;
}

/* Merges two rising lists from `least` on, equal numbers once; returns how many. */
static int merge(const ebb_half *a, const ebb_half *b, int least, int *out)
{
    int n = 0;
    for (int i = 0, j = 0; i < a->n_rim || j < b->n_rim;) {
        const int x = i < a->n_rim ? a->rim[i] : INT32_MAX;
        const int y = j < b->n_rim ? b->rim[j] : INT32_MAX;
        const int next = x < y ? x : y;
        i += x == next;
        j += y == next;
        if (next >= least)
            out[n++] = next;
    }
    return n;
}

/* The rim of each half from those of its children: all their freedoms but its own. */
static bool make_rims(ebb_arena *scratch, ebb_space *space)
{
    int *work = EBB_NEW(scratch, int, space->size + 1);
    for (size_t h = 0; work && h < space->n_halves; h++) {
        ebb_half *half = &space->half[h];
        const int least = half->first + half->own;
        if (half->to - half->from > 1) {
            half->n_rim =
                merge(&space->half[half->child[0]], &space->half[half->child[1]], least, work);
        } else {
            const int *freedom = space->element[space->order[half->from]].freedom;
            for (size_t i = 0; i < space->simplex.n; i++)
                if (freedom[i] >= least)
                    work[half->n_rim++] = freedom[i];
            qsort(work, (size_t)half->n_rim, sizeof *work, compare_int);
        }
        half->rim = EBB_NEW(space->arena, int, (size_t)half->n_rim);
        if (!half->rim)
            return false;
        memcpy(half->rim, work, (size_t)half->n_rim * sizeof *work);
    }
    return work != NULL;
}

/* Halves before numbers, numbers before lists. */
ebb_status ebb_space_number(ebb_ctx *ctx, ebb_space *space)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_status status = EBB_OK;
    if (!make_halves(scratch, space))
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the order of elements");
    if (status == EBB_OK)
        status = number_freedoms(ctx, scratch, space);
    if (status == EBB_OK && (!give_freedoms(space) || !make_rims(scratch, space)))
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the freedoms of elements");
    ebb_arena_free(scratch);
    return status;
}
