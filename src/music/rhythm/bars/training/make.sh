#!/bin/sh
# Fits way-weights.json and bar-network.json again (README.md). usage: make.sh WORK FOLDER… [--unlike FOLDER]…
# WORK receives the files in between; those that are there already are kept, so that a run can be continued.
set -eu
work=$1; shift
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../../../../.." && pwd)
mkdir -p "$work"
work=$(cd "$work" && pwd)
for argument; do
  [ "$argument" = --unlike ] || [ -d "$argument" ] || { echo "'$argument' is not a folder of ABC files" >&2; exit 2; }
done

# ways NAME ARGUMENT…: writes WORK/NAME.jsonl
ways() {
  name=$1; shift
  [ -e "$work/$name.jsonl" ] && return
  npx --prefix "$root" tsx "$root/tests/bench/fit/bar-ways.ts" "$@" > "$work/$name.part"
  mv "$work/$name.part" "$work/$name.jsonl"
}
ways songs --songs 2
ways songs6 --songs 6
ways songbook "$root/tests/bench/fit/songbook" --seeds 6
ways planned "$@"
ways misheard "$@" --misheard 31
ways heard "$@" --heard 20

fitted=$here/../way-weights.json
npx --prefix "$root" tsx "$root/tests/bench/fit/fit-bars.ts" "$work/songs.jsonl" "$work/heard.jsonl" > "$work/way-weights.json"
cp "$work/way-weights.json" "$fitted"

train() { python3 "$here/train.py" "$@"; }
rm -f "$work/a.json"
train "$work/a.json" "$work/songs.jsonl" "$work/heard.jsonl" "$work/misheard.jsonl" "$work/planned.jsonl"
GO_ON=3 train "$work/a.json" "$work/songs6.jsonl" "$work/heard.jsonl"
# The second network continues from the one before this one, given the inputs that it lacks.
git -C "$root" show 36121e7:src/music/rhythm/bars/bar-network.json > "$work/b.json"
GO_ON=4 train "$work/b.json" "$work/songs6.jsonl" "$work/heard.jsonl"
MEAN=$work/a.json,$work/b.json train "$here/../bar-network.json"
GENTLY=1 GO_ON=3 train "$here/../bar-network.json" "$work/songs6.jsonl" "$work/heard.jsonl" "$work/songbook.jsonl"
echo 'Now check the weights with `npm run held-out` and `npm run bench:bars`, and update the card of bar-network.json.' >&2
