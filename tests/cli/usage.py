# SPDX-License-Identifier: GPL-3.0-or-later
"""Help, wrong usage, exit statuses, colour: nothing here judges a room."""
import os

from common import JOB, expect, expect_status, main, on_terminal, read, run, small_files, write
from common import closed_pipe

COMMANDS = ("judge", "field", "check", "schema", "limits")


def test_help():
    for words in (("--help",), ("-h",), *((c, "--help") for c in COMMANDS),
                  *((c, "-h") for c in COMMANDS)):
        result = expect_status(0, *words)
        text = result.stdout.decode()
        expect(text.startswith("Usage: ebb"), f"{words}: no usage line")
        expect("Examples:" in text, f"{words}: no examples")
        expect(text.index("Examples:") < text.index("Options:"), f"{words}: examples come late")
        expect(result.stderr == b"", f"{words}: says {result.stderr}")
        expect(max(map(len, text.splitlines())) <= 100, f"{words}: a line is too long")
    # Help is given even where the rest is wrong or missing.
    expect_status(0, "judge", "--room", "x", "--help")


def test_version():
    result = expect_status(0, "--version")
    expect(result.stdout.decode().startswith("ebb "), f"version: {result.stdout}")
    expect(len(result.stdout.split()[1].split(b".")) == 3, f"version: {result.stdout}")


def expect_misuse(wanted, *words):
    result = expect_status(2, *words)
    expect(result.stdout == b"", f"{words}: prints {result.stdout[:80]}")
    expect(wanted in result.stderr.decode(), f"{words}: says {result.stderr}, not {wanted}")


def test_misuse():
    expect_misuse("Usage: ebb COMMAND")
    expect_misuse("unknown command juge; did you mean `judge`?", "juge")
    expect_misuse("unknown command zzzzzzzzz\n", "zzzzzzzzz")
    expect_misuse("unknown option --frobnicate", "--frobnicate")
    for c in ("judge", "field", "check"):
        expect_misuse("JOB is missing", c)
        expect_misuse("one argument too many: b", c, "a", "b")
        expect_misuse("unknown option --jsno; did you mean --json?", c, "a", "--jsno")
        expect_misuse("unknown option --js", c, "a", "--js")  # no abbreviations
        expect_misuse("unknown option -x", c, "a", "-x")
        expect_misuse("--out wants a value: FILE", c, "a", "--out")
        expect_misuse("--json takes no value", c, "a", "--json=yes")
        expect_misuse(f"`ebb {c} --help`", c)
    expect_misuse("one argument too many: a", "schema", "a")
    expect_misuse("one argument too many: --json", "limits", "--", "--json")
    expect_misuse("metric or imperial is wanted", "judge", "a", "--units", "royal")
    expect_misuse("must end in .pdf or .html", "judge", "a", "--report", "a.docx")
    expect_misuse("must end in .pdf or .html", "judge", "a", "--report", ".pdf")


def test_numbers():
    for bad in ("", "-1", "+1", " 1", "1.5", "4097", "99999999999999999999", "many"):
        expect_misuse("a whole number from 0 to 4096 is wanted", "judge", "a", "--draws", bad)
    expect_misuse("a whole number from 1 to 64 is wanted", "judge", "a", "--starts=0")
    expect_misuse("a whole number from 0 to 4294967295", "judge", "a", "--seed", "4294967296")
    expect_misuse("a unit is missing", "field", "a", "--from", "20")
    expect_misuse('"m" is not a unit of frequency', "field", "a", "--to", "20 m")
    expect_misuse("it lies between 20 Hz and 400 Hz", "field", "a", "--to", "2 kHz")
    expect_misuse("it lies between 5 Hz and 400 Hz", "field", "a", "--from", "-20 Hz")
    expect_misuse("does not lie below", "field", "a", "--from", "90Hz", "--to", "80Hz")
    expect_misuse("at most 20000 are calculated", "field", "a", "--to", "400Hz", "--step", "0.01Hz")


def test_unreadable_job():
    for command in ("judge", "field", "check"):
        result = expect_status(1, command, "missing.yaml")
        expect(b"missing.yaml: error: " in result.stderr, f"{command}: {result.stderr}")
        expect_status(1, command, ".")


def test_bad_job():
    write("bad.yaml", "job: x\nrooms: 5\nfoo: 1\n")
    write("kept", "old")
    for command in ("judge", "field", "check"):
        result = expect_status(3, command, "bad.yaml", "--out", "kept")
        expect(b"bad.yaml:2:" in result.stderr, f"{command}: {result.stderr}")
        expect(b"bad.yaml:3:" in result.stderr, f"{command} stops early: {result.stderr}")
        expect(result.stdout == b"", f"{command}: prints {result.stdout}")
        expect(read("kept") == b"old", f"{command}: has written its output")
        expect(sorted(os.listdir()) == ["bad.yaml", "kept"], f"{command}: left {os.listdir()}")
        result = expect_status(3, command, "-", stdin=read("bad.yaml"))
        expect(b"standard input:2:" in result.stderr, f"{command}: {result.stderr}")
    expect_status(3, "check", "bad.yaml", "-q")


def test_colour():
    write("bad.yaml", "rooms: 5\n")
    expect(b"\033[" in on_terminal("check", "bad.yaml", TERM="xterm"), "no colour on a terminal")
    for env in ({"TERM": "dumb"}, {}, {"TERM": "xterm", "NO_COLOR": "1"}):
        said = on_terminal("check", "bad.yaml", **env)
        expect(b"error: " in said and b"\033" not in said, f"colour with {env}: {said}")
    said = on_terminal("check", "bad.yaml", "--no-color", TERM="xterm")
    expect(b"error: " in said and b"\033[1" not in said, f"--no-color: {said}")
    # NO_COLOR counts only when it is not empty.
    expect(b"\033[" in on_terminal("check", "bad.yaml", TERM="xterm", NO_COLOR=""), "NO_COLOR=")
    expect(b"\033" not in run("check", "bad.yaml", TERM="xterm").stderr, "colour without terminal")


def test_failed_writes():
    for words in (("--help",), ("--version",), ("judge", "--help"), ("limits",), ("schema",),
                  ("limits", "--json"), ("check", JOB), ("check", JOB, "--json")):
        with open("/dev/full", "wb") as full:
            expect_status(1, *words, stdout=full)
        pipe = closed_pipe()
        expect_status(1, *words, stdout=pipe)
        os.close(pipe)
        expect_status(1, *words, stdout=None, setup=lambda: os.close(1))
    write("kept", "old")
    result = expect_status(1, "schema", "--out", "kept", setup=small_files(100))
    expect(b"kept: error: cannot be written" in result.stderr, f"full disk: {result.stderr}")
    expect(read("kept") == b"old", "full disk: the old file is gone")
    expect(os.listdir() == ["kept"], f"full disk: left {os.listdir()}")
    expect_status(1, "schema", "--out", "no/such/folder")
    expect_status(1, "schema", "--out", ".")


def test_out():
    wanted = expect_status(0, "limits").stdout
    expect(expect_status(0, "limits", "--out", "-").stdout == wanted, "--out -")
    for words in (("--out", "a"), ("--out=b",), ("-o", "c"), ("-od",)):
        result = expect_status(0, "limits", *words)
        expect(result.stdout == b"", f"{words}: prints all the same")
    for name in "abcd":
        expect(read(name) == wanted, f"{name}: another text")


main(test_help, test_version, test_misuse, test_numbers, test_unreadable_job, test_bad_job,
     test_colour, test_failed_writes, test_out)
