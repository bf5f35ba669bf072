# Which C++ files are ours. Sourced after cd to the tree's folder. Without git: every file in the source folders.
our_sources() {
  if git rev-parse --is-inside-work-tree >/dev/null 2>&1; then
    git -c core.quotepath=off ls-files -- '*.cpp' '*.h'
  else
    find src tests bench fuzz -name '*.cpp' -o -name '*.h'
  fi | grep -v '^tests/samples/' | LC_ALL=C sort | while IFS= read -r file; do
    if [ -e "$file" ]; then printf '%s\n' "$file"; fi
  done
}
