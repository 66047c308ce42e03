"""The web server around the application: one process, four threads."""

from __future__ import annotations

import errno
import signal
import socket
import sys
from types import FrameType

from flask import Flask
from waitress import create_server

from strandkeeper.config.listening import is_loopback
from strandkeeper.errors import OperatorError
from strandkeeper.model.settings import Address

__all__ = ["SERVER", "AddressError", "listen", "serve"]

# Answers wait for a slow reader in memory: the plot script is past the server's own limit of 1 MiB,
# beyond which it would write each one to a temporary file, and leave that open if the reader goes.
SERVER = {"threads": 4, "outbuf_overflow": 8 << 20}


class AddressError(OperatorError):
    """The address cannot be listened on."""


def serve(app: Flask, address: Address, *, anyone_may_log_in: bool) -> None:
    """Serve `app` until SIGTERM or SIGINT; prints where to stderr.

    Raises AddressError for a taken port, an address that is not this machine's, or one beyond
    loopback while there is nobody who may log in.
    """
    if not anyone_may_log_in and not is_loopback(address.host):
        raise AddressError(
            f"will not serve on {address.host}: nobody may log in yet",
            hint="add a user: strandkeeper user add CONFIG NAME",
        )
    listening = listen(address)
    server = create_server(
        app, sockets=[listening], ident=None, clear_untrusted_proxy_headers=False, **SERVER
    )
    signal.signal(signal.SIGTERM, _stop)
    port = listening.getsockname()[1]
    print(f"dashboard: http://{_shown(address.host)}:{port}/", file=sys.stderr, flush=True)
    try:
        server.run()
    finally:
        server.close()


def listen(address: Address) -> socket.socket:
    """A bound socket. Raises AddressError with what to do."""
    try:
        family, kind, protocol, _, where = socket.getaddrinfo(
            address.host, address.port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listening = socket.socket(family, kind, protocol)
    except OSError as error:
        raise _refused(address, error) from error
    try:
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(where)
        listening.listen(128)
    except OSError as error:
        listening.close()
        raise _refused(address, error) from error
    return listening


def _refused(address: Address, error: OSError) -> AddressError:
    where = f"{_shown(address.host)}:{address.port}"
    if error.errno == errno.EADDRINUSE:
        return AddressError(
            f"cannot serve on {where}: another program listens there",
            hint="stop it, or choose another port: [dashboard] port, or --port",
        )
    if error.errno == errno.EACCES:
        return AddressError(
            f"cannot serve on {where}: that port is kept for the system",
            hint="choose a port from 1024 up: [dashboard] port, or --port",
        )
    return AddressError(
        f"cannot serve on {where}: {error.strerror or error}",
        hint="give an address of this machine: [dashboard] host, or --host",
    )


def _shown(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _stop(_signal: int, _frame: FrameType | None) -> None:
    raise SystemExit(0)
