#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Direct finite-element solution of treated rooms that are no rectangle.

Test tool only, like reference_fem.py, whose axes, factorisation and Newton's method it uses. Rooms
are a cross-section times a line (see reference_job.py): the union of rectangles in a plan, or the
two halves of a gable, whose quadrilaterals are a rectangular grid drawn up to the roof. Grid lines
run through every patch edge and close in on re-entrant corners.

The band is solved directly every few hertz. Galerkin's method on these solutions gives what lies
between, which direct solutions in the middle of gaps confirm (`between_db`), and all damped modes,
which Newton's method on the full matrix polishes or, for every n-th, confirms (`modes_moved`).

    reference_shaped.py CASE.json [--only HZ,HZ..] [--confirm STORED.json] [--order P]
                        [--longest H] [--grade D,D] [--out FILE]

CASE.json names the job, the frequencies, the mesh and the window of the modes. With --only these
frequencies are solved directly and modes are left out. --confirm solves a few frequencies and
modes of a stored result once more, on a finer mesh, and writes into it what they differ by.
"""
import argparse
import json
import math
import os
import sys

import reference_fem as fem
import reference_job
import numpy as np

kron = fem.kron
# Largest difference of what lies between solved frequencies to direct solutions there, dB.
BETWEEN_DB = 0.002
# Frequencies at which a stored result is confirmed, as near as it has them.
CONFIRM_HZ = (41.0, 97.0, 163.0)


def load_case(path):
    """The case, and its room as reference_job reads it."""
    with open(path, encoding="utf-8") as file:
        case = json.load(file)
    return case, reference_job.read(os.path.join(os.path.dirname(path), case["job"]),
                                    case.get("room"))


# ---- grid ----------------------------------------------------------------------------------------

def distinct(values):
    values = sorted(values)
    return [v for i, v in enumerate(values) if i == 0 or v - values[i - 1] > 1e-6]


def grid_lines(room, grade):
    """Lines of u, v and of the line through corners, patch edges and around re-entrant corners."""
    lines = [[], [], [0.0, room.length]]
    for box in room.boxes:
        lines[0] += box[:2]
        lines[1] += box[2:4]
    for patch in room.patches:
        other = 1 - room.sides[patch["side"]].axis
        for axis, low, size in zip((other, 2), patch["low"], patch["size"]):
            lines[axis] += [low, low + size]
    ends = [(min(values), max(values)) for values in lines]
    for corner in room.corners:
        for axis in (0, 1):
            near = [corner[axis] + sign * d for d in grade for sign in (-1, 1)]
            lines[axis] += [v for v in near if ends[axis][0] < v < ends[axis][1]]
    return [distinct(values) for values in lines]


class Section:
    """Two-dimensional matrices of the cross-section."""

    def __init__(self, room, axes):
        self.room, self.u, self.v = room, axes[0], axes[1]

    def boxes(self):
        """Stiffness and mass. With height t = t0 + t1 u and z = v t, dp/dz = p_v / t and
        dp/dx = p_u - v t1 / t p_v; an element of area is t du dv."""
        stiffness, mass = 0, 0
        for u0, u1, v0, v1, t0, t1 in self.room.boxes:

            def tall(u, t0=t0, t1=t1):
                return t0 + t1 * u

            def stretch(v, t1=t1):
                return 1 + (v * t1) ** 2

            along = self.u.integral(u0, u1, weight=tall)
            up = self.v.integral(v0, v1)
            mass = mass + kron([along, up])
            stiffness = (stiffness + kron([self.u.integral(u0, u1, (1, 1), tall), up])
                         + kron([self.u.integral(u0, u1, weight=lambda u: 1 / tall(u)),
                                 self.v.integral(v0, v1, (1, 1), stretch)]))
            if t1:
                mixed = kron([self.u.integral(u0, u1, (1, 0)),
                              self.v.integral(v0, v1, (0, 1), weight=lambda v: v)])
                stiffness = stiffness - t1 * (mixed + mixed.T)
        return stiffness.tocsr(), mass.tocsr()

    def side(self, side, span=None):
        """Boundary matrix of a side or of a span of it."""
        low, high = span or side.span
        axes = [self.u, self.v]
        end = fem.sp.csr_matrix(axes[side.axis].at(side.at))
        own = axes[1 - side.axis].integral(low, high) * side.scale
        return kron([end.T @ end, own] if side.axis == 0 else [own, end.T @ end])

    def mean(self, side, span):
        """Integrals of the functions over a span of a side."""
        axes = [self.u, self.v]
        end, own = axes[side.axis].at(side.at), axes[1 - side.axis].mean(*span) * side.scale
        return kron([end, own] if side.axis == 0 else [own, end])


def axes_of(room, mesh):
    lines = grid_lines(room, mesh["grade"])
    # Metres per unit of v: the tallest place decides.
    tall = max(max(t0 + t1 * u0, t0 + t1 * u1) for u0, u1, _, _, t0, t1 in room.boxes)
    return [fem.Axis(values, mesh["order"], mesh["longest"], scale, mesh["least"])
            for values, scale in zip(lines, (1.0, tall, 1.0))]


def mesh_of(case, order=None, longest=None, grade=None):
    mesh = dict({"order": 7, "longest": 1.25, "grade": [], "least": 4}, **case["mesh"])
    for key, value in (("order", order), ("longest", longest), ("grade", grade)):
        if value is not None:
            mesh[key] = value
    return mesh


# ---- the room ------------------------------------------------------------------------------------

class Shaped(fem.Room):
    """A(w) as in reference_fem, of a cross-section times a line."""

    def __init__(self, room, mesh):
        self.case = {"sources": room.sources, "receivers": room.receivers}
        self.room, self.c, self.rho = room, room.speed, room.density
        self.axes = axes_of(room, mesh)
        self.n = int(np.prod([a.n for a in self.axes]))
        self.section, self.line = Section(room, self.axes), self.axes[2]
        stiffness, mass = self.section.boxes()
        self.used = kron([mass, self.line.mass]).diagonal() > 0
        self.walls, self.areas, self.fronts = [], [], []
        self.build_walls()
        self.assemble(kron([stiffness, self.line.mass]) + kron([mass, self.line.stiffness]),
                      kron([mass, self.line.mass]))

    def build_walls(self):
        room = self.room
        own = {name: kron([self.section.side(side), self.line.mass])
               for name, side in room.sides.items()}
        for i, name in enumerate(room.ends):
            end = fem.sp.csr_matrix(self.line.end(i))
            own[name] = kron([self.section.boxes()[1], end.T @ end])
        for patch in room.patches:
            side = room.sides[patch["side"]]
            spans = [(low, low + size) for low, size in zip(patch["low"], patch["size"])]
            area = kron([self.section.side(side, spans[0]), self.line.integral(*spans[1])])
            own[patch["side"]] = own[patch["side"]] - area
            if patch["piston"]:
                mean = kron([self.section.mean(side, spans[0]), self.line.mean(*spans[1])])
                self.fronts.append((patch, mean, patch["area"]))
            else:
                self.walls.append(patch)
                self.areas.append(area)
        for name, area in own.items():
            self.walls.append(room.walls[name])
            self.areas.append(area)

    def dissect(self):
        order = super().dissect()
        return order[self.used[order]]


# ---- all frequencies and damped modes ------------------------------------------------------------

class Reduced:
    """The matrices of a room on a basis of its own solutions."""

    def __init__(self, room, basis):
        self.room, self.basis, self.case = room, basis, room.case
        self.rho = room.rho
        self.load = basis.T @ np.array([room.point(p) for p in self.case["sources"]]).T
        self.ear = np.array([room.point(p) for p in self.case["receivers"]]) @ basis
        self.parts = []
        for row in room.data:
            part = room.pattern.astype(complex)
            part.data = row.astype(complex)
            self.parts.append(basis.T @ (part @ basis))
        self.parts = np.array(self.parts)

    def matrix(self, w):
        return np.tensordot(self.room.weights(w), self.parts, 1)

    def response(self, hz):
        w = 2 * math.pi * hz
        return (self.ear @ np.linalg.solve(self.matrix(w), 1j * w * self.rho * self.load)).T

    def search_window(self, low, high, delta, points=64):
        """Eigenvalues w in low..high Hz with decays up to delta, and their vectors: contour
        integrals of A^-1 and w A^-1 on the whole basis."""
        n = len(self.parts[0])
        centre = complex(math.pi * (low + high), delta / 2 - 1)
        half = complex(math.pi * (high - low), delta / 2 + 3)
        zeroth, first = np.zeros((n, n), complex), np.zeros((n, n), complex)
        for i in range(points):
            angle = 2 * math.pi * (i + 0.5) / points
            offset = complex(half.real * math.cos(angle), half.imag * math.sin(angle))
            tangent = complex(-half.real * math.sin(angle), half.imag * math.cos(angle))
            x = np.linalg.inv(self.matrix(centre + offset)) * (tangent / (1j * points))
            zeroth += x
            first += x * offset
        u, s, vh = np.linalg.svd(zeroth)
        rank = int(np.sum(s > 1e-7 * s[0]))
        u, s, vh = u[:, :rank], s[:rank], vh[:rank]
        values, vectors = np.linalg.eig(u.conj().T @ first @ vh.conj().T / s)
        found = []
        for w, vector in zip(centre + values, (u @ vectors).T):
            if abs(w.real - centre.real) < half.real and self.rest(w, vector) < 1e-5:
                found.append((complex(w), self.basis @ vector))
        return found

    def rest(self, w, vector):
        """What A(w) x leaves of A(w) |x|: small for an eigenvector."""
        matrix = self.matrix(w)
        return np.linalg.norm(matrix @ vector) / np.linalg.norm(matrix) / np.linalg.norm(vector)


def snapshots(room, hz, points=11, seed=5):
    """Orthonormal basis of the solutions for the room's own points and a few random ones."""
    rng = np.random.default_rng(seed)
    loads = [room.point(p) for p in room.case["sources"] + room.case["receivers"]]
    while len(loads) < points:
        loads.append(room.point(random_place(room.room, rng)))
    for _, mean, _ in room.fronts:
        loads.append(np.concatenate([mean, np.zeros(len(room.fronts))])[room.perm])
    loads = np.asfortranarray(np.array(loads).T, dtype=complex)
    out = []
    for f in hz:
        sys.stderr.write(f"solving at {f:g} Hz\n")
        x = room.factor(2 * math.pi * f).solve(loads)
        out.append(x / np.linalg.norm(x, axis=0))
    u, s, _ = np.linalg.svd(np.concatenate(out, axis=1), full_matrices=False)
    sys.stderr.write(f"basis of {np.sum(s > 1e-8 * s[0])}\n")
    return u[:, s > 1e-8 * s[0]]


def random_place(room, rng):
    u0, u1, v0, v1, _, _ = room.boxes[rng.integers(len(room.boxes))]
    return u0 + (u1 - u0) * rng.random(), v0 + (v1 - v0) * rng.random(), room.length * rng.random()


def solved_hz(low, high, step=6.0):
    """Frequencies that are solved directly."""
    count = int(math.ceil((high - low + 6) / step)) + 1
    return [low - 3 + i * step for i in range(count)]


def candidates(model, span, window=10.0):
    """Eigenvalues and vectors of the reduced model in the window, each once."""
    found, low = [], span["from"]
    while low < span["to"]:
        for w, x in model.search_window(low - 2, low + window + 2, span["delta"]):
            hz = w.real / (2 * math.pi)
            inside = low - 0.5 <= hz <= low + window + 0.5 and -1 < w.imag <= span["delta"] + 1
            if inside and all(abs(w - other) > 1e-2 for other, _ in found):
                found.append((w, x))
        low += window
    return sorted(found, key=lambda pair: pair[0].real)


def all_modes(model, span):
    """Every damped mode of the window, {hz, delta, share}, and how much Newton's method on the
    full matrix moved those it was tried on, relative to the largest allowed error of an answer
    (5e-4 of a frequency, 1 % of a decay)."""
    room, done, moved = model.room, [], [0.0]
    for i, (w, x) in enumerate(candidates(model, span)):
        if i % span.get("polish_every", 1) == 0:
            old = w
            w, x, step = room.polish(w, 4, x)
            if step > 1e-7 or abs(w - old) > 1e-3 * abs(w):
                sys.stderr.write(f"no mode at {old.real / 2 / math.pi:.3f} Hz, {old.imag:.3f}/s\n")
                continue
            moved.append(max(abs((w - old).real / w.real) / 5e-4,
                             abs((w - old).imag / w.imag) / 1e-2))
        hz, delta = w.real / (2 * math.pi), w.imag
        if span["from"] <= hz <= span["to"] and 0 < delta <= span["delta"]:
            done.append({"hz": round(hz, 6), "delta": round(delta, 5),
                         "share": round(room.share(w, x), 4)})
    return done, float(f"{max(moved):.2g}")


def between(model, solved):
    """Frequencies in the middle of gaps, and the largest difference to direct solutions there."""
    middle = [(a + b) / 2 for a, b in zip(solved, solved[1:])]
    middle = middle[1:-1:max(1, len(middle) // 4)] + middle[-2:-1]
    worst = max(float(fem.level_error(model.response(f), model.room.response(f)).max())
                for f in middle)
    if worst > BETWEEN_DB:
        raise SystemExit(f"the solved frequencies are too far apart: {worst:.2g} dB between them")
    return {"between_hz": middle, "between_db": float(f"{worst:.2g}")}


def whole(room, case):
    """Responses at the frequencies of the case, and its modes. A case marked direct is solved at
    every frequency; where modes are many the basis serves for the window of the modes alone."""
    hz, span, direct = fem.case_hz(case), case["modes"], case.get("direct")
    solved = solved_hz(span["from"], span["to"]) if direct else solved_hz(hz[0], hz[-1])
    model = Reduced(room, snapshots(room, solved))
    result = {"direct_hz": hz if direct else solved, **between(model, solved)}
    modes, moved = all_modes(model, span)
    result.update(modes_moved=moved, modes=modes,
                  response=fem.responses(room if direct else model, hz))
    return result


# ---- a stored result confirmed on a finer mesh ---------------------------------------------------

def stored_response(stored, hz):
    """p/Q, [source, receiver]."""
    rows = stored["response"]
    shape = (max(r["source"] for r in rows) + 1, max(r["receiver"] for r in rows) + 1)
    out = np.zeros(shape, complex)
    for row in rows:
        i = row["hz"].index(hz)
        out[row["source"], row["receiver"]] = complex(row["re"][i], row["im"][i])
    return out


def level_change(model, stored):
    """Frequencies, and the largest level difference there."""
    have = stored["response"][0]["hz"]
    hz = [min(have, key=lambda f, near=near: abs(f - near)) for near in CONFIRM_HZ]
    return hz, max(float(fem.level_error(stored_response(stored, f), model.response(f)).max())
               for f in hz)


def confirm(room, case, path, how):
    """Adds `own_error` to the stored result at `path`."""
    with open(path, encoding="utf-8") as file:
        stored = json.load(file)
    pick = [m for m in stored["modes"] if m["share"] > 0.4]
    pick = pick[::max(1, len(pick) // 3)][:3]
    shifts = []
    for mode in pick:
        w, _, _ = room.polish(complex(2 * math.pi * mode["hz"], mode["delta"]), 4)
        shifts.append((abs(w.real / (2 * math.pi) / mode["hz"] - 1),
                       abs(w.imag / mode["delta"] - 1)))
    worst = np.max(shifts, axis=0)
    hz, level = level_change(room, stored)
    stored["own_error"] = {
        "against": how, "unknowns": room.total, "hz": hz, "level_db": float(f"{level:.2g}"),
        "modes_hz": [m["hz"] for m in pick], "frequency": float(f"{worst[0]:.2g}"),
        "decay": float(f"{worst[1]:.2g}")}
    write(stored, path)


# ---- command line --------------------------------------------------------------------------------

def write(result, path):
    big = ("modes", "response")
    result = {k: result[k] for k in sorted(result, key=lambda k: (k in big, k == "response"))}
    text = json.dumps(result, separators=(",", ":"))
    for key in ('{"source"', '{"hz"'):
        text = text.replace(key, "\n" + key)
    with open(path, "w", encoding="utf-8") if path else sys.stdout as file:
        file.write(text + "\n")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("case")
    parser.add_argument("--only", help="frequencies in Hz, comma-separated; default: the case's")
    parser.add_argument("--confirm", metavar="STORED.json", help="confirm a stored result")
    parser.add_argument("--order", type=int, help="polynomial order")
    parser.add_argument("--longest", type=float, help="longest element, m")
    parser.add_argument("--grade", help="distances of grid lines from re-entrant corners, m")
    parser.add_argument("--out", help="write there instead of to standard output")
    args = parser.parse_args()
    case, room = load_case(args.case)
    grade = None if args.grade is None else [float(d) for d in args.grade.split(",") if d]
    model = Shaped(room, mesh_of(case, args.order, args.longest, grade))
    sys.stderr.write(f"{model.total} unknowns\n")
    if args.confirm:
        confirm(model, case, args.confirm, " ".join(sys.argv[1:]))
        return 0
    result = {"made_by": "reference_shaped.py " + " ".join(sys.argv[1:]), "unknowns": model.total,
              "orders": [axis.orders for axis in model.axes]}
    if args.only:
        result["response"] = fem.responses(model, [float(f) for f in args.only.split(",")])
    else:
        result.update(whole(model, case))
    write(result, args.out)
    return 0


if __name__ == "__main__":
    sys.exit(main())
