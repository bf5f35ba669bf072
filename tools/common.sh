# What ./demo and ./check share: words to the person, and the build. Sourced; expects $root (the tree's folder).

# say TEXT: one line that tells how far we are, with the time since the start.
say() { printf '[%2d:%02d] %s\n' $((SECONDS / 60)) $((SECONDS % 60)) "$*"; }

# complain LINE...: what went wrong and what to do, on standard error.
complain() { printf '%s\n' "" "$@" >&2; }

# How many compilers at once: one per core, but no more than memory allows (the largest file takes about 1.2 GB).
jobs_that_fit() {
  local cores megabytes fit
  cores=$(nproc 2>/dev/null || echo 1)
  megabytes=$(awk '/^MemAvailable:/ {print int($2 / 1024)}' /proc/meminfo 2>/dev/null || true)
  fit=$((${megabytes:-2048} / 1200))
  if [ "$fit" -lt 1 ]; then fit=1; fi
  if [ "$cores" -lt "$fit" ]; then fit=$cores; fi
  echo "$fit"
}

# cached NAME: a setting of the configured build folder, empty when there is none.
cached() { sed -n "s/^$1:[A-Z]*=//p" "$root/build/CMakeCache.txt" 2>/dev/null || true; }

# configure ON|OFF: prepares build/ for a release build, with or without tests. Does nothing when it stands already;
# a folder prepared with tests stays so. Several sources are compiled in one go.
configure() {
  local tests=$1
  if [ -e "$root/build/build.ninja" ] && [ "$(cached CMAKE_BUILD_TYPE)" = Release ]; then
    if [ "$tests" = OFF ] || [ "$(cached FETTLE_TESTS)" = ON ]; then return 0; fi
  fi
  if [ -e "$root/build/CMakeCache.txt" ] && [ "$(cached CMAKE_HOME_DIRECTORY)" != "$root" ]; then
    say "build: the tree has moved, so build/ is prepared afresh"
    rm -rf "$root/build/CMakeCache.txt" "$root/build/CMakeFiles"
  fi
  say "build: preparing build/"
  local launcher=()
  if command -v ccache >/dev/null 2>&1; then launcher=(-DCMAKE_CXX_COMPILER_LAUNCHER=ccache); fi
  mkdir -p "$root/build"
  if ! cmake -S "$root" -B "$root/build" -G Ninja -DCMAKE_BUILD_TYPE=Release -DFETTLE_TESTS="$tests" \
    -DFETTLE_UNITY=ON "${launcher[@]}" >"$root/build/configure.log" 2>&1; then
    tail -n 40 "$root/build/configure.log" >&2
    complain "The build could not be prepared; the whole log is build/configure.log"
    return 1
  fi
}

# compile_once JOBS [TARGET...]: what is out of date, with a line now and then that says how far it is.
compile_once() {
  local jobs=$1
  shift
  ninja -C "$root/build" -j "$jobs" "$@" 2>&1 | tee "$root/build/compile.log" | awk '
    /^ninja: no work to do/ { print "        nothing to compile"; fflush(); next }
    /^[0-9]+ of [0-9]+ / { if ($1 > 0 && ($1 == $3 || $1 % 10 == 0)) { print "        " $1 " of " $3; fflush() } next }
    /^ninja: Entering directory|^-- / { next }
    { print; fflush() }'
}

# wrong_alone LOG: whether the first source with an error has one by itself too, so that no other grouping helps.
wrong_alone() {
  local command source
  command=$(awk '/^FAILED: / { getline; print; exit }' "$1")
  source=$(sed -n 's/^\(\/[^:]*\.cpp\):[0-9]*:[0-9]*: error:.*/\1/p' "$1" | head -n 1)
  if [ -z "$command" ] || [ -z "$source" ]; then return 1; fi
  ! (cd "$root/build" && eval "${command%% -MD *} -fsyntax-only '$source'") >/dev/null 2>&1
}

# compile [TARGET...]: builds what is out of date. Sources compiled in one go may clash by a name of their own that
# tools/together.py did not see: then grouped anew, and at last one by one.
compile() {
  local jobs how
  jobs=$(jobs_that_fit)
  say "build: compiling with $jobs at once (what is up to date is left alone)"
  # The same file compiled in another folder counts as the same for the compiler cache. It takes the included files from
  # what the compiler lists, instead of running the preprocessor beforehand.
  export CCACHE_BASEDIR=$root CCACHE_NOHASHDIR=1 CCACHE_SLOPPINESS=time_macros CCACHE_DEPEND=1 NINJA_STATUS='%f of %t '
  if compile_once "$jobs" "$@"; then return 0; fi
  if [ "$(cached FETTLE_UNITY)" = ON ] && grep -q 'error:' "$root/build/compile.log" && ! wrong_alone "$root/build/compile.log"; then
    for how in ON OFF; do
      say "build: again, $([ $how = ON ] && echo "with the sources grouped anew" || echo "each source by itself")"
      cmake -DFETTLE_UNITY=$how "$root/build" >"$root/build/configure.log" 2>&1 || break
      if compile_once "$jobs" "$@"; then return 0; fi
    done
  fi
  complain "The build failed; the whole log is build/compile.log"
  return 1
}

# page_start: builds the page in the background; the compiler needs it only at its end.
page_start() {
  say "page: building in the background"
  mkdir -p "$root/build"
  bash "$root/tools/page.sh" build >"$root/build/page.log" 2>&1 &
  page_job=$!
}

# page_finish TARGET...: waits for the page and puts it into what was compiled. Fails when there is no page.
page_finish() {
  if ! wait "$page_job"; then
    tail -n 20 "$root/build/page.log" >&2
    complain "The page could not be built; the whole log is build/page.log"
    return 1
  fi
  if [ ! -e "$root/web/dist.new" ]; then return 0; fi
  bash "$root/tools/page.sh" put
  say "page: built, $(du -sk "$root/web/dist" | cut -f1) kB; putting it into the executable"
  compile "$@"
}
