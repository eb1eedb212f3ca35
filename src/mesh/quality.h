/* SPDX-License-Identifier: GPL-3.0-or-later */
/* Also compiled into ebb-mesh, so that mesher and check mean the same. */
#ifndef EBB_MESH_QUALITY_H
#define EBB_MESH_QUALITY_H

#include <ebb/vec3.h>

/* 3 x inscribed over circumscribed radius of a tetrahedron: 1 when regular, 0 when flat. */
double ebb_mesh_quality(ebb_vec3 a, ebb_vec3 b, ebb_vec3 c, ebb_vec3 d);

#endif
