#!/usr/bin/env bash
# From an empty Debian 12 machine to findings: installs what is missing, builds Fettle, makes the demo's STEP models,
# studies both demo plans and says where to look. Ends with 0 when both studies ran to the end, whatever they found.
set -euo pipefail
root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)
here=$PWD
cd -- "$root"
data=plans/demo  # the folder with the plans of the demo
. tools/common.sh
. tools/packages.sh

if [ $# -gt 0 ]; then
  printf '%s\n' "usage: ./demo" "" "Builds Fettle in build/, studies $data/plan-0.toml and $data/plan-1.toml," \
    "and writes what it finds into $data/results/. Takes no arguments."
  [ "$1" = --help ] || [ "$1" = -h ] && exit 0
  exit 2
fi

# The page is part of the executable, so Node.js is brought too; where that fails the demo goes on without it.
page=yes
bring "${BUILD_PACKAGES[@]}" "${PAGE_PACKAGES[@]}" || { page=no && bring "${BUILD_PACKAGES[@]}"; }
if [ $page = yes ]; then page_start; fi
configure OFF
compile fettle
if [ $page = no ] || ! page_finish fettle; then
  page=no
  say "page: left out; everything but \`fettle serve\` works"
fi

# The models are made by our own program, so they are made again only when it is newer.
if [ ! -e $data/models/.made ] || [ build/fettle -nt $data/models/.made ]; then
  say "models: making the demo's STEP models in $data/models/"
  mkdir -p $data/models
  build/fettle demo-models $data/models
  touch $data/models/.made
else
  say "models: up to date in $data/models/"
fi

# study NAME: runs one plan. 0, 1 and 4 mean that it ran to the end (all inside; something needs a hand; something open).
study() {
  local code=0
  say "study: $data/$1.toml"
  printf '\n'
  build/fettle study "$data/$1.toml" --into "$data/results/$1" || code=$?
  printf '\n'
  case $code in
    0 | 1 | 4) return 0 ;;
    *)
      complain "The study of $data/$1.toml did not run to its end (exit code $code)."
      return 1
      ;;
  esac
}
mkdir -p $data/results
study plan-0
study plan-1

# shown PATH: as seen from where the person stands.
shown() { if [ "$here" = "$root" ]; then printf '%s' "$1"; else printf '%s' "$root/$1"; fi; }
say "done: both studies ran to the end"
printf '\n%s\n' "Where to look:"
for plan in plan-0 plan-1; do
  printf '  %s\n' "$(shown "$data/results/$plan/")"
  (cd "$data/results/$plan" && find . -type f ! -name '*.tmp' | LC_ALL=C sort | sed 's#^\./#      #')
done
printf '%s\n' "Next:"
if [ $page = yes ]; then printf '%s\n' "  build/fettle serve $data                  the page, in your browser"; fi
printf '%s\n' "  build/fettle study $data/plan-1.toml   what needs a hand first" \
  "  build/fettle levers $data/plan-0.toml coaxial   what would move it, and what else moves with it" \
  "  build/fettle reckon                         the calculators for the bench" \
  "  docs/start.md                               the first half hour"
