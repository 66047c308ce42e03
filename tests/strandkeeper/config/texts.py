"""A small valid configuration, and ways to spoil it."""

from __future__ import annotations

from pathlib import Path

import pytest

from strandkeeper.config.load import loads
from strandkeeper.errors import ConfigError
from strandkeeper.model.settings import Settings

BASE = Path("/srv/station")

SWITCHES = """
[[switch]]
name = "lab-switch"
host = "192.0.2.10"
snmp = { version = "2c", community_file = "lab.community" }

[[switch]]
name = "pump-switch"
host = "192.0.2.20"
snmp = { version = "3", user = "watcher", auth = "SHA-256", auth_key_env = "PUMP_AUTH" }
"""

LINK = """
[[link]]
name = "Shore"
length_m = 900
a = { name = "Lab", switch = "lab-switch", port = "Gi1", pmd = "1000BASE-LX10" }
b = { name = "Pump house", switch = "pump-switch", port = "Gi1", pmd = "1000BASE-LX10" }
"""

VALID = SWITCHES + LINK


def read(text: str) -> Settings:
    """The settings of a text that stands in BASE."""
    return loads(text, base=BASE, name="station.toml")


def problems(text: str) -> tuple[str, ...]:
    """The sentences of a text that is refused."""
    with pytest.raises(ConfigError) as caught:
        read(text)
    return caught.value.problems


def without(text: str, old: str, new: str = "") -> str:
    """The text with one part changed; the part must be there."""
    assert old in text
    return text.replace(old, new, 1)
