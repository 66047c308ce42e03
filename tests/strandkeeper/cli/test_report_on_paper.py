"""The record and the cards as they come out of a printer: pages are counted in a real browser."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest
from playwright.sync_api import Browser, sync_playwright

from strandkeeper.cli.main import main
from strandkeeper.model.ledger import Cable, Strand, StrandUse, default_label
from strandkeeper.model.names import Direction, End, LinkName
from strandkeeper.model.power import Measured
from strandkeeper.model.verdict import Baseline, DirectionVerdict, EndState, LinkVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper.store import Batch, open_writer
from strandkeeper.store.changes import Changes

pytestmark = pytest.mark.browser

CHROMIUM = "/usr/bin/chromium"
PAPERS = ("A4", "Letter")
SHORT = ("Pump house", "Lab", "Jetty")
LONG = (
    "The old lighthouse keeper's cottage by way of the northern breakwater",
    "Laboratory building, ground floor, server room behind the stairs",
    "Seawater intake and filter house below the western quay wall",
)
CONFIG = """
station = "Shore station with a rather long name for so small a place"
[[switch]]
name = "lab-switch"
host = "192.0.2.10"
snmp = {{ version = "2c", community_file = "x" }}
[[link]]
name = "{0}"
length_m = 900
matings = 4
strands = {strands}
a = {{ name = "{1}", switch = "lab-switch", port = "GigabitEthernet1/0/49", {a} }}
b = {{ name = "{2}", {b} }}
"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    if shutil.which(CHROMIUM) is None:
        pytest.skip(f"NOT RUN: {CHROMIUM} is missing")
    with sync_playwright() as driver:
        opened = driver.chromium.launch(
            executable_path=CHROMIUM, args=["--no-sandbox", "--disable-gpu"]
        )
        yield opened
        opened.close()


def station(folder: Path, names: tuple[str, str, str], strands: int, in_cable: int) -> Path:
    """A station of one link, everything known of it, and a cable of so many strands."""
    path = folder / "station.toml"
    pmds = ("1000BASE-LX10",) * 2 if strands == 2 else ("1000BASE-BX10-D", "1000BASE-BX10-U")
    a, b = (f'pmd = "{pmd}"' for pmd in pmds)
    path.write_text(CONFIG.format(*names, strands=strands, a=a, b=b), encoding="utf-8")
    link = LinkName(names[0])
    ways = [
        DirectionVerdict(
            direction=way,
            rx=Measured(Dbm(-9.0)),
            tx=Measured(Dbm(-6.0)),
            margin=Db(10.5),
            sensitivity=Dbm(-19.5),
            overload=Dbm(-3.0),
            loss=Db(3.0),
            baseline=Baseline(loss=Db(2.9), spread=Db(0.1), since_ms=0, firm=True),
        )
        for way in Direction
    ]
    verdict = LinkVerdict(
        link=link,
        at_ms=5_000,
        up=True,
        a=EndState(end=End.A, answers=True),
        b=EndState(end=End.B, managed=False),
        ab=ways[0],
        ba=ways[1],
    )
    with closing(open_writer(folder / "strandkeeper.db", reserve=False)) as writer:
        writer.append(Batch(verdicts=(verdict,)))
        cable = Cable(name=f"cable of {names[0]}"[:60], strands=in_cable, length_m=900.0)
        writer.change(Changes(cables=[cable], strands=ledger(cable, link, strands)))
    return path


def ledger(cable: Cable, link: LinkName, carrying: int) -> list[Strand]:
    """The first carry the link, the next are tried spares, every fifth is broken with a note."""
    found = []
    for number in range(1, cable.strands + 1):
        label = default_label(number, cable.strands)
        if number <= carrying:
            way = None if carrying == 1 else (Direction.AB, Direction.BA)[number - 1]
            made = Strand(
                cable=cable.name,
                number=number,
                label=label,
                use=StrandUse.IN_USE,
                link=link,
                direction=way,
            )
        elif number % 5 == 0:
            note = "a mouse was here in the winter of 2025, two metres from the splice box"
            made = Strand(
                cable=cable.name, number=number, label=label, use=StrandUse.BROKEN, note=note
            )
        else:
            tried = 1_000 if number <= carrying + 4 else None
            made = Strand(cable=cable.name, number=number, label=label, tested_ms=tried)
        found.append(made)
    return found


def pages(browser: Browser, file: Path, paper: str) -> int:
    page = browser.new_page()
    try:
        page.goto(f"file://{file}")
        printed = page.pdf(format=paper)
    finally:
        page.close()
    return len(re.findall(rb"/Type\s*/Page\b", printed))


@pytest.mark.parametrize("in_cable", [2, 12, 48])
@pytest.mark.parametrize("names", [SHORT, LONG], ids=["short", "long"])
@pytest.mark.parametrize("strands", [1, 2])
def test_a_card_is_one_page_for_each_building(
    browser: Browser, tmp_path: Path, strands: int, names: tuple[str, str, str], in_cable: int
) -> None:
    config = station(tmp_path, names, strands, in_cable)
    out = tmp_path / "card.html"
    assert main(["report", str(config), names[0], "-o", str(out), "--card"]) == 0
    counted = {paper: pages(browser, out, paper) for paper in PAPERS}
    assert counted == {"A4": 2, "Letter": 2}


def test_no_strand_is_left_out_of_the_card(tmp_path: Path) -> None:
    config = station(tmp_path, SHORT, 2, 48)
    out = tmp_path / "card.html"
    assert main(["report", str(config), "Pump house", "-o", str(out), "--card"]) == 0
    text = out.read_text(encoding="utf-8")
    card = text[text.index("<h2>Strands") : text.index("<h2>If it is down")]
    told = {int(n) for n in re.findall(r'<th scope="row">(\d+) ', card)}
    sentence = re.search(r"The others: ([^<]*)", card)
    assert sentence is not None
    fates = dict(reversed(part.split(": ")) for part in sentence[1].rstrip(".").split("; "))  # type: ignore[misc]
    broken = numbers(fates["broken"])
    assert broken <= set(range(5, 49, 5))  # every fifth is broken, and no other
    for runs in fates.values():
        told |= numbers(runs)
    assert told == set(range(1, 49))


def numbers(runs: str) -> set[int]:
    """'5 to 9, 11' as numbers."""
    found: set[int] = set()
    for run in runs.split(", "):
        first, _, last = run.partition(" to ")
        found |= set(range(int(first), int(last or first) + 1))
    return found


@pytest.mark.parametrize("paper", PAPERS)
def test_the_record_prints_whole_with_nothing_cut_off(
    browser: Browser, tmp_path: Path, paper: str
) -> None:
    config = station(tmp_path, LONG, 2, 12)
    out = tmp_path / "record.html"
    assert main(["report", str(config), LONG[0], "-o", str(out)]) == 0
    assert 1 <= pages(browser, out, paper) <= 6
    width = {"A4": 794, "Letter": 816}[paper]  # at 96 px an inch: 210 mm, 8.5 in
    page = browser.new_page(viewport={"width": width, "height": 1000})
    page.emulate_media(media="print")
    page.goto(f"file://{out}")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


def test_the_level_diagram_steps_through_launch_plugs_fibre_and_receiver(tmp_path: Path) -> None:
    config = station(tmp_path, SHORT, 2, 12)
    out = tmp_path / "record.html"
    assert main(["report", str(config), "Pump house", "-o", str(out)]) == 0
    text = out.read_text(encoding="utf-8")
    drawings = re.findall(r'<svg[^>]*aria-label="Levels.*?</svg>', text, re.DOTALL)
    assert len(drawings) == 2
    for drawing in drawings:
        line = re.search(r'points="([^"]*)" class="planned"', drawing)
        assert line is not None
        points = [tuple(float(v) for v in xy.split(",")) for xy in line[1].split()]
        (x0, y0), (x1, y1), (x2, y2), (x3, y3), (x4, y4), (x5, y5) = points
        assert y0 == y1  # launch: level
        assert (x1, x3) == (x2, x4)  # a step at the plugs of each end
        assert y1 < y2 < y3 < y4  # plugs, fibre, plugs: downward
        assert y4 == y5  # into the receiver
        assert (x0, x5) == (min(p[0] for p in points), max(p[0] for p in points))
        # G.652.D 0.4 dB/km at most, 0.75 dB a mating: four matings lose more than 0.9 km of fibre
        assert (y2 - y1) + (y4 - y3) > y3 - y2
        for word in ("sends", "plugs", "fibre", "receives", "weakest it can use", "strongest"):
            assert word in drawing, word
