/* SPDX-License-Identifier: GPL-3.0-or-later */
/*
 * sizes.h - the rooms of the sweep over size, as job texts: invented, all alike but for volume,
 * walls and cover. Used by the sweep and by the check of its trend.
 */
#ifndef SIZES_H
#define SIZES_H

#include <math.h>
#include <stdio.h>

/* Proportions 1.9 : 1.4 : 1 (Louden 1971) up to a height of 3.2 m, then wider only. */
static inline void sizes_dimensions(double volume, double size[3])
{
    size[2] = fmin(cbrt(volume / (1.9 * 1.4)) * 1.15, 3.2);
    double plan = volume / size[2];
    size[0] = sqrt(plan * 1.9 / 1.4);
    size[1] = plan / size[0];
}

/* One room; units as in the example: heavy fronts at four frequencies and porous panels. */
static inline int sizes_job(char *text, size_t size, double volume, const char *wall, double cover)
{
    double d[3];
    sizes_dimensions(volume, d);
    return snprintf(
        text, size,
        "job: sweep\nuse: music\nlowest: 40 Hz\nallowance: {cover: %.0f %%}\nabsorbers:\n"
        "  f40: {face: [0.6 m, 1.2 m], depth: 350 mm, mass: 48 kg, layers: [{lumped: {mass: 5.6 "
        "kg/m2, resonance: 40 Hz, resistance: 413 Pa.s/m}}]}\n"
        "  f50: {face: [0.6 m, 1.2 m], depth: 320 mm, mass: 43 kg, layers: [{lumped: {mass: 3.8 "
        "kg/m2, resonance: 50 Hz, resistance: 413 Pa.s/m}}]}\n"
        "  f63: {face: [0.6 m, 1.2 m], depth: 280 mm, mass: 38 kg, layers: [{lumped: {mass: 3.6 "
        "kg/m2, resonance: 63 Hz, resistance: 413 Pa.s/m}}]}\n"
        "  f80: {face: [0.6 m, 1.2 m], depth: 250 mm, mass: 34 kg, layers: [{lumped: {mass: 3.2 "
        "kg/m2, resonance: 80 Hz, resistance: 413 Pa.s/m}}]}\n"
        "  wool: {face: [0.6 m, 1.2 m], depth: 150 mm, mass: 11 kg, hangs: [walls, ceiling], "
        "layers: [{porous: 145 mm, resistivity: 10 kPa.s/m2, density: 45 kg/m3}]}\n"
        "rooms:\n  - name: room\n    size: [%.3f m, %.3f m, %.3f m]\n"
        "    surfaces: {walls: %s, floor: timber-floor, ceiling: plaster-ceiling}\n"
        "    seats: [{name: seat, at: [%.3f m, %.3f m, 1.2 m], zone: %.2f m}]\n"
        "    speakers:\n      - {name: left, at: [%.3f m, %.3f m, 1.2 m]}\n"
        "      - {name: right, at: [%.3f m, %.3f m, 1.2 m]}\n",
        100 * cover, d[0], d[1], d[2], wall, 0.6 * d[0], 0.5 * d[1], fmin(0.15 * d[1], 0.6),
        0.18 * d[0], 0.72 * d[1], 0.18 * d[0], 0.28 * d[1]);
}

#endif
