"""How one table and one key of the file are declared."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field

__all__ = ["Table", "key"]


class Table(BaseModel):
    """One table of the file: unknown keys refused, no silent conversion of types."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, allow_inf_nan=False)


def key(description: str, example: str, default: Any = ..., **limits: Any) -> Any:
    """A key with its description, the value to write as TOML, its default and its range."""
    return Field(default, description=description, examples=[example], **limits)
