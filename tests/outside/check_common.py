# SPDX-License-Identifier: GPL-3.0-or-later
"""What the checks of `ebb field` share: running it, comparing, telling and recording results."""
import json
import math
import os
import subprocess
import sys

import numpy as np

LEVEL_DB, FREQUENCY, DECAY = 0.05, 5e-4, 0.01
# A unit's own local motion, not a room mode, below this share of acoustic energy; modes between
# the two are found by either side or not, depending on how each counts energy.
SHARE_SURE = 0.4
LN_60DB = 3 * math.log(10)


def run_field(program, path, room, grid):
    """What the program says: its JSON."""
    done = subprocess.run(
        [program, "field", path, "--room", room, "--from", f"{grid['from']} Hz",
         "--to", f"{grid['to']} Hz", "--step", f"{grid['step']} Hz", "--json"],
        capture_output=True, text=True, check=False)
    if done.returncode != 0:
        sys.exit(f"ebb field failed with status {done.returncode}:\n{done.stderr}")
    return json.loads(done.stdout)


def numbered(name):
    """Speakers and seats of these jobs are called by a word and a number."""
    return int(name.split()[1])


def table(response, name=int):
    """{(source, receiver): {hz: p/Q}} with numbers for names."""
    out = {}
    for row in response:
        key = name(row["source"]), name(row["receiver"])
        out[key] = {round(f, 6): complex(a, b) for f, a, b in zip(row["hz"], row["re"], row["im"])}
    return out


def level_errors(got, want, hz):
    """Level differences in dB over all pairs and frequencies."""
    return np.array([abs(20 * math.log10(abs(got[pair][f]) / abs(want[pair][f])))
                     for pair in want for f in hz])


def modes_of(field):
    """The program's damped modes with decay rates in 1/s."""
    return [dict(m, delta=LN_60DB / m["t60_s"]) for m in field["modes"]]


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
    """Prints, records and remembers what failed. With EBB_VALIDATION set, rows for
    docs/validation.md are appended to that file."""

    def __init__(self, source):
        self.source, self.failed = source, 0

    def row(self, what, expected, got, good):
        print(f"{'ok  ' if good else 'FAIL'} {what}: expected {expected}, got {got}")
        self.failed += not good
        path = os.environ.get("EBB_VALIDATION")
        if path:
            with open(path, "a", encoding="utf-8") as file:
                file.write(f"{what}\t{self.source}\t{expected}\t{got}\n")

    def below(self, what, limit, got, unit=""):
        self.row(what, f"<= {limit:g}{unit}", f"{got:.2g}{unit}", got <= limit)

    def fact(self, what, expected, got):
        self.row(what, expected, got, expected == got)


def compare_levels(tally, title, mine, want, hz):
    errors = level_errors(mine, want, hz)
    tally.below(f"{title}: response level {hz[0]:g}-{hz[-1]:g} Hz, dB, 99th percentile", LEVEL_DB,
                float(np.percentile(errors, 99)))
    rms = np.sqrt((errors ** 2).mean())
    print(f"{title}: largest level difference {errors.max():.3f} dB, rms {rms:.4f} dB")
    # Where it comes from, for whoever has to find out.
    errors, hz = errors.reshape(len(want), len(hz)), np.array(hz)
    bands = ((20, 50), (50, 100), (100, 150), (150, 201))
    told = [f"{low}-{high} Hz {np.percentile(errors[:, (hz >= low) & (hz < high)], 99):.3f}"
            for low, high in bands if ((hz >= low) & (hz < high)).any()]
    told += [f"pair {pair} {np.percentile(row, 99):.3f}" for pair, row in zip(want, errors)]
    print("  99th percentiles, dB: " + "; ".join(told))


def compare_modes(tally, title, span, mine, stored):
    """Both ways: every mode of the reference is found well enough, and none is invented."""
    sure = [m for m in stored if m["share"] >= SHARE_SURE]
    worst, lone = mode_errors(mine, sure)
    tally.fact(f"{title}: the {len(sure)} damped modes {span['from']}-{span['to']} Hz found",
               "all", "all" if not lone else "all but " + ", ".join(lone))
    tally.below(f"{title}: damped mode frequencies, relative", FREQUENCY, worst[0])
    tally.below(f"{title}: decay times of damped modes, relative", DECAY, worst[1])
    # Away from the edges of the window that was searched.
    inside = [m for m in mine if span["from"] + 1 < m["hz"] < span["to"] - 1
              and m["delta"] < 0.97 * span["delta"]]
    _, extra = mode_errors(stored, inside)
    tally.fact(f"{title}: damped modes the reference does not have", "none",
               ", ".join(extra) if extra else "none")
