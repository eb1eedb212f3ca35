# SPDX-License-Identifier: GPL-3.0-or-later
"""Job files of the reference cases, read without any help of the library.

The cases are written as JSON, which is YAML too, so that json reads what `ebb` reads. Supported is
what the cases need: a plan of straight walls, a flat ceiling or one ridge along two of the walls,
constructions by admittance or as one lumped layer on a rigid back, units on surfaces.

A room becomes a cross-section times a line. With a flat ceiling the cross-section is the plan, the
line its height; under a ridge the cross-section stands upright, across the ridge, and the line runs
along it. Places in the cross-section are (u, v): metres in a plan; under a ridge u is metres and v
the share of the height there, so that both sides of the roof are at v = 1.
"""
import json
import math
from dataclasses import dataclass, field


def number(text, unit):
    """A quantity; the cases use one unit per kind."""
    value, given = text.split()
    if given != unit:
        raise ValueError(f"{text}: expected {unit}")
    return float(value)


def metres(values):
    return [number(v, "m") for v in values]


@dataclass
class Side:
    """A flat side of the cross-section, on a line of its grid, as long as the line."""

    axis: int  # the coordinate that is constant: 0 u, 1 v
    at: float
    span: tuple  # of the other coordinate
    scale: float  # metres per unit of the other coordinate
    forward: tuple  # does the surface's own place run with (that coordinate, line)?
    across: bool = False  # under a ridge its along runs with the line, its up with the coordinate


@dataclass
class Room:
    speed: float
    density: float
    boxes: list  # [u0, u1, v0, v1, t0, t1]: parts of the cross-section; height there t0 + t1 u
    length: float  # of the line
    ends: list  # walls at the two ends of the line
    sides: dict  # surface name -> Side
    walls: dict  # surface name -> wall, as in reference_fem.admittance
    patches: list  # walls with side, low, size in (coordinate, line), piston
    sources: list
    receivers: list
    corners: list = field(default_factory=list)  # re-entrant ones, (u, v)


def wall_of(entry, rho_c):
    if "admittance" in entry:
        return {"beta": entry["admittance"]}
    (layer,) = entry["layers"]
    part = layer["lumped"]
    if entry.get("back", "rigid") != "rigid":
        raise ValueError("a lumped layer stands on a rigid back")
    return {"lumped": {"mass": number(part["mass"], "kg/m2"),
                       "resonance": number(part["resonance"], "Hz"),
                       "resistance": number(part["resistance"], "Pa.s/m") / rho_c}}


class Frame:
    """Level frame of a cross-section: origin, unit vectors of u and of the other level axis."""

    def __init__(self, origin, direction):
        length = math.hypot(*direction)
        self.origin, self.a = origin, [d / length for d in direction]

    def local(self, point):
        x, y = point[0] - self.origin[0], point[1] - self.origin[1]
        a = self.a
        return round(x * a[0] + y * a[1], 7), round(y * a[0] - x * a[1], 7)


# ---- flat ceiling: plan times height -------------------------------------------------------------

def rectangles(corners):
    """A plan with sides along u and v as rectangles between its v lines."""
    lines = sorted({c[1] for c in corners})
    boxes = []
    for low, high in zip(lines, lines[1:]):
        middle = (low + high) / 2
        cuts = sorted(a[0] for a, b in zip(corners, corners[1:] + corners[:1])
                      if min(a[1], b[1]) < middle < max(a[1], b[1]))
        boxes += [[u0, u1, low, high, 1.0, 0.0] for u0, u1 in zip(cuts[::2], cuts[1::2])]
    return boxes


def inward(corners):
    """Corners where the room is wider than a half-plane."""
    out = []
    for i, b in enumerate(corners):
        a, c = corners[i - 1], corners[(i + 1) % len(corners)]
        if (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) < 0:
            out.append(b)
    return out


def flat(room, plan):
    frame = Frame(plan[0], [b - a for a, b in zip(plan[0], plan[1])])
    corners = [frame.local(p) for p in plan]
    sides = {}
    for i, a in enumerate(corners):
        b = corners[(i + 1) % len(corners)]
        axis = 0 if abs(a[0] - b[0]) < 1e-6 else 1
        low, high = sorted((a[1 - axis], b[1 - axis]))
        sides[f"wall_{i + 1}"] = Side(axis, a[axis], (low, high), 1.0,
                                      (b[1 - axis] > a[1 - axis], True))
    return {"boxes": rectangles(corners), "corners": inward(corners),
            "length": number(room["ceiling"], "m"), "ends": ["floor", "ceiling"], "sides": sides,
            "place": lambda p: (*frame.local(p), p[2])}


# ---- ridge: cross-section times length -----------------------------------------------------------

def ridged(room, plan):
    ridge = room["ceiling"]["ridge"]
    eaves, top = number(room["ceiling"]["eaves"], "m"), number(ridge["height"], "m")
    begin, end = metres(ridge["from"]), metres(ridge["to"])
    # The wall that runs with the ridge gives the frame: u to its left, the line along it.
    first = next(i for i in range(4) if parallel(plan[i], plan[(i + 1) % 4], begin, end))
    frame = Frame(plan[first], [b - a for a, b in zip(plan[first], plan[(first + 1) % 4])])
    length, width = frame.local(plan[(first + 2) % 4])
    peak = frame.local(begin)[1]
    rise = [(top - eaves) / peak, (top - eaves) / (peak - width)]
    boxes = [[0.0, peak, 0.0, 1.0, eaves, rise[0]],
             [peak, width, 0.0, 1.0, eaves - rise[1] * width, rise[1]]]
    names = [f"wall_{(first + i) % 4 + 1}" for i in range(4)]
    sides = {names[0]: Side(0, 0.0, (0.0, 1.0), eaves, (True, True), True),
             names[2]: Side(0, width, (0.0, 1.0), eaves, (True, False), True),
             "floor": Side(1, 0.0, (0.0, width), 1.0, (True, True), True)}
    for name, (low, high), slope in zip(slopes(room, plan, frame, peak),
                                        [(0.0, peak), (peak, width)], rise):
        sides[name] = Side(1, 1.0, (low, high), math.hypot(1, slope), (slope > 0, slope > 0),
                           True)

    def place(point):
        along, u = frame.local(point)
        ceiling = eaves + (rise[0] * u if u < peak else rise[1] * (u - width))
        return u, point[2] / ceiling, along

    return {"boxes": boxes, "length": length, "ends": [names[3], names[1]], "sides": sides,
            "place": place}


def parallel(a, b, c, d):
    return abs((b[0] - a[0]) * (d[1] - c[1]) - (b[1] - a[1]) * (d[0] - c[0])) < 1e-6


def slopes(room, plan, frame, peak):
    """Names of the sloping ceilings at low and at high u. The first one of a job is that to the
    left of the ridge as it is drawn."""
    ridge = room["ceiling"]["ridge"]
    begin, end = frame.local(metres(ridge["from"])), frame.local(metres(ridge["to"]))
    left_is_high = end[0] > begin[0]
    return ("ceiling_2", "ceiling_1") if left_is_high else ("ceiling_1", "ceiling_2")


# ---- what hangs there ----------------------------------------------------------------------------

def construction_of(name, surfaces):
    groups = [name]
    if name.startswith("wall"):
        groups.append("walls")
    if name.startswith("ceiling"):
        groups.append("ceilings")
    return next(surfaces[g] for g in groups + ["all"] if g in surfaces)


def patch_of(entry, job, sides, length, rho_c):
    """(along, up) on the surface becomes (coordinate of the cross-section, line)."""
    unit = job["absorbers"][entry["unit"]]
    side = sides[entry["on"]]
    size, at = metres(unit["face"]), metres(entry["at"])
    if entry.get("turned"):
        size = size[::-1]
    pairs = list(zip(at, size))[::-1 if side.across else 1]
    whole = (side.span[1] - side.span[0]) * side.scale
    (low, wide), (start, high) = pairs
    if not side.forward[0]:
        low = whole - low - wide
    if not side.forward[1]:
        start = length - start - high
    return dict(wall_of(unit, rho_c), side=entry["on"], piston=unit["moves"] == "piston",
                low=[side.span[0] + low / side.scale, start], size=[wide / side.scale, high],
                area=wide * high)


def read(path, name=None):
    with open(path, encoding="utf-8") as file:
        job = json.load(file)
    room = next(r for r in job["rooms"] if name in (None, r["name"]))
    air = job["air"]
    speed, density = number(air["speed"], "m/s"), number(air["density"], "kg/m3")
    plan = [metres(p) for p in room["plan"]]
    shape = flat(room, plan) if isinstance(room["ceiling"], str) else ridged(room, plan)
    place = shape.pop("place")
    names = list(shape["sides"]) + shape["ends"]
    walls = {n: wall_of(job["constructions"][construction_of(n, room["surfaces"])],
                        speed * density) for n in names}
    patches = [patch_of(p, job, shape["sides"], shape["length"], speed * density)
               for p in room.get("placed", [])]
    points = [[place(metres(s["at"])) for s in room[kind]] for kind in ("speakers", "seats")]
    return Room(speed, density, walls=walls, patches=patches, sources=points[0],
                receivers=points[1], **shape)
