#!/usr/bin/env bash
# Draws the pictures of README and docs with the program itself. Run after scenes/demo.sh, from anywhere.
set -euo pipefail
cd "$(dirname "$0")/.."
kirtle=build/release/sim/cmd/kirtle
temp=$(mktemp -d)
trap 'rm -rf "$temp"' EXIT
for name in reef botanical; do
  "$kirtle" predict "scenes/$name/scene.toml" -o "docs/pictures/$name.png" --dpi 50 --quiet
done
for shirt in forest-green-cotton royal-cotton black-polyester; do
  "$kirtle" predict scenes/moth/scene.toml --shirt "$shirt" -o "$temp/$shirt.png" --dpi 45 --quiet 2>/dev/null
done
convert "$temp/forest-green-cotton.png" "$temp/royal-cotton.png" "$temp/black-polyester.png" +append -strip docs/pictures/moth-on-shirts.png
