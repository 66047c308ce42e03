"""Every error that Strandkeeper raises on purpose.

    StrandkeeperError                 message and hint: what, where, what to do
    ├── OperatorError                 a person can mend it: exit code 1
    │   ├── ConfigError               the configuration file (carries every problem found)
    │   ├── SecretError               a credential that cannot be read
    │   ├── StoreError                the record file
    │   │   ├── StoreTooNewError      written by a later release
    │   │   └── StoreDamagedError     the integrity check failed
    │   └── InputError                a file, page or figure that a person gave
    │       └── DecodeError           bytes that are not what they should be
    └── DeviceError                   a switch did not do as it should; never ends the daemon
        ├── NoAnswerError             nothing came within the deadline
        ├── RefusedError              it answered, and refused (credentials, view)
        └── MalformedAnswerError      it answered nonsense

Anything else that escapes is our own bug: exit code 3.
"""

from __future__ import annotations

from enum import IntEnum

__all__ = [
    "ConfigError",
    "DecodeError",
    "DeviceError",
    "ExitCode",
    "InputError",
    "MalformedAnswerError",
    "NoAnswerError",
    "OperatorError",
    "RefusedError",
    "SecretError",
    "StoreDamagedError",
    "StoreError",
    "StoreTooNewError",
    "StrandkeeperError",
]


class ExitCode(IntEnum):
    """What the process tells whoever started it."""

    DONE = 0
    OPERATOR = 1
    USAGE = 2
    BUG = 3
    INTERRUPTED = 130


class StrandkeeperError(Exception):
    """What went wrong and where; `hint` says what to do about it."""

    def __init__(self, message: str, *, hint: str = "") -> None:
        super().__init__(message)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message}\n  {self.hint}" if self.hint else self.message


class OperatorError(StrandkeeperError):
    """A person can mend it."""


class ConfigError(OperatorError):
    """The configuration is wrong; `problems` holds one full sentence each."""

    def __init__(self, message: str, *, problems: tuple[str, ...] = (), hint: str = "") -> None:
        super().__init__(message, hint=hint)
        self.problems = problems

    def __str__(self) -> str:
        return "\n".join(
            [self.message, *(f"  - {p}" for p in self.problems), *filter(None, [self.hint])]
        )


class SecretError(OperatorError):
    """A credential that cannot be read; never holds the secret itself."""


class StoreError(OperatorError):
    """The record file cannot be used."""


class StoreTooNewError(StoreError):
    """The record file was written by a later release."""


class StoreDamagedError(StoreError):
    """The record file failed its integrity check."""


class InputError(OperatorError):
    """A file, page or figure that a person gave cannot be used."""


class DecodeError(InputError):
    """Bytes or text that are not what they should be; `offset` is where, if known."""

    def __init__(self, message: str, *, offset: int | None = None, hint: str = "") -> None:
        super().__init__(message, hint=hint)
        self.offset = offset


class DeviceError(StrandkeeperError):
    """A switch did not do as it should."""


class NoAnswerError(DeviceError):
    """Nothing came within the deadline."""


class RefusedError(DeviceError):
    """The switch answered and refused."""


class MalformedAnswerError(DeviceError):
    """The switch answered what cannot be an answer."""
