/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Integrals over rectangles that the mesh knows nothing of: the triangles of the wall are clipped
 * to the rectangle, and each piece is integrated exactly.
 */
#include "space.h"

#include <cblas.h>
#include <math.h>
#include <string.h>

#define FLAT 1e-4      /* m, a triangle farther from the plane of the rectangle is none of its */
#define COVERED 0.999  /* share of a rectangle that must lie on its surface */
#define SQUARE 1e-6    /* cosine between the edges of a rectangle */
#define DEGREE_MOST 40 /* of a pattern along one edge */
#define CORNERS_MOST 8 /* of a triangle clipped by four lines: one more each */

/* A point in the plane of the rectangle: shares of its two edges. */
typedef struct flat {
    double a, b;
} flat;

/* The rectangle with what all its pieces need. */
typedef struct frame {
    const ebb_space *space;
    const ebb_rect *rect;
    double length[2]; /* of its edges, m */
    size_t n;
    const int (*degrees)[2];
    size_t n_gauss;
    double node[EBB_GAUSS_MOST], weight[EBB_GAUSS_MOST];
    double covered; /* share of it met so far */
    double *out;
} frame;

/* The plane of the rectangle is worked in with shares of its edges: clipping is then against 0 and
 * 1, and the patterns are polynomials of the shares.
 * Shares of a point along the edges, and how far it is off the plane in metres. */
static flat project(const frame *f, ebb_vec3 at, double *off)
{
    const ebb_vec3 from = f->rect->at, a = f->rect->along, b = f->rect->up;
    const ebb_vec3 d = ebb_minus(at, from);
    const flat out = {ebb_dot(d, a) / ebb_dot(a, a), ebb_dot(d, b) / ebb_dot(b, b)};
    const ebb_vec3 rest = {d.x - out.a * a.x - out.b * b.x, d.y - out.a * a.y - out.b * b.y,
                           d.z - out.a * a.z - out.b * b.z};
    *off = ebb_length(rest);
    return out;
}

/* How far a point is inside one of the four edges. */
static double inside(flat p, int edge)
{
    const double x = edge / 2 ? p.b : p.a;
    return edge % 2 ? 1 - x : x;
}

/* Cuts a convex polygon by one edge of the rectangle; returns how many corners it then has. */
static size_t clip(size_t n, const flat *in, int edge, flat *out)
{
    size_t m = 0;
    for (size_t i = 0; i < n; i++) {
        const flat p = in[i], q = in[(i + 1) % n];
        const double dp = inside(p, edge), dq = inside(q, edge);
        if (dp >= 0)
            out[m++] = p;
        if ((dp > 0 && dq < 0) || (dp < 0 && dq > 0)) {
            const double t = dp / (dp - dq);
            out[m++] = (flat){p.a + t * (q.a - p.a), p.b + t * (q.b - p.b)};
        }
    }
    return m;
}

/* With its sign, so that ratios of areas are barycentric places also outside. */
static double twice_area(flat p, flat q, flat r)
{
    return (q.a - p.a) * (r.b - p.b) - (r.a - p.a) * (q.b - p.b);
}

/* Legendre polynomial of unit norm on an edge, at a share of it. */
static double legendre(int degree, double length, double share)
{
    const double t = 2 * share - 1;
    double before = 0, p = 1;
    for (int k = 0; k < degree; k++) {
        const double next = ((2 * k + 1) * t * p - k * before) / (k + 1);
        before = p;
        p = next;
    }
    return p * sqrt((2 * degree + 1) / length);
}

/* Adds the integrals over one piece of a wall's triangle, whose corners are `whole`. */
static void add_piece(frame *f, const ebb_wall *wall, const flat whole[3], const flat piece[3])
{
    const ebb_simplex *s = &f->space->simplex;
    const double area = fabs(twice_area(piece[0], piece[1], piece[2]));
    const double all = twice_area(whole[0], whole[1], whole[2]);
    double value[EBB_TRI_MOST];
    f->covered += area / 2;
    for (size_t g = 0; g < f->n_gauss * f->n_gauss; g++) {
        const size_t i = g % f->n_gauss, j = g / f->n_gauss;
        const double v = f->node[j], u = (1 - v) * f->node[i];
        const flat p = {piece[0].a + u * (piece[1].a - piece[0].a) + v * (piece[2].a - piece[0].a),
                        piece[0].b + u * (piece[1].b - piece[0].b) + v * (piece[2].b - piece[0].b)};
        const double second = twice_area(whole[0], p, whole[2]) / all;
        const double third = twice_area(whole[0], whole[1], p) / all;
        const double place[3] = {1 - second - third, second, third};
        const double weight = f->weight[i] * f->weight[j] * (1 - v) * area;
        ebb_simplex_face_at(s, place, value);
        for (size_t q = 0; q < f->n; q++) {
            const double pattern = weight * f->length[0] * f->length[1] *
                                   legendre(f->degrees[q][0], f->length[0], p.a) *
                                   legendre(f->degrees[q][1], f->length[1], p.b);
            for (size_t k = 0; k < s->n_face; k++)
                f->out[q * f->space->size + (size_t)wall->freedom[k]] += pattern * value[k];
        }
    }
}

/* A convex polygon falls into a fan of triangles. Slivers of no area add nothing and need no test.
 */
static void add_wall(frame *f, const ebb_wall *wall)
{
    flat whole[3], polygon[2][CORNERS_MOST];
    double off[3];
    for (int c = 0; c < 3; c++)
        polygon[0][c] = whole[c] = project(f, f->space->mesh.node[wall->corner[c]], &off[c]);
    if (fmax(off[0], fmax(off[1], off[2])) > FLAT)
        return;
    size_t n = 3;
    for (int edge = 0; edge < 4; edge++)
        n = clip(n, polygon[edge % 2], edge, polygon[(edge + 1) % 2]);
    for (size_t i = 2; i < n; i++) {
        const flat piece[3] = {polygon[0][0], polygon[0][i - 1], polygon[0][i]};
        add_piece(f, wall, whole, piece);
    }
}

/* What would divide by zero or run past the rule of integration. */
static ebb_status check_rect(ebb_ctx *ctx, const ebb_space *space, const ebb_rect *rect, size_t n,
                             const int (*degrees)[2])
{
    const double a = ebb_dot(rect->along, rect->along), b = ebb_dot(rect->up, rect->up);
    if (rect->surface >= space->mesh.n_surfaces)
        return ebb_fail(ctx, EBB_E_RANGE, "a rectangle on surface %zu, which is not there",
                        rect->surface);
    if (!(a > 0) || !(b > 0) || !isfinite(a + b + ebb_dot(rect->at, rect->at)))
        return ebb_fail(ctx, EBB_E_RANGE, "a rectangle without extent");
    if (!(fabs(ebb_dot(rect->along, rect->up)) <= SQUARE * sqrt(a * b)))
        return ebb_fail(ctx, EBB_E_RANGE, "the edges of a rectangle are not square to each other");
    for (size_t q = 0; q < n; q++)
        for (int e = 0; e < 2; e++)
            if (degrees[q][e] < 0 || degrees[q][e] > DEGREE_MOST / 2)
                return ebb_fail(ctx, EBB_E_RANGE, "a pattern of degree %d on a rectangle; 0 to %d",
                                degrees[q][e], DEGREE_MOST / 2);
    return EBB_OK;
}

/* The covered share is a result of the integration itself: it also finds rectangles over holes and
 * edges. */
ebb_status ebb_space_rect(ebb_ctx *ctx, const ebb_space *space, const ebb_rect *rect, size_t n,
                          const int (*degrees)[2], double *out)
{
    memset(out, 0, n * space->size * sizeof *out);
    ebb_status status = check_rect(ctx, space, rect, n, degrees);
    if (status != EBB_OK)
        return status;
    frame f = {.space = space, .rect = rect, .n = n, .degrees = degrees, .out = out};
    f.length[0] = ebb_length(rect->along);
    f.length[1] = ebb_length(rect->up);
    size_t degree = 0;
    for (size_t q = 0; q < n; q++)
        degree = (size_t)(degrees[q][0] + degrees[q][1]) > degree
                     ? (size_t)(degrees[q][0] + degrees[q][1])
                     : degree;
    f.n_gauss = (space->simplex.order + degree) / 2 + 2; /* one degree more from the collapse */
    ebb_gauss01(f.n_gauss, f.node, f.weight);
    for (size_t w = space->wall_from[rect->surface]; w < space->wall_from[rect->surface + 1]; w++)
        add_wall(&f, &space->wall[w]);
    if (f.covered >= COVERED)
        return EBB_OK;
    memset(out, 0, n * space->size * sizeof *out);
    return ebb_fail(ctx, EBB_E_RANGE, "only %.4g of a rectangle lies on its surface", f.covered);
}
