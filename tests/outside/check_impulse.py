#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Impulse responses of `ebb field` against scipy: their transform, their filters, their sound file.

    check_impulse.py EBB

The Fourier transform of the table, which ends 60 dB down, must be p/Q of the same run times the
filters, which are designed by scipy.signal; the sound file, read by scipy.io, must hold the same
pressures. With EBB_VALIDATION set, rows for docs/validation.md are appended to that file. Exit
status 77: numpy and scipy are missing.
"""
import csv
import json
import os
import subprocess
import sys
import tempfile

try:
    import check_common as common
    import numpy as np
    import scipy.io.wavfile
    import scipy.signal
except ImportError as error:
    print("skipped:", error)
    sys.exit(77)

SOURCE = "scipy.signal and scipy.io"
FROM_HZ, TO_HZ, STEP_HZ = 20.0, 200.0, 2.0

JOB = """job: Impulses
use: music
constructions:
  brick: {admittance: 0.02}
  boards:
    layers: [{lumped: {mass: 9 kg/m2, resonance: 55 Hz, resistance: 400 Pa.s/m}}]
    back: rigid
rooms:
  - name: box
    size: [4.3 m, 3.4 m, 2.5 m]
    surfaces: {all: brick, ceiling: boards}
    seats: [{name: lead, at: [2.6 m, 1.7 m, 1.2 m]}, {name: back, at: [3.6 m, 2.5 m, 1.2 m]}]
    speakers: [{name: left, at: [0.6 m, 0.9 m, 1 m]}, {name: right, at: [0.6 m, 2.5 m, 1 m]}]
  - name: corner
    plan: [[0 m, 0 m], [4 m, 0 m], [4 m, 2 m], [2 m, 2 m], [2 m, 4 m], [0 m, 4 m]]
    ceiling: 2.5 m
    surfaces: {all: brick, ceiling: boards}
    seats: [{name: lead, at: [1 m, 3 m, 1.2 m]}]
    speakers: [{name: left, at: [3 m, 1 m, 1.2 m]}]
"""


def run(program, room, file):
    done = subprocess.run(
        [program, "field", "job.yaml", "--room", room, "--from", f"{FROM_HZ} Hz", "--to",
         f"{TO_HZ} Hz", "--step", f"{STEP_HZ} Hz", "--impulse", file, "--json"],
        capture_output=True, text=True, check=False)
    if done.returncode != 0:
        sys.exit(f"ebb field failed with status {done.returncode}:\n{done.stderr}")
    return json.loads(done.stdout)


def read_table(path):
    """Times and one row of pressures per path."""
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    numbers = np.array(rows, dtype=float)
    return numbers[:, 0], numbers[:, 1:].T


def filters(hz, low, high):
    """Both filters, and the step from p over dQ/dt to p over Q."""
    s = 2 * np.pi * hz
    _, a = scipy.signal.freqs_zpk(*scipy.signal.butter(16, 2 * np.pi * high, analog=True,
                                                       output="zpk"), worN=s)
    _, b = scipy.signal.freqs_zpk(*scipy.signal.butter(4, 2 * np.pi * low, "highpass", analog=True,
                                                       output="zpk"), worN=s)
    return a * b / (1j * s)


def check(tally, program, room):
    said = run(program, room, room + ".csv")
    what = said["impulse"]
    t, pressure = read_table(room + ".csv")
    worst = 0.0
    for path, p in zip(said["response"], pressure):
        hz = np.array(path["hz"])
        hz = hz[hz <= what["high_hz"]]
        want = (np.array(path["re"]) + 1j * np.array(path["im"]))[:len(hz)]
        want = want * filters(hz, what["low_hz"], what["high_hz"])
        got = np.exp(-2j * np.pi * hz[:, None] * t[None, :]) @ p / what["rate_hz"]
        worst = max(worst, float((abs(got - want) / abs(want).max()).max()))
    tally.below(f"{room}: transform of the impulse responses, {FROM_HZ:g}-{what['high_hz']:g} Hz, "
                "of the largest", 2e-3, worst)
    tally.below(f"{room}: share of their energy before time 0", 1e-6, what["before"])
    sound = run(program, room, room + ".wav")["impulse"]
    rate, samples = scipy.io.wavfile.read(room + ".wav")
    samples = samples.reshape(len(samples), -1)
    tally.fact(f"{room}: rate, kind and channels of the sound file", (48000, "float32",
               len(pressure)), (rate, str(samples.dtype), samples.shape[1]))
    every = int(rate / what["rate_hz"])
    same = abs(samples[::every].T * sound["full_scale"] - pressure).max() / abs(pressure).max()
    tally.below(f"{room}: sound file and table, of the largest", 1e-5, float(same))
    # What a listener's program does to it: up and down again without loss.
    down = scipy.signal.resample(samples.astype(float), len(samples) // every)
    tally.below(f"{room}: sound file brought down to the table's rate, of the largest", 1e-3,
                float(abs(down.T * sound["full_scale"] - pressure).max() / abs(pressure).max()))


def main(program):
    tally = common.Tally(SOURCE)
    program = os.path.abspath(program)
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        with open("job.yaml", "w", encoding="utf-8") as file:
            file.write(JOB)
        for room in ("box", "corner"):
            check(tally, program, room)
        os.chdir("/")
    sys.exit(1 if tally.failed else 0)


main(sys.argv[1])
