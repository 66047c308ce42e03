"""How often a link went down, and whether its alerts are held back for that."""

from __future__ import annotations

from strandkeeper.alerts.calm import Calm
from strandkeeper.alerts.wording_figures import counted, duration, number

__all__ = ["calm_sentence"]


def calm_sentence(calm: Calm) -> str:
    """Both counts, then the penalty while there is any.

    >>> from strandkeeper.alerts.flap_penalty import Penalty
    >>> calm_sentence(Calm(penalty=Penalty(), released_in_s=0.0, downs_24h=0, downs_14d=1))
    'Down 0 times in 24 hours, 1 time in 14 days.'
    """
    if not calm.downs_14d and not calm.penalty.held_back:
        return "Not down in 14 days."
    counts = f"Down {counted(calm.downs_24h, 'time')} in 24 hours, "
    counts += f"{counted(calm.downs_14d, 'time')} in 14 days."
    merit = calm.penalty.merit
    if merit < 0.05:  # it would be shown as 0.0
        return counts
    return f"{counts} Flap penalty {number(merit)}{_held_back(calm)}."


def _held_back(calm: Calm) -> str:
    if not calm.penalty.held_back:
        return ", alerts go out"
    if calm.released_in_s is None:
        return ", its alerts are held back until it is up"
    return f", its alerts are held back for {duration(calm.released_in_s)} of calm"
