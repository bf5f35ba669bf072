#!/usr/bin/env bash
# Tests the writer of docs/validation.md: good records give the expected page, twice the same; a row that does not hold, or
# no record at all, is refused.
set -euo pipefail
cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.."
samples=tests/samples/validation
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
write() { /usr/bin/python3 tools/validation.py --records "$samples/$1" --write "$folder/$1.md"; }
write good >/dev/null
diff "$samples/good.md" "$folder/good.md"
[[ $(write good) == *"is up to date"* ]] || { echo "validation: the same records gave another page" && exit 1; }
if write bad >"$folder/said"; then echo "validation: a row that does not hold was accepted" && exit 1; fi
[ "$(grep -c 'does not hold: lifting' "$folder/said")" = 2 ] || { echo "validation: it does not say which rows do not hold" && exit 1; }
[ "$(grep -c 'does not hold\*\*' "$folder/bad.md")" = 2 ]
if write empty >"$folder/said"; then echo "validation: no record at all was accepted" && exit 1; fi
echo "validation: samples judged as expected"
