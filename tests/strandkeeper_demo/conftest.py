"""The story told with a fixed end, so that every test meets the same plant."""

from __future__ import annotations

import pytest

from strandkeeper_demo.plant import Plant
from strandkeeper_demo.scenario import Scenario, story

NOW_S = 1_767_268_800  # 2026-01-01 12:00 UTC


@pytest.fixture(scope="session")
def scenario() -> Scenario:
    return story(now_s=NOW_S)


@pytest.fixture
def plant(scenario: Scenario) -> Plant:
    return Plant(scenario)
