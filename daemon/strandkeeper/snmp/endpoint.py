"""One switch as the client knows it: where it is, how it is opened, what was learned of it."""

from __future__ import annotations

from dataclasses import dataclass, field

from strandkeeper.errors import NoAnswerError, RefusedError
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.snmp.credentials import Community, Credential, Usm
from strandkeeper.snmp.engine import Opening
from strandkeeper.snmp.flood import MOST_A_SECOND
from strandkeeper.snmp.gate import Peer
from strandkeeper.snmp.sizes import RequestSize
from strandkeeper.snmp.usm_words import refusal

__all__ = ["Endpoint", "no_answer", "refused"]


@dataclass(slots=True)
class Endpoint:
    """`silent` counts requests without an answer in a row."""

    target: SwitchTarget
    held: Credential
    opening: Opening
    family: int = 0
    peer: Peer | None = None
    size: RequestSize = field(default_factory=RequestSize)
    silent: int = 0

    @property
    def name(self) -> str:
        """The switch in a sentence."""
        return f'switch "{self.target.name}" ({self.target.host} port {self.target.port})'

    def meet_anew(self) -> None:
        """Forget what the library learned of this agent's SNMPv3 engine."""
        if self.peer is not None:
            self.peer, before = Peer(tuple(self.peer)), self.peer
            self.peer.stranger, self.peer.flooded = before.stranger, before.flooded

    def answered(self) -> None:
        """It answered: what was held against it is forgotten."""
        self.silent = 0
        if self.peer is not None:
            self.peer.stranger, self.peer.flooded = None, False


def no_answer(endpoint: Endpoint, reported: str | None) -> NoAnswerError:
    """Silence in words; `reported` is the SNMPv3 report that came before it, if any."""
    target = endpoint.target
    message = f"{endpoint.name} did not answer within {target.timeout_s:g} s"
    stranger = None if endpoint.peer is None else endpoint.peer.stranger
    if stranger is not None:
        return NoAnswerError(
            f"{message}; an answer came from {stranger} instead and was not taken",
            hint=f"if that is the same switch, give its address {stranger.split()[0]} as host",
        )
    if endpoint.peer is not None and endpoint.peer.flooded:
        return NoAnswerError(
            f"{message}, but sent more than {MOST_A_SECOND} datagrams in a second that nobody had "
            "asked for",
            hint="its SNMP service is broken, or somebody sends in its name: restart the service, "
            "then look at what comes from its address",
        )
    if reported is not None and isinstance(endpoint.held, Usm):
        return NoAnswerError(
            f"{endpoint.name} answers SNMPv3 but was silent to the request of user "
            f'"{endpoint.held.user}" ({endpoint.held.level})',
            hint="check the priv key and the priv protocol: "
            "many switches answer nothing to a wrong one",
        )
    if isinstance(endpoint.held, Community):
        hint = (
            "check its power and the way to it, the host and port, that SNMP "
            f"v{endpoint.held.version} is on, and the community: "
            "a wrong one is answered with silence"
        )
    else:
        hint = "check its power and the way to it, the host and port, and that SNMPv3 is on"
    return NoAnswerError(message, hint=hint)


def refused(endpoint: Endpoint, indication: str) -> RefusedError:
    """A refusal in words."""
    reason, hint = refusal(indication)
    user = f' "{endpoint.held.user}"' if isinstance(endpoint.held, Usm) else ""
    return RefusedError(f"{endpoint.name} {reason}{user and f' (user{user})'}", hint=hint)
