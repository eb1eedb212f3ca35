/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Values of a picture of `ebb field` at its points.
 *
 * Modes are shown against their largest pressure in the whole room, not on the cut: a cut along
 * a node must look empty. Levels are against the loudest point of the cut, but for the places next
 * to a speaker, where its own field outshouts the room's at any frequency.
 */
#include "field_paint.h"

#include <complex.h>
#include <math.h>

#define PI 3.14159265358979323846
#define ROUND_THE_ROOM 13 /* points along each axis, to find the largest pressure */
#define AT_ONCE 128       /* points whose basis functions are held at a time */

bool cli_field_spots(ebb_arena *arena, size_t most, field_spots *s)
{
    s->at = EBB_NEW(arena, ebb_vec3, most);
    s->value = EBB_NEW(arena, double, most);
    return s->at != NULL && s->value != NULL;
}

/* Points all over the room, its corners among them: there the pressure is largest. */
static bool lay_room(const field_painter *p, field_spots *s)
{
    const ebb_room *room = p->task->room;
    const size_t corners = room->shaped ? room->solid->n_corners : 0;
    const size_t n = ROUND_THE_ROOM;
    if (!cli_field_spots(p->run->arena, n * n * n + corners, s))
        return false;
    for (size_t k = 0; k < n * n * n; k++) {
        const double part = (double)(n - 1);
        const ebb_vec3 at = {room->size[0] * (double)(k % n) / part,
                             room->size[1] * (double)(k / n % n) / part,
                             room->size[2] * (double)(k / n / n) / part};
        if (ebb_room_holds(room, at, 0))
            s->at[s->n++] = at;
    }
    for (size_t i = 0; i < corners; i++)
        s->at[s->n++] = room->solid->corner[i];
    return true;
}

/* ---- modes ----------------------------------------------------------------------------------- */

/* Rigid-wall modes of a box are known in closed form, those of another room on its elements. */
static ebb_status rigid_values(const field_painter *p, field_spots *s)
{
    const ebb_room *room = p->task->room;
    size_t n;
    const int *label;
    ebb_reduced_rigid(p->result->reduced, &n, &label);
    label += 3 * p->mode;
    if (room->shaped) {
        const double *lambda, *shape;
        ebb_space_modes(room->space, &lambda, &shape, NULL);
        shape += (size_t)label[0] * ebb_space_size(room->space);
        return ebb_space_values(p->run->ctx, room->space, 1, shape, s->n, s->at, s->value);
    }
    for (size_t i = 0; i < s->n; i++)
        s->value[i] = cos(PI * label[0] * s->at[i].x / room->size[0]) *
                      cos(PI * label[1] * s->at[i].y / room->size[1]) *
                      cos(PI * label[2] * s->at[i].z / room->size[2]);
    return EBB_OK;
}

/* A damped mode has no moment in which it is nothing everywhere. It is shown at the moment in which
 * there is most of it: its phase turned so that the sum of squares of the real part is largest. */
static ebb_status damped_values(const field_painter *p, field_spots *s)
{
    const ebb_modes *modes = p->result->modes;
    const size_t size = modes->size;
    const double _Complex *vector = modes->vector + p->mode * size;
    double *basis = EBB_NEW(p->run->arena, double, AT_ONCE *size);
    double *now = EBB_NEW(p->run->arena, double, size);
    if (basis == NULL || now == NULL)
        return ebb_fail(p->run->ctx, EBB_E_NOMEM, "no memory for the picture");
    double _Complex sum = 0;
    for (size_t i = 0; i < size; i++)
        sum += vector[i] * vector[i];
    const double _Complex turn = cexp(-0.5 * I * carg(sum));
    for (size_t i = 0; i < size; i++)
        now[i] = creal(vector[i] * turn);
    ebb_status status = EBB_OK;
    for (size_t from = 0; from < s->n && status == EBB_OK; from += AT_ONCE) {
        const size_t n = s->n - from < AT_ONCE ? s->n - from : AT_ONCE;
        status = ebb_reduced_points(p->run->ctx, p->result->reduced, n, s->at + from, basis);
        for (size_t k = 0; k < n && status == EBB_OK; k++) {
            s->value[from + k] = 0;
            for (size_t i = 0; i < size; i++)
                s->value[from + k] += basis[k * size + i] * now[i];
        }
    }
    return status;
}

double cli_field_largest(const field_spots *s)
{
    double most = 0;
    for (size_t i = 0; i < s->n; i++)
        most = fmax(most, fabs(s->value[i]));
    return most;
}

/* Which sign is which has no meaning; the corner with the lower coordinates is made positive where
 * it can be told, so that the same mode always looks the same. */
static double sign_of(const field_spots *room)
{
    const double first = room->n > 0 ? room->value[0] : 1;
    return first < 0 ? -1 : 1;
}

ebb_status cli_field_mode_values(field_painter *p)
{
    field_spots room = {0};
    if (!lay_room(p, &room))
        return ebb_fail(p->run->ctx, EBB_E_NOMEM, "no memory for the picture");
    field_spots *both[2] = {&room, &p->cut};
    ebb_status status = EBB_OK;
    for (int i = 0; i < 2 && status == EBB_OK; i++)
        status = p->task->picture.shown == FIELD_RIGID_MODE ? rigid_values(p, both[i])
                                                            : damped_values(p, both[i]);
    const double most = fmax(cli_field_largest(&room), cli_field_largest(&p->cut)) * sign_of(&room);
    for (size_t i = 0; i < p->cut.n && most != 0; i++)
        p->cut.value[i] /= most;
    return status;
}

/* ---- pressure -------------------------------------------------------------------------------- */

static double far_from_speakers(const field_painter *p, ebb_vec3 at)
{
    const field_picture *picture = &p->task->picture;
    double least = INFINITY;
    for (size_t i = 0; i < picture->n; i++) {
        const ebb_vec3 s = p->result->state.sources[picture->first + i];
        least = fmin(least, sqrt((s.x - at.x) * (s.x - at.x) + (s.y - at.y) * (s.y - at.y) +
                                 (s.z - at.z) * (s.z - at.z)));
    }
    return least;
}

/* Speakers in phase and of equal strength. Not all points at once: for each the engine wants room
 * for a basis far larger than that of its model. */
static ebb_status add_pressure(field_painter *p, size_t from, size_t n, double _Complex *h)
{
    const field_picture *picture = &p->task->picture;
    ebb_state state = p->result->state;
    state.n_sources = picture->n;
    state.sources += picture->first;
    state.n_receivers = n;
    state.receivers = p->cut.at + from;
    const ebb_status status =
        ebb_response(p->run->ctx, p->result->reduced, &state, 1, &picture->hz, h);
    for (size_t i = 0; i < n * picture->n && status == EBB_OK; i++) {
        p->cut.value[from + i % n] += creal(h[i]);
        p->imaginary[from + i % n] += cimag(h[i]);
    }
    return status;
}

/* Of the points that count; where none does, of all. */
static double loudest_of(const field_painter *p)
{
    double most = 0, all = 0;
    for (size_t i = 0; i < p->cut.n; i++) {
        const double here = hypot(p->cut.value[i], p->imaginary[i]);
        all = fmax(all, here);
        if (far_from_speakers(p, p->cut.at[i]) >= CLI_FIELD_BESIDE)
            most = fmax(most, here);
    }
    return most > 0 ? most : all;
}

ebb_status cli_field_pressure_values(field_painter *p)
{
    double _Complex *h = EBB_NEW(p->run->arena, double _Complex, AT_ONCE * p->task->picture.n);
    p->imaginary = EBB_NEW(p->run->arena, double, p->cut.n);
    if (h == NULL || p->imaginary == NULL)
        return ebb_fail(p->run->ctx, EBB_E_NOMEM, "no memory for the picture");
    ebb_status status = EBB_OK;
    for (size_t from = 0; from < p->cut.n && status == EBB_OK; from += AT_ONCE) {
        const size_t n = p->cut.n - from < AT_ONCE ? p->cut.n - from : AT_ONCE;
        status = add_pressure(p, from, n, h);
    }
    p->loudest = loudest_of(p);
    return status;
}
