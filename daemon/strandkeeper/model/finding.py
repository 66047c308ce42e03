"""What the analysis can conclude: kinds, causes, evidence, next steps. Complete from the start."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum, StrEnum

from strandkeeper.model.names import Direction, End, LinkName

__all__ = [
    "Cause",
    "Confidence",
    "Evidence",
    "EvidenceKind",
    "Finding",
    "FindingKind",
    "NextStep",
    "Severity",
]


class Severity(IntEnum):
    """How much it matters; not how soon someone must act (wording decides that by the hour)."""

    NOTE = 0
    WARNING = 1
    URGENT = 2


class Confidence(StrEnum):
    """How sure the analysis is of a cause; the rules are in analysis/causes."""

    CERTAIN = "certain"
    LIKELY = "likely"
    CANNOT_TELL = "cannot-tell"


class FindingKind(StrEnum):
    """What is the case. With the link and the direction (or none) it identifies a finding."""

    LINK_DOWN = "link-down"
    NO_ANSWER = "no-answer"
    LIGHT_LOST = "light-lost"
    ADDED_LOSS = "added-loss"
    MARGIN_LOW = "margin-low"
    OVERLOAD = "overload"
    ERRORS = "errors"
    FLAPPING = "flapping"
    RESTARTS = "restarts"
    DRIFT = "drift"
    STEP = "step"
    REPEATED_STEPS = "repeated-steps"
    FLICKER = "flicker"
    DAILY_SWING = "daily-swing"
    FREEZING = "freezing"
    TRANSMIT_LOW = "transmit-low"
    LASER_AGEING = "laser-ageing"
    TEMPERATURE = "temperature"
    SUPPLY = "supply"
    FROZEN_FIGURE = "frozen-figure"
    MODULE_CHANGED = "module-changed"
    MODULE_MISSING = "module-missing"
    WRONG_PART = "wrong-part"
    PAIR_NOT_CROSSED = "pair-not-crossed"
    DAMAGE_IN_PROGRESS = "damage-in-progress"
    NO_READINGS = "no-readings"
    WATCH_WAS_OFF = "watch-was-off"
    CLOCK_UNTRUSTED = "clock-untrusted"
    RECORD_TROUBLE = "record-trouble"


class Cause(StrEnum):
    """Why it is so, as far as the evidence goes (design, section 4, 'Causes')."""

    UNKNOWN = "unknown"
    CABLE = "cable"
    STRAND = "strand"
    CONNECTOR = "connector"
    BEND_OR_CRUSH = "bend-or-crush"
    HANDLING = "handling"
    DAMAGE_IN_PROGRESS = "damage-in-progress"
    WEATHER_ON_CONNECTOR = "weather-on-connector"
    FREEZING_WATER = "freezing-water"
    DIRTY_OR_REFLECTIVE_CONNECTOR = "dirty-or-reflective-connector"
    PAIR_NOT_CROSSED = "pair-not-crossed"
    TRANSMITTER = "transmitter"
    RECEIVER = "receiver"
    MODULE = "module"
    MODULE_REMOVED = "module-removed"
    MODULE_CHANGED = "module-changed"
    WRONG_PART = "wrong-part"
    OVERLOAD = "overload"
    COPPER_SIDE = "copper-side"
    SWITCHED_OFF_BY_A_PERSON = "switched-off-by-a-person"
    FAR_END_SILENT = "far-end-silent"
    FAR_END_OFF_OR_RESTARTED = "far-end-off-or-restarted"
    SWITCH_RESTARTED = "switch-restarted"
    SURGE = "surge"
    BATTERY = "battery"
    WAY_TO_SWITCH = "way-to-switch"
    BEHIND_A_LINK_THAT_IS_DOWN = "behind-a-link-that-is-down"
    OTHER_STRAND_OR_FAR_RECEIVER = "other-strand-or-far-receiver"


class EvidenceKind(StrEnum):
    """What speaks for a finding; the value's unit is fixed by the kind (in brackets)."""

    RECEIVE_POWER = "receive-power"  # [dBm]
    TRANSMIT_POWER = "transmit-power"  # [dBm]
    MARGIN = "margin"  # [dB]
    HEADROOM = "headroom"  # [dB]
    LOSS = "loss"  # [dB]
    ADDED_LOSS = "added-loss"  # [dB]
    CHANGE = "change"  # [dB]
    SLOPE = "slope"  # [dB/month]
    SPREAD = "spread"  # [dB]
    SENSITIVITY = "sensitivity"  # [dBm]
    OVERLOAD_LIMIT = "overload-limit"  # [dBm]
    RESERVE = "reserve"  # [dB]
    TEMPERATURE = "temperature"  # [°C]
    BIAS = "bias"  # [mA]
    BIAS_CHANGE = "bias-change"  # [%]
    SUPPLY = "supply"  # [V]
    NO_LIGHT_HERE = "no-light-here"
    LIGHT_HERE = "light-here"
    BOTH_DARK = "both-dark"
    ONE_DIRECTION = "one-direction"
    BOTH_DIRECTIONS = "both-directions"
    TRANSMITTER_STEADY = "transmitter-steady"
    TRANSMITTER_MOVED = "transmitter-moved"  # [dB]
    PORT_DOWN = "port-down"
    PORT_OFF_BY_A_PERSON = "port-off-by-a-person"
    MODULE_NOT_PRESENT = "module-not-present"
    FAR_END_SILENT = "far-end-silent"
    FAR_END_ANSWERS = "far-end-answers"
    REACHED_THROUGH = "reached-through"  # text: the link's name
    MISSES = "misses"  # [polls]
    UPTIME = "uptime"  # [s]
    RESTARTS = "restarts"  # [count]
    RESTART_MATCHES_LIGHT = "restart-matches-light"
    BOTH_RESTARTED = "both-restarted"
    ERROR_FRAMES = "error-frames"  # [frames]
    FRAMES = "frames"  # [frames]
    ERROR_RATIO = "error-ratio"  # [-]
    ERROR_RATIO_LEAST = "error-ratio-least"  # [-] lower 95 % Poisson limit
    ERROR_RATIO_MOST = "error-ratio-most"  # [-] upper 95 % Poisson limit
    MARGIN_IN_HAND = "margin-in-hand"  # [dB]
    FLAPS = "flaps"  # [count]
    DURATION = "duration"  # [s]
    WORSE_AT_LONGER_WAVELENGTH = "worse-at-longer-wavelength"  # [dB]
    ALIKE_AT_BOTH_WAVELENGTHS = "alike-at-both-wavelengths"
    FOLLOWS_TEMPERATURE = "follows-temperature"  # [dB/°C]
    NEAR_FREEZING = "near-freezing"
    SEASON_NOT_EXCLUDED = "season-not-excluded"
    MEDIA_NOT_AVAILABLE = "media-not-available"
    MEDIA_REMOTE_FAULT = "media-remote-fault"
    MODULE_ID = "module-id"  # text
    SINCE_FIRST_DAY = "since-first-day"
    PROVISIONAL_BASELINE = "provisional-baseline"
    BEFORE_DAWN = "before-dawn"
    STEPS = "steps"  # [count]
    MISFIT = "misfit"  # text: a sentence without its full stop
    SUPPLY_IN_NEED = "supply-in-need"  # text: what the switch said of its supply
    LARGE_PINGS_LOST = "large-pings-lost"  # text: what came back
    ERRORS_IN_BURSTS = "errors-in-bursts"  # [-] variance by mean of the counts; 1 is pure chance
    ERRORS_BY_CHANCE = "errors-by-chance"  # [-] the same, where chance alone explains it
    LIGHT_AT_ERRORS = "light-at-errors"  # [dB] against the day's usual; negative is weaker
    SWING = "swing"  # [dB] between night and day


class NextStep(StrEnum):
    """What to do, in the trade's order of trying things; wording adds the cautions."""

    WAIT_AND_SEE = "wait-and-see"
    CHECK_FAR_POWER = "check-far-power"
    CHECK_NEAR_POWER = "check-near-power"
    CHECK_SWITCH_NETWORK = "check-switch-network"
    PUSH_HOME = "push-home"
    CLEAN_PLUGS_AND_BORE = "clean-plugs-and-bore"
    CHANGE_CORD = "change-cord"
    SWAP_STRANDS = "swap-strands"
    MOVE_TO_SPARE = "move-to-spare"
    CHANGE_MODULE_HERE = "change-module-here"
    CHANGE_MODULE_THERE = "change-module-there"
    RETERMINATE = "reterminate"
    WALK_THE_ROUTE = "walk-the-route"
    CHECK_BENDS = "check-bends"
    SWAP_PLUGS_AT_ONE_END = "swap-plugs-at-one-end"
    ADD_ATTENUATOR = "add-attenuator"
    CHECK_COPPER_SIDE = "check-copper-side"
    CHECK_COOLING = "check-cooling"
    CHECK_BATTERY = "check-battery"
    CHECK_SURGE_PROTECTION = "check-surge-protection"
    REPLACE_WRONG_PART = "replace-wrong-part"
    ENABLE_PORT = "enable-port"
    PUT_MODULE_BACK = "put-module-back"
    ACCEPT_NEW_BASELINE = "accept-new-baseline"
    CHECK_DISK = "check-disk"
    CHECK_CLOCK = "check-clock"
    LOCATE_FAULT_WITH_VISIBLE_LIGHT = "locate-fault-with-visible-light"


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """One fact behind a finding. `end` where it was seen, `value` in the unit of its kind."""

    kind: EvidenceKind
    end: End | None = None
    direction: Direction | None = None
    value: float | None = None
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing that is true now. Identity: (link, direction or None, end or None, kind)."""

    link: LinkName
    kind: FindingKind
    severity: Severity
    since_ms: int
    direction: Direction | None = None
    end: End | None = None
    cause: Cause = Cause.UNKNOWN
    confidence: Confidence = Confidence.CANNOT_TELL
    alternatives: tuple[Cause, ...] = ()
    evidence: tuple[Evidence, ...] = ()
    next_steps: tuple[NextStep, ...] = ()

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What makes it the same finding at the next evaluation."""
        end = "" if self.end is None else self.end.name
        return (self.link, self.direction or "", end, self.kind.value)
