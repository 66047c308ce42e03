"""Work on a link in words: cautions, what each end can see, verdict, acceptance, signs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from strandkeeper.alerts.wording_cautions import Caution, caution_text
from strandkeeper.alerts.wording_figures import counted, db, duration, number
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, End
from strandkeeper.model.rework import (
    Check,
    CheckKind,
    DirectionReport,
    Handwork,
    Night,
    Outcome,
    ReworkVerdict,
    Worth,
)

__all__ = [
    "BENCH_STEPS",
    "MAKE_TRAFFIC",
    "TUG_TEST",
    "acceptance_sentence",
    "check_sentence",
    "handwork_sentence",
    "meter_cautions",
    "night_sentence",
    "out_of_reach_sentence",
    "outcome_word",
    "outdoor_cautions",
    "sees_sentence",
    "six_steps",
    "unmanaged_sentence",
    "verdict_sentence",
    "work_cautions",
    "worth_word",
]

_INDOORS: Final = (
    Caution.INVISIBLE_LIGHT,
    Caution.DARK_FIRST,
    Caution.NOT_THROUGH_THE_LINK,
    Caution.SPLINTERS,
    Caution.SOLVENT,
)
_OUTDOORS: Final = (Caution.DIGGING, Caution.ARMOUR, Caution.THUNDERSTORM, Caution.PITS)

ORDER: Final = "Dark while you handle or inspect; then mate; then light."
TUG_TEST: Final = (
    "Tug and flex: with the light on, pull the cord gently, then bend it a little each way, and "
    "watch the figure: it should not move by more than 0.2 dB. Do not look at the plug's end."
)
BENCH_STEPS: Final = (
    "Bring both switches of this link into one room, with the modules they will keep, and join "
    "them by one short, clean duplex cord: transmit to receive, both ways.",
    "Only for classes whose receiver stands the far laser undimmed; others are refused here.",
    "Wait a minute until both ends show light, then keep it. What the link loses later is then "
    "good to about 0.5 dB, as long as both modules stay the same.",
)
MAKE_TRAFFIC: Final = (
    "Bits are counted from real traffic. To make some, copy a large file across the link, or let "
    "two computers, one at each side, send to each other; a quiet link takes days."
)


def work_cautions(*, outdoors: bool = False) -> tuple[str, ...]:
    """What stands beside every instruction to touch a fibre; the order to work in comes first."""
    wanted = (*_INDOORS, *(_OUTDOORS if outdoors else ()))
    return (ORDER, *(caution_text(c) for c in wanted))


def outdoor_cautions() -> tuple[str, ...]:
    """What is added where the work is outdoors."""
    return tuple(caution_text(c) for c in _OUTDOORS)


def meter_cautions() -> tuple[str, ...]:
    """What stands beside measuring."""
    return (caution_text(Caution.INVISIBLE_LIGHT), caution_text(Caution.NOT_THROUGH_THE_LINK))


def sees_sentence(link: Link, end: End) -> str:
    """Which strand an end can see at all: its receiver shows the light of one direction."""
    way = Direction.seen_by(end)
    strand = link.strand(way)
    label = f", strand {strand}" if strand else ""
    return f"{link.end(end).name} sees {link.direction_name(way)} only{label}."


def unmanaged_sentence(link: Link, end: End) -> str:
    """An end that no switch of ours stands at."""
    return f"{link.end(end).name} is not asked: nothing is known of what it receives."


def out_of_reach_sentence(link: Link, end: End, host: str = "") -> str:
    """An end that does not answer: why, what is known meanwhile, and how to see it all the same.

    `host` is where its switch is asked, empty where that is not known.
    """
    name, port = link.end(end).name, link.end(end).port
    text = f"{name} does not answer; the figure is its last."
    if link.near is None or end is link.near:
        return text
    near = link.end(link.near).name
    way = link.direction_name(Direction.seen_by(link.near))
    text += (
        f" It is reached through this link: it stays so while a strand is out. Meanwhile go by "
        f"what {near} receives ({way})."
    )
    if host and port is not None:
        text += (
            f" Whoever kneels at {name} sees its own figure with a laptop plugged into its switch: "
            f"strandkeeper live --switch {host} --port {port}"
        )
    return text


def worth_word(worth: Worth) -> str:
    """The verdict as a word."""
    return {
        Worth.BETTER: "better",
        Worth.NO_DIFFERENT: "no different",
        Worth.WORSE: "worse",
        Worth.NOT_YET_KNOWN: "not yet known",
    }[worth]


def verdict_sentence(way: str, verdict: ReworkVerdict) -> str:
    """What the work did to one direction, and how far that is certain."""
    head = f"{way}: {worth_word(verdict.worth)}"
    if verdict.worth is Worth.NOT_YET_KNOWN:
        return f"{head}: too few readings since."
    if verdict.light_back:
        head += ", the light is back"
    elif verdict.light_gone:
        head += ", the light is gone"
    elif verdict.change is not None:
        less = verdict.change.value <= 0
        head += f", {db(abs(verdict.change.value))} {'less' if less else 'more'} lost than before"
    if verdict.restless:
        head += ", and the light is more restless"
    allowed = verdict.allowed.value
    if verdict.worth is Worth.NO_DIFFERENT and allowed:
        head += f": plugging again alone may change it by {db(allowed)}"
    return (
        f"{head}.{' Provisional until one cold night has passed.' if verdict.provisional else ''}"
    )


def night_sentence(receiver: str, report: DirectionReport, before_c: float | None) -> str:
    """By what a cold night is judged, and what to do where it cannot be; empty if nothing is known.

    `before_c` is the coldest hour of the receiving module in the week before the work.
    """
    night, coldest = report.verdict.night, report.after.coldest_c
    if night is None:
        return ""
    text = _NIGHTS[night].replace("RECEIVER", receiver)
    if night is not Night.YET:
        return text
    if before_c is None or coldest is None:
        return f"{text}."
    return f"{text} ({number(before_c, 0)} °C; {number(coldest, 0)} °C since the work)."


_NIGHTS: Final[dict[Night, str]] = {
    Night.YET: (
        "A cold night is judged by the module at RECEIVER: after a whole day, once it has come "
        "within 2 °C of its coldest hour in the week before"
    ),
    Night.NO_TEMPERATURE: (
        "The module at RECEIVER tells no temperature: a whole day is waited for, and how cold its "
        "night was stays unknown."
    ),
    Night.STEADY: (
        "The module at RECEIVER hardly changes its temperature, so it stands indoors and cannot "
        "tell a cold night outside: look yourself at the loss after the next frost. Without that "
        "it stays provisional for fourteen days."
    ),
    Night.AS_COLD: (
        "The module at RECEIVER has since been as cold as in the week before the work; how cold "
        "the plug was is not measured."
    ),
    Night.A_DAY: (
        "A whole day has passed since; the module at RECEIVER tells no temperature, so how cold "
        "its night was is not known."
    ),
    Night.A_FORTNIGHT: (
        "Fourteen days have passed since, without a night known to be as cold as before the work: "
        "it is not proven in the cold."
    ),
}


def outcome_word(outcome: Outcome) -> str:
    """How a line of the acceptance stands, as a word."""
    return {
        Outcome.PASSED: "passed",
        Outcome.FAILED: "not passed",
        Outcome.PENDING: "pending",
        Outcome.UNKNOWN: "cannot tell",
    }[outcome]


def check_sentence(check: Check) -> str:
    """One line of the acceptance with its figures."""
    return f"{_CHECKS[check.kind](check)}: {outcome_word(check.outcome)}"


def _loss(check: Check) -> str:
    if check.got is None or check.limit is None:
        return "loss within the plan"
    return f"loss {db(check.got)}, planned at most {db(check.limit)}"


def _before(check: Check) -> str:
    if check.got is None or check.limit is None:
        return "loss as when it was last good"
    more = "more" if check.got > 0 else "less"
    return (
        f"{db(abs(check.got))} {more} lost than when it was last good, at most "
        f"{db(check.limit)} more allowed"
    )


def _margin(check: Check) -> str:
    if check.got is None or check.limit is None:
        return "enough to spare before too weak"
    return f"{db(check.got)} to spare, keep at least {db(check.limit)}"


def _flap(check: Check) -> str:
    if check.got:
        return f"went down {counted(check.got, 'time')} since the work"
    return "did not go down since the work"


def _bits(check: Check) -> str:
    ratio = f"1 in {_power(check.ratio)}"
    if check.got is None or check.limit is None:
        return f"fewer bad bits than {ratio}"
    seen = f"{_amount(check.got)} of {_amount(check.limit)} bits"
    text = f"fewer bad bits than {ratio}: {seen}, {counted(check.errors, 'damaged frame')}"
    if check.outcome is Outcome.PENDING and check.left_s is not None:
        text += f", {duration(check.left_s)} more at this traffic"
    elif check.outcome is Outcome.PENDING:
        text += ", no traffic counted yet, so how long is not known"
    return text


def _power(ratio: float | None) -> str:
    if not ratio:
        return "very many"
    mantissa, exponent = f"{1 / ratio:.0e}".split("e+")
    return f"{'' if mantissa == '1' else mantissa + '·'}10^{int(exponent)}"


def _amount(bits: float) -> str:
    for size, word in ((1e12, "million million"), (1e9, "thousand million"), (1e6, "million")):
        if bits >= size:
            return f"{number(bits / size, 2)} {word}"
    return f"{bits:.0f}"


_CHECKS: Final[dict[CheckKind, Callable[[Check], str]]] = {
    CheckKind.LOSS_IN_BUDGET: _loss,
    CheckKind.LOSS_AS_BEFORE: _before,
    CheckKind.MARGIN: _margin,
    CheckKind.NO_FLAP: _flap,
    CheckKind.BITS_STAGE: _bits,
    CheckKind.BITS: _bits,
}


def acceptance_sentence(checks: Sequence[Check], outcome: Outcome) -> str:
    """The acceptance of one direction or of the whole work."""
    if outcome is Outcome.PASSED:
        return "Accepted."
    if outcome is Outcome.FAILED:
        failed = [_CHECKS[c.kind](c) for c in checks if c.outcome is Outcome.FAILED]
        return f"Not accepted: {'; '.join(dict.fromkeys(failed))}."
    pending = {c.kind for c in checks if c.outcome is Outcome.PENDING}
    if pending and pending <= {CheckKind.BITS, CheckKind.BITS_STAGE}:
        return "All in order so far; bits pending."
    return "Acceptance pending." if pending else "Acceptance cannot be told: nothing is known."


_SIGNS: Final[dict[Handwork, str]] = {
    Handwork.NOT_CROSSED: (
        "Dark both ways with both lasers on: transmit is plugged into transmit. Transmit must meet "
        "receive: swap the two plugs at ONE end only."
    ),
    Handwork.SLID_BACK: (
        "Tens of dB, no light, or light that will not keep still: the fibre may have slid back in "
        "its fan-out tube and come out short. Do not push it; take the plug off and look there."
    ),
    Handwork.CLEAVED_SHORT: (
        "The fibre may be cleaved too short: a tenth of a millimetre of air costs about 3 dB, half "
        "a millimetre far more. Cleave and mount again."
    ),
    Handwork.DIRT: (
        "Up to a few dB that stay: dirt first. Clean both plugs and bores, then look again."
    ),
    Handwork.TRY_A_SPARE: (
        "A spare strand is the quick way out: move the traffic first, then mend in peace."
    ),
}


def handwork_sentence(sign: Handwork) -> str:
    """What a sign means and what to do; it fits the figures, it does not prove."""
    return _SIGNS[sign]


def six_steps(link: Link, spare: str) -> tuple[str, ...]:
    """The card on the wall: what to do when the link is down, in this order."""
    a, b = link.a.name, link.b.name
    to_spare = (
        f"Move both plugs to the tested spare ({spare}) at {a} AND at {b}."
        if spare
        else "No tested spare is known: push the plugs home, clean them, and try again."
    )
    return (
        f"Look at the power and the lamps of both switches, at {a} and at {b}.",
        "Push both plugs home at both ends until they click; look for a sharp bend or a cut.",
        "Wait two minutes; if the port's lamp is lit the link is back: stop here.",
        f"Shut the port at the end where you stand, clean both plugs and the bores. {ORDER}",
        to_spare,
        "Still dark: call whoever keeps this link and say what each lamp shows.",
    )
