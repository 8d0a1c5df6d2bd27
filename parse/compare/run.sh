#!/usr/bin/env bash
# Prints a Markdown table of Readback beside general-purpose libraries.
#   parse/compare/run.sh [--misses] [FILE.jsonl]
# The libraries go into a temporary folder that is removed at the end.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)

need() {
  command -v "$1" >/dev/null && return
  echo "compare: $1 is missing; $2" >&2
  exit 1
}
need node "install Node.js 20 or later"
need npm "install npm (it comes with Node.js, or as a package of its own)"
need go "install Go, as go.mod says"

misses=()
if [[ ${1:-} == --misses ]]; then
  misses=(--misses)
  shift
fi
notes=$(realpath "${1:-$root/testdata/notes/quantities.jsonl}")
[[ -r $notes ]] || { echo "compare: there is no notes file $notes" >&2; exit 1; }

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp "$here"/*.mjs "$here/package.json" "$work"
(cd "$work" && npm install --ignore-scripts --no-audit --no-fund --no-package-lock --loglevel=error >&2)
(cd "$root" && go build -o "$work/readback" ./cmd/readback)

pin=()
if command -v taskset >/dev/null; then
  allowed=$(taskset -cp $$)
  pin=(taskset -c "${allowed##*[ ,-]}") # the last core that this process may use
else
  echo "compare: taskset is missing, so nothing is held to one core (it is in util-linux)" >&2
fi
cd "$work"
GOMAXPROCS=1 "${pin[@]}" node compare.mjs "${misses[@]}" "$notes" "$work/readback"
