"""The owner's command run for readings: a deadline, a limit to what it writes, failure in words."""

from __future__ import annotations

from collections.abc import Collection

from strandkeeper.errors import DecodeError
from strandkeeper.model.names import PortName
from strandkeeper.model.switch import SwitchTarget
from strandkeeper.notify.process import run_to_deadline
from strandkeeper.readers.base import Sample
from strandkeeper.readers.command_json import MOST_CHARACTERS, CommandAnswer, decode_command

__all__ = ["COMMAND", "CommandSource"]

COMMAND = "command"  # the name of this reader on the screen
MOST_BYTES = MOST_CHARACTERS  # of stdout, and as many of stderr
_SHOWN = 200


class CommandSource:
    """The command of one switch. `remark` says what is wrong with its last answer, if anything."""

    def __init__(self, target: SwitchTarget) -> None:
        self._command = target.command
        self._deadline_s = target.command_deadline_s
        self._marks: dict[str, str] = {}
        self.remark = ""
        self.ports: frozenset[PortName] = frozenset()

    async def samples(self, wanted: Collection[PortName]) -> dict[PortName, Sample]:
        """The samples of wanted ports; empty, with a remark, if the command failed.

        A port whose mark is still that of its last reading has a sample that says nothing new.
        """
        try:
            answer = decode_command(await self._output())
        except DecodeError as error:
            hint = f"; {error.hint}" if error.hint else ""
            self.remark = f"light not read: {self._command[0]}: {error.message}{hint}"
            return {}
        found: dict[PortName, Sample] = {}
        for name in wanted:
            port = answer.ports.get(name)
            if port is not None:
                renewed = not port.at or port.at != self._marks.get(name)
                self._marks[name] = port.at
                found[name] = port.sample if renewed else Sample(reading=None)
        self.ports = frozenset(found)
        self.remark = self._what_is_wrong(answer, found)
        return found

    async def _output(self) -> str:
        """What it wrote. Raises DecodeError if it did not end well."""
        try:
            done = await run_to_deadline(self._command, "", self._deadline_s, most_bytes=MOST_BYTES)
        except OSError as error:
            raise DecodeError(f"cannot be started: {error.strerror}") from None
        if done.too_much:
            raise DecodeError(
                f"wrote more than {MOST_BYTES // 1024} KiB and was ended",
                hint="write one JSON object to stdout and nothing else",
            )
        if done.code is None:
            raise DecodeError(f"was not done after {self._deadline_s:g} s and was ended")
        if done.code:
            raise DecodeError(f"ended with {done.code}: {(done.err or done.out)[-_SHOWN:]}")
        return done.out

    def _what_is_wrong(self, answer: CommandAnswer, found: Collection[PortName]) -> str:
        if answer.problems:
            return f"{self._command[0]}: {answer.problems[0]}"
        if not found:
            named = ", ".join(list(answer.ports)[:10]) or "none"
            return f"{self._command[0]} names no port of a link here; it names: {named}"
        return ""
