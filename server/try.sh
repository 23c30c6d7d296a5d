#!/bin/sh
# Crosstree with a made-up nursery, from a fresh clone: sh server/try.sh [options of `crosstree demo`]
set -eu
root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd -P)
venv=$(sh "$root/.ci/prepare.sh" "")
exec "$venv/bin/crosstree" demo "$@"
