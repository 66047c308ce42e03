"""Numbers as every screen shows them: a true minus sign, no minus before nothing."""

from __future__ import annotations

__all__ = ["figure"]


def figure(value: float, digits: int = 1) -> str:
    """The value with so many decimals."""
    text = f"{round(value, digits) + 0.0:.{digits}f}"
    return text.replace("-", "−")
