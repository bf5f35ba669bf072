#!/usr/bin/env bash
# Tests tools/together.py on pairs NAME_a.cpp, NAME_b.cpp: those under good/ must go together and compile so, those under bad/ must
# stay apart, and the compiler must refuse them together (in one order at least): so it says of both that the sample is what it claims.
set -euo pipefail
root=$(cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.." && pwd -P)
cd -- "$root/tests/samples/together"
status=0
pairs=0
compiles() { printf '#include "%s"\n#include "%s"\n' "$1" "$2" | g++ -std=c++20 -fsyntax-only -Wall -Wextra -Werror -I. -x c++ - 2>/dev/null; }
for a in good/*_a.cpp bad/*_a.cpp; do
  b=${a/_a.cpp/_b.cpp}
  pairs=$((pairs + 1))
  said=$(/usr/bin/python3 "$root/tools/together.py" 8 3000 "$a" "$b")
  both=yes
  if ! compiles "$a" "$b" || ! compiles "$b" "$a"; then both=no; fi
  case $a in
    good/*) want="$a;$b" really=yes ;;
    *) want="" really=no ;;
  esac
  if [ "$said" != "$want" ]; then echo "together: $a and $b: said '$said', expected '$want'" && status=1; fi
  if [ $both != $really ]; then echo "together: $a and $b: compiled in one go: $both, the sample claims $really" && status=1; fi
done
# Groups end at the number of files and of lines asked for.
if [ "$(/usr/bin/python3 "$root/tools/together.py" 2 3000 good/*.cpp | tr ';' '\n' | wc -l)" -ne 6 ]; then
  echo "together: six sources by twos are three groups" && status=1
fi
if [ -n "$(/usr/bin/python3 "$root/tools/together.py" 8 9 good/*.cpp)" ]; then echo "together: nine lines hold no two of them" && status=1; fi
echo "together: $pairs pairs looked at"
if [ "$pairs" -lt 9 ]; then echo "together: too few pairs to mean anything" && status=1; fi
exit "$status"
