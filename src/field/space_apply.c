/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Products with stiffness, mass and boundary mass: small dense products, element by element, for
 * many vectors at once. All work is on the stack, so that they can not fail.
 */
#include "space.h"

#include <cblas.h>
#include <string.h>

#define BLOCK 32 /* vectors taken at once */

void ebb_space_factors(const ebb_element *element, const ebb_mix *mix, double factor[EBB_FORMS])
{
    static const int pair[6][2] = {{0, 0}, {1, 1}, {2, 2}, {0, 1}, {0, 2}, {1, 2}};
    for (int f = 0; f < 6; f++) {
        factor[f] = 0;
        for (int d = 0; d < 3; d++)
            factor[f] += element->det * mix->axis[d] * element->slope[pair[f][0]][d] *
                         element->slope[pair[f][1]][d];
    }
    factor[6] = element->det * mix->mass;
}

/* One pass over the entries, since reading the forms is all the cost. */
void ebb_space_element(const ebb_space *space, const ebb_element *element, const ebb_mix *mix,
                       double *out)
{
    const size_t square = space->simplex.n * space->simplex.n;
    const double *form = space->simplex.form;
    double factor[EBB_FORMS];
    ebb_space_factors(element, mix, factor);
    for (size_t i = 0; i < square; i++) {
        double sum = 0;
        for (size_t f = 0; f < EBB_FORMS; f++)
            sum += factor[f] * form[f * square + i];
        out[i] = sum;
    }
}

/* y += factor matrix x over the freedoms of one element or wall. */
static void add_product(size_t size, size_t n_local, const int *freedom, double factor,
                        const double *matrix, size_t n, const double *x, double *y)
{
    double in[EBB_TET_MOST * BLOCK], out[EBB_TET_MOST * BLOCK];
    for (size_t from = 0; from < n; from += BLOCK) {
        const size_t block = n - from < BLOCK ? n - from : BLOCK;
        for (size_t v = 0; v < block; v++)
            for (size_t i = 0; i < n_local; i++)
                in[v * n_local + i] = x[(from + v) * size + (size_t)freedom[i]];
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, (int)n_local, (int)block,
                    (int)n_local, factor, matrix, (int)n_local, in, (int)n_local, 0, out,
                    (int)n_local);
        for (size_t v = 0; v < block; v++)
            for (size_t i = 0; i < n_local; i++)
                y[(from + v) * size + (size_t)freedom[i]] += out[v * n_local + i];
    }
}

/* The matrix of an element is put together again for every call: that is as much work as one
 * product with seven vectors, and storing them all would fill the memory instead. */
void ebb_space_apply(const ebb_space *space, const ebb_mix *mix, size_t n, const double *x,
                     double *y)
{
    const ebb_simplex *s = &space->simplex;
    double matrix[EBB_TET_MOST * EBB_TET_MOST];
    memset(y, 0, n * space->size * sizeof *y);
    for (size_t t = 0; t < space->mesh.n_tets; t++) {
        const ebb_element *element = &space->element[t];
        ebb_space_element(space, element, mix, matrix);
        add_product(space->size, s->n, element->freedom, 1, matrix, n, x, y);
    }
}

/* The mass of an element is a multiple of one matrix. */
void ebb_space_mass(const ebb_space *space, size_t n, const double *x, double *y)
{
    const ebb_simplex *s = &space->simplex;
    memset(y, 0, n * space->size * sizeof *y);
    for (size_t t = 0; t < space->mesh.n_tets; t++)
        add_product(space->size, s->n, space->element[t].freedom, space->element[t].det,
                    s->form + 6 * s->n * s->n, n, x, y);
}

/* Axes stay apart because rooms are stretched axis by axis later on. */
void ebb_space_stiffness(const ebb_space *space, int axis, size_t n, const double *x, double *y)
{
    ebb_mix mix = {{0}, 0};
    mix.axis[axis] = 1;
    ebb_space_apply(space, &mix, n, x, y);
}

/* Walls are sorted by surface, so that each surface costs what it has. */
void ebb_space_boundary(const ebb_space *space, size_t surface, size_t n, const double *x,
                        double *y)
{
    const ebb_simplex *s = &space->simplex;
    memset(y, 0, n * space->size * sizeof *y);
    for (size_t w = space->wall_from[surface]; w < space->wall_from[surface + 1]; w++)
        add_product(space->size, s->n_face, space->wall[w].freedom, 2 * space->wall[w].area,
                    s->face_mass, n, x, y);
}
