/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Residuals of a meshed room in its finite elements, and what is known of the elements themselves.
 */
#include "shaped.h"
#include "trust.h"

#include <cblas.h>
#include <math.h>

typedef struct whole_mesh {
    const ebb_shaped_build *b;
    double *x, *y; /* [2 length] */
} whole_mesh;

/* Real and imaginary part of a combination of basis functions. */
static void expand(const whole_mesh *w, const double _Complex *a)
{
    const ebb_shaped *shaped = w->b->shaped;
    int length = (int)shaped->length;
    for (int part = 0; part < 2; part++) {
        const double *c = (const double *)a + part;
        double *x = w->x + (size_t)part * shaped->length;
        cblas_dgemv(CblasRowMajor, CblasTrans, (int)shaped->n_modes, length, 1, w->b->shape, length,
                    c, 2, 0, x, 1);
        if (shaped->n_extra > 0)
            cblas_dgemv(CblasRowMajor, CblasTrans, (int)shaped->n_extra, length, 1, shaped->extra,
                        length, c + 2 * shaped->n_modes, 2, 1, x, 1);
    }
}

/* r += factor times what the patches on a face do beyond the face itself. */
static void add_patches(const whole_mesh *w, size_t t, double factor, const double *x, double *r)
{
    const ebb_shaped_face *face = &w->b->face[t];
    const double *port = face->port;
    double more = EBB_TRUST_PATCH - ebb_trust_wall(w->b->geometry, t);
    for (size_t p = 0; p < w->b->reduced->n_patches; p++) {
        const ebb_port_set *set = &w->b->reduced->patch[p];
        for (size_t q = 0; q < set->n && (size_t)set->face == t; q++, port += face->n_rows) {
            if (q == 0 || !ebb_trust_hangs(w->b->geometry, p))
                continue;
            double moved = 0;
            for (size_t i = 0; i < face->n_rows; i++)
                moved += port[i] * x[face->row[i]];
            for (size_t i = 0; i < face->n_rows; i++)
                r[face->row[i]] += factor * more * moved * port[i];
        }
    }
}

/* r[1 - part] +-= k (sum beta B) x[part] */
static void add_walls(const whole_mesh *w, double k, double *r)
{
    const ebb_shaped *shaped = w->b->shaped;
    size_t length = shaped->length;
    for (size_t t = 0; t < w->b->reduced->n_faces; t++) {
        const ebb_shaped_face *face = &w->b->face[t];
        double wall = ebb_trust_wall(w->b->geometry, t);
        ebb_space_boundary(shaped->space, t, 2, w->x, w->y);
        for (size_t i = 0; i < face->n_rows; i++) {
            r[face->row[i]] += k * wall * w->y[length + face->row[i]];
            r[length + face->row[i]] -= k * wall * w->y[face->row[i]];
        }
        add_patches(w, t, k, w->x + length, r);
        add_patches(w, t, -k, w->x, r + length);
    }
}

static ebb_status residual(const void *self, double k2, double k, size_t n, const ebb_vec3 *point,
                           const double _Complex *a, double *r)
{
    const whole_mesh *w = self;
    const ebb_space *space = w->b->shaped->space;
    size_t length = w->b->shaped->length;
    const ebb_mix helmholtz = {{1, 1, 1}, -k2};
    for (size_t v = 0; v < n; v++, r += 2 * length) {
        ebb_status status = ebb_space_points(w->b->all->ctx, space, 1, &point[v], r);
        if (status != EBB_OK)
            return status;
        expand(w, a + v * w->b->reduced->size);
        ebb_space_apply(space, &helmholtz, 2, w->x, w->y);
        for (size_t i = 0; i < length; i++) {
            r[i] -= w->y[i];
            r[length + i] = -w->y[length + i];
        }
        if (k != 0)
            add_walls(w, k, r);
    }
    return EBB_OK;
}

static ebb_status answer(const void *self, size_t n, const double *r, double *y)
{
    const ebb_shaped_build *b = ((const whole_mesh *)self)->b;
    return ebb_shaped_solve(b->all->ctx, b->shaped->space, 1, n, r, y);
}

ebb_status ebb_shaped_trust(ebb_shaped_build *b)
{
    const ebb_shaped *shaped = b->shaped;
    const double *lambda, *shape, *error;
    size_t n = ebb_space_modes(shaped->space, &lambda, &shape, &error);
    double k2 = b->k * b->k;
    for (size_t m = 0; m < n && lambda[m] <= k2; m++)
        b->reduced->trust.mesh = fmax(b->reduced->trust.mesh, error[m]);
    whole_mesh w = {b, EBB_RAW(b->scratch, double, 2 * shaped->length),
                    EBB_RAW(b->scratch, double, 2 * shaped->length)};
    if (!w.x || !w.y)
        return EBB_E_NOMEM;
    const ebb_whole whole = {&w, shaped->length, shaped->shift[1], residual, answer};
    return ebb_trust_estimate(b->all, &whole, &b->reduced->trust.truncation);
}
