# Sourced by deploy/start and tests/run, which set `here` to the top of the clone.
# Makes the Python environment in .venv, once; nothing is fetched when it is already as wanted.
# shellcheck shell=sh

venv=$here/.venv
python=$venv/bin/python

say() { printf '%s\n' "$*" >&2; }

fail() {
    say "$(basename -- "$0"): $1"
    shift
    for line in "$@"; do say "  $line"; done
    exit 1
}

new_enough() {
    "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1
}

find_python() {
    for candidate in ${STRANDKEEPER_PYTHON:+"$STRANDKEEPER_PYTHON"} \
        python3 python3.14 python3.13 python3.12 python3.11; do
        if new_enough "$candidate"; then
            command -v -- "$candidate"
            return
        fi
    done
    return 1
}

# What the environment was made from: the clone's place, its dependencies and their pins.
wanted() {
    printf '%s\n' "$here"
    cksum <"$here/pyproject.toml"
    cksum <"$here/deploy/constraints.txt"
}

# $1: the extra of pyproject.toml to install, or nothing
stamp_of() { printf '%s' "$venv/strandkeeper-installed${1:+-$1}"; }

installed() {
    stamp=$(stamp_of "$1")
    [ -x "$python" ] && [ -f "$stamp" ] && [ "$(wanted)" = "$(cat -- "$stamp")" ]
}

make_venv() {
    base=$(find_python) || fail 'Python 3.11 or later is needed, and none was found.' \
        'On Debian 12 or Ubuntu 24.04 and later: sudo apt install python3 python3-venv' \
        "If it is somewhere else: STRANDKEEPER_PYTHON=/path/to/python3 $0"
    if ! "$base" -c 'import venv, ensurepip' 2>/dev/null; then
        version=$("$base" -c 'import sys; print("%d.%d" % sys.version_info[:2])')
        fail "$base cannot make virtual environments: its venv module is not installed." \
            "On Debian and Ubuntu: sudo apt install python$version-venv"
    fi
    if ! { [ -x "$python" ] && new_enough "$python"; }; then
        say "Making a virtual environment in $venv with $base ..."
        "$base" -m venv --clear -- "$venv" || fail 'The virtual environment could not be made.' \
            "See above; $here must be writable and have about 400 MB free."
    fi
}

install() {
    say "Installing the packages${1:+ for the $1} (the first time some 60 MB are downloaded) ..."
    # The pins hold for the build as well, so that the same clone always gives the same programs.
    # Their path is relative, because pip takes a blank in it for the end of a name.
    (cd "$here" && PIP_CONSTRAINT=deploy/constraints.txt "$python" -m pip install --quiet \
        --disable-pip-version-check --no-input --editable "$here${1:+[$1]}" >&2) ||
        fail 'The packages could not be installed.' \
            'The first start needs the network; later ones do not.' \
            'See above; then start again: what was done is kept.'
    wanted >"$(stamp_of "$1")"
    say 'Installed.'
}

# ensure_environment [EXTRA]: afterwards $python runs it
ensure_environment() {
    installed "${1-}" && return
    make_venv
    install "${1-}"
}
