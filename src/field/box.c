/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "box.h"

#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846

void ebb_box_tangents(int axis, int tangent[2])
{
    tangent[0] = axis == 0 ? 1 : 0;
    tangent[1] = axis == 2 ? 1 : 2;
}

/* Enough degree for the resolution asked, and for all kept modes to be cosines as good as exactly.
 * The bound keeps the line problems small; the caller says when it bites. */
static size_t degree_for(double length, double resolution, double cut, double speed)
{
    double half_waves = 2 * length * cut / speed;
    double degree = fmax(ceil(length / resolution), ceil(1.5 * half_waves) + 8);
    return (size_t)fmin(degree, EBB_MOST_DEGREE);
}

typedef struct sortable {
    double lambda;
    size_t index;
} sortable;

static int by_lambda(const void *a, const void *b)
{
    const sortable *x = a, *y = b;
    if (x->lambda != y->lambda)
        return x->lambda < y->lambda ? -1 : 1;
    return x->index < y->index ? -1 : x->index > y->index;
}

static ebb_status keep_modes(ebb_arena *arena, ebb_box *box, double limit)
{
    size_t n = 0;
    for (size_t i = 0; i < box->n_full; i++)
        n += box->lambda[i] <= limit;
    sortable *list = EBB_NEW(arena, sortable, n);
    box->kept = EBB_NEW(arena, size_t, n);
    box->is_kept = EBB_NEW(arena, unsigned char, box->n_full);
    if (!list || !box->kept || !box->is_kept)
        return EBB_E_NOMEM;
    box->n_kept = 0;
    for (size_t i = 0; i < box->n_full; i++)
        if (box->lambda[i] <= limit)
            list[box->n_kept++] = (sortable){box->lambda[i], i};
    qsort(list, n, sizeof *list, by_lambda);
    for (size_t i = 0; i < n; i++) {
        box->kept[i] = list[i].index;
        box->is_kept[list[i].index] = 1;
    }
    return EBB_OK;
}

ebb_status ebb_box_make(ebb_arena *arena, const ebb_geometry *geometry, double resolution,
                        double cut, ebb_box *box)
{
    *box = (ebb_box){0};
    for (int d = 0; d < 3; d++) {
        double length = geometry->size[d];
        size_t degree = degree_for(length, resolution, cut, geometry->speed);
        ebb_status status = ebb_line_make(arena, length, degree, &box->axis[d]);
        if (status != EBB_OK)
            return status;
    }
    const ebb_line *x = &box->axis[0], *y = &box->axis[1], *z = &box->axis[2];
    box->stride[0] = y->n * z->n;
    box->stride[1] = z->n;
    box->stride[2] = 1;
    box->n_full = x->n * y->n * z->n;
    box->lambda = EBB_NEW(arena, double, box->n_full);
    if (!box->lambda)
        return EBB_E_NOMEM;
    size_t at = 0;
    for (size_t i = 0; i < x->n; i++)
        for (size_t j = 0; j < y->n; j++)
            for (size_t k = 0; k < z->n; k++)
                box->lambda[at++] = x->lambda[i] + y->lambda[j] + z->lambda[k];
    double k_high = 2 * PI * geometry->highest / geometry->speed;
    double k_cut = 2 * PI * cut / geometry->speed;
    /* One shift well below the band and one just above it bracket the frequencies at which the
     * left-out modes answer; both lie below every left-out eigenvalue. */
    box->shift[0] = -0.09 * k_high * k_high;
    box->shift[1] = 1.03 * k_high * k_high;
    box->weight = 0.09 * k_high * k_high;
    return keep_modes(arena, box, k_cut * k_cut * (1 + 1e-12));
}

void ebb_box_product(const ebb_box *box, const ebb_vec3 *at, double *work, double *out)
{
    const double where[3] = {at->x, at->y, at->z};
    double *value[3];
    for (int d = 0; d < 3; d++) {
        value[d] = work;
        work += 2 * box->axis[d].n;
        ebb_line_at(&box->axis[d], where[d], value[d] + box->axis[d].n, value[d]);
    }
    size_t p = 0;
    for (size_t i = 0; i < box->axis[0].n; i++)
        for (size_t j = 0; j < box->axis[1].n; j++) {
            double ij = value[0][i] * value[1][j];
            for (size_t k = 0; k < box->axis[2].n; k++)
                out[p++] = ij * value[2][k];
        }
}

/* Images of x on one axis near y: x + 2 m L and -x + 2 m L within the reach of e^{-kappa r}. */
static size_t images(double length, double x, double y, double reach, double *offset)
{
    size_t n = 0;
    int span = (int)ceil(reach / (2 * length)) + 1;
    for (int m = -span; m <= span && n < 126; m++)
        for (int sign = -1; sign <= 1; sign += 2) {
            double distance = sign * x + 2 * m * length - y;
            if (fabs(distance) <= reach)
                offset[n++] = distance;
        }
    return n;
}

double ebb_box_screened(const double size[3], double kappa, const ebb_vec3 *a, const ebb_vec3 *b)
{
    double reach = 16 / kappa; /* e^-16: below 1e-7 of the nearest image */
    double dx[128], dy[128], dz[128], sum = 0;
    size_t nx = images(size[0], a->x, b->x, reach, dx);
    size_t ny = images(size[1], a->y, b->y, reach, dy);
    size_t nz = images(size[2], a->z, b->z, reach, dz);
    for (size_t i = 0; i < nx; i++)
        for (size_t j = 0; j < ny; j++) {
            double flat = dx[i] * dx[i] + dy[j] * dy[j];
            for (size_t k = 0; k < nz; k++) {
                double r = sqrt(flat + dz[k] * dz[k]);
                if (r < reach)
                    sum += exp(-kappa * r) / (4 * PI * r);
            }
        }
    return sum;
}

/* ---- closed forms ---------------------------------------------------------------------------- */

double ebb_box_hz(const double size[3], const int label[3], double speed)
{
    double sum = 0;
    for (int d = 0; d < 3; d++)
        sum += (label[d] / size[d]) * (label[d] / size[d]);
    return speed / 2 * sqrt(sum);
}

double ebb_box_count(const double size[3], double hz, double speed)
{
    double volume = size[0] * size[1] * size[2];
    double area = 2 * (size[0] * size[1] + size[1] * size[2] + size[2] * size[0]);
    double edges = 4 * (size[0] + size[1] + size[2]);
    double ratio = hz / speed;
    return 4 * PI / 3 * volume * ratio * ratio * ratio + PI / 4 * area * ratio * ratio +
           edges * ratio / 8;
}

double ebb_box_delta(const double size[3], const int label[3], const double beta[EBB_FACES],
                     double speed)
{
    double volume = size[0] * size[1] * size[2], sum = 0;
    for (int face = 0; face < EBB_FACES; face++) {
        int axis = face / 2;
        /* A standing wave between two walls has twice the mean square pressure at them. */
        double factor = label[axis] == 0 ? 1 : 2;
        sum += factor * beta[face] * volume / size[axis];
    }
    return speed / (2 * volume) * sum;
}

bool ebb_box_walker(const double size[3])
{
    double height = size[2];
    double length = fmax(size[0], size[1]) / height, width = fmin(size[0], size[1]) / height;
    return 1.1 * width <= length && length <= 4.5 * width - 4 && length < 3 && width < 3;
}
