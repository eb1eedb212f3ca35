/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * rigid.c - what the modes of the bare room tell: names and places, gaps, quiet planes. Those of a
 * box come from its closed form, those of any other room from its mesh.
 */
#include <math.h>

#include "private.h"

static const double pi = 3.14159265358979323846;
static const double near_mode = 0.10;  /* a mode within this share of a frequency carries it */
static const double near_quiet = 0.08; /* the same, when asking which mode a seat misses */
static const double quiet = 0.25;      /* share of the full pressure below which a point is quiet */

/* A mode on a walk through them. */
typedef struct rigid {
    int label[3];
    double hz;
} rigid;

/* All half-wave counts up to one more than fits below hz on each axis, in no order. */
static bool next_of_box(const ebb_scene *scene, double hz, rigid *mode)
{
    for (int d = 0; d < 3; d++) {
        double most = floor(2 * scene->room->size[d] * hz / scene->job->air.speed) + 1;
        if (mode->label[d] < most) {
            mode->label[d]++;
            mode->hz = ebb_box_hz(scene->room->size, mode->label, scene->job->air.speed);
            return true;
        }
        mode->label[d] = 0;
    }
    return false;
}

/* Goes to the next mode, false when all that matter around hz are seen. Starts from number 0, the
 * room's pressure as a whole, which it does not return. */
static bool next(const ebb_scene *scene, double hz, rigid *mode)
{
    if (!scene->room->space)
        return next_of_box(scene, hz, mode);
    const double *lambda;
    int n = (int)ebb_space_modes(scene->room->space, &lambda, NULL, NULL);
    if (mode->label[0] + 1 >= n || mode->hz > hz)
        return false;
    int number = mode->label[0] + 1;
    *mode = (rigid){{number, -1, -1}, scene->job->air.speed * sqrt(lambda[number]) / (2 * pi)};
    return true;
}

static void copy_label(const int from[3], int to[3])
{
    for (int d = 0; d < 3; d++)
        to[d] = from[d];
}

/* Labels up to one above the count that fits hold both neighbours. */
ebb_judge_stretch ebb_judge_neighbours(const ebb_scene *scene, double hz)
{
    ebb_judge_stretch stretch = {.below = 0, .above = INFINITY};
    rigid mode = {{0, 0, 0}, 0};
    while (next(scene, hz, &mode)) {
        double f = mode.hz;
        if (f <= hz && f > stretch.below) {
            stretch.below = f;
            copy_label(mode.label, stretch.below_label);
        } else if (f > hz && f < stretch.above) {
            stretch.above = f;
            copy_label(mode.label, stretch.above_label);
        }
    }
    return stretch;
}

double ebb_judge_first_mode(const ebb_scene *scene)
{
    rigid mode = {{0, 0, 0}, 0};
    double first = INFINITY;
    while (next(scene, 0, &mode))
        first = fmin(first, mode.hz);
    return first;
}

static bool is_near(double f, double hz, double share)
{
    return fabs(f / hz - 1) <= share;
}

/* Rigid modes say where the bare room has none; damped ones count too, since units can bring a
 * resonance of their own into a gap. */
bool ebb_judge_gap(const ebb_scene *scene, double hz)
{
    ebb_judge_stretch stretch = ebb_judge_neighbours(scene, hz);
    if (is_near(stretch.below, hz, near_mode) || is_near(stretch.above, hz, near_mode))
        return false;
    for (size_t m = 0; scene->modes && m < scene->modes->n; m++)
        if (is_near(scene->modes->mode[m].hz, hz, near_mode))
            return false;
    return stretch.above > stretch.below * pow(10, 0.1);
}

bool ebb_judge_in_pressure_zone(const ebb_scene *scene, double hz)
{
    if (hz >= (1 - near_mode) * ebb_judge_first_mode(scene))
        return false;
    /* Yielding walls can give the room as a whole a resonance of its own down there. */
    for (size_t m = 0; scene->modes && m < scene->modes->n; m++)
        if (is_near(scene->modes->mode[m].hz, hz, near_mode))
            return false;
    return true;
}

static double box_shape(const ebb_scene *scene, const int label[3], ebb_vec3 at)
{
    const double *size = scene->room->size, point[3] = {at.x, at.y, at.z};
    double shape = 1;
    for (int d = 0; d < 3; d++)
        shape *= cos(label[d] * pi * point[d] / size[d]);
    return fabs(shape);
}

/* Modes are loudest at a boundary, and as good as always in one of its corners: the nodes of the
 * mesh have them all. */
static double meshed_shape(const ebb_space *space, int number, ebb_vec3 at)
{
    const ebb_mesh *mesh = ebb_space_mesh(space);
    const double *shape;
    ebb_space_modes(space, NULL, &shape, NULL);
    shape += (size_t)number * ebb_space_size(space);
    ebb_arena *scratch = ebb_arena_new(NULL);
    double *corner = EBB_NEW(scratch, double, mesh->n_nodes), here = 0, most = 0;
    bool known =
        corner &&
        ebb_space_values(NULL, space, 1, shape, mesh->n_nodes, mesh->node, corner) == EBB_OK &&
        ebb_space_values(NULL, space, 1, shape, 1, &at, &here) == EBB_OK;
    for (size_t i = 0; known && i < mesh->n_nodes; i++)
        most = fmax(most, fabs(corner[i]));
    ebb_arena_free(scratch);
    return most > 0 ? fmin(fabs(here) / most, 1) : 1;
}

double ebb_judge_shape(const ebb_scene *scene, const int label[3], ebb_vec3 at)
{
    return scene->room->space ? meshed_shape(scene->room->space, label[0], at)
                              : box_shape(scene, label, at);
}

/* Where the air of a mode moves: its kinetic energy along the axes, shares of 1. */
void ebb_judge_ways(const ebb_scene *scene, const int label[3], double share[3])
{
    const ebb_space *space = scene->room->space;
    size_t size = ebb_space_size(space);
    const double *lambda, *shape;
    ebb_space_modes(space, &lambda, &shape, NULL);
    shape += (size_t)label[0] * size;
    ebb_arena *scratch = ebb_arena_new(NULL);
    double *moved = EBB_NEW(scratch, double, size);
    for (int d = 0; d < 3; d++) {
        share[d] = 0;
        if (moved)
            ebb_space_stiffness(space, d, 1, shape, moved);
        for (size_t i = 0; moved && i < size; i++)
            share[d] += shape[i] * moved[i] / lambda[label[0]];
    }
    ebb_arena_free(scratch);
}

ebb_judge_quiet ebb_judge_quiet_plane(const ebb_scene *scene, size_t path, double hz)
{
    ebb_vec3 source = scene->sources[path / scene->n_receivers];
    ebb_vec3 receiver = scene->receivers[path % scene->n_receivers];
    ebb_judge_quiet found = {.found = false};
    rigid mode = {{0, 0, 0}, 0};
    while (next(scene, hz, &mode)) {
        double f = mode.hz;
        if (!is_near(f, hz, near_quiet))
            continue;
        double hears = ebb_judge_shape(scene, mode.label, receiver);
        double drives = ebb_judge_shape(scene, mode.label, source);
        /* One mode that does get through is enough: then it is not the quiet plane that matters. */
        if (hears >= quiet && drives >= quiet)
            return (ebb_judge_quiet){.found = false};
        if (found.found && fabs(f - hz) >= fabs(found.hz - hz))
            continue;
        found = (ebb_judge_quiet){.found = true, .hz = f, .at_source = drives < hears};
        copy_label(mode.label, found.label);
    }
    return found;
}
