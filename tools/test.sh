#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what the tests need, builds and runs all of them, and says how many passed.
# Two builds: release (gcc, warnings are errors) and sanitised (clang, address and undefined
# behaviour, libFuzzer). Folders: build-release, build-sanitised.
set -u
cd "$(dirname "$0")/.." || exit 1
tools/install-packages tools/packages-build.txt tools/packages-test.txt || exit 1

export OPENBLAS_NUM_THREADS=1
export ASAN_OPTIONS=detect_stack_use_after_return=1:strict_string_checks=1
export UBSAN_OPTIONS=print_stacktrace=1:halt_on_error=1
export LSAN_OPTIONS=suppressions=$PWD/tools/leaks.txt:print_suppressions=0
results=$(mktemp)
trap 'rm -f "$results"' EXIT

# step NAME COMMAND...: runs it, remembers the outcome, goes on in any case.
step() {
    name=$1
    shift
    echo
    echo "== $name"
    if "$@"; then
        echo "passed $name" >>"$results"
    else
        echo "failed $name" >>"$results"
    fi
}

# ready BUILD OPTIONS...: configures once and builds.
ready() {
    folder=$1
    shift
    rm -f "$folder/meson-logs/testlog.json" "$folder"/tests/outside/*.tsv
    if [ ! -f "$folder/build.ninja" ]; then
        meson setup "$folder" -Dwerror=true "$@" || return 1
    fi
    ninja -C "$folder"
}

# tests BUILD OPTIONS...: their outcomes are counted one by one from meson's log.
tests() {
    [ -f "$1/build.ninja" ] || return
    echo
    echo "== tests of $1"
    folder=$1
    shift
    meson test -C "$folder" --no-rebuild --print-errorlogs "$@"
}

step "release build" ready build-release -Dbuildtype=release -Dtests=enabled
tests build-release
step "docs/validation.md lists the outside checks" tools/validation --check build-release

# The release build has checked the numbers; here the same code is watched for faults of memory and
# arithmetic, so the slow checks against outside references are left out, and every parser is fed
# with rubbish for a while. Without OpenMP, whose run-time library of clang is not instrumented.
export CC=clang CXX=clang++
step "sanitised build" ready build-sanitised -Dbuildtype=debugoptimized -Dtests=enabled \
    -Dopenmp=disabled -Db_sanitize=address,undefined -Db_lundef=false \
    -Dfuzz=true -Dc_args=-fsanitize=fuzzer-no-link
tests build-sanitised --no-suite outside --no-suite slow --no-suite house --timeout-multiplier 6

echo
tools/count-tests "$results" build-release build-sanitised
