#!/usr/bin/env bash
# Same bits from every compiler: builds the program of tests/bits with g++ -O2, g++ -O0 -g and clang++ -O2 and compares
# what they print. usage: tools/bits.sh [PROGRAM built with g++ -O2]
set -euo pipefail
root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)
cd -- "$root"
. tools/common.sh
export CCACHE_BASEDIR=$root CCACHE_NOHASHDIR=1
launcher=()
if command -v ccache >/dev/null 2>&1; then launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache); fi

# build NAME TYPE COMPILER: prints the program's path.
build() {
  local folder=build/bits-$1
  if [ ! -e "$folder/build.ninja" ]; then
    cmake -S . -B "$folder" -G Ninja -DCMAKE_BUILD_TYPE="$2" -DCMAKE_CXX_COMPILER="$3" -DFETTLE_TESTS=OFF -DFETTLE_KERNEL=OFF \
      -DFETTLE_OUTPUT=OFF -DFETTLE_BITS_PROGRAM=ON "${launcher[@]}" >"$folder.log" 2>&1 || { cat "$folder.log" >&2; return 1; }
  fi
  ninja -C "$folder" -j "$(jobs_that_fit)" bits >"$folder.log" 2>&1 || { tail -n 40 "$folder.log" >&2; return 1; }
  echo "$folder/bits"
}
mkdir -p build
release=${1:-$(build release Release g++)}
debug=$(build debug Debug g++)
clang=$(build clang Release clang++)

"$release" >build/bits-release.txt
"$debug" >build/bits-debug.txt
"$clang" >build/bits-clang.txt
lines=$(wc -l <build/bits-release.txt)
status=0
for other in debug clang; do
  if ! cmp -s build/bits-release.txt "build/bits-$other.txt"; then
    echo "bits: g++ -O2 and $other differ, first of all here:"
    { diff build/bits-release.txt "build/bits-$other.txt" || true; } | head -n 12
    status=1
  fi
done
echo "bits: $lines lines from g++ -O2, g++ -O0 and clang++ -O2"
if [ "$lines" -lt 500 ]; then echo "bits: too few lines to mean anything" && status=1; fi
exit "$status"
