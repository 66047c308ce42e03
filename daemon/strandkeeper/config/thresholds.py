"""[thresholds]: when the watch speaks. Common practice, no source; every one can be changed.

A key is the field of model.link.Thresholds with its unit at the end.
"""

from __future__ import annotations

from strandkeeper.config.table import Table, key

__all__ = ["ThresholdsTable"]


class ThresholdsTable(Table):
    """[thresholds]: when to speak."""

    reserve_warn_db: float = key("warn when fewer dB are to spare [dB]", "6.0", 6.0, ge=0, le=40)
    reserve_urgent_db: float = key(
        "urgent when fewer dB are to spare [dB]", "3.0", 3.0, ge=0, le=40
    )
    reserve_warn_anchored_db: float = key(
        "the same where a meter has anchored the reading: warn [dB]", "4.0", 4.0, ge=0, le=40
    )
    reserve_urgent_anchored_db: float = key("and urgent [dB]", "1.0", 1.0, ge=0, le=40)
    added_loss_note_db: float = key(
        "log a loss added since it was good [dB]", "0.5", 0.5, ge=0.1, le=40
    )
    added_loss_warn_db: float = key("warn of it [dB]", "1.0", 1.0, ge=0.1, le=40)
    added_loss_warn_s: int = key("when it has lasted [s]", "1800", 1800, ge=60, le=604800)
    added_loss_urgent_db: float = key("urgent [dB]", "3.0", 3.0, ge=0.1, le=40)
    added_loss_urgent_s: int = key("when it has lasted [s]", "300", 300, ge=60, le=604800)
    added_loss_clear_s: int = key(
        "it is over when it was below half for [s]", "7200", 7200, ge=60, le=604800
    )
    errors_warn_frames: int = key(
        "warn at so many damaged frames in 24 h", "10", 10, ge=1, le=1000000000
    )
    errors_urgent_ratio: float = key(
        "urgent above this share of damaged frames", "1e-4", 1e-4, ge=1e-12, le=1
    )
    errors_urgent_s: int = key("when it has lasted [s]", "300", 300, ge=60, le=604800)
    no_answer_misses: int = key(
        "a switch is silent after so many polls without an answer", "3", 3, ge=1, le=1000
    )
    no_answer_s: int = key("and so long without one [s]", "180", 180, ge=10, le=604800)
    clear_steady_s: int = key(
        "a link or switch is well again when steady for [s]", "600", 600, ge=0, le=604800
    )
    link_down_tell_s: int = key("tell of a link that is down after [s]", "60", 60, ge=0, le=86400)
    restarts: int = key("tell of so many unplanned restarts", "2", 2, ge=1, le=1000)
    restarts_window_s: int = key("within [s]", "604800", 604800, ge=3600, le=31622400)
    flaps_day: int = key("tell of so many times down and up in 24 h", "3", 3, ge=1, le=100000)
    flaps_days_of_14: int = key("or on so many days of 14", "3", 3, ge=1, le=14)
    flap_hold_back: float = key(
        "each time down adds 1 to the flap penalty; alerts are held back from",
        "3.0",
        3.0,
        ge=1,
        le=1000,
    )
    flap_release: float = key("until it has fallen to", "1.0", 1.0, ge=0.1)
    flap_half_life_s: int = key("it halves in [s]", "900", 900, ge=10, le=86400)
    flap_hold_most_s: int = key(
        "calm releases them after [s] at the latest", "3600", 3600, ge=60, le=604800
    )
    flicker_ratio: float = key(
        "flickering: 10-minute spread above so many times its own normal", "3.0", 3.0, ge=1, le=100
    )
    flicker_spread_db: float = key("and above [dB]", "0.2", 0.2, ge=0.01, le=40)
    flicker_peak_db: float = key("or, peak to peak, above [dB]", "1.0", 1.0, ge=0.01, le=40)
    daily_swing_db: float = key(
        "tell of a loss that swings with the day by more than [dB]", "0.5", 0.5, ge=0.05, le=40
    )
    temp_low_c: float = key("warn when the module is colder than [°C]", "0.0", 0.0, ge=-60, le=60)
    temp_warn_c: float = key("warn when it is hotter than [°C]", "70.0", 70.0, ge=0, le=150)
    temp_urgent_c: float = key("urgent above [°C]", "80.0", 80.0, ge=0, le=150)
