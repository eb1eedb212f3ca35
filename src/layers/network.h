/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Boxes: their geometry, and the network of a cell.
 */
#ifndef EBB_LAYERS_NETWORK_H
#define EBB_LAYERS_NETWORK_H

#include "chain.h"

#include <ebb/cabinet.h>

/* Kinds of wall around a cell: boards of one size, cut by braces. */
enum { EBB_WALL_BACK, EBB_WALL_SIDE, EBB_WALL_LONG, EBB_WALLS };

/* Sides of one board of that kind, m, and how many of them the cell has. */
size_t ebb_layers_wall(const ebb_cabinet *cabinet, size_t cell, int kind, double side[2]);

/* Width and height of a cell inside the walls, m. */
void ebb_layers_shaft(const ebb_cabinet *cabinet, size_t cell, double side[2]);

/* The plate of a kind of wall, NULL when it does not give way. */
const ebb_plate *ebb_layers_wall_plate(const ebb_cabinet *cabinet, size_t cell, int kind);

/* Has everything that bends its plate? */
bool ebb_layers_prepared(const ebb_cabinet *cabinet);

/* Mass per area of a front, kg/m2. */
double ebb_layers_front_mass(const ebb_front *front);

/* Depth that layers take, m. */
double ebb_layers_depth(size_t n, const ebb_layer *layers);

/* Impedance of a plate, Pa s/m; a large number where the plate does not move at all. */
double _Complex ebb_layers_plate(const ebb_plate *plate, double stiffness, double _Complex omega);

/* Volume velocity into a cell for 1 Pa at the face, m3/(s Pa); *motion may be NULL. */
double _Complex ebb_layers_cell(const ebb_cabinet *cabinet, size_t cell, const ebb_air *air,
                                const ebb_variation *vary, double _Complex omega,
                                ebb_motion *motion);

#endif
