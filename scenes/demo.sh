#!/usr/bin/env bash
# Installs what is missing, builds Kirtle, predicts every scene into out/, and decides how the moth's plates are to be built.
set -euo pipefail
cd "$(dirname "$0")/.."
source tests/setup.sh
need "${build_packages[@]}"

start=$(date +%s)
cmake --preset release -DKIRTLE_TESTS=OFF >/dev/null
cmake --build --preset release --target kirtle
echo "built in $(($(date +%s) - start)) s"

mkdir -p out
count=0
for scene in scenes/*/scene.toml; do
  name=$(basename "$(dirname "$scene")")
  begin=$(date +%s%N)
  build/release/sim/cmd/kirtle predict "$scene" -o "out/$name.png"
  echo "  $(((($(date +%s%N) - begin)) / 1000000)) ms in all"
  count=$((count + 1))
done
echo "predicted $count scenes into $PWD/out"
build/release/sim/cmd/kirtle compare scenes/moth/scene.toml -o out/moth-decision
echo "decision report: $PWD/out/moth-decision/decision.pdf"
