# SPDX-License-Identifier: GPL-3.0-or-later
"""What the tests of the program share. Arguments: PROGRAM JOB SOURCE_FOLDER."""
import json
import os
import pty
import resource
import subprocess
import sys
import tempfile

PROGRAM, JOB, SOURCE = (os.path.abspath(a) for a in sys.argv[1:4])
FAILURES = []


def expect(good, what):
    """Counts what is not as it should be, and goes on."""
    if not good:
        FAILURES.append(what)
        print("not so:", what, file=sys.stderr)


def clean_environment(**more):
    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "TERM")}
    env.update(more)
    return env


def run(*words, stdin=b"", stdout=subprocess.PIPE, stderr=subprocess.PIPE, setup=None, **env):
    """Runs the program with these words; the result has returncode, stdout, stderr."""
    return subprocess.run([PROGRAM, *words], input=stdin, stdout=stdout, stderr=stderr, timeout=280,
                          preexec_fn=setup, env=clean_environment(**env), check=False)


def expect_status(status, *words, **how):
    result = run(*words, **how)
    expect(result.returncode == status,
           f"ebb {' '.join(words)}: status {result.returncode}, wanted {status}; {result.stderr}")
    return result


def strict_json(text):
    """The document; NaN and Infinity, which JSON does not have, are refused."""
    def refuse(word):
        raise ValueError(f"{word} in JSON")
    return json.loads(text, parse_constant=refuse)


def checked(text, command):
    """The JSON document a command printed, its head checked."""
    doc = strict_json(text)
    head = doc["ebb"]
    version = run("--version").stdout.decode().split()[1]
    expect(next(iter(doc)) == "ebb", f"{command}: a document starts with its head")
    expect(head["version"] == version, f"{command}: version {head['version']}")
    expect(head["command"] == command, f"{command}: command {head['command']}")
    expect(isinstance(head["schema"], int), f"{command}: schema {head['schema']}")
    expect("inputs" in head, f"{command}: no inputs")
    return doc


def document(*words, **how):
    return checked(expect_status(0, *words, **how).stdout, words[0])


def closed_pipe():
    """The writing end of a pipe that nobody reads."""
    reader, writer = os.pipe()
    os.close(reader)
    return writer


def small_files(size):
    """For setup=: files can not grow beyond size bytes, as on a full disk."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


def on_terminal(*words, **env):
    """What the program says on standard error when that is a terminal."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen([PROGRAM, *words], stdin=subprocess.DEVNULL,
                               stdout=subprocess.DEVNULL, stderr=theirs,
                               env=clean_environment(**env))
    os.close(theirs)
    said = b""
    while True:
        try:
            part = os.read(ours, 65536)
        except OSError:  # the other end is closed
            break
        if not part:
            break
        said += part
    process.wait(timeout=280)
    os.close(ours)
    return said


def write(path, text):
    with open(path, "w", encoding="utf-8") as f:
        f.write(text)


def read(path):
    with open(path, "rb") as f:
        return f.read()


def first_room():
    return document("check", JOB, "--json")["rooms"][0]


def main(*tests):
    """Runs every test in an empty folder of its own."""
    for test in tests:
        with tempfile.TemporaryDirectory() as folder:
            os.chdir(folder)
            try:
                test()
            except Exception as error:  # a test that breaks off has failed; the others still run
                expect(False, f"{test.__name__} broke off: {error!r}")
            os.chdir("/")
    sys.exit(1 if FAILURES else 0)
