/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * Usual panel materials. Real boards scatter by tens of per cent: a job that knows better gives
 * density, modulus and loss itself.
 *
 * Sources. Steel, aluminium, lead: a vibration tutorial citing a handbook (read). All others: near
 * the middle of the ranges in the usual tables (Bies and Hansen app. B and C; Cremer, Heckl and
 * Ungar; Hopkins app. A2; EN 12354-1 annex B), from memory. Gypsum board of 720 kg/m3 gives the
 * 9 kg/m2 of a 12.5 mm board. Poisson's ratios: common practice, no source.
 */
#include "material.h"

#include <string.h>

const ebb_room_material ebb_room_materials[] = {
    {"gypsum", 720, 2.5e9, 0.3, 0.02},       /* 650-900 kg/m3, 1.9-3 GPa, 0.006-0.03 */
    {"plywood", 620, 6e9, 0.3, 0.02},        /* 550-700, 5-10 along and 3-5 across, 0.01-0.03 */
    {"mdf", 750, 3.4e9, 0.3, 0.015},         /* 700-800, 2.8-4, 0.01-0.02 */
    {"chipboard", 680, 2.8e9, 0.3, 0.02},    /* 600-750, 2-3.5, 0.01-0.03 */
    {"osb", 620, 4.2e9, 0.3, 0.02},          /* 580-660, 3.5-5 along, 0.01-0.03 */
    {"hardboard", 975, 4.5e9, 0.3, 0.015},   /* 900-1050, 3-6, 0.005-0.03 */
    {"concrete", 2300, 30e9, 0.2, 0.01},     /* 2200-2400, 25-35, 0.005-0.02 */
    {"brick", 1800, 12e9, 0.2, 0.015},       /* 1600-2000, 8-16, 0.01-0.02 */
    {"glass", 2500, 66e9, 0.22, 0.0013},     /* 2500, 60-72, 0.0006-0.002 */
    {"steel", 7800, 210e9, 0.3, 0.0002},     /* 7800, 210, 0.00002-0.0003 */
    {"aluminium", 2700, 72e9, 0.33, 0.0001}, /* 2700, 72, up to 0.0001 in bending */
    {"lead", 11300, 17e9, 0.44, 0.02},       /* 11300, 17, 0.02 in bending */
    {"vinyl", 2000, 0.02e9, 0.45, 0.3},      /* mass-loaded: 1900-2200, 0.005-0.05, 0.1-0.5 */
};
const size_t ebb_room_n_materials = sizeof ebb_room_materials / sizeof ebb_room_materials[0];

const ebb_room_material *ebb_room_material_find(const char *name)
{
    for (size_t i = 0; i < ebb_room_n_materials; i++)
        if (strcmp(ebb_room_materials[i].name, name) == 0)
            return &ebb_room_materials[i];
    return NULL;
}
