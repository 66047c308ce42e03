"""The weather of the station and what it does to the air around the modules. Invented."""

from __future__ import annotations

import math
from typing import Final

from strandkeeper_demo.faults import ColdSpell, Overheat
from strandkeeper_demo.noise import Noise
from strandkeeper_demo.scenario import Scenario
from strandkeeper_demo.station import Place, Switch

__all__ = ["Weather"]

DAY_S = 86400
MEAN_C = 7.0
DAILY_C = 3.5
WARMEST_HOUR = 15.0

# What of the weather comes through the walls: (usual °C, share of the air's departure from mean).
WALLS: Final[dict[Place, tuple[float, float]]] = {
    Place.LABORATORY: (21.0, 0.05),
    Place.PUMP_HOUSE: (13.0, 0.45),
    Place.JETTY: (9.0, 0.85),
}


class Weather:
    """Temperatures as a pure function of time."""

    def __init__(self, scenario: Scenario) -> None:
        self._noise = Noise(scenario.seed)
        self._offset_s = scenario.utc_offset_s
        self._spells = scenario.of_kind(ColdSpell)
        self._heat = scenario.of_kind(Overheat)

    def air_c(self, time_s: float) -> float:
        """Outdoor temperature in °C."""
        hour = (time_s + self._offset_s) % DAY_S / 3600
        daily = DAILY_C * math.cos(2 * math.pi * (hour - WARMEST_HOUR) / 24)
        front = 1.6 * self._noise.smooth("front", time_s, 2.3 * DAY_S)
        gust = 0.4 * self._noise.smooth("gust", time_s, 1800)
        return MEAN_C + daily + front + gust - sum(s.drop(time_s) for s in self._spells)

    def duct_c(self, time_s: float) -> float:
        """Temperature of the water in the jetty's duct, in °C: the air's, two hours late."""
        return (self.air_c(time_s - 3600) + self.air_c(time_s - 3 * 3600)) / 2

    def around_c(self, switch: Switch, time_s: float) -> float:
        """Temperature of the air around a switch's modules, in °C."""
        usual, share = WALLS[switch.place]
        draught = 0.5 * self._noise.smooth(f"draught {switch.name}", time_s, 2400)
        heat = sum(h.rise(time_s) for h in self._heat if h.switch == switch.name)
        return usual + share * (self.air_c(time_s) - MEAN_C) + draught + heat
