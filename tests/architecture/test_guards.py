"""A guard that never bites guards nothing."""

from __future__ import annotations

import logging
import os
import socket

import pytest


def test_a_connection_beyond_this_machine_is_refused() -> None:
    with (
        socket.socket() as s,
        pytest.raises(AssertionError, match=r"tried to connect to 192\.0\.2\.1"),
    ):
        s.connect(("192.0.2.1", 9))


def test_the_home_directory_is_nobodys() -> None:
    assert os.path.expanduser("~").endswith("home-of-nobody")


def test_a_log_call_that_does_not_format_is_noticed(request: pytest.FixtureRequest) -> None:
    handlers = [h for h in logging.getLogger().handlers if hasattr(h, "broken")]
    assert len(handlers) == 1
    handlers[0].emit(logging.LogRecord("x", logging.INFO, "f", 1, "%d ports", ("many",), None))
    assert len(handlers[0].broken) == 1
    handlers[0].broken.clear()
