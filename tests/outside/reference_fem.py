#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Direct finite-element solution of a treated rectangular room.

Test tool only; it needs numpy and scipy and shares no code with the library. High-order hexahedra
(integrated Legendre polynomials, exact integration) on a grid whose planes run through every patch
edge, so that a jump of admittance always falls on an element edge. Each frequency is one sparse
complex LU factorisation (scipy.sparse.linalg.splu); damped modes are the zeros of the full
frequency-dependent matrix, searched by contour integrals and polished by Newton's method.

    -lap p - k^2 p = j w rho Q delta,   dp/dn = -j k beta p,   time factor e^{+jwt}

    reference_fem.py CASE.json [--only HZ,HZ..] [--order P] [--longest H]
                     [--search | --modes HZ,DELTA ..] [--out FILE]
    reference_fem.py --check CASE.json

The result is JSON: `response` p/Q in Pa s/m3 per source and receiver, `modes` (Hz, 1/s, share of
acoustic energy). --search looks for all modes in the window of the case, --modes polishes given
ones. --check compares the solver with closed forms and shows how the case converges.
"""
import argparse
import cmath
import json
import math
import sys

try:
    import numpy as np
    import scipy.sparse as sp
    import scipy.sparse.linalg as spl
except ImportError:
    sys.stderr.write("reference_fem.py: numpy and scipy are needed\n")
    sys.exit(77)

AXES = "xyz"


# ---- one axis ------------------------------------------------------------------------------------

def shapes(order, t):
    """Integrated Legendre shape functions on [-1, 1] and their derivatives, rows by function."""
    t = np.atleast_1d(np.asarray(t, float))
    leg = [np.ones_like(t), t]
    for n in range(1, order + 1):
        leg.append(((2 * n + 1) * t * leg[n] - n * leg[n - 1]) / (n + 1))
    value = [(1 - t) / 2, (1 + t) / 2]
    slope = [-0.5 + 0 * t, 0.5 + 0 * t]
    for j in range(2, order + 1):
        value.append((leg[j] - leg[j - 2]) / math.sqrt(2 * (2 * j - 1)))
        slope.append(math.sqrt((2 * j - 1) / 2) * leg[j - 1])
    return np.array(value), np.array(slope)


class Axis:
    """Piecewise polynomials on one axis: planes, order per element, stiffness and mass."""

    def __init__(self, planes, order, longest, scale=1.0, least=4):
        """`scale`: metres per unit of this axis; `least`: lowest order of short elements."""
        self.planes, longest = [planes[0]], longest / scale
        for a, b in zip(planes, planes[1:]):
            parts = max(1, math.ceil((b - a) / longest - 1e-9))
            self.planes += [a + (b - a) * (i + 1) / parts for i in range(parts)]
        self.orders, self.ids, self.corner = [], [], [0]
        for a, b in zip(self.planes, self.planes[1:]):
            # Shorter elements need fewer terms for the same wavelength.
            p = max(least, min(order, math.ceil(2 + (order - 2) * (b - a) * scale - 1e-9)))
            o = self.corner[-1]
            self.orders.append(p)
            self.ids.append([o, o + p] + list(range(o + 1, o + p)))
            self.corner.append(o + p)
        self.n = self.corner[-1] + 1
        self.stiffness = self.integral(0, self.planes[-1], slopes=(1, 1))
        self.mass = self.integral(0, self.planes[-1])

    def elements(self, low, high):
        """Elements inside [low, high], which must end on planes."""
        pick = [e for e in range(len(self.orders))
                if self.planes[e] > low - 1e-9 and self.planes[e + 1] < high + 1e-9]
        length = sum(self.planes[e + 1] - self.planes[e] for e in pick)
        if abs(length - (high - low)) > 1e-9:
            raise ValueError("patch edge does not lie on a plane of the mesh")
        return pick

    def integral(self, low, high, slopes=(0, 0), weight=None):
        """Matrix of integrals of products of functions (or slopes: 1) over [low, high], with a
        weight that is a function of place."""
        rows, cols, vals = [], [], []
        for e in self.elements(low, high):
            h, p = self.planes[e + 1] - self.planes[e], self.orders[e]
            t, w = np.polynomial.legendre.leggauss(p + (1 if weight is None else 6))
            if weight is not None:
                w = w * weight(self.planes[e] + (t + 1) * h / 2)
            f = shapes(p, t)
            block = (f[slopes[0]] * w) @ f[slopes[1]].T * (h / 2) ** (1 - sum(slopes))
            block[np.abs(block) < 1e-13 * np.abs(block).max()] = 0
            i, j = np.nonzero(block)
            ids = np.array(self.ids[e])
            rows += list(ids[i])
            cols += list(ids[j])
            vals += list(block[i, j])
        return sp.csr_matrix((vals, (rows, cols)), shape=(self.n, self.n))

    def mean(self, low, high):
        """Integrals of the functions over [low, high]."""
        out = np.zeros(self.n)
        for e in self.elements(low, high):
            h, p = self.planes[e + 1] - self.planes[e], self.orders[e]
            t, w = np.polynomial.legendre.leggauss(p + 1)
            out[self.ids[e]] += shapes(p, t)[0] @ w * h / 2
        return out

    def at(self, x):
        """Values of the functions at x."""
        e = min(max(int(np.searchsorted(self.planes, x)) - 1, 0), len(self.orders) - 1)
        a, b = self.planes[e], self.planes[e + 1]
        out = np.zeros(self.n)
        out[self.ids[e]] = shapes(self.orders[e], 2 * (x - a) / (b - a) - 1)[0][:, 0]
        return out

    def end(self, side):
        return self.at(self.planes[-1 if side else 0])


# ---- admittance ----------------------------------------------------------------------------------

def admittance(wall, w, rho, c):
    """beta at complex w: a constant, or mass, spring and damper with r in units of rho c."""
    if "beta" in wall:
        value = wall["beta"]
        return complex(*value) if isinstance(value, list) else complex(value)
    part = wall["lumped"]
    w0 = 2 * math.pi * part["resonance"]
    z = part["resistance"] + 1j * (w - w0 * w0 / w) * part["mass"] / (rho * c)
    return 1 / z


# ---- the room ------------------------------------------------------------------------------------

def along_axes(axis):
    return [a for a in range(3) if a != axis]


def planes_of(case):
    planes = [[0.0, float(length)] for length in case["size"]]
    for patch in case["patches"]:
        for a, low, size in zip(along_axes(AXES.index(patch["face"][0])), patch["at"],
                                patch["size"]):
            planes[a] += [low, low + size]
    out = []
    for values in planes:
        values = sorted(values)
        out.append([v for i, v in enumerate(values) if i == 0 or v - values[i - 1] > 1e-9])
    return out


class Room:
    """The discretised room: A(w) = K - k^2 M + j k sum beta_i B_i, bordered by rigid fronts."""

    def __init__(self, case, order=None, longest=None):
        mesh = case.get("mesh", {})
        self.case, self.c, self.rho = case, case["speed"], case["density"]
        self.axes = [Axis(p, order or mesh.get("order", 7), longest or mesh.get("longest", 1.25))
                     for p in planes_of(case)]
        self.n = int(np.prod([a.n for a in self.axes]))
        self.walls, self.areas, self.fronts = [], [], []
        self.build_walls()
        mass = [a.mass for a in self.axes]
        stiffness = sum(kron([a.stiffness if i == d else mass[i] for i, a in
                               enumerate(self.axes)]) for d in range(3))
        self.assemble(stiffness, kron(mass))

    def face(self, name, rows):
        """Boundary matrix of a rectangle: {axis: (low, high)} on the face called name."""
        axis, side = AXES.index(name[0]), int(name[1])
        end = sp.csr_matrix(self.axes[axis].end(side))
        return kron([end.T @ end if a == axis else rows(a) for a in range(3)])

    def build_walls(self):
        own = {}
        for name, wall in self.case["faces"].items():
            own[name] = self.face(name, lambda a: self.axes[a].mass)
        for patch in self.case["patches"]:
            axis = AXES.index(patch["face"][0])
            span = {a: (low, low + size) for a, low, size in
                    zip(along_axes(axis), patch["at"], patch["size"])}
            area = self.face(patch["face"], lambda a: self.axes[a].integral(*span[a]))
            own[patch["face"]] = own[patch["face"]] - area
            if patch.get("piston"):
                end = self.axes[axis].end(int(patch["face"][1]))
                mean = kron([end if a == axis else self.axes[a].mean(*span[a])
                              for a in range(3)])
                self.fronts.append((patch, mean, float(np.prod(patch["size"]))))
            else:
                self.walls.append(patch)
                self.areas.append(area)
        for name, wall in self.case["faces"].items():
            self.walls.append(wall)
            self.areas.append(own[name])

    def assemble(self, stiffness, mass):
        """One sparsity pattern for all matrices, in an order that keeps the factors small."""
        border = len(self.fronts)
        self.perm = np.concatenate([self.dissect(), self.n + np.arange(border)]).astype(int)
        # Functions of the grid that live outside the room are not in perm.
        full, total = self.n + border, len(self.perm)
        parts = [sp.block_diag([m, sp.csr_matrix((border, border))]) if border else m
                 for m in [stiffness, mass] + self.areas]
        link = sp.lil_matrix((full, full))
        for i, (_, mean, _) in enumerate(self.fronts):
            link[:self.n, self.n + i] = mean.reshape(-1, 1)
            link[self.n + i, :self.n] = mean.reshape(1, -1)
        parts.append(link)
        for i in range(border):
            parts.append(sp.csr_matrix(([1.0], ([self.n + i], [self.n + i])),
                                       shape=(full, full)))
        parts = [sp.csc_matrix(p)[self.perm][:, self.perm] for p in parts]
        pattern = sum(abs(p) for p in parts).tocsc()
        pattern.sort_indices()
        key = np.repeat(np.arange(total), np.diff(pattern.indptr)) * total + pattern.indices
        self.data = np.zeros((len(parts), pattern.nnz))
        for row, part in zip(self.data, parts):
            part = part.tocoo()
            np.add.at(row, np.searchsorted(key, part.col.astype(np.int64) * total + part.row),
                      part.data)
        self.pattern, self.total = pattern, total
        self.mass = parts[1]

    def dissect(self):
        """Nested dissection along mesh planes: middle planes last."""
        index = np.arange(self.n).reshape([a.n for a in self.axes])

        def cut(box):
            best = None
            for d, (low, high) in enumerate(box):
                inner = [q for q in self.axes[d].corner if low < q < high - 1]
                if inner:
                    q = min(inner, key=lambda v: abs(2 * v - low - high + 1))
                    size = np.prod([h - l for e, (l, h) in enumerate(box) if e != d])
                    if best is None or size < best[0]:
                        best = (size, d, q)
            if best is None:
                return [index[tuple(slice(*b) for b in box)].ravel()]
            _, d, q = best
            low, high = box[d]
            piece = [box[:d] + [span] + box[d + 1:] for span in
                     ((low, q), (q + 1, high), (q, q + 1))]
            return (cut(piece[0]) + cut(piece[1]) +
                    [index[tuple(slice(*b) for b in piece[2])].ravel()])

        return np.concatenate(cut([(0, a.n) for a in self.axes]))

    def weights(self, w):
        """Factors of the matrices in self.data."""
        k = w / self.c
        weight = [1, -k * k]
        weight += [1j * k * admittance(a, w, self.rho, self.c) for a in self.walls]
        weight += [1]
        weight += [-area / (1j * k * admittance(front, w, self.rho, self.c))
                   for front, _, area in self.fronts]
        return np.array(weight)

    def matrix(self, w):
        out = self.pattern.astype(complex)
        out.data = self.weights(w) @ self.data
        return out

    def factor(self, w):
        return spl.splu(self.matrix(w), permc_spec="NATURAL", diag_pivot_thresh=0.0,
                        options={"SymmetricMode": True})

    def point(self, where):
        full = np.zeros(self.n + len(self.fronts))
        full[:self.n] = kron([a.at(x) for a, x in zip(self.axes, where)])
        return full[self.perm]

    def response(self, hz):
        """p/Q, [source, receiver], at one frequency."""
        w = 2 * math.pi * hz
        load = np.array([self.point(s) for s in self.case["sources"]]).T
        ear = np.array([self.point(r) for r in self.case["receivers"]])
        x = self.factor(w).solve(np.asfortranarray(load, dtype=complex))
        return (ear @ (1j * w * self.rho * x)).T

    # ---- damped modes ----

    def polish(self, w, steps=12, x=None):
        """Newton on A(w) x = 0 from an approximate w (and x); returns w, x, relative last step."""
        if x is None:
            rng = np.random.default_rng(1)
            x = self.factor(w).solve(rng.standard_normal(self.total) + 0j)
        step = 1.0
        for _ in range(steps):
            eps = 1e-4 * abs(w)
            slope = (self.matrix(w + eps) - self.matrix(w - eps)) / (2 * eps)
            u = self.factor(w).solve(np.asarray(slope @ x))
            j = int(np.argmax(np.abs(u)))
            move = x[j] / u[j]
            w, x, step = w - move, u / np.abs(u[j]), abs(move / w)
            if step < 1e-8:
                break
        return w, x, step

    def share(self, w, x):
        """Acoustic share of the energy: air against the moving masses of lumped walls."""
        p = x
        air = float(np.real(np.vdot(p, self.mass @ p))) / (self.rho * self.c ** 2)
        moving = 0.0
        for wall, row in zip(self.walls, self.data[2:]):
            if "lumped" in wall:
                out = self.pattern.astype(float)
                out.data = row
                speed = abs(admittance(wall, w, self.rho, self.c) / (self.rho * self.c)) ** 2
                moving += wall["lumped"]["mass"] * speed * float(np.real(np.vdot(p, out @ p)))
        full = np.zeros(self.n + len(self.fronts), complex)
        full[self.perm] = p
        for front, mean, area in self.fronts:
            push = mean @ full[:self.n] / area
            speed = abs(push * admittance(front, w, self.rho, self.c) / (self.rho * self.c)) ** 2
            moving += front["lumped"]["mass"] * speed * area
        return air / (air + moving)

    def search_window(self, low, high, delta, points=32, probes=16):
        """Candidates w for low..high Hz, decay up to delta (1/s), from contour integrals of
        A(w)^-1 V and w A(w)^-1 V around that stretch of the complex plane."""
        rng = np.random.default_rng(2)
        probe = np.asfortranarray(rng.standard_normal((self.total, probes)), dtype=complex)
        centre = complex(math.pi * (low + high), (delta - 6) / 2)
        half = complex(math.pi * (high - low), (delta + 6) / 2)
        zeroth = np.zeros((self.total, probes), complex)
        first = np.zeros_like(zeroth)
        for i in range(points):
            angle = 2 * math.pi * (i + 0.5) / points
            offset = complex(half.real * math.cos(angle), half.imag * math.sin(angle))
            tangent = complex(-half.real * math.sin(angle), half.imag * math.cos(angle))
            x = self.factor(centre + offset).solve(probe) * (tangent / (1j * points))
            zeroth += x
            first += x * offset
        u, s, vh = np.linalg.svd(zeroth, full_matrices=False)
        rank = int(np.sum(s > 1e-6 * s[0]))
        u, s, vh = u[:, :rank], s[:rank], vh[:rank]
        values = np.linalg.eigvals(u.conj().T @ first @ vh.conj().T / s)
        found = []
        for w in centre + values:
            inside = (abs(w.real - centre.real) / half.real, abs(w.imag - centre.imag) / half.imag)
            if math.hypot(*inside) < 1.1:
                found.append(complex(w))
        return found

    def search(self, low, high, delta, window=10.0):
        """All modes low..high Hz whose decay is below delta, from overlapping windows."""
        rough = []
        while low < high:
            sys.stderr.write(f"searching from {low:g} Hz\n")
            rough += self.search_window(low - 3, low + window + 3, delta)
            low += window
        return sorted(rough, key=lambda w: w.real)


def kron(parts):
    """Product over the axes of matrices or vectors."""
    out = parts[0]
    for part in parts[1:]:
        out = sp.kron(out, part, format="csr") if sp.issparse(out) else np.kron(out, part)
    return out


# ---- closed forms --------------------------------------------------------------------------------

def ends_equation(kx, k, length, beta):
    """Zero for the wave numbers between two admittance ends at 0 and length."""
    return ((kx * kx + k * k * beta[0] * beta[1]) * cmath.sin(kx * length)
            - 1j * k * kx * (beta[0] + beta[1]) * cmath.cos(kx * length))


def root(function, x):
    """Zero of an analytic function near x, by the secant method."""
    a, b = x, x * (1 + 1e-4) + 1e-6
    fa, fb = function(a), function(b)
    for _ in range(60):
        if fb == fa or abs(b - a) < 1e-15 * abs(b):
            break
        a, fa, b = b, fb, b - fb * (b - a) / (fb - fa)
        fb = function(b)
    return b


def check_rigid(case, mesh):
    """Largest relative error of the rigid-wall frequencies below 200 Hz."""
    bare = dict(case, patches=[], faces={f + s: {"beta": 0.0} for f in AXES for s in "01"})
    room = Room(bare, **mesh)
    stiffness = room.pattern.astype(float)
    stiffness.data = room.data[0]
    exact = sorted(room.c / 2 * math.sqrt(sum((n / s) ** 2 for n, s in zip(label, case["size"])))
                   for label in np.ndindex(8, 8, 8))
    exact = [f for f in exact if f < 200]
    values = spl.eigsh(stiffness, len(exact) + 2, room.mass, sigma=-1.0,
                       return_eigenvectors=False)
    got = np.sqrt(np.maximum(np.sort(values), 0)) * room.c / (2 * math.pi)
    return max(abs(g - e) / e for g, e in zip(got[1:len(exact)], exact[1:]))


def check_pair(case, mesh):
    """Error of complex eigenvalues with one pair of impedance walls: Hz and 1/s."""
    beta = [0.3 + 0.1j, 0.3 + 0.1j]
    faces = {f + s: {"beta": [0.3, 0.1] if f == "x" else 0.0} for f in AXES for s in "01"}
    room = Room(dict(case, patches=[], faces=faces), **mesh)
    worst = [0.0, 0.0]
    for label in ((1, 0, 0), (1, 1, 0), (2, 0, 1), (1, 2, 1)):
        kyz = sum((math.pi * n / s) ** 2 for n, s in zip(label[1:], case["size"][1:]))
        length = case["size"][0]

        def mismatch(w):
            k = w / room.c
            return ends_equation(cmath.sqrt(k * k - kyz), k, length, beta)

        start = room.c * math.sqrt(kyz + (math.pi * label[0] / length) ** 2)
        exact = root(mismatch, start * (0.97 + 0.05j))
        got, _, _ = room.polish(exact * 1.001)
        worst[0] = max(worst[0], abs(got.real - exact.real) / (2 * math.pi))
        worst[1] = max(worst[1], abs(got.imag - exact.imag))
    return worst


def separable(case, hz, source, receiver, terms=40):
    """Response of a room with one admittance per face: modes in y and z, exact along x."""
    rho, c = case["density"], case["speed"]
    w = 2 * math.pi * hz
    k = w / c
    beta = [[admittance(case["faces"][f + s], w, rho, c) for s in "01"] for f in AXES]
    profiles = []
    for axis in (1, 2):
        length, ends = case["size"][axis], beta[axis]
        rows = []
        for n in range(terms):
            # Between rigid ends q is known; next to 0 stands for 0, which would divide by zero.
            q = max(math.pi * n / length, 1e-6)
            if any(ends):
                guess = q if n else cmath.sqrt(1j * k * sum(ends) / length)
                q = root(lambda v, k=k: ends_equation(v, k, length, ends) / v, guess)
            b = 1j * k * ends[0] / q

            def shape(t, q=q, b=b):
                return cmath.cos(q * t) + b * cmath.sin(q * t)

            s2, c2 = cmath.sin(2 * q * length) / (4 * q), cmath.sin(q * length) ** 2 / q
            norm = length / 2 + s2 + b * b * (length / 2 - s2) + b * c2
            rows.append((q * q, shape(source[axis]) * shape(receiver[axis]) / norm))
        profiles.append(rows)
    length, total = case["size"][0], 0
    low, high = sorted((source[0], receiver[0]))
    for qy, fy in profiles[0]:
        for qz, fz in profiles[1]:
            kx = cmath.sqrt(k * k - qy - qz)
            b0, b1 = 1j * k * beta[0][0] / kx, 1j * k * beta[0][1] / kx
            u = cmath.cos(kx * low) + b0 * cmath.sin(kx * low)
            v = cmath.cos(kx * (length - high)) + b1 * cmath.sin(kx * (length - high))
            wronskian = kx * ((b0 + b1) * cmath.cos(kx * length)
                              + (b0 * b1 - 1) * cmath.sin(kx * length))
            total += fy * fz * u * v / wronskian
    return 1j * w * rho * total


def level_error(got, want):
    return 20 * np.abs(np.log10(np.abs(got) / np.abs(want)))


def check_separable(case, mesh):
    """Level error, dB, against the exact response of the case without its patches."""
    bare = dict(case, patches=[])
    room = Room(bare, **mesh)
    worst = 0.0
    for hz in (23.0, 61.0, 104.0, 197.0):
        want = np.array([[separable(bare, hz, s, r) for r in case["receivers"]]
                         for s in case["sources"]])
        worst = max(worst, float(level_error(room.response(hz), want).max()))
    return worst


def check(case, out):
    """Prints the self-check; returns False when a bound is broken."""
    mesh = {"order": case["mesh"]["order"], "longest": case["mesh"]["longest"]}
    rows = [("rigid-wall frequencies below 200 Hz, relative", check_rigid(case, mesh), 2e-6)]
    pair = check_pair(case, mesh)
    rows.append(("one pair of impedance walls, frequency in Hz", pair[0], 1e-5))
    rows.append(("one pair of impedance walls, decay rate in 1/s", pair[1], 1e-4))
    rows.append(("one admittance per face against the separable solution, dB",
                 check_separable(case, mesh), 0.01))
    hz = (36.0, 60.0, 91.0, 137.0, 188.0)
    last = None
    for order in range(mesh["order"] - 2, mesh["order"] + 1):
        room = Room(case, order, mesh["longest"])
        now = np.array([room.response(f) for f in hz])
        if last is not None:
            rows.append((f"treated case, order {order - 1} to {order}, dB",
                         float(level_error(last, now).max()), 0.1 if order <= 6 else 0.02))
        last = now
    good = True
    for what, got, limit in rows:
        good = good and got <= limit
        out.write(f"{what:62s} {got:9.2e}  limit {limit:.1e}{'' if got <= limit else '  FAILS'}\n")
    return good


# ---- command line --------------------------------------------------------------------------------

def case_hz(case):
    grid = case["hz"]
    count = int(round((grid["to"] - grid["from"]) / grid["step"])) + 1
    return [grid["from"] + i * grid["step"] for i in range(count)]


def responses(room, hz):
    shape = (-1, len(room.case["sources"]), len(room.case["receivers"]))
    table = np.array([room.response(f) for f in hz], complex).reshape(shape)
    return [{"source": s, "receiver": r, "hz": list(hz),
             "re": [float(f"{v:.9g}") for v in table[:, s, r].real],
             "im": [float(f"{v:.9g}") for v in table[:, s, r].imag]}
            for s in range(table.shape[1]) for r in range(table.shape[2])]


def polished(room, rough, window, steps=12):
    """Newton from each approximate value; equal results once, those outside the window dropped."""
    done = []
    for w in rough:
        w, x, step = room.polish(w, steps)
        hz, delta = w.real / (2 * math.pi), w.imag
        inside = window["from"] <= hz <= window["to"] and 0 < delta <= window["delta"]
        known = any(abs(m["hz"] - hz) < 1e-5 and abs(m["delta"] - delta) < 1e-4 for m in done)
        if step < 1e-7 and inside and not known:
            done.append({"hz": round(hz, 6), "delta": round(delta, 5),
                         "share": round(room.share(w, x), 4)})
    return sorted(done, key=lambda m: m["hz"])


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("case")
    parser.add_argument("--only", help="frequencies in Hz, comma-separated; default: the case's")
    parser.add_argument("--order", type=int, help="polynomial order")
    parser.add_argument("--longest", type=float, help="longest element, m")
    parser.add_argument("--search", action="store_true", help="look for all damped modes")
    parser.add_argument("--modes", nargs="+", metavar="HZ,DELTA", help="polish these modes")
    parser.add_argument("--check", action="store_true", help="self-check only")
    parser.add_argument("--out", help="write there instead of to standard output")
    args = parser.parse_args()
    with open(args.case, encoding="utf-8") as file:
        case = json.load(file)
    if args.check:
        return 0 if check(case, sys.stdout) else 1
    room = Room(case, args.order, args.longest)
    hz = [float(f) for f in args.only.split(",") if f] if args.only is not None else case_hz(case)
    rough = []
    if args.search:
        span = case["modes"]
        # Candidates come in numbers where a wall resonates: sort them out on a coarse mesh.
        coarse = Room(case, 5, args.longest)
        rough = coarse.search(span["from"], span["to"], span["delta"])
        sys.stderr.write(f"{len(rough)} candidates\n")
        rough = [complex(2 * math.pi * m["hz"], m["delta"])
                 for m in polished(coarse, rough, span, steps=6)]
        sys.stderr.write(f"{len(rough)} modes\n")
    for pair in args.modes or []:
        f, delta = pair.split(",")
        rough.append(complex(2 * math.pi * float(f), float(delta)))
    result = {
        "made_by": "reference_fem.py " + " ".join(sys.argv[1:]),
        "unknowns": room.n,
        "orders": [axis.orders for axis in room.axes],
        "modes": polished(room, rough, case["modes"]),
        "response": responses(room, hz),
    }
    text = json.dumps(result, separators=(",", ":")).replace('{"source"', '\n{"source"')
    text = text.replace('{"hz"', '\n{"hz"') + "\n"
    if args.out:
        with open(args.out, "w", encoding="utf-8") as file:
            file.write(text)
    else:
        sys.stdout.write(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
