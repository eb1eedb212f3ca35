/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Polygons in plan: plans, columns, feet of bodies. */
#include "shape.h"

#include "vector.h"

#include <stdio.h>
#include <string.h>

const char ebb_room_no_memory[] = "no memory";

const char *ebb_room_say(ebb_arena *arena, const char *format, ...)
{
    char text[512];
    va_list values;
    va_start(values, format);
    vsnprintf(text, sizeof text, format, values);
    va_end(values);
    const char *kept = ebb_arena_text(arena, text);
    return kept != NULL ? kept : ebb_room_no_memory;
}

static double *corner(const ebb_room_outline *o, size_t i)
{
    return o->corner[i % o->n];
}

/* From the first corner, so that a far origin costs no digits. */
double ebb_room_outline_turn(const ebb_room_outline *outline)
{
    double turn = 0;
    for (size_t i = 1; i + 1 < outline->n; i++)
        turn += ebb_room_turn(corner(outline, 0), corner(outline, i), corner(outline, i + 1));
    return turn;
}

bool ebb_room_outline_holds(const ebb_room_outline *outline, const double at[2])
{
    bool inside = false;
    for (size_t i = 0; i < outline->n; i++)
        inside = inside != ebb_room_crosses_ray(corner(outline, i), corner(outline, i + 1), at);
    return inside;
}

/* Ends that touch count: a plan may not touch itself either. */
bool ebb_room_lines_meet(const double a[2], const double b[2], const double c[2], const double d[2],
                         double at[2])
{
    const double *const ends[4] = {a, b, c, d};
    if (ebb_room_divides(a, b, c, d) && ebb_room_divides(c, d, a, b)) {
        const double p = ebb_room_turn(a, b, c), t = p / (p - ebb_room_turn(a, b, d));
        at[0] = c[0] + t * (d[0] - c[0]);
        at[1] = c[1] + t * (d[1] - c[1]);
        return true;
    }
    for (int i = 0; i < 4; i++) {
        const bool first = i < 2;
        if (ebb_room_distance(first ? c : a, first ? d : b, ends[i]) > EBB_ROOM_SAME)
            continue;
        memcpy(at, ends[i], 2 * sizeof at[0]);
        return true;
    }
    return false;
}

/* Two sides that follow each other share a corner; they may not fold back on each other. */
static const char *crossing_fault(ebb_arena *arena, const ebb_room_outline *o)
{
    double at[2];
    for (size_t i = 0; i < o->n; i++)
        for (size_t j = i + 1; j < o->n; j++) {
            const double *a = corner(o, i), *b = corner(o, i + 1);
            const double *c = corner(o, j), *d = corner(o, j + 1);
            const bool next = j == i + 1 || (i == 0 && j == o->n - 1);
            const double *far_of_next = j == i + 1 ? d : c;
            if (next && ebb_room_distance(a, b, far_of_next) > EBB_ROOM_SAME &&
                ebb_room_distance(c, d, j == i + 1 ? a : b) > EBB_ROOM_SAME)
                continue;
            if (next || ebb_room_lines_meet(a, b, c, d, at))
                return ebb_room_say(
                    arena,
                    "side %zu (from corner %zu) and side %zu (from corner %zu) %s at %.4g "
                    "m, %.4g m",
                    i + 1, i + 1, j + 1, j + 1, next ? "lie on each other" : "cross or touch",
                    next ? b[0] : at[0], next ? b[1] : at[1]);
        }
    return NULL;
}

const char *ebb_room_outline_fault(ebb_arena *arena, const ebb_room_outline *outline)
{
    for (size_t i = 0; i < outline->n; i++) {
        const double *a = corner(outline, i), *b = corner(outline, i + 1);
        const double length = hypot(b[0] - a[0], b[1] - a[1]);
        if (length < EBB_ROOM_SAME)
            return "two corners after each other are the same point";
        if (length < EBB_ROOM_SHORTEST - EBB_ROOM_SAME)
            return ebb_room_say(arena,
                                "the side from corner %zu to %zu is %.4g m long; accepted is "
                                "at least %.4g m",
                                i + 1, (i + 1) % outline->n + 1, length, EBB_ROOM_SHORTEST);
    }
    const char *why = crossing_fault(arena, outline);
    if (why != NULL)
        return why;
    return ebb_room_outline_turn(outline) > 0
               ? NULL
               : "the corners run clockwise; write them counter-clockwise seen from above";
}

double ebb_room_outlines_apart(const ebb_room_outline *a, const ebb_room_outline *b)
{
    double apart = INFINITY, at[2];
    for (size_t i = 0; i < a->n; i++)
        for (size_t j = 0; j < b->n; j++) {
            const double *p = corner(a, i), *q = corner(a, i + 1);
            const double *r = corner(b, j), *s = corner(b, j + 1);
            if (ebb_room_lines_meet(p, q, r, s, at))
                return 0;
            apart = fmin(apart, fmin(ebb_room_distance(p, q, r), ebb_room_distance(r, s, p)));
        }
    return apart;
}

/* A column that touches a wall would be part of the plan's outline. */
const char *ebb_room_columns_fault(ebb_arena *arena, const ebb_room_shape *shape, size_t *which)
{
    for (size_t i = 0; i < shape->n_columns; i++) {
        const ebb_room_outline *column = &shape->column[i];
        *which = i;
        const char *why = ebb_room_outline_fault(arena, column);
        if (why != NULL)
            return why;
        if (!ebb_room_outline_holds(&shape->plan, column->corner[0]))
            return "the column stands outside the plan";
        if (ebb_room_outlines_apart(&shape->plan, column) < EBB_ROOM_GAP)
            return ebb_room_say(arena,
                                "the column is less than %.4g m from a wall; draw it into the "
                                "plan's outline or give it as a body",
                                EBB_ROOM_GAP);
        for (size_t j = 0; j < i; j++) {
            const ebb_room_outline *other = &shape->column[j];
            if (ebb_room_outlines_apart(other, column) < EBB_ROOM_GAP ||
                ebb_room_outline_holds(other, column->corner[0]) ||
                ebb_room_outline_holds(column, other->corner[0]))
                return ebb_room_say(arena, "it overlaps column %zu or is less than %.4g m away",
                                    j + 1, EBB_ROOM_GAP);
        }
    }
    return NULL;
}

/* ---- uprights -------------------------------------------------------------------------------- */

size_t ebb_room_uprights(const ebb_room_shape *shape)
{
    size_t n = shape->plan.n;
    for (size_t i = 0; i < shape->n_columns; i++)
        n += shape->column[i].n;
    return n;
}

ebb_room_upright ebb_room_upright_of(const ebb_room_shape *shape, size_t i)
{
    const ebb_room_outline *o = &shape->plan;
    size_t column = 0;
    while (i >= o->n) {
        i -= o->n;
        o = &shape->column[column++];
    }
    /* Round a column the air is on the right: it is walked the other way. */
    const double *from = corner(o, column == 0 ? i : i + 1);
    return (ebb_room_upright){from, corner(o, column == 0 ? i + 1 : i), column, i};
}
