"""Identifiers: names that a person wrote in the configuration, never database numbers."""

from __future__ import annotations

from enum import IntEnum, StrEnum
from typing import NewType

__all__ = ["Direction", "End", "LinkName", "PortName", "SwitchName"]

SwitchName = NewType("SwitchName", str)
PortName = NewType("PortName", str)
LinkName = NewType("LinkName", str)


class End(IntEnum):
    """One end of a link. The numbers are those in the record file."""

    A = 0
    B = 1

    @property
    def other(self) -> End:
        """The end at the far side."""
        return End.B if self is End.A else End.A


class Direction(StrEnum):
    """The way light goes."""

    AB = "ab"
    BA = "ba"

    @property
    def sender(self) -> End:
        """The end whose laser lights this direction."""
        return End.A if self is Direction.AB else End.B

    @property
    def receiver(self) -> End:
        """The end whose receiver measures this direction."""
        return self.sender.other

    @staticmethod
    def seen_by(end: End) -> Direction:
        """The direction whose receive power `end` measures."""
        return Direction.BA if end is End.A else Direction.AB
