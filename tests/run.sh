#!/bin/sh
# Everything that must hold, from a fresh clone: sh tests/run.sh [arguments for pytest]
set -eu
root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd -P)

# What the tests use beyond Python: a PostgreSQL server, a browser, software OpenGL, a screen in memory.
venv=$(sh "$root/.ci/prepare.sh" test,tablet \
    postgresql chromium libgl1 libegl1 libgles2 libgl1-mesa-dri libmtdev1 xvfb xauth xdotool)
PATH=$venv/bin:$PATH
export PATH
cd "$root"

failed=
check() {
    printf '\n== %s\n' "$*"
    "$@" || failed="$failed '$*'"
}

told=$(mktemp)
types=
trap 'kill "$types" 2>/dev/null || :; rm -f "$told"' EXIT
trap 'exit 130' INT TERM

# Waits for mypy, and tells what it found.
beside() {
    status=0
    wait "$types" || status=$?
    types=
    cat "$told"
    return "$status"
}

check ruff check
check ruff format --check
check lint-imports
# Types take a minute of one core, and tests wait now and then: they are looked at meanwhile, and told of afterwards.
mypy >"$told" 2>&1 &
types=$!
# As many processes as there are cores; one that has nothing left to do takes tests of another.
check pytest -n auto --dist worksteal "$@"
check beside mypy

if [ -n "$failed" ]; then
    printf '\ncrosstree: failed:%s\n' "$failed" >&2
    exit 1
fi
