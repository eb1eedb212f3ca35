/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * How wrong the mesh makes the frequency of a mode.
 *
 * The relative error of lambda is the energy of what the elements do not carry (Strang & Fix 1973,
 * from memory), and that is bounded by what is left of the equation: inside the elements the wave
 * equation itself, on faces between them the jump of the slope, on the boundary the slope, which a
 * rigid wall would not have. Residuals of this kind overestimate by a factor that depends on the
 * order of the elements and hardly on anything else (Babuska & Rheinboldt 1978, from memory); it
 * was found from modes that are known.
 */
#include "space.h"

#include <cblas.h>
#include <math.h>
#include <string.h>

#define FLOOR 1e-11 /* of the solvers */
#define BLOCK 32    /* modes taken at once */

/* Estimate over energy of the residuals, by order: half of what boxes and rooms with a re-entrant
 * edge had at least, so that the estimate is 2 to 20 times the error. */
static const double scale[EBB_ORDER_MOST + 1] = {0, 0.15, 0.35, 0.2, 0.25, 0.2, 0.2, 0.17, 0.15};

typedef struct estimator {
    const ebb_space *space;
    size_t n, curved, n_tri, first_face;  /* functions of degree p, p - 2, p - 1 on a face */
    double *curve;                        /* [6][curved x n] second slopes, as in the forms */
    double *flux;                         /* [3][4 n_tri x n] slopes on the four faces */
    double *element_curve, *element_flux; /* of the element at hand */
    double *in, *inside, *level, *faces;  /* [.. x BLOCK] */
    double *jump;                         /* [faces][n_tri x BLOCK] */
    double *height;                       /* [faces] m, of the elements beside it, added up */
    double *area;                         /* [faces] */
    double *energy;                       /* [BLOCK] */
} estimator;

/* Faces come after vertices and edges in the numbers of the parts, and before insides. */
static bool open_estimator(ebb_arena *scratch, const ebb_space *space, estimator *e)
{
    const ebb_simplex *s = &space->simplex;
    size_t n_faces = 0;
    *e = (estimator){.space = space, .n = s->n, .n_tri = ebb_tri_count(s->order - 1)};
    e->curved = s->order > 1 ? ebb_tet_count(s->order - 2) : 0;
    for (size_t p = 0; p < space->n_parts; p++) {
        e->first_face += space->part_kind[p] < 3;
        n_faces += space->part_kind[p] == 3;
    }
    e->curve = EBB_NEW(scratch, double, 6 * e->curved * e->n);
    e->flux = EBB_NEW(scratch, double, 12 * e->n_tri * e->n);
    e->element_curve = EBB_NEW(scratch, double, e->curved * e->n);
    e->element_flux = EBB_NEW(scratch, double, 4 * e->n_tri * e->n);
    e->in = EBB_NEW(scratch, double, e->n *BLOCK);
    e->inside = EBB_NEW(scratch, double, e->n *BLOCK);
    e->level = EBB_NEW(scratch, double, e->curved *BLOCK);
    e->faces = EBB_NEW(scratch, double, 4 * e->n_tri * BLOCK);
    e->jump = EBB_RAW(scratch, double, n_faces * e->n_tri * BLOCK);
    e->height = EBB_NEW(scratch, double, n_faces);
    e->area = EBB_NEW(scratch, double, n_faces);
    e->energy = EBB_NEW(scratch, double, BLOCK);
    return e->curve && e->flux && e->element_curve && e->element_flux && e->in && e->inside &&
           e->level && e->faces && e->jump && e->height && e->area && e->energy;
}

/* ---- once per order -------------------------------------------------------------------------- */

/* Values of the modal functions at the nodes: [n x n], row by node. */
static void modal_values(const ebb_simplex *s, double *value)
{
    double here[EBB_TET_MOST];
    for (size_t i = 0; i < s->n; i++) {
        ebb_tet_modal(s->order, s->node + 4 * i, here, NULL);
        cblas_dcopy((int)s->n, here, 1, value + i, (int)s->n);
    }
}

/* Second slopes of the shape functions, in the modal functions of degree p - 2. */
static bool make_curves(ebb_arena *scratch, estimator *e)
{
    static const int pair[6][2] = {{0, 0}, {1, 1}, {2, 2}, {0, 1}, {0, 2}, {1, 2}};
    const ebb_simplex *s = &e->space->simplex;
    const int n = (int)e->n, low = (int)s->low, curved = (int)e->curved;
    double *value = EBB_NEW(scratch, double, e->n * e->n), *slope[3];
    if (!value)
        return false;
    modal_values(s, value);
    for (int a = 0; a < 3; a++) { /* slopes of modal functions by modal functions */
        slope[a] = EBB_NEW(scratch, double, s->low * s->low);
        if (!slope[a])
            return false;
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, low, low, n, 1, s->slope[a], low,
                    value, n, 0, slope[a], low);
    }
    for (int f = 0; f < 6 && curved > 0; f++) {
        const int a = pair[f][0], b = pair[f][1];
        double *out = e->curve + (size_t)f * e->curved * e->n;
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, curved, n, low, a == b ? 1 : 2,
                    slope[a], low, s->slope[b], low, 0, out, curved);
    }
    return true;
}

/* Corner opposite to each face of a tetrahedron, in the order of its parts. */
static const size_t opposite[4] = {3, 2, 1, 0};

/* Modal functions of a triangle against those of the tetrahedron on face f: [n_tri x low]. */
static void trace(const estimator *e, size_t f, double *out)
{
    const ebb_simplex *s = &e->space->simplex;
    const size_t n1 = s->order + 1;
    double x[EBB_GAUSS_MOST], w[EBB_GAUSS_MOST], flat[EBB_TRI_MOST], value[EBB_TET_MOST];
    ebb_gauss01(n1, x, w);
    for (size_t p = 0; p < n1 * n1; p++) {
        const double v = x[p / n1], u = (1 - v) * x[p % n1];
        const double place[3] = {1 - u - v, u, v};
        double at[4] = {0};
        for (size_t c = 0, i = 0; c < 4; c++)
            at[c] = c == opposite[f] ? 0 : place[i++];
        ebb_tri_modal(s->order - 1, place, flat);
        ebb_tet_modal(s->order - 1, at, value, NULL);
        cblas_dger(CblasColMajor, (int)e->n_tri, (int)s->low, w[p % n1] * w[p / n1] * (1 - v), flat,
                   1, value, 1, out, (int)e->n_tri);
    }
}

/* Slopes go straight to the functions of a face, where neighbours can be compared: both see the
 * face with its corners in the same order. */
static bool make_fluxes(ebb_arena *scratch, estimator *e)
{
    const ebb_simplex *s = &e->space->simplex;
    const int n = (int)e->n, low = (int)s->low, tri = (int)e->n_tri;
    for (size_t f = 0; f < 4; f++) {
        double *on_face = EBB_NEW(scratch, double, e->n_tri * s->low);
        if (!on_face)
            return false;
        trace(e, f, on_face);
        for (size_t a = 0; a < 3; a++)
            cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, tri, n, low, 1, on_face, tri,
                        s->slope[a], low, 0, e->flux + a * 4 * e->n_tri * e->n + f * e->n_tri,
                        4 * tri);
    }
    return true;
}

/* ---- per element ----------------------------------------------------------------------------- */

/* Slope of the barycentric coordinate of a corner, 1/m; returns its length. */
static double slope_of(const ebb_element *element, size_t corner, double out[3])
{
    double square = 0;
    for (int d = 0; d < 3; d++) {
        out[d] = corner > 0 ? element->slope[corner - 1][d]
                            : -element->slope[0][d] - element->slope[1][d] - element->slope[2][d];
        square += out[d] * out[d];
    }
    return sqrt(square);
}

/* Matrices of an element: the Laplacian, and the outward slope on its faces. */
static void set_element(estimator *e, const ebb_element *element)
{
    const ebb_mix stiffness = {{1, 1, 1}, 0};
    double factor[EBB_FORMS];
    ebb_space_factors(element, &stiffness, factor);
    const int square = (int)(e->curved * e->n), rows = (int)(4 * e->n_tri);
    if (square > 0)
        cblas_dgemv(CblasColMajor, CblasNoTrans, square, 6, 1 / element->det, e->curve, square,
                    factor, 1, 0, e->element_curve, 1);
    memset(e->element_flux, 0, (size_t)rows * e->n * sizeof *e->element_flux);
    for (size_t f = 0; f < 4; f++) {
        double normal[3];
        const double length = slope_of(element, opposite[f], normal);
        for (size_t a = 0; a < 3; a++) {
            const double part = -cblas_ddot(3, normal, 1, element->slope[a], 1) / length;
            for (size_t j = 0; j < e->n; j++)
                cblas_daxpy((int)e->n_tri, part,
                            e->flux + (a * e->n + j) * (size_t)rows + f * e->n_tri, 1,
                            e->element_flux + j * (size_t)rows + f * e->n_tri, 1);
        }
    }
}

/* Slopes of k modes on the faces of an element, added to those of its neighbours. */
static void add_faces(estimator *e, const ebb_element *element, int k)
{
    const int n = (int)e->n, rows = (int)(4 * e->n_tri);
    cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, rows, k, n, 1, e->element_flux, rows,
                e->in, n, 0, e->faces, rows);
    for (size_t f = 0; f < 4; f++) {
        const size_t face = element->part[10 + f] - e->first_face;
        double normal[3];
        const double height = 1 / slope_of(element, opposite[f], normal);
        e->height[face] += height;
        e->area[face] = element->det / (2 * height);
        for (int m = 0; m < k; m++)
            cblas_daxpy((int)e->n_tri, 1, e->faces + (size_t)(m * rows) + f * e->n_tri, 1,
                        e->jump + (face * BLOCK + (size_t)m) * e->n_tri, 1);
    }
}

/* What is left of the wave equation inside an element. */
static void add_inside(estimator *e, const ebb_element *element, const double *lambda, int k)
{
    const int n = (int)e->n, curved = (int)e->curved;
    const double size = cbrt(element->det) / (double)e->space->simplex.order;
    cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, n, k, n, 1, e->space->simplex.modal, n,
                e->in, n, 0, e->inside, n);
    if (curved > 0)
        cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, curved, k, n, 1, e->element_curve,
                    curved, e->in, n, 0, e->level, curved);
    for (int m = 0; m < k; m++) {
        double *here = e->inside + m * n;
        cblas_dscal(n, lambda[m], here, 1);
        cblas_daxpy(curved, 1, e->level + m * curved, 1, here, 1);
        e->energy[m] += size * size * element->det * cblas_ddot(n, here, 1, here, 1);
    }
}

/* Outward slopes of two neighbours add up to the jump; on a wall there is one, and it should be
 * zero.
 */
static void add_jumps(estimator *e, size_t n_faces, int k)
{
    for (size_t f = 0; f < n_faces; f++)
        for (int m = 0; m < k; m++) {
            const double *jump = e->jump + (f * BLOCK + (size_t)m) * e->n_tri;
            e->energy[m] += e->height[f] / (double)e->space->simplex.order * e->area[f] *
                            cblas_ddot((int)e->n_tri, jump, 1, jump, 1);
        }
}

/* Estimates of modes from..from + k. */
static void estimate_block(estimator *e, size_t from, int k)
{
    const ebb_space *space = e->space;
    const size_t n_faces = space->n_parts - space->mesh.n_tets - e->first_face;
    memset(e->jump, 0, n_faces * e->n_tri * BLOCK * sizeof *e->jump);
    memset(e->height, 0, n_faces * sizeof *e->height);
    memset(e->energy, 0, BLOCK * sizeof *e->energy);
    for (size_t t = 0; t < space->mesh.n_tets; t++) {
        const ebb_element *element = &space->element[t];
        set_element(e, element);
        for (int m = 0; m < k; m++)
            for (size_t i = 0; i < e->n; i++)
                e->in[(size_t)m * e->n + i] =
                    space->shape[(from + (size_t)m) * space->size + (size_t)element->freedom[i]];
        add_faces(e, element, k);
        add_inside(e, element, space->lambda + from, k);
    }
    add_jumps(e, n_faces, k);
    for (int m = 0; m < k; m++) {
        const double lambda = space->lambda[from + (size_t)m];
        space->error[from + (size_t)m] =
            lambda > 0 ? FLOOR + scale[space->simplex.order] * e->energy[m] / (2 * lambda) : 0;
    }
}

/* A block of modes at a time: the jumps of all at once would be the largest thing in memory. */
ebb_status ebb_space_estimate(ebb_ctx *ctx, ebb_space *space)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    estimator e;
    space->error = EBB_NEW(space->arena, double, space->n_modes);
    const bool open = space->error && open_estimator(scratch, space, &e) &&
                      make_curves(scratch, &e) && make_fluxes(scratch, &e);
    for (size_t m = 0; open && m < space->n_modes; m += BLOCK)
        estimate_block(&e, m, space->n_modes - m < BLOCK ? (int)(space->n_modes - m) : BLOCK);
    ebb_arena_free(scratch);
    return open ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the errors of modes");
}
