# SPDX-License-Identifier: GPL-3.0-or-later
"""What the commands answer for the example job."""
import math
import os
import re

from common import JOB, checked, document, expect, expect_status, first_room, main, on_terminal
from common import read, small_files, strict_json, write

# As little work as still goes all the way.
LITTLE = ("--draws", "4", "--starts", "1", "--no-relaxed")
BAND = ("--from", "30 Hz", "--to", "80 Hz", "--step", "2.5 Hz")


def test_check():
    result = expect_status(0, "check", JOB)
    expect(b"no fault found" in result.stdout, f"check: {result.stdout}")
    doc = document("check", JOB, "--json")
    expect(doc["fine"] is True, "check --json: not fine")
    expect(len(doc["rooms"]) >= 1, "check --json: no rooms")
    write("bad.yaml", "rooms: 5\n")
    doc = strict_json(expect_status(3, "check", "bad.yaml", "--json").stdout)
    expect(doc["fine"] is False, "check --json: fine")
    expect(any(m["kind"] == "error" and m["line"] == 1 and m["file"] == "bad.yaml"
               for m in doc["messages"]), f"check --json: {doc['messages']}")


def test_schema_and_limits():
    schema = strict_json(expect_status(0, "schema").stdout)
    expect("2020-12" in schema["$schema"], "schema: another draft")
    top = schema
    if "$ref" in schema:
        for part in schema["$ref"].lstrip("#/").split("/"):
            top = top[part]
    expect("rooms" in top["properties"] and "rooms" in top["required"], "schema: no rooms")
    library = strict_json(expect_status(0, "schema", "--library").stdout)
    expect(library["$ref"] == "#/$defs/library", f"schema --library: {library['$ref']}")
    expect("targets" in library["$defs"]["library"]["properties"], "schema: no targets")
    limits = document("limits", "--json")["limits"]
    text = expect_status(0, "limits").stdout.decode()
    expect(len(limits) >= 10, f"{len(limits)} limits")
    for limit in limits:
        expect(limit["low"] <= limit["value"] <= limit["high"], f"limit {limit}")
        expect(limit["source"] != "" and limit["meaning"] != "", f"limit {limit}")
        expect(f"\n{limit['key']}: " in text, f"limit {limit['key']} is not in the text")


def nearest_rigid(doc):
    """Distance of the given rigid-wall frequencies from Rayleigh's formula, worst, Hz; count."""
    size, c = doc["size_m"], doc["air"]["speed_m_s"]
    low, high = doc["ebb"]["inputs"]["from_hz"], doc["ebb"]["inputs"]["to_hz"]
    most = [int(2 * high * s / c) + 1 for s in size]
    wanted = sorted(
        hz for i in range(most[0] + 1) for j in range(most[1] + 1) for k in range(most[2] + 1)
        for hz in [c / 2 * math.sqrt((i / size[0])**2 + (j / size[1])**2 + (k / size[2])**2)]
        if low <= hz <= high)
    got = doc["rigid_modes_hz"]
    if len(got) != len(wanted):
        return math.inf
    return max(abs(a - b) for a, b in zip(got, wanted))


def test_field_json():
    doc = document("field", JOB, "--room", first_room(), *BAND, "--json")
    expect(nearest_rigid(doc) < 1e-6, f"rigid modes off by {nearest_rigid(doc)}")
    expect(len(doc["modes"]) >= 1, "no damped modes")
    for m in doc["modes"]:
        expect(30 <= m["hz"] <= 80, f"mode {m} outside the band")
        expect(m["t60_s"] > 0, f"mode {m} does not decay")
        # Q = pi f / delta and T60 = 6.908 / delta say the same twice.
        expect(abs(m["q"] - math.pi * m["hz"] * m["t60_s"] / 6.908) < 1e-3 * m["q"], f"Q of {m}")
    expect(len(doc["response"]) >= 1, "no responses")
    for r in doc["response"]:
        expect(r["hz"] == [30 + 2.5 * i for i in range(21)], f"frequencies {r['hz']}")
        expect(len(r["re"]) == len(r["im"]) == 21, "arrays of other lengths")
        expect(all(abs(complex(*z)) > 0 for z in zip(r["re"], r["im"])), "a response is nothing")
    expect(isinstance(doc["warnings"], list), "no list of warnings")


SHIFTED = """job: Shifted
use: music
air: {{speed: 343 m/s, density: 1.2 kg/m3}}
constructions: {{brick: {{admittance: 0.02}}, leaf: {{admittance: 0.1}}}}
absorbers:
  deep:
    face: [0.6 m, 1.2 m]
    depth: 0.3 m
    mass: 42 kg
    layers: [{{lumped: {{mass: 6 kg/m2, resonance: 45 Hz, resistance: 413 Pa.s/m}}}}]
rooms:
  - name: one
    plan: [[{x} m, {y} m], [{x1} m, {y} m], [{x1} m, {y1} m], [{x} m, {y1} m]]
    ceiling: 2.5 m
    surfaces: {{all: brick}}
    openings: [{{on: wall_3, at: [1.0 m, 0 m], size: [0.9 m, 2.0 m], as: door, construction: leaf}}]
    seats: [{{name: lead, at: [{sx} m, {sy} m, 1.2 m]}}]
    speakers: [{{name: left, at: [{lx} m, {ly} m, 1.1 m]}}]
    placed: [{{unit: deep, on: wall_4, at: [0.25 m, 0.5 m]}}]
"""


def test_field_does_not_depend_on_the_origin():
    """A room is the same room wherever the job's origin lies."""
    docs = []
    for x, y in ((0, 0), (2, -3)):
        write("shifted.yaml", SHIFTED.format(x=x, y=y, x1=x + 4, y1=y + 3, sx=x + 1.5, sy=y + 1.25,
                                             lx=x + 3.5, ly=y + 0.75))
        docs.append(document("field", "shifted.yaml", *BAND, "--json"))
    for m, n in zip(docs[0]["modes"], docs[1]["modes"], strict=True):
        expect(abs(m["t60_s"] - n["t60_s"]) < 1e-6 * m["t60_s"], f"{m} becomes {n}")
    for part in ("re", "im"):
        a, b = (d["response"][0][part] for d in docs)
        largest = max(map(abs, a))
        expect(all(abs(p - q) < 1e-6 * largest for p, q in zip(a, b)), f"{a} becomes {b}")


def test_field_text():
    """The text holds the numbers of the JSON."""
    words = ("field", JOB, "--room", first_room(), *BAND)
    text = expect_status(0, *words).stdout.decode()
    doc = document(*words, "--json")
    rigid = re.search(r"Rigid-wall modes .*: (\d+)\n", text)
    damped = re.search(r"Damped modes .*: (\d+)\n", text)
    expect(int(rigid.group(1)) == len(doc["rigid_modes_hz"]), "count of rigid modes")
    expect(int(damped.group(1)) == len(doc["modes"]), "count of damped modes")
    rows = [line.split() for line in text.split("Responses")[1].splitlines()
            if re.match(r" *[\d.]+ +-?[\d.]+( |$)", line) and ":" not in line]
    expect(len(rows) == 21, f"{len(rows)} rows")
    for i, row in enumerate(rows):
        for level, r in zip(row[1:], doc["response"], strict=True):
            wanted = 20 * math.log10(abs(complex(r["re"][i], r["im"][i])))
            expect(abs(float(level) - wanted) <= 0.0501, f"{row}: wanted {wanted}")
    imperial = expect_status(0, *words, "--units", "imperial").stdout.decode()
    expect(" ft " in imperial.splitlines()[0], f"imperial: {imperial.splitlines()[0]}")


def test_field_warns():
    doc = document("field", JOB, "--room", first_room(), "--from", "15 Hz", "--to", "40 Hz",
                   "--json")
    expect(any("20 Hz to 200 Hz" in w for w in doc["warnings"]), f"warnings {doc['warnings']}")
    result = expect_status(0, "field", JOB, "--room", first_room(), "--from", "15 Hz", "--to",
                           "40 Hz", "-q")
    expect(b"warning" not in result.stderr, f"-q: {result.stderr}")


def test_rooms():
    name = first_room()
    for command in ("judge", "field"):
        result = expect_status(3, command, JOB, "--room", name + "x")
        expect(f'did you mean "{name}"?' in result.stderr.decode(), f"{result.stderr}")
        expect_status(3, command, JOB, "--room", "")
    if len(document("check", JOB, "--json")["rooms"]) > 1:
        result = expect_status(2, "field", JOB)
        expect(b"name one with --room" in result.stderr, f"field: {result.stderr}")


def test_judge_json():
    name = first_room()
    words = ("judge", JOB, "--room", name, *LITTLE, "--json")
    first = expect_status(0, *words).stdout
    doc = checked(first, "judge")
    expect([r["name"] for r in doc["rooms"]] == [name], "other rooms than asked")
    room = doc["rooms"][0]
    for key in ("volume_m3", "verdict", "margin", "sure", "right_share", "wrong_before",
                "wrong_after", "mended_share", "mended_response", "mended_decay",
                "lowest_right_hz", "reasons", "plan", "faults"):
        expect(key in room, f"judge: no {key}")
    expect(room["verdict"] in ("no", "voice", "music"), f"verdict {room['verdict']}")
    expect(len(room["reasons"]) >= 1, "no reasons")
    # Same input, same bytes, also into a file.
    result = expect_status(0, *words, "--out", "a.json")
    expect(result.stdout == b"", "--out prints all the same")
    expect(read("a.json") == first, "a rerun gives other bytes")
    expect(os.listdir() == ["a.json"], f"left {os.listdir()}")
    # Another number of threads may change the last digits, never the answer.
    result = expect_status(0, *words, OMP_NUM_THREADS="1")
    alone = strict_json(result.stdout)["rooms"][0]
    expect(alone["verdict"] == room["verdict"], "one thread gives another verdict")
    expect(abs(alone["wrong_before"] - room["wrong_before"]) < 1e-9, "one thread reads otherwise")


def test_judge_text_and_reports():
    name = first_room()
    words = ("judge", JOB, "--room", name, *LITTLE)
    texts = [expect_status(0, *words, "--report", f"{n}.pdf", "--report", f"{n}.html").stdout
             for n in "ab"]
    expect(name in texts[0].decode(), "the text does not name the room")
    expect(texts[0] == texts[1], "a rerun gives another text")
    expect(read("a.pdf").startswith(b"%PDF-"), "not a PDF")
    expect(b"<html" in read("a.html")[:200].lower(), "not an HTML file")
    expect(read("a.pdf") == read("b.pdf"), "a rerun gives another PDF")
    expect(read("a.html") == read("b.html"), "a rerun gives another HTML file")
    expect(sorted(os.listdir()) == ["a.html", "a.pdf", "b.html", "b.pdf"], f"left {os.listdir()}")


def test_judge_failed_writes():
    name = first_room()
    words = ("judge", JOB, "--room", name, *LITTLE)
    for target in ("a.pdf", "a.html", "a.json"):
        write(target, "old")
    result = expect_status(1, *words, "--report", "a.pdf", "--report", "a.html",
                           setup=small_files(1000))
    for target in (b"a.pdf", b"a.html"):
        expect(target + b": error: " in result.stderr, f"{target}: {result.stderr}")
    expect(name in result.stdout.decode(), "the answer is lost with the reports")
    expect_status(1, *words, "--json", "--out", "a.json", setup=small_files(100))
    for target in ("a.pdf", "a.html", "a.json"):
        expect(read(target) == b"old", f"{target}: the old file is gone")
    expect(sorted(os.listdir()) == ["a.html", "a.json", "a.pdf"], f"left {os.listdir()}")
    with open("/dev/full", "wb") as full:
        expect_status(1, *words, stdout=full)


def test_progress():
    words = ("field", JOB, "--room", first_room(), *BAND)
    expect(b"%" in on_terminal(*words, TERM="xterm"), "no sign of life on a terminal")
    for env, more in (({"TERM": "dumb"}, ()), ({"TERM": "xterm"}, ("-q",))):
        said = on_terminal(*words, *more, **env)
        expect(b"solving" not in said, f"progress with {env} {more}: {said}")
    expect(b"solving" not in expect_status(0, *words).stderr, "progress without a terminal")


main(test_check, test_schema_and_limits, test_field_json,
     test_field_does_not_depend_on_the_origin, test_field_text, test_field_warns, test_rooms,
     test_judge_json, test_judge_text_and_reports, test_judge_failed_writes, test_progress)
