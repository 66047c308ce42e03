"""The level diagram's geometry: heights in order of power, what is not known is not drawn."""

from __future__ import annotations

import itertools
from collections import Counter

import invented_station as station
import pytest

from strandkeeper.model.names import Direction
from strandkeeper.model.planned_parts import PlannedParts, planned_parts
from strandkeeper.model.power import NO_LIGHT, NOT_REPORTED, Measured
from strandkeeper.model.verdict import DirectionVerdict
from strandkeeper.optics.units import Db, Dbm
from strandkeeper_dashboard.level_diagram import Label, LevelDiagram, level_diagram

PARTS = PlannedParts(sender_connectors=Db(0.6), fibre=Db(0.4), receiver_connectors=Db(0.6))


def drawn(sent: float | None, received: float | None, **more: object) -> LevelDiagram:
    verdict = DirectionVerdict(
        direction=Direction.AB,
        tx=NOT_REPORTED if sent is None else Measured(Dbm(sent)),
        rx=NOT_REPORTED if received is None else Measured(Dbm(received)),
        **{"sensitivity": Dbm(-19.5), "overload": Dbm(-3.0), **more},  # type: ignore[arg-type]
    )
    return level_diagram(verdict, Db(6.0), ends=("Lab", "Tower"), planned=PARTS)


def test_stronger_light_stands_higher() -> None:
    shown = drawn(-5.0, -11.0)
    assert shown.overload_y is not None
    assert shown.sensitivity_y is not None
    assert shown.reserve_y is not None
    assert shown.sent is not None
    assert shown.received is not None
    heights = [shown.overload_y, shown.sent.y, shown.received.y, shown.reserve_y[0]]
    assert heights == sorted(heights)
    assert shown.reserve_y[1] == shown.sensitivity_y


def test_heights_are_in_proportion_to_db() -> None:
    # from -3 to -19.5 is 16.5 dB; the reserve of 6 dB is 6/16.5 of that height
    shown = drawn(-5.0, -11.0)
    assert shown.reserve_y is not None
    assert shown.overload_y is not None
    assert shown.sensitivity_y is not None
    whole = shown.sensitivity_y - shown.overload_y
    assert (shown.reserve_y[1] - shown.reserve_y[0]) / whole == pytest.approx(6 / 16.5, abs=0.002)


def test_measured_line_is_plain_between_its_two_known_points() -> None:
    shown = drawn(-5.0, -11.0)
    assert shown.measured is not None
    assert shown.sent is not None
    assert shown.received is not None
    assert (shown.measured.x1, shown.measured.y1) == (shown.sent.x, shown.sent.y)
    assert (shown.measured.x2, shown.measured.y2) == (shown.received.x, shown.received.y)


def test_planned_line_steps_through_plugs_fibre_plugs_and_hangs_together() -> None:
    planned = drawn(-5.0, -11.0).planned
    assert len(planned) == 5
    for one, following in itertools.pairwise(planned):
        assert (one.x2, one.y2) == (following.x1, following.y1)
    flat, step, slope, second, _end = planned
    assert flat.y1 == flat.y2
    assert step.x1 == step.x2
    assert slope.x2 > slope.x1
    assert slope.y2 > slope.y1
    assert second.x1 == second.x2


def test_no_light_is_a_cross_and_not_a_level() -> None:
    verdict = DirectionVerdict(direction=Direction.BA, tx=Measured(Dbm(-5)), rx=NO_LIGHT)
    shown = level_diagram(verdict, Db(6), ends=("Lab", "Tower"))
    assert shown.dark
    assert shown.received is None
    assert shown.measured is None
    assert any(label.kind == "dark" and label.text == "no light" for label in shown.labels)


def test_what_is_not_known_is_not_drawn() -> None:
    shown = drawn(None, -11.0, sensitivity=None, overload=None)
    assert shown.measured is None
    assert shown.planned == ()
    assert shown.sensitivity_y is None
    assert shown.overload_y is None
    assert shown.drawable
    assert not drawn(-5.0, None, sensitivity=None, overload=None).drawable


def test_planned_parts_add_up_to_the_planned_loss() -> None:
    for link in station.links():
        for direction in Direction:
            parts = planned_parts(link, direction, Db(1.6))
            assert parts is not None
            whole = parts.sender_connectors + parts.fibre + parts.receiver_connectors
            assert whole.value == pytest.approx(1.6)
    assert planned_parts(station.links()[0], Direction.AB, None) is None


def extent(label: Label) -> tuple[float, float]:
    long, at = len(label.text) * 6.6, label.x * 3.0
    return {"start": (at, at + long), "end": (at - long, at)}.get(label.anchor, (at, at))


@pytest.mark.parametrize("received", [-2.0, -3.5, -6.0, -8.0, -11.0, -14.0, -17.0, -19.0, -23.0])
@pytest.mark.parametrize("sent", [-1.0, -3.5, -5.0, -8.0])
def test_no_label_covers_another_on_the_narrowest_screen(sent: float, received: float) -> None:
    labels = [one for one in drawn(sent, received).labels if one.kind not in ("axis", "end")]
    kinds = Counter(label.kind for label in labels)
    assert (kinds["power"], kinds["loss"], kinds["limit"]) == (2, 1, 2)
    for one, other in itertools.combinations(labels, 2):
        (left, right), (other_left, other_right) = extent(one), extent(other)
        apart = right <= other_left or other_right <= left
        assert apart or abs(one.y - other.y) >= 14, (one, other)
