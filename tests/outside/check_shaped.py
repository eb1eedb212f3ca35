#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb field` against direct solutions of a treated room of some shape.

    check_shaped.py EBB CASE.json STORED.json

STORED was made beforehand: with reference_shaped.py (finite elements in three dimensions) or, for
cases marked plain, with reference_plain.py (finite elements across, exact along). A few
frequencies and modes are solved again here on a coarser mesh, so that a wrong table can not pass.
With EBB_VALIDATION set, rows for docs/validation.md are appended to that file. Exit status 77:
numpy and scipy are missing.
"""
import json
import math
import os
import sys

import reference_fem as fem
import reference_plain as plain
import reference_shaped as shaped
import check_common as common

SOURCES = {False: "direct finite elements with scipy (tests/outside/reference_shaped.py)",
           True: "finite elements across, exact along, with scipy "
                 "(tests/outside/reference_plain.py)"}


def title_of(case):
    return os.path.basename(case["job"]).split(".")[0].replace("_", " ")


def band_of(case):
    """The whole of 20-200 Hz on the steps of the case, which may hold a part of it."""
    band = dict(case["hz"])
    while band["from"] > 20:
        band["from"] -= band["step"]
    while band["to"] < 200:
        band["to"] += band["step"]
    return band


def solve_again(tally, case, room, stored):
    """Part of the stored reference once more, on the coarser mesh the case names."""
    live, title = case["live"], title_of(case)
    mesh = shaped.mesh_of({"mesh": live["mesh"]})
    model = plain.Plain(room, mesh) if case.get("plain") else shaped.Shaped(room, mesh)
    errors = common.level_errors(common.table(fem.responses(model, live["hz"])),
                                 common.table(stored["response"]), live["hz"])
    tally.below(f"{title}: reference solved again against the stored one, dB, largest",
                live["level_db"], float(errors.max()))
    if not case.get("plain"):
        pick = [m for m in stored["modes"] if m["share"] >= common.SHARE_SURE][1:2]
        rough = [complex(2 * math.pi * round(m["hz"], 1), round(m["delta"])) for m in pick]
        worst, lone = common.mode_errors(fem.polished(model, rough, case["modes"]), pick)
        tally.below(f"{title}: a mode solved again against the stored one, relative",
                    live["mode"], max(worst) if not lone else math.inf)


def main():
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    program, case_path, stored_path = sys.argv[1:]
    case, room = shaped.load_case(case_path)
    with open(stored_path, encoding="utf-8") as file:
        stored = json.load(file)
    job = os.path.join(os.path.dirname(case_path), case["job"])
    with open(job, encoding="utf-8") as file:
        name = json.load(file)["rooms"][0]["name"]
    tally, title = common.Tally(SOURCES[bool(case.get("plain"))]), title_of(case)
    solve_again(tally, case, room, stored)
    field = common.run_field(program, job, name, band_of(case))
    common.compare_levels(tally, title, common.table(field["response"], common.numbered),
                          common.table(stored["response"]),
                          [round(f, 6) for f in fem.case_hz(case)])
    common.compare_modes(tally, title, case["modes"], common.modes_of(field), stored["modes"])
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
