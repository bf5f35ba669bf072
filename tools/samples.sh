#!/usr/bin/env bash
# Tests a check by its samples: it must accept the good one and refuse the bad one, with exactly the expected words.
# usage: tools/samples.sh floors|citations
set -euo pipefail
root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)
check=$1
cd -- "$root/tests/samples/$check"
status=0
for kind in good bad; do
  more=()
  if [ -e "$kind/reckoners.json" ]; then more=(--reckoners "$kind/reckoners.json"); fi
  code=0
  said=$(/usr/bin/python3 "$root/tools/$check.py" --root "$kind" "${more[@]}") || code=$?
  if [ "$said" != "$(cat "$kind/expected.txt")" ]; then
    echo "$check: the $kind sample is not judged as expected:"
    diff <(printf '%s\n' "$said") "$kind/expected.txt" || true
    status=1
  fi
  if [ "$kind" = good ] && [ "$code" -ne 0 ]; then echo "$check: the good sample was refused" && status=1; fi
  if [ "$kind" = bad ] && [ "$code" -eq 0 ]; then echo "$check: the bad sample was accepted" && status=1; fi
done
exit "$status"
