/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "ceiling.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846

/* Something to be packed: what it is worth and what it takes. */
struct ebb_item {
    double value, weight;
};

/* ---- setting up --------------------------------------------------------------------------------
 */

static void widen(const ebb_reduced *modal, size_t patch, size_t from, size_t to, double scale,
                  ebb_form *form)
{
    for (size_t q = from; q < to; q++) {
        double lack[2];
        ebb_reduced_port_lack(modal, patch, q, lack);
        for (int i = 0; i < 2; i++) {
            form->lack[i][0] = fmin(form->lack[i][0], lack[i] * scale);
            form->lack[i][1] = fmax(form->lack[i][1], lack[i] * scale);
        }
    }
}

static ebb_form empty_form(const ebb_assembly *assembly)
{
    return (ebb_form){assembly, {{INFINITY, -INFINITY}, {INFINITY, -INFINITY}}};
}

/* Units of a kind share the mean of what their ports lack; it lies within the range of them all. */
static void make_kinds(ebb_ceiling *c)
{
    const ebb_base *b = c->base;
    const double scale = 1 / b->volume_scale;
    for (size_t k = 0; k < b->n_kinds; k++) {
        bool piston = b->kind[k].unit->piston;
        c->pistons = c->pistons || piston;
        c->kind[k] = empty_form(&b->kind[k].unit->assembly);
        for (size_t s = 0; s < b->spots->n; s++) {
            size_t patch = b->state.n_used + s;
            widen(b->modal, patch, piston ? 0 : 1, piston ? 1 : ebb_reduced_ports(b->modal, patch),
                  scale, &c->kind[k]);
        }
        for (size_t i = 0; i < b->state.n_used; i++)
            if (b->state.mounted[i].assembly == c->kind[k].assembly)
                widen(b->modal, b->state.used[i], 0, ebb_reduced_ports(b->modal, b->state.used[i]),
                      scale, &c->kind[k]);
    }
}

static void make_forms(ebb_ceiling *c)
{
    const ebb_base *b = c->base;
    for (size_t i = 0; i < b->room->n_surfaces; i++)
        c->form[c->n_forms++] = (ebb_form){.assembly = b->state.face[ebb_face_of(b->room, i)]};
    for (size_t i = 0; i < b->state.n_used; i++) {
        ebb_form *form = &c->form[c->n_forms++];
        *form = empty_form(b->state.mounted[i].assembly);
        for (size_t k = 0; k < b->n_kinds; k++)
            if (c->kind[k].assembly == form->assembly)
                *form = c->kind[k];
        for (size_t j = 0; j < b->state.n_used; j++)
            if (b->state.mounted[j].assembly == form->assembly)
                widen(b->modal, b->state.used[j], 0, ebb_reduced_ports(b->modal, b->state.used[j]),
                      1 / b->volume_scale, form);
    }
}

/* Largest eigenvalue of the sum of P P^T over ports 1.. of patches, less that of port 0 where only
 * the slopes count; over the volume scale. */
static ebb_status largest(ebb_arena *arena, const ebb_base *b, size_t first, size_t n, bool slopes,
                          double *lambda)
{
    size_t size = ebb_reduced_size(b->modal);
    double *sum = EBB_NEW(arena, double, size *size), *value = EBB_NEW(arena, double, size);
    *lambda = 0;
    if (!sum || !value)
        return EBB_E_NOMEM;
    for (size_t p = first; p < first + n; p++)
        for (size_t q = slopes ? 0 : 1; q < ebb_reduced_ports(b->modal, p); q++) {
            const double *v = ebb_reduced_port(b->modal, p, q);
            cblas_dsyr(CblasColMajor, CblasLower, (int)size, (q == 0 ? -1 : 1) / b->volume_scale, v,
                       1, sum, (int)size);
        }
    if (n > 0 && LAPACKE_dsyev(LAPACK_COL_MAJOR, 'N', 'L', (int)size, sum, (int)size, value) != 0)
        return EBB_E_NUMERIC;
    *lambda = n > 0 ? fmax(value[size - 1], 0) : 0;
    return EBB_OK;
}

static void fill_touch(ebb_ceiling *c)
{
    const ebb_base *b = c->base;
    size_t size = c->modes->size;
    for (size_t m = 0; m < c->modes->n; m++)
        for (size_t s = 0; s < b->spots->n; s++) {
            const double _Complex *x = c->modes->vector + m * size;
            size_t patch = b->state.n_used + s;
            for (size_t q = 0; q < ebb_reduced_ports(b->modal, patch); q++) {
                const double *v = ebb_reduced_port(b->modal, patch, q);
                double _Complex sum = 0;
                for (size_t i = 0; i < size; i++)
                    sum += v[i] * x[i];
                double *to = (q == 0 ? c->whole : c->all) + m * b->spots->n + s;
                *to += creal(sum * conj(sum));
            }
        }
}

ebb_status ebb_ceiling_make(ebb_ctx *ctx, ebb_arena *arena, const ebb_base *b, ebb_ceiling *c)
{
    size_t pairs = b->spots->n * b->n_kinds;
    *c = (ebb_ceiling){.base = b};
    ebb_state bare = b->state;
    bare.n_sources = bare.n_receivers = 0;
    ebb_status status =
        ebb_modes_new(ctx, b->modal, &bare, b->lowest_mode, b->highest_mode, &c->modes);
    if (status != EBB_OK)
        return status;
    c->form = EBB_NEW(arena, ebb_form, b->room->n_surfaces + b->state.n_used);
    c->kind = EBB_NEW(arena, ebb_form, b->n_kinds);
    c->whole = EBB_NEW(arena, double, c->modes->n * b->spots->n);
    c->all = EBB_NEW(arena, double, c->modes->n * b->spots->n);
    c->value = EBB_NEW(arena, double, pairs);
    c->slope = EBB_NEW(arena, double, pairs);
    c->item = EBB_NEW(arena, struct ebb_item, pairs);
    if (!c->form || !c->kind || !c->whole || !c->all || !c->value || !c->slope || !c->item)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory");
    make_kinds(c);
    make_forms(c);
    fill_touch(c);
    status = largest(arena, b, b->state.n_used, b->spots->n, true, &c->lambda[0]);
    if (status == EBB_OK)
        status = largest(arena, b, 0, b->state.n_used, false, &c->lambda[1]);
    return status == EBB_OK ? status
                            : ebb_fail(ctx, status, "no largest eigenvalue of the room's places");
}

/* ---- packing -----------------------------------------------------------------------------------
 */

static int by_density(const void *a, const void *b)
{
    const struct ebb_item *x = a, *y = b;
    double p = x->value * y->weight, q = y->value * x->weight;
    return (p < q) - (p > q);
}

/* Most value within a limit when parts may be taken. */
static double packed(size_t n, struct ebb_item *item, double limit)
{
    double sum = 0;
    if (!(limit < INFINITY)) {
        for (size_t i = 0; i < n; i++)
            sum += item[i].value;
        return sum;
    }
    qsort(item, n, sizeof *item, by_density);
    for (size_t i = 0; i < n && limit > 0; i++) {
        double part = item[i].weight > limit ? limit / item[i].weight : 1;
        sum += part * item[i].value;
        limit -= part * item[i].weight;
    }
    return sum;
}

/* The limits of an allowance, and what a unit at a spot takes of each. */
enum { LIMITS = 5 };

static double limit_of(const ebb_base *b, int which)
{
    const ebb_allowance *a = &b->job->allowance;
    const double limit[LIMITS] = {a->count, a->mass, a->cost,
                                  a->cover * ebb_room_treatable(b->room),
                                  a->floor * ebb_surface_area(&b->room->surfaces[0]) / 9.81};
    return limit[which];
}

static double weight_of(const ebb_base *b, int which, size_t spot, size_t kind)
{
    const ebb_unit *unit = b->kind[kind].unit;
    const double *size = b->spots->spot[spot].size;
    const double weight[LIMITS] = {1, unit->mass, unit->cost, size[0] * size[1], unit->mass};
    return weight[which];
}

static bool usable(const ebb_base *b, size_t spot, size_t kind)
{
    return b->allowed[spot * b->n_kinds + kind] &&
           b->kind[kind].unit->depth <= b->job->allowance.depth;
}

/* The most that values [spot * n_kinds + kind] can add up to: each limit alone allows at least as
 * much as all together, and so does leaving out that units take each other's room. */
static double most(ebb_ceiling *c, const double *value)
{
    const ebb_base *b = c->base;
    double least = INFINITY;
    for (int which = 0; which < LIMITS; which++) {
        size_t n = 0;
        for (size_t s = 0; s < b->spots->n; s++)
            for (size_t k = 0; k < b->n_kinds; k++)
                if (usable(b, s, k))
                    c->item[n++] = (struct ebb_item){fmax(value[s * b->n_kinds + k], 0),
                                                     weight_of(b, which, s, k)};
        least = fmin(least, packed(n, c->item, limit_of(b, which)));
    }
    return least;
}

/* ---- the inequality ----------------------------------------------------------------------------
 */

/* Impedance z over rho c of a form at a corner 0..3 of what its ports may lack. */
static double _Complex impedance(const ebb_base *b, const ebb_form *form, double _Complex omega,
                                 int corner)
{
    double _Complex k = omega / b->state.air.speed;
    double _Complex beta = ebb_assembly_beta(form->assembly, &b->state.air, NULL, omega);
    return 1 / beta + I * k * (form->lack[0][corner % 2] + k * k * form->lack[1][corner / 2]);
}

static bool is_rigid(const ebb_base *b, const ebb_form *form, double _Complex omega)
{
    return cabs(ebb_assembly_beta(form->assembly, &b->state.air, NULL, omega)) < 1e-12;
}

/* How differently walls and all that hangs already react at the two frequencies: M. false: some
 * of it would not lose energy. */
static bool walls_differ(const ebb_ceiling *c, double _Complex omega, double _Complex from,
                         double *m)
{
    const ebb_base *b = c->base;
    double _Complex k = omega / b->state.air.speed, k0 = from / b->state.air.speed;
    *m = 0;
    for (size_t i = 0; i < c->n_forms; i++) {
        if (is_rigid(b, &c->form[i], omega) && is_rigid(b, &c->form[i], from))
            continue;
        for (int corner = 0; corner < 16; corner++) {
            double _Complex now = k / impedance(b, &c->form[i], omega, corner % 4);
            double _Complex was = k0 / impedance(b, &c->form[i], from, corner / 4);
            if (!(creal(now) > 0) || !(creal(was) > 0))
                return false;
            *m = fmax(*m, cabs(now - was) / sqrt(creal(now) * creal(was)));
        }
    }
    return true;
}

/* What is known of the wall behind a spot at a pair of frequencies. */
typedef struct behind {
    double e;               /* share by which the scale of a patch exceeds that of the face */
    double _Complex theta;  /* what is taken away: k beta, mixed of both frequencies */
    double _Complex differ; /* k beta at the one less that at the other */
    double loss, loss_from; /* Re k beta */
} behind;

static behind wall_behind(const ebb_base *b, size_t surface, double _Complex omega,
                          double _Complex from)
{
    const ebb_vec3 normal = ebb_surface_normal(&b->room->surfaces[surface]);
    const double *scale = b->state.scale, c = b->state.air.speed;
    const ebb_assembly *assembly = b->state.face[ebb_face_of(b->room, surface)];
    double face = sqrt(pow(normal.x / scale[0], 2) + pow(normal.y / scale[1], 2) +
                       pow(normal.z / scale[2], 2)) *
                  b->volume_scale;
    double _Complex now = omega / c * ebb_assembly_beta(assembly, &b->state.air, NULL, omega);
    double _Complex was = from / c * ebb_assembly_beta(assembly, &b->state.air, NULL, from);
    return (behind){1 - face, (1 - face) * now + face * was, now - was, creal(now), creal(was)};
}

double ebb_ceiling_resistance(const ebb_ceiling *c, size_t kind, double omega)
{
    return creal(1 / ebb_assembly_beta(c->kind[kind].assembly, &c->base->state.air, NULL, omega));
}

/* m^2 / r of a kind before a wall, the largest over what its ports may lack; below 0: r is not
 * above 0. */
static double hold_of(const ebb_ceiling *c, size_t kind, const behind *wall, double _Complex omega)
{
    double _Complex k = omega / c->base->state.air.speed;
    const double still = ebb_ceiling_resistance(c, kind, creal(omega));
    double largest = 0;
    for (int corner = 0; corner < 4; corner++) {
        double _Complex z = impedance(c->base, &c->kind[kind], omega, corner);
        double z2 = creal(z * conj(z));
        double r = still - fmax(wall->e, 0) * fmax(wall->loss, 0) * z2 / cabs(k);
        if (!(r > 0))
            return -1;
        double m = cabs(1 - wall->theta * z / k);
        largest = fmax(largest, m * m / r);
    }
    return largest;
}

/* What is left over beside the main sums. */
typedef struct rest {
    double slack, slack_from; /* beside Im k^2 and Im k0^2 */
    double theta;             /* largest |theta| */
    double fixed;             /* of what hangs already */
} rest;

/* Fills values and slopes of all spots and kinds for a mode; false: some r is not above 0. */
static bool fill_values(ebb_ceiling *c, size_t mode, double _Complex omega, double _Complex from,
                        rest *left)
{
    const ebb_base *b = c->base;
    size_t n = b->n_kinds;
    *left = (rest){0};
    for (size_t surface = 0; surface < b->room->n_surfaces; surface++) {
        behind wall = wall_behind(b, surface, omega, from);
        double e = fabs(wall.e), loss = fmax(wall.loss, 0), from_loss = fmax(wall.loss_from, 0);
        double slopes = c->pistons ? c->lambda[0] : 0;
        left->slack = fmax(left->slack, e * loss * (slopes + c->lambda[1]));
        left->slack_from = fmax(left->slack_from, e * from_loss * c->lambda[1]);
        left->theta = fmax(left->theta, cabs(wall.theta));
        left->fixed = fmax(left->fixed, e * cabs(wall.differ) * c->lambda[1]);
        for (size_t k = 0; k < n; k++) {
            double hold = hold_of(c, k, &wall, omega);
            bool piston = b->kind[k].unit->piston;
            for (size_t s = 0; s < b->spots->n; s++) {
                if (b->spots->spot[s].surface != surface || !usable(b, s, k))
                    continue;
                if (hold < 0)
                    return false;
                double whole = c->whole[mode * b->spots->n + s];
                double all = c->all[mode * b->spots->n + s];
                c->value[s * n + k] = hold * (piston ? whole : all) / b->volume_scale;
                c->slope[s * n + k] = piston ? fmax(all - whole, 0) / b->volume_scale : 0;
            }
        }
    }
    return true;
}

static double _Complex omega_of(const ebb_mode *mode)
{
    return 2 * PI * mode->hz + I * mode->delta;
}

ebb_can ebb_ceiling_allows(ebb_ceiling *c, size_t mode, double _Complex omega, double share)
{
    double _Complex from = omega_of(&c->modes->mode[mode]);
    double _Complex k = omega / c->base->state.air.speed, k0 = from / c->base->state.air.speed;
    double m;
    rest left;
    if (!walls_differ(c, omega, from, &m) || !fill_values(c, mode, omega, from, &left))
        return EBB_CAN_NOT_SAY;
    double s = left.fixed;
    if (c->pistons)
        s += left.theta * sqrt(most(c, c->slope) * c->lambda[0]);
    double hold = m * m * (cimag(k0 * k0) + left.slack_from) + cabs(k) * most(c, c->value);
    double right = sqrt(hold) * sqrt(cimag(k * k) + left.slack) + s;
    return cabs(k * k - k0 * k0) * sqrt(share) <= right ? EBB_CAN : EBB_CAN_NOT;
}

double ebb_ceiling_estimate(ebb_ceiling *c, size_t mode)
{
    const ebb_base *b = c->base;
    const ebb_mode *m = &c->modes->mode[mode];
    for (size_t s = 0; s < b->spots->n; s++)
        for (size_t k = 0; k < b->n_kinds; k++) {
            const ebb_assembly *wall =
                b->state.face[ebb_face_of(b->room, b->spots->spot[s].surface)];
            double w = 2 * PI * m->hz, whole = c->whole[mode * b->spots->n + s];
            double all = c->all[mode * b->spots->n + s];
            double unit = creal(ebb_assembly_beta(c->kind[k].assembly, &b->state.air, NULL, w));
            double taken = creal(ebb_assembly_beta(wall, &b->state.air, NULL, w));
            c->value[s * b->n_kinds + k] =
                b->state.air.speed / 2 / b->volume_scale *
                (unit * (b->kind[k].unit->piston ? whole : all) - taken * all);
        }
    return m->delta + most(c, c->value);
}
