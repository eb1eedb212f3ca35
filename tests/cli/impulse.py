# SPDX-License-Identifier: GPL-3.0-or-later
"""`ebb field --impulse`: sound files and tables, what is said of them, and what is refused."""
import csv
import os
import struct

from common import (document, expect, expect_status, main, on_terminal, read, small_files, write)

JOB = """job: Impulses
use: music
constructions: {brick: {admittance: 0.05}}
rooms:
  - name: box
    size: [4 m, 3 m, 2.5 m]
    surfaces: {all: brick}
    seats: [{name: lead, at: [2.2 m, 1.3 m, 1.2 m]}, {name: 'the "bench"', at: [3.5 m, 2 m, 1 m]}]
    speakers: [{name: left, at: [0.5 m, 1 m, 1 m]}, {name: right, at: [0.5 m, 2 m, 1 m]}]
"""
BAND = ("--from", "20 Hz", "--to", "100 Hz", "--step", "20 Hz", "-q")


def field(*words, status=0, **how):
    write("job.yaml", JOB)
    return expect_status(status, "field", "job.yaml", *BAND, *words, **how)


def read_wave(path):
    """Rate and rows of samples, one number per channel; the head must be whole and true."""
    data = read(path)
    expect(data[:4] == b"RIFF" and data[8:16] == b"WAVEfmt ", f"{path}: another kind of file")
    expect(struct.unpack("<I", data[4:8])[0] == len(data) - 8, f"{path}: length of the file")
    size, tag, channels, rate, per_second, frame, bits = struct.unpack("<IHHIIHH", data[16:36])
    expect((size, tag, bits) == (40, 0xfffe, 32), f"{path}: {size}, {tag}, {bits} bits")
    expect(frame == 4 * channels and per_second == rate * frame, f"{path}: {frame}, {per_second}")
    extra, valid, mask, kind = struct.unpack("<HHIH", data[36:46])
    expect((extra, valid, mask, kind) == (22, 32, 0, 3), f"{path}: {extra} {valid} {mask} {kind}")
    expect(data[60:68] == b"fact\x04\0\0\0" and data[72:76] == b"data", f"{path}: parts")
    frames, length = struct.unpack("<I", data[68:72])[0], struct.unpack("<I", data[76:80])[0]
    expect(length == frames * frame == len(data) - 80, f"{path}: {frames} frames, {length} bytes")
    return rate, list(struct.iter_unpack(f"<{channels}f", data[80:]))


def read_table(path):
    with open(path, encoding="utf-8", newline="") as f:
        rows = list(csv.reader(f))
    return rows[0], [[float(x) for x in row] for row in rows[1:]]


def test_sound_and_table_are_one():
    said = document("field", *asked("x.wav"), "--json")["impulse"]
    rate, samples = read_wave("x.wav")
    expect(rate == said["rate_hz"] == 48000 and len(samples) == said["seconds"] * rate,
           f"{len(samples)} samples, {said}")
    expect(abs(max(abs(v) for row in samples for v in row) - 0.5) < 1e-6, "not half of full scale")
    names = [(c["source"], c["receiver"]) for c in said["channels"]]
    expect(names == [("left", "lead"), ("left", 'the "bench"'), ("right", "lead"),
                     ("right", 'the "bench"')], f"{names}")
    expect(said["low_hz"] == 20 and abs(said["high_hz"] - 90) < 1e-9, f"{said}")
    expect(0 <= said["before"] < 1e-6, f"{said['before']} before its beginning")
    table = document("field", *asked("x.csv"), "--json")["impulse"]
    expect(table["full_scale"] is None and table["rate_hz"] == 4000, f"{table}")
    head, rows = read_table("x.csv")
    expect(head == ["time, s"] + [f"{a} to {b}, Pa.s/m3" for a, b in names], f"{head}")
    expect(len(rows) == table["seconds"] * 4000, f"{len(rows)} rows")
    largest = max(abs(v) for row in rows for v in row[1:])
    for i, row in enumerate(rows):
        expect(abs(row[0] - i / 4000) < 1e-9, f"time {row[0]}")
        worst = max(abs(a * said["full_scale"] - b) for a, b in zip(samples[12 * i], row[1:]))
        if worst > 1e-5 * largest:
            expect(False, f"sound and table differ by {worst} at {row[0]} s")
            break


def asked(file):
    write("job.yaml", JOB)
    return ("job.yaml", *BAND, "--impulse", file)


def test_one_speaker_and_one_seat():
    field("--impulse", "all.csv")
    head, rows = read_table("all.csv")
    for words, columns in ((("--speaker", "right"), [3, 4]), (("--seat", "lead"), [1, 3]),
                           (("--speaker", "right", "--seat", "lead"), [3])):
        field("--impulse", "some.csv", *words)
        some, few = read_table("some.csv")
        expect(some[1:] == [head[c] for c in columns], f"{words}: {some}")
        for row, whole in zip(few[::50], rows[::50]):
            for a, c in zip(row[1:], columns):
                expect(abs(a - whole[c]) <= 1e-6 * abs(whole[c]) + 1e-9, f"{words}: {a}")


def test_the_numbers_stay_and_the_factor_is_told():
    plain = field().stdout.decode()
    text = field("--impulse", "x.wav").stdout.decode()
    expect(text.startswith(plain), "other numbers")
    more = text[len(plain):]
    full_scale = document("field", *asked("x.wav"), "--json")["impulse"]["full_scale"]
    expect(f"is {full_scale:.6g} Pa.s/m3" in more and "Caution: " in more, more)
    first = read("x.wav")
    field("--impulse", "x.wav")
    expect(read("x.wav") == first, "another file the second time")
    expect(document("field", *asked("x.csv")[:-2], "--json")["impulse"] is None, "none is null")
    table = field("--impulse", "x.csv").stdout.decode()
    expect("Caution" not in table and "  4: right to" in table, table[len(plain):])


def test_with_a_picture():
    field("--picture", "x.svg", "--mode", "1", "--speaker", "left", "--impulse", "x.csv")
    expect(len(read_table("x.csv")[0]) == 3 and os.path.exists("x.svg"), f"{os.listdir()}")


def test_bad_questions():
    for words, status, said in (
            (("--impulse", "x.mp3"), 2, ".wav or .csv"), (("--impulse", ".wav"), 2, ".wav or .csv"),
            (("--seat", "lead"), 2, "--impulse"), (("--speaker", "left"), 2, "--impulse"),
            (("--impulse", "x.wav", "--from", "60 Hz"), 2, "octave"),
            (("--impulse", "x.wav", "--seat", "leed"), 3, 'did you mean "lead"?'),
            (("--impulse", "x.wav", "--speaker", "lefd"), 3, 'did you mean "left"?'),
            (("--impulse", "no/such/x.wav"), 1, "no/such")):
        result = field(*words, status=status)
        expect(said in result.stderr.decode(), f"{words}: {result.stderr}")
        expect(result.stdout == b"", f"{words}: numbers all the same")
    expect(os.listdir() == ["job.yaml"], f"left {os.listdir()}")


def test_a_full_disk_leaves_the_old_file():
    write("x.wav", "old")
    field("--impulse", "x.wav", status=1, setup=small_files(4096))
    expect(read("x.wav") == b"old", "the old file is gone")
    expect(sorted(os.listdir()) == ["job.yaml", "x.wav"], f"left {os.listdir()}")


def test_progress_is_told():
    words = [w for w in asked("x.csv") if w != "-q"]
    said = on_terminal("field", *words, TERM="xterm")
    expect(said.count(b"impulse responses") > 5, f"progress: {said}")


main(test_sound_and_table_are_one, test_one_speaker_and_one_seat,
     test_the_numbers_stay_and_the_factor_is_told, test_with_a_picture, test_bad_questions,
     test_a_full_disk_leaves_the_old_file, test_progress_is_told)
