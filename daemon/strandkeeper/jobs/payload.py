"""The fields of an entry, read out or refused in a sentence for the person who typed them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TypeVar

from strandkeeper.errors import InputError
from strandkeeper.model.names import Direction, End
from strandkeeper.model.plain_text import one_line

__all__ = ["Fields", "refusal_of"]

T = TypeVar("T")


def refusal_of(error: InputError) -> str:
    """The sentence for the person: what is wrong, and what to do."""
    return f"{error.message}: {error.hint}" if error.hint else error.message


class Fields:
    """Typed access to a payload. Every method raises InputError with the field's name."""

    def __init__(self, payload: Mapping[str, object], known: Sequence[str]) -> None:
        self._payload = payload
        for name in payload:
            if name not in known:
                raise InputError(
                    f"there is no field {name!r}", hint=f"there are {', '.join(known)}"
                )

    def __contains__(self, name: str) -> bool:
        return self._payload.get(name) is not None

    def text(self, name: str, default: str = "") -> str:
        """A text; absent: the default."""
        value = self._payload.get(name)
        if value is None:
            return default
        if not isinstance(value, str):
            raise InputError(f"{name} must be a text, not {value!r}")
        return one_line(value)

    def number(self, name: str, *, least: float = -math.inf) -> float | None:
        """A finite figure, None if absent."""
        value = self._payload.get(name)
        if value is None:
            return None
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not math.isfinite(value)
        ):
            raise InputError(f"{name} must be a number, not {value!r}")
        if value < least:
            raise InputError(f"{name} is {value:g}", hint=f"give {least:g} or more")
        return float(value)

    def whole(self, name: str, *, least: int = 0, most: int = 9999) -> int | None:
        """A whole number, None if absent."""
        value = self._payload.get(name)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise InputError(
                f"{name} is {value!r}", hint=f"give a whole number from {least} to {most}"
            )
        return value

    def direction(self) -> Direction | None:
        """`ab`, `ba`, or absent."""
        value = self._payload.get("direction")
        if value is None:
            return None
        if value not in {d.value for d in Direction}:
            raise InputError(f"there is no direction {value!r}", hint="write 'ab' or 'ba'")
        return Direction(str(value))

    def end(self) -> End | None:
        """`A`, `B`, or absent."""
        value = self._payload.get("end")
        if value is None:
            return None
        if value not in {e.name for e in End}:
            raise InputError(f"there is no end {value!r}", hint="write 'A' or 'B'")
        return End[str(value)]

    @staticmethod
    def needed(value: T | None, why: str, hint: str = "") -> T:
        """The value. Raises InputError if there is none."""
        if value is None or value == "":
            raise InputError(why, hint=hint)
        return value
