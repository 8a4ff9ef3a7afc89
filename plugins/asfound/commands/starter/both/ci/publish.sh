#!/bin/sh
# For every publication, on the main branch only. Afterwards commit what is new in recipes/, then publish site/.
set -eu
cd "$(dirname "$0")/.."
[ -x .venv/bin/asfound ] || {
  python3 -m venv .venv
  .venv/bin/pip install --quiet -r requirements.txt
}
.venv/bin/asfound publish
.venv/bin/mkdocs build --strict --quiet
git status --short recipes
