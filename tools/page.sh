#!/usr/bin/env bash
# The page: built from web/ with the versions of its lock file, and tested in a real browser.
#   tools/page.sh build         makes web/dist.new when web/dist is not made from what web/ holds now
#   tools/page.sh put           puts web/dist.new where the executable takes its page from (web/dist)
#   tools/page.sh test FETTLE   the page's tests in Chromium, against `FETTLE serve`
# The two steps are apart so that the page can be built while the compiler still reads the old one.
set -euo pipefail
cd -- "$(dirname -- "${BASH_SOURCE[0]}")/../web"

# What the page is made from, as one number.
made_from() {
  { find src public -type f -print0; printf '%s\0' index.html package.json package-lock.json tsconfig.json vite.config.ts; } |
    LC_ALL=C sort -z | xargs -0 sha256sum | sha256sum | cut -d' ' -f1
}
old_enough() {
  if ! command -v node >/dev/null 2>&1 || ! command -v npm >/dev/null 2>&1; then
    echo "The page needs Node.js and npm (Debian: nodejs npm)." >&2
    return 1
  fi
  if [ "$(node -p 'process.versions.node.split(".")[0]')" -lt 18 ]; then
    echo "The page needs Node.js 18 or later; this is $(node --version)." >&2
    return 1
  fi
}
packages() {
  local lock
  lock=$(sha256sum package-lock.json | cut -d' ' -f1)
  if [ "$(cat node_modules/.made-from 2>/dev/null)" = "$lock" ]; then return 0; fi
  if ! npm ci --no-audit --no-fund --no-progress --loglevel=error; then
    echo "npm could not bring what web/package-lock.json names. Can this machine reach npm's registry?" >&2
    return 1
  fi
  echo "$lock" >node_modules/.made-from
}

case ${1:-} in
  build)
    now=$(made_from)
    if [ -e dist/index.html ] && [ "$(cat dist.made-from 2>/dev/null)" = "$now" ]; then exit 0; fi
    old_enough
    packages
    rm -rf dist.new
    npm run --silent build -- --outDir dist.new --emptyOutDir --logLevel warn
    echo "$now" >dist.new.made-from
    ;;
  put)
    if [ ! -e dist.new/index.html ]; then exit 0; fi
    rm -rf dist
    mv dist.new dist
    mv dist.new.made-from dist.made-from
    ;;
  test)
    old_enough
    browser=${CHROMIUM:-/usr/bin/chromium}
    if [ ! -x "$browser" ]; then
      echo "The page's tests need Chromium, and $browser is not there (Debian: chromium)." >&2
      exit 1
    fi
    packages
    FETTLE=$(realpath -- "${2:?the executable to test}") CHROMIUM=$browser npm --silent test
    ;;
  *)
    sed -n '2,6s/^# \?//p' ../tools/page.sh
    exit 2
    ;;
esac
