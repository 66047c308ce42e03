"""How far a number can be trusted, and the words for it that reach the user."""

from __future__ import annotations

from enum import StrEnum

__all__ = ["Tag", "worst"]


class Tag(StrEnum):
    """Where a number came from; the value is what a person reads after it."""

    STANDARD = "as printed in the standard or in a transcription of it"
    COMPUTED = "computed from a published formula"
    PUBLISHED = "as printed by a maker or a trade body"
    PRACTICE = "common practice, no source"
    MEMORY = "from memory, unconfirmed"

    @property
    def doubtful(self) -> bool:
        """Whether the user has to hear of it where it decides something."""
        return self in (Tag.PRACTICE, Tag.MEMORY)


_ORDER = tuple(Tag)


def worst(*tags: Tag) -> Tag:
    """The least trustworthy of several tags; a result is as sure as its weakest number.

    Parameters
    ----------
    *tags : Tag [-]
        Any number of tags; none at all counts as STANDARD.

    Returns
    -------
    Tag [-]
        The one latest in the order of `Tag`.

    Source
    ------
    Own design, no source.

    Example
    -------
    >>> str(worst(Tag.STANDARD, Tag.MEMORY))
    'from memory, unconfirmed'
    """
    return max(tags, key=_ORDER.index, default=Tag.STANDARD)
