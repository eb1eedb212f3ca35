/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * What is said to the mesher: the solid, how fine, and where it must be finer.
 *
 * Numbers are whole numbers times a power of two in the hexadecimal spelling of C, so that not a
 * bit is lost and no host's locale can put a comma in.
 */
#include "fine.h"
#include "private.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>

/* Longest spellings with the blank behind them. */
#define LONGEST_REAL ((size_t)32)
#define LONGEST_COUNT ((size_t)24)

/* ---- text ------------------------------------------------------------------------------------ */

typedef struct writer {
    char *text;
    size_t n, room;
} writer;

static void put_text(writer *w, const char *text)
{
    w->n += (size_t)snprintf(w->text + w->n, w->room - w->n, "%s", text);
}

static void put_count(writer *w, size_t value, char behind)
{
    w->n += (size_t)snprintf(w->text + w->n, w->room - w->n, "%zu%c", value, behind);
}

static void put_real(writer *w, double value, char behind)
{
    int power;
    const uint64_t digits = (uint64_t)ldexp(frexp(fabs(value), &power), 53);
    w->n +=
        (size_t)snprintf(w->text + w->n, w->room - w->n, "%s0x%llxp%d%c", signbit(value) ? "-" : "",
                         (unsigned long long)digits, digits > 0 ? power - 53 : 0, behind);
}

static void put_point(writer *w, ebb_vec3 at, char behind)
{
    put_real(w, at.x, ' ');
    put_real(w, at.y, ' ');
    put_real(w, at.z, behind);
}

static size_t loop_corners(const ebb_facet *facet)
{
    size_t n = 0;
    for (size_t l = 0; l < facet->n_loops; l++)
        n += facet->loop[l];
    return n;
}

static void put_facet(writer *w, const ebb_facet *facet)
{
    const size_t *corner = facet->corner;
    put_count(w, facet->surface, ' ');
    put_count(w, facet->n_loops, ' ');
    for (size_t l = 0; l < facet->n_loops; l++) {
        put_count(w, facet->loop[l], ' ');
        for (size_t i = 0; i < facet->loop[l]; i++)
            put_count(w, *corner++,
                      l + 1 == facet->n_loops && i + 1 == facet->loop[l] ? '\n' : ' ');
    }
}

/* ---- all ------------------------------------------------------------------------------------- */

static void put_fine(writer *w, const ebb_mesh_fine *fine)
{
    put_text(w, "lines ");
    put_count(w, fine->n_lines, '\n');
    for (size_t i = 0; i < fine->n_lines; i++) {
        put_point(w, fine->line[i].from, ' ');
        put_point(w, fine->line[i].to, ' ');
        put_real(w, fine->line[i].size, '\n');
    }
    put_text(w, "areas ");
    put_count(w, fine->n_areas, '\n');
    for (size_t i = 0; i < fine->n_areas; i++) {
        put_count(w, fine->area[i].facet, ' ');
        put_real(w, fine->area[i].size, '\n');
    }
}

static void put_all(writer *w, const ebb_solid *solid, const ebb_mesh_wish *wish)
{
    put_text(w, "ebb-solid 1\nedge ");
    put_real(w, wish->edge, '\n');
    put_text(w, "corners ");
    put_count(w, solid->n_corners, '\n');
    for (size_t i = 0; i < solid->n_corners; i++)
        put_point(w, solid->corner[i], '\n');
    put_text(w, "facets ");
    put_count(w, solid->n_facets, '\n');
    for (size_t f = 0; f < solid->n_facets; f++)
        put_facet(w, &solid->facet[f]);
}

ebb_status ebb_mesh_ask(ebb_ctx *ctx, ebb_arena *arena, const ebb_solid *solid,
                        const ebb_mesh_wish *wish, const char **text, size_t *length)
{
    *text = NULL;
    *length = 0;
    if (!(wish->edge >= 0.05 && wish->edge <= 10))
        return ebb_fail(ctx, EBB_E_RANGE, "the edges of a mesh are 0.05 m to 10 m long, not %g m",
                        wish->edge);
    if (!(wish->edge_min == 0 || (wish->edge_min >= 0.01 && wish->edge_min <= wish->edge)))
        return ebb_fail(ctx, EBB_E_RANGE,
                        "the shortest edges of a mesh are 0.01 m to %g m long, not %g m",
                        wish->edge, wish->edge_min);
    const char *why = NULL;
    const ebb_status status = ebb_solid_check(arena, solid, &why);
    if (status != EBB_OK)
        return ebb_fail(ctx, status, "the room is not closed as it should be: %s",
                        why != NULL ? why : "");
    size_t borders = 0, loops = 0;
    for (size_t f = 0; f < solid->n_facets; f++) {
        borders += loop_corners(&solid->facet[f]);
        loops += solid->facet[f].n_loops;
    }
    ebb_mesh_fine fine;
    writer w = {.room = 256 +
                        LONGEST_REAL * (3 * solid->n_corners + 14 * borders + solid->n_facets) +
                        LONGEST_COUNT * (3 * solid->n_facets + loops + borders)};
    w.text = EBB_RAW(arena, char, w.room);
    if (w.text == NULL || !ebb_mesh_find_fine(arena, solid, wish, &fine))
        return ebb_fail(ctx, EBB_E_NOMEM, "no memory to describe a room to the mesher");
    put_all(&w, solid, wish);
    put_fine(&w, &fine);
    put_text(&w, "end\n");
    *text = w.text;
    *length = w.n;
    return EBB_OK;
}
