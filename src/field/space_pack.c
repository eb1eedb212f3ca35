/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * A space as bytes for a cache, and back. What comes back is believed only after it has been held
 * against the elements: every mode by its residual, and their number below the shift by the factor.
 */
#include "space.h"

#include "sparse.h"

#include <cblas.h>
#include <math.h>
#include <stdint.h>
#include <string.h>

#define VERSION 1
#define BYTE_ORDER_MARK 0x0102030405060708u
#define RESIDUAL 1e-6 /* of a mode, relative to the largest wave number squared */
#define ORTHO 1e-6    /* of the products of modes */

static const char magic[8] = {'E', 'B', 'B', 'S', 'P', 'A', 'C', 'E'};

/* Everything is a whole number of 8 bytes. */
typedef struct header {
    char magic[8];
    uint64_t version, byte_order, bytes, order, size, n_modes;
    uint64_t n_nodes, n_tets, n_faces, n_surfaces;
    double highest, reach, shift[2];
} header;

/* FNV-1a, word by word: any change of one word changes it. */
static uint64_t check_sum(const unsigned char *bytes, size_t n)
{
    uint64_t sum = 0xCBF29CE484222325u;
    for (size_t i = 0; i + 8 <= n; i += 8) {
        uint64_t word;
        memcpy(&word, bytes + i, 8);
        sum = (sum ^ word) * 0x100000001B3u;
    }
    return sum;
}

/* Bytes of a packed space. Counts have been checked, so that nothing overflows. */
static size_t packed_size(const header *h)
{
    const size_t words =
        3 * h->n_nodes + 4 * h->n_tets + 5 * h->n_faces + h->n_modes * (2 + h->size) + 1;
    return sizeof *h + 8 * words;
}

/* ---- packing --------------------------------------------------------------------------------- */

/* Bytes are copied, never pointed into: a file may begin anywhere. */
static unsigned char *put(unsigned char *to, const void *from, size_t bytes)
{
    memcpy(to, from, bytes);
    return to + bytes;
}

static unsigned char *put_indices(unsigned char *to, const size_t *from, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const uint64_t word = from[i];
        to = put(to, &word, sizeof word);
    }
    return to;
}

/* Shifts are kept too: the count of the modes is a count below one of them. */
static header header_of(const ebb_space *space)
{
    const ebb_mesh *mesh = &space->mesh;
    header h = {.version = VERSION,
                .byte_order = BYTE_ORDER_MARK,
                .order = space->wish.order,
                .size = space->size,
                .n_modes = space->n_modes,
                .n_nodes = mesh->n_nodes,
                .n_tets = mesh->n_tets,
                .n_faces = mesh->n_faces,
                .n_surfaces = mesh->n_surfaces,
                .highest = space->wish.highest,
                .reach = space->wish.reach,
                .shift = {space->shift[0], space->shift[1]}};
    memcpy(h.magic, magic, sizeof magic);
    h.bytes = packed_size(&h);
    return h;
}

/* Factors are not kept. They are many times the size of the modes and made in less time than a disk
 * takes to read them. */
ebb_status ebb_space_pack(ebb_ctx *ctx, ebb_arena *arena, const ebb_space *space, void **bytes,
                          size_t *n)
{
    const ebb_mesh *mesh = &space->mesh;
    const header h = header_of(space);
    unsigned char *out = EBB_RAW(arena, unsigned char, h.bytes), *to = out;
    *bytes = out;
    *n = out ? h.bytes : 0;
    if (!out)
        return ebb_fail(ctx, EBB_E_NOMEM, "out of memory for %zu bytes of modes", (size_t)h.bytes);
    to = put(to, &h, sizeof h);
    to = put(to, mesh->node, mesh->n_nodes * sizeof *mesh->node);
    to = put_indices(to, mesh->tet[0], 4 * mesh->n_tets);
    to = put_indices(to, mesh->face[0], 3 * mesh->n_faces);
    to = put_indices(to, mesh->surface, mesh->n_faces);
    to = put_indices(to, mesh->owner, mesh->n_faces);
    to = put(to, space->lambda, space->n_modes * sizeof *space->lambda);
    to = put(to, space->error, space->n_modes * sizeof *space->error);
    to = put(to, space->shape, space->n_modes * space->size * sizeof *space->shape);
    const uint64_t sum = check_sum(out, h.bytes - 8);
    put(to, &sum, sizeof sum);
    return EBB_OK;
}

/* ---- unpacking ------------------------------------------------------------------------------- */

static ebb_status refuse(ebb_ctx *ctx, const char *why)
{
    return ebb_fail(ctx, EBB_E_INPUT, "the kept modes can not be used: %s", why);
}

/* From the plainest fault to the subtlest, so that the message names the real one: a file of
 * another version is not called damaged. */
static ebb_status read_header(ebb_ctx *ctx, const unsigned char *bytes, size_t n, header *h)
{
    uint64_t sum;
    if (n < sizeof *h + 8 || n % 8 != 0)
        return refuse(ctx, "they are cut short");
    memcpy(h, bytes, sizeof *h);
    memcpy(&sum, bytes + n - 8, sizeof sum);
    if (memcmp(h->magic, magic, sizeof magic) != 0)
        return refuse(ctx, "these are no modes of a room");
    if (h->byte_order != BYTE_ORDER_MARK)
        return refuse(ctx, "they are from another kind of machine");
    if (h->version != VERSION)
        return refuse(ctx, "they are from another version");
    if (h->bytes != n || sum != check_sum(bytes, n - 8))
        return refuse(ctx, "they are damaged");
    const uint64_t most = EBB_FREEDOMS_MOST;
    if (h->n_nodes > most || h->n_tets > most || h->n_faces > most || h->n_surfaces > most ||
        h->n_modes > most || h->size > most || packed_size(h) != n)
        return refuse(ctx, "their parts do not fit together");
    return EBB_OK;
}

/* Equal to the last bit: a cache that is nearly right is a number that is nearly right. */
static ebb_status compare_wish(ebb_ctx *ctx, const header *h, const ebb_space_wish *wish)
{
    const bool same = h->highest == wish->highest &&
                      (wish->reach == 0 || h->reach == wish->reach) &&
                      (wish->order == 0 || h->order == wish->order);
    return same ? EBB_OK : refuse(ctx, "they are for another frequency or order");
}

static const unsigned char *take_indices(const unsigned char *from, size_t n, size_t *to)
{
    for (size_t i = 0; i < n; i++) {
        uint64_t word;
        memcpy(&word, from + 8 * i, 8);
        to[i] = (size_t)word;
    }
    return from + 8 * n;
}

/* The mesh; what does not fit together in it is found when it is taken apart. */
static const unsigned char *take_mesh(ebb_arena *arena, const header *h, const unsigned char *from,
                                      ebb_mesh *mesh)
{
    *mesh = (ebb_mesh){.n_nodes = h->n_nodes,
                       .n_tets = h->n_tets,
                       .n_faces = h->n_faces,
                       .n_surfaces = h->n_surfaces};
    mesh->node = EBB_RAW(arena, ebb_vec3, h->n_nodes);
    mesh->tet = ebb_arena_raw(arena, h->n_tets, sizeof *mesh->tet);
    mesh->face = ebb_arena_raw(arena, h->n_faces, sizeof *mesh->face);
    mesh->surface = EBB_RAW(arena, size_t, h->n_faces);
    mesh->owner = EBB_RAW(arena, size_t, h->n_faces);
    if (!mesh->node || !mesh->tet || !mesh->face || !mesh->surface || !mesh->owner)
        return NULL;
    memcpy(mesh->node, from, h->n_nodes * sizeof *mesh->node);
    from = take_indices(from + h->n_nodes * sizeof *mesh->node, 4 * h->n_tets, mesh->tet[0]);
    from = take_indices(from, 3 * h->n_faces, mesh->face[0]);
    from = take_indices(from, h->n_faces, mesh->surface);
    return take_indices(from, h->n_faces, mesh->owner);
}

/* What the numbers are worth is proved after, with factors at hand. */
static bool take_modes(const header *h, const unsigned char *from, ebb_space *space)
{
    const size_t n = h->n_modes;
    space->lambda = EBB_RAW(space->arena, double, n);
    space->error = EBB_RAW(space->arena, double, n);
    space->shape = EBB_RAW(space->arena, double, n * space->size);
    if (!space->lambda || !space->error || !space->shape)
        return false;
    memcpy(space->lambda, from, n * sizeof *space->lambda);
    memcpy(space->error, from + 8 * n, n * sizeof *space->error);
    memcpy(space->shape, from + 16 * n, n * space->size * sizeof *space->shape);
    space->n_modes = n;
    return true;
}

/* Written so that a not-a-number anywhere fails. */
static bool is_identity(size_t n, const double *product)
{
    for (size_t j = 0; j < n; j++)
        for (size_t i = 0; i < n; i++)
            if (!(fabs(product[j * n + i] - (i == j)) <= ORTHO))
                return false;
    return true;
}

/* K shape - lambda M shape, and the products of the modes. */
static ebb_status check_modes(ebb_ctx *ctx, const ebb_space *space)
{
    ebb_arena *scratch = ebb_arena_new(ctx);
    const size_t n = space->n_modes, size = space->size;
    const double top = fmax(space->shift[1], space->lambda[n - 1]);
    const ebb_mix stiffness = {{1, 1, 1}, 0};
    double *k = EBB_RAW(scratch, double, n *size), *m = EBB_RAW(scratch, double, n *size);
    double *product = EBB_RAW(scratch, double, n *n);
    ebb_status status = k && m && product ? EBB_OK : EBB_E_NOMEM;
    if (status == EBB_E_NOMEM)
        ebb_fail(ctx, status, "out of memory for the check of kept modes");
    if (status == EBB_OK) {
        ebb_space_apply(space, &stiffness, n, space->shape, k);
        ebb_space_mass(space, n, space->shape, m);
        cblas_dgemm(CblasColMajor, CblasTrans, CblasNoTrans, (int)n, (int)n, (int)size, 1,
                    space->shape, (int)size, m, (int)size, 0, product, (int)n);
        if (!is_identity(n, product))
            status = refuse(ctx, "they do not belong to the room");
    }
    for (size_t i = 0; status == EBB_OK && i < n; i++) {
        const double length = cblas_dnrm2((int)size, m + i * size, 1);
        cblas_daxpy((int)size, -space->lambda[i], m + i * size, 1, k + i * size, 1);
        if (!(cblas_dnrm2((int)size, k + i * size, 1) <= RESIDUAL * top * length))
            status = refuse(ctx, "they do not belong to the room");
    }
    ebb_arena_free(scratch);
    return status;
}

/* Modes below shift 1: those of the factor are those kept. */
static ebb_status count_modes(ebb_ctx *ctx, const ebb_space *space)
{
    size_t below = 0;
    for (size_t m = 0; m < space->n_modes; m++)
        below += space->lambda[m] < space->shift[1];
    return below == ebb_fronts_below(space->fronts[1]) ? EBB_OK : refuse(ctx, "a mode is missing");
}

/* Takes everything out of bytes that are whole. */
static ebb_status restore(ebb_ctx *ctx, const unsigned char *bytes, const header *h,
                          ebb_space **space)
{
    const ebb_space_wish wish = {h->highest, h->reach, h->order};
    ebb_arena *scratch = ebb_arena_new(ctx);
    ebb_mesh mesh;
    const unsigned char *from = take_mesh(scratch, h, bytes + sizeof *h, &mesh);
    ebb_status status = from ? EBB_OK : ebb_fail(ctx, EBB_E_NOMEM, "out of memory for a mesh");
    if (status == EBB_OK)
        status = ebb_space_open(ctx, &mesh, &wish, space);
    if (status == EBB_E_RANGE)
        status = refuse(ctx, "their mesh does not hold together");
    if (status == EBB_OK && ((*space)->size != h->size || h->n_modes == 0))
        status = refuse(ctx, "their parts do not fit together");
    if (status == EBB_OK && !take_modes(h, from, *space))
        status = ebb_fail(ctx, EBB_E_NOMEM, "out of memory for the modes of a room");
    ebb_arena_free(scratch);
    return status;
}

/* The order is that of cost; a shift that had to move is one at which those modes were never made.
 */
static ebb_status prove(ebb_ctx *ctx, const header *h, ebb_space *space)
{
    ebb_status status = EBB_OK;
    for (int s = 0; s < 2 && status == EBB_OK; s++) {
        space->shift[s] = h->shift[s];
        status = ebb_space_factor(ctx, space, s);
    }
    if (status == EBB_E_NUMERIC ||
        (status == EBB_OK && (space->shift[0] != h->shift[0] || space->shift[1] != h->shift[1])))
        status = refuse(ctx, "their shifts do not fit the room");
    if (status == EBB_OK)
        status = count_modes(ctx, space);
    return status == EBB_OK ? check_modes(ctx, space) : status;
}

/* Nothing of what is kept is used before it has been read whole. */
ebb_status ebb_space_unpack(ebb_ctx *ctx, const void *bytes, size_t n, const ebb_space_wish *wish,
                            ebb_space **space)
{
    header h;
    ebb_space *made = NULL;
    *space = NULL;
    ebb_status status = read_header(ctx, bytes, n, &h);
    if (status == EBB_OK)
        status = compare_wish(ctx, &h, wish);
    if (status == EBB_OK)
        status = restore(ctx, bytes, &h, &made);
    if (status == EBB_OK)
        status = prove(ctx, &h, made);
    if (status != EBB_OK)
        ebb_space_free(made);
    else
        *space = made;
    return status;
}
