#!/usr/bin/env bash
# Sixty shirts for one scene: time, memory, size; stopped and resumed, and two shards, against one run.
# The shirts beyond those of inkdata are made up here: cotton dyed with two of the library's dyes in other amounts.
#   bash tests/range/sixty_shirts.sh PROGRAM FOLDER [SCENE]
set -euo pipefail
program=$(realpath "$1") out=$2 scene=${3:-scenes/moth/scene.toml}
mkdir -p "$out/data/shirts"
known=$(find inkdata/shirts -name '*.toml' | wc -l)
dyes=(black-azo navy-azo red-azo yellow-azo orange-azo blue-formazan blue-anthraquinone green-phthalocyanine
  violet-anthraquinone sand-reactive)
for ((i = known; i < 60; ++i)); do
  first=${dyes[i % 10]} second=${dyes[(i / 10 + i + 3) % 10]}
  cat >"$out/data/shirts/made-up-$i.toml" <<END
schema = 1
id = "made-up-$i"
name = "Made-up cotton $i"
fibre_text = "100 % cotton"
thickness_um = 500
backing = 0.5
pores = 0.01
surface = 0.008
show_through = 0.6
surface_fibres_um = 10
wetting = 0.5
pore_volume = 0.6

[provenance]
status = "invented"
source = "made up for a measurement; no real material"
date = 2026-11-25

[[fibre]]
fibre = "cotton"
share = 1.0

[[fibre.dye]]
dye = "$first"
amount = 0.$((3 + i % 7))

[[fibre.dye]]
dye = "$second"
amount = 0.$((1 + i % 5))
END
done
run() { "$program" range "$scene" --data "$out/data" --quiet "$@" >/dev/null; }
same() {
  for file in range.json range.csv range.pdf range.png; do cmp "$1/$file" "$2/$file"; done
  echo "$1 and $2: the same bytes"
}

python3 - "$program" "$scene" "$out" <<'END'
import resource, subprocess, sys, time
program, scene, out = sys.argv[1:]
start = time.time()
subprocess.run([program, "range", scene, "--data", out + "/data", "--quiet", "-o", out + "/once"], check=True,
               stdout=subprocess.DEVNULL)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(f"{time.time() - start:.1f} s, {used.ru_utime + used.ru_stime:.1f} s of processor time, "
      f"{used.ru_maxrss / 1024:.0f} MiB at most")
END
echo "$(find "$out/once/done" -name '*.range' | wc -l) shirts, $(cat "$out"/once/done/*.range | wc -c) bytes in done"
wc -c "$out"/once/range.*
# Two shards at the same time, each in its own folder; both must end well.
run -o "$out/a" --shard 1/2 & first=$!
run -o "$out/b" --shard 2/2 & second=$!
wait $first
wait $second
run -o "$out/both" --merge "$out/a" "$out/b"
same "$out/once" "$out/both"
# Stopped with Ctrl-C's signal, then the same call again.
"$program" range "$scene" --data "$out/data" --quiet -o "$out/stopped" >/dev/null & pid=$!
until [ "$(find "$out/stopped/done" -name '*.range' 2>/dev/null | wc -l)" -ge 20 ]; do sleep 0.2; done
kill -INT $pid
status=0
wait $pid || status=$?
echo "exit status $status after $(find "$out/stopped/done" -name '*.range' | wc -l) shirts"
[ $status -eq 130 ]
run -o "$out/stopped"
same "$out/once" "$out/stopped"
