# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb craft`: what it finds for a small target, what it writes, what it refuses."""
import os

from common import checked, document, expect, expect_status, main, read, run, write

STOCK = """materials:
  ply: {density: 680 kg/m3, modulus: 7 GPa, thicknesses: [4 mm, 6 mm, 9 mm, 15 mm],
        prices: [9, 12, 16, 24]}
wools: {light: {resistivity: 5 kPa.s/m2, density: 18 kg/m3, price: 45}}
strips: {soft: {width: 20 mm, thickness: 2 mm, modulus: 2 MPa, works: bending, price: 4}}
"""
USE = "use: {materials: [ply], wools: [light], strips: [soft]}"
PLAIN = "face: [0.6 m, 1.2 m], grains: 0 kg, fronts: 1, cells: 1"
BOXES = f"""library: Two "quoted" targets
{STOCK}targets:
  mean: {{mean: [30 Hz, 60 Hz], depth: 0.3 m, {PLAIN}, {USE}}}
  curve: {{curve: [[30 Hz, 0.3], [40 Hz, 0.6], [50 Hz, 0.9]], depth: [0.2 m, 0.45 m],
           {PLAIN}, {USE}}}
  thin: {{curve: [[30 Hz, 0.6], [50 Hz, 0.98]], depth: 0.2 m, {PLAIN}, {USE}}}
"""
LITTLE = ("--starts", "1", "-q")


def boxes():
    write("boxes.yaml", BOXES)
    return "boxes.yaml"


def test_same_bytes():
    """Another number of threads changes nothing, another seed may."""
    words = ("craft", boxes(), "curve", "--json", *LITTLE)
    one = run(*words, OMP_NUM_THREADS="1")
    three = run(*words, OMP_NUM_THREADS="3")
    expect(one.returncode == 0, f"status {one.returncode}: {one.stderr}")
    expect(one.stdout == three.stdout, "three threads, other bytes")
    other = run(*words, "--seed", "2")
    expect(other.stdout != one.stdout, "another seed, the same bytes")


def test_json():
    doc = checked(expect_status(0, "craft", boxes(), "curve", "mean", "--json", *LITTLE).stdout,
                  "craft")
    expect([t["name"] for t in doc["targets"]] == ["mean", "curve"], "other targets than named")
    expect(doc["ebb"]["inputs"]["starts"] == 1, f"{doc['ebb']['inputs']}")
    for target in doc["targets"]:
        expect(target["passes"] and target["stops"] == [], f"{target['name']} does not pass")
        expect(target["evaluated"] > 5000, f"{target['evaluated']} boxes")
        aims = [p["aim"] for p in target["picks"]]
        wanted = {"best", "lightest", "cheapest"} | ({"shallowest"} & set(aims))
        expect(set(aims) == wanted, f"picks {aims}")
        for pick in target["picks"]:
            kg = sum(p["mass_kg"] or 0 for p in pick["parts"])
            expect(0 < pick["merit"]["mass_kg"] - kg < 6, f"parts weigh {kg}")
            expect(len(pick["hz"]) == len(pick["alpha_normal"]) == len(pick["alpha_worst"]),
                   "arrays of other lengths")
            expect(pick["steps"] and pick["cautions"], "no steps or cautions")
    curve = doc["targets"][1]
    for pick in curve["picks"]:
        alpha = dict(zip(pick["hz"], pick["alpha_normal"]))
        expect(alpha[30] >= 0.3 and alpha[40] >= 0.6 and alpha[50] >= 0.9 - 1e-12, f"{alpha}")


def test_text():
    doc = document("craft", boxes(), "mean", "--json", *LITTLE)
    text = expect_status(0, "craft", boxes(), "mean", *LITTLE).stdout.decode()
    for pick in doc["targets"][0]["picks"]:
        expect(f"Build sheet: {pick['aim']}" in text, f"no sheet of {pick['aim']}")
        expect(f"{pick['merit']['mass_kg']:.1f} kg" in text, f"no mass of {pick['aim']}")
    for word in ("Cut and buy", "Weigh and measure", "Measure on the finished box", "how sure",
                 "Local codes and licensed practice hold"):
        expect(word in text, f"no {word!r} in the text")
    expect(max(map(len, text.splitlines())) <= 100, "a line is too long")
    imperial = expect_status(0, "craft", boxes(), "mean", "--units", "imperial", *LITTLE)
    sheet = imperial.stdout.split(b"Put together")[0]
    expect(b" lb" in sheet and b" kg" not in sheet and b" mm" not in sheet, "not imperial")


def test_files():
    """The library written holds what was printed: the same absorption comes back."""
    doc = document("craft", boxes(), "curve", "--json", "--plot", "t.svg", "--write", "made.yaml",
                   *LITTLE)
    expect(read("t.svg").startswith(b"<?xml"), "no plot")
    picks = {p["name"]: p for p in doc["targets"][0]["picks"]}
    units = document("unit", "made.yaml", "--json")["units"]
    expect({u["name"] for u in units} == set(picks), f"{[u['name'] for u in units]}")
    for unit in units:
        pick, alpha = picks[unit["name"]], dict(zip(unit["hz"], unit["alpha_normal"]))
        for hz, wanted in zip(pick["hz"], pick["alpha_normal"]):
            expect(abs(alpha[hz] - wanted) < 1e-6, f"{unit['name']}: {alpha[hz]} at {hz} Hz")
        expect(abs(unit["mass_kg"] - pick["merit"]["mass_kg"]) < 1e-6, f"{unit['mass_kg']} kg")


def test_no_solution():
    files = ("--plot", "none.svg", "--write", "none.yaml")
    result = expect_status(4, "craft", boxes(), "thin", *files, *LITTLE)
    text = result.stdout.decode()
    expect("NOTHING PASSES" in text, "does not say that nothing passes")
    expect("without the limit on depth" in text, "does not name the depth")
    for name in ("none.svg", "none.yaml"):
        expect(not os.path.exists(name), f"writes {name} all the same")
    doc = checked(expect_status(4, "craft", boxes(), "thin", "--json", *LITTLE).stdout, "craft")
    target = doc["targets"][0]
    expect(target["picks"][0]["aim"] == "nearest miss", f"{target['picks'][0]['aim']}")
    expect(target["picks"][0]["merit"]["shortfall"] > 0.05, f"{target['picks'][0]['merit']}")
    # Nothing at all can be built of no strip in no depth.
    write("flat.yaml", BOXES.replace("depth: 0.2 m", "depth: 0.04 m"))
    result = expect_status(4, "craft", "flat.yaml", "thin", *LITTLE)
    expect(b"no box can be put together" in result.stderr, f"{result.stderr}")


def test_refused():
    names = expect_status(3, "craft", boxes(), "curv").stderr.decode()
    expect('did you mean "curve"?' in names, names)
    write("none.yaml", "library: none\n")
    expect(b"has no targets" in expect_status(3, "craft", "none.yaml").stderr, "no targets")
    expect(b"must end in .svg" in expect_status(2, "craft", "x.yaml", "--plot", "x.txt").stderr,
           "a plot in text")
    expect(b"wants a file" in expect_status(2, "craft", "x.yaml", "--write", "-").stderr, "--write")
    expect(b"name one" in expect_status(2, "craft", boxes(), "--plot", "x.svg").stderr, "plots")
    for bad, word in (("mass: -1 kg", "mass"), ("use: {materials: [oak]}", "oak"),
                      ("mean: [0 Hz, 50 Hz]", "0 Hz")):
        mean = "" if "mean" in bad else "mean: [30 Hz, 60 Hz], "
        write("bad.yaml", f"library: bad\n{STOCK}targets:\n  t: {{{mean}depth: 0.3 m, {PLAIN}, "
                          f"{bad}}}\n")
        result = expect_status(3, "craft", "bad.yaml")
        expect(word in result.stderr.decode() and result.stdout == b"", f"{bad}: {result.stderr}")


def test_failed_writes():
    """A file that cannot be written is a failure, and the answer is printed all the same."""
    result = expect_status(1, "craft", boxes(), "mean", "--write", "no/such/folder.yaml", *LITTLE)
    expect(b"Build sheet" in result.stdout, "the answer is gone")
    with open("/dev/full", "wb") as full:
        expect_status(1, "craft", "boxes.yaml", "mean", *LITTLE, stdout=full)


main(test_same_bytes, test_json, test_text, test_files, test_no_solution, test_refused,
     test_failed_writes)
