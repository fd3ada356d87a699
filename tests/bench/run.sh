#!/usr/bin/env bash
# Builds the benchmarks, runs them, and writes docs/speed.md anew. About a quarter of an hour; nothing else should run meanwhile.
set -euo pipefail
cd "$(dirname "$0")/../.."
source tests/setup.sh
need "${build_packages[@]}" libbenchmark-dev python3
cmake --preset release -DKIRTLE_BENCH=ON -DKIRTLE_TESTS=OFF -DKIRTLE_VIEWER=OFF >/dev/null
cmake --build --preset release
out=build/release/bench
mkdir -p "$out"
for bench in arms_length predict loupe run; do
  rounds=()
  [ "$bench" = loupe ] && rounds=(--benchmark_repetitions=7 --benchmark_report_aggregates_only=true)
  "build/release/tests/bench/kirtle_${bench}_bench" "${rounds[@]}" --benchmark_out="$out/$bench.json" --benchmark_out_format=json
done
bash tests/bench/programs.sh build/release/sim/cmd/kirtle >"$out/programs.md"
python3 tests/bench/speed_page.py "$out" build/release/sim/cmd/kirtle docs/speed.md
