/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Fronts are kept in two pieces: the factor of the own part, and the coupling to the rim already
 * solved with it. Solutions are then nothing but dense products with contiguous rows, because
 * freedoms are numbered in the order of their elimination.
 */
#include "sparse.h"

#include <cblas.h>
#include <lapacke.h>
#include <math.h>
#include <string.h>

#define COLUMNS 96       /* of a block of an update */
#define BLOCK 64         /* right-hand sides taken at once */
#define TRIAL_ERROR 1e-9 /* largest relative residual of a trial solution */
#define GROWTH 1e5       /* largest multiplier of a factor that is only counted */

/* What is kept of a front with own and rim freedoms. */
typedef struct front {
    double *block; /* [own x own] factor of its own part, and the other diagonal of D in side */
    double *side;
    int *pivot;
    double *wing; /* [own x rim] own part's inverse times the coupling to the rim */
} front;

struct ebb_fronts {
    ebb_arena *arena;
    front *front; /* [n_halves] */
    size_t below, numbers;
    int widest; /* rim */
};

/* Everything of a factor lives in its arena. */
void ebb_fronts_free(ebb_fronts *fronts)
{
    if (fronts)
        ebb_arena_free(fronts->arena);
}

size_t ebb_fronts_below(const ebb_fronts *fronts)
{
    return fronts->below;
}

size_t ebb_fronts_numbers(const ebb_fronts *fronts)
{
    return fronts->numbers;
}

/* ---- factors --------------------------------------------------------------------------------- */

/* Memory of one factorisation. What halves hand up waits on a stack: a half finds that of its two
 * children on top. */
typedef struct workshop {
    const ebb_space *space;
    ebb_mix mix;
    double *matrix;  /* the front at hand, upper part */
    double *element; /* matrix of an element */
    double *stack;
    size_t top;
    int *place;     /* [size] of a freedom in the front at hand */
    front counting; /* memory of any front, when nothing is to be kept */
    double *work;
    size_t n_work;
} workshop;

/* Halves of one element have no children to take from. */
static bool is_leaf(const ebb_half *half)
{
    return half->to - half->from == 1;
}

static size_t handed_up(const ebb_half *half)
{
    return (size_t)half->n_rim * (size_t)half->n_rim;
}

/* Largest height of the stack, and order of the largest front. */
static size_t plan_work(const ebb_space *space, size_t *largest)
{
    size_t top = 0, most = 0;
    *largest = 0;
    for (size_t h = 0; h < space->n_halves; h++) {
        const ebb_half *half = &space->half[h];
        const size_t order = (size_t)half->own + (size_t)half->n_rim;
        if (!is_leaf(half))
            top -=
                handed_up(&space->half[half->child[0]]) + handed_up(&space->half[half->child[1]]);
        top += handed_up(half);
        most = top > most ? top : most;
        *largest = order > *largest ? order : *largest;
    }
    return most;
}

/* Filled by every factorisation before it is read: not zeroed, which would cost as much as the
 * arithmetic of a small front. */
static bool make_front(ebb_arena *arena, size_t own, size_t order, front *f)
{
    f->block = EBB_RAW(arena, double, own *order);
    f->side = EBB_NEW(arena, double, own);
    f->pivot = EBB_NEW(arena, int, own);
    return f->block && f->side && f->pivot;
}

/* One set of work arrays for all fronts, large enough for the largest: memory that has just been
 * used is still near. */
static bool open_workshop(ebb_arena *scratch, const ebb_space *space, double shift, workshop *w)
{
    size_t largest;
    const size_t n = space->simplex.n, height = plan_work(space, &largest);
    *w = (workshop){.space = space, .mix = ebb_shifted(shift)};
    w->n_work = 64 * (largest + 1);
    w->matrix = EBB_RAW(scratch, double, largest *largest);
    w->element = EBB_RAW(scratch, double, n *n);
    w->stack = EBB_RAW(scratch, double, height);
    w->place = EBB_NEW(scratch, int, space->size);
    w->work = EBB_RAW(scratch, double, w->n_work);
    return w->matrix && w->element && w->stack && w->place && w->work &&
           make_front(scratch, largest, largest, &w->counting);
}

/* Adds a symmetric matrix to the front; row i goes to row place[row[i]]. */
static void add_element(const workshop *w, size_t order, size_t n, const int *row)
{
    for (size_t j = 0; j < n; j++) {
        double *column = w->matrix + (size_t)w->place[row[j]] * order;
        for (size_t i = 0; i < n; i++)
            if (w->place[row[i]] <= w->place[row[j]])
                column[w->place[row[i]]] += w->element[j * n + i];
    }
}

/* The same with what a child handed up. Its rows keep their order, so that the upper part stays the
 * upper part. */
static void add_child(workshop *w, size_t order, const ebb_half *child)
{
    const size_t n = (size_t)child->n_rim;
    w->top -= n * n;
    const double *matrix = w->stack + w->top;
    for (size_t j = 0; j < n; j++) {
        double *column = w->matrix + (size_t)w->place[child->rim[j]] * order;
        for (size_t i = 0; i <= j; i++)
            column[w->place[child->rim[i]]] += matrix[j * n + i];
    }
}

/* Only the upper part is cleared, filled and read. */
static void assemble(workshop *w, const ebb_half *half)
{
    const size_t order = (size_t)(half->own + half->n_rim);
    for (int i = 0; i < half->own; i++)
        w->place[half->first + i] = i;
    for (int i = 0; i < half->n_rim; i++)
        w->place[half->rim[i]] = half->own + i;
    for (size_t j = 0; j < order; j++)
        memset(w->matrix + j * order, 0, (j + 1) * sizeof *w->matrix);
    if (is_leaf(half)) {
        const ebb_element *element = &w->space->element[w->space->order[half->from]];
        ebb_space_element(w->space, element, &w->mix, w->element);
        add_element(w, order, w->space->simplex.n, element->freedom);
    } else { /* the later child is on top */
        add_child(w, order, &w->space->half[half->child[1]]);
        add_child(w, order, &w->space->half[half->child[0]]);
    }
}

/* Negative eigenvalues of D: blocks of two have `side` beside the diagonal. */
static size_t count_negative(int n, const double *block, const double *side)
{
    size_t count = 0;
    for (int i = 0; i < n; i++) {
        const double a = block[i * n + i];
        if (i + 1 < n && side[i + 1] != 0) {
            const double b = block[(i + 1) * n + i + 1], det = a * b - side[i + 1] * side[i + 1];
            count += det < 0 ? 1 : a + b < 0 ? 2 : 0;
            i++;
        } else {
            count += a < 0;
        }
    }
    return count;
}

/* Hands up what is left of the rim: only its upper part, in blocks of columns. */
static void hand_up(workshop *w, const ebb_half *half, const front *f)
{
    const int own = half->own, rim = half->n_rim, order = own + rim;
    const double *coupling = w->matrix + (size_t)own * (size_t)order;
    double *out = w->stack + w->top;
    w->top += handed_up(half);
    for (size_t j = 0; j < (size_t)rim; j++)
        memcpy(out + j * (size_t)rim, coupling + j * (size_t)order + own, (j + 1) * sizeof *out);
    for (int j = 0; own > 0 && j < rim; j += COLUMNS) {
        const int columns = rim - j < COLUMNS ? rim - j : COLUMNS;
        cblas_dgemm(CblasColMajor, CblasTrans, CblasNoTrans, j + columns, columns, own, -1,
                    coupling, order, f->wing + (size_t)j * (size_t)own, own, 1,
                    out + (size_t)j * (size_t)rim, rim);
    }
}

/* Multipliers of a stable elimination are of the order of one; large ones eat digits. */
static double largest_of(size_t n, const double *x)
{
    return n > 0 ? fabs(x[cblas_idamax((int)n, x, 1)]) : 0;
}

/* Eliminates the own freedoms of the assembled front into f; the front itself stays as it is. */
static ebb_status eliminate(workshop *w, const ebb_half *half, ebb_fronts *fronts, front *f)
{
    const int own = half->own, rim = half->n_rim;
    const size_t n_own = (size_t)own, order = (size_t)(own + rim);
    if (own == 0)
        return EBB_OK;
    f->wing = f->block + n_own * n_own;
    for (size_t j = 0; j < order; j++)
        memcpy(f->block + j * n_own, w->matrix + j * order, n_own * sizeof *f->block);
    if (LAPACKE_dsytrf_rk_work(LAPACK_COL_MAJOR, 'U', own, f->block, own, f->side, f->pivot,
                               w->work, (int)w->n_work) != 0)
        return EBB_E_NUMERIC;
    if (rim > 0)
        LAPACKE_dsytrs_3_work(LAPACK_COL_MAJOR, 'U', own, rim, f->block, own, f->side, f->pivot,
                              f->wing, own);
    fronts->below += count_negative(own, f->block, f->side);
    return EBB_OK;
}

/* Without fronts to keep, only counts, and then looks at the multipliers: there will be no trial.
 */
static ebb_status factor(ebb_ctx *ctx, const ebb_space *space, double shift, ebb_fronts *fronts)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    workshop w;
    ebb_status status = open_workshop(scratch, space, shift, &w) ? EBB_OK : EBB_E_NOMEM;
    fronts->below = 0;
    for (size_t h = 0; status == EBB_OK && h < space->n_halves; h++) {
        const ebb_half *half = &space->half[h];
        const size_t coupling = (size_t)half->own * (size_t)half->n_rim;
        front *f = fronts->front ? &fronts->front[h] : &w.counting;
        assemble(&w, half);
        status = eliminate(&w, half, fronts, f);
        if (status == EBB_OK && !fronts->front && !(largest_of(coupling, f->wing) < GROWTH))
            status = EBB_E_NUMERIC;
        if (status == EBB_OK)
            hand_up(&w, half, f);
    }
    ebb_arena_free(scratch);
    return status;
}

/* Relative residual of the solution for one load without any pattern. */
static ebb_status try_out(ebb_ctx *ctx, const ebb_space *space, double shift,
                          const ebb_fronts *fronts)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    const size_t n = space->size;
    double *b = EBB_RAW(scratch, double, n), *x = EBB_RAW(scratch, double, n),
           *r = EBB_RAW(scratch, double, n);
    ebb_status status = EBB_E_NOMEM;
    if (b && x && r) {
        for (size_t i = 0; i < n; i++)
            x[i] = b[i] = sin((double)(i * i % 10007));
        status = ebb_fronts_solve(ctx, space, fronts, 1, x);
        const ebb_mix mix = ebb_shifted(shift);
        ebb_space_apply(space, &mix, 1, x, r);
        cblas_daxpy((int)n, -1, b, 1, r, 1);
        const double error = cblas_dnrm2((int)n, r, 1) / cblas_dnrm2((int)n, b, 1);
        if (status == EBB_OK && !(error <= TRIAL_ERROR))
            status = EBB_E_NUMERIC;
    }
    ebb_arena_free(scratch);
    return status;
}

/* Only lack of memory is a failure to be told. */
static void refuse(ebb_ctx *ctx, ebb_status status)
{
    if (status == EBB_E_NOMEM)
        ebb_fail(ctx, status, "out of memory for the factor of a room's elements");
}

/* A factor that is not stored needs no memory but the workshop, and takes a third of the time: most
 * of it goes into touching fresh pages. */
ebb_status ebb_fronts_count(ebb_ctx *ctx, const ebb_space *space, double shift, size_t *below)
{
    ebb_fronts counted = {0};
    const ebb_status status = factor(ctx, space, shift, &counted);
    *below = status == EBB_OK ? counted.below : 0;
    refuse(ctx, status);
    return status;
}

ebb_status ebb_fronts_new(ebb_ctx *ctx, const ebb_space *space, ebb_fronts **fronts)
{
    ebb_arena *arena = ebb_arena_new(ctx);
    ebb_fronts *made = EBB_NEW(arena, ebb_fronts, 1);
    bool whole = made != NULL;
    *fronts = NULL;
    if (made) {
        made->arena = arena;
        made->front = EBB_NEW(arena, front, space->n_halves);
    }
    for (size_t h = 0; whole && h < space->n_halves; h++) {
        const ebb_half *half = &space->half[h];
        const size_t own = (size_t)half->own, order = own + (size_t)half->n_rim;
        whole = made->front && (own == 0 || make_front(arena, own, order, &made->front[h]));
        made->numbers += own * order;
        made->widest = half->n_rim > made->widest ? half->n_rim : made->widest;
    }
    if (!whole) {
        ebb_arena_free(arena);
        refuse(ctx, EBB_E_NOMEM);
        return EBB_E_NOMEM;
    }
    *fronts = made;
    return EBB_OK;
}

ebb_status ebb_fronts_set(ebb_ctx *ctx, const ebb_space *space, double shift, ebb_fronts *fronts)
{
    ebb_status status = factor(ctx, space, shift, fronts);
    refuse(ctx, status);
    return status == EBB_OK ? try_out(ctx, space, shift, fronts) : status;
}

/* ---- solutions ------------------------------------------------------------------------------- */

/* Rows of the rim, from or to a block of right-hand sides. */
static void gather(const ebb_half *half, size_t size, int n, const double *x, double *out)
{
    for (int v = 0; v < n; v++)
        for (int i = 0; i < half->n_rim; i++)
            out[v * half->n_rim + i] = x[(size_t)v * size + (size_t)half->rim[i]];
}

static void scatter_off(const ebb_half *half, size_t size, int n, const double *in, double *x)
{
    for (int v = 0; v < n; v++)
        for (int i = 0; i < half->n_rim; i++)
            x[(size_t)v * size + (size_t)half->rim[i]] -= in[v * half->n_rim + i];
}

/* Up the tree: loads of a half's own freedoms are handed to its rim. */
static void go_up(const ebb_half *half, const front *f, size_t size, int n, double *x, double *work)
{
    if (half->own == 0 || half->n_rim == 0)
        return;
    cblas_dgemm(CblasColMajor, CblasTrans, CblasNoTrans, half->n_rim, n, half->own, 1, f->wing,
                half->own, x + half->first, (int)size, 0, work, half->n_rim);
    scatter_off(half, size, n, work, x);
}

/* Down the tree: own freedoms from their loads and from the rim, which is known by now. */
static void go_down(const ebb_half *half, const front *f, size_t size, int n, double *x,
                    double *work)
{
    if (half->own == 0)
        return;
    LAPACKE_dsytrs_3_work(LAPACK_COL_MAJOR, 'U', half->own, n, f->block, half->own, f->side,
                          f->pivot, x + half->first, (int)size);
    if (half->n_rim == 0)
        return;
    gather(half, size, n, x, work);
    cblas_dgemm(CblasColMajor, CblasNoTrans, CblasNoTrans, half->own, n, half->n_rim, -1, f->wing,
                half->own, work, half->n_rim, 1, x + half->first, (int)size);
}

/* Blocks of right-hand sides: every front is read once for all of them. */
ebb_status ebb_fronts_solve(ebb_ctx *ctx, const ebb_space *space, const ebb_fronts *fronts,
                            size_t n, double *x)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    double *work = EBB_RAW(scratch, double, BLOCK *(size_t)fronts->widest);
    for (size_t from = 0; work && from < n; from += BLOCK) {
        const int block = n - from < BLOCK ? (int)(n - from) : BLOCK;
        double *here = x + from * space->size;
        for (size_t h = 0; h < space->n_halves; h++)
            go_up(&space->half[h], &fronts->front[h], space->size, block, here, work);
        for (size_t h = space->n_halves; h-- > 0;)
            go_down(&space->half[h], &fronts->front[h], space->size, block, here, work);
    }
    ebb_arena_free(scratch);
    return work ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a solution");
}
