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
"$kirtle" range scenes/moth/scene.toml -o "$temp/range" --quiet >/dev/null \
  --shirts forest-green-cotton,black-cotton,navy-cotton,maroon-cotton,royal-cotton,teal-cotton,black-polyester,ash-heather
convert "$temp/range/range.png" -resize 1000x -crop 1000x760+0+20 +repage -strip -quality 90 docs/pictures/range.jpg
# docs/guide.md, as its steps say.
mkdir "$temp/art"
for p in base yellow red blue; do
  convert "scenes/reef/plates/$p.png" -resize 50% -units PixelsPerInch -density 150 "$temp/art/reef_$p.png"
done
"$kirtle" scene new "$temp/reef" "$temp"/art/*.png --shirt navy-cotton --ink red=scarlet >/dev/null 2>&1
"$kirtle" predict "$temp/reef/scene.toml" -o docs/pictures/guide-reef.png --dpi 50 --quiet 2>/dev/null
# The window, drawn off screen (docs/guide.md, "The window"). JPEG: each holds a whole print.
window=build/release/viewer/kirtle-view
shot() {
  "$window" "scenes/$2/scene.toml" --shot "$temp/$1.png" --size 1440x900 "${@:3}"
  convert "$temp/$1.png" -strip -sampling-factor 4:4:4 -quality 90 "docs/pictures/$1.jpg"
}
if [ -x "$window" ]; then
  shot view-moth moth --point 200,150
  shot view-garment reef --view garment --point 150,120 --chosen red
  shot view-loupe reef --view 236,214,42 --point 236,214 --chosen yellow
  shot view-films reef --mode films --point 120,250
  shot view-against moth --against navy-cotton --line 0.52 --point 200,150 --pin 120,150
  shot view-lights botanical --beside A,F11 --point 165,150
  shot view-register reef --view 236,150,9 --set base.offset=0.28,-0.18 --chosen base --point 236,150
  shot view-order moth --order 144 --worst --chosen shading
  shot view-plates reef --check --view 166,190,3 --point 166,190
  shot view-only botanical --only red --chosen red --point 190,140
else
  echo "no $window: the window's pictures stay as they are" >&2
fi
