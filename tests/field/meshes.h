/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * meshes.h - small meshes without a mesher: boxes of bricks, and plans of triangles pulled up.
 */
#ifndef MESHES_H
#define MESHES_H

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <ebb/mesh.h>

/* Surface of an outer triangle. */
typedef size_t mesh_label(const void *user, ebb_vec3 middle, ebb_vec3 normal);

static inline ebb_vec3 mesh_normal(const ebb_vec3 *node, const size_t c[3])
{
    const ebb_vec3 p = node[c[0]], q = node[c[1]], r = node[c[2]];
    const double a[3] = {q.x - p.x, q.y - p.y, q.z - p.z};
    const double b[3] = {r.x - p.x, r.y - p.y, r.z - p.z};
    const ebb_vec3 n = {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2],
                        a[0] * b[1] - a[1] * b[0]};
    const double length = sqrt(n.x * n.x + n.y * n.y + n.z * n.z);
    return (ebb_vec3){n.x / length, n.y / length, n.z / length};
}

static inline double mesh_signed(const ebb_vec3 *node, const size_t c[4])
{
    const ebb_vec3 p = node[c[0]], q = node[c[1]], r = node[c[2]], s = node[c[3]];
    const double a[3] = {q.x - p.x, q.y - p.y, q.z - p.z};
    const double b[3] = {r.x - p.x, r.y - p.y, r.z - p.z};
    const double d[3] = {s.x - p.x, s.y - p.y, s.z - p.z};
    return (a[1] * b[2] - a[2] * b[1]) * d[0] + (a[2] * b[0] - a[0] * b[2]) * d[1] +
           (a[0] * b[1] - a[1] * b[0]) * d[2];
}

typedef struct mesh_face {
    size_t key[3], corner[3], owner;
} mesh_face;

static inline int mesh_compare(const void *left, const void *right)
{
    const mesh_face *a = left, *b = right;
    for (int c = 0; c < 3; c++)
        if (a->key[c] != b->key[c])
            return a->key[c] < b->key[c] ? -1 : 1;
    return 0;
}

/* Face opposite to corner o of tetrahedron t, seen from outside counter-clockwise. */
static inline mesh_face mesh_face_of(const ebb_mesh *mesh, size_t t, size_t o)
{
    static const size_t others[4][3] = {{1, 2, 3}, {0, 3, 2}, {0, 1, 3}, {0, 2, 1}};
    mesh_face f = {.owner = t};
    for (int c = 0; c < 3; c++)
        f.key[c] = f.corner[c] = mesh->tet[t][others[o][c]];
    for (int i = 0; i < 3; i++)
        for (int j = 0; j < 2; j++)
            if (f.key[j] > f.key[j + 1]) {
                const size_t swap = f.key[j];
                f.key[j] = f.key[j + 1];
                f.key[j + 1] = swap;
            }
    return f;
}

static inline void mesh_add_face(ebb_mesh *mesh, const mesh_face *face, mesh_label *label,
                                 const void *user)
{
    ebb_vec3 middle = {0, 0, 0};
    for (int c = 0; c < 3; c++) {
        const ebb_vec3 at = mesh->node[face->corner[c]];
        middle = (ebb_vec3){middle.x + at.x / 3, middle.y + at.y / 3, middle.z + at.z / 3};
    }
    memcpy(mesh->face[mesh->n_faces], face->corner, sizeof face->corner);
    mesh->owner[mesh->n_faces] = face->owner;
    mesh->surface[mesh->n_faces++] = label(user, middle, mesh_normal(mesh->node, face->corner));
}

/* Completes nodes and tetrahedra (turned outside out here) with their outer triangles. */
static inline void mesh_complete(ebb_mesh *mesh, size_t n_surfaces, mesh_label *label,
                                 const void *user)
{
    const size_t n = 4 * mesh->n_tets;
    mesh_face *face = malloc(n * sizeof *face);
    mesh->n_surfaces = n_surfaces;
    mesh->face = ebb_arena_alloc(mesh->arena, n, sizeof *mesh->face);
    mesh->surface = EBB_NEW(mesh->arena, size_t, n);
    mesh->owner = EBB_NEW(mesh->arena, size_t, n);
    for (size_t t = 0; t < mesh->n_tets; t++)
        if (mesh_signed(mesh->node, mesh->tet[t]) < 0) {
            const size_t swap = mesh->tet[t][2];
            mesh->tet[t][2] = mesh->tet[t][3];
            mesh->tet[t][3] = swap;
        }
    for (size_t i = 0; i < n; i++)
        face[i] = mesh_face_of(mesh, i / 4, i % 4);
    qsort(face, n, sizeof *face, mesh_compare);
    for (size_t i = 0, same; i < n; i += same) {
        same = i + 1 < n && mesh_compare(&face[i], &face[i + 1]) == 0 ? 2 : 1;
        if (same == 1)
            mesh_add_face(mesh, &face[i], label, user);
    }
    free(face);
}

static inline ebb_mesh *mesh_with(ebb_ctx *ctx, size_t n_nodes, size_t n_tets)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_mesh *mesh = EBB_NEW(arena, ebb_mesh, 1);
    mesh->arena = arena;
    mesh->n_nodes = n_nodes;
    mesh->n_tets = n_tets;
    mesh->node = EBB_NEW(arena, ebb_vec3, n_nodes);
    mesh->tet = ebb_arena_alloc(arena, n_tets, sizeof *mesh->tet);
    return mesh;
}

/* 2 * axis + side, by the normal. */
static inline size_t mesh_box_label(const void *user, ebb_vec3 middle, ebb_vec3 n)
{
    (void)user;
    (void)middle;
    const double c[3] = {n.x, n.y, n.z};
    for (size_t d = 0; d < 3; d++)
        if (fabs(c[d]) > 0.9)
            return 2 * d + (c[d] > 0);
    return 0;
}

/* Six tetrahedra per brick, each a way from the lower to the upper corner. */
static inline ebb_mesh *mesh_box(ebb_ctx *ctx, const double size[3], const size_t n[3])
{
    static const int way[6][3] = {{0, 1, 2}, {1, 2, 0}, {2, 0, 1}, {0, 2, 1}, {1, 0, 2}, {2, 1, 0}};
    ebb_mesh *mesh = mesh_with(ctx, (n[0] + 1) * (n[1] + 1) * (n[2] + 1), 6 * n[0] * n[1] * n[2]);
    for (size_t i = 0; i < mesh->n_nodes; i++)
        mesh->node[i] = (ebb_vec3){size[0] * (double)(i % (n[0] + 1)) / (double)n[0],
                                   size[1] * (double)(i / (n[0] + 1) % (n[1] + 1)) / (double)n[1],
                                   size[2] * (double)(i / (n[0] + 1) / (n[1] + 1)) / (double)n[2]};
    for (size_t t = 0; t < mesh->n_tets; t++) {
        size_t at[3] = {t / 6 % n[0], t / 6 / n[0] % n[1], t / 6 / n[0] / n[1]};
        for (int c = 0; c < 4; c++) {
            mesh->tet[t][c] = (at[2] * (n[1] + 1) + at[1]) * (n[0] + 1) + at[0];
            if (c < 3)
                at[way[t % 6][c]]++;
        }
    }
    mesh_complete(mesh, 6, mesh_box_label, NULL);
    return mesh;
}

/* ---- plans ----------------------------------------------------------------------------------- */

#define PLAN_MOST 8192

/* Triangles of a plan. */
typedef struct mesh_plan {
    size_t n, n_triangles;
    double at[PLAN_MOST][2];
    size_t triangle[PLAN_MOST][3];
} mesh_plan;

/* 0 floor, 1 ceiling, 2 every wall. */
static inline size_t mesh_plan_label(const void *user, ebb_vec3 middle, ebb_vec3 n)
{
    (void)user;
    (void)middle;
    return n.z < -0.9 ? 0 : n.z > 0.9 ? 1 : 2;
}

/* Pulls a plan up: each triangle is a prism, each prism three tetrahedra along its corners in
 * rising order, so that neighbours agree. */
static inline ebb_mesh *mesh_pull_up(ebb_ctx *ctx, const mesh_plan *plan, double height,
                                     size_t layers)
{
    ebb_mesh *mesh = mesh_with(ctx, plan->n * (layers + 1), 3 * plan->n_triangles * layers);
    for (size_t i = 0; i < mesh->n_nodes; i++)
        mesh->node[i] = (ebb_vec3){plan->at[i % plan->n][0], plan->at[i % plan->n][1],
                                   height * (double)(i / plan->n) / (double)layers};
    for (size_t t = 0; t < mesh->n_tets; t++) {
        const size_t part = t % 3, low = t / 3 / plan->n_triangles * plan->n;
        size_t c[3];
        memcpy(c, plan->triangle[t / 3 % plan->n_triangles], sizeof c);
        for (int i = 0; i < 3; i++)
            for (int j = 0; j < 2; j++)
                if (c[j] > c[j + 1]) {
                    const size_t swap = c[j];
                    c[j] = c[j + 1];
                    c[j + 1] = swap;
                }
        for (size_t i = 0; i < 4; i++) /* corners 0..part below, part..2 above */
            mesh->tet[t][i] = i <= part ? c[i] + low : c[i - 1] + low + plan->n;
    }
    mesh_complete(mesh, 3, mesh_plan_label, NULL);
    return mesh;
}

/* A regular polygon around the origin, in rings. */
static inline void mesh_polygon(mesh_plan *plan, size_t sides, size_t rings, double radius)
{
    const double pi = acos(-1);
    plan->n = 1;
    plan->n_triangles = 0;
    plan->at[0][0] = plan->at[0][1] = 0;
    for (size_t r = 1; r <= rings; r++)
        for (size_t s = 0; s < sides; s++) {
            const double angle = 2 * pi * (double)s / (double)sides;
            plan->at[plan->n][0] = radius * (double)r / (double)rings * cos(angle);
            plan->at[plan->n++][1] = radius * (double)r / (double)rings * sin(angle);
        }
    for (size_t r = 0; r < rings; r++)
        for (size_t s = 0; s < sides; s++) {
            const size_t next = (s + 1) % sides, outer = 1 + r * sides;
            const size_t a = outer + s, b = outer + next;
            const size_t c = r > 0 ? a - sides : 0, d = r > 0 ? b - sides : 0;
            const size_t first[3] = {c, a, b}, second[3] = {c, b, d};
            memcpy(plan->triangle[plan->n_triangles++], first, sizeof first);
            if (r > 0)
                memcpy(plan->triangle[plan->n_triangles++], second, sizeof second);
        }
}

/* The L of three unit squares around the origin, the fourth (x > 0, y < 0) missing; lines at
 * +-line[0..n], line[0] = 0, line[n] = 1. */
static inline void mesh_l_plan(mesh_plan *plan, size_t n, const double *line)
{
    const size_t m = 2 * n + 1;
    size_t index[64][64];
    plan->n = plan->n_triangles = 0;
    for (size_t j = 0; j < m; j++)
        for (size_t i = 0; i < m; i++) {
            index[j][i] = plan->n;
            if (i > n && j < n)
                continue;
            plan->at[plan->n][0] = i < n ? -line[n - i] : line[i - n];
            plan->at[plan->n++][1] = j < n ? -line[n - j] : line[j - n];
        }
    for (size_t j = 0; j + 1 < m; j++)
        for (size_t i = 0; i + 1 < m; i++) {
            if (i >= n && j < n)
                continue;
            const size_t a = index[j][i], b = index[j][i + 1], c = index[j + 1][i + 1],
                         d = index[j + 1][i];
            const size_t split[2][2][3] = {{{a, b, c}, {a, c, d}}, {{a, b, d}, {b, c, d}}};
            /* diagonals run away from the corner in all three squares */
            const size_t way = (i < n) == (j < n) ? 0 : 1;
            memcpy(plan->triangle[plan->n_triangles++], split[way][0], sizeof split[0][0]);
            memcpy(plan->triangle[plan->n_triangles++], split[way][1], sizeof split[0][0]);
        }
}

/* Lines from 0 to 1, n of them, each step a factor longer than the one before. */
static inline void mesh_lines(size_t n, double factor, double *line)
{
    double step = 1, sum = 0;
    line[0] = 0;
    for (size_t i = 1; i <= n; i++, step *= factor)
        line[i] = sum += step;
    for (size_t i = 1; i <= n; i++)
        line[i] /= sum;
}

#endif
