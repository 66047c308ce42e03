"""README tells of every command and every configuration key, and its first paragraph is the job."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from pydantic import BaseModel

from strandkeeper.cli.main import COMMANDS, ELSEWHERE
from strandkeeper.config import schema

README = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")


def _models() -> list[type[BaseModel]]:
    return [
        m
        for m in vars(schema).values()
        if isinstance(m, type) and issubclass(m, BaseModel) and m.__module__.startswith("strandk")
    ]


@pytest.mark.parametrize("command", sorted({*COMMANDS, *ELSEWHERE}))
def test_every_command_is_in_the_readme(command: str) -> None:
    assert f"strandkeeper {command}" in README


@pytest.mark.parametrize(
    "key", sorted({f.alias or name for m in _models() for name, f in m.model_fields.items()})
)
def test_every_key_is_in_the_readme(key: str) -> None:
    assert re.search(rf"`{re.escape(key)}`", README), f"{key} has no row in README's key tables"


def test_the_job_comes_first() -> None:
    title, _, first, *_ = README.splitlines()
    assert title == "# Strandkeeper"
    assert first.startswith("You buried your own single-mode fibre")
