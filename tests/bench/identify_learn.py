"""What `survey --learn` offers, brought into the shape that the scorer asks for."""

from __future__ import annotations

from collections.abc import Mapping

from tests.bench.identify_course import Claim, Meeting, Offer

from strandkeeper.errors import DeviceError
from strandkeeper.jobs.learn import Joint, Learned, learn, learn_together
from strandkeeper.model.identification import Candidate, Figure
from strandkeeper.model.reading import Quantity as Read
from strandkeeper_demo.personalities.physics import Quantity

__all__ = ["alone", "with_far_end"]

NAMES = {
    Quantity.TEMPERATURE: Read.TEMPERATURE,
    Quantity.SUPPLY: Read.SUPPLY,
    Quantity.BIAS: Read.BIAS,
    Quantity.TX: Read.TX,
    Quantity.RX: Read.RX,
}


async def alone(meeting: Meeting) -> Mapping[Quantity, Offer]:
    """One switch, nothing known of its neighbour."""
    learned = await learn(meeting.client, meeting.near.name, wait=meeting.wait)
    return _offers(learned)


async def with_far_end(meeting: Meeting) -> Mapping[Quantity, Offer]:
    """Two switches surveyed together, their links known."""
    near, far = meeting.near.name, meeting.far.name
    links = [Joint(a=near, a_index=here, b=far, b_index=there) for here, there in meeting.links]
    both = await learn_together(meeting.client, [near, far], links, wait=meeting.wait)
    learned = both[near]
    return {} if isinstance(learned, DeviceError) else _offers(learned)


def _offers(learned: Learned) -> dict[Quantity, Offer]:
    offers: dict[Quantity, Offer] = {}
    for theirs, ours in NAMES.items():
        figures = [f for p in learned.proposals if (f := p.figure(ours)) is not None]
        figures.sort(key=lambda f: -f.ranked[0].probability)
        if figures:
            offers[theirs] = _offer(figures)
    return offers


def _offer(figures: list[Figure]) -> Offer:
    ranked = [candidate for figure in figures for candidate in figure.ranked]
    return Offer(claims=tuple(map(_claim, ranked)), confident=figures[0].confident)


def _claim(candidate: Candidate) -> Claim:
    place, unit = candidate.place, candidate.unit
    if unit is None:
        return Claim(column=place.column, as_written=True, kind=place.kind)
    return Claim(
        column=place.column,
        step=float(unit.step),
        dimension=unit.dimension.value,
        kind=place.kind,
    )
