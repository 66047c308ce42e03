"""The ledger: merged field by field, refused whole where it contradicts itself, seeded once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest
from tests.strandkeeper.jobs.prove_samples import NOW_MS, SHORE, asked, known, link

from strandkeeper.jobs.prove import Known
from strandkeeper.jobs.prove_ledger import seed
from strandkeeper.jobs.prove_rule import rule
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.ledger import Cable, Strand, StrandUse
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.store.changes import Changes

CABLE = Cable(name="shore cable", strands=4)
STRANDS = [
    Strand(cable="shore cable", number=n, label=label)
    for n, label in enumerate(("blue", "orange", "green", "brown"), 1)
]


def applied(before: Known, **payload: object) -> Changes:
    ruling = rule(asked(EntryKind.LEDGER, **payload), before, NOW_MS)
    assert ruling.refusal == ""
    return ruling.changes


def refusal(before: Known, **payload: object) -> str:
    return rule(asked(EntryKind.LEDGER, **payload), before, NOW_MS).refusal


def test_a_new_cable_has_all_its_strands_as_spares_in_their_colours() -> None:
    changes = applied(known(), cables=[{"name": "shore cable", "strands": 4, "length_m": 900}])
    assert changes.cables == [replace(CABLE, length_m=900.0)]
    assert changes.strands == STRANDS


def test_what_is_left_out_stays_and_null_empties() -> None:
    old = replace(
        STRANDS[2],
        tested_ms=5,
        note="kept",
        use=StrandUse.IN_USE,
        link=SHORE,
        direction=Direction.AB,
    )
    before = known(cables=[CABLE], strands=[*STRANDS[:2], old, STRANDS[3]])
    changes = applied(
        before,
        strands=[{"cable": "shore cable", "number": 3, "slack_a_m": 1.5, "tested": None}],
    )
    (strand,) = changes.strands
    assert strand.ends[0].slack_m == 1.5
    assert (strand.tested_ms, strand.note, strand.link) == (None, "kept", SHORE)


def test_a_strand_that_breaks_carries_nothing_and_the_spare_takes_over() -> None:
    carrying = replace(STRANDS[0], use=StrandUse.IN_USE, link=SHORE, direction=Direction.AB)
    before = known(cables=[CABLE], strands=[carrying, *STRANDS[1:]])
    move = {"cable": "shore cable", "number": 3, "link": "shore", "direction": "ab"}
    assert refusal(before, strands=[move]).startswith(
        "strand 1 of 'shore cable' already carries that direction of 'shore'"
    )
    broken = {"cable": "shore cable", "number": 1, "use": "broken"}
    old, new = applied(before, strands=[broken, move]).strands
    assert (old.use, old.link, old.direction) == (StrandUse.BROKEN, None, None)
    assert (new.use, new.link, new.direction) == (StrandUse.IN_USE, SHORE, Direction.AB)


@pytest.mark.parametrize(
    ("strand", "words"),
    [
        ({"number": 9}, "cable 'shore cable' has 4 strands, not 9"),
        ({"cable": "other"}, "there is no cable 'other' in the ledger"),
        ({"use": "lost"}, "a strand cannot be 'lost': write one of in-use, spare, broken"),
        ({"use": "spare", "link": "shore"}, "strand 1 cannot be spare and carry 'shore'"),
        ({"link": "sea"}, "there is no link 'sea' in the configuration"),
        ({"slack_b_m": -1}, "slack_b_m is -1: give 0 or more"),
        ({"attempts_a": 1.5}, "attempts_a is 1.5: give a whole number from 0 to 9999"),
        ({"tested": "yesterday"}, "'yesterday' is not a time"),
    ],
)
def test_what_cannot_be_is_refused_whole(strand: dict[str, object], words: str) -> None:
    before = known(cables=[CABLE], strands=STRANDS)
    item = {"cable": "shore cable", "number": 1, **strand}
    fine = {"cable": "shore cable", "number": 2, "note": "x"}
    assert refusal(before, strands=[fine, item]).startswith(words)


def test_a_cable_does_not_lose_strands_it_has() -> None:
    before = known(cables=[CABLE], strands=STRANDS)
    found = refusal(before, cables=[{"name": "shore cable", "strands": 2}])
    assert found.startswith("cable 'shore cable' cannot have 2 strands")
    assert refusal(before).startswith("the entry names no cable and no strand")


def test_the_configuration_seeds_what_the_ledger_does_not_know() -> None:
    single = link(name=LinkName("jetty"), strands=1, strand_ab="green", strand_ba="green")
    changes = seed([link(), single], Known())
    assert [c.name for c in changes.cables] == ["shore", "jetty"]
    assert _served(changes.strands) == [
        ("shore", 1, "blue", SHORE, Direction.AB),
        ("shore", 2, "orange", SHORE, Direction.BA),
        ("jetty", 1, "blue", None, None),
        ("jetty", 2, "orange", None, None),
        ("jetty", 3, "green", LinkName("jetty"), None),
    ]
    again = Known(cables=changes.cables, strands=changes.strands)
    assert seed([link(), single], again) == Changes(cables=[], strands=[])


def test_labels_of_the_owners_own_are_numbered_from_one() -> None:
    changes = seed([link(strand_ab="left", strand_ba="right")], Known())
    assert _served(changes.strands) == [
        ("shore", 1, "left", SHORE, Direction.AB),
        ("shore", 2, "right", SHORE, Direction.BA),
    ]


def _served(strands: Sequence[Strand]) -> list[tuple[object, ...]]:
    return [(s.cable, s.number, s.label, s.link, s.direction) for s in strands]
