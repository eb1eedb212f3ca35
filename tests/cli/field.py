# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb field`: pictures, rooms that are no box, and what can be wrong with the question."""
import os
import re
import xml.etree.ElementTree as xml

from common import JOB, checked, document, expect, expect_status, main, read, write

BAND = ("--from", "20 Hz", "--to", "80 Hz", "--step", "20 Hz", "-q")
ROOM = ("--room", "Chart room", *BAND)

SHAPED = """job: Shapes
use: music
constructions: {brick: {admittance: 0.02}}
rooms:
  - name: corner
    plan: [[1 m, 0 m], [5 m, 0 m], [5 m, 2 m], [3 m, 2 m], [3 m, 4 m], [1 m, 4 m]]
    ceiling: 2.5 m
    surfaces: {all: brick}
    seats: [{name: lead, at: [2 m, 3 m, 1.2 m]}]
    speakers: [{name: left, at: [4 m, 1 m, 1.2 m]}]
  - name: roof
    plan: [[0 m, 0 m], [4 m, 0 m], [4 m, 3 m], [0 m, 3 m]]
    ceiling: {eaves: 2 m, ridge: {height: 3 m, from: [2 m, 0 m], to: [2 m, 3 m]}}
    surfaces: {all: brick}
    seats: [{name: lead, at: [2 m, 1 m, 1.2 m]}]
    speakers: [{name: left, at: [1 m, 2 m, 1.2 m]}]
"""


def field(*words, room=ROOM, job=JOB):
    return expect_status(0, "field", job, *room, *words)


def is_picture(path):
    starts = {"svg": b"<?xml", "pdf": b"%PDF", "png": b"\x89PNG"}
    data = read(path)
    expect(data.startswith(starts[path[-3:]]), f"{path} is another kind of file")
    if path.endswith("svg"):
        expect(xml.fromstring(data).tag.endswith("svg"), f"{path} is no SVG")
    return data


def test_pictures_come_beside_the_numbers():
    plain = field().stdout
    for name, what in (("a.svg", ("--mode", "2")), ("b.png", ("--mode", "48Hz")),
                       ("c.pdf", ("--pressure", "63 Hz"))):
        expect(field("--picture", name, *what).stdout == plain, f"{what}: other numbers")
        is_picture(name)
        first = read(name)
        field("--picture", name, *what)
        expect(read(name) == first, f"{what}: another picture the second time")


def shades(path):
    """The shaded areas of a picture alone: its title always differs."""
    tree = xml.fromstring(is_picture(path))
    long = [p.get("d") for p in tree.iter() if p.tag.endswith("path") and p.get("fill", "none")
            not in ("none", "") and len(p.get("d")) > 400 and p.get("fill-rule")]
    expect(len(long) >= 1, f"{path} has {len(long)} shades")
    return "".join(long)


def test_what_is_asked_changes_the_picture():
    seen = {}
    for words in (("--mode", "1"), ("--mode", "2"), ("--mode", "3", "--cut", "height 2 m"),
                  ("--mode", "3", "--cut", "height 1 m"), ("--mode", "60Hz"),
                  ("--pressure", "48Hz"), ("--pressure", "60Hz"),
                  ("--pressure", "60Hz", "--speaker", "left"),
                  ("--pressure", "60Hz", "--speaker", "right"),
                  ("--mode", "4", "--cut", "length 1 m"), ("--mode", "4", "--cut", "length 2.2 m"),
                  ("--mode", "4", "--cut", "width 3 ft"), ("--mode", "4", "--cut", "width 2.1 m")):
        field("--picture", "x.svg", *words)
        seen.setdefault(shades("x.svg"), []).append(words)
    for same in seen.values():
        expect(len(same) == 1, f"one picture for {same}")
    field("--picture", "x.svg", "--mode", "1")
    first = read("x.svg")
    field("--picture", "x.svg", "--mode", "1", "--cut", "height 1.2 m")  # the ears of the seat
    expect(read("x.svg") == first, "the cut by itself is another")
    field("--picture", "x.svg", "--mode", "1", "--units", "imperial")
    expect(read("x.svg") != first, "feet look like metres")


TWO = """job: Two
use: music
constructions: {{brick: {{admittance: 0.02}}}}
rooms:
  - name: box
    size: [4 m, 3 m, 2.5 m]
    surfaces: {{all: brick}}
    seats: [{{name: lead, at: [2 m, 1.5 m, 1.2 m]}}]
    speakers: [{{name: {0}, at: [0.5 m, 1 m, 1 m]}}, {{name: {1}, at: [3 m, 2 m, 1 m]}}]
"""


def test_a_speaker_is_meant_by_its_name():
    """Names changed over, the other one is asked for: the same place sounds."""
    pictures = []
    for names, asked in ((("left", "right"), "right"), (("right", "left"), "left"),
                         (("left", "right"), "left")):
        write("two.yaml", TWO.format(*names))
        field("--picture", "x.svg", "--pressure", "60Hz", "--speaker", asked, room=BAND,
              job="two.yaml")
        pictures.append(shades("x.svg"))
    expect(pictures[0] == pictures[1], "another place sounds")
    expect(pictures[0] != pictures[2], "both speakers sound alike")


def test_numbers_of_modes_are_those_of_the_list():
    text = field().stdout.decode()
    rigid = text.split("Rigid-wall modes")[1].split("\n\n")[0]
    rows = [line.split() for line in rigid.splitlines()[2:]]
    expect([int(r[0]) for r in rows] == list(range(1, len(rows) + 1)), f"numbers of {rows}")
    field("--picture", "x.svg", "--mode", rows[-1][0])
    result = expect_status(3, "field", JOB, *ROOM, "--picture", "y.svg", "--mode",
                           str(len(rows) + 1))
    expect(f"the last is {len(rows)} at {rows[-1][1]} Hz" in result.stderr.decode(),
           f"no word of the last mode: {result.stderr}")
    expect(not os.path.exists("y.svg"), "a picture of a mode that is not there")


def test_trust_is_told():
    doc = document("field", JOB, *ROOM, "--json")
    expect(doc["shaped"] is False and doc["elements"] is None, "a box with elements")
    size = doc["size_m"]
    expect(abs(doc["volume_m3"] - size[0] * size[1] * size[2]) < 1e-9, f"{doc['volume_m3']} m3")
    expect(doc["trust"]["mesh"] == 0 and doc["trust"]["truncation"] >= 0, f"{doc['trust']}")
    line = field().stdout.decode().splitlines()[1]
    expect(re.match(r"Estimated error of the calculation: levels [\d.e+-]+ dB", line), line)


def test_misuse():
    picture = ("--picture", "x.svg")
    for words, said in (((*picture,), "--mode or --pressure"),
                        ((*picture, "--mode", "1", "--pressure", "50Hz"), "--mode or --pressure"),
                        (("--mode", "1"), "--picture"), (("--cut", "height 1 m"), "--picture"),
                        (("--picture", "x.gif", "--mode", "1"), ".svg, .pdf or .png"),
                        ((*picture, "--pressure", "90Hz"), "between 20 Hz and 80 Hz"),
                        ((*picture, "--mode", "90Hz"), "between 20 Hz and 80 Hz"),
                        ((*picture, "--mode", "0"), "from 1"),
                        ((*picture, "--mode", "45 kg"), "frequency"),
                        ((*picture, "--mode", "1", "--speaker", "left"), "--pressure"),
                        ((*picture, "--mode", "1", "--cut", "depth 1 m"),
                         "length, width or height"),
                        ((*picture, "--mode", "1", "--cut", "height 1"), "length such as"),
                        ((*picture, "--mode", "1", "--cut", "height"), "length such as"),
                        (("--cache", "x", "--no-cache"), "do not go together"),
                        (("--cache", ""), "folder")):
        result = expect_status(2, "field", JOB, *ROOM, *words)
        expect(said in result.stderr.decode(), f"{words}: {result.stderr}")
    expect(os.listdir() == [], f"left {os.listdir()}")


def test_bad_places():
    picture = ("--picture", "x.svg", "--pressure", "50Hz")
    for words, said in ((("--cut", "height 2.5 m"), "from 0 to 2.40 m"),
                        (("--cut", "width -1 cm"), "from 0 to 2.80 m"),
                        (("--speaker", "lefd"), 'did you mean "left"?')):
        result = expect_status(3, "field", JOB, *ROOM, *picture, *words)
        expect(said in result.stderr.decode(), f"{words}: {result.stderr}")
    expect(os.listdir() == [], f"left {os.listdir()}")
    expect_status(1, "field", JOB, *ROOM, "--picture", "no/such/x.svg", "--mode", "1")


def test_rooms_that_are_no_box():
    write("shapes.yaml", SHAPED)
    for name, volume, size in (("corner", 30.0, [4, 4, 2.5]), ("roof", 30.0, [4, 3, 3])):
        room = ("--room", name, *BAND, "--cache", "kept")
        first = expect_status(0, "field", "shapes.yaml", *room, "--json").stdout
        doc = checked(first, "field")
        expect(doc["shaped"] is True, f"{name} is a box")
        expect(abs(doc["volume_m3"] - volume) < 1e-6, f"{name}: {doc['volume_m3']} m3")
        expect(all(abs(a - b) < 1e-9 for a, b in zip(doc["size_m"], size)), f"{doc['size_m']}")
        expect(doc["elements"]["unknowns"] > 0 and doc["elements"]["order"] > 0,
               f"{name}: {doc['elements']}")
        expect(0 < doc["trust"]["mesh"] < 1e-2, f"{name}: {doc['trust']}")
        for m in doc["modes"]:
            expect(m["label"][1:] == [-1, -1] and m["label"][0] >= 0, f"{name}: {m['label']}")
        expect(len(os.listdir("kept")) >= 1, "nothing is kept")
        expect(expect_status(0, "field", "shapes.yaml", *room, "--json").stdout == first,
               f"{name}: what was kept gives another answer")
        text = field("--picture", name + ".svg", "--mode", "1", room=room, job="shapes.yaml")
        head = text.stdout.decode().splitlines()
        expect(" around it, 30 m3" in head[0], head[0])
        expect(head[1].startswith("Elements: "), head[1])
        is_picture(name + ".svg")
        field("--picture", name + ".png", "--pressure", "50Hz", "--cut", "width 1.5 m", room=room,
              job="shapes.yaml")
        is_picture(name + ".png")


def test_no_cache_keeps_nothing():
    write("shapes.yaml", SHAPED)
    room = ("--room", "corner", *BAND)
    os.mkdir("home")
    home = os.path.abspath("home")
    expect_status(0, "field", "shapes.yaml", *room, "--no-cache", EBB_CACHE=home)
    expect(os.listdir("home") == [], f"--no-cache leaves {os.listdir('home')}")
    expect_status(0, "field", "shapes.yaml", *room, EBB_CACHE=home)
    expect(len(os.listdir("home")) >= 1, "EBB_CACHE stays empty")


def test_modes_of_the_corner():
    """The lowest mode lies between those of its longest way, 8 m round the corner, and of one leg,
    4 m; below a level ceiling there are modes with just half a wave over the height."""
    write("shapes.yaml", SHAPED)
    doc = document("field", "shapes.yaml", "--room", "corner", *BAND, "--no-cache", "--json")
    speed = doc["air"]["speed_m_s"]
    expect(speed / (2 * 8) < doc["rigid_modes_hz"][0] < speed / (2 * 4),
           f"lowest mode at {doc['rigid_modes_hz'][0]} Hz")
    height = speed / (2 * 2.5)
    expect(min(abs(hz - height) for hz in doc["rigid_modes_hz"]) < 1e-3 * height,
           f"no mode at {height} Hz in {doc['rigid_modes_hz']}")


main(test_pictures_come_beside_the_numbers, test_what_is_asked_changes_the_picture,
     test_a_speaker_is_meant_by_its_name, test_numbers_of_modes_are_those_of_the_list,
     test_trust_is_told, test_misuse, test_bad_places, test_rooms_that_are_no_box,
     test_no_cache_keeps_nothing, test_modes_of_the_corner)
