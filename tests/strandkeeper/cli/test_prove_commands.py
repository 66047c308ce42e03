"""Reports, the ledger's files, the checklist and the live screen, out of a real record."""

from __future__ import annotations

import re
from contextlib import closing
from html.parser import HTMLParser
from pathlib import Path

import pytest

from strandkeeper.alerts.wording_rework import (
    check_sentence,
    handwork_sentence,
    six_steps,
    verdict_sentence,
    work_cautions,
)
from strandkeeper.analysis.handwork import LiveFigures, explain_handwork
from strandkeeper.analysis.live_track import Track
from strandkeeper.cli.live_screen import Pane, Room, line_of, screen
from strandkeeper.cli.main import main
from strandkeeper.errors import InputError
from strandkeeper.model.ledger import Cable, Strand, StrandEnd, StrandUse
from strandkeeper.model.ledger_files import from_csv, from_json, to_csv, to_json
from strandkeeper.model.link import Link, PortEnd
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import NO_LIGHT, Measured
from strandkeeper.model.rework import (
    Check,
    CheckKind,
    Handwork,
    Outcome,
    ReworkVerdict,
    Worth,
)
from strandkeeper.model.verdict import (
    Baseline,
    DirectionVerdict,
    EndState,
    Interval,
    LinkVerdict,
)
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import Batch, open_writer
from strandkeeper.store.changes import Changes

CONFIG = """
station = "Shore <station>"
[[switch]]
name = "lab-switch"
host = "192.0.2.10"
snmp = { version = "2c", community_file = "x" }
[[link]]
name = "Shore"
length_m = 900
a = { name = "Lab", switch = "lab-switch", port = "Gi1", pmd = "1000BASE-LX10" }
b = { name = "Pump house", pmd = "1000BASE-LX10" }
"""
SHORE = LinkName("Shore")
LINK = Link(name=SHORE, a=PortEnd(name="Lab"), b=PortEnd(name="Pump house"), strand_ab="blue")
CABLE = Cable(name="Shore", strands=4, length_m=900.0)
STRANDS = [
    Strand(
        cable="Shore",
        number=1,
        label="blue",
        use=StrandUse.IN_USE,
        link=SHORE,
        direction=Direction.AB,
        ends=(StrandEnd(slack_m=1.5, attempts=2), StrandEnd()),
    ),
    Strand(cable="Shore", number=2, label="orange", use=StrandUse.BROKEN, note="mouse, 2025"),
    Strand(cable="Shore", number=3, label="green", tested_ms=1_000, tested_loss=Db(0.8)),
    Strand(cable="Shore", number=4, label="brown", tested_ms=1_000, tested_loss=Db(0.6)),
]


@pytest.fixture
def config(tmp_path: Path) -> Path:
    path = tmp_path / "station.toml"
    path.write_text(CONFIG, encoding="utf-8")
    with closing(open_writer(tmp_path / "strandkeeper.db", reserve=False)) as writer:
        ways = [
            DirectionVerdict(
                direction=way,
                rx=NO_LIGHT if dark else Measured(Dbm(-9.0)),
                tx=Measured(Dbm(-6.0)),
                margin=None if dark else Db(10.5),
                sensitivity=Dbm(-19.5),
                overload=Dbm(-3.0),
                loss=None if dark else Db(3.0),
                baseline=Baseline(loss=Db(2.9), spread=Db(0.1), since_ms=0, firm=True),
            )
            for way, dark in ((Direction.AB, False), (Direction.BA, True))
        ]
        verdict = LinkVerdict(
            link=SHORE,
            at_ms=5_000,
            up=False,
            a=EndState(end=End.A, answers=True),
            b=EndState(end=End.B, managed=False),
            ab=ways[0],
            ba=ways[1],
        )
        writer.append(Batch(verdicts=(verdict,)))
        writer.change(Changes(cables=[CABLE], strands=STRANDS))
    return path


class Fetches(HTMLParser):
    """Everything a file would fetch, and tags that were never closed."""

    def __init__(self) -> None:
        super().__init__()
        self.fetched: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("script", "link", "img", "iframe"):
            self.fetched.append(tag)
        if tag not in ("meta", "polyline", "line"):
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in ("polyline", "line"):
            assert self.open.pop() == tag


@pytest.mark.parametrize("card", [False, True])
def test_paper_is_whole_fetches_nothing_and_escapes_names(
    config: Path, tmp_path: Path, card: bool
) -> None:
    paper = tmp_path / "paper.html"
    more = ["--card"] if card else []
    assert main(["report", str(config), "Shore", "-o", str(paper), *more]) == 0
    text = paper.read_text(encoding="utf-8")
    reader = Fetches()
    reader.feed(text)
    assert (reader.fetched, reader.open) == ([], [])
    assert "Shore &lt;station&gt;" in text
    assert "url(" not in text
    assert "measured by module, ±3 dB" in text


def test_the_card_names_the_tested_spares_and_has_six_steps_and_every_caution(
    config: Path, tmp_path: Path
) -> None:
    paper = tmp_path / "card.html"
    assert main(["report", str(config), "Shore", "-o", str(paper), "--card"]) == 0
    text = paper.read_text(encoding="utf-8")
    assert text.count('<div class="card">') == 2
    assert text.count("(4 brown and 3 green)") == 2
    steps = re.search(r"<ol>(.*?)</ol>", text, re.DOTALL)
    assert steps is not None
    assert steps[1].count("<li>") == 6
    for caution in work_cautions(outdoors=True):
        assert text.count(caution.replace("'", "&#x27;")) >= 2


def test_the_checklist_tells_what_failed_and_what_to_do(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["commission", str(config), "Shore"]) == 1
    told = capsys.readouterr()
    assert "! Pump house → Lab: light arrives: not passed" in told.out
    # 0.9 km · 0.4 dB/km + 2 · 0.75 dB = 1.86 dB
    assert "! Lab → Pump house: loses 3.0 dB, planned at most 1.9 dB: not passed" in told.out
    assert "? the switch at Pump house answers: cannot tell" in told.out
    assert "! Never look into a fibre" in told.err


def test_the_ledger_goes_out_and_comes_back_the_same(
    config: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["cable", str(config), "export", "--json"]) == 0
    whole = from_json(capsys.readouterr().out)
    assert whole == from_json(to_json([CABLE], STRANDS))
    assert main(["cable", str(config), "export"]) == 0
    assert capsys.readouterr().out == to_csv(STRANDS)
    assert main(["cable", str(config), "show"]) == 0
    shown = capsys.readouterr().out
    assert "best spare: 4 (brown)" in shown
    assert "broken, mouse, 2025" in shown


def test_a_csv_row_becomes_the_fields_of_an_entry() -> None:
    found = from_csv("cable,number,use,link,slack_a_m,note\nShore,3,spare,,1.5,x\n")
    assert found == {
        "strands": [
            {
                "cable": "Shore",
                "number": 3,
                "use": "spare",
                "link": None,
                "slack_a_m": 1.5,
                "note": "x",
            }
        ]
    }


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "the file is empty"),
        ("cable,colour\n", "unknown column 'colour'"),
        ("cable,number\nShore,three\n", "line 2: number is 'three'"),
        ("cable,number\nShore\n", "line 2 has another number of cells than the header"),
    ],
)
def test_a_csv_that_is_wrong_says_where(text: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        from_csv(text)
    assert caught.value.message == words


def test_the_live_screen_shows_change_best_and_movement() -> None:
    track = Track()
    for time_ms, rx in ((0, -16.0), (1000, -9.0), (2000, -9.5)):
        track.take(time_ms, Measured(Dbm(rx)), Measured(Dbm(-6.0)))
    assert (track.change, track.best, track.peak) == (6.5, -9.0, 7.0)
    pane = Pane(name="Lab → Pump house", sees="Pump house sees ...", track=track)
    assert line_of(3, [pane]) == (
        "3 seconds: Lab → Pump house −9.5 dBm, +6.5 dB since start, best −9.0 dBm, moves by 7.0 dB"
    )
    shown = screen("t", "r", [pane], ["Careful."])
    assert "! Careful." in shown
    assert shown.count("█") > 40
    track.take(3000, NO_LIGHT, Measured(Dbm(-6.0)))
    assert "NO LIGHT" in screen("t", "r", [pane], [])


@pytest.mark.parametrize("rows", [24, 30, 60])
def test_the_figures_stay_in_view_and_every_caution_has_its_turn(rows: int) -> None:
    track = Track()
    for second in range(60):
        track.take(second * 1000, Measured(Dbm(-9.0 - second % 3)), Measured(Dbm(-6.0)))
    panes = [Pane(name=name, sees=f"sees {name}", track=track) for name in ("there", "back")]
    cautions = work_cautions(outdoors=True)
    seen = set()
    for turn in range(len(cautions)):
        text = screen("t", "r", panes, cautions, Room(columns=80, rows=rows, turn=turn))
        lines = text.splitlines()
        assert len(lines) < rows  # print ends the last one
        assert all(len(line) <= 80 for line in lines)
        assert text.count("dBm ") == 2
        joined = " ".join(text.split())
        shown = {caution for caution in cautions if caution in joined}
        assert shown
        seen |= shown
    assert seen == set(cautions)


def test_signs_of_hand_made_plugs_fit_the_figures() -> None:
    def first(**figures: object) -> Handwork:
        return explain_handwork(LiveFigures(**figures))[0]  # type: ignore[arg-type]

    assert first(dark=True, both_dark=True, both_send=True) is Handwork.NOT_CROSSED
    assert first(excess_db=14.0) is Handwork.SLID_BACK
    assert first(excess_db=0.2, peak_db=2.0) is Handwork.SLID_BACK
    assert first(excess_db=5.0) is Handwork.CLEAVED_SHORT
    assert first(excess_db=1.0) is Handwork.DIRT
    assert explain_handwork(LiveFigures(excess_db=0.2, peak_db=0.1)) == ()
    assert explain_handwork(LiveFigures(excess_db=5.0, spare=True))[-1] is Handwork.TRY_A_SPARE
    assert "ONE end only" in handwork_sentence(Handwork.NOT_CROSSED)


def test_verdict_and_checks_are_said_in_plain_words() -> None:
    change = Interval(value=-6.0, low=-6.2, high=-5.8)
    verdict = ReworkVerdict(worth=Worth.BETTER, change=change, allowed=Db(0.3))
    assert verdict_sentence("Lab → Pump house", verdict) == (
        "Lab → Pump house: better, 6.0 dB less lost than before. Provisional until one cold night "
        "has passed."
    )
    bits = Check(
        kind=CheckKind.BITS,
        outcome=Outcome.PENDING,
        got=1.5e9,
        limit=2.996e12,
        ratio=1e-12,
        errors=1,
        left_s=7200,
    )
    assert check_sentence(bits) == (
        "fewer bad bits than 1 in 10^12: 1.50 thousand million of 3.00 million million bits, "
        "1 damaged frame, 2 hours more at this traffic: pending"
    )
    assert len(six_steps(LINK, "")) == 6
