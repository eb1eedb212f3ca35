#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Installs what the main job needs, builds, judges the example and leaves its report in out/.
set -eu
cd "$(dirname "$0")/.."
tools/install-packages tools/packages-build.txt
[ -f build/build.ninja ] || meson setup build -Dbuildtype=release -Dtests=disabled
ninja -C build
mkdir -p out
build/cli/ebb judge examples/harbour-house.yaml \
    --report out/harbour-house.pdf --report out/harbour-house.html
echo
echo "The report for the client is in out/harbour-house.pdf and out/harbour-house.html."
echo "For a job of your own: build/cli/ebb judge JOB.yaml   (docs/job-file.md says what goes in)"
