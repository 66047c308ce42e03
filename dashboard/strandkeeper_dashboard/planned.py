"""The planned loss shared out along the way that the light goes. Pure."""

from __future__ import annotations

from typing import Final

from strandkeeper.model.link import Link
from strandkeeper.optics.units import Db
from strandkeeper_dashboard.level_diagram import PlannedParts

__all__ = ["planned_parts"]

# A drawing's proportion only; the sum is the planned loss that the record holds.
_MATING_WEIGHT: Final = 0.3
_SPLICE_WEIGHT: Final = 0.1
_KILOMETRE_WEIGHT: Final = 0.4


def planned_parts(link: Link, planned: Db | None) -> PlannedParts | None:
    """Split `planned` into plugs at the sender, fibre with splices, plugs at the receiver.

    None without a planned loss. Plugs stand in pairs, half at each end, the odd one at the
    receiver. The proportions are common practice, no source; the drawing's sum is exact.
    """
    if planned is None:
        return None
    plugs = _MATING_WEIGHT * link.matings
    fibre = _KILOMETRE_WEIGHT * (link.length_m or 0.0) / 1000 + _SPLICE_WEIGHT * link.splices
    whole = plugs + fibre
    if whole == 0:
        return PlannedParts(sender_connectors=Db(0), fibre=planned, receiver_connectors=Db(0))
    sender = planned * (_MATING_WEIGHT * (link.matings // 2) / whole)
    middle = planned * (fibre / whole)
    return PlannedParts(
        sender_connectors=sender, fibre=middle, receiver_connectors=planned - sender - middle
    )
