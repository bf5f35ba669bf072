#!/usr/bin/env bash
# clang-tidy on what a change touches: the sources that differ from the branch it goes to, at most twelve of them; when
# nothing differs (or git is not there) on a fixed few, one per low floor. Uses the compile commands of build/tidy/.
# usage: tools/tidy.sh [FILE...]
set -euo pipefail
cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.."
. tools/sources.sh
if [ $# -gt 0 ]; then
  files=("$@")
else
  changed() {
    local base
    base=$(git merge-base HEAD origin/HEAD 2>/dev/null || git merge-base HEAD origin/main 2>/dev/null) || return 0
    { git diff --name-only "$base" -- 'src/*.cpp' && git ls-files --others --exclude-standard -- 'src/*.cpp'; } | LC_ALL=C sort -u
  }
  mapfile -t files < <(changed | while IFS= read -r f; do if [ -e "$f" ] && [[ $f != *_test.cpp ]]; then echo "$f"; fi; done)
  if [ ${#files[@]} -gt 12 ]; then
    echo "tidy: ${#files[@]} files changed, the first twelve in the order of their hashes are looked at"
    mapfile -t files < <(sha1sum -- "${files[@]}" | sort | head -n 12 | cut -c 43-)
  elif [ ${#files[@]} -eq 0 ]; then
    echo "tidy: nothing differs from the main branch, so a fixed few are looked at"
    for f in src/base/text.cpp src/finding/finding.cpp src/finding/reckoner.cpp src/calc/lifting/lifting.cpp; do
      if [ -e "$f" ]; then files+=("$f"); fi
    done
  fi
fi
printf 'tidy: %s\n' "${files[@]}"
# build/ compiles several sources in one go; what each needs by itself is worked out beside it.
mkdir -p build/tidy
if ! cmake -S . -B build/tidy -G Ninja -DCMAKE_BUILD_TYPE=Release -DFETTLE_UNITY=OFF -DFETTLE_TESTS=OFF >build/tidy.log 2>&1; then
  tail -n 20 build/tidy.log
  exit 1
fi
printf '%s\0' "${files[@]}" | xargs -0 -n 1 -P "$(nproc)" clang-tidy -p build/tidy --quiet 2>/dev/null
