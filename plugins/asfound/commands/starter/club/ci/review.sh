#!/bin/sh
# ci/review.sh BASE HEAD: take this file, too, from the base branch.
set -eu
base=$1 head=$2 out=$PWD/out
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
mkdir -p "$out"

git archive "$base" | tar -x -C "$work"          # the program and its configuration: from the base branch
rm -rf "$work/recipes"
git archive "$head" recipes | tar -x -C "$work"  # the book: from the pull request, as data

python3 -m venv "$work/.venv"
"$work/.venv/bin/pip" install --quiet -r "$work/requirements.txt"
asfound=$work/.venv/bin/asfound

"$asfound" review "$base" "$head" --format markdown >"$out/review.md" || [ $? -eq 1 ]
"$asfound" review "$base" "$head" --format html >"$out/review.html" || [ $? -eq 1 ]
cd "$work"
"$asfound" check --format sarif >"$out/findings.sarif" || [ $? -eq 1 ]
"$asfound" check --format junit >"$out/findings.xml" || [ $? -eq 1 ]
"$asfound" check                                 # its status decides whether the pull request may be merged
.venv/bin/mkdocs build --strict --quiet          # and whether the site can be built from it
