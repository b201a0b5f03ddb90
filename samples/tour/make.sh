#!/usr/bin/env bash
# Makes the pictures of the tour, with the commands that the tour shows: samples/tour/make.sh
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
reedtrace() { node "$here/../../bin/reedtrace.js" "$@" --quiet; }

cd "$here/.."
reedtrace transcribe homework-kitchen.wav --harp C --out "$work/kitchen.take.json" > /dev/null
reedtrace transcribe bending-exercise.wav --harp C --out "$work/bending.take.json" > /dev/null
reedtrace export "$work/kitchen.take.json" --as svg,html --title Homework --out "$work" > /dev/null
cp "$work/kitchen.svg" "$here/sheet.svg"
reedtrace bends "$work/bending.take.json" --svg > "$here/bends.svg"
reedtrace arrange low-scale.txt --harp D --harps D --keep-key --svg > "$here/easier.svg"
# The page on a phone; needs Chromium.
"${CHROMIUM:-chromium}" --headless --no-sandbox --hide-scrollbars --window-size=500,820 --virtual-time-budget=8000 \
  --screenshot="$here/page.png" "file://$work/kitchen.html" > /dev/null 2>&1
