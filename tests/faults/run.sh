#!/usr/bin/env bash
# What goes wrong around a program: it is killed, the disk is full, memory runs out, plates vanish, names are odd,
# two write one file, the clock and the language of the machine are others. Outputs must be the old file or the new
# one, whole; failures must be one clear message and a status that is not 0; nothing may be left beside them.
#   tests/faults/run.sh [PROGRAM] [KILLS]     build/release/sim/cmd/kirtle, 100 kills
# Prints one line a fault: how often it was tried, what came of it. Exit status 1 if anything broke, 77 if it cannot
# run here. docs/reliability.md quotes a run.
set -uo pipefail
cd "$(dirname "$0")/../.."
program=$(realpath "${1:-build/release/sim/cmd/kirtle}")
kills=${2:-100}
command -v convert >/dev/null || { echo "skipped: ImageMagick's convert cuts the plates"; exit 77; }
work=$(mktemp -d)
mounted=()
trap 'for m in "${mounted[@]}"; do umount "$m" 2>/dev/null; done; rm -rf "$work"' EXIT
broken=0
unset KIRTLE_DATA KIRTLE_THREADS LC_ALL LC_NUMERIC
export LANG=C.UTF-8

broke() {
  echo "BROKEN: $*" >&2
  broken=1
}
told() { printf '%-58s %s\n' "$1" "$2"; }
# Exit status, and standard error into $work/err.
status_of() {
  "$@" >"$work/out" 2>"$work/err"
  echo $?
}
# A failure must be told in words of ours.
clear_error() {
  grep -q 'error' "$work/err" && ! grep -qE 'terminate called|Segmentation|Assertion|core dumped' "$work/err"
}
strays() { find "$1" -name '.kirtle-*' | wc -l; }
now() { date +%s%N; }

# The moth's plates, cut to 20 x 16 mm: small enough to be printed a thousand times.
scene=$work/job
mkdir -p "$scene/plates"
for plate in cream shading; do
  convert scenes/moth/plates/$plate.png -crop 240x190+1500+1500 +repage "$scene/plates/$plate.png"
done
cp scenes/moth/scene.toml "$scene/scene.toml"

# What is tried, by name: the command line of each, with OUT for the folder it writes to.
declare -A line=(
  [predict]="predict $scene/scene.toml -o OUT/print.png"
  [predict-tiff]="predict $scene/scene.toml -o OUT/print.tif --depth 16"
  [scene-new]="scene new OUT/team $scene/plates/cream.png $scene/plates/shading.png"
  [run]="run $scene/scene.toml --shirts 6 -o OUT"
  [reshape]="reshape $scene/scene.toml --build solid-under -o OUT"
  [ticket]="ticket $scene/scene.toml -o OUT/ticket.pdf"
  [proof]="proof $scene/scene.toml -o OUT/proof.pdf --html OUT/proof.html"
  [compare]="compare $scene/scene.toml -o OUT"
  [range]="range $scene/scene.toml --shirts black-cotton -o OUT"
)
commands=(predict predict-tiff scene-new run reshape ticket proof compare range)
heavy=(predict proof compare range)
# The quick form, for every run of the tests.
[ "$kills" -ge 50 ] || { commands=(predict predict-tiff scene-new ticket) && heavy=(predict ticket); }
words_of() { sed "s|OUT|$2|g" <<<"${line[$1]}"; }

# What each makes when nothing goes wrong, and how long it takes.
declare -A took
for c in "${commands[@]}"; do
  mkdir -p "$work/good-$c"
  start=$(now)
  s=$(status_of $program $(words_of $c "$work/good-$c"))
  took[$c]=$(($(now) - start))
  [ "$s" = 0 ] || broke "$c fails undisturbed: $(head -c 300 "$work/err")"
done
# Every file of a folder is as it should be: the old one ("old") or the new one.
whole() {
  local folder=$1 good=$2 f name
  while IFS= read -r f; do
    name=${f#"$folder"/}
    cmp -s "$f" "$good/$name" && continue
    [ "$(cat "$f")" = "the old one" ] && continue
    broke "$f is neither the old file nor the new one"
    return 1
  done < <(find "$folder" -type f)
}
# The same files as an undisturbed run makes, all there already.
old_ones() {
  local f
  (cd "$1" && find . -type f ! -name '*.range') | while IFS= read -r f; do
    mkdir -p "$2/$(dirname "$f")"
    printf 'the old one' >"$2/$f"
  done
}

## Killed
for c in "${commands[@]}"; do
  share=10
  case $c in predict) share=30 ;; predict-tiff) share=20 ;; run | scene-new) share=10 ;; ticket | reshape) share=5 ;; esac
  times=$(((kills * share + 99) / 100)) before=0 after=0 left=0
  for ((i = 0; i < times; ++i)); do
    out=$work/killed
    rm -rf "$out"
    mkdir -p "$out"
    # A scene that is there is kept, so that one is written anew.
    [ $c = scene-new ] || old_ones "$work/good-$c" "$out"
    $program $(words_of $c "$out") >/dev/null 2>&1 &
    pid=$!
    # Half of them in the last third, where most of the writing is.
    micros=$((took[$c] / 1000 * ((i % 2 == 0 ? RANDOM : 21845 + RANDOM / 3)) / 32768))
    sleep "$((micros / 1000000)).$(printf %06d $((micros % 1000000)))"
    if kill -KILL $pid 2>/dev/null; then before=$((before + 1)); else after=$((after + 1)); fi
    wait $pid 2>/dev/null
    left=$((left + $(strays "$out")))
    find "$out" -name '.kirtle-*' -delete
    whole "$out" "$work/good-$c"
  done
  told "killed: $c" "$times kills, $after of them too late; part-files left: $left"
done

## Two at a time on one output
pairs=$((kills / 10 + 2))
for c in "${heavy[@]}"; do
  for ((i = 0; i < (pairs + 2) / 3; ++i)); do
    out=$work/two
    rm -rf "$out"
    mkdir -p "$out"
    $program $(words_of $c "$out") >/dev/null 2>&1 &
    first=$!
    $program $(words_of $c "$out") >/dev/null 2>&1
    second=$?
    wait $first || broke "$c: the first of two failed"
    [ $second = 0 ] || broke "$c: the second of two failed"
    diff -r "$out" "$work/good-$c" >/dev/null || broke "$c: two at a time made something else"
  done
done
told "two processes write one output" "$((${#heavy[@]} * ((pairs + 2) / 3))) pairs (${heavy[*]}): same bytes as one alone"

## A disk that fills up, and one that cannot be written
disk=$work/disk
mkdir -p "$disk"
if mount -t tmpfs -o size=64k tmpfs "$disk" 2>/dev/null; then
  mounted+=("$disk")
  failed=0 done=0
  for kib in 4 32 256 1024; do
    mount -o remount,size=${kib}k "$disk"
    for c in "${commands[@]}"; do
      rm -rf "${disk:?}"/*
      printf 'the old one' >"$disk/print.png"
      s=$(status_of $program $(words_of $c "$disk"))
      if [ "$s" = 0 ]; then
        done=$((done + 1))
        for f in $(cd "$work/good-$c" && find . -type f); do
          cmp -s "$disk/$f" "$work/good-$c/$f" || broke "$c on $kib KiB says it is done, and $f is not whole"
        done
      else
        failed=$((failed + 1))
        clear_error || broke "$c on a full disk: $(head -c 300 "$work/err")"
        whole "$disk" "$work/good-$c"
      fi
      [ "$(strays "$disk")" = 0 ] || broke "$c on $kib KiB leaves part-files"
    done
  done
  told "full disk (tmpfs of 4 KiB to 1 MiB)" "$((failed + done)) runs: $failed told, $done fitted, none half-written"
  rm -rf "${disk:?}"/*
  printf 'the old one' >"$disk/print.png"
  mount -o remount,ro "$disk"
  for c in "${commands[@]}"; do
    s=$(status_of $program $(words_of $c "$disk"))
    { [ "$s" != 0 ] && clear_error; } || broke "$c on a read-only disk: status $s, $(head -c 300 "$work/err")"
  done
  [ "$(cat "$disk/print.png")" = "the old one" ] || broke "a read-only disk was written"
  told "read-only disk" "${#commands[@]} commands: all told"
else
  told "full disk, read-only disk" "skipped: mounting is not permitted here"
fi

## Out of memory
for c in "${heavy[@]}"; do
  told_so=0 done=0
  for mib in 16 32 48 64 80 96 112 128 144 160 176 192 256 320 512 1024; do
    out=$work/memory
    rm -rf "$out"
    mkdir -p "$out"
    old_ones "$work/good-$c" "$out"
    (ulimit -v $((mib * 1024)); exec $program $(words_of $c "$out")) >"$work/out" 2>"$work/err"
    s=$?
    if [ $s = 0 ]; then
      done=$((done + 1))
    elif [ $s = 127 ] && grep -q 'error while loading shared libraries' "$work/err"; then
      told_so=$((told_so + 1)) # the system could not even start it
    else
      told_so=$((told_so + 1))
      { [ $s -lt 128 ] && clear_error; } || broke "$c with $mib MiB: status $s, $(head -c 300 "$work/err")"
    fi
    whole "$out" "$work/good-$c"
    [ "$(strays "$out")" = 0 ] || broke "$c with $mib MiB leaves part-files"
  done
  told "out of memory (ulimit -v 16 MiB to 1 GiB): $c" "$((told_so + done)) runs: $told_so told, $done done"
done

## Plates that vanish, shrink or change while they are read
rounds=$((kills / 5 + 2)) fine=0 said=0
for ((i = 0; i < rounds; ++i)); do
  copy=$work/moving
  rm -rf "$copy"
  cp -r "$scene" "$copy"
  (
    sleep 0.0$((RANDOM % 10))
    case $((i % 3)) in
      0) rm "$copy/plates/cream.png" ;;
      1) truncate -s 900 "$copy/plates/shading.png" ;;
      2) cp "$copy/plates/cream.png" "$copy/plates/shading.png" ;;
    esac
  ) &
  other=$!
  s=$(status_of $program predict "$copy/scene.toml" -o "$copy/print.png")
  wait $other
  if [ "$s" = 0 ]; then
    fine=$((fine + 1))
    [ -s "$copy/print.png" ] || broke "done, and no picture"
  else
    said=$((said + 1))
    { [ "$s" = 2 ] && clear_error && [ ! -e "$copy/print.png" ]; } || broke "a moving plate: status $s, $(head -c 300 "$work/err")"
  fi
done
told "plates removed, cut, overwritten while being read" "$rounds runs: $said told, $fine were read before"
mkdir -p "$work/dir.png"
sed 's|plates/cream.png|../dir.png|' "$scene/scene.toml" >"$scene/folder.toml"
s=$(status_of $program predict "$scene/folder.toml" -o "$work/x.png")
{ [ "$s" = 2 ] && clear_error; } || broke "a plate that is a folder: status $s"
sed 's|plates/cream.png|/proc/self/mem|' "$scene/scene.toml" >"$scene/mem.toml"
s=$(status_of $program predict "$scene/mem.toml" -o "$work/x.png")
{ [ "$s" = 2 ] && clear_error; } || broke "a plate that cannot be read: status $s"
told "plate is a folder, cannot be read" "2 runs: told"

## Odd names
long=$(printf 'n%.0s' {1..251})
odd=("with space" "Ünï çödé" "日本語のシャツ" "קשת" "tab	and;semi&amp" '$(touch never)' '`touch never`' '%s%n%s' '<b>&"x"' "it's" "-o" "$long" $'new\nline')
for name in "${odd[@]}"; do
  here=$work/odd/$name
  mkdir -p "$here"
  cp -r "$scene/." "$here/"
  target="$here/$name"
  target="${target:0:$((${#here} + 252))}.png"
  s=$(cd "$here" && status_of $program predict "$here/scene.toml" -o "$target")
  [ "$s" = 0 ] && cmp -s "$target" "$work/good-predict/print.png" || broke "a folder named '$name': status $s, $(head -c 300 "$work/err")"
  s=$(cd "$here" && status_of $program ticket "./scene.toml" -o "$here/ticket.pdf")
  [ "$s" = 0 ] || broke "a ticket in a folder named '$name': status $s"
done
[ -z "$(find "$work" -name never)" ] || broke "a name reached a shell"
too_long=$work/$(printf 'x%.0s' {1..300}).png
s=$(status_of $program predict "$scene/scene.toml" -o "$too_long")
{ [ "$s" = 2 ] && clear_error; } || broke "a name of 300 letters: status $s"
told "names: spaces, other scripts, markup, shell, 255 bytes" "${#odd[@]} folders and files: same bytes; 300 letters: told"

## Symbolic links
mkdir -p "$work/links/real"
ln -s real/print.png "$work/links/print.png"
ln -s "$scene" "$work/links/job"
s=$(status_of $program predict "$work/links/job/scene.toml" -o "$work/links/print.png")
{ [ "$s" = 0 ] && [ -L "$work/links/print.png" ] && cmp -s "$work/links/real/print.png" "$work/good-predict/print.png"; } || broke "symbolic links: status $s"
ln -s "$scene/plates/cream.png" "$work/links/plate.png"
s=$(status_of $program predict "$scene/scene.toml" -o "$work/links/plate.png")
{ [ "$s" = 2 ] && clear_error && cmp -s "$scene/plates/cream.png" "$work/job/plates/cream.png"; } || broke "a link to a plate as the target: status $s"
told "symbolic links: target, scene's folder, target is a plate" "3 runs: link kept, same bytes, plate spared"

## Clock and language
if command -v faketime >/dev/null; then
  for when in '1971-01-01' '2037-12-31 23:59:58' '2099-06-01'; do
    for c in "${commands[@]}"; do
      rm -rf "$work/clock"
      mkdir -p "$work/clock"
      s=$(status_of faketime "$when" $program $(words_of $c "$work/clock"))
      { [ "$s" = 0 ] && diff -r "$work/clock" "$work/good-$c" >/dev/null; } || broke "$c at $when: status $s, other bytes"
    done
  done
  told "clock set to 1971, 2037, 2099" "$((3 * ${#commands[@]})) runs: same bytes"
else
  told "clock" "skipped: faketime is not installed"
fi
comma=$(locale -a 2>/dev/null | grep -iE '^(de_DE|fr_FR)\.utf-?8$' | head -1)
if [ -z "$comma" ] && command -v localedef >/dev/null && [ -e /usr/share/i18n/locales/de_DE ]; then
  mkdir -p "$work/locales"
  localedef -i de_DE -f UTF-8 "$work/locales/de_DE.UTF-8" 2>/dev/null && export LOCPATH=$work/locales && comma=de_DE.UTF-8
fi
if [ -n "$comma" ]; then
  for c in "${commands[@]}"; do
    rm -rf "$work/comma"
    mkdir -p "$work/comma"
    s=$(status_of env LC_ALL=$comma LANG=$comma $program $(words_of $c "$work/comma"))
    { [ "$s" = 0 ] && diff -r "$work/comma" "$work/good-$c" >"$work/diff"; } || broke "$c under $comma: status $s, $(head -3 "$work/diff")"
  done
  told "language with a decimal comma ($comma)" "${#commands[@]} commands: same bytes"
else
  told "language with a decimal comma" "skipped: no such locale, and none can be made"
fi
exit $broken
