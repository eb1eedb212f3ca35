/* SPDX-License-Identifier: GPL-3.0-or-later */
/* ebb/vec3.h - a point or direction in space. */
#ifndef EBB_VEC3_H
#define EBB_VEC3_H

typedef struct ebb_vec3 {
    double x, y, z;
} ebb_vec3;

#endif
