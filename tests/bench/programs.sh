#!/usr/bin/env bash
# How long kirtle takes to start: median of 21 runs each, wall clock and processor time in milliseconds, as a table of
# Markdown. Usage: programs.sh KIRTLE
set -euo pipefail
kirtle=$(realpath "$1")
cd "$(dirname "$0")/../.."

# time_of COMMAND...: median wall and processor time in ms
time_of() {
  local i
  for i in {1..21}; do
    { TIMEFORMAT='%R %U %S'; time "$@" >/dev/null; } 2>&1
  done | awk '{ wall[NR] = $1 * 1000; cpu[NR] = ($2 + $3) * 1000 }
    function median(of,   n, i, j, t) {
      n = NR
      for (i = 2; i <= n; i++) { t = of[i]; for (j = i - 1; j > 0 && of[j] > t; j--) of[j + 1] = of[j]; of[j + 1] = t }
      return of[int((n + 1) / 2)]
    }
    END { printf "%.0f | %.0f", median(wall), median(cpu) }'
}

echo "| program | wall ms | processor ms | target |"
echo "| --- | --- | --- | --- |"
echo "| \`kirtle --version\` | $(time_of "$kirtle" --version) | 30 |"
echo "| \`kirtle probe\`, scene 1, one place | $(time_of "$kirtle" probe scenes/moth/scene.toml --at 150,120) | 120 |"
