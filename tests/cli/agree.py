# SPDX-License-Identifier: GPL-3.0-or-later
"""Help, man pages and completions list the same commands and options."""
import os
import re
import subprocess

from common import SOURCE, expect, expect_status, main


def text_of(*path):
    with open(os.path.join(SOURCE, *path), encoding="utf-8") as f:
        return f.read()


def commands_of_help():
    text = expect_status(0, "--help").stdout.decode()
    block = text.split("Commands:\n")[1].split("\n\n")[0]
    return dict(line.split(None, 1) for line in block.splitlines())


def options_of_help(*words):
    """Long and short options in the list of a help text."""
    text = expect_status(0, *words, "--help").stdout.decode().split("Options:\n")[1]
    found = set()
    for line in text.splitlines():
        m = re.match(r"  (?:(-\w), |    )(--[\w-]+)", line)
        if m:
            found.update(w for w in m.groups() if w)
    return found


def options_of_man(page):
    """Options that open a paragraph of the section OPTIONS."""
    section = text_of("man", page).split(".SH OPTIONS\n")[1].split(".SH ")[0]
    found = set()
    for tag in re.findall(r"^\.TP\n(.*)$", section, re.M):
        tag = re.sub(r"\\f.", " ", tag).replace("\\-", "-")
        found.update(re.findall(r"(?<![\w-])--?[a-z][\w-]*", tag))
    return found


def options_of_bash(command):
    script = os.path.join(SOURCE, "cli", "completions", "ebb.bash")
    result = subprocess.run(["bash", "-c", f'. "{script}"; _ebb_options "{command}"'],
                            stdout=subprocess.PIPE, check=True)
    return set(result.stdout.decode().split())


def complete_in_bash(*words):
    """What bash would offer for the last of these words."""
    script = os.path.join(SOURCE, "cli", "completions", "ebb.bash")
    code = (f'. "{script}"; COMP_WORDS=("$@"); COMP_CWORD=$(($# - 1)); _ebb; '
            r'printf "%s\n" "${COMPREPLY[@]}"')
    result = subprocess.run(["bash", "-c", code, "bash", *words], stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, check=True)
    expect(result.stderr == b"" or b"compopt" in result.stderr, f"bash says {result.stderr}")
    return set(result.stdout.decode().split("\n")) - {""}


def options_of_zsh(command):
    text = text_of("cli", "completions", "_ebb")
    if command == "":
        part = text.split("_arguments -C")[1].split("case $state")[0]
    else:
        part = re.search(rf"^  {command}\)\n(.*?)^    ;;", text, re.S | re.M).group(1)
    part = re.sub(r"\[[^]]*\]", " ", part)
    part = re.sub(r"'\([^)]*\)'?", " ", part)  # what excludes what
    part = part.replace("_files -g", "_files")
    return set(re.findall(r"(?<![\w-])--?[a-z][\w-]*", part))


def test_commands():
    commands = commands_of_help()
    expect(len(commands) >= 5, f"commands of the help: {commands}")
    page = text_of("man", "ebb.1")
    in_man = dict(re.findall(r'^\.TP\n\.BR (\w+) " \(" ebb\\-\w+ \(1\)\)\n(.*)$', page, re.M))
    expect(in_man == commands, f"man page has {in_man}, help {commands}")
    zsh = text_of("cli", "completions", "_ebb").split("commands=(\n")[1].split("\n)")[0]
    in_zsh = dict(line.strip().strip("'").split(":", 1) for line in zsh.splitlines())
    expect(in_zsh == commands, f"zsh has {in_zsh}, help {commands}")
    in_bash = {w for w in complete_in_bash("ebb", "") if not w.startswith("-")}
    expect(in_bash == set(commands), f"bash has {in_bash}, help {set(commands)}")
    pages = text_of("man", "meson.build")
    for c, summary in commands.items():
        expect(f"'ebb-{c}.1'" in pages, f"ebb-{c}.1 is not installed")
        name = text_of("man", f"ebb-{c}.1").split(".SH NAME\n")[1].splitlines()[0]
        expect(name == f"ebb\\-{c} \\- {summary}", f"NAME of ebb-{c}.1: {name}")
        help_text = expect_status(0, c, "--help").stdout.decode()
        expect(help_text.splitlines()[1] == summary, f"{c}: another summary in its help")


def test_options():
    for words in ((), *((c,) for c in commands_of_help())):
        name = words[0] if words else ""
        wanted = options_of_help(*words)
        expect("--help" in wanted and "-h" in wanted, f"{name}: help lists {wanted}")
        for where, got in (("man", options_of_man(f"ebb-{name}.1" if name else "ebb.1")),
                           ("bash", options_of_bash(name)), ("zsh", options_of_zsh(name))):
            expect(got == wanted, f"ebb {name}: {where} differs from the help by {got ^ wanted}")


def test_man_sections():
    for page in ("ebb.1", *(f"ebb-{c}.1" for c in commands_of_help())):
        sections = re.findall(r"^\.SH (.*)$", text_of("man", page), re.M)
        expect(sections == ["NAME", "SYNOPSIS", "DESCRIPTION", "OPTIONS", "EXIT STATUS",
                            "ENVIRONMENT", "FILES", "EXAMPLES", "SEE ALSO"], f"{page}: {sections}")
        version = re.search(r'^\.TH \S+ 1 "" "([^"]*)"', text_of("man", page), re.M).group(1)
        expect(version == expect_status(0, "--version").stdout.decode().strip(),
               f"{page} is of {version}")


def test_examples_agree():
    """The examples of the help stand in the man page too."""
    for c in commands_of_help():
        text = expect_status(0, c, "--help").stdout.decode()
        page = text_of("man", f"ebb-{c}.1").replace("\\-", "-")
        for line in text.split("Examples:\n")[1].split("\n\n")[0].splitlines():
            expect(line.strip() + "\n" in page, f"{c}: {line.strip()} is not in its man page")


def test_bash_completion():
    expect(complete_in_bash("ebb", "ju") == {"judge"}, "ebb ju")
    expect(complete_in_bash("ebb", "judge", "--un") == {"--units"}, "ebb judge --un")
    expect(complete_in_bash("ebb", "judge", "--units", "m") == {"metric"}, "ebb judge --units m")
    with open("a job.yaml", "w", encoding="utf-8") as f:
        f.write("job: x\nrooms:\n  - name: Chart room\n    seats: []\n  - name: Loft\n")
    expect(complete_in_bash("ebb", "judge", "a") == {"a job.yaml"}, "a file with a blank")
    rooms = complete_in_bash("ebb", "judge", "a job.yaml", "--room", "")
    expect(rooms == {"Sail\\ store", "Loft"} or rooms == {"Chart room", "Loft"}, f"rooms: {rooms}")


main(test_commands, test_options, test_man_sections, test_examples_agree, test_bash_completion)
