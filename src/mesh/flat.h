/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Facets as parts of planes. Also compiled into ebb-mesh. */
#ifndef EBB_MESH_FLAT_H
#define EBB_MESH_FLAT_H

#include <ebb/solid.h>

/* The plane of a facet. */
typedef struct ebb_mesh_flat {
    ebb_vec3 normal; /* unit vector into the room */
    double offset;   /* of the plane along it */
    int drop;        /* axis along which the facet is looked at: its shadow is largest */
} ebb_mesh_flat;

/* Normal of a facet into the room, its length twice the area. */
ebb_vec3 ebb_mesh_facet_normal(const ebb_solid *solid, const ebb_facet *facet);

ebb_mesh_flat ebb_mesh_flat_of(const ebb_solid *solid, const ebb_facet *facet);

/* Distance of a point from the plane, positive on the side of the room. */
double ebb_mesh_off(const ebb_mesh_flat *flat, ebb_vec3 at);

/* Is the foot of a point within the facet? Which way a point on the outline goes is left open. */
bool ebb_mesh_facet_holds(const ebb_solid *solid, const ebb_facet *facet, const ebb_mesh_flat *flat,
                          ebb_vec3 at);

#endif
