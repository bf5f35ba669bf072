#!/usr/bin/env bash
# Brings the documents that are written by the program up to date. Needs a built build/fettle.
set -euo pipefail
cd -- "$(dirname -- "${BASH_SOURCE[0]}")/.."
build/fettle reckon --json | /usr/bin/python3 tools/reckoners.py --write docs/reckoners.md
