/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * From a box and its residual vectors to the reduced model.
 */
#include "box.h"
#include "reduced.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846
#define CELL 1.3        /* m, largest side carried by one set of Legendre patterns */
#define CELL_PATTERNS 6 /* total degree <= 2 */
#define REACH 1.15 /* modes just above the band answer in it: their shapes at walls count too */
#define MOST_FULL 90000 /* product functions; keeps the residual vectors below 1 GiB */

/* What the point functions need of a box: kept in reduced->space. */
typedef struct box_space {
    ebb_box box;
    double size[3];
    double kappa[2];
    double *factor[2]; /* Cholesky factors of K + kappa^2 I in the reduced basis */
} box_space;

/* Everything while building. */
typedef struct build {
    ebb_ctx *ctx;
    ebb_arena *scratch;
    const ebb_geometry *geometry;
    box_space *space;
    ebb_reduced *reduced;
    double *trace[EBB_FACES]; /* [column * n_jk + jk] value of basis function on the face */
} build;

/* ---- ports ------------------------------------------------------------------------------------
 */

static size_t cells(double length)
{
    return (size_t)ceil(length / CELL - 1e-9);
}

static size_t port_count(const ebb_patch *patch)
{
    return 1 + CELL_PATTERNS * cells(patch->size[0]) * cells(patch->size[1]);
}

/* out = a (n_b) outer b (n_c) */
static void outer(const double *a, size_t n_b, const double *b, size_t n_c, double *out)
{
    for (size_t j = 0; j < n_b; j++)
        for (size_t k = 0; k < n_c; k++)
            out[j * n_c + k] = a[j] * b[k];
}

/* Patterns of one rectangle of the face: the first n of total degree <= 2. */
static ebb_status rectangle(build *b, int face, const double from[2], const double to[2], size_t n,
                            double *out)
{
    static const int degree[CELL_PATTERNS][2] = {{0, 0}, {1, 0}, {0, 1}, {2, 0}, {1, 1}, {0, 2}};
    int tangent[2];
    ebb_box_tangents(face / 2, tangent);
    const ebb_line *line[2] = {&b->space->box.axis[tangent[0]], &b->space->box.axis[tangent[1]]};
    double *part[2];
    for (int d = 0; d < 2; d++) {
        part[d] = EBB_NEW(b->scratch, double, 3 * line[d]->n);
        if (!part[d])
            return EBB_E_NOMEM;
        ebb_status status = ebb_line_ports(b->scratch, line[d], from[d], to[d], 3, part[d]);
        if (status != EBB_OK)
            return status;
    }
    for (size_t q = 0; q < n; q++)
        outer(part[0] + (size_t)degree[q][0] * line[0]->n, line[0]->n,
              part[1] + (size_t)degree[q][1] * line[1]->n, line[1]->n,
              out + q * line[0]->n * line[1]->n);
    return EBB_OK;
}

/* All ports of a patch as patterns on its face: the whole as one, then each cell's. */
static ebb_status patch_patterns(build *b, const ebb_patch *patch, size_t n_jk, double *out)
{
    double end[2] = {patch->at[0] + patch->size[0], patch->at[1] + patch->size[1]};
    ebb_status status = rectangle(b, patch->face, patch->at, end, 1, out);
    out += n_jk;
    size_t n0 = cells(patch->size[0]), n1 = cells(patch->size[1]);
    for (size_t i = 0; i < n0 && status == EBB_OK; i++)
        for (size_t j = 0; j < n1 && status == EBB_OK; j++) {
            double from[2] = {patch->at[0] + patch->size[0] * (double)i / (double)n0,
                              patch->at[1] + patch->size[1] * (double)j / (double)n1};
            double to[2] = {from[0] + patch->size[0] / (double)n0,
                            from[1] + patch->size[1] / (double)n1};
            status = rectangle(b, patch->face, from, to, CELL_PATTERNS, out);
            out += CELL_PATTERNS * n_jk;
        }
    return status;
}

static size_t face_functions(const ebb_box *box, int face)
{
    int tangent[2];
    ebb_box_tangents(face / 2, tangent);
    return box->axis[tangent[0]].n * box->axis[tangent[1]].n;
}

/* Load patterns of a face: wall damping of every mode shape in the band, and the ports of patches.
 * Weights follow what each load can be at most: k beta phi for walls, less for small patches. */
static ebb_status face_patterns(build *b, int face, ebb_patterns *patterns, double *ports)
{
    const ebb_box *box = &b->space->box;
    int tangent[2];
    ebb_box_tangents(face / 2, tangent);
    const ebb_line *first = &box->axis[tangent[0]], *second = &box->axis[tangent[1]];
    double k = 2 * PI * b->geometry->highest / b->geometry->speed, hint = b->geometry->wall[face];
    double weight = 0.6 * (hint > 0 ? hint : 1);
    size_t n_jk = first->n * second->n, n_ports = 0, n = 0;
    for (size_t p = 0; p < b->geometry->n_patches; p++)
        n_ports += b->geometry->patches[p].face == face ? port_count(&b->geometry->patches[p]) : 0;
    patterns->pattern = EBB_NEW(b->scratch, double, (n_jk + n_ports) * n_jk);
    if (!patterns->pattern)
        return EBB_E_NOMEM;
    for (size_t j = 0; j < first->n; j++)
        for (size_t m = 0; m < second->n; m++)
            if (first->lambda[j] + second->lambda[m] <= REACH * k * k)
                patterns->pattern[n++ * n_jk + j * second->n + m] = weight;
    for (size_t i = 0; i < n_ports * n_jk; i++)
        patterns->pattern[n * n_jk + i] = 0.3 * ports[i];
    patterns->n = n + n_ports;
    return EBB_OK;
}

/* ---- traces and matrices ----------------------------------------------------------------------
 */

/* Values of every basis function on a face, in the product of the face's tangent functions. */
static ebb_status make_trace(build *b, int face)
{
    const ebb_box *box = &b->space->box;
    int axis = face / 2, tangent[2];
    ebb_box_tangents(axis, tangent);
    size_t n2 = box->axis[tangent[1]].n, n_jk = face_functions(box, face);
    size_t size = b->reduced->size;
    const double *end = box->axis[axis].end[face % 2];
    double *trace = b->trace[face] = EBB_NEW(b->scratch, double, size *n_jk);
    if (!trace)
        return EBB_E_NOMEM;
    for (size_t m = 0; m < box->n_kept; m++) {
        size_t index[3] = {box->kept[m] / box->stride[0],
                           box->kept[m] / box->stride[1] % box->axis[1].n,
                           box->kept[m] % box->axis[2].n};
        trace[m * n_jk + index[tangent[0]] * n2 + index[tangent[1]]] = end[index[axis]];
    }
    for (size_t v = 0; v < box->n_extra; v++)
        for (size_t i = 0; i < box->axis[axis].n; i++) {
            const double *from = box->extra + v * box->n_full + i * box->stride[axis];
            double *to = trace + (box->n_kept + v) * n_jk;
            for (size_t jk = 0; jk < n_jk; jk++)
                to[jk] +=
                    end[i] *
                    from[jk / n2 * box->stride[tangent[0]] + jk % n2 * box->stride[tangent[1]]];
        }
    return EBB_OK;
}

static void mirror(size_t n, double *a)
{
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < i; j++)
            a[i * n + j] = a[j * n + i];
}

static ebb_status make_faces(build *b)
{
    ebb_reduced *reduced = b->reduced;
    int size = (int)reduced->size;
    for (int face = 0; face < EBB_FACES; face++) {
        ebb_status status = make_trace(b, face);
        reduced->face[face] = EBB_NEW(reduced->arena, double, reduced->size * reduced->size);
        if (status != EBB_OK || !reduced->face[face])
            return EBB_E_NOMEM;
        int n_jk = (int)face_functions(&b->space->box, face);
        cblas_dsyrk(CblasRowMajor, CblasUpper, CblasNoTrans, size, n_jk, 1, b->trace[face], n_jk, 0,
                    reduced->face[face], size);
        mirror(reduced->size, reduced->face[face]);
    }
    return EBB_OK;
}

/* Stiffness of one axis: diagonal for kept modes, full for the residual vectors, no coupling. */
static ebb_status make_stiffness(build *b, int axis)
{
    ebb_reduced *reduced = b->reduced;
    const ebb_box *box = &b->space->box;
    size_t size = reduced->size, n = box->n_extra;
    double *k = reduced->stiffness[axis] = EBB_NEW(reduced->arena, double, size *size);
    double *scaled = EBB_NEW(b->scratch, double, n * box->n_full);
    if (!k || !scaled)
        return EBB_E_NOMEM;
    const double *lambda = box->axis[axis].lambda;
    for (size_t m = 0; m < box->n_kept; m++)
        k[m * size + m] = lambda[box->kept[m] / box->stride[axis] % box->axis[axis].n];
    for (size_t v = 0; v < n; v++)
        for (size_t i = 0; i < box->n_full; i++)
            scaled[v * box->n_full + i] =
                box->extra[v * box->n_full + i] * lambda[i / box->stride[axis] % box->axis[axis].n];
    if (n > 0)
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)n, (int)n, (int)box->n_full, 1,
                    scaled, (int)box->n_full, box->extra, (int)box->n_full, 0,
                    k + box->n_kept * size + box->n_kept, (int)size);
    mirror(size, k);
    return EBB_OK;
}

static ebb_status make_rigid(build *b)
{
    ebb_reduced *reduced = b->reduced;
    const ebb_box *box = &b->space->box;
    reduced->n_rigid = box->n_kept;
    reduced->rigid_hz = EBB_NEW(reduced->arena, double, box->n_kept);
    reduced->label = EBB_NEW(reduced->arena, int, 3 * box->n_kept);
    if (!reduced->rigid_hz || !reduced->label)
        return EBB_E_NOMEM;
    for (size_t m = 0; m < box->n_kept; m++) {
        int *label = reduced->label + 3 * m;
        for (int d = 0; d < 3; d++)
            label[d] = (int)(box->kept[m] / box->stride[d] % box->axis[d].n);
        reduced->rigid_hz[m] = ebb_box_hz(reduced->extent, label, reduced->speed);
    }
    return EBB_OK;
}

/* Port vectors of all patches from the patterns already made per face. */
static ebb_status make_ports(build *b, double *const ports[EBB_FACES])
{
    ebb_reduced *reduced = b->reduced;
    size_t used[EBB_FACES] = {0};
    for (size_t p = 0; p < reduced->n_patches; p++) {
        const ebb_patch *from = &b->geometry->patches[p];
        ebb_port_set *to = &reduced->patch[p];
        size_t n_jk = face_functions(&b->space->box, from->face);
        *to = (ebb_port_set){
            true,       from->face,     from->piston,     from->size[0] * from->size[1],
            from->vary, from->assembly, port_count(from), NULL,
            NULL};
        to->vector = EBB_NEW(reduced->arena, double, to->n * reduced->size);
        if (!to->vector)
            return EBB_E_NOMEM;
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)to->n, (int)reduced->size,
                    (int)n_jk, 1, ports[from->face] + used[from->face] * n_jk, (int)n_jk,
                    b->trace[from->face], (int)n_jk, 0, to->vector, (int)reduced->size);
        used[from->face] += to->n;
    }
    return EBB_OK;
}

/* ---- points -----------------------------------------------------------------------------------
 */

/* Enriching functions are sums over the full basis: one product for all of them and all points, so
 * that their many coefficients are read once. */
static ebb_status box_points(const ebb_reduced *reduced, size_t n, const ebb_vec3 *at, double *out)
{
    const box_space *space = reduced->space;
    const ebb_box *box = &space->box;
    ebb_arena *scratch = ebb_arena_new(NULL);
    size_t lines = box->axis[0].n + box->axis[1].n + box->axis[2].n;
    double *work = EBB_NEW(scratch, double, 2 * lines);
    double *full = EBB_RAW(scratch, double, n * box->n_full);
    for (size_t p = 0; work && full && p < n; p++) {
        ebb_box_product(box, &at[p], work, full + p * box->n_full);
        for (size_t m = 0; m < box->n_kept; m++)
            out[p * reduced->size + m] = full[p * box->n_full + box->kept[m]];
    }
    if (full && n > 0 && box->n_extra > 0)
        cblas_dgemm(CblasRowMajor, CblasNoTrans, CblasTrans, (int)n, (int)box->n_extra,
                    (int)box->n_full, 1, full, (int)box->n_full, box->extra, (int)box->n_full, 0,
                    out + box->n_kept, (int)reduced->size);
    ebb_arena_free(scratch);
    return work && full ? EBB_OK : EBB_E_NOMEM;
}

/* Basis at n points, [i * size + ...]. */
static double *basis_at(ebb_arena *scratch, const ebb_reduced *reduced, size_t n,
                        const ebb_vec3 *at)
{
    double *v = EBB_NEW(scratch, double, n * reduced->size);
    return v && box_points(reduced, n, at, v) == EBB_OK ? v : NULL;
}

/* missing[s * n_receivers + r]: static Green function at -kappa^2 less what the basis has of it. */
static ebb_status missing_at(ebb_arena *scratch, const ebb_reduced *reduced, int shift,
                             const ebb_state *state, double *missing)
{
    const box_space *space = reduced->space;
    size_t size = reduced->size, ns = state->n_sources, nr = state->n_receivers;
    double *from = basis_at(scratch, reduced, ns, state->sources);
    double *to = basis_at(scratch, reduced, nr, state->receivers);
    if (!from || !to)
        return EBB_E_NOMEM;
    LAPACKE_dpotrs_work(LAPACK_COL_MAJOR, 'L', (int)size, (int)ns, space->factor[shift], (int)size,
                        from, (int)size);
    for (size_t i = 0; i < ns * nr; i++) {
        const ebb_vec3 *a = &state->sources[i / nr], *b = &state->receivers[i % nr];
        bool same = a->x == b->x && a->y == b->y && a->z == b->z;
        missing[i] =
            same ? 0
                 : ebb_box_screened(space->size, space->kappa[shift], a, b) -
                       cblas_ddot((int)size, from + i / nr * size, 1, to + i % nr * size, 1);
    }
    return EBB_OK;
}

/* Two values at -kappa^2 as a straight line in k^2. */
static void line_through(const box_space *space, const double value[2], double lack[2])
{
    const double s[2] = {-space->kappa[0] * space->kappa[0], -space->kappa[1] * space->kappa[1]};
    lack[1] = (value[0] - value[1]) / (s[0] - s[1]);
    lack[0] = value[0] - lack[1] * s[0];
}

/* What the reduced basis lacks of the Green function between points: the near field of a source,
 * which no finite basis carries. Left-out functions lie far above the band, so their sum is nearly
 * linear in k^2: two static values give it. The same point twice lacks nothing: its own field is
 * infinite. */
static ebb_status box_lack(const ebb_reduced *reduced, const ebb_state *state, double *lack)
{
    const box_space *space = reduced->space;
    ebb_arena *scratch = ebb_arena_new(NULL);
    size_t n = state->n_sources * state->n_receivers;
    double *value[2];
    ebb_status status = EBB_OK;
    for (int i = 0; i < 2 && status == EBB_OK; i++) {
        value[i] = EBB_NEW(scratch, double, n);
        status = value[i] ? missing_at(scratch, reduced, i, state, value[i]) : EBB_E_NOMEM;
    }
    for (size_t i = 0; i < n && status == EBB_OK; i++)
        line_through(space, (const double[2]){value[0][i], value[1][i]}, lack + 2 * i);
    ebb_arena_free(scratch);
    return status;
}

static ebb_status make_factor(build *b, int shift)
{
    ebb_reduced *reduced = b->reduced;
    box_space *space = b->space;
    size_t size = reduced->size;
    double k = 2 * PI * b->geometry->highest / b->geometry->speed;
    /* Never so small that ebb_box_screened would need more images than it has room for. */
    const double *length = b->geometry->size;
    double least = 0.3 / fmin(length[0], fmin(length[1], length[2]));
    double kappa = space->kappa[shift] = fmax(0.25 * k, least) * (shift == 0 ? 1 : 3);
    double *factor = space->factor[shift] = EBB_NEW(reduced->arena, double, size *size);
    if (!factor)
        return EBB_E_NOMEM;
    for (int d = 0; d < 3; d++)
        cblas_daxpy((int)(size * size), 1, reduced->stiffness[d], 1, factor, 1);
    for (size_t i = 0; i < size; i++)
        factor[i * size + i] += kappa * kappa;
    if (LAPACKE_dpotrf(LAPACK_COL_MAJOR, 'L', (int)size, factor, (int)size) != 0)
        return EBB_E_NUMERIC;
    return EBB_OK;
}

static void set_points(build *b)
{
    memcpy(b->space->size, b->geometry->size, sizeof b->space->size);
    b->reduced->space = b->space;
    b->reduced->points = box_points;
    b->reduced->lack = box_lack;
}

/* Sum over the normal line of end^2 / (lambda + kappa^2) for every pair of tangent functions. */
static double *static_sums(build *b, int face, double kappa)
{
    const ebb_box *box = &b->space->box;
    int axis = face / 2, tangent[2];
    ebb_box_tangents(axis, tangent);
    size_t n2 = box->axis[tangent[1]].n, n_jk = face_functions(box, face);
    const double *end = box->axis[axis].end[face % 2];
    double *sum = EBB_NEW(b->scratch, double, n_jk);
    for (size_t jk = 0; sum && jk < n_jk; jk++)
        for (size_t i = 0; i < box->axis[axis].n; i++)
            sum[jk] += end[i] * end[i] /
                       (box->lambda[i * box->stride[axis] + jk / n2 * box->stride[tangent[0]] +
                                    jk % n2 * box->stride[tangent[1]]] +
                        kappa * kappa);
    return sum;
}

/* Static self field of every port of a face at both shifts, less what the reduced basis has. */
static ebb_status port_lacks(build *b, int face, const double *ports)
{
    ebb_reduced *reduced = b->reduced;
    size_t n_jk = face_functions(&b->space->box, face), size = reduced->size;
    double *sum[2], *work = EBB_NEW(b->scratch, double, size);
    for (int i = 0; i < 2; i++)
        if (!(sum[i] = static_sums(b, face, b->space->kappa[i])) || !work)
            return EBB_E_NOMEM;
    for (size_t p = 0; p < reduced->n_patches; p++) {
        ebb_port_set *set = &reduced->patch[p];
        if (set->face != face)
            continue;
        if (!(set->lack = ebb_arena_alloc(reduced->arena, set->n, sizeof *set->lack)))
            return EBB_E_NOMEM;
        for (size_t q = 0; q < set->n; q++, ports += n_jk) {
            double value[2] = {0, 0};
            for (int i = 0; i < 2; i++) {
                for (size_t jk = 0; jk < n_jk; jk++)
                    value[i] += ports[jk] * ports[jk] * sum[i][jk];
                memcpy(work, set->vector + q * size, size * sizeof *work);
                cblas_dtrsv(CblasColMajor, CblasLower, CblasNoTrans, CblasNonUnit, (int)size,
                            b->space->factor[i], (int)size, work, 1);
                value[i] -= cblas_ddot((int)size, work, 1, work, 1);
            }
            line_through(b->space, value, set->lack[q]);
        }
    }
    return EBB_OK;
}

static ebb_status make_lacks(build *b, double *const ports[EBB_FACES])
{
    ebb_status status = make_factor(b, 0);
    if (status == EBB_OK)
        status = make_factor(b, 1);
    for (int face = 0; face < EBB_FACES && status == EBB_OK; face++)
        status = port_lacks(b, face, ports[face]);
    return status;
}

/* ---- putting it together ----------------------------------------------------------------------
 */

static ebb_status check_patch(ebb_ctx *ctx, const ebb_geometry *geometry, size_t p)
{
    const ebb_patch *patch = &geometry->patches[p];
    if (patch->face < 0 || patch->face >= EBB_FACES || !patch->assembly)
        return ebb_fail(ctx, EBB_E_RANGE, "patch %zu: no such face, or no assembly", p);
    int tangent[2];
    ebb_box_tangents(patch->face / 2, tangent);
    for (int d = 0; d < 2; d++) {
        double end = patch->at[d] + patch->size[d], length = geometry->size[tangent[d]];
        if (!(patch->at[d] >= -1e-6 && patch->size[d] > 1e-3 && end <= length + 1e-6))
            return ebb_fail(ctx, EBB_E_RANGE,
                            "patch %zu does not lie on its face: %g to %g m of %g m", p,
                            patch->at[d], end, length);
    }
    return EBB_OK;
}

static ebb_status check(ebb_ctx *ctx, const ebb_geometry *geometry)
{
    for (int d = 0; d < 3; d++)
        if (!(geometry->size[d] >= 0.5 && geometry->size[d] <= 40))
            return ebb_fail(ctx, EBB_E_RANGE, "room size %g m is outside 0.5 to 40 m",
                            geometry->size[d]);
    if (!(geometry->highest >= 20 && geometry->highest <= 400))
        return ebb_fail(ctx, EBB_E_RANGE, "highest frequency %g Hz is outside 20 to 400 Hz",
                        geometry->highest);
    if (!(geometry->speed >= 300 && geometry->speed <= 380))
        return ebb_fail(ctx, EBB_E_RANGE, "speed of sound %g m/s is outside 300 to 380 m/s",
                        geometry->speed);
    if (!(geometry->richness >= 0.2 && geometry->richness <= 1))
        return ebb_fail(ctx, EBB_E_RANGE, "richness %g is outside 0.2 to 1", geometry->richness);
    for (size_t p = 0; p < geometry->n_points; p++) {
        const ebb_vec3 *at = &geometry->points[p];
        const double *size = geometry->size;
        if (!(at->x >= 0 && at->x <= size[0] && at->y >= 0 && at->y <= size[1] && at->z >= 0 &&
              at->z <= size[2]))
            return ebb_fail(ctx, EBB_E_RANGE, "point %zu lies outside the room", p);
    }
    for (size_t p = 0; p < geometry->n_patches; p++) {
        ebb_status status = check_patch(ctx, geometry, p);
        if (status != EBB_OK)
            return status;
    }
    return EBB_OK;
}

/* Patterns of all patch ports of one face, in the order of the patches. */
static ebb_status port_patterns(build *b, int face, double **ports)
{
    size_t n_jk = face_functions(&b->space->box, face), n = 0;
    for (size_t p = 0; p < b->geometry->n_patches; p++)
        n += b->geometry->patches[p].face == face ? port_count(&b->geometry->patches[p]) : 0;
    double *out = *ports = EBB_NEW(b->scratch, double, n *n_jk);
    ebb_status status = out ? EBB_OK : EBB_E_NOMEM;
    for (size_t p = 0; p < b->geometry->n_patches && status == EBB_OK; p++)
        if (b->geometry->patches[p].face == face) {
            status = patch_patterns(b, &b->geometry->patches[p], n_jk, out);
            out += n_jk * port_count(&b->geometry->patches[p]);
        }
    return status;
}

/* A large room at a fine resolution is given less than was asked for: that must not go unsaid. */
static void warn_coarse(const build *b, double wanted)
{
    double got = 0;
    for (int d = 0; d < 3; d++)
        got = fmax(got, b->geometry->size[d] / (double)(b->space->box.axis[d].n - 1));
    if (got > 1.1 * wanted && b->ctx)
        ebb_warn_at(b->ctx, NULL,
                    "the room is so large that near fields are resolved to %.2f m only, not to "
                    "%.2f m: levels near units are less sure",
                    got, wanted);
}

static ebb_status make_basis(build *b, double *ports[EBB_FACES])
{
    const ebb_geometry *geometry = b->geometry;
    double wanted = 0.17 / geometry->richness;
    double volume = geometry->size[0] * geometry->size[1] * geometry->size[2];
    double resolution = fmax(wanted, cbrt(volume / MOST_FULL));
    double cut = geometry->highest * (1.1 + 0.1 * geometry->richness);
    ebb_status status = ebb_box_make(b->reduced->arena, geometry, resolution, cut, &b->space->box);
    if (status == EBB_OK)
        warn_coarse(b, wanted);
    ebb_patterns patterns[EBB_FACES];
    for (int face = 0; face < EBB_FACES && status == EBB_OK; face++) {
        status = port_patterns(b, face, &ports[face]);
        if (status == EBB_OK)
            status = face_patterns(b, face, &patterns[face], ports[face]);
    }
    double tolerance = 6e-3 / pow(geometry->richness, 3);
    if (status == EBB_OK)
        status = ebb_box_enrich(b->scratch, &b->space->box, patterns, geometry->n_points,
                                geometry->points, tolerance);
    size_t n = b->space->box.n_extra * b->space->box.n_full;
    double *extra = EBB_NEW(b->reduced->arena, double, n);
    if (status == EBB_OK && !extra)
        status = EBB_E_NOMEM;
    if (status == EBB_OK && n > 0)
        memcpy(extra, b->space->box.extra, n * sizeof *extra);
    b->space->box.extra = extra; /* out of the scratch arena */
    b->reduced->size = b->space->box.n_kept + b->space->box.n_extra;
    return status;
}

static ebb_status project(build *b)
{
    double *ports[EBB_FACES] = {NULL};
    ebb_status status = make_basis(b, ports);
    if (status == EBB_OK)
        status = make_rigid(b);
    if (status == EBB_OK)
        status = make_faces(b);
    for (int axis = 0; axis < 3 && status == EBB_OK; axis++)
        status = make_stiffness(b, axis);
    if (status == EBB_OK)
        status = make_ports(b, ports);
    if (status == EBB_OK)
        status = make_lacks(b, ports);
    set_points(b);
    return status;
}

ebb_status ebb_reduced_new(ebb_ctx *ctx, const ebb_geometry *geometry, ebb_reduced **reduced)
{
    *reduced = NULL;
    /* Frequencies and draws are shared out to threads here; BLAS threads on top only get in the
     * way. */
    openblas_set_num_threads(1);
    ebb_status status = check(ctx, geometry);
    if (status != EBB_OK)
        return status;
    ebb_arena *arena = ebb_arena_new(ctx), *scratch = ebb_arena_new(ctx);
    ebb_reduced *made = EBB_NEW(arena, ebb_reduced, 1);
    box_space *space = EBB_NEW(arena, box_space, 1);
    ebb_port_set *patches = EBB_NEW(arena, ebb_port_set, geometry->n_patches);
    status = EBB_E_NOMEM;
    if (scratch && made && space && patches) {
        *made = (ebb_reduced){.arena = arena,
                              .highest = geometry->highest,
                              .speed = geometry->speed,
                              .n_patches = geometry->n_patches,
                              .patch = patches};
        memcpy(made->extent, geometry->size, sizeof made->extent);
        build b = {ctx, scratch, geometry, space, made, {NULL}};
        status = project(&b);
    }
    ebb_arena_free(scratch);
    if (status != EBB_OK) {
        ebb_arena_free(arena);
        return ebb_fail(ctx, status, "the room could not be projected: %s",
                        ebb_status_text(status));
    }
    *reduced = made;
    return EBB_OK;
}
