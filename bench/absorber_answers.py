# SPDX-License-Identifier: GPL-3.0-or-later
"""absorber_answers.py EBB: answers to what is asked of heavy absorbers, from runs of the program.

Writes docs/absorber-answers.md to standard output. Every number comes from `ebb craft` or `ebb
        unit`
on the library that is put together below; nothing is typed in. Takes some minutes.
"""
import json
import os
import subprocess
import sys
import tempfile
import textwrap

EBB = os.path.abspath(sys.argv[1])
FACE = "face: [0.6 m, 1.2 m]"
WOODS = "materials: [plywood, hardboard, mdf], wools: [soft-wool, wool, fleece]"
RIMS = "strips: [rubber-30x2, rubber-20x2, rubber-20x3, firm-15x4, firm-12x4, firm-10x5]"
STARTS = "6"
CURVE = "curve: [[30 Hz, 0.333], [40 Hz, 0.63], [50 Hz, 0.98]]"
BATCHES = ("nominal", "fine-dry", "coarse-damp")

STOCK = """library: Answers
materials:
  thick: {density: 620 kg/m3, modulus: 6 GPa, loss: 0.02, thicknesses: [36 mm]}
  thin: {density: 620 kg/m3, modulus: 6 GPa, loss: 0.02, thicknesses: [4 mm, 6 mm, 8 mm]}
strips:
  firm-15x4: {width: 15 mm, thickness: 4 mm, modulus: 2 MPa, works: bending}
  firm-12x4: {width: 12 mm, thickness: 4 mm, modulus: 2 MPa, works: bending}
  firm-10x5: {width: 10 mm, thickness: 5 mm, modulus: 2 MPa, works: bending}
"""


class Library:
    """Targets, units and claims collected, then run in one file."""
    def __init__(self):
        self.targets, self.units, self.claims, self.done = {}, ["absorbers:\n"], {}, {}

    def target(self, name, goal, depth, fronts=1, cells=1, grains=0, lightest=None, batch="nominal",
               woods=WOODS, mass=None):
        words = [goal, FACE, f"depth: {depth}", f"fronts: {fronts}", f"cells: {cells}",
                 f"grains: {grains} kg"]
        words += [f"lightest: {lightest} kg/m2"] if lightest else []
        words += [f"mass: {mass} kg"] if mass else []
        words.append(f"use: {{{woods}, grains: [{batch}], {RIMS}}}")
        self.targets[name] = "{" + ", ".join(words) + "}"
        return name

    def unit(self, name, layers, depth, back="rigid"):
        self.units.append(f"  {name}: {{{FACE}, depth: {depth}, mass: 20 kg, back: {back}, "
                          f"layers: [{layers}]}}\n")
        return name

    def text(self):
        text = STOCK + "".join(self.units) + "claims:\n"
        text += "".join(f"  {k}: {v}\n" for k, v in self.claims.items()) + "targets:\n"
        return text + "".join(f"  {k}: {v}\n" for k, v in self.targets.items())

    def run(self):
        with tempfile.TemporaryDirectory() as folder:
            path = os.path.join(folder, "answers.yaml")
            with open(path, "w", encoding="utf-8") as f:
                f.write(self.text())
            for name in self.targets:
                print(name, file=sys.stderr, flush=True)
                self.done[name] = ebb("craft", path, name, "--starts", STARTS)["targets"][0]
            self.done["units"] = {u["name"]: u for u in ebb("unit", path)["units"]}
            self.done["claims"] = {c["name"]: c for c in ebb("unit", path, "--claims")["claims"]}


def ebb(*words):
    result = subprocess.run([EBB, *words, "--json", "-q"], stdout=subprocess.PIPE, check=False)
    if result.returncode not in (0, 4):
        raise SystemExit(f"ebb {' '.join(words)}: status {result.returncode}")
    return json.loads(result.stdout)


def say(text):
    """A paragraph, wrapped like the rest of the documents."""
    print("\n" + textwrap.fill(" ".join(text.split()), 100) + "\n")


def pick(target, aim):
    return next((p for p in target["picks"] if p["aim"] == aim), None)


def say_title(text):
    print(f"\n## {text}")


def row(*cells):
    print("| " + " | ".join(str(c) for c in cells) + " |")


def head(*cells):
    row(*cells)
    row(*("---" for _ in cells))


def mean(target):
    return pick(target, "best")["merit"]["mean"]


def grains_of(box):
    return sum(c["grains_kg"] for c in box["cells"])


def fronts_of(box):
    """Front masses of a box, kg/m2 with weights; boards by their density here."""
    density = {"plywood": 620, "hardboard": 975, "mdf": 750, "thick": 620, "thin": 620}
    return " + ".join(f"{density[f['material']] * f['thickness_m'] + f['trim_kg_m2']:.1f}"
                      for c in box["cells"] for f in c["fronts"])


# ---- the target curve ---------------------------------------------------------------------------

def plan_curve(lib):
    for batch in (None, *BATCHES):
        fill = dict(grains=40, batch=batch) if batch else dict(grains=0)
        for key, fronts, cells in (("one", 1, 1), ("two", 2, 1), ("cells", 1, 2)):
            lib.target(f"curve-{key}-{batch or 'wool'}", CURVE, "[100 mm, 500 mm]", fronts, cells,
                       **fill)


def least(done, batch, key, aim, measure):
    """The least found for a row of the table or for one that it contains: a box without grains is
    allowed where grains are, one cell where two are."""
    names = [f"curve-{k}-{b}" for k in {key, "one" if key == "cells" else key}
             for b in {batch, "wool"}]
    picks = [pick(done[n], aim) for n in sorted(names)]
    picks = [p for p in picks if p]
    return min(picks, key=lambda p: p["merit"][measure]) if picks else None


def say_curve(done):
    say_title("The target curve")
    say("""About one third at 30 Hz, 0.63 at 40 Hz, practically all (0.98) at 50 Hz, at normal
        incidence: common practice, no source, of what a good heavy unit reaches. Real boards, rims
        and walls of 9 mm and more; depth is the outer depth, mass that of the complete box; each
        the
        least found by itself, so the shallowest box is not the lightest. Up to 40 kg of grains
        where
        there are any.""")
    head("fill", "layout", "least depth", "its mass", "grains", "least mass", "its depth", "grains",
         "at its worst short by")
    words = {"one": "one front", "two": "two fronts in series",
             "cells": "up to two cells, one front each"}
    for batch in ("wool", *BATCHES):
        for key in ("one", "two", "cells"):
            fill = "wool" if batch == "wool" else f"wool and grains, {batch}"
            thin = least(done, batch, key, "shallowest", "depth_m")
            light = least(done, batch, key, "lightest", "mass_kg")
            if thin is None or light is None:
                row(fill, words[key], "not found", *("" for _ in range(6)))
                continue
            row(fill, words[key], f"{1000 * thin['box']['depth_m']:.0f} mm",
                f"{thin['merit']['mass_kg']:.1f} kg", f"{grains_of(thin['box']):.1f} kg",
                f"{light['merit']['mass_kg']:.1f} kg", f"{1000 * light['box']['depth_m']:.0f} mm",
                f"{grains_of(light['box']):.1f} kg",
                f"{light['merit_worst']['shortfall']:.2f}")
    needed = done["curve-one-wool"]["depth_needed_m"]
    say(f"""The depth limit of passive absorbers asks for {1000 * needed:.0f} mm of wool inside for
        the curve alone, with straight lines between its points and nothing outside them; a
        resonator
        can not have such edges. The last column is the lightest box at its worst of 64 built
        badly: a
        curve that is just met as planned is not met by all that are built, so leave margin or use
        `robust: yes`.""")


# ---- one front or two ---------------------------------------------------------------------------

def plan_fronts(lib):
    goal = "mean: [30 Hz, 60 Hz]"
    for total in (0, 6, 8, 10, 15):
        lib.target(f"one-{total}", goal, "300 mm", 1, lightest=total or 1)
        lib.target(f"two-{total}", goal, "300 mm", 2, lightest=total / 2 or 1)
        lib.target(f"one-{total}-carbon", goal, "300 mm", 1, grains=20, lightest=total or 1)
        lib.target(f"two-{total}-carbon", goal, "300 mm", 2, grains=20, lightest=total / 2 or 1)
    lib.target("beside", goal, "300 mm", 1, cells=2, lightest=1)


def gain(a, b):
    return f"{100 * (b / a - 1):+.0f} %"


def say_fronts(done):
    say_title("Two fronts against one")
    say("""Best mean coefficient from 30 to 60 Hz of a box 0.30 m deep, each layout tuned for
        itself.
        "At least" is the mass of all fronts one behind the other: one front of that mass, or two of
        half of it each. Common practice (no source) says that two fronts are about 30 % better.""")
    head("fronts at least", "one, wool", "two, wool", "gain", "one, up to 20 kg of grains",
         "two, up to 20 kg", "gain")
    gains = {}
    for total in (0, 6, 8, 10, 15):
        values = [mean(done[f"{n}-{total}{fill}"]) for fill in ("", "-carbon") for n in
                  ("one", "two")]
        gains[total] = values[1] / values[0] - 1
        row(f"{total} kg/m2" if total else "free", f"{values[0]:.3f}", f"{values[1]:.3f}",
            gain(*values[:2]), f"{values[2]:.3f}", f"{values[3]:.3f}", gain(*values[2:]))
    one, beside = mean(done["one-0"]), mean(done["beside"])
    near = min((t for t in gains if t), key=lambda t: abs(gains[t] - 0.3))
    say(f"""So about 30 % is right near {near} kg/m2 in all ({100 * gains[near]:+.0f} %), too
        much for
        lighter fronts and too little for heavier ones. The gain is that of splitting the mass,
        not of
        a second wall: where the mass may be chosen, two fronts in series change the mean by
        {gain(one, mean(done["two-0"]))}. The better second front stands beside the first, in a cell
        of its own: up to two cells side by side reach {beside:.3f} in wool against {one:.3f} of one
        front, {gain(one, beside)}.""")


# ---- lighter and better -------------------------------------------------------------------------

def plan_lighter(lib):
    goal = "mean: [30 Hz, 60 Hz]"
    thick = "materials: [thick, thin], wools: [soft-wool, wool, fleece]"
    lib.target("heavy-two", goal, "300 mm", 2, grains=30, lightest=8, woods=thick)
    lib.target("heavy-one", goal, "300 mm", 1, grains=30, lightest=8, woods=thick)
    lib.target("thick-two", goal, "300 mm", 2, grains=30, woods=thick)
    lib.target("thick-one", goal, "300 mm", 1, grains=30, woods=thick)
    lib.target("free-wool", goal, "300 mm", "[1, 2]", 2, grains=0)
    lib.target("free-carbon", goal, "300 mm", "[1, 2]", 2, grains=30)


def lightest_above(target, least):
    """Of the trade-offs and picks the lightest with at least this mean."""
    every = [(t["mass_kg"], t["mean"], t["box"]) for t in target["trade_offs"]]
    every += [(p["merit"]["mass_kg"], p["merit"]["mean"], p["box"]) for p in target["picks"]]
    good = [x for x in every if x[1] >= least]
    return min(good, key=lambda x: x[0]) if good else None


def box_row(name, mass, value, box, base):
    row(name, f"{mass:.1f} kg", gain(base[0], mass), f"{value:.3f}", gain(base[1], value),
        fronts_of(box), f"{1000 * box['wall_m']:.0f} mm", f"{grains_of(box):.1f} kg")


def say_lighter(done):
    base = pick(done["thick-two"], "best")
    against = (base["merit"]["mass_kg"], base["merit"]["mean"])
    say_title("Lighter and better than a well-made double box")
    say("""The measure: the best box with two fronts in series, 36 mm walls and up to 30 kg of
        nominal
        grains, 0.30 m deep, tuned like all others. Then boxes of the same face and depth with any
        walls from 9 mm. Percentages are against that box.""")
    head("box", "mass", "change", "mean 30-60 Hz", "change", "fronts, kg/m2", "walls", "grains")
    for key, words in (("heavy-two", "double, fronts of 8 kg/m2 and more, 36 mm"),
                       ("heavy-one", "single, 8 kg/m2 and more, 36 mm"),
                       ("thick-two", "best double, 36 mm (the measure)"),
                       ("thick-one", "best single, 36 mm")):
        best = pick(done[key], "best")
        box_row(words, best["merit"]["mass_kg"], best["merit"]["mean"], best["box"], against)
    found = []
    for key, fill in (("free-wool", "wool only"), ("free-carbon", "up to 30 kg of grains")):
        best = pick(done[key], "best")
        box_row(f"best, {fill}", best["merit"]["mass_kg"], best["merit"]["mean"],
                best["box"], against)
        for share in (1, 1.10, 1.15):
            light = lightest_above(done[key], share * against[1])
            name = f"lightest with {gain(1, share)}, {fill}" if share > 1 else \
                f"lightest as good, {fill}"
            if light is None:
                row(name, "not found", *("" for _ in range(6)))
            else:
                box_row(name, *light, against)
                found.append((share, light[0]))
    for share in (1.10, 1.15):
        good = [m for s, m in found if s >= share and m <= 0.75 * against[0]]
        say(f"At least 25 % lighter and {gain(1, share)}: " +
            (f"found, {min(good):.1f} kg." if good else "not found."))
    say("""The weight sits in the walls and the grains, not in the fronts. Thick walls take depth
        from
        the inside as well.""")


# ---- carbon -------------------------------------------------------------------------------------

def plan_carbon(lib):
    goal = "mean: [30 Hz, 60 Hz]"
    for depth in (200, 250, 300, 350, 400):
        lib.target(f"wool-{depth}", goal, f"{depth} mm")
    for batch in BATCHES:
        for kg in (10, 20, 30):
            lib.target(f"grains-{batch}-{kg}", goal, "250 mm", grains=kg, batch=batch)


def say_carbon(done):
    say_title("What 30 kg of carbon is worth")
    say("""Best mean coefficient from 30 to 60 Hz of one front, tuned anew for each; wool beside the
        grains.""")
    head("depth", *(f"{d} mm" for d in (200, 250, 300, 350, 400)))
    wool = {d: mean(done[f"wool-{d}"]) for d in (200, 250, 300, 350, 400)}
    row("wool only", *(f"{v:.3f}" for v in wool.values()))
    print()
    head("250 mm deep, grains at most", "10 kg", "20 kg", "30 kg", "used of 30 kg",
         "depth of wool that does the same as 30 kg")
    for batch in BATCHES:
        values = [mean(done[f"grains-{batch}-{kg}"]) for kg in (10, 20, 30)]
        used = grains_of(pick(done[f"grains-{batch}-30"], "best")["box"])
        row(batch, *(f"{v:.3f}" for v in values), f"{used:.1f} kg", same_depth(wool, values[2]))
    say("""The three batches are assumptions that span what is likely
        ([library-file.md](library-file.md#the-stock)); nothing about carbon is safe before the
        batch
        was tested in a box.""")


def same_depth(wool, value):
    """Depth of wool with that mean, by straight lines between the depths computed."""
    depths = sorted(wool)
    for a, b in zip(depths, depths[1:]):
        if wool[a] <= value <= wool[b]:
            return f"{a + (b - a) * (value - wool[a]) / (wool[b] - wool[a]):.0f} mm"
    return f"more than {depths[-1]} mm" if value > wool[depths[-1]] else f"below {depths[0]} mm"


# ---- boxes without fronts, walls ----------------------------------------------------------------

POROUS = [(depth, sigma, limp) for depth in (200, 250) for sigma in (5, 10, 20, 40)
          for limp in (False, True)]
DENSITY = {5: 16, 10: 35, 20: 55, 40: 80}  # kg/m3, usual for these flow resistivities


def plan_porous(lib):
    for depth, sigma, limp in POROUS:
        model = "limp" if limp else "jca"
        lib.unit(f"p-{depth}-{sigma}-{model}",
                 f"{{porous: {depth} mm, resistivity: {sigma} kPa.s/m2, "
                 f"density: {DENSITY[sigma]} kg/m3, model: {model}}}", f"{depth} mm")
    gypsum = "{panel: 12.5 mm gypsum, loss: 0.05, span: 600 mm}"
    heavy = "{mass: 9 kg/m2}"
    wool = "{porous: 100 mm, resistivity: 8 kPa.s/m2, density: 15 kg/m3}"
    for name, board in (("stud", gypsum), ("limp-stud", heavy)):
        lib.unit(f"{name}-wool", f"{board}, {wool}, {board}", "125 mm", "room")
        lib.unit(f"{name}-air", f"{board}, {{air: 100 mm}}, {board}", "125 mm", "room")


def at(unit, *frequencies):
    return [unit["alpha_normal"][unit["hz"].index(f)] for f in frequencies]


def say_porous(done):
    say_title("Boxes with wool and no front")
    say("""Normal incidence, rigid back, nothing taken off for a frame. A stiff frame and a limp one
        bracket real wool; the limp one is the optimistic of the two, because the blanket then moves
        as a mass.""")
    head("depth", "flow resistivity", "density", "frame", "30 Hz", "40 Hz", "50 Hz", "63 Hz",
         "80 Hz")
    stiff = []
    for depth, sigma, limp in POROUS:
        unit = done["units"][f"p-{depth}-{sigma}-{'limp' if limp else 'jca'}"]
        values = at(unit, 30, 40, 50, 63, 80)
        stiff += [] if limp else [values[:3]]
        row(f"{depth} mm", f"{sigma} kPa·s/m2", f"{DENSITY[sigma]} kg/m3",
            "limp" if limp else "stiff", *(f"{a:.2f}" for a in values))
    best = [max(column) for column in zip(*stiff)]
    say(f"""Weak at 30 to 50 Hz, not useless: with a stiff frame at most {best[0]:.2f} at 30 Hz,
        {best[1]:.2f} at 40 Hz and {best[2]:.2f} at 50 Hz.""")


def peaks(unit):
    """Local maxima of the coefficient between 15 and 200 Hz above 0.1."""
    hz, alpha = unit["fine"]["hz"], unit["fine"]["alpha_normal"]
    found = [(hz[i], alpha[i]) for i in range(1, len(hz) - 1)
             if alpha[i - 1] < alpha[i] >= alpha[i + 1] and 15 <= hz[i] <= 200 and alpha[i] > 0.1]
    return ", ".join(f"{a:.2f} at {f:.0f} Hz" for f, a in found) or "none above 0.1"


def say_stud(done):
    say_title("A stud wall with a board on each side")
    say("""12.5 mm gypsum on both sides of 100 mm, another room behind, normal incidence. Boards
        that
        bend between studs 0.6 m apart, held simply; and boards as limp masses of 9 kg/m2, which
        leave
        only the resonance of the masses on the air between them. What is absorbed includes what
        goes
        through.""")
    head("wall", "peaks", "30 Hz", "40 Hz", "50 Hz", "63 Hz", "80 Hz", "100 Hz")
    for key, words in (("stud-wool", "bending boards, wool"), ("stud-air", "bending boards, air"),
                       ("limp-stud-wool", "limp boards, wool"),
                       ("limp-stud-air", "limp boards, air")):
        unit = done["units"][key]
        row(words, peaks(unit), *(f"{a:.2f}" for a in at(unit, 30, 40, 50, 63, 80, 100)))
    say("""The upper peak is that of the boards on the air between them, the lower one the first
        mode of
        the boards between studs, where they bend freely. Between the two little is absorbed. Real
        studs, screws and boards shift the lower one.""")


# ---- everything ---------------------------------------------------------------------------------

FULL = (25, 31.5, 40, 50, 63, 80)


def plan_full(lib):
    for share in (0.8, 0.9, 0.95):
        figures = ", ".join(f"[{f} Hz, {share}]" for f in FULL)
        lib.claims[f"flat-{round(100 * share)}"] = (
            f"{{{FACE}, depth: 300 mm, front: yes, fill: wool, measured: normal, "
            f"figures: [{figures}]}}")
    for depth in (300, 500, 800):
        lib.target(f"wide-{depth}", "mean: [25 Hz, 80 Hz]", f"{depth} mm", "[1, 2]", 2)
    figures = ", ".join(f"[{f} Hz, 0.9]" for f in FULL)
    lib.target("full", f"curve: [{figures}]", "[300 mm, 1200 mm]", "[1, 2]", 2)
    for batch in ("nominal", "fine-dry"):
        lib.target(f"full-{batch}", f"curve: [{figures}]", "[200 mm, 800 mm]", "[1, 2]", 2,
                   grains=150, batch=batch)


def say_full(done):
    say_title("Full absorption from 25 to 80 Hz")
    say("What the depth limit of passive absorbers asks for: a bound, for any passive, sealed box.")
    head("coefficient everywhere from 25 to 80 Hz", "least depth of wool", "least depth of air")
    for share in (80, 90, 95):
        claim = done["claims"][f"flat-{share}"]
        row(f"{share / 100:.2f}", f"{1000 * claim['depth_needed_m']:.0f} mm",
            f"{1000 * claim['depth_needed_air_m']:.0f} mm")
    say("What boxes with one or two fronts in up to two cells were found to do, wool only:")
    head("depth", "best mean 25-80 Hz", "its mass")
    for depth in (300, 500, 800):
        best = pick(done[f"wide-{depth}"], "best")
        row(f"{depth} mm", f"{best['merit']['mean']:.3f}", f"{best['merit']['mass_kg']:.0f} kg")
    say(f"At least 0.9 at {', '.join(str(f) for f in FULL)} Hz:")
    head("fill", "least depth found", "its mass", "grains")
    for key, words in (("full", "wool, up to 1.2 m"),
                       ("full-nominal", "up to 150 kg of nominal grains, up to 0.8 m"),
                       ("full-fine-dry", "up to 150 kg of fine-dry grains, up to 0.8 m")):
        target = done[key]
        thin, miss = pick(target, "shallowest"), target["picks"][0]
        if target["passes"] and thin:
            row(words, f"{1000 * thin['box']['depth_m']:.0f} mm",
                f"{thin['merit']['mass_kg']:.0f} kg", f"{grains_of(thin['box']):.0f} kg")
        else:
            row(words, f"not found: {miss['merit']['shortfall']:.2f} short at "
                f"{1000 * miss['box']['depth_m']:.0f} mm", f"{miss['merit']['mass_kg']:.0f} kg",
                f"{grains_of(miss['box']):.0f} kg")


PARTS = ((plan_curve, say_curve), (plan_fronts, say_fronts), (plan_lighter, say_lighter),
         (plan_carbon, say_carbon), (plan_porous, say_porous), (lambda lib: None, say_stud),
         (plan_full, say_full))


def main():
    lib = Library()
    for plan, _ in PARTS:
        plan(lib)
    lib.run()
    print("# Answers about heavy absorbers")
    say(f"""Written by `bench/absorber_answers.py` from runs of {ebb_version()} with {STARTS}
        starts each: do not edit, run it again. Method and limits: [absorbers.md](absorbers.md). All
        is calculated, at normal incidence, for a face of 0.6 x 1.2 m and air of 20 C; nothing was
        compared with a measured absorber at 30 to 100 Hz. The boxes are those that a search found:
        better ones may exist. Boards, wools and grains are the presets; rims are strips of rubber
        in bending from 0.6 to 250 kN/m2.""")
    for _, tell in PARTS:
        tell(lib.done)


def ebb_version():
    done = subprocess.run([EBB, "--version"], stdout=subprocess.PIPE, check=True)
    return done.stdout.decode().strip()


main()
