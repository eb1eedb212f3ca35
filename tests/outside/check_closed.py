#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb field` against closed forms, in rooms of any shape.

    check_closed.py EBB

A tube with an impedance at one end: its damped modes along the tube are closed forms, its response
a sum over the rigid cross-section. It stands straight, where the program needs no mesh, and turned,
where it does. A room whose plan is a regular polygon of the area of a circle: its rigid modes tend
to those of the cylinder. With EBB_VALIDATION set, rows for docs/validation.md are appended to that
file. Exit status 77: numpy and scipy are missing.
"""
import json
import math
import os
import sys
import tempfile

import reference_fem as fem
import check_common as common
import numpy as np
from scipy.special import jnp_zeros

SPEED, DENSITY = 343.2, 1.204
TUBE = [3.4, 1.0, 1.1]
END_BETA = 0.3
RESONATOR = {"mass": 5.0, "resonance": 60.0, "resistance": 1.0}
SOURCES = [[0.4, 0.3, 0.4], [1.1, 0.7, 0.8]]
RECEIVERS = [[2.3, 0.4, 0.7], [2.9, 0.8, 0.3], [3.2, 0.2, 0.9]]
BAND = {"from": 20, "to": 200, "step": 1}
RADIUS, HEIGHT = 2.0, 2.45
# (name, origin, cosine and sine of the turn): 3-4-5 keeps the coordinates short.
STANDS = [("straight", (0.0, 0.0), (1.0, 0.0)), ("turned", (2.0, -1.0), (0.8, 0.6))]


def metres(values):
    return [f"{v:.9g} m" for v in values]


def job(room, constructions):
    return {"job": "Closed form", "use": "music", "lowest": "20 Hz",
            "air": {"speed": f"{SPEED} m/s", "density": f"{DENSITY} kg/m3"},
            "constructions": constructions, "rooms": [dict(room, name="Room")]}


def stations(points, prefix):
    return [{"name": f"{prefix} {i}", "at": metres(p)} for i, p in enumerate(points)]


def run(program, content, band):
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "closed.yaml")
        with open(path, "w", encoding="utf-8") as file:
            json.dump(content, file, indent=1)
        return common.run_field(program, path, "Room", band)


# ---- tube ----------------------------------------------------------------------------------------

def tube(origin, turn, end):
    """The tube as a job; the plan's first corner is at `origin`, wall_2 is the end."""
    cos, sin = turn

    def place(p):
        return [origin[0] + cos * p[0] - sin * p[1], origin[1] + sin * p[0] + cos * p[1], *p[2:]]

    length, width, height = TUBE
    plan = [(0, 0), (length, 0), (length, width), (0, width)]
    return job({"plan": [metres(place(p)) for p in plan], "ceiling": f"{height} m",
                "surfaces": {"all": "rigid", "wall_2": "end"},
                "speakers": stations(map(place, SOURCES), "source"),
                "seats": stations(map(place, RECEIVERS), "receiver")},
               {"rigid": {"admittance": 0}, "end": end})


def tube_case(end):
    faces = {axis + side: {"beta": 0.0} for axis in "xyz" for side in "01"}
    faces["x1"] = end
    return {"size": TUBE, "speed": SPEED, "density": DENSITY, "faces": faces}


def check_tube_modes(tally, program, name, stand):
    """tan(k L) = j / beta: f = n c / 2L, decay c artanh(beta) / L, whatever n."""
    band = {"from": 20, "to": 160, "step": 10}
    field = run(program, tube(*stand, {"admittance": END_BETA}), band)
    delta = SPEED * math.atanh(END_BETA) / TUBE[0]
    want = [{"hz": n * SPEED / (2 * TUBE[0]), "delta": delta} for n in (1, 2, 3)]
    worst, lone = common.mode_errors(common.modes_of(field), want)
    tally.fact(f"{name} tube: modes along it found", "all", "all but" if lone else "all")
    tally.below(f"{name} tube: their frequencies, relative", common.FREQUENCY, worst[0])
    tally.below(f"{name} tube: their decay times, relative", common.DECAY, worst[1])


def check_tube_response(tally, program, name, stand):
    resistance = RESONATOR["resistance"] * SPEED * DENSITY
    layer = {"mass": f"{RESONATOR['mass']} kg/m2", "resonance": f"{RESONATOR['resonance']} Hz",
             "resistance": f"{resistance:.10g} Pa.s/m"}
    field = run(program, tube(*stand, {"layers": [{"lumped": layer}], "back": "rigid"}), BAND)
    case, hz = tube_case({"lumped": RESONATOR}), fem.case_hz({"hz": BAND})
    want = {(s, r): {f: fem.separable(case, f, a, b, terms=14) for f in hz}
            for s, a in enumerate(SOURCES) for r, b in enumerate(RECEIVERS)}
    common.compare_levels(tally, f"{name} tube",
                          common.table(field["response"], common.numbered), want, hz)


# ---- cylinder ------------------------------------------------------------------------------------

def cylinder_hz(highest):
    """Rigid modes of a cylinder: zeros of the derivative of J_m, cosines along its height."""
    out = []
    for m in range(12):
        zeros = list(jnp_zeros(m, 8)) if m else [0.0, *jnp_zeros(0, 8)]
        for zero in zeros:
            for n in range(8):
                f = SPEED / (2 * math.pi) * math.hypot(zero / RADIUS, math.pi * n / HEIGHT)
                if 0 < f < highest:
                    out += [f] * (2 if m else 1)
    return sorted(out)


def polygon_error(program, corners, highest):
    """Largest relative difference of the rigid modes of a polygon room below `highest`."""
    # The area of the circle: the first-order change of the frequencies then vanishes for all
    # but the modes that have as many nodes around as there are corners.
    outer = RADIUS * math.sqrt(2 * math.pi / corners / math.sin(2 * math.pi / corners))
    plan = [[outer * math.cos(2 * math.pi * i / corners + 0.1),
             outer * math.sin(2 * math.pi * i / corners + 0.1)] for i in range(corners)]
    content = job({"plan": [metres(p) for p in plan], "ceiling": f"{HEIGHT} m",
                   "surfaces": {"all": "hard"},
                   "speakers": stations([[0.5, 0.2, 1.0]], "source"),
                   "seats": stations([[-0.7, 0.6, 1.2]], "receiver")},
                  {"hard": {"admittance": 0.02}})
    field = run(program, content, {"from": 20, "to": 200, "step": 60})
    want = cylinder_hz(highest)
    got = [f for f in field["rigid_modes_hz"] if f > 1.0][:len(want)]
    if len(got) < len(want):
        return math.inf
    return float(np.max(np.abs(np.array(got) / np.array(want) - 1)))


def check_cylinder(tally, program):
    source = ("zeros of J_m' by scipy.special; 1.84118, 3.05424, 3.83171 in Abramowitz and Stegun "
              "table 9.5, from memory")
    tally.source = source
    first = float(jnp_zeros(1, 1)[0])
    assert abs(first - 1.84118) < 1e-5
    for corners in (12, 36):
        # The plan leaves the circle by this share of its radius. To first order that cancels; to
        # second order the field is as steep along the edge as there are corners (our estimate).
        off = (math.pi / corners) ** 2 / 3
        tally.below(f"rigid modes of a room with {corners} sides against a cylinder, relative",
                    float(f"{off ** 2 * corners:.2g}"), polygon_error(program, corners, 190.0))


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    tally = common.Tally("closed form: tan(kL) = j / beta; modes across, exact along")
    for name, *stand in STANDS:
        check_tube_modes(tally, sys.argv[1], name, stand)
        check_tube_response(tally, sys.argv[1], name, stand)
    check_cylinder(tally, sys.argv[1])
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
