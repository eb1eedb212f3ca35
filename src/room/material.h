/* SPDX-License-Identifier: GPL-3.0-or-later */
/* material.h - usual panel materials by name. */
#ifndef EBB_ROOM_MATERIAL_H
#define EBB_ROOM_MATERIAL_H

#include <stddef.h>

typedef struct ebb_room_material {
    const char *name;
    double density; /* kg/m3 */
    double modulus; /* Pa */
    double poisson;
    double loss; /* internal loss factor */
} ebb_room_material;

extern const ebb_room_material ebb_room_materials[];
extern const size_t ebb_room_n_materials;

/* The material of a name, or NULL. */
const ebb_room_material *ebb_room_material_find(const char *name);

#endif
