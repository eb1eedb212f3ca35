/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trace.c - where a fault comes from, in numbers: modes, quiet planes, gaps, late reflections.
 *
 * Damped modes give what really happens; the rigid-wall modes of the box give names and places.
 */
#include <math.h>

#include "private.h"

static const double pi = 3.14159265358979323846;
static const double near_mode = 0.10;  /* a mode within this share of a frequency carries it */
static const double near_quiet = 0.08; /* the same, when asking which mode a seat misses */
static const double quiet = 0.25;      /* share of the full pressure below which a point is quiet */
static const double beyond = 1.03;     /* times the highest mode: a step of the grid */
static const double weak_echo =
    0.25; /* direct over reflected distance: below, too weak to cancel */

/* ---- damped modes ---------------------------------------------------------------------------- */

/* Part of mode m in p/Q at hz, with its mirror image at negative frequency. */
static double _Complex part_of(const ebb_modes *modes, size_t m, size_t path, double hz)
{
    const ebb_mode *mode = &modes->mode[m];
    double _Complex r = modes->residue[m * modes->n_sources * modes->n_receivers + path];
    double _Complex s = -mode->delta + I * (2 * pi * mode->hz), jw = I * (2 * pi * hz);
    return r / (jw - s) + conj(r) / (jw - conj(s));
}

/* Do the listed modes reach hz? A list ends somewhere above the bands whose decay is tested;
 * further up the field is the sum of modes that are not in it, and no listed one must take the
 * blame. */
static bool covers(const ebb_modes *modes, double hz)
{
    return modes && modes->n > 0 && hz <= beyond * modes->mode[modes->n - 1].hz;
}

/* By what it brings at that frequency, not by the distance of its own: a strong mode further off
 * may well outdo a near one that the seat hardly hears. */
size_t ebb_judge_strongest(const ebb_modes *modes, size_t path, double hz)
{
    size_t found = EBB_JUDGE_NONE;
    double best = 0;
    if (!covers(modes, hz))
        return found;
    for (size_t m = 0; m < modes->n; m++) {
        double size = cabs(part_of(modes, m, path, hz));
        if (size > best) {
            best = size;
            found = m;
        }
    }
    return found;
}

/* Complex difference, not difference of levels: a mode that is equally strong at both places with
 * opposite sign divides them most. */
size_t ebb_judge_divider(const ebb_modes *modes, size_t path, size_t other, double hz)
{
    size_t found = EBB_JUDGE_NONE;
    double best = 0;
    if (!covers(modes, hz))
        return found;
    for (size_t m = 0; m < modes->n; m++) {
        double size = cabs(part_of(modes, m, path, hz) - part_of(modes, m, other, hz));
        if (size > best) {
            best = size;
            found = m;
        }
    }
    return found;
}

ebb_judge_pull ebb_judge_opposed(const ebb_modes *modes, size_t path, double hz)
{
    ebb_judge_pull pull = {{ebb_judge_strongest(modes, path, hz), EBB_JUDGE_NONE}, 1};
    if (pull.mode[0] == EBB_JUDGE_NONE)
        return pull;
    double _Complex lead = part_of(modes, pull.mode[0], path, hz), sum = 0;
    double total = 0, most = 0;
    for (size_t m = 0; m < modes->n; m++) {
        double _Complex part = part_of(modes, m, path, hz);
        double against = -creal(part * conj(lead)) / cabs(lead);
        sum += part;
        total += cabs(part);
        if (against > most) {
            most = against;
            pull.mode[1] = m;
        }
    }
    pull.left = cabs(sum) / total;
    /* What takes less than a quarter away from the strongest mode explains nothing. */
    if (most < cabs(lead) / 4)
        pull.mode[1] = EBB_JUDGE_NONE;
    return pull;
}

/* ---- rigid-wall modes of the box ------------------------------------------------------------- */

/* Walks through all half-wave counts up to one more than fits below hz on each axis: `label` goes
 * to the next, false when all are seen. Starts from {0, 0, 0}, which it does not return. */
static bool next_label(const ebb_scene *scene, double hz, int label[3])
{
    for (int d = 0; d < 3; d++) {
        double most = floor(2 * scene->room->size[d] * hz / scene->job->air.speed) + 1;
        if (label[d] < most) {
            label[d]++;
            return true;
        }
        label[d] = 0;
    }
    return false;
}

static double rigid_hz(const ebb_scene *scene, const int label[3])
{
    return ebb_box_hz(scene->room->size, label, scene->job->air.speed);
}

static void copy_label(const int from[3], int to[3])
{
    for (int d = 0; d < 3; d++)
        to[d] = from[d];
}

/* The search needs no table: labels up to one above the count that fits hold both neighbours. */
ebb_judge_stretch ebb_judge_neighbours(const ebb_scene *scene, double hz)
{
    ebb_judge_stretch stretch = {.below = 0, .above = INFINITY};
    int label[3] = {0, 0, 0};
    while (next_label(scene, hz, label)) {
        double f = rigid_hz(scene, label);
        if (f <= hz && f > stretch.below) {
            stretch.below = f;
            copy_label(label, stretch.below_label);
        } else if (f > hz && f < stretch.above) {
            stretch.above = f;
            copy_label(label, stretch.above_label);
        }
    }
    return stretch;
}

double ebb_judge_first_mode(const ebb_scene *scene)
{
    const double *size = scene->room->size;
    return scene->job->air.speed / (2 * fmax(size[0], fmax(size[1], size[2])));
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

double ebb_judge_shape(const ebb_scene *scene, const int label[3], ebb_vec3 at)
{
    const double *size = scene->room->size, point[3] = {at.x, at.y, at.z};
    double shape = 1;
    for (int d = 0; d < 3; d++)
        shape *= cos(label[d] * pi * point[d] / size[d]);
    return fabs(shape);
}

ebb_judge_quiet ebb_judge_quiet_plane(const ebb_scene *scene, size_t path, double hz)
{
    ebb_vec3 source = scene->sources[path / scene->n_receivers];
    ebb_vec3 receiver = scene->receivers[path % scene->n_receivers];
    ebb_judge_quiet found = {.found = false};
    int label[3] = {0, 0, 0};
    while (next_label(scene, hz, label)) {
        double f = rigid_hz(scene, label);
        if (!is_near(f, hz, near_quiet))
            continue;
        double hears = ebb_judge_shape(scene, label, receiver);
        double drives = ebb_judge_shape(scene, label, source);
        /* One mode that does get through is enough: then it is not the quiet plane that matters. */
        if (hears >= quiet && drives >= quiet)
            return (ebb_judge_quiet){.found = false};
        if (found.found && fabs(f - hz) >= fabs(found.hz - hz))
            continue;
        found = (ebb_judge_quiet){.found = true, .hz = f, .at_source = drives < hears};
        copy_label(label, found.label);
    }
    return found;
}

/* ---- first reflections ----------------------------------------------------------------------- */

static double distance(const double a[3], const double b[3])
{
    return hypot(hypot(a[0] - b[0], a[1] - b[1]), a[2] - b[2]);
}

/* Is hz within 1/12 octave of a frequency at which a detour is 1 or 3 half waves? A twelfth is half
 * of the half width of the mean in which the dip was read. With speaker and seat in line with a
 * wall the distance d behind the seat, the first is the quarter-wave rule f = c / 4d. */
static bool cancels_at(double detour, double hz, double speed)
{
    double half_waves = 2 * detour * hz / speed;
    return fabs(log2(half_waves)) <= 1.0 / 12 || fabs(log2(half_waves / 3)) <= 1.0 / 12;
}

/* Of all faces whose reflection fits, the one with the shortest way: it is the strongest. */
ebb_judge_echo ebb_judge_late_echo(const ebb_scene *scene, size_t path, double hz)
{
    ebb_vec3 s = scene->sources[path / scene->n_receivers];
    ebb_vec3 r = scene->receivers[path % scene->n_receivers];
    double from[3] = {s.x, s.y, s.z}, to[3] = {r.x, r.y, r.z};
    double direct = distance(from, to), best = weak_echo;
    ebb_judge_echo found = {.found = false};
    for (int face = 0; face < EBB_FACES; face++) {
        int d = face / 2;
        double wall = face % 2 ? scene->room->size[d] : 0;
        double image[3] = {from[0], from[1], from[2]};
        image[d] = 2 * wall - from[d];
        double detoured = distance(image, to);
        if (!cancels_at(detoured - direct, hz, scene->job->air.speed) || direct < best * detoured)
            continue;
        best = direct / detoured;
        double gap_from = fabs(wall - from[d]), gap_to = fabs(wall - to[d]);
        found = (ebb_judge_echo){true, d, face % 2, fmin(gap_from, gap_to), gap_from < gap_to};
    }
    return found;
}
