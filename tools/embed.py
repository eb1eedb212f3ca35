#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Turns a file into a C array, so that the library carries it.

  embed.py INPUT OUTPUT NAME

OUTPUT defines `const unsigned char NAME_text[]`, with a terminating 0, and
`const size_t NAME_length`.
"""
import sys


def main():
    source, target, name = sys.argv[1:]
    with open(source, "rb") as f:
        data = f.read()
    lines = []
    for i in range(0, len(data), 20):
        lines.append("    " + ", ".join(str(b) for b in data[i:i + 20]) + ",")
    with open(target, "w", encoding="ascii", newline="\n") as f:
        f.write("/* Made by tools/embed.py; do not edit. */\n#include <stddef.h>\n\n")
        f.write(f"extern const unsigned char {name}_text[];\n")
        f.write(f"extern const size_t {name}_length;\n\n")
        f.write(f"const unsigned char {name}_text[] = {{\n" + "\n".join(lines) + "\n    0};\n")
        f.write(f"const size_t {name}_length = {len(data)};\n")


if __name__ == "__main__":
    main()
