"""The owner's names for what a finding, a fact or an event is about."""

from __future__ import annotations

from dataclasses import dataclass

from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End

__all__ = ["Place", "begin"]


def begin(text: str) -> str:
    """The text as the beginning of a sentence: our own words large, an owner's name as it is."""
    ours = text.startswith(("the ", "one end", "a strand"))
    return text[0].upper() + text[1:] if ours else text


@dataclass(frozen=True, slots=True)
class Place:
    """A link with the direction and the end that are spoken of, where there are any.

    `here` is the end spoken of, else the one that receives the direction, else the one this
    computer is at; `there` is the other one. `far` is the end away from this computer, or `here`
    where the owner did not say which end that is.
    """

    link: Link
    direction: Direction | None = None
    end: End | None = None

    @property
    def way(self) -> str:
        """`Lab → Pump house`, or the whole link."""
        return (
            self.link.name if self.direction is None else self.link.direction_name(self.direction)
        )

    @property
    def strand(self) -> str:
        """The strand of the direction with its colour: `the strand Lab → Pump house (blue)`."""
        if self.link.strands == 1:
            label = self.link.strand(Direction.AB)
            return f"the strand ({label})" if label else "the strand"
        if self.direction is None:
            return "a strand"
        label = self.link.strand(self.direction)
        return f"the strand {self.way}{f' ({label})' if label else ''}"

    @property
    def sender(self) -> str:
        """Who sends the light of the direction."""
        return "the sending end" if self.direction is None else self._name(self.direction.sender)

    @property
    def receiver(self) -> str:
        """Who receives it."""
        if self.direction is None:
            return "the receiving end"
        return self._name(self.direction.receiver)

    @property
    def here(self) -> str:
        """The end spoken of."""
        end = self._here
        return "one end" if end is None else self._name(end)

    @property
    def there(self) -> str:
        """The end opposite to `here`."""
        end = self._here
        return "the other end" if end is None else self._name(end.other)

    @property
    def near(self) -> str:
        """The end this computer is at."""
        return "the near end" if self.link.near is None else self._name(self.link.near)

    @property
    def far(self) -> str:
        """The end away from this computer."""
        return self.here if self.link.near is None else self._name(self.link.near.other)

    @property
    def _here(self) -> End | None:
        if self.end is not None:
            return self.end
        return self.link.near if self.direction is None else self.direction.receiver

    def _name(self, end: End) -> str:
        return self.link.end(end).name
