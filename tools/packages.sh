# The Debian packages Fettle needs, each with the test that says whether it is there already. Sourced by ./demo and
# ./check. A thing is looked for by what it gives (a command, a header, a pkg-config module), so that a machine which
# has it from elsewhere is left alone.
#   cmd:NAME   a command on the path        pc:NAME   a pkg-config module
#   inc:PATH   a header                     file:PATH a file
#   py:NAME    a module of the system's Python 3

BUILD_PACKAGES=(
  "g++ cmd:g++"
  "cmake cmd:cmake"
  "ninja-build cmd:ninja"
  "ccache cmd:ccache"
  "pkg-config cmd:pkg-config"
  "libeigen3-dev pc:eigen3"
  "libfmt-dev pc:fmt"
  "libcli11-dev inc:CLI/CLI.hpp"
  "libcpp-httplib-dev pc:cpp-httplib"
  "libssl-dev pc:openssl"
  "nlohmann-json3-dev inc:nlohmann/json.hpp"
  "libtomlplusplus-dev pc:tomlplusplus"
  "libxxhash-dev pc:libxxhash"
  "libboost-dev inc:boost/math/distributions/students_t.hpp"
  "libnanoflann-dev inc:nanoflann.hpp"
  "libtbb-dev inc:tbb/tbb.h" # the kernel's own CMake targets link it
  "libcairo2-dev pc:cairo-pdf"
  "libpango1.0-dev pc:pangocairo"
  "fonts-dejavu-core file:/usr/share/fonts/truetype/dejavu/DejaVuSans.ttf"
  "libocct-foundation-dev inc:opencascade/gp_Pnt.hxx"
  "libocct-modeling-data-dev inc:opencascade/Geom_Plane.hxx"
  "libocct-modeling-algorithms-dev inc:opencascade/BRepAlgoAPI_Cut.hxx"
  "libocct-data-exchange-dev inc:opencascade/STEPControl_Reader.hxx"
)
PAGE_PACKAGES=(
  "nodejs cmd:node"
  "npm cmd:npm"
)
TEST_PACKAGES=(
  "libgtest-dev inc:gtest/gtest.h"
  "libgmock-dev inc:gmock/gmock.h"
  "libbenchmark-dev pc:benchmark"
  "clang cmd:clang++"
  "clang-format cmd:clang-format"
  "clang-tidy cmd:clang-tidy"
  "libudunits2-dev inc:udunits2.h"
  "poppler-utils cmd:pdftotext"
  "calculix-ccx cmd:ccx" # a general finite-element program, as an oracle for the plate
  "chromium file:/usr/bin/chromium" # the page's tests
  "openssl cmd:openssl" # certificates for the tests of encrypted connections
  "python3 cmd:python3"
  "locales file:/usr/share/i18n/locales/de_DE"
)

# is_there TEST: succeeds when the thing named by TEST is on this machine.
is_there() {
  local what=${1#*:} folder
  case $1 in
    cmd:*) command -v "$what" >/dev/null 2>&1 ;;
    pc:*) command -v pkg-config >/dev/null 2>&1 && pkg-config --exists "$what" ;;
    file:*) [ -e "$what" ] ;;
    py:*) [ -x /usr/bin/python3 ] && /usr/bin/python3 -c "import $what" >/dev/null 2>&1 ;;
    inc:*)
      for folder in /usr/include /usr/local/include /usr/include/x86_64-linux-gnu; do
        [ -e "$folder/$what" ] && return 0
      done
      return 1
      ;;
    *) return 1 ;;
  esac
}

# list_missing ROW...: prints the packages whose test fails.
list_missing() {
  local row
  for row in "$@"; do
    is_there "${row#* }" || printf '%s\n' "${row%% *}"
  done
}

# bring ROW...: installs what is missing and nothing else; says plainly when that is not possible.
bring() {
  local missing as_root=()
  mapfile -t missing < <(list_missing "$@")
  if [ ${#missing[@]} -eq 0 ]; then
    say "packages: nothing is missing"
    return 0
  fi
  say "packages: ${#missing[@]} missing: ${missing[*]}"
  if ! command -v apt-get >/dev/null 2>&1; then
    complain "This machine has no apt-get. Fettle is built for Debian 12; install these by hand and run again:" \
      "  ${missing[*]}"
    return 1
  fi
  if [ "$(id -u)" -ne 0 ]; then
    if command -v sudo >/dev/null 2>&1 && { [ -t 0 ] || sudo -n true 2>/dev/null; }; then
      as_root=(sudo)
    else
      complain "Packages are missing, and you are neither root nor able to use sudo. Ask somebody who is to run:" \
        "  apt-get update && apt-get install --no-install-recommends ${missing[*]}" "then run this again."
      return 1
    fi
  fi
  local apt=("${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=600 -o Dpkg::Use-Pty=0 -qq -y)
  local log
  log=$(mktemp)
  say "packages: fetching Debian's lists"
  if ! "${apt[@]}" update >"$log" 2>&1; then
    say "packages: the lists could not all be fetched; going on with what is there"
    tail -n 5 "$log" >&2
  fi
  say "packages: installing (about a minute)"
  if ! "${apt[@]}" install --no-install-recommends "${missing[@]}" >"$log" 2>&1; then
    tail -n 30 "$log" >&2
    rm -f "$log"
    complain "apt-get could not install: ${missing[*]}" "The lines above are the end of what it said."
    return 1
  fi
  rm -f "$log"
  hash -r
  mapfile -t missing < <(list_missing "$@")
  if [ ${#missing[@]} -gt 0 ]; then
    complain "Installed, yet still not found: ${missing[*]}" \
      "Does another program of the same name stand first on the path, or is this not Debian 12?"
    return 1
  fi
}
