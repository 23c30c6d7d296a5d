#!/bin/sh
# Makes the virtual environment that everything here runs in, and prints its path.
#
#   sh .ci/prepare.sh EXTRAS [DEBIAN-PACKAGE ...]
#
# EXTRAS is a comma-separated list from pyproject.toml, or "". The environment is .venv in the
# checkout, or where CROSSTREE_VENV says. When nothing changed since the last time, this takes
# a moment. Only the path goes to standard output; what it does and what went wrong, to standard
# error.
set -eu

extras=${1-}
[ $# -eq 0 ] || shift
root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd -P)

say() { printf 'crosstree: %s\n' "$*" >&2; }
stop() { say "$@"; exit 1; }

have() { command -v "$1" >/dev/null 2>&1; }
is_root() { [ "$(id -u)" = 0 ]; }

apt_updated=no
apt_install() {
    say "installing Debian packages: $*"
    if [ "$apt_updated" = no ]; then
        apt-get update -qq >&2 || say "apt-get update failed; trying with the package lists there are"
        apt_updated=yes
    fi
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq -o Dpkg::Use-Pty=0 --no-install-recommends "$@" >&2 </dev/null ||
        stop "apt-get could not install: $*. Is there a network connection? Run this again once there is."
}

# need_debian PACKAGE ...: installs those that are missing, or stops and names them.
need_debian() {
    if ! have dpkg-query; then
        say "this is not Debian; install what corresponds to these Debian packages yourself: $*"
        return 0
    fi
    missing=
    for package in "$@"; do
        case $(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null) in
            installed) ;;
            *) missing="$missing $package" ;;
        esac
    done
    [ -n "$missing" ] || return 0
    # Unquoted on purpose: a list of package names.
    # shellcheck disable=SC2086
    if is_root && have apt-get; then
        apt_install $missing
    else
        stop "Debian packages are missing, and only root may install them. As root:" \
            "apt-get install --no-install-recommends$missing"
    fi
}

new_enough() { "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; }
makes_environments() { "$1" -c 'import ensurepip, venv' >/dev/null 2>&1; }

find_python() {
    for candidate in python3 python3.14 python3.13 python3.12 python3.11; do
        if have "$candidate" && new_enough "$candidate"; then
            python=$candidate
            return 0
        fi
    done
    return 1
}

# Sets $python to an interpreter that is new enough and can make a virtual environment.
need_python() {
    if ! find_python; then
        if have python3; then
            stop "python3 here is '$(python3 --version 2>&1)', but Crosstree needs Python 3.11 or newer." \
                "Install one and put it first on PATH."
        elif is_root && have apt-get; then
            apt_install python3 python3-venv
            find_python || stop "Debian's python3 is older than 3.11; put a Python 3.11 or newer on PATH."
        else
            stop "python3 is not on PATH; Crosstree needs Python 3.11 or newer." \
                "On Debian, as root: apt-get install python3 python3-venv"
        fi
    fi
    makes_environments "$python" && return 0
    if is_root && have apt-get; then
        apt_install python3-venv
    fi
    makes_environments "$python" || stop "$(command -v "$python") cannot make virtual environments" \
        "(its module venv or ensurepip is missing). On Debian, as root: apt-get install python3-venv"
}

is_whole() {
    [ -x "$venv/bin/python" ] && new_enough "$venv/bin/python" &&
        "$venv/bin/python" -c 'import pip' >/dev/null 2>&1
}

# Stamp, one value a line: where environment and checkout are, what was installed, which extras.
fingerprint() { cat "$root/pyproject.toml" "$root/constraints.txt" | cksum; }
stamp_line() { sed -n "${1}p" "$stamp" 2>/dev/null || :; }

# with_extras LIST LIST: one sorted comma-separated list without repetitions.
with_extras() { printf '%s,%s' "$1" "$2" | tr ',' '\n' | sed '/^$/d' | sort -u | paste -sd, -; }

make_environment() {
    if [ -e "$venv" ] && [ ! -e "$venv/pyvenv.cfg" ] && [ -n "$(ls -A "$venv" 2>/dev/null)" ]; then
        stop "$venv is in the way: it is not a virtual environment. Move it, or set CROSSTREE_VENV to another place."
    fi
    need_python
    [ ! -e "$venv" ] || say "the environment in $venv is broken, moved or half made; making it anew"
    say "making a virtual environment in $venv with $("$python" --version 2>&1)"
    "$python" -m venv --clear "$venv" >&2 || stop "$python could not make a virtual environment in $venv (see above)."
}

install() {
    target=$root
    [ -z "$1" ] || target="$root[$1]"
    say "installing what Crosstree needs${1:+ (with $1)}; the first time takes a minute or two"
    "$venv/bin/python" -m pip install --quiet --disable-pip-version-check \
        -c "$root/constraints.txt" -e "$target" >&2 </dev/null ||
        stop "pip could not install the packages (see above). They come over the network:" \
            "check the connection and run this again; what was already fetched is kept."
}

venv=${CROSSTREE_VENV:-$root/.venv}
case $venv in /*) ;; *) venv=$(pwd -P)/$venv ;; esac
stamp=$venv/crosstree-stamp

[ $# -eq 0 ] || need_debian "$@"

parent=$(dirname -- "$venv")
if ! mkdir -p "$parent" 2>/dev/null || [ ! -w "$parent" ]; then
    stop "cannot write in $parent, where the virtual environment belongs. Set CROSSTREE_VENV to another place."
fi
# Two commands started at once must not build the same environment.
if have flock; then
    exec 9>"$venv.lock"
    flock 9
fi

here="$venv $root"
if [ "$(stamp_line 1)" != "$here" ] || ! is_whole; then
    make_environment
fi
wanted=$(with_extras "$extras" "$(stamp_line 3)")
if [ "$(stamp_line 1)" != "$here" ] || [ "$(stamp_line 2)" != "$(fingerprint)" ] || [ "$(stamp_line 3)" != "$wanted" ]; then
    installed=$(fingerprint)
    install "$wanted"
    printf '%s\n%s\n%s\n' "$here" "$installed" "$wanted" >"$stamp"
fi
printf '%s\n' "$venv"
