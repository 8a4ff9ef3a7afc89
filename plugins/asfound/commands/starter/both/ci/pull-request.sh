#!/bin/sh
# For every pull request: checks its recipes and builds the site from them, with the rules of the base branch.
#
#   ci/pull-request.sh BASE [HEAD]      BASE: the branch it goes to; HEAD: what is proposed, the working copy's commit
#
# Take this file, too, from the base branch. Only recipes/ is taken from the proposal, as data: the program, the
# templates and the site's configuration come from BASE, so that a proposal cannot change how it is judged. Nothing
# here needs a secret; give a stranger's proposal none.
set -eu
base=${1:?usage: ci/pull-request.sh BASE [HEAD]}
head=${2:-HEAD}
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

git archive "$base" | tar -x -C "$work"
rm -rf "$work/recipes"
git archive "$head" recipes | tar -x -C "$work"

python3 -m venv "$work/.venv"
"$work/.venv/bin/pip" install --quiet -r "$work/requirements.txt"
(
  cd "$work"
  .venv/bin/asfound check recipes
  .venv/bin/mkdocs build --strict --quiet
)
echo "The proposal passes, and the site can be built from it."
# What it changes in the car, for whoever decides. Status 1 only says that a human must look.
"$work/.venv/bin/asfound" review "$base" "$head" || [ $? = 1 ]
