# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb unit`: what it prints for the example library, what it draws, what it refuses."""
import os
import re

from common import JOB, SOURCE, checked, document, expect, expect_status, main, read, small_files
from common import write

BOXES = os.path.join(SOURCE, "examples", "harbour-boxes.yaml")
ONE = """library: one
absorbers:
  front: {face: [0.6 m, 1.2 m], depth: 0.3 m, mass: 20 kg,
          layers: [{lumped: {mass: 6 kg/m2, resonance: 45 Hz, resistance: 413 Pa.s/m}}]}
"""
STARTS = {"svg": b"<?xml", "pdf": b"%PDF", "png": b"\x89PNG"}


def test_json():
    first = expect_status(0, "unit", BOXES, "--json").stdout
    doc = checked(first, "unit")
    expect(first == expect_status(0, "unit", BOXES, "--json").stdout, "another run, other bytes")
    expect(doc["ebb"]["inputs"] == {"file": BOXES, "claims": False}, f"{doc['ebb']['inputs']}")
    expect(len(doc["units"]) >= 3, f"{len(doc['units'])} units")
    rho_c = doc["air"]["density_kg_m3"] * doc["air"]["speed_m_s"]
    for unit in doc["units"]:
        name, n = unit["name"], len(unit["hz"])
        for key in ("z_re", "z_im", "alpha_normal", "alpha_diffuse", "area_diffuse_m2"):
            expect(len(unit[key]) == n, f"{name}: {key} has {len(unit[key])} of {n}")
        for re_z, im_z, alpha in zip(unit["z_re"], unit["z_im"], unit["alpha_normal"]):
            z = complex(re_z, im_z) / rho_c
            expect(abs(alpha - 4 * z.real / abs(z + 1)**2) < 1e-9, f"{name}: {alpha} for {z}")
            expect(0 <= alpha <= 1, f"{name}: {alpha}")
        expect({30, 40, 50, 63, 80, 100} <= set(unit["hz"]), f"{name}: {unit['hz']}")
        limit = unit["depth_limit"]
        # Constant loss factors are not causal and may go beyond the limit by a little.
        expect(0 < limit["used"] <= 1.05 * limit["available"], f"{name}: {limit}")
        expect(unit["mass_kg"] > 0 and len(unit["cautions"]) >= 2, f"{name}: {unit['mass_kg']}")


def test_names():
    names = [u["name"] for u in document("unit", BOXES, "--json")["units"]]
    # In the order of the file, each once, whatever the order of the words.
    words = ("unit", BOXES, names[1], names[0], names[1], "--json")
    expect([u["name"] for u in document(*words)["units"]] == names[:2], "other units than named")
    result = expect_status(3, "unit", BOXES, names[0] + "x")
    expect(f'did you mean "{names[0]}"?' in result.stderr.decode(), f"{result.stderr}")
    expect(result.stdout == b"", "prints all the same")
    result = expect_status(3, "unit", BOXES, "qqqqqqqqqq")
    expect(f'its first is "{names[0]}"' in result.stderr.decode(), f"{result.stderr}")


def test_text():
    """The text holds the numbers of the JSON."""
    unit = document("unit", BOXES, "light-front", "--json")["units"][0]
    text = expect_status(0, "unit", BOXES, "light-front").stdout.decode()
    rows = [line.split() for line in text.split("Absorption\n")[1].splitlines()[1:]
            if re.match(r" +[\d.]+  ", line)][:len(unit["hz"])]
    for row, hz, normal, diffuse in zip(rows, unit["hz"], unit["alpha_normal"],
                                        unit["alpha_diffuse"], strict=True):
        expect(float(row[0]) == hz, f"{row}: not {hz} Hz")
        expect(abs(float(row[1]) - normal) <= 0.00501, f"{row}: normal {normal}")
        expect(abs(float(row[2]) - diffuse) <= 0.00501, f"{row}: random {diffuse}")
    for part in ("Band\n", "Weight\n", "Depth limit", "If it is not built", "Warnings\n",
                 "not measured"):
        expect(part in text, f"no {part!r}")
    expect(max(map(len, text.splitlines())) <= 100, "a line is too long")
    imperial = expect_status(0, "unit", BOXES, "light-front", "--units", "imperial").stdout
    expect(b" lb" in imperial and b" mm x" not in imperial, "imperial has millimetres")


def test_job_and_standard_input():
    expect(len(document("unit", JOB, "--json")["units"]) >= 1, "no units of the job")
    write("one.yaml", ONE)
    piped = document("unit", "-", "--json", stdin=ONE.encode())
    named = document("unit", "one.yaml", "--json")
    expect(piped["units"] == named["units"], "standard input gives something else")


def test_claims():
    doc = document("unit", BOXES, "--claims", "--json")
    claims = {c["name"]: c for c in doc["claims"]}
    words = {n: [f["verdict"] for f in c["figures"]] for n, c in claims.items()}
    expect("impossible" in words["thin-slab"], f"{words['thin-slab']}")
    expect(set(words["plain-words"]) == {"possible"}, f"{words['plain-words']}")
    loud = claims["loud-label"]["figures"]
    expect(all(f["alpha_normal"] < 0.6 for f in loud if f["verdict"] == "possible"), f"{loud}")
    slab = claims["thin-slab"]
    expect(slab["depth_needed_m"] > slab["depth_m"], f"{slab['depth_needed_m']}")
    text = expect_status(0, "unit", BOXES, "thin-slab", "--claims").stdout.decode()
    expect("not possible with a passive absorber" in text and "loud-label" not in text, text)
    expect_status(3, "unit", BOXES, "light-front", "--claims")  # a unit, no claim


def test_pictures():
    for ending, start in STARTS.items():
        files = f"plot.{ending}", f"section.{ending}"
        words = ("unit", BOXES, "light-front", "--plot", files[0], "--section", files[1])
        once = []
        for _ in range(2):
            expect_status(0, *words)
            once.append([read(f) for f in files])
            expect(all(r.startswith(start) for r in once[-1]), f"{ending}: another kind of file")
        expect(once[0] == once[1], f"{ending}: another run, other bytes")
    expect_status(0, "unit", BOXES, "--plot", "all.svg")
    expect(b"light-front" not in read("section.png"), "a name in a picture of pixels")
    expect(len(os.listdir()) == 7, f"left {os.listdir()}")


def test_refusals():
    for words, wanted in (((), "FILE is missing"),
                          ((BOXES, "--plot", "a.gif"), "must end in .svg, .pdf or .png"),
                          ((BOXES, "--section", ".svg"), "must end in .svg, .pdf or .png"),
                          ((BOXES, "--section", "a.svg"), "name one, such as"),
                          ((BOXES, "--claims", "--plot", "a.svg"), "one of them"),
                          ((BOXES, "--claims", "--section", "a.svg"), "one of them"),
                          ((BOXES, "--units", "royal"), "metric or imperial"),
                          ((BOXES, "--jsno"), "did you mean --json?")):
        result = expect_status(2, "unit", *words)
        expect(wanted in result.stderr.decode(), f"{words}: {result.stderr}")
        expect(result.stdout == b"", f"{words}: prints all the same")
    write("none.yaml", "library: none\n")
    expect(b"has no absorbers" in expect_status(3, "unit", "none.yaml").stderr, "no absorbers")
    result = expect_status(3, "unit", "none.yaml", "--claims")
    expect(b"has no claims" in result.stderr, f"{result.stderr}")
    write("claims.yaml", "library: c\nclaims: {a: {depth: 0.2 m, figures: [[40 Hz, 0.5]]}}\n")
    expect(b"--claims judges them" in expect_status(3, "unit", "claims.yaml").stderr, "no hint")
    write("table.yaml", "library: t\nabsorbers: {a: {face: [1 m, 1 m], depth: 0.1 m, mass: 5 kg, "
                        "admittance: 0.3}}\n")
    result = expect_status(3, "unit", "table.yaml", "--section", "a.svg")
    expect(b"there is no section to draw" in result.stderr, f"{result.stderr}")
    expect(not os.path.exists("a.svg"), "a section of nothing")
    write("bad.yaml", "library: bad\nabsorbers: {a: {face: 3}}\nfoo: 1\n")
    result = expect_status(3, "unit", "bad.yaml")
    expect(b"bad.yaml:2:" in result.stderr and b"bad.yaml:3:" in result.stderr, f"{result.stderr}")
    expect_status(1, "unit", "missing.yaml")


def test_failed_writes():
    for target in ("a.svg", "b.png", "c.json"):
        write(target, "old")
    words = ("unit", BOXES, "light-front")
    result = expect_status(1, *words, "--plot", "a.svg", "--section", "b.png", "--json", "--out",
                           "c.json", setup=small_files(100))
    expect(b"a.svg: error: " in result.stderr, f"{result.stderr}")
    for target in ("a.svg", "b.png", "c.json"):
        expect(read(target) == b"old", f"{target}: the old file is gone")
    expect(len(os.listdir()) == 3, f"left {os.listdir()}")
    # A picture that fails does not take the text away.
    result = expect_status(1, *words, "--plot", "no/such/folder/a.svg")
    expect(b"Absorption" in result.stdout, "no text")
    with open("/dev/full", "wb") as full:
        expect_status(1, *words, stdout=full)


main(test_json, test_names, test_text, test_job_and_standard_input, test_claims, test_pictures,
     test_refusals, test_failed_writes)
