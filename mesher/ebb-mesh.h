/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the parts of ebb-mesh share: the solid as asked for, its mesh, the way out on a failure. */
#ifndef MESHER_EBB_MESH_H
#define MESHER_EBB_MESH_H

#include <ebb/solid.h>

#include "flat.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* Elements near a line or a facet have at most a size, and grow from there. */
typedef struct pull {
    ebb_vec3 at, along;     /* the line, from its one end to the other */
    double inverse;         /* 1 / length^2 */
    const ebb_facet *facet; /* instead of a line; NULL: none */
    ebb_mesh_flat flat;
    double size;
} pull;

/* What is asked for. */
typedef struct request {
    double edge; /* m */
    ebb_solid solid;
    size_t n_loops, n_links; /* loops of all facets, corners of all loops */
    size_t n_pulls;
    pull *pull;
} request;

/* A mesh; nodes are counted from 0. */
typedef struct tetrahedra {
    size_t n_nodes;
    ebb_vec3 *at;
    size_t n;
    size_t (*node)[4];
    size_t n_faces; /* on the facets */
    size_t (*face)[3];
    size_t *facet; /* that each of them lies on */
    double worst;  /* quality: 3 x inscribed over circumscribed radius */
} tetrahedra;

/* One line on standard error, then the end with status 1. Memory is the system's to clean up: this
 * program makes one mesh and ends. */
#if defined(__GNUC__)
__attribute__((format(printf, 1, 2)))
#endif
_Noreturn void
die(const char *format, ...);

/* Memory for n things of a size, zeroed; dies when there is none. */
void *need(size_t n, size_t size);

/* Reads a solid; dies with the number of the line that is wrong. */
void read_request(FILE *in, request *r);

/* Wanted length of an edge at a point. */
double size_at(const request *r, ebb_vec3 at);

/* Puts the solid into Gmsh, whose surface i + 1 is then facet i. */
void make_geometry(const request *r);

/* Dies with Gmsh's own words when a call has failed. */
void check(int error, const char *what);

/* Makes the mesh. */
void make_mesh(request *r, tetrahedra *mesh);

#endif
