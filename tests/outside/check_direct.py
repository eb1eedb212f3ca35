#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb field` against the direct finite-element solution of one treated room.

    check_direct.py EBB CASE.json STORED.json

STORED is the reference for all frequencies and modes of the case, made beforehand with
reference_fem.py on a finer mesh. Part of it is solved again here, so that a wrong table can not
pass, and both are compared with what the program says. With EBB_VALIDATION set, rows for
docs/validation.md are appended to that file. Exit status 77: numpy and scipy are missing.
"""
import json
import math
import os
import sys
import tempfile

import reference_fem as fem
import check_common as common
import numpy as np

SOURCE = "direct finite elements with scipy (tests/outside/reference_fem.py)"
TITLE = "treated room"
LIVE_HZ = [24.0, 46.0, 60.0, 78.0, 110.0, 142.0, 168.0, 196.0]
LIVE_ORDER = 6


# ---- the case as a job ---------------------------------------------------------------------------

def metres(value):
    return f"{value:.6g} m"


def assembly(wall, case):
    if "beta" in wall:
        return {"admittance": wall["beta"]}
    part = wall["lumped"]
    resistance = part["resistance"] * case["density"] * case["speed"]
    return {"layers": [{"lumped": {"mass": f"{part['mass']:.6g} kg/m2",
                                   "resonance": f"{part['resonance']:.6g} Hz",
                                   "resistance": f"{resistance:.10g} Pa.s/m"}}], "back": "rigid"}


# Surface of each face, and how its two coordinates (axis order) become (along, up): walls run
# counter-clockwise, so wall_3 and wall_4 count backwards.
SURFACES = {"x0": ("wall_4", True), "x1": ("wall_2", False), "y0": ("wall_1", False),
            "y1": ("wall_3", True), "z0": ("floor", False), "z1": ("ceiling", False)}
ORIGIN = (1.5, -2.0)  # of the room in the job's coordinates


def placed(patch, case):
    surface, backwards = SURFACES[patch["face"]]
    at = list(patch["at"])
    if backwards:
        along_axis = 1 if patch["face"][0] == "x" else 0
        at[0] = case["size"][along_axis] - at[0] - patch["size"][0]
    if patch["face"][0] == "z":
        at = [at[0] + ORIGIN[0], at[1] + ORIGIN[1]]
    turned = patch["size"][0] > patch["size"][1]
    return {"unit": patch["name"], "on": surface, "at": [metres(v) for v in at],
            "turned": turned}


def unit(patch, case):
    out = {"face": [metres(v) for v in sorted(patch["size"])], "depth": "0.2 m", "mass": "20 kg",
           "moves": "piston" if patch.get("piston") else "pointwise",
           "hangs": ["walls", "ceiling"]}
    out.update(assembly(patch, case))
    return out


def stations(points, prefix):
    return [{"name": f"{prefix}{i}",
             "at": [metres(p[0] + ORIGIN[0]), metres(p[1] + ORIGIN[1]), metres(p[2])]}
            for i, p in enumerate(points)]


def job(case):
    x, y = ORIGIN
    length, width, height = case["size"]
    plan = [(x, y), (x + length, y), (x + length, y + width), (x, y + width)]
    return {
        "job": "Direct check", "use": "music", "lowest": "20 Hz",
        "air": {"speed": f"{case['speed']:.8g} m/s", "density": f"{case['density']:.8g} kg/m3"},
        "constructions": {f"face {name}": assembly(wall, case)
                          for name, wall in case["faces"].items()},
        "absorbers": {p["name"]: unit(p, case) for p in case["patches"]},
        "rooms": [{
            "name": "Treated", "plan": [[metres(v) for v in corner] for corner in plan],
            "ceiling": metres(height),
            "surfaces": {SURFACES[name][0]: f"face {name}" for name in case["faces"]},
            "speakers": stations(case["sources"], "source "),
            "seats": stations(case["receivers"], "receiver "),
            "placed": [placed(p, case) for p in case["patches"]],
        }],
    }


def run_field(program, case):
    """The program's own answer; JSON is YAML, so the job is written as JSON."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "direct.yaml")
        with open(path, "w", encoding="utf-8") as file:
            json.dump(job(case), file, indent=1)
        return common.run_field(program, path, "Treated", case["hz"])


# ---- comparison ----------------------------------------------------------------------------------

def solve_again(tally, case, stored, want):
    """Part of the stored reference once more, on a coarser mesh."""
    room = fem.Room(case, LIVE_ORDER)
    live = common.table(fem.responses(room, LIVE_HZ))
    errors = common.level_errors(live, want, LIVE_HZ)
    tally.below(f"{TITLE}: reference solved again against the stored one, dB, largest", 0.05,
                float(errors.max()))
    pick = stored["modes"][::max(1, len(stored["modes"]) // 3)][:3]
    rough = [complex(2 * math.pi * round(m["hz"], 1), round(m["delta"])) for m in pick]
    again = fem.polished(room, rough, case["modes"])
    worst, lone = common.mode_errors(again, pick)
    tally.below(f"{TITLE}: modes solved again against the stored ones, relative", 1e-4,
                max(worst) if not lone else math.inf)
    return live


def main():
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    program, case_path, stored_path = sys.argv[1:]
    with open(case_path, encoding="utf-8") as file:
        case = json.load(file)
    with open(stored_path, encoding="utf-8") as file:
        stored = json.load(file)
    field = run_field(program, case)
    mine = common.table(field["response"], common.numbered)
    want = common.table(stored["response"])
    tally = common.Tally(SOURCE)
    live = solve_again(tally, case, stored, want)
    common.compare_levels(tally, TITLE, mine, want, [round(f, 6) for f in fem.case_hz(case)])
    tally.below(f"{TITLE}: response level at frequencies solved in the test, dB, 99th percentile",
                common.LEVEL_DB, float(np.percentile(common.level_errors(mine, live, LIVE_HZ), 99)))
    common.compare_modes(tally, TITLE, case["modes"], common.modes_of(field), stored["modes"])
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
