"""What was learned as configuration text: commented out, every line of it. Pure.

Lines that begin with `##` are remarks; taking the first `#` off every line makes a [[table]] that
`check` accepts. Nothing is adopted before a person does so.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from strandkeeper.config.tomltext import quoted
from strandkeeper.model.enterprise_table import CellWord, IndexPart, PortIs
from strandkeeper.model.identification import Candidate, Figure, Proposal, unit_text
from strandkeeper.model.oid import dotted
from strandkeeper.model.reading import Quantity

__all__ = ["table_text"]

_KEYS: Final = {
    Quantity.RX: "rx",
    Quantity.TX: "tx",
    Quantity.BIAS: "bias",
    Quantity.TEMPERATURE: "temperature",
    Quantity.SUPPLY: "supply",
}


def table_text(proposal: Proposal, name: str) -> str:
    """The table as a commented proposal; `name` is what the switch would name in `tables`."""
    return "".join(f"{line}\n" for line in _lines(proposal, name))


def _lines(proposal: Proposal, name: str) -> Iterator[str]:
    yield _remark("a table that may hold light readings: a proposal, nothing of it is in use.")
    yield _remark("Look through it and prove it; then take the first # off each line, and add")
    yield _remark(f"tables = [{quoted(name)}] to the [[switch]].")
    yield "# [[table]]"
    yield f"# name = {quoted(name)}"
    yield f"# index = {quoted(_index(proposal))}"
    for figure in proposal.figures:
        yield from _figure(figure)
    yield from _ports(proposal)
    if proposal.kind_oid is not None:
        yield f"# kind_oid = {quoted(dotted(proposal.kind_oid))}"
    if proposal.no_light:
        yield f"# no_light = {_words(proposal.no_light)}"
    if proposal.not_there:
        yield f"# not_there = {_words(proposal.not_there)}"


def _remark(text: str) -> str:
    return f"## {text}"


def _index(proposal: Proposal) -> str:
    return ".".join(str(a.value if isinstance(a, IndexPart) else a) for a in proposal.index)


def _figure(figure: Figure) -> Iterator[str]:
    first, *others = figure.ranked
    key = _KEYS[figure.quantity]
    sure = "" if figure.confident else ", not certain"
    yield f"# {key} = {_column(first)}  # {_percent(first)}{sure}"
    for other in others:
        yield _remark(f"or {key} = {_column(other)}  # {_percent(other)}")


def _column(candidate: Candidate) -> str:
    place = candidate.place
    unit = "text" if candidate.unit is None else unit_text(candidate.unit)
    parts = [f"oid = {quoted(dotted(place.column))}", f"unit = {quoted(unit)}"]
    if place.kind is not None:
        parts.append(f"kind = {_word(place.kind)}")
    return "{ " + ", ".join(parts) + " }"


def _percent(candidate: Candidate) -> str:
    share = 100 * candidate.probability
    return "more than 99 %" if share > 99 else f"{share:.0f} %" if share >= 1 else "under 1 %"


def _ports(proposal: Proposal) -> Iterator[str]:
    if proposal.port_oid is not None:
        yield f"# port_oid = {quoted(dotted(proposal.port_oid))}"
        if proposal.port_is is not PortIs.NAME:
            yield f"# port_is = {quoted(proposal.port_is.value)}"
    if proposal.port_name:
        yield f"# port_name = {quoted(proposal.port_name)}"
    if proposal.port_offset:
        yield f"# port_offset = {proposal.port_offset}"
    if not proposal.port_known and proposal.index == (0,):
        yield _remark("these are the readings of one port; which one was not found:")
        yield '# port_name = "put in the name of the port"'
    elif not proposal.port_known:
        yield _remark("which port a row is about was not found: see port_oid, port_name,")
        yield _remark("port_offset in the manual")


def _words(words: tuple[CellWord, ...]) -> str:
    return "[" + ", ".join(_word(word) for word in words) + "]"


def _word(word: CellWord) -> str:
    return quoted(word) if isinstance(word, str) else str(word)
