# Sourced by deploy/start and tests/run from the top of the tree: the Python environment.
# Defines: environment (its directory), make_environment [EXTRA].
# Nothing is fetched when it is already as the tree wants it, so it works without a network then.

environment="${STRANDKEEPER_ENVIRONMENT:-.venv}"

say() { printf 'strandkeeper: %s\n' "$*" >&2; }

find_python() {
  local candidate
  for candidate in ${PYTHON:-} python3 python3.14 python3.13 python3.12 python3.11; do
    if "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      printf '%s' "$candidate"
      return
    fi
  done
  say "Python 3.11 or newer is needed and none was found (on Debian: apt-get install python3 python3-venv)."
  say "If it is somewhere unusual, say where: PYTHON=/path/to/python3 $0"
  return 1
}

# What the environment must hold; a change of any of it installs anew.
wanted_environment() {
  printf '%s\n' "$1" "$PWD"
  cat pyproject.toml deploy/constraints.txt
}

make_environment() {
  local extra="${1:-}" python target=.
  local stamp="$environment/strandkeeper-$([ -n "$extra" ] && echo "$extra" || echo plain).stamp"
  if [ -f "$stamp" ] && wanted_environment "$extra" | cmp -s - "$stamp"; then
    return
  fi
  python="$(find_python)"
  if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
    say "this Python cannot make virtual environments (on Debian: apt-get install python3-venv)."
    return 1
  fi
  say "installing into $environment (the first time this takes a minute or two)"
  [ -x "$environment/bin/python" ] || "$python" -m venv "$environment"
  [ -z "$extra" ] || target=".[$extra]"
  if ! "$environment/bin/python" -m pip install --quiet --disable-pip-version-check \
    --constraint deploy/constraints.txt --editable "$target"; then
    say "the installation failed; the lines above say why. Is there a network? Is the disk full?"
    return 1
  fi
  wanted_environment "$extra" >"$stamp"
}
