/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Units against one mode of a room.
 *
 * One mode of shape psi, admittance beta of each unit, weak coupling between modes left out:
 *
 *   p ~ 1/D(w),  D = w0^2 - w^2 + 2 j w delta0 + j w c beta(w) sum psi^2 S/(V Lambda)
 *
 * with Lambda the mean of psi^2 over the room (1/2 for each direction that has half-waves) and psi
 * the mean over the face of a unit, whose fronts move as a whole. The reactance of the units is in
 * it: few of them act as a tuned damper and split the peak in two. The fall of the highest peak
 * counts. beta is that of the unit behind the mass of the air that moves along in front of it.
 */
#include "private.h"

#define STEP 0.1 /* m between places tried */

/* ---- shape ----------------------------------------------------------------------------------- */

/* Mean of cos(n pi x/L) from x to x + width. */
static double mean_cosine(int n, double x, double width, double length)
{
    if (n == 0)
        return 1;
    const double k = n * EBB_CRAFT_PI / length;
    return (sin(k * (x + width)) - sin(k * x)) / (k * width);
}

/* A unit's body in room coordinates. */
typedef struct body {
    double low[3], high[3];
} body;

static body body_of(const ebb_room *room, const ebb_placed *placed, const double size[2],
                    double depth)
{
    const ebb_surface *s = &room->surfaces[placed->surface];
    const ebb_vec3 from = ebb_surface_point(s, placed->at[0], placed->at[1]);
    const ebb_vec3 to = ebb_surface_point(s, placed->at[0] + size[0], placed->at[1] + size[1]);
    const double a[3] = {from.x - room->origin.x, from.y - room->origin.y, from.z - room->origin.z};
    const double b[3] = {to.x - room->origin.x, to.y - room->origin.y, to.z - room->origin.z};
    body out;
    for (int d = 0; d < 3; d++) {
        out.low[d] = fmin(a[d], b[d]);
        out.high[d] = fmax(a[d], b[d]);
    }
    if (s->side == 0)
        out.high[s->axis] += depth;
    else
        out.low[s->axis] -= depth;
    return out;
}

static bool meet(const body *a, const body *b)
{
    for (int d = 0; d < 3; d++)
        if (a->low[d] > b->high[d] - 1e-3 || b->low[d] > a->high[d] - 1e-3)
            return false;
    return true;
}

/* Mean of the shape over the face, squared: what the pressure drives the unit with and what the
 * unit answers with are the same mean. */
static double coupling(const ebb_room *room, const ebb_placed *placed, const body *b,
                       const int label[3])
{
    const int axis = room->surfaces[placed->surface].axis;
    double psi = 1;
    for (int d = 0; d < 3; d++)
        if (d != axis)
            psi *= mean_cosine(label[d], b->low[d], b->high[d] - b->low[d], room->size[d]);
    return psi * psi;
}

/* ---- places ---------------------------------------------------------------------------------- */

typedef struct hunt {
    const ebb_job *job;
    const ebb_room *room;
    const ebb_target *target;
    const ebb_craft_mode *mode;
    size_t n_taken;
    body *taken;
} hunt;

/* Openings and units that are there already. */
static void take_what_is_there(hunt *h)
{
    const ebb_room *room = h->room;
    for (size_t i = 0; i < room->n_openings; i++) {
        const ebb_opening *o = &room->openings[i];
        const ebb_placed like = {.surface = o->surface, .at = {o->at[0], o->at[1]}};
        h->taken[h->n_taken++] = body_of(room, &like, o->size, 0.05);
    }
    for (size_t i = 0; i < room->n_placed; i++) {
        const ebb_unit *unit = &h->job->absorbers[room->placed[i].unit];
        double size[2];
        ebb_placed_size(unit, &room->placed[i], size);
        h->taken[h->n_taken++] = body_of(room, &room->placed[i], size, unit->depth);
    }
}

static bool is_free(const hunt *h, const body *b)
{
    for (size_t i = 0; i < h->n_taken; i++)
        if (meet(b, &h->taken[i]))
            return false;
    return true;
}

/* The free place on one wall where the mode presses most; the first of equals, so from the corner
 * on. */
static void search_wall(const hunt *h, size_t surface, bool turned, ebb_placed *best, double *most)
{
    const ebb_surface *s = &h->room->surfaces[surface];
    const double *face = h->target->face;
    const double size[2] = {face[turned ? 1 : 0], face[turned ? 0 : 1]};
    const double room_for[2] = {s->range[0][1] - s->range[0][0] - size[0],
                                s->range[1][1] - s->range[1][0] - size[1]};
    if (room_for[0] < 0 || room_for[1] < 0)
        return;
    const int steps[2] = {(int)ceil(room_for[0] / STEP), (int)ceil(room_for[1] / STEP)};
    for (int i = 0; i <= steps[0]; i++)
        for (int k = 0; k <= steps[1]; k++) {
            const ebb_placed placed = {.surface = surface,
                                       .turned = turned,
                                       .at = {s->range[0][0] + fmin(i * STEP, room_for[0]),
                                              s->range[1][0] + fmin(k * STEP, room_for[1])}};
            const body b = body_of(h->room, &placed, size, h->target->depth[1]);
            const double value = coupling(h->room, &placed, &b, h->mode->label);
            if (value > *most * (1 + 1e-9) && is_free(h, &b)) {
                *most = value;
                *best = placed;
            }
        }
}

static ebb_status hang(ebb_ctx *ctx, hunt *h, ebb_craft_mode *mode)
{
    const double area = h->target->face[0] * h->target->face[1];
    double lambda = 1;
    for (int d = 0; d < 3; d++)
        lambda *= mode->label[d] > 0 ? 0.5 : 1;
    for (size_t u = 0; u < mode->n; u++) {
        double most = 0;
        for (size_t s = 2; s < h->room->n_surfaces; s++)
            for (int turned = 0; turned < 2; turned++)
                search_wall(h, s, turned == 1, &mode->placed[u], &most);
        if (!(most > 0))
            return ebb_fail(ctx, EBB_E_NOSOLUTION,
                            "%s: %zu units of this face and depth find no place on the walls of "
                            "\"%s\" where the mode at %.1f Hz presses",
                            h->target->name, mode->n, h->room->name, mode->hz);
        const ebb_placed *p = &mode->placed[u];
        const double size[2] = {h->target->face[p->turned ? 1 : 0],
                                h->target->face[p->turned ? 0 : 1]};
        h->taken[h->n_taken++] = body_of(h->room, p, size, h->target->depth[1]);
        mode->coupling += most * area / (ebb_room_volume(h->room) * lambda);
    }
    return EBB_OK;
}

ebb_status ebb_craft_mode_place(ebb_ctx *ctx, ebb_arena *arena, const ebb_target *target,
                                ebb_craft_mode *mode)
{
    const ebb_room *room = mode->room;
    const size_t most = room->n_openings + room->n_placed + target->tuning.units;
    hunt h = {target->tuning.job, room, target, mode, 0, EBB_NEW(arena, body, most)};
    mode->n = target->tuning.units;
    mode->placed = EBB_NEW(arena, ebb_placed, mode->n);
    if (h.taken == NULL || mode->placed == NULL)
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory for the places of units");
    mode->along = ebb_radiation_mass(target->face, &target->tuning.job->air, mode->hz);
    take_what_is_there(&h);
    return hang(ctx, &h, mode);
}

/* ---- the peak -------------------------------------------------------------------------------- */

/* |D|^2 of the mode with an admittance taken `coupling` times. */
static double denominator(const ebb_craft_space *s, double hz, double _Complex beta,
                          double coupling_)
{
    const double w = 2 * EBB_CRAFT_PI * hz, w0 = 2 * EBB_CRAFT_PI * s->mode->hz;
    const double delta = 6.908 / s->mode->t60;
    const double load = w * s->air.speed * coupling_;
    const double re = w0 * w0 - w * w - load * cimag(beta);
    const double im = 2 * w * delta + load * creal(beta);
    return re * re + im * im;
}

double ebb_craft_mode_fall(const ebb_craft_space *s, const double _Complex *beta)
{
    const double air = s->air.density * s->air.speed;
    /* bare, the peak lies at w0 to within delta^2 */
    const double before = denominator(s, s->mode->hz, 0, 0);
    double after = INFINITY;
    for (size_t i = 0; i < s->n_hz; i++) {
        const double x = 2 * EBB_CRAFT_PI * s->hz[i] * s->mode->along / air;
        const double _Complex loaded = beta[i] / (1 + x * I * beta[i]);
        after = fmin(after, denominator(s, s->hz[i], loaded, s->mode->coupling));
    }
    return 10 * log10(after / before);
}
