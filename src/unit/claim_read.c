/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * The figures of a label read at normal incidence and at random incidence.
 *
 * Nothing is judged here: a reading holds what is wanted, what was found and what could be at most.
 */
#include "claim.h"

/* ---- the depth limit ------------------------------------------------------------------------- */

/* Depth that figures ask for, read at normal incidence with straight lines between them. One alone
 * stands for its third of an octave. */
static double depth_for(const ebb_unit_desk *d, size_t n, const double *hz, const double *alpha,
                        double ratio)
{
    if (n == 0)
        return 0;
    if (n > 1)
        return ebb_depth_needed(d->air, n, hz, alpha, ratio);
    const double half = exp2(1.0 / 6), band[2] = {hz[0] / half, hz[0] * half};
    const double level[2] = {alpha[0], alpha[0]};
    return ebb_depth_needed(d->air, 2, band, level, ratio);
}

/* Low figures ask for most depth. Those are dropped, from the lowest up, until the rest fits: they
 * are the ones that the depth forbids. Figures of 1 and more are no figures at normal incidence. */
static bool bound_figures(ebb_unit_desk *d)
{
    const size_t n = d->claim->n;
    ebb_claim_check *check = d->check;
    double *hz = EBB_NEW(d->scratch, double, n), *alpha = EBB_NEW(d->scratch, double, n);
    if (hz == NULL || alpha == NULL)
        return false;
    for (size_t j = 0; j < n; j++) {
        hz[j] = d->claim->figure[j].hz;
        alpha[j] = fmin(d->plain.want[j], 0.999);
    }
    check->needed = depth_for(d, n, hz, alpha, check->ratio);
    check->needed_air = depth_for(d, n, hz, alpha, 1);
    if (!(d->claim->depth > 0))
        return true;
    size_t first = 0;
    while (first < n &&
           depth_for(d, n - first, hz + first, alpha + first, check->ratio) > d->claim->depth)
        d->forbidden[first++] = true;
    const double half = n > 1 ? 1 : exp2(1.0 / 6);
    const double width = d->air->speed * (half / hz[0] - 1 / (half * hz[n - 1]));
    const double compliance =
        check->ratio * d->claim->depth / (d->air->density * d->air->speed * d->air->speed);
    check->flat = -expm1(-ebb_depth_limit(compliance, d->air) / width);
    return true;
}

/* ---- boxes ----------------------------------------------------------------------------------- */

/* What was not worked out stays NAN: a zero would read as a box that takes nothing. */
static bool reading_new(ebb_unit_desk *d, ebb_unit_read *r)
{
    const size_t n = d->claim->n;
    double *all = EBB_NEW(d->scratch, double, 6 * n);
    if (all == NULL)
        return false;
    r->want = all;
    r->got = all + n;
    r->normal = all + 2 * n;
    r->alone = all + 3 * n;
    r->alone_normal = all + 4 * n;
    r->limit = all + 5 * n;
    for (size_t i = n; i < 6 * n; i++)
        all[i] = NAN;
    const double face = d->claim->face[0] * d->claim->face[1];
    for (size_t j = 0; j < n; j++)
        r->want[j] = d->claim->figure[j].value / (d->claim->kind == EBB_FIGURE_AREA ? face : 1);
    return true;
}

/* The box for all figures together, then one for each alone. */
static ebb_status find_boxes(ebb_unit_desk *d, const ebb_unit_task *task, ebb_unit_read *r)
{
    ebb_status status = ebb_unit_best(d->ctx, task, &r->box, r->got, r->normal);
    for (size_t j = 0; j < task->n && status == EBB_OK; j++) {
        ebb_unit_task one = *task;
        ebb_box box;
        one.n = 1;
        one.hz += j;
        one.want += j;
        one.patch = task->patch != NULL ? task->patch + j : NULL;
        status = ebb_unit_best(d->ctx, &one, &box, &r->alone[j], &r->alone_normal[j]);
    }
    r->done = status == EBB_OK;
    /* A label that contradicts itself is not an error of the file. */
    return status == EBB_E_NOSOLUTION ? EBB_OK : status;
}

/* Apart from their values, as the depth limit and the search want them. */
static double *frequencies(ebb_unit_desk *d)
{
    double *hz = EBB_NEW(d->scratch, double, d->claim->n);
    for (size_t j = 0; hz != NULL && j < d->claim->n; j++)
        hz[j] = d->claim->figure[j].hz;
    return hz;
}

/* At normal incidence the size of the face does not matter, only its depth. */
static ebb_status read_plain(ebb_unit_desk *d)
{
    const double *hz = frequencies(d);
    if (hz == NULL)
        return ebb_fail(d->ctx, EBB_E_NOMEM, "no memory for a claim");
    for (size_t j = 0; j < d->claim->n; j++)
        d->plain.limit[j] = 1;
    const ebb_unit_task task = {.claim = d->claim,
                                .air = d->air,
                                .reading = EBB_UNIT_NORMAL,
                                .n = d->claim->n,
                                .hz = hz,
                                .want = d->plain.want};
    return d->claim->depth > 0 ? find_boxes(d, &task, &d->plain) : EBB_OK;
}

/* Without the face a surface without end stands in. */
static ebb_status read_diffuse(ebb_unit_desk *d)
{
    const size_t n = d->claim->n;
    const double *hz = frequencies(d);
    ebb_unit_patch *patch = EBB_NEW(d->scratch, ebb_unit_patch, d->face ? n : 0);
    if (hz == NULL || patch == NULL)
        return ebb_fail(d->ctx, EBB_E_NOMEM, "no memory for a claim");
    for (size_t j = 0; j < n; j++) {
        if (d->face)
            ebb_unit_patch_make(d->claim->face, d->air, hz[j], &patch[j]);
        d->diffuse.limit[j] = d->face ? ebb_unit_patch_most(&patch[j]) : EBB_UNIT_LARGEST_DIFFUSE;
    }
    const ebb_unit_task task = {.claim = d->claim,
                                .air = d->air,
                                .reading = d->face ? EBB_UNIT_PATCH : EBB_UNIT_DIFFUSE,
                                .n = n,
                                .hz = hz,
                                .want = d->diffuse.want,
                                .patch = d->face ? patch : NULL};
    return d->claim->depth > 0 ? find_boxes(d, &task, &d->diffuse) : EBB_OK;
}

/* ---- both readings ----------------------------------------------------------------------------
 */

/* Only the readings that the kind of figure allows are worked out. */
ebb_status ebb_unit_read_figures(ebb_unit_desk *d)
{
    const ebb_figure_kind kind = d->claim->kind;
    const bool plain = kind == EBB_FIGURE_NORMAL || kind == EBB_FIGURE_UNSAID;
    if (!reading_new(d, &d->plain) || !reading_new(d, &d->diffuse))
        return ebb_fail(d->ctx, EBB_E_NOMEM, "no memory for a claim");
    ebb_status status = EBB_OK;
    if (plain) {
        if (!bound_figures(d))
            return ebb_fail(d->ctx, EBB_E_NOMEM, "no memory for a claim");
        status = read_plain(d);
    }
    const bool open = kind == EBB_FIGURE_AREA && !d->face;
    if (status == EBB_OK && kind != EBB_FIGURE_NORMAL && !open)
        status = read_diffuse(d);
    return status;
}
