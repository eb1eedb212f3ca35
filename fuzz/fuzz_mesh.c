/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What comes back from the mesher, from hostile hands: any bytes give either a mesh whose numbers
 * fit together or a fault, and whatever passes the check fills the room.
 *
 * By hand, from the root of the project:
 *   clang -g -O1 -std=c17 -D_XOPEN_SOURCE=700 -fsanitize=fuzzer,address,undefined -Iinclude \
 *     fuzz/fuzz_mesh.c src/{base,mesh}/[a-z]*.c src/room/solid*.c -lm -o fuzz_mesh
 *   ./fuzz_mesh -max_total_time=60 -max_len=8192 new-corpus fuzz/corpus/mesh
 */
#include <ebb/mesh.h>

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define DEMAND(condition)                                                                          \
    do {                                                                                           \
        if (!(condition))                                                                          \
            abort();                                                                               \
    } while (0)

/* A box of 2 m x 1.5 m x 1 m. */
static const ebb_vec3 corner[8] = {{0, 0, 0}, {2, 0, 0}, {2, 1.5, 0}, {0, 1.5, 0},
                                   {0, 0, 1}, {2, 0, 1}, {2, 1.5, 1}, {0, 1.5, 1}};
static const size_t loop[1] = {4};
static const size_t link[6][4] = {{0, 1, 2, 3}, {4, 7, 6, 5}, {0, 4, 5, 1},
                                  {1, 5, 6, 2}, {2, 6, 7, 3}, {3, 7, 4, 0}};
static const ebb_facet facet[6] = {{0, 1, loop, link[0]}, {1, 1, loop, link[1]},
                                   {2, 1, loop, link[2]}, {3, 1, loop, link[3]},
                                   {4, 1, loop, link[4]}, {5, 1, loop, link[5]}};
static const ebb_solid box = {8, corner, 6, facet, 6};

static void check_numbers(const ebb_mesh *mesh)
{
    DEMAND(mesh->n_surfaces == 6);
    for (size_t i = 0; i < mesh->n_nodes; i++)
        DEMAND(isfinite(mesh->node[i].x) && isfinite(mesh->node[i].y) && isfinite(mesh->node[i].z));
    for (size_t i = 0; i < 4 * mesh->n_tets; i++)
        DEMAND(mesh->tet[i / 4][i % 4] < mesh->n_nodes);
    for (size_t i = 0; i < mesh->n_faces; i++) {
        DEMAND(mesh->surface[i] < 6 && mesh->owner[i] <= mesh->n_tets);
        for (int k = 0; k < 3; k++)
            DEMAND(mesh->face[i][k] < mesh->n_nodes);
    }
}

static void check_good(const ebb_mesh *mesh)
{
    double volume = 0;
    for (size_t i = 0; i < mesh->n_tets; i++) {
        const size_t *k = mesh->tet[i];
        const ebb_vec3 a = mesh->node[k[0]], b = mesh->node[k[1]], c = mesh->node[k[2]],
                       d = mesh->node[k[3]];
        const double u[3] = {b.x - a.x, b.y - a.y, b.z - a.z};
        const double v[3] = {c.x - a.x, c.y - a.y, c.z - a.z};
        const double w[3] = {d.x - a.x, d.y - a.y, d.z - a.z};
        const double six = u[0] * (v[1] * w[2] - v[2] * w[1]) + u[1] * (v[2] * w[0] - v[0] * w[2]) +
                           u[2] * (v[0] * w[1] - v[1] * w[0]);
        DEMAND(six > 0);
        volume += six / 6;
    }
    DEMAND(fabs(volume - 3) < 1e-5);
    for (size_t i = 0; i < mesh->n_faces; i++)
        DEMAND(mesh->owner[i] < mesh->n_tets);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    ebb_ctx *ctx = ebb_ctx_new();
    ebb_mesh *mesh;
    if (ctx == NULL)
        return 0;
    const ebb_status status = ebb_mesh_read(ctx, &box, (const char *)data, size, &mesh);
    DEMAND((status == EBB_OK) == (mesh != NULL));
    DEMAND((status == EBB_OK) == (ebb_ctx_errors(ctx) == 0));
    if (mesh != NULL) {
        check_numbers(mesh);
        const ebb_status good = ebb_mesh_check(ctx, &box, mesh);
        DEMAND((good == EBB_OK) == (ebb_ctx_errors(ctx) == 0));
        if (good == EBB_OK)
            check_good(mesh);
    }
    ebb_mesh_free(mesh);
    ebb_ctx_free(ctx);
    return 0;
}
