/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Residuals of a box in the product of its three lines, where all but the walls is diagonal.
 */
#include "near.h"
#include "trust.h"

#include <cblas.h>

typedef struct whole_box {
    const ebb_box_build *b;
    double *const *ports; /* [face] patterns of all ports */
    ebb_arena *scratch;
    double *x, *work; /* [2 n_full], lines and a face */
} whole_box;

/* What a face does to its trace: from[jk] -> to[jk]. */
static void damp(const whole_box *w, int face, const double *from, double *to)
{
    const ebb_box_build *b = w->b;
    int n_jk = (int)ebb_box_face_functions(&b->space->box, face);
    double wall = ebb_trust_wall(b->geometry, (size_t)face);
    const double *pattern = w->ports[face];
    for (int jk = 0; jk < n_jk; jk++)
        to[jk] = wall * from[jk];
    for (size_t p = 0; p < b->reduced->n_patches; p++) {
        const ebb_port_set *set = &b->reduced->patch[p];
        for (size_t q = 0; q < set->n && set->face == face; q++, pattern += n_jk)
            if (q > 0 && ebb_trust_hangs(b->geometry, p)) /* 0: the whole moves with its cells */
                cblas_daxpy(n_jk, (EBB_TRUST_PATCH - wall) * cblas_ddot(n_jk, pattern, 1, from, 1),
                            pattern, 1, to, 1);
    }
}

/* to += factor (sum beta B) from */
static void add_walls(const whole_box *w, double factor, const double *from, double *to)
{
    const ebb_box *box = &w->b->space->box;
    for (int face = 0; face < EBB_FACES; face++) {
        int axis = face / 2, tangent[2];
        ebb_box_tangents(axis, tangent);
        size_t n2 = box->axis[tangent[1]].n, n_jk = ebb_box_face_functions(box, face);
        const double *end = box->axis[axis].end[face % 2];
        double *trace = w->work, *damped = trace + n_jk;
        memset(trace, 0, n_jk * sizeof *trace);
        for (int pass = 0; pass < 2; pass++) {
            for (size_t i = 0; i < box->axis[axis].n; i++)
                for (size_t jk = 0; jk < n_jk; jk++) {
                    size_t at = i * box->stride[axis] + jk / n2 * box->stride[tangent[0]] +
                                jk % n2 * box->stride[tangent[1]];
                    if (pass == 0)
                        trace[jk] += end[i] * from[at];
                    else
                        to[at] += factor * end[i] * damped[jk];
                }
            if (pass == 0)
                damp(w, face, trace, damped);
        }
    }
}

/* Real and imaginary part of a combination of basis functions. */
static void expand(const whole_box *w, const double _Complex *a)
{
    const ebb_box *box = &w->b->space->box;
    size_t n = box->n_full;
    for (int part = 0; part < 2; part++) {
        const double *c = (const double *)a + part;
        double *x = w->x + (size_t)part * n;
        memset(x, 0, n * sizeof *x);
        for (size_t m = 0; m < box->n_kept; m++)
            x[box->kept[m]] = c[2 * m];
        if (box->n_extra > 0)
            cblas_dgemv(CblasRowMajor, CblasTrans, (int)box->n_extra, (int)n, 1, box->extra, (int)n,
                        c + 2 * box->n_kept, 2, 1, x, 1);
    }
}

static ebb_status residual(const void *self, double k2, double k, size_t n, const ebb_vec3 *point,
                           const double _Complex *a, double *r)
{
    const whole_box *w = self;
    const ebb_box *box = &w->b->space->box;
    size_t length = box->n_full;
    for (size_t v = 0; v < n; v++, r += 2 * length) {
        ebb_box_product(box, &point[v], w->work, r);
        memset(r + length, 0, length * sizeof *r);
        expand(w, a + v * w->b->reduced->size);
        for (size_t i = 0; i < length; i++) {
            r[i] -= (box->lambda[i] - k2) * w->x[i];
            r[length + i] -= (box->lambda[i] - k2) * w->x[length + i];
        }
        if (k == 0)
            continue;
        add_walls(w, k, w->x + length, r);
        add_walls(w, -k, w->x, r + length);
    }
    return EBB_OK;
}

static ebb_status answer(const void *self, size_t n, const double *r, double *y)
{
    const ebb_box *box = &((const whole_box *)self)->b->space->box;
    for (size_t v = 0; v < n; v++)
        for (size_t i = 0; i < box->n_full; i++)
            y[v * box->n_full + i] =
                box->is_kept[i] ? 0 : r[v * box->n_full + i] / (box->lambda[i] - box->shift[1]);
    return EBB_OK;
}

ebb_status ebb_box_trust(const ebb_box_build *b, double *const ports[EBB_FACES])
{
    const ebb_box *box = &b->space->box;
    size_t lines = box->axis[0].n + box->axis[1].n + box->axis[2].n, face = 0;
    for (int t = 0; t < EBB_FACES; t += 2) {
        size_t n = ebb_box_face_functions(box, t);
        face = n > face ? n : face;
    }
    whole_box w = {.b = b, .ports = ports, .scratch = b->scratch};
    w.x = EBB_RAW(b->scratch, double, 2 * box->n_full);
    w.work = EBB_RAW(b->scratch, double, 2 * (lines + face));
    if (!w.x || !w.work)
        return EBB_E_NOMEM;
    const ebb_whole whole = {&w, box->n_full, box->shift[1], residual, answer};
    return ebb_trust_estimate(b->all, &whole, &b->reduced->trust.truncation);
}
