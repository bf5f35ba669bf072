#!/usr/bin/env bash
# Same bits from every compiler: builds the program of tests/bits with g++ -O2, g++ -O0 and clang++ -O2 and compares
# what they print. usage: tools/bits.sh [PROGRAM built with g++ -O2]
set -euo pipefail
root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)
cd -- "$root"
. tools/common.sh
export CCACHE_BASEDIR=$root CCACHE_NOHASHDIR=1 CCACHE_DEPEND=1
launcher=()
if command -v ccache >/dev/null 2>&1; then launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache); fi

# prepare FOLDER TYPE COMPILER ON|OFF: several sources at once or one by one.
prepare() {
  cmake -S . -B "$1" -G Ninja -DCMAKE_BUILD_TYPE="$2" -DCMAKE_CXX_COMPILER="$3" -DFETTLE_TESTS=OFF -DFETTLE_KERNEL=OFF \
    -DFETTLE_OUTPUT=OFF -DFETTLE_BITS_PROGRAM=ON -DFETTLE_UNITY="$4" -DCMAKE_CXX_FLAGS_DEBUG=-O0 "${launcher[@]}" >"$1.log" 2>&1 || { cat "$1.log" >&2; return 1; }
}
# build NAME TYPE COMPILER: prints the program's path.
build() {
  local folder=build/bits-$1
  if [ ! -e "$folder/build.ninja" ]; then prepare "$folder" "$2" "$3" ON; fi
  if ! ninja -C "$folder" -j "$(jobs_that_fit)" bits >"$folder.log" 2>&1; then
    # Names of two sources may clash in a way that tools/together.py does not see.
    { echo "bits: $1: not several sources at once:"; grep -m 3 'error:' "$folder.log" || true; } >&2
    prepare "$folder" "$2" "$3" OFF
    ninja -C "$folder" -j "$(jobs_that_fit)" bits >"$folder.log" 2>&1 || { tail -n 40 "$folder.log" >&2; return 1; }
  fi
  echo "$folder/bits"
}
mkdir -p build
# Each runs while the next is compiled. The one without optimisation is ten times slower, so it takes a quarter of the draws.
release=${1:-$(build release Release g++)}
"$release" >build/bits-release.txt &
debug=$(build debug Debug g++)
"$debug" 25 >build/bits-debug.txt &
clang=$(build clang Release clang++)
"$clang" >build/bits-clang.txt
wait
awk '$2 != "draw" { print; next } { split($3, k, "."); if (k[2] + 0 < 25) print }' build/bits-release.txt >build/bits-release-25.txt
lines=$(wc -l <build/bits-release.txt)
status=0
# same OTHER REFERENCE
same() {
  if ! cmp -s "$2" "build/bits-$1.txt"; then
    echo "bits: g++ -O2 and $1 differ, first of all here:"
    { diff "$2" "build/bits-$1.txt" || true; } | head -n 12
    status=1
  fi
}
same debug build/bits-release-25.txt
same clang build/bits-release.txt
echo "bits: $lines lines from g++ -O2 and clang++ -O2, $(wc -l <build/bits-debug.txt) of them from g++ -O0"
if [ "$lines" -lt 500 ]; then echo "bits: too few lines to mean anything" && status=1; fi
exit "$status"
