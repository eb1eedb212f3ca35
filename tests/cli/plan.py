# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb plan` on the example: places, files, exit status, refusals, the same bytes twice."""
import os

from common import JOB, checked, expect, expect_status, main, run

ROOM = ("--room", "Chart room", "--starts", "1", "--no-boxes", "-q")
BRIEF = ROOM + ("--brief", "--draws", "0")
BOXES = ("--room", "Rope locker", "--starts", "1", "--brief", "--draws", "4", "-q")


def document(*words):
    """JSON of a plan, whether it passes or not, with its exit status checked against it."""
    result = run("plan", JOB, *words, "--json")
    expect(result.returncode in (0, 4), f"plan {words}: {result.returncode}, {result.stderr}")
    doc = checked(result.stdout, "plan")
    expect(doc["passes"] == (result.returncode == 0),
           f"status {result.returncode}, passes {doc['passes']}")
    return result.stdout, doc


def test_places_are_aligned():
    first, doc = document(*BRIEF)
    expect(first == document(*BRIEF)[0], "two runs of plan differ")
    units, places = doc["plan"]["units"], doc["places"]
    expect(len(units) == len(places) > 0, f"{len(units)} units, {len(places)} places")
    lengths = {"wall_1": 3.6, "wall_2": 2.8, "wall_3": 3.6, "wall_4": 2.8}
    for unit, place in zip(units, places):
        if unit["on"] in lengths:
            across = place["from_left_m"] + place["from_right_m"] + unit["size_m"][0]
            expect(abs(across - lengths[unit["on"]]) < 1e-9, f"{place} on {unit['on']}")
            high = place["from_floor_m"] + place["from_top_m"] + unit["size_m"][1]
            expect(abs(high - 2.4) < 1e-9, f"{place}")
        else:
            expect(len(place["walls"]) == 2 and min(place["from_walls_m"]) >= 0, f"{place}")
    for station in doc["stations"]:
        walls = dict(zip(station["walls"], station["from_walls_m"]))
        expect(len(walls) == 2, f"{station}")
        if "wall_4" in walls:
            expect(abs(walls["wall_4"] - station["at_m"][0]) < 1e-9, f"{station}")
        if "wall_1" in walls:
            expect(abs(walls["wall_1"] - station["at_m"][1]) < 1e-9, f"{station}")
    for key, total in doc["totals"].items():
        expect(total["allowed"] is None or total["used"] <= total["allowed"] + 1e-9, f"{key}")
    expect(doc["curve"] is None and doc["without"] == [], "a brief plan is not brief")


def test_the_whole_of_it():
    doc = document(*ROOM, "--draws", "8")[1]
    expect(len(doc["without"]) == len(doc["plan"]["units"]), "not every unit was left out once")
    for unit in doc["without"]:
        expect(len(unit["slow_t60_s"]) == len(doc["slow_modes"]), f"slow modes of {unit}")
    names = [a["name"] for a in doc["alternatives"]]
    expect(names == (["best", "cheapest", "lightest"] if doc["passes"] else ["best"]), f"{names}")
    best = doc["alternatives"][0]["plan"]
    for other in doc["alternatives"][1:]:
        expect(other["passes"] and other["right_share"] >= 0.5, f"{other['name']} does not pass")
        key = "cost" if other["name"] == "cheapest" else "mass_kg"
        expect(other["plan"][key] <= best[key], f"{other['name']} is none")
    parts = [p["unknown"] for p in doc["doubt"]["parts"]]
    expect(parts == ["walls", "size", "air", "units", "places", "middle band"], f"{parts}")
    expect(doc["doubt"]["right_share"] == doc["right_share"], "doubt and verdict differ")
    curve = doc["curve"]
    expect(len(curve["units"]) == len(curve["wrong"]) > curve["enough"], "curve")


def test_a_room_that_nothing_mends():
    text = expect_status(4, "plan", JOB, *BOXES).stdout.decode()
    expect("No plan we found makes the room right for music" in text, text[:300])
    expect("Nothing passes" in text, "alternatives are shown where there are none")
    expect("The same plan with its units as boxes\n" in text, "not solved again")
    expect(max(map(len, text.splitlines())) <= 100, "a line is over 100 columns")


def test_units_as_boxes():
    expect(document(*BRIEF)[1]["boxes"] is None, "solved again though it was not to be")
    doc = document(*BOXES)[1]
    boxes = doc["boxes"]
    expect(boxes["solved"] and boxes["reason"] is None, f"{boxes['reason']}")
    expect(boxes["bodies"] + boxes["flat_units"] == len(doc["plan"]["units"]), "units were lost")
    taken = sum(u["size_m"][0] * u["size_m"][1] * u["depth_m"] for u in doc["plan"]["units"])
    left = 2.3 * 1.7 * 2.2 - taken - boxes["closed_m3"]
    expect(abs(boxes["volume_m3"] - left) < 0.01 * taken, f"{boxes['volume_m3']} m3, not {left}")
    expect(0 < boxes["level_db"] <= boxes["level_most_db"] < 40, f"{boxes}")
    flips = boxes["right"] not in (boxes["flat_right"], doc["passes"])
    expect(boxes["flips"] == flips, f"{boxes}")
    expect((doc["reasons"][0] == boxes["sentence"]) == boxes["flips"], f"{doc['reasons']}")
    expect(boxes["flat_wrong"] == doc["after"]["wrong"], "not the plan that is shown")


def test_no_mesher_is_a_reason():
    result = run("plan", JOB, *BOXES, "--json", EBB_MESH="/no/such/mesher")
    expect(result.returncode == 4, f"{result.returncode}, {result.stderr}")
    boxes = checked(result.stdout, "plan")["boxes"]
    expect(not boxes["solved"] and "mesher" in boxes["reason"], f"{boxes}")
    expect("wrong" not in boxes and boxes["reason"] in boxes["sentence"], f"{boxes}")


def test_use_can_be_asked():
    doc = document(*BRIEF, "--use", "voice")[1]
    expect(doc["ebb"]["inputs"]["use"] == "voice", f"{doc['ebb']}")
    expect(doc["verdict"] in ("voice", "no"), f"{doc['verdict']}")


def test_files():
    document(*BRIEF, "--drawings", "sheets", "--report", "plan.html")
    names = sorted(os.listdir("sheets"))
    expect("plan.svg" in names and any(n.startswith("wall_") for n in names), f"{names}")
    with open("plan.html", encoding="utf-8") as f:
        page = f.read()
    expect("Working drawing: plan" in page and "<svg" in page, "no drawings in the report")
    document(*BRIEF, "--drawings", "sheets.pdf")
    with open("sheets.pdf", "rb") as f:
        expect(f.read(5) == b"%PDF-", "the drawings are no PDF")


def test_refusals():
    expect_status(2, "plan", JOB, "-q")  # several rooms
    expect_status(2, "plan", JOB, *BRIEF, "--use", "dance")
    expect_status(2, "plan", JOB, *BRIEF, "--report", "plan.doc")
    expect_status(2, "plan", JOB, *BRIEF, "--drawings", "plan.dwg")
    expect_status(2, "plan", JOB, *ROOM[:2], "--starts", "0")
    expect_status(3, "plan", JOB, "--room", "No such room", "-q")
    expect(not os.path.exists("plan.dwg"), "a refused folder was made")


main(test_places_are_aligned, test_the_whole_of_it, test_a_room_that_nothing_mends,
     test_units_as_boxes, test_no_mesher_is_a_reason, test_use_can_be_asked, test_files,
     test_refusals)
