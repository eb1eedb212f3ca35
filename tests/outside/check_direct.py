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
import subprocess
import sys
import tempfile

import reference_fem as fem
import numpy as np

SOURCE = "direct finite elements with scipy (tests/outside/reference_fem.py)"
LIVE_HZ = [24.0, 46.0, 60.0, 78.0, 110.0, 142.0, 168.0, 196.0]
LIVE_ORDER = 6
LEVEL_DB, FREQUENCY, DECAY = 0.05, 5e-4, 0.01
# A unit's own local motion, not a room mode, below this share of acoustic energy; modes between
# the two are found by either side or not, depending on how each counts energy.
SHARE_SURE = 0.4
LN_60DB = 3 * math.log(10)


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
    grid = case["hz"]
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "direct.yaml")
        with open(path, "w", encoding="utf-8") as file:
            json.dump(job(case), file, indent=1)
        done = subprocess.run(
            [program, "field", path, "--room", "Treated", "--from", f"{grid['from']} Hz",
             "--to", f"{grid['to']} Hz", "--step", f"{grid['step']} Hz", "--json"],
            capture_output=True, text=True, check=False)
    if done.returncode != 0:
        sys.exit(f"ebb field failed with status {done.returncode}:\n{done.stderr}")
    return json.loads(done.stdout)


# ---- comparison ----------------------------------------------------------------------------------

def table(response, name_source, name_receiver):
    """{(source, receiver): {hz: p/Q}} with numbers for names."""
    out = {}
    for row in response:
        key = name_source(row["source"]), name_receiver(row["receiver"])
        out[key] = {round(f, 6): complex(a, b) for f, a, b in zip(row["hz"], row["re"], row["im"])}
    return out


def level_errors(got, want, hz):
    """Level differences in dB over all pairs and frequencies."""
    return np.array([abs(20 * math.log10(abs(got[pair][f]) / abs(want[pair][f])))
                     for pair in want for f in hz])


def mode_errors(got, want):
    """Largest relative errors of frequency and decay, and modes that have no partner."""
    worst, lone = [0.0, 0.0], []
    for mode in want:
        near = min(got, key=lambda m: abs(complex(m["hz"] - mode["hz"],
                                                  (m["delta"] - mode["delta"]) / 6)))
        errors = [abs(near["hz"] / mode["hz"] - 1), abs(near["delta"] / mode["delta"] - 1)]
        if errors[0] > 0.01 or errors[1] > 0.2:
            lone.append(f"{mode['hz']:.3f} Hz")
            continue
        worst = [max(a, b) for a, b in zip(worst, errors)]
    return worst, lone


class Tally:
    """Prints, records and remembers what failed."""

    def __init__(self):
        self.failed = 0

    def row(self, what, expected, got, good):
        print(f"{'ok  ' if good else 'FAIL'} {what}: expected {expected}, got {got}")
        self.failed += not good
        path = os.environ.get("EBB_VALIDATION")
        if path:
            with open(path, "a", encoding="utf-8") as file:
                file.write(f"{what}\t{SOURCE}\t{expected}\t{got}\n")

    def below(self, what, limit, got, unit=""):
        self.row(what, f"<= {limit:g}{unit}", f"{got:.2g}{unit}", got <= limit)

    def fact(self, what, expected, got):
        self.row(what, expected, got, expected == got)


def compare_modes(tally, case, mine, stored):
    span = case["modes"]
    sure = [m for m in stored if m["share"] >= SHARE_SURE]
    worst, lone = mode_errors(mine, sure)
    tally.fact(f"treated room: the {len(sure)} damped modes {span['from']}-{span['to']} Hz found",
               "all", "all" if not lone else "all but " + ", ".join(lone))
    tally.below("treated room: damped mode frequencies, relative", FREQUENCY, worst[0])
    tally.below("treated room: decay times of damped modes, relative", DECAY, worst[1])
    # The other way round, away from the edges of the window that was searched.
    inside = [m for m in mine if span["from"] + 1 < m["hz"] < span["to"] - 1
              and m["delta"] < 0.97 * span["delta"]]
    _, extra = mode_errors(stored, inside)
    tally.fact("treated room: damped modes the reference does not have", "none",
               ", ".join(extra) if extra else "none")


def solve_again(tally, case, stored, want):
    """Part of the stored reference once more, on a coarser mesh."""
    room = fem.Room(case, LIVE_ORDER)
    live = table(fem.responses(room, LIVE_HZ), int, int)
    errors = level_errors(live, want, LIVE_HZ)
    tally.below("treated room: reference solved again against the stored one, dB, largest", 0.05,
                float(errors.max()))
    pick = stored["modes"][::max(1, len(stored["modes"]) // 3)][:3]
    rough = [complex(2 * math.pi * round(m["hz"], 1), round(m["delta"])) for m in pick]
    again = fem.polished(room, rough, case["modes"])
    worst, lone = mode_errors(again, pick)
    tally.below("treated room: modes solved again against the stored ones, relative", 1e-4,
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
    mine = table(field["response"], lambda s: int(s.split()[1]), lambda s: int(s.split()[1]))
    want = table(stored["response"], int, int)
    tally = Tally()
    live = solve_again(tally, case, stored, want)
    errors = level_errors(mine, want, [round(f, 6) for f in fem.case_hz(case)])
    tally.below("treated room: response level 20-200 Hz, dB, 99th percentile", LEVEL_DB,
                float(np.percentile(errors, 99)))
    tally.below("treated room: response level at frequencies solved in the test, dB, 99th "
                "percentile", LEVEL_DB, float(np.percentile(level_errors(mine, live, LIVE_HZ), 99)))
    modes = [dict(m, delta=LN_60DB / m["t60_s"]) for m in field["modes"]]
    compare_modes(tally, case, modes, stored["modes"])
    rms = np.sqrt((errors ** 2).mean())
    print(f"largest level difference {errors.max():.3f} dB, rms {rms:.4f} dB")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
