/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Cutting regions of a plane, by GEOS. Everything is rounded to a grid that is far finer than what
 * counts as the same point, so that its overlay cannot fail on lines that nearly meet.
 */
#include "shape.h"

#include "vector.h"

#include <geos_c.h>

#define GRID 1e-9  /* m */
#define CRUMB 1e-8 /* m2: smaller pieces are rounding */
#define WIDE 200.0 /* m: half of a plane, seen from a room */

struct ebb_room_cutter {
    ebb_arena *arena;
    GEOSContextHandle_t geos;
    const char *fault;
};

ebb_room_cutter *ebb_room_cutter_new(ebb_arena *arena)
{
    ebb_room_cutter *cutter = EBB_NEW(arena, ebb_room_cutter, 1);
    if (cutter == NULL)
        return NULL;
    cutter->arena = arena;
    cutter->geos = GEOS_init_r();
    return cutter->geos != NULL ? cutter : NULL;
}

void ebb_room_cutter_free(ebb_room_cutter *cutter)
{
    if (cutter != NULL)
        GEOS_finish_r(cutter->geos);
}

const char *ebb_room_cutter_fault(const ebb_room_cutter *cutter)
{
    return cutter->fault;
}

static ebb_room_region failed(ebb_room_cutter *cutter, const char *why)
{
    if (cutter->fault == NULL)
        cutter->fault = why;
    return (ebb_room_region){0, NULL};
}

/* ---- to GEOS --------------------------------------------------------------------------------- */

/* A closed ring repeats its first point. */
static GEOSGeometry *ring_to(ebb_room_cutter *cutter, const ebb_room_ring *ring)
{
    GEOSContextHandle_t g = cutter->geos;
    GEOSCoordSequence *points = GEOSCoordSeq_create_r(g, (unsigned)ring->n + 1, 2);
    if (points == NULL)
        return NULL;
    for (size_t i = 0; i <= ring->n; i++) {
        const double *p = ring->point[i % ring->n];
        GEOSCoordSeq_setXY_r(g, points, (unsigned)i, p[0], p[1]);
    }
    return GEOSGeom_createLinearRing_r(g, points);
}

static GEOSGeometry *polygon_to(ebb_room_cutter *cutter, const ebb_room_ring *ring, size_t n)
{
    GEOSContextHandle_t g = cutter->geos;
    GEOSGeometry **hole = EBB_NEW(cutter->arena, GEOSGeometry *, n);
    GEOSGeometry *outer = ring_to(cutter, &ring[0]);
    if (hole == NULL)
        (void)failed(cutter, ebb_room_no_memory);
    bool whole = hole != NULL && outer != NULL;
    for (size_t i = 1; i < n && whole; i++) {
        hole[i - 1] = ring_to(cutter, &ring[i]);
        whole = hole[i - 1] != NULL;
    }
    if (whole)
        return GEOSGeom_createPolygon_r(g, outer, hole, (unsigned)n - 1);
    for (size_t i = 1; hole != NULL && i < n; i++)
        GEOSGeom_destroy_r(g, hole[i - 1]);
    GEOSGeom_destroy_r(g, outer);
    return NULL;
}

/* A ring and the holes that follow it are one polygon. */
static GEOSGeometry *region_to(ebb_room_cutter *cutter, const ebb_room_region *region)
{
    GEOSContextHandle_t g = cutter->geos;
    GEOSGeometry **polygon = EBB_NEW(cutter->arena, GEOSGeometry *, region->n);
    unsigned n = 0;
    bool whole = polygon != NULL;
    if (!whole)
        (void)failed(cutter, ebb_room_no_memory);
    for (size_t i = 0; i < region->n && whole;) {
        size_t end = i + 1;
        while (end < region->n && region->ring[end].hole)
            end++;
        polygon[n] = polygon_to(cutter, &region->ring[i], end - i);
        whole = polygon[n] != NULL;
        n += whole;
        i = end;
    }
    if (whole)
        return GEOSGeom_createCollection_r(g, GEOS_MULTIPOLYGON, polygon, n);
    for (unsigned i = 0; i < n; i++)
        GEOSGeom_destroy_r(g, polygon[i]);
    return NULL;
}

/* ---- from GEOS ------------------------------------------------------------------------------- */

static bool ring_from(ebb_room_cutter *cutter, const GEOSGeometry *from, bool hole,
                      ebb_room_ring *ring)
{
    GEOSContextHandle_t g = cutter->geos;
    const GEOSCoordSequence *points = GEOSGeom_getCoordSeq_r(g, from);
    unsigned n = 0;
    if (points == NULL || !GEOSCoordSeq_getSize_r(g, points, &n) || n < 4)
        return false;
    *ring =
        (ebb_room_ring){n - 1, ebb_arena_alloc(cutter->arena, n - 1, sizeof *ring->point), hole};
    if (ring->point == NULL) {
        (void)failed(cutter, ebb_room_no_memory);
        return false;
    }
    for (unsigned i = 0; i + 1 < n; i++)
        GEOSCoordSeq_getXY_r(g, points, i, &ring->point[i][0], &ring->point[i][1]);
    return true;
}

static bool polygon_from(ebb_room_cutter *cutter, const GEOSGeometry *from, ebb_room_ring *ring,
                         size_t *n)
{
    GEOSContextHandle_t g = cutter->geos;
    const int holes = GEOSGetNumInteriorRings_r(g, from);
    if (!ring_from(cutter, GEOSGetExteriorRing_r(g, from), false, &ring[(*n)++]))
        return false;
    for (int i = 0; i < holes; i++)
        if (!ring_from(cutter, GEOSGetInteriorRingN_r(g, from, i), true, &ring[(*n)++]))
            return false;
    return true;
}

/* Polygons that only touch leave lines or points too, which are nothing to us. */
static bool is_piece(ebb_room_cutter *cutter, const GEOSGeometry *from)
{
    double area = 0;
    return GEOSGeomTypeId_r(cutter->geos, from) == GEOS_POLYGON &&
           GEOSArea_r(cutter->geos, from, &area) && area > CRUMB;
}

static ebb_room_region region_from(ebb_room_cutter *cutter, const GEOSGeometry *from)
{
    GEOSContextHandle_t g = cutter->geos;
    const int pieces = from != NULL ? GEOSGetNumGeometries_r(g, from) : 0;
    size_t most = 0, n = 0;
    for (int i = 0; i < pieces; i++) {
        const GEOSGeometry *piece = GEOSGetGeometryN_r(g, from, i);
        if (is_piece(cutter, piece))
            most += 1 + (size_t)GEOSGetNumInteriorRings_r(g, piece);
    }
    ebb_room_ring *ring = EBB_NEW(cutter->arena, ebb_room_ring, most);
    if (ring == NULL)
        return failed(cutter, ebb_room_no_memory);
    if (from == NULL)
        return failed(cutter, "the outlines could not be cut");
    for (int i = 0; i < pieces; i++) {
        const GEOSGeometry *piece = GEOSGetGeometryN_r(g, from, i);
        if (is_piece(cutter, piece) && !polygon_from(cutter, piece, ring, &n))
            return failed(cutter, "the cut outlines could not be read");
    }
    return (ebb_room_region){n, ring};
}

/* ---- cutting --------------------------------------------------------------------------------- */

ebb_room_region ebb_room_region_of(ebb_room_cutter *cutter, const ebb_room_outline *outline)
{
    ebb_room_ring *ring = EBB_NEW(cutter->arena, ebb_room_ring, 1);
    if (ring == NULL || outline == NULL)
        return failed(cutter, ebb_room_no_memory);
    *ring = (ebb_room_ring){outline->n, outline->corner, false};
    return (ebb_room_region){1, ring};
}

static ebb_room_region cut(ebb_room_cutter *cutter, const ebb_room_region *region,
                           const ebb_room_region *with, bool keep)
{
    GEOSContextHandle_t g = cutter->geos;
    GEOSGeometry *a = region_to(cutter, region), *b = region_to(cutter, with), *c = NULL;
    if (a != NULL && b != NULL)
        c = keep ? GEOSIntersectionPrec_r(g, a, b, GRID) : GEOSDifferencePrec_r(g, a, b, GRID);
    const ebb_room_region out = region_from(cutter, c);
    GEOSGeom_destroy_r(g, a);
    GEOSGeom_destroy_r(g, b);
    GEOSGeom_destroy_r(g, c);
    return out;
}

ebb_room_region ebb_room_region_without(ebb_room_cutter *cutter, const ebb_room_region *region,
                                        const ebb_room_region *with)
{
    return cut(cutter, region, with, false);
}

ebb_room_region ebb_room_region_within(ebb_room_cutter *cutter, const ebb_room_region *region,
                                       const ebb_room_region *with)
{
    return cut(cutter, region, with, true);
}

/* The half of the plane is a square beside the line where both planes are equal. */
ebb_room_region ebb_room_region_below(ebb_room_cutter *cutter, const ebb_room_region *region,
                                      const ebb_room_plane *plane, const ebb_room_plane *other)
{
    const double at = other->at - plane->at, x = other->x - plane->x, y = other->y - plane->y;
    const double slope = hypot(x, y);
    if (slope < 1e-9)
        return at >= 0 ? *region : (ebb_room_region){0, NULL};
    const double n[2] = {x / slope, y / slope}, d = -at / slope;
    if (fabs(d) > 0.5 * WIDE) /* no room reaches that far */
        return d < 0 ? *region : (ebb_room_region){0, NULL};
    double(*p)[2] = ebb_arena_alloc(cutter->arena, 4, sizeof *p);
    if (p == NULL)
        return failed(cutter, ebb_room_no_memory);
    for (int i = 0; i < 4; i++) {
        const double in = i < 2 ? d : d + WIDE, aside = i == 0 || i == 3 ? WIDE : -WIDE;
        p[i][0] = in * n[0] - aside * n[1];
        p[i][1] = in * n[1] + aside * n[0];
    }
    const ebb_room_outline half = {4, p};
    const ebb_room_region with = ebb_room_region_of(cutter, &half);
    return ebb_room_region_within(cutter, region, &with);
}

double ebb_room_region_area(const ebb_room_region *region)
{
    double area = 0;
    for (size_t i = 0; i < region->n; i++) {
        const ebb_room_outline o = {region->ring[i].n, region->ring[i].point};
        area += (region->ring[i].hole ? -0.5 : 0.5) * fabs(ebb_room_outline_turn(&o));
    }
    return area;
}
