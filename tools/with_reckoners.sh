#!/usr/bin/env bash
# Checks that need what `fettle reckon --json` prints. usage: tools/with_reckoners.sh PROGRAM citations|page
set -euo pipefail
cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.."
list=$(mktemp)
trap 'rm -f "$list"' EXIT
"$1" reckon --json >"$list"
case $2 in
  citations) /usr/bin/python3 tools/citations.py --reckoners "$list" ;;
  page) /usr/bin/python3 tools/reckoners.py --check docs/reckoners.md <"$list" ;;
  *) exit 2 ;;
esac
