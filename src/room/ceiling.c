/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Ceilings: the lowest of some planes over each place of the plan. */
#include "shape.h"

#include "vector.h"

#define LEVEL 1e-9    /* slope below which a plane is level */
#define STEEPEST 20.0 /* rise per metre: 87 degrees; what is steeper is a wall */
#define IN_PLANE 1e-3 /* m that heights may miss their common plane */

double ebb_room_plane_height(const ebb_room_plane *plane, const double at[2])
{
    return plane->at + plane->x * at[0] + plane->y * at[1];
}

bool ebb_room_plane_is_level(const ebb_room_plane *plane)
{
    return hypot(plane->x, plane->y) < LEVEL;
}

double ebb_room_ceiling_height(const ebb_room_ceiling *ceiling, const double at[2])
{
    double height = INFINITY;
    for (size_t i = 0; i < ceiling->n; i++)
        height = fmin(height, ebb_room_plane_height(&ceiling->plane[i], at));
    return height;
}

/* ---- on the way from a to b ------------------------------------------------------------------ */

/* Inserts t among those that are there, unless it is one of them. */
static size_t insert(double *list, size_t n, double t, double same)
{
    size_t i = n;
    while (i > 0 && list[i - 1] > t)
        i--;
    if ((i > 0 && t - list[i - 1] < same) || (i < n && list[i] - t < same))
        return n;
    for (size_t j = n; j > i; j--)
        list[j] = list[j - 1];
    list[i] = t;
    return n + 1;
}

/* Lowest of planes that are straight lines over the way: it is bent inwards everywhere, so each
 * plane counts on one stretch at most and there are fewer breaks than planes. */
size_t ebb_room_ceiling_breaks(const ebb_room_ceiling *ceiling, const double a[2],
                               const double b[2], double t[EBB_ROOM_MOST_PLANES])
{
    const double same = EBB_ROOM_SAME / hypot(b[0] - a[0], b[1] - a[1]);
    size_t n = 0;
    for (size_t i = 0; i < ceiling->n; i++)
        for (size_t j = 0; j < i; j++) {
            const ebb_room_plane *p = &ceiling->plane[i], *q = &ceiling->plane[j];
            const double at_a = ebb_room_plane_height(p, a) - ebb_room_plane_height(q, a);
            const double at_b = ebb_room_plane_height(p, b) - ebb_room_plane_height(q, b);
            const double s = at_a / (at_a - at_b);
            if (!(s > same && s < 1 - same))
                continue;
            const double at[2] = {a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])};
            if (ebb_room_plane_height(p, at) <= ebb_room_ceiling_height(ceiling, at) + 1e-9 &&
                n + 1 < EBB_ROOM_MOST_PLANES)
                n = insert(t, n, s, same);
        }
    return n;
}

/* ---- over an area ---------------------------------------------------------------------------- */

/* Where three planes meet, if it is over the outline and they are the lowest there. */
static double peak(const ebb_room_ceiling *ceiling, const ebb_room_outline *foot,
                   const size_t which[3])
{
    const ebb_room_plane *p = &ceiling->plane[which[0]], *q = &ceiling->plane[which[1]],
                         *r = &ceiling->plane[which[2]];
    const double a = p->x - q->x, b = p->y - q->y, c = q->at - p->at;
    const double d = p->x - r->x, e = p->y - r->y, f = r->at - p->at;
    const double det = a * e - b * d;
    if (fabs(det) < 1e-12)
        return -INFINITY;
    const double at[2] = {(c * e - b * f) / det, (a * f - c * d) / det};
    return ebb_room_outline_holds(foot, at) ? ebb_room_ceiling_height(ceiling, at) : -INFINITY;
}

/* The lowest of planes is lowest at a corner; highest at a corner, where its bend crosses a side,
 * or at a peak. */
void ebb_room_ceiling_range(const ebb_room_ceiling *ceiling, const ebb_room_outline *foot,
                            double range[2])
{
    range[0] = INFINITY;
    range[1] = -INFINITY;
    for (size_t i = 0; i < foot->n; i++) {
        const double *a = foot->corner[i], *b = foot->corner[(i + 1) % foot->n];
        double t[EBB_ROOM_MOST_PLANES];
        const size_t n = ebb_room_ceiling_breaks(ceiling, a, b, t);
        range[0] = fmin(range[0], ebb_room_ceiling_height(ceiling, a));
        range[1] = fmax(range[1], ebb_room_ceiling_height(ceiling, a));
        for (size_t k = 0; k < n; k++) {
            const double at[2] = {a[0] + t[k] * (b[0] - a[0]), a[1] + t[k] * (b[1] - a[1])};
            range[1] = fmax(range[1], ebb_room_ceiling_height(ceiling, at));
        }
    }
    for (size_t i = 0; i < ceiling->n; i++)
        for (size_t j = 0; j < i; j++)
            for (size_t k = 0; k < j; k++)
                range[1] = fmax(range[1], peak(ceiling, foot, (const size_t[3]){i, j, k}));
}

/* Over a plan that is not convex the lowest place is a corner all the same. */
const char *ebb_room_ceiling_fault(ebb_arena *arena, const ebb_room_shape *shape)
{
    const ebb_room_outline *plan = &shape->plan;
    for (size_t i = 0; i < plan->n; i++) {
        const double height = ebb_room_ceiling_height(&shape->ceiling, plan->corner[i]);
        if (!(height >= EBB_ROOM_LEAST_WALL))
            return ebb_room_say(arena,
                                "the ceiling is %.4g m high at corner %zu; accepted is at "
                                "least %.4g m everywhere",
                                height, i + 1, EBB_ROOM_LEAST_WALL);
    }
    return NULL;
}

/* ---- planes from what is given --------------------------------------------------------------- */

const char *ebb_room_plane_through(ebb_arena *arena, double point[3][3], ebb_room_plane *plane)
{
    const ebb_vec3 o = {point[0][0], point[0][1], point[0][2]};
    const ebb_vec3 a = {point[1][0], point[1][1], point[1][2]};
    const ebb_vec3 b = {point[2][0], point[2][1], point[2][2]};
    const ebb_vec3 u = ebb_minus(a, o), v = ebb_minus(b, o), n = ebb_cross(u, v);
    const double size = ebb_length(n);
    if (size < 1e-6 * ebb_length(u) * ebb_length(v) || size < 1e-6)
        return "its three points lie on one line";
    if (hypot(n.x, n.y) > STEEPEST * fabs(n.z))
        return ebb_room_say(arena,
                            "the plane rises by more than %.4g m in a metre; what is that "
                            "steep is a wall",
                            STEEPEST);
    *plane = (ebb_room_plane){0, -n.x / n.z, -n.y / n.z};
    plane->at = o.z - plane->x * o.x - plane->y * o.y;
    return NULL;
}

/* The corner that is farthest from a line, or from a point when both ends are the same. */
static size_t farthest(const ebb_room_outline *plan, size_t a, size_t b)
{
    size_t best = a;
    double most = 0;
    for (size_t i = 0; i < plan->n; i++) {
        const double *p = plan->corner[a], *q = plan->corner[b], *r = plan->corner[i];
        const double d = a == b ? hypot(r[0] - p[0], r[1] - p[1]) : fabs(ebb_room_turn(p, q, r));
        if (d > most) {
            most = d;
            best = i;
        }
    }
    return best;
}

const char *ebb_room_plane_of_heights(ebb_arena *arena, const ebb_room_outline *plan,
                                      const double *height, ebb_room_plane *plane)
{
    size_t of[3] = {0};
    of[1] = farthest(plan, 0, 0);
    of[2] = farthest(plan, 0, of[1]);
    const size_t first = of[1] < of[2] ? of[1] : of[2];
    of[2] += of[1] - first;
    of[1] = first;
    double point[3][3];
    for (size_t i = 0; i < 3; i++) {
        point[i][0] = plan->corner[of[i]][0];
        point[i][1] = plan->corner[of[i]][1];
        point[i][2] = height[of[i]];
    }
    const char *why = ebb_room_plane_through(arena, point, plane);
    if (why != NULL)
        return why;
    size_t worst = 0;
    double most = 0;
    for (size_t i = 0; i < plan->n; i++) {
        const double off = height[i] - ebb_room_plane_height(plane, plan->corner[i]);
        if (fabs(off) > fabs(most)) {
            most = off;
            worst = i;
        }
    }
    if (fabs(most) <= IN_PLANE)
        return NULL;
    return ebb_room_say(arena,
                        "these heights are no plane: corner %zu is %.4g m %s that of corners "
                        "%zu, %zu and %zu; give a ridge or planes",
                        worst + 1, fabs(most), most > 0 ? "above" : "below", of[0] + 1, of[1] + 1,
                        of[2] + 1);
}

/* Each side falls so that it reaches the eaves at the corner farthest from the ridge: the other
 * corners are then higher, never lower than the job says. */
const char *ebb_room_planes_of_ridge(ebb_arena *arena, const ebb_room_outline *plan, double eaves,
                                     const double ridge[5], ebb_room_plane plane[2], size_t *n)
{
    const double *from = &ridge[1], *to = &ridge[3];
    const double length = hypot(to[0] - from[0], to[1] - from[1]);
    double reach[2] = {0, 0};
    *n = 0;
    if (length < EBB_ROOM_SHORTEST)
        return "from and to of the ridge are the same point";
    if (!(ridge[0] > eaves + 1e-3))
        return ebb_room_say(arena, "the ridge, %.4g m, must be higher than the eaves, %.4g m",
                            ridge[0], eaves);
    const double left[2] = {-(to[1] - from[1]) / length, (to[0] - from[0]) / length};
    for (size_t i = 0; i < plan->n; i++) {
        const double d = ebb_room_turn(from, to, plan->corner[i]) / length;
        reach[d < 0] = fmax(reach[d < 0], fabs(d));
    }
    for (size_t s = 0; s < 2; s++) {
        if (reach[s] <= EBB_ROOM_FLUSH)
            continue;
        const double fall = (s == 0 ? -1 : 1) * (ridge[0] - eaves) / reach[s];
        if (fabs(fall) > STEEPEST)
            return ebb_room_say(arena,
                                "the ridge is only %.4g m from the wall beside it: the "
                                "ceiling would be a wall there; put it on the wall or give "
                                "planes",
                                reach[s]);
        ebb_room_plane *p = &plane[(*n)++];
        *p = (ebb_room_plane){0, fall * left[0], fall * left[1]};
        p->at = ridge[0] - p->x * from[0] - p->y * from[1];
    }
    return NULL;
}
