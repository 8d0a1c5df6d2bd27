#!/usr/bin/env bash
# Sets a Debian machine with Go up, then runs the demo or the tests.
#   ./run.sh demo [flags]       run the demo
#   ./run.sh test [packages]    lint, race-test and fuzz for a short while
# FUZZTIME=10m ./run.sh test fuzzes for longer.
set -euo pipefail
cd "$(dirname "$0")"

speech=(libpocketsphinx3 pocketsphinx-en-us flite) # hears and speaks
testing=("${speech[@]}" pocketsphinx sox gcc libc6-dev strace chromium poppler-utils zbar-tools) # the recogniser as a program; for the race detector; to see that a sync comes before its answer; for the pages; to read PDF, and the QR code in it
recorded=(asterisk-core-sounds-en-g722 libspandsp2 pocketsphinx-testdata) # people who were recorded, and what decodes them
command -v npm >/dev/null || testing+=(npm) # fetches the accessibility checker of the page tests

install() {
  local missing=() sudo=''
  for p in "$@"; do
    dpkg-query -W -f '${Status}' "$p" 2>/dev/null | grep -q 'ok installed' || missing+=("$p")
  done
  ((${#missing[@]})) || return 0
  ((EUID == 0)) || sudo=sudo
  $sudo apt-get update -qq
  $sudo env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${missing[@]}"
}

# fuzz runs every fuzz target for a short while.
fuzz() {
  local file target
  grep -rlE '^func Fuzz' --include='*_test.go' . | sort | while read -r file; do
    grep -oE '^func Fuzz[A-Za-z0-9_]+' "$file" | cut -d' ' -f2 | while read -r target; do
      echo "fuzz $target in $(dirname "$file")"
      fuzz_one "$target" "$(dirname "$file")"
    done
  done
}

# fuzz_one runs one target. The go command now and then reports its own deadline as a failure; that
# is none where it found no input that fails.
fuzz_one() {
  local log status=0
  log=$(mktemp)
  go test -run='^$' -fuzz="^$1\$" -fuzztime="${FUZZTIME:-3s}" -fuzzminimizetime=1x "$2" 2>&1 | tee "$log" || status=$?
  if ((status)) && grep -q '^    context deadline exceeded$' "$log" && ! grep -qE 'Failing input|panic|_test\.go:' "$log"; then
    status=0
  fi
  rm -f "$log"
  return "$status"
}

case ${1:-} in
demo)
  shift
  install "${speech[@]}"
  exec go run ./cmd/readback demo "$@"
  ;;
test)
  shift
  install "${testing[@]}"
  # Another Debian may name these otherwise: their one test then fails, and says what it lacks, and all others run.
  install "${recorded[@]}" || echo "run.sh: recordings of people are not installed: ${recorded[*]}" >&2
  export CI=true # a test that finds a component missing fails here; elsewhere it may skip
  whole=$#
  (($#)) || set -- ./... ./testdata ./testdata/golden
  go run github.com/golangci/golangci-lint/v2/cmd/golangci-lint@v2.15.0 run "$@"
  packages=$(go list "$@")
  # A recogniser under the race detector is too slow for its own time limits: its tests come after, without.
  slow='/capture/hear/(offline|trial)$'
  if grep -qvE "$slow" <<<"$packages"; then go test -race -count=1 -timeout 20m $(grep -vE "$slow" <<<"$packages"); fi
  # Under the race detector it tries a tenth of its changes.
  if grep -q '/capture/seal$' <<<"$packages"; then go test -count=1 -run Changes ./capture/seal; fi
  if grep -qE "$slow" <<<"$packages"; then go test -count=1 -timeout 20m $(grep -E "$slow" <<<"$packages"); fi
  ((whole)) || fuzz
  ;;
*)
  echo "usage: ./run.sh demo [flags] | test [packages]" >&2
  exit 2
  ;;
esac
