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
"$kirtle" compare scenes/moth/scene.toml -o "$temp/decision" >/dev/null 2>&1
convert "$temp/decision/decision.png" -resize 900x -strip docs/pictures/decision.png
# docs/guide.md, as its steps say.
mkdir "$temp/art"
for p in base yellow red blue; do
  convert "scenes/reef/plates/$p.png" -resize 50% -units PixelsPerInch -density 150 "$temp/art/reef_$p.png"
done
"$kirtle" scene new "$temp/reef" "$temp"/art/*.png --shirt navy-cotton --ink red=scarlet >/dev/null 2>&1
"$kirtle" predict "$temp/reef/scene.toml" -o docs/pictures/guide-reef.png --dpi 50 --quiet 2>/dev/null
