"""Whether every pinned package comes ready built, so that no compiler is needed.

    python -m tests.bench.wheels

Fetches the wheels of deploy/constraints.txt that the product itself needs, for x86-64 and aarch64
(a small ARM board with a 64-bit system), for each Python that may run it, from wherever pip is set
up to fetch. It takes minutes and a network, so tests/run does not run it.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, requires
from pathlib import Path
from typing import Final

TOP: Final = Path(__file__).parents[2]
MACHINES: Final = ("x86_64", "aarch64")
# what a wheel may ask of the C library: up to glibc 2.36, that of Debian 12
LIBRARIES: Final = ("manylinux2014", *(f"manylinux_2_{minor}" for minor in range(17, 37)))
PYTHONS: Final = ("3.11", "3.12", "3.13", "3.14")


def _name(requirement: str) -> str:
    found = re.match(r"[\w.-]+", requirement)
    return re.sub(r"[-_.]+", "-", found[0] if found else requirement).lower()


def pins() -> dict[str, str]:
    """The lines of the constraints by package."""
    lines = (TOP / "deploy" / "constraints.txt").read_text(encoding="utf-8").splitlines()
    return {_name(line): line for line in lines if re.match(r"[\w.-]+==", line)}


def needed(pinned: dict[str, str]) -> Iterator[str]:
    """The pins of what the product needs, and of what that needs in turn."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    todo, met = [_name(line) for line in project["dependencies"]], set[str]()
    while todo:
        name = todo.pop()
        if name in met or name not in pinned:
            continue
        met.add(name)
        yield pinned[name]
        try:
            todo += [_name(line) for line in requires(name) or () if "extra ==" not in line]
        except PackageNotFoundError:
            continue


def missing(pin: str, machine: str, python: str, into: str) -> str:
    """What pip says if there is no wheel of it; empty if there is."""
    platforms = [f"--platform={library}_{machine}" for library in LIBRARIES]
    ask = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--dest", into]
    ask += ["--only-binary=:all:", "--python-version", python, "--implementation=cp", *platforms]
    done = subprocess.run([*ask, "--", pin], capture_output=True, text=True, check=False)
    return "" if done.returncode == 0 else (done.stderr.strip().splitlines() or ["?"])[-1]


def main() -> int:
    """Fetch everything, tell what is not there. 1 if anything is missing."""
    wanted = sorted(needed(pins()))
    gone = 0
    for python in PYTHONS:
        for machine in MACHINES:
            with tempfile.TemporaryDirectory() as into:
                said = {pin: missing(pin, machine, python, into) for pin in wanted}
            lost = {pin: words for pin, words in said.items() if words}
            gone += len(lost)
            there = len(wanted) - len(lost)
            print(f"Python {python}, {machine}: {there} of {len(wanted)} wheels", flush=True)
            for pin, words in lost.items():
                print(f"  {pin}: {words}")
    return 1 if gone else 0


if __name__ == "__main__":
    sys.exit(main())
