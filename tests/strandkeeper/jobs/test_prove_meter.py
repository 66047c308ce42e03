"""Meter readings: right practice is worked out, wrong practice refused with the reason."""

from __future__ import annotations

from typing import Any

import pytest
from tests.strandkeeper.jobs.prove_samples import NOW_MS, SHORE, asked, end, known, link, readings

from strandkeeper.jobs.prove import Ruling
from strandkeeper.jobs.prove_rule import rule
from strandkeeper.model.entry import EntryKind
from strandkeeper.model.ledger import Cable, Strand
from strandkeeper.model.meter_reading import MeterReading
from strandkeeper.model.names import Direction
from strandkeeper.model.times import iso_utc
from strandkeeper.optics.meter import MeterVerdict

GOOD: dict[str, object] = {
    "kind": "loss",
    "link": "shore",
    "direction": "ab",
    "source": "laser",
    "source_nm": 1310,
    "meter_nm": 1310,
    "cords": 1,
    "reference_dbm": -10.0,
    "reading_dbm": -11.3,
}


def ruled(payload: dict[str, object], **more: Any) -> Ruling:
    return rule(asked(EntryKind.METER, **payload), known(**more), NOW_MS)


def reading(payload: dict[str, object], **more: Any) -> MeterReading:
    ruling = ruled(payload, **more)
    assert ruling.refusal == ""
    (found,) = ruling.changes.readings
    return found


@pytest.mark.parametrize(
    ("loss", "verdict"),
    [
        # ANSI/TIA-568.3-D: 0.8 km · 0.4 dB/km (G.652.D) + 2 · 0.75 dB = 1.82 dB;
        # MIL-STD-2042-6B 6E1, a link: accept; up to 1.0 dB above: clean and retest; then reject
        (1.30, MeterVerdict.ACCEPT),
        (1.82, MeterVerdict.ACCEPT),
        (1.90, MeterVerdict.CLEAN_AND_RETEST),
        (2.80, MeterVerdict.CLEAN_AND_RETEST),
        (2.82, MeterVerdict.REJECT),
    ],
)
def test_loss_is_judged_by_the_published_rule(loss: float, verdict: MeterVerdict) -> None:
    found = reading({**GOOD, "reading_dbm": -10.0 - loss})
    assert found.loss is not None
    assert found.limit is not None
    assert found.loss.value == pytest.approx(loss)
    assert (found.limit.value, found.verdict) == (pytest.approx(1.82), verdict)
    assert (found.id, found.who, found.at_ms, found.link) == (1, "me", NOW_MS, SHORE)


def test_what_more_cords_hide_is_not_allowed_for_and_is_less_certain() -> None:
    # three cords hide both end connections: 0.8 · 0.4 = 0.32 dB is left
    found = reading({**GOOD, "cords": 3, "reading_dbm": -10.3})
    assert found.limit is not None
    assert found.limit.value == pytest.approx(0.32)
    assert found.uncertainty.value == 0.5
    assert reading(GOOD).uncertainty.value == 0.2


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"source": "vfl", "source_nm": 650}, "a visual fault locator (red light, about 650 nm)"),
        ({"source_nm": 1550, "meter_nm": 1550}, "the source sends 1550 nm but the link runs at"),
        ({"meter_nm": 850}, "the source sends 1310 nm but the meter is set to 850 nm"),
        ({"reference_dbm": None}, "a loss without a reference is none"),
        ({"reading_dbm": -9.5}, "a loss of -0.50 dB is a gain: the cable cannot give light"),
        ({"source_nm": None}, "a reading needs the wavelength of the source"),
        ({"reading_dbm": None}, "a reading needs its figure in dBm"),
        ({"cords": 4}, "cords is 4"),
        ({"link": "sea"}, "there is no link 'sea' in the configuration"),
        ({"kind": "guess"}, "there is no measurement 'guess'"),
        ({"colour": "blue"}, "there is no field 'colour'"),
        ({"reading_dbm": "much"}, "reading_dbm must be a number, not 'much'"),
        ({"reading_dbm": -80}, "the reading of -80.00 dBm is below what a meter can show"),
    ],
)
def test_wrong_practice_is_refused_with_the_reason(change: dict[str, object], words: str) -> None:
    refusal = ruled({**GOOD, **change}).refusal
    assert refusal.startswith(words)


def test_a_spare_strand_is_measured_against_its_cable() -> None:
    cable = Cable(name="shore cable", strands=12, length_m=1000.0)
    strand = Strand(cable="shore cable", number=5, label="slate")
    payload = {k: v for k, v in GOOD.items() if k not in ("link", "direction")}
    found = reading(
        {**payload, "cable": "shore cable", "strand": 5}, cables=[cable], strands=[strand]
    )
    assert (found.link, found.cable, found.strand) == (None, "shore cable", 5)
    assert found.limit is not None
    assert found.limit.value == pytest.approx(0.4 + 2 * 0.75)
    refused = ruled({**payload, "cable": "shore cable", "strand": 6}, strands=[strand])
    assert refused.refusal.startswith("strand 6 of cable 'shore cable' is not in the ledger")


POWER: dict[str, object] = {
    "kind": "power",
    "link": "shore",
    "direction": "ab",
    "meter_nm": 1310,
    "reading_dbm": -8.0,
}


def test_a_meter_at_the_receivers_cord_anchors_what_the_module_said_before() -> None:
    # lit at -8.7 until two minutes ago, then dark: the cord is in the meter
    rows = [
        *readings(-8.7, from_s=600, to_s=120),
        *readings(None, from_s=110, to_s=0),
    ]
    ruling = ruled(POWER, rows=rows)
    (anchor,) = ruling.changes.anchors
    assert anchor.correction.value == pytest.approx(0.7)  # -8.0 - -8.7
    assert (anchor.link, anchor.direction) == (SHORE, Direction.AB)
    (found,) = ruling.changes.readings
    assert found.reported is not None
    assert found.reported.value == pytest.approx(-8.7)


@pytest.mark.parametrize(
    ("payload", "rx", "words"),
    [
        (POWER, None, "the module reported no light in the half hour before"),
        ({**POWER, "direction": None}, -8.7, "say which direction was measured"),
        ({**POWER, "meter_nm": 1550}, -8.7, "the source sends 1310 nm but the meter is set to"),
        ({**POWER, "meter_nm": None}, -8.7, "say which wavelength the meter is set to"),
        (POWER, -12.0, "the meter reads -8.00 dBm, the module reported -12.00 dBm: 4.00 dB apart"),
    ],
)
def test_what_cannot_anchor_is_refused(
    payload: dict[str, object], rx: float | None, words: str
) -> None:
    rows = readings(rx, from_s=600, to_s=0)
    assert ruled(payload, rows=rows).refusal.startswith(words)


def test_who_is_sure_may_anchor_a_module_that_is_far_off() -> None:
    rows = readings(-12.0, from_s=600, to_s=0)
    (anchor,) = ruled({**POWER, "sure": True}, rows=rows).changes.anchors
    assert anchor.correction.value == pytest.approx(4.0)


def test_what_was_measured_earlier_is_entered_under_its_time_and_who_measured_it() -> None:
    then = iso_utc(NOW_MS - 7_200_000)
    found = reading({**GOOD, "by": "the electrician", "at": then})
    assert (found.who, found.at_ms) == ("the electrician", NOW_MS - 7_200_000)
    early = ruled({**GOOD, "at": iso_utc(NOW_MS + 120_000)})
    assert early.refusal.endswith("is still to come: say when it was measured")
    assert ruled({**GOOD, "at": "yesterday"}).refusal.startswith("'yesterday' is not a time")


def test_a_power_of_earlier_is_held_against_what_the_module_said_then() -> None:
    # -8.7 dBm until an hour ago, -9.9 dBm now
    rows = [*readings(-8.7, from_s=4200, to_s=3600), *readings(-9.9, from_s=600, to_s=0)]
    payload = {**POWER, "at": iso_utc(NOW_MS - 3_600_000)}
    (anchor,) = ruled(payload, rows=rows).changes.anchors
    assert anchor.correction.value == pytest.approx(0.7)  # -8.0 - -8.7
    assert anchor.at_ms == NOW_MS - 3_600_000
    late = ruled({**POWER, "at": iso_utc(NOW_MS - 90_000_000)}, rows=rows)
    assert late.refusal.startswith("a power anchors a module as it is now")


def test_a_bench_reference_is_transmit_less_receive_each_way() -> None:
    rows = readings(-6.2, rx_a=-7.1, from_s=100, to_s=0)
    benches = ruled({"kind": "bench", "link": "shore"}, rows=rows).changes.benches
    # A sends -6.0, B sees -6.2; B sends -6.5, A sees -7.1
    assert [(b.direction, round(b.difference.value, 3)) for b in benches] == [
        (Direction.AB, 0.2),
        (Direction.BA, 0.6),
    ]


@pytest.mark.parametrize(
    ("pmd", "words"),
    [
        (None, "the class of the module at Lab is not known"),
        # 10GBASE-ER: launch up to +4.0, receiver up to -1.0 dBm: 5 dB must be lost between
        ("10GBASE-ER", "modules of 10GBASE-ER must lose at least 5.00 dB between them"),
    ],
)
def test_modules_that_blind_each_other_get_no_bench_reference(pmd: str | None, words: str) -> None:
    one = link(a=end("Lab", pmd), b=end("Pump house", pmd))
    payload: dict[str, object] = {"kind": "bench", "link": "shore"}
    ruling = ruled(payload, one=one, rows=readings(-6.2, from_s=100, to_s=0))
    assert ruling.refusal.startswith(words)
    assert not ruling.changes.benches


def test_a_bench_reference_without_readings_is_refused() -> None:
    ruling = ruled({"kind": "bench", "link": "shore"}, rows=readings(-6.2, from_s=900, to_s=300))
    assert ruling.refusal.startswith("no transmit or receive power of 'shore' ab")
