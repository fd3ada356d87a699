#!/usr/bin/env bash
# Builds the fuzzers with clang, AddressSanitizer and UndefinedBehaviorSanitizer, and runs each in turn.
#   tests/fuzz/run.sh [SECONDS] [READER...]     60 seconds, every reader
# What was learned stays in build/fuzz/corpus/READER. A finding stops the script; its input is written to
# build/fuzz/found: put it into tests/fuzz/crashes/READER once it is mended.
set -euo pipefail
cd "$(dirname "$0")/../.."
seconds=${1:-60}
shift $(($# > 0 ? 1 : 0))
readers=("$@")
[ ${#readers[@]} -gt 0 ] || readers=(scene print order ink shirt record png tiff art icc done list)
source tests/setup.sh
need "${build_packages[@]}" libgtest-dev libgmock-dev libopencv-core-dev clang libclang-rt-dev

build=build/fuzz
cmake -S . -B $build -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_BUILD_TYPE=RelWithDebInfo -DKIRTLE_FUZZ=ON \
  -DKIRTLE_VIEWER=OFF -DKIRTLE_SCENE_ART=OFF >/dev/null
cmake --build $build --target kirtle-fuzz-seeds "${readers[@]/#/kirtle-fuzz-}"
mkdir -p $build/seeds $build/found
$build/tests/fuzz/kirtle-fuzz-seeds $build/seeds
# The words of the formats, as the fuzzer's dictionary.
grep -ohE '`[^`|]{2,40}`' docs/formats.md | tr -d '`"\\' | sort -u | sed 's/.*/"&"/' >$build/words
[ -w /dev/shm ] && export TMPDIR=/dev/shm
export ASAN_OPTIONS=allocator_may_return_null=0:detect_leaks=1 UBSAN_OPTIONS=print_stacktrace=1
for reader in "${readers[@]}"; do
  echo "== $reader: $seconds s"
  mkdir -p $build/corpus/"$reader"
  words=(-dict=$build/words -only_ascii=0)
  case $reader in png | tiff | art | icc) words=() ;; esac
  $build/tests/fuzz/kirtle-fuzz-"$reader" -max_total_time="$seconds" -timeout=20 -rss_limit_mb=2048 \
    -malloc_limit_mb=1024 -max_len=16384 -print_final_stats=1 -verbosity=0 "${words[@]}" \
    -artifact_prefix=$build/found/"$reader"- $build/corpus/"$reader" $build/seeds/"$reader" 2>&1 |
    tee $build/"$reader".log | grep -E '^stat::number_of_executed_units|ERROR|SUMMARY|Test unit written' ||
    { echo "finding in $reader: see $build/$reader.log" >&2; exit 1; }
done
