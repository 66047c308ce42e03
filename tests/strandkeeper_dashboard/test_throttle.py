"""How long somebody who guessed wrong has to wait."""

from __future__ import annotations

from strandkeeper_dashboard.throttle import Throttle


class Clock:
    """Seconds, moved by hand."""

    def __init__(self) -> None:
        self.now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


def waits(throttle: Throttle, key: str, guesses: int) -> list[float]:
    found = []
    for _ in range(guesses):
        throttle.failed(key)
        found.append(throttle.wait_s(key))
    return found


def test_the_wait_doubles_from_the_fourth_wrong_guess_to_five_minutes() -> None:
    found = waits(Throttle(Clock()), "name Anna", 14)
    assert found[:3] == [0, 0, 0]
    assert found[3:12] == [1, 2, 4, 8, 16, 32, 64, 128, 256]
    assert found[12:] == [300, 300]


def test_the_wait_passes_and_an_hour_forgets() -> None:
    clock = Clock()
    throttle = Throttle(clock)
    assert waits(throttle, "name Anna", 5)[-1] == 2
    clock.now_s += 2
    assert throttle.wait_s("name Anna") == 0
    clock.now_s += 3601
    assert waits(throttle, "name Anna", 1) == [0]


def test_a_name_and_an_address_wait_each_for_themselves() -> None:
    throttle = Throttle(Clock())
    waits(throttle, "from 192.0.2.1", 6)
    assert throttle.wait_s("name Anna", "from 192.0.2.2") == 0
    assert throttle.wait_s("name Anna", "from 192.0.2.1") == 4
    throttle.forgive("from 192.0.2.1")
    assert throttle.wait_s("from 192.0.2.1") == 0


def test_any_number_of_names_takes_bounded_room() -> None:
    throttle = Throttle(Clock())
    waits(throttle, "name first", 8)
    for number in range(10_000):
        throttle.failed(f"name {number}")
    assert throttle.wait_s("name first") == 0  # the oldest is forgotten
