"""Read-only questions to the record, answered as what one page shows."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from strandkeeper.alerts import wording
from strandkeeper.alerts.wording import StepWords
from strandkeeper.alerts.wording_units import Units, in_units
from strandkeeper.model.finding import FindingKind
from strandkeeper.model.link import Link
from strandkeeper.model.names import Direction, LinkName
from strandkeeper.model.planned_parts import planned_parts
from strandkeeper.model.settings import Settings
from strandkeeper.model.verdict import DirectionVerdict, LinkVerdict
from strandkeeper.optics.units import Db
from strandkeeper.store import RecordReader
from strandkeeper_dashboard import figures, findings, health, words
from strandkeeper_dashboard.findings import SpokenFinding
from strandkeeper_dashboard.health import Standing
from strandkeeper_dashboard.level_diagram import HEIGHT, LevelDiagram, level_diagram

__all__ = ["DirectionPanel", "LinkCard", "Overview", "card", "overview", "verdicts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DirectionPanel:
    """One direction: its drawing, the same in words, and its figures."""

    name: str
    strand: str
    verdict: DirectionVerdict
    diagram: LevelDiagram
    summary: str
    reserve: str
    stale: bool
    height: int = HEIGHT

    @property
    def figures(self) -> list[tuple[str, str]]:
        """Name and figure, in the order that the light meets them."""
        v = self.verdict
        added = None if v.added_loss is None else Db(v.added_loss.value)
        return [
            ("Sent", figures.power(v.tx)),
            ("Received", figures.power(v.rx)),
            ("Lost on the way", figures.db(v.loss)),
            ("Planned", figures.db(v.planned_loss)),
            ("Lost since it was good", figures.db(added, signed=True)),
            ("To spare before too weak", figures.spare(v.margin, anchored=v.anchored)),
            ("To spare before too strong", figures.spare(v.headroom, anchored=v.anchored)),
        ]


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkCard:
    """One link as the first screen shows it."""

    slug: str
    link: Link
    verdict: LinkVerdict | None
    standing: Standing
    lead: str
    order: str
    careful: str
    spare: str
    spare_of: str
    spare_known: bool
    reserve: str
    findings: tuple[SpokenFinding, ...]
    directions: tuple[DirectionPanel, ...]
    stale: bool

    @property
    def word(self) -> str:
        """The state as a word; it always stands beside the mark."""
        return words.STANDING_WORDS[self.standing]


@dataclass(frozen=True, slots=True, kw_only=True)
class Overview:
    """The first screen: links worst first, and whether the record itself moves."""

    sentence: str
    cards: tuple[LinkCard, ...]
    newest_ms: int | None
    stands_still: bool

    @property
    def standing(self) -> Standing:
        """The worst of all links."""
        return self.cards[0].standing if self.cards else Standing.UNKNOWN


def verdicts(record: RecordReader) -> Mapping[LinkName, LinkVerdict]:
    """The newest verdict of every link that has one."""
    return {verdict.link: verdict for verdict in record.verdicts()}


def overview(
    settings: Settings, slugs: Mapping[LinkName, str], record: RecordReader, now_ms: int
) -> Overview:
    """All links, worst first; within one state the one with least to spare first."""
    known = verdicts(record)
    cards = [
        card(settings, slugs[link.name], link, known.get(link.name), now_ms)
        for link in settings.links
    ]
    cards.sort(key=_worst_first)
    newest = max((verdict.at_ms for verdict in known.values()), default=None)
    return Overview(
        sentence=words.overall([(card.link.name, card.standing) for card in cards]),
        cards=tuple(cards),
        newest_ms=newest,
        stands_still=newest is not None
        and now_ms - newest > health.record_stale_after_ms(settings),
    )


def card(
    settings: Settings, slug: str, link: Link, verdict: LinkVerdict | None, now_ms: int
) -> LinkCard:
    """One link: its statement, its findings, its two level diagrams."""
    least = None if verdict is None else wording.weaker_direction(verdict)
    units = Units(feet=settings.telling.feet, fahrenheit=settings.telling.fahrenheit)
    first = _first(link, verdict)
    stale_after = health.record_stale_after_ms(settings)
    return LinkCard(
        slug=slug,
        link=link,
        verdict=verdict,
        standing=health.standing(verdict, now_ms, stale_after),
        lead=in_units(_lead(link, verdict), units),
        order="" if first is None else first.order,
        careful="" if first is None else findings.joined(first.cautions),
        spare="" if least is None else _spare(least),
        spare_of="" if least is None else link.direction_name(least.direction),
        spare_known=least is not None and least.margin is not None,
        reserve="" if least is None else figures.reserve(_reserve(settings, least)),
        findings=() if verdict is None else tuple(_spoken(link, verdict, units, first)),
        directions=()
        if verdict is None
        else tuple(_panel(settings, link, verdict.direction(d), now_ms) for d in Direction),
        stale=verdict is not None and now_ms - verdict.at_ms > stale_after,
    )


def _reserve(settings: Settings, verdict: DirectionVerdict) -> Db:
    limits = settings.thresholds
    return limits.reserve_warn_anchored if verdict.anchored else limits.reserve_warn


def _lead(link: Link, verdict: LinkVerdict | None) -> str:
    """The calm sentence. With a finding: state and headline, for the order stands below it."""
    worst = None if verdict is None else wording.worst_finding(verdict)
    if verdict is None or worst is None:
        return wording.link_statement(link, verdict)
    headline = f"{wording.finding_headline(link, worst)}."
    if worst.kind is FindingKind.LINK_DOWN:  # it says the state itself
        return headline
    return f"{wording.state_word(verdict)}. {headline}"


def _first(link: Link, verdict: LinkVerdict | None) -> StepWords | None:
    """What to do first about the worst of it."""
    worst = None if verdict is None else wording.worst_finding(verdict)
    return None if worst is None else findings.first_step(link, worst)


def _spoken(
    link: Link, verdict: LinkVerdict, units: Units, first: StepWords | None
) -> Iterator[SpokenFinding]:
    """All findings; the worst stands right below its first step, whose cautions are said there."""
    said = () if first is None else first.cautions
    for found in wording.worst_first(verdict):
        yield findings.spoken(link, found, units, said)
        said = ()


def _spare(verdict: DirectionVerdict) -> str:
    if verdict.margin is None:
        return figures.power(verdict.rx)
    return figures.spare(verdict.margin, anchored=verdict.anchored)


def _panel(
    settings: Settings, link: Link, verdict: DirectionVerdict, now_ms: int
) -> DirectionPanel:
    reserve = _reserve(settings, verdict)
    direction = verdict.direction
    ends = (link.end(direction.sender).name, link.end(direction.receiver).name)
    read = verdict.optics_ms
    return DirectionPanel(
        name=link.direction_name(direction),
        strand=link.strand(direction),
        verdict=verdict,
        diagram=level_diagram(
            verdict,
            reserve,
            ends=ends,
            planned=planned_parts(link, direction, verdict.planned_loss),
        ),
        summary=words.direction_summary(link, verdict),
        reserve=figures.reserve(reserve),
        stale=read is None or now_ms - read > health.reading_stale_after_ms(settings),
    )


def _worst_first(card: LinkCard) -> tuple[int, float]:
    least = None if card.verdict is None else wording.weaker_direction(card.verdict)
    margin = None if least is None else least.margin
    return (health.ORDER.index(card.standing), float("inf") if margin is None else margin.value)
