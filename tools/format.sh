#!/usr/bin/env bash
# The format check: every source of ours stands as clang-format would write it.
# usage: tools/format.sh        names the files that differ
#        tools/format.sh --fix  rewrites them
set -euo pipefail
cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.."
. tools/sources.sh
mapfile -t files < <(our_sources)
if [ ${#files[@]} -eq 0 ]; then echo "format: no sources found" && exit 1; fi
if [ "${1:-}" = --fix ]; then
  clang-format -i "${files[@]}"
  exit 0
fi
status=0
printf '%s\0' "${files[@]}" | xargs -0 -n 40 clang-format --dry-run -Werror 2>build/format.log || status=1
if [ "$status" -ne 0 ]; then
  sed -n 's/^\([^:]*\):.*Wclang-format-violations.*/\1/p' build/format.log | LC_ALL=C sort -u
  echo "format: these files differ; mend them with tools/format.sh --fix"
fi
echo "format: ${#files[@]} files looked at"
exit "$status"
