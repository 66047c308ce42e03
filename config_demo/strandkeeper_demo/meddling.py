"""What a hand does to the plant outside the story: for tests, and for trying things."""

from __future__ import annotations

from dataclasses import dataclass, field

from strandkeeper.model.names import Direction, LinkName, PortName, SwitchName
from strandkeeper.optics.units import Db

__all__ = ["Meddling"]


@dataclass(slots=True, kw_only=True)
class Meddling:
    """Modules pulled, plugs pulled, loss added by hand. Times are UTC epoch seconds."""

    pulled: set[tuple[SwitchName, PortName]] = field(default_factory=set)
    unplugged: set[LinkName] = field(default_factory=set)
    added: dict[tuple[LinkName, Direction], Db] = field(default_factory=dict)
    modules_touched: dict[tuple[SwitchName, PortName], float] = field(default_factory=dict)
    plugs_touched: dict[LinkName, float] = field(default_factory=dict)

    def pull_module(self, switch: SwitchName, port: PortName, *, time_s: float) -> None:
        """Take a module out of its port."""
        self.pulled.add((switch, port))
        self.modules_touched[switch, port] = time_s

    def put_module_back(self, switch: SwitchName, port: PortName, *, time_s: float) -> None:
        """Put the same module back."""
        self.pulled.discard((switch, port))
        self.modules_touched[switch, port] = time_s

    def unplug(self, link: LinkName, *, time_s: float) -> None:
        """Pull the plug of a link: no light either way."""
        self.unplugged.add(link)
        self.plugs_touched[link] = time_s

    def plug(self, link: LinkName, *, time_s: float) -> None:
        """Put the plug back."""
        self.unplugged.discard(link)
        self.plugs_touched[link] = time_s

    def add_loss(self, link: LinkName, direction: Direction, loss: Db) -> None:
        """Lose that much more light in one direction; `Db(0.0)` undoes it."""
        self.added[link, direction] = loss
