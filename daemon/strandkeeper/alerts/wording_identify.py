"""What identification by physics found, and how to prove it, in sentences."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Final

from strandkeeper.alerts.wording_cautions import Caution, caution_text
from strandkeeper.model.identification import (
    Candidate,
    Evidence,
    EvidenceKind,
    Figure,
    Place,
    Proof,
    ProofKind,
    Proposal,
    unit_text,
)
from strandkeeper.model.oid import dotted
from strandkeeper.model.plain_text import one_line
from strandkeeper.model.power import NoLight
from strandkeeper.model.reading import Quantity

__all__ = [
    "evidence_sentence",
    "learned_lines",
    "proof_sentence",
    "proof_steps",
    "quantity_word",
]

_K = EvidenceKind
_WORDS: Final = {
    Quantity.RX: "receive power",
    Quantity.TX: "transmit power",
    Quantity.BIAS: "laser current",
    Quantity.TEMPERATURE: "temperature",
    Quantity.SUPPLY: "supply voltage",
}
_UNITS: Final = {
    Quantity.RX: "dBm",
    Quantity.TX: "dBm",
    Quantity.BIAS: "mA",
    Quantity.TEMPERATURE: "°C",
    Quantity.SUPPLY: "V",
}
_REASONS_SHOWN: Final = 5
_WORTH_SAYING: Final = 0.4
_SAMPLES_SHOWN: Final = 4

Words = tuple[str, str]  # for, against


def _plain(in_favour: str, against: str) -> Callable[[Evidence], Words]:
    return lambda _: (in_favour, against)


_SENTENCES: Final[dict[EvidenceKind, Callable[[Evidence], Words]]] = {
    _K.RARITY: _plain(
        "most columns are this", "few columns of all are this quantity, counted in this unit"
    ),
    _K.IN_RANGE: _plain(
        "its values are where this quantity lies", "its values are seldom seen for this quantity"
    ),
    _K.ALIKE: _plain(
        "the ports differ as modules of one switch do",
        "the ports differ otherwise than modules of one switch",
    ),
    _K.UNIT_IN_TEXT: _plain("its cells name the unit", "its cells name another unit"),
    _K.NAMED: _plain("the word of its rows says so", "the word of its rows names something else"),
    _K.LANES: _plain(
        "the lanes of a module agree or differ as they should",
        "the lanes of a module agree or differ as they should not",
    ),
    _K.LIVE: lambda e: (
        ("it moves a little from look to look", "it moves too much or in too large steps")
        if e.figures and e.figures[0]
        else ("it stands still, as it may in so coarse a unit", "it stands still, like a limit")
    ),
    _K.ONLY_GROWS: _plain("it goes up and down", "it only grows, like a counter or a clock"),
    _K.ROWS_ON_COPPER: _plain(
        "no copper port has a row", "copper ports, which hold no module, have values too"
    ),
    _K.ROWS_ARE_MODULES: _plain(
        "exactly the ports for modules have rows", "other ports have rows too"
    ),
    _K.DARK_PORTS: lambda e: (
        (
            f"{_rows(e)} dark and others have light, as their links do"
            if e.figures and e.figures[0]
            else "light and link go together",
            "it is dark where the link is up, or lit where it is down",
        )
    ),
    _K.STEPS: _plain(
        "its counts lie in the steps in which modules store it",
        "its counts do not lie in the steps in which modules store it",
    ),
    _K.BETWEEN_LIMITS: _plain(
        "limits stand behind it, above and below", "no limits stand behind it"
    ),
    _K.SAME_UNIT: _plain(
        "sent and received light are in one unit", "sent and received light would be in two units"
    ),
    _K.LOSS: lambda e: (
        f"sent less received light is {_db(e)}, a possible loss",
        f"sent less received light would be {_db(e)}, an unlikely loss",
    ),
    _K.VARIES_MORE: _plain(
        "received light differs more from port to port than sent light",
        "sent light would differ more from port to port than received light",
    ),
    _K.USUAL_ORDER: _plain(
        "the columns stand in the usual order, at even distances",
        "the columns stand in an unusual order",
    ),
    _K.AS_STORED: _plain(
        "the units are those in which modules store their figures",
        "the units are mixed, some of them those of the module's memory",
    ),
    _K.TOGETHER: lambda e: (
        f"{e.figures[0]:.0f} of a module's five figures stand together",
        f"only {e.figures[0]:.0f} of a module's five figures would stand here",
    ),
    _K.ENOUGH_LIGHT: _plain(
        "ports whose link is up have the light that they need",
        "ports whose link is up would have less light than they need, or more than they bear",
    ),
    _K.FAR_END: lambda e: (
        f"the far end sends {_db(e)} more, a possible loss",
        "what the far end sends does not fit: no link loses so much or so little",
    ),
}


def _rows(evidence: Evidence) -> str:
    dark = int(evidence.figures[0])
    return "1 row is" if dark == 1 else f"{dark} rows are"


def _db(evidence: Evidence) -> str:
    return f"{evidence.figures[0]:.1f} dB"


def quantity_word(quantity: Quantity) -> str:
    """What a person calls a quantity."""
    return _WORDS[quantity]


def evidence_sentence(evidence: Evidence) -> str:
    """One reason, for or against by its sign."""
    in_favour, against = _SENTENCES[evidence.kind](evidence)
    return in_favour if evidence.weight > 0 else f"but {against}"


def learned_lines(proposals: Sequence[Proposal]) -> list[str]:
    """All that was found, best first, with reasons; what to do with it."""
    if not proposals:
        return ["Nothing in the switch's own tables looks like the readings of modules."]
    lines: list[str] = []
    for proposal in proposals:
        lines.append(f"Table {dotted(proposal.entry)} may hold readings of modules:")
        for figure in proposal.figures:
            lines += _figure_lines(figure)
        if not proposal.port_known:
            lines.append("  Which port a row is about was not found.")
    lines.append("These are proposals. None of them is used before you write it down yourself.")
    return lines


def _figure_lines(figure: Figure) -> Iterator[str]:
    first, *others = figure.ranked
    sure = "certain enough to try" if figure.confident else "not certain: prove it"
    yield f"  {quantity_word(figure.quantity)}: {_way(first)} ({_percent(first)}, {sure})"
    shown = first.samples[:_SAMPLES_SHOWN]
    if shown:
        read = (f"{s.port or dotted(s.row)} {_value(first, s.figure)}" for s in shown)
        yield f"    would read: {', '.join(read)}"
    said = (e for e in first.evidence if e.kind is not _K.RARITY)  # true of every candidate
    reasons = [e for e in said if abs(e.weight) >= _WORTH_SAYING][:_REASONS_SHOWN]
    if reasons:
        yield f"    because {'; '.join(evidence_sentence(e) for e in reasons)}"
    for other in others:
        yield f"    or {_way(other)} ({_percent(other)})"


def _way(candidate: Candidate) -> str:
    unit = "as the cells say" if candidate.unit is None else f"in {unit_text(candidate.unit)}"
    return f"{_place(candidate.place)} {unit}"


def _place(place: Place) -> str:
    kind = "" if place.kind is None else f" where the kind is {one_line(str(place.kind))}"
    return f"column {dotted(place.column)}{kind}"


def _value(candidate: Candidate, figure: float | NoLight) -> str:
    if isinstance(figure, NoLight):
        return "no light"
    return f"{figure:.4g} {_UNITS[candidate.quantity]}"


def _percent(candidate: Candidate) -> str:
    share = 100 * candidate.probability
    return "over 99 %" if share > 99 else f"{share:.0f} %" if share >= 1 else "under 1 %"


def proof_steps(port: str, *, through_this_port: bool) -> list[str]:
    """How to prove it in two minutes. `through_this_port`: the switch is reached by that link."""
    steps = [
        f"Go to the switch, to port {port}. Tell whoever uses the link: it will be down.",
        caution_text(Caution.INVISIBLE_LIGHT),
        "Pull the receive plug of that port alone, cap plug and port, and leave it for a minute. "
        "Bending a modern jumper instead shows nothing and breaks it.",
        "See which column goes dark. That one is receive power.",
        "Clean the plug, put it back, and see the light come back.",
    ]
    if through_this_port:
        steps.insert(
            1,
            "This link is the way to that switch: while the plug is out it cannot be asked. "
            "Do it at a near switch, or on another port.",
        )
    return steps


def proof_sentence(proof: Proof) -> str:
    """What pulling the plug showed."""
    if proof.kind is ProofKind.NOTHING:
        return (
            "No column went dark: it was another port, the switch reads its modules seldom "
            "(wait another minute), or it does not publish receive power here."
        )
    if proof.kind is ProofKind.ALL:
        return "The whole row went: that was the module, not the plug. Put it back and try again."
    named = [_place(place) for place in proof.columns] or [dotted(oid) for oid in proof.cells]
    if proof.kind is ProofKind.ONE:
        return f"{named[0]} went dark: it is receive power."
    return f"Several went dark together: {', '.join(named)}. One of them is receive power."
