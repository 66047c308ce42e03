"""The pins of deploy/constraints.txt: exact, complete, and none of something that nobody needs.

What a package needs is what it says of itself where these tests run (importlib.metadata); what is
needed on other systems or by earlier Pythons alone is listed by hand.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PINS = Path(__file__).parents[2] / "deploy" / "constraints.txt"
LINE = re.compile(r"([A-Za-z0-9][A-Za-z0-9._-]*)==([0-9][A-Za-z0-9.+!]*)")
ELSEWHERE = {"tzdata"}  # tzlocal, on Windows


def pins() -> dict[str, str]:
    """Canonical names with their versions."""
    lines = PINS.read_text(encoding="utf-8").splitlines()
    found = [LINE.fullmatch(line) for line in lines if line and not line.startswith("#")]
    assert None not in found, "a pin is NAME==VERSION and nothing else"
    return {canonicalize_name(m[1]): m[2] for m in found if m is not None}


def requirements(name: str, extras: frozenset[str]) -> Iterator[Requirement]:
    for line in metadata.requires(name) or ():
        wanted = Requirement(line)
        given = ({"extra": extra} for extra in ("", *extras))
        if wanted.marker is None or any(wanted.marker.evaluate(one) for one in given):
            yield wanted


def needed(*extras: str) -> set[str]:
    """Everything that the project needs with these extras, what that needs in turn included."""
    seen: set[tuple[str, frozenset[str]]] = set()
    waiting: list[tuple[str, frozenset[str]]] = [("strandkeeper", frozenset(extras))]
    while waiting:
        one = waiting.pop()
        if one in seen:
            continue
        seen.add(one)
        waiting += [(canonicalize_name(r.name), frozenset(r.extras)) for r in requirements(*one)]
    return {name for name, _ in seen} - {"strandkeeper"}


def test_everything_that_is_needed_is_pinned_to_what_is_installed() -> None:
    have = pins()
    assert {name: have.get(name) for name in needed("tests")} == {
        name: metadata.version(name) for name in needed("tests")
    }


def test_no_pin_is_left_over() -> None:
    build = {"hatchling"}  # pyproject.toml: build-system
    assert set(pins()) - needed("tests") - build == ELSEWHERE


@pytest.mark.parametrize("name", sorted(needed()))
def test_a_package_of_the_service_is_under_a_licence_that_it_names(name: str) -> None:
    about = metadata.metadata(name)
    classifiers = [c for c in about.get_all("Classifier") or () if c.startswith("License ::")]
    files = [f for f in metadata.files(name) or () if "licen" in f.name.lower()]
    named = about.get("License-Expression") or about.get("License") or classifiers or files
    assert named
    assert "GPL" not in f"{about.get('License-Expression')} {classifiers}"
