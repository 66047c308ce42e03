from __future__ import annotations

import pytest

from strandkeeper.jobs.entries import decide
from strandkeeper.model.entry import Entry, EntryKind, StoredEntry
from strandkeeper.model.mark import MarkKind
from strandkeeper.model.names import Direction, LinkName

LINKS = frozenset({LinkName("shore")})


def _asked(kind: EntryKind, **payload: object) -> StoredEntry:
    return StoredEntry(id=1, entry=Entry(kind=kind, who="me", payload=payload), at_ms=5)


def test_a_new_baseline_becomes_a_mark_at_the_time_it_is_applied() -> None:
    decision = decide(_asked(EntryKind.BASELINE, link="shore", direction="ab"), LINKS, 99)
    assert decision.refusal == ""
    assert decision.link == "shore"
    assert decision.mark is not None
    assert (decision.mark.kind, decision.mark.time_ms) == (MarkKind.BASELINE, 99)
    assert decision.mark.direction is Direction.AB


@pytest.mark.parametrize(
    ("asked", "refusal"),
    [
        (_asked(EntryKind.BASELINE), "a new baseline needs the link it is for"),
        (
            _asked(EntryKind.BASELINE, link="sea"),
            "there is no link 'sea' in the configuration",
        ),
        (
            _asked(EntryKind.BASELINE, link="shore", direction="up"),
            "there is no direction 'up'; write 'ab', 'ba' or neither",
        ),
        (_asked(EntryKind.MUTE, link="shore"), "a mute lasts 0 to 2592000 seconds"),
        (_asked(EntryKind.MUTE, for_s=60), "a mute needs the number of an alert, or a link"),
        (
            _asked(EntryKind.MUTE, link="shore", alert=3, for_s=60),
            "a mute needs the number of an alert, or a link",
        ),
        (_asked(EntryKind.ACKNOWLEDGE), "to acknowledge needs the number of an alert"),
    ],
)
def test_what_cannot_be_done_is_refused_with_the_reason(asked: StoredEntry, refusal: str) -> None:
    assert decide(asked, LINKS, 0).refusal == refusal


def test_a_note_is_kept_and_asks_nothing_of_the_analysis() -> None:
    decision = decide(_asked(EntryKind.NOTE, link="shore", text="cleaned"), LINKS, 0)
    assert (decision.refusal, decision.mark) == ("", None)
