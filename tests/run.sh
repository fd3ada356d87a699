#!/usr/bin/env bash
# Installs what is missing, builds Kirtle with its tests, and runs them all. Arguments go to ctest (-R NAME, say).
set -euo pipefail
cd "$(dirname "$0")/.."
source tests/setup.sh
need "${build_packages[@]}" libgtest-dev libgmock-dev libopencv-core-dev icc-profiles-free imagemagick libtiff-tools poppler-utils qpdf faketime locales
need "${browser_packages[@]}" || echo "no Chromium to be had here: the test ProofInChromium will say that it is skipped"
# The viewer's tests draw with software OpenGL: KIRTLE_VIEWER=OFF bash tests/run.sh leaves them and the viewer out.
viewer=${KIRTLE_VIEWER:-ON}
[ "$viewer" = OFF ] || need "${viewer_packages[@]}" "${viewer_test_packages[@]}"

cmake --preset release -DKIRTLE_TESTS=ON -DKIRTLE_WERROR=ON -DKIRTLE_VIEWER="$viewer" >/dev/null
cmake --build --preset release
ctest --preset release -j "$(nproc)" "$@"
