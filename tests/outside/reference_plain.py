#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Cross-section by finite elements, line exact: rooms with one construction per surface.

Test tool only. Without patches the room of reference_shaped.py separates. Along the line stand the
functions cos(q t) + j k beta_0 / q sin(q t), where q solves the equation of two admittance ends;
each leaves a two-dimensional problem for the cross-section with k^2 - q^2 in place of k^2. The
constructions at the two ends of the line must be hard enough for the q to be told apart; those of
the sides may be anything.

    reference_plain.py CASE.json [--only HZ,HZ..] [--confirm STORED.json] [--terms N] [--order P]
                       [--longest H] [--grade D,D] [--out FILE]

The options are those of reference_shaped.py; --terms is the number of functions along the line.
"""
import argparse
import cmath
import json
import math
import sys

import reference_fem as fem
import reference_shaped as shaped
import numpy as np

TERMS = 28


class Slice(shaped.Shaped):
    """The two-dimensional problem that goes with the n-th function along the line."""

    def __init__(self, room, mesh, order=0):
        self.case = {"sources": room.sources, "receivers": room.receivers}
        self.room, self.c, self.rho, self.order = room, room.speed, room.density, order
        self.axes = shaped.axes_of(room, mesh)[:2]
        self.n = self.axes[0].n * self.axes[1].n
        self.section = shaped.Section(room, self.axes)
        stiffness, mass = self.section.boxes()
        self.used = mass.diagonal() > 0
        self.walls = [room.walls[name] for name in room.sides]
        self.areas = [self.section.side(side) for side in room.sides.values()]
        self.fronts = []
        self.assemble(stiffness, mass)

    def ends(self, w):
        return [fem.admittance(self.room.walls[name], w, self.rho, self.c)
                for name in self.room.ends]

    def along(self, w):
        """q of this order."""
        k, length, beta, n = w / self.c, self.room.length, self.ends(w), self.order
        if not any(beta):
            return complex(n * math.pi / length)
        start = n * math.pi / length if n else cmath.sqrt(1j * k * sum(beta) / length)
        q = fem.root(lambda v: fem.ends_equation(v, k, length, beta) / v, start)
        if abs(q * length / math.pi - n) > 0.5:
            raise ValueError(f"function {n} along the line not found at {w / 2 / math.pi:g} Hz")
        return q

    def shape(self, w, q):
        """The function along the line, over the root of the integral of its square."""
        length, b = self.room.length, self.ends(w)[0]
        if q == 0:
            return lambda t: 1 / math.sqrt(length)
        b = 1j * w / self.c * b / q
        s2, c2 = cmath.sin(2 * q * length) / (4 * q), cmath.sin(q * length) ** 2 / q
        norm = cmath.sqrt(length / 2 + s2 + b * b * (length / 2 - s2) + b * c2)
        return lambda t: (cmath.cos(q * t) + b * cmath.sin(q * t)) / norm

    def weights(self, w):
        out = super().weights(w)
        out[1] = self.along(w) ** 2 - (w / self.c) ** 2
        return out

    def term(self, hz):
        """Its part of p/Q, [source, receiver]."""
        w = 2 * math.pi * hz
        shape = self.shape(w, self.along(w))
        load = np.array([self.point(s[:2]) * shape(s[2]) for s in self.case["sources"]]).T
        ear = np.array([self.point(r[:2]) * shape(r[2]) for r in self.case["receivers"]])
        x = self.factor(w).solve(np.asfortranarray(load, dtype=complex))
        return (ear @ (1j * w * self.rho * x)).T


class Plain:
    """The sum over the line, with the interface of a room that fem.responses needs."""

    def __init__(self, room, mesh, terms=TERMS):
        self.slice, self.terms, self.case = Slice(room, mesh), terms, None
        self.case = self.slice.case

    def response(self, hz):
        total = 0
        for n in range(self.terms):
            self.slice.order = n
            total = total + self.slice.term(hz)
        return total


def all_modes(plain, span):
    """Damped modes order by order along the line."""
    part, done = plain.slice, []
    for n in range(plain.terms):
        part.order = n
        # The lowest mode of this order is not far below the rigid one of the line.
        if n * part.c / (2 * part.room.length) > span["to"] * 1.1:
            break
        basis = shaped.snapshots(part, shaped.solved_hz(span["from"], span["to"]))
        done += shaped.all_modes(shaped.Reduced(part, basis), span)[0]
    return sorted(done, key=lambda m: m["hz"])


def confirm(plain, case, path, how):
    """Adds `own_error` to the stored result at `path`: a few frequencies and all modes again."""
    with open(path, encoding="utf-8") as file:
        stored = json.load(file)
    again, shifts = all_modes(plain, case["modes"]), []
    for mode in stored["modes"]:
        near = min(again, key=lambda m, mode=mode: abs(complex(m["hz"] - mode["hz"],
                                                               m["delta"] - mode["delta"])))
        shifts.append((abs(near["hz"] / mode["hz"] - 1), abs(near["delta"] / mode["delta"] - 1)))
    worst = np.max(shifts, axis=0)
    hz, level = shaped.level_change(plain, stored)
    stored["own_error"] = {
        "against": how, "unknowns": plain.slice.total, "hz": hz,
        "level_db": float(f"{level:.2g}"),
        "modes": len(again), "frequency": float(f"{worst[0]:.2g}"),
        "decay": float(f"{worst[1]:.2g}")}
    shaped.write(stored, path)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("case")
    parser.add_argument("--only", help="frequencies in Hz, comma-separated; default: the case's")
    parser.add_argument("--confirm", metavar="STORED.json", help="confirm a stored result")
    parser.add_argument("--terms", type=int, default=TERMS, help="functions along the line")
    parser.add_argument("--order", type=int, help="polynomial order")
    parser.add_argument("--longest", type=float, help="longest element, m")
    parser.add_argument("--grade", help="distances of grid lines from re-entrant corners, m")
    parser.add_argument("--out", help="write there instead of to standard output")
    args = parser.parse_args()
    case, room = shaped.load_case(args.case)
    grade = None if args.grade is None else [float(d) for d in args.grade.split(",") if d]
    plain = Plain(room, shaped.mesh_of(case, args.order, args.longest, grade), args.terms)
    if args.confirm:
        confirm(plain, case, args.confirm, " ".join(sys.argv[1:]))
        return 0
    hz = [float(f) for f in args.only.split(",")] if args.only else fem.case_hz(case)
    shaped.write({"made_by": "reference_plain.py " + " ".join(sys.argv[1:]),
                  "unknowns": plain.slice.total,
                  "orders": [axis.orders for axis in plain.slice.axes],
                  "modes": [] if args.only else all_modes(plain, case["modes"]),
                  "response": fem.responses(plain, hz)}, args.out)
    return 0


if __name__ == "__main__":
    sys.exit(main())
