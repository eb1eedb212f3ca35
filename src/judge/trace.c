/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * trace.c - where a fault comes from, in numbers: damped modes and late reflections. What the bare
 * room's modes tell is in rigid.c.
 */
#include <math.h>

#include "private.h"

static const double pi = 3.14159265358979323846;
static const double beyond = 1.03; /* times the highest mode: a step of the grid */
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

/* ---- first reflections ----------------------------------------------------------------------- */

/* Is hz within 1/12 octave of a frequency at which a detour is 1 or 3 half waves? A twelfth is half
 * of the half width of the mean in which the dip was read. With speaker and seat in line with a
 * wall the distance d behind the seat, the first is the quarter-wave rule f = c / 4d. */
static bool cancels_at(double detour, double hz, double speed)
{
    double half_waves = 2 * detour * hz / speed;
    return fabs(log2(half_waves)) <= 1.0 / 12 || fabs(log2(half_waves / 3)) <= 1.0 / 12;
}

/* A mirror: a point of the surface and its normal, room coordinates. */
typedef struct mirror {
    const ebb_surface *surface;
    ebb_vec3 at, out;
} mirror;

static mirror mirror_of(const ebb_room *room, size_t s)
{
    const ebb_surface *surface = &room->surfaces[s];
    return (mirror){surface, ebb_minus(surface->origin, room->origin), ebb_surface_normal(surface)};
}

/* In a room that is no box the mirror may end before the point that would reflect. */
static bool reflects(const ebb_room *room, const mirror *m, ebb_vec3 from, ebb_vec3 to)
{
    double near = ebb_dot(ebb_minus(m->at, from), m->out),
           far = ebb_dot(ebb_minus(m->at, to), m->out);
    const double none[2] = {0, 0};
    if (near <= 0 || far <= 0)
        return false;
    if (!room->shaped)
        return true;
    ebb_vec3 middle = ebb_plus(from, near / (near + far), ebb_minus(to, from));
    ebb_vec3 hit = ebb_plus(middle, near - near * (near - far) / (near + far), m->out);
    ebb_vec3 on = ebb_minus(hit, m->at);
    const double at[2] = {ebb_dot(on, m->surface->along), ebb_dot(on, m->surface->up)};
    return ebb_surface_holds(m->surface, at, none);
}

/* Of all surfaces whose reflection fits, the one with the shortest way: it is the strongest. */
ebb_judge_echo ebb_judge_late_echo(const ebb_scene *scene, size_t path, double hz)
{
    ebb_vec3 from = scene->sources[path / scene->n_receivers];
    ebb_vec3 to = scene->receivers[path % scene->n_receivers];
    double direct = ebb_length(ebb_minus(from, to)), best = weak_echo;
    ebb_judge_echo found = {.found = false};
    for (size_t s = 0; s < scene->room->n_surfaces; s++) {
        mirror m = mirror_of(scene->room, s);
        if (!reflects(scene->room, &m, from, to))
            continue;
        double gap_from = ebb_dot(ebb_minus(m.at, from), m.out),
               gap_to = ebb_dot(ebb_minus(m.at, to), m.out);
        double detoured = ebb_length(ebb_minus(ebb_plus(from, 2 * gap_from, m.out), to));
        if (!cancels_at(detoured - direct, hz, scene->job->air.speed) || direct < best * detoured)
            continue;
        best = direct / detoured;
        found = (ebb_judge_echo){true, s, fmin(gap_from, gap_to), gap_from < gap_to};
    }
    return found;
}
