# SPDX-License-Identifier: GPL-3.0-or-later
"""A verdict called sure holds when the room, the air or the search's seed is a little different."""
import re

from common import JOB, expect, expect_status, main, strict_json, write


def verdicts(path, *more):
    result = expect_status(0, "judge", path, "--json", "--no-relaxed", *more)
    return {room["name"]: (room["verdict"], room["near_border"])
            for room in strict_json(result.stdout)["rooms"]}


def a_centimetre_more(text):
    """Every room one centimetre longer."""
    text = re.sub(r"size: \[([0-9.]+) m, ([0-9.]+) m, ([0-9.]+) m\]",
                  lambda m: f"size: [{float(m[1]) + 0.01:.2f} m, {m[2]} m, {m[3]} m]", text)
    return text.replace("[3.6 m, 0 m], [3.6 m, 2.8 m]", "[3.61 m, 0 m], [3.61 m, 2.8 m]")


def test_sure_verdicts_hold():
    with open(JOB, encoding="utf-8") as file:
        text = re.sub(r"    may_change: .*\n", "", file.read())
    write("as-is.yaml", text)
    write("longer.yaml", a_centimetre_more(text))
    write("warmer.yaml", text.replace("temperature: 20 C", "temperature: 21 C"))
    expect(a_centimetre_more(text) != text, "the longer job is the same job")
    before = verdicts("as-is.yaml")
    changed = {"1 cm longer": verdicts("longer.yaml"), "1 C warmer": verdicts("warmer.yaml"),
               "another seed": verdicts("as-is.yaml", "--seed", "2")}
    for change, after in changed.items():
        for name, (verdict, near) in before.items():
            print(f"{name}: {verdict}{' (near the border)' if near else ''}, "
                  f"{change}: {after[name][0]}")
            expect(near or after[name][0] == verdict or after[name][1],
                   f"{name}, {change}: {verdict} called sure became {after[name][0]}, also sure")


main(test_sure_verdicts_hold)
