# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb reshape` on the example: map, moves, plot, refusals, the same bytes twice."""
import os

from common import JOB, checked, expect, expect_status, main

ROOM = ("--room", "Chart room", "--treat", "0", "--sizes", "30", "-q")


def test_map_and_moves():
    first = expect_status(0, "reshape", JOB, *ROOM, "--json").stdout
    expect(first == expect_status(0, "reshape", JOB, *ROOM, "--json").stdout,
           "two runs of reshape differ")
    doc = checked(first, "reshape")
    grid = doc["map"]
    sizes = len(grid["length_m"]) * len(grid["width_m"]) * len(grid["height_m"])
    expect(sizes == len(grid["wrong"]) and 8 <= sizes <= 30, f"{sizes} sizes")
    expect(min(grid["wrong"]) == doc["best"]["wrong"], "the best size is not the least of the map")
    expect(doc["moves"][0]["moves"] is None and doc["moves"][0]["size_m"] == doc["today"]["size_m"],
           "the room as it is does not stand first")
    for move in doc["moves"][1:]:
        expect(abs(move["by_m"]) in (0.3, 0.6), f"a move of {move['by_m']} m")


def test_a_move_is_treated():
    text = expect_status(0, "reshape", JOB, "--room", "Chart room", "--treat", "1", "--sizes", "8",
                         "-q", "--json").stdout
    treated = [m for m in checked(text, "reshape")["moves"] if m["treated"]]
    expect(len(treated) == 2, f"{len(treated)} rooms treated, wanted today's and one")
    # Common practice, no source: a foot or two can halve the faults. True here of what a plan
    # leaves, and not of the bare room (docs/room-sizes.md).
    left = sorted(move["treated"]["wrong_after"] for move in treated)
    bare = sorted(move["wrong"] for move in treated)
    expect(left[0] < left[1] / 2, f"a foot does not halve what plans leave wrong: {left}")
    expect(bare[0] > 0.75 * bare[1], f"a foot changes the bare room: {bare}")
    for move in treated:
        expect(move["treated"]["verdict"] in ("no", "voice", "music"), f"{move['treated']}")
        expect(move["treated"]["wrong_after"] < move["wrong"], "a plan that makes a room worse")


def test_text_and_plot():
    text = expect_status(0, "reshape", JOB, *ROOM, "--plot", "map.svg").stdout.decode()
    expect("Today" in text and "as it is" in text, "the table is not complete")
    expect(max(map(len, text.splitlines())) <= 100, "a line is over 100 columns")
    expect(os.path.getsize("map.svg") > 1000, "the plot is empty")


BEND = """job: bend
use: music
lowest: 40 Hz
rooms:
  - name: Bend
    plan: [[0 m, 0 m], [3.4 m, 0 m], [3.4 m, 1.7 m], [2.1 m, 1.7 m], [2.1 m, 2.6 m], [0 m, 2.6 m]]
    ceiling: 2.4 m
    surfaces: {all: brick, floor: timber-floor}
    seats: [{name: lead, at: [1.7 m, 1.2 m, 1.2 m]}]
    speakers: [{name: left, at: [0.5 m, 0.5 m, 1.2 m]}, {name: right, at: [0.5 m, 1.7 m, 1.2 m]}]
    may_move: [{surface: wall_2, by: [-0.4 m, 0 m]}, {surface: ceiling, by: [0 m, 0.3 m]}]
"""


def test_walls_move_by_name():
    """A room that is no rectangle: no map, but each named wall by what its limits allow."""
    with open("bend.yaml", "w", encoding="utf-8") as file:
        file.write(BEND)
    os.environ["EBB_CACHE"] = os.path.abspath("modes")  # the second run finds those of the first
    doc = checked(expect_status(0, "reshape", "bend.yaml", "--treat", "0", "-q", "--json").stdout,
                  "reshape")
    expect(doc["map"]["wrong"] == [], "a map without dimensions that may change")
    moves = {(m["moves"], m["by_m"]): m for m in doc["moves"][1:]}
    wanted = {("wall_2", -0.3), ("ceiling", 0.3)}
    expect(set(moves) == wanted, f"moves {sorted(moves)}")
    for (wall, by), move in moves.items():
        axis = 0 if wall == "wall_2" else 2
        size = [3.4, 2.6, 2.4]
        size[axis] += by
        expect(all(abs(a - b) < 1e-6 for a, b in zip(move["size_m"], size)),
               f"{wall} by {by}: the box around the room is {move['size_m']}")
        expect(0 < move["wrong"] <= 1, f"{wall} by {by}: {move['wrong']} wrong")
    order = [m["wrong"] for m in doc["moves"][1:]]
    expect(order == sorted(order), "the move that mends most does not stand first")
    expect(len({m["wrong"] for m in doc["moves"]}) > 1, "moving walls changes nothing")
    expect(doc["best"]["wrong"] == min(m["wrong"] for m in doc["moves"]), "not the best of them")
    text = expect_status(0, "reshape", "bend.yaml", "--treat", "0", "-q").stdout.decode()
    expect("wall_2 -300 mm" in text and "box around the room" in text, text)


def test_refusals():
    expect_status(3, "reshape", JOB, "--room", "Rope locker", "-q")  # nothing may change
    expect_status(3, "reshape", JOB, "--room", "No such room", "-q")
    expect_status(2, "reshape", JOB, "-q")  # several rooms
    expect_status(2, "reshape", JOB, *ROOM, "--plot", "map.gif")
    expect_status(2, "reshape", JOB, "--room", "Chart room", "--sizes", "3", "-q")
    expect(not os.path.exists("map.gif"), "a refused plot was written")


main(test_map_and_moves, test_a_move_is_treated, test_text_and_plot, test_walls_move_by_name,
     test_refusals)
