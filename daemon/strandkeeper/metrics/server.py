"""The scrape address: /metrics and /healthz in threads of their own.

They share one interpreter with the polls, so whoever asks as fast as it is answered must not slow
those: figures are put together once a second at most, and answers given twenty times a second.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, make_server

from prometheus_client import CollectorRegistry, make_wsgi_app
from prometheus_client.exposition import ThreadingWSGIServer

from strandkeeper.errors import OperatorError
from strandkeeper.metrics.families import Families, Snapshot
from strandkeeper.model.settings import Address

__all__ = ["MetricsServer"]

log = logging.getLogger(__name__)

_StartResponse = Callable[[str, list[tuple[str, str]]], Any]

FRESH_S = 1.0
APART_S = 0.05
_MOST_KINDS = 16  # of answers kept: what readers want differs in format and compression
_WANTED = ("REQUEST_METHOD", "QUERY_STRING", "HTTP_ACCEPT", "HTTP_ACCEPT_ENCODING")


@dataclass(frozen=True, slots=True)
class _Answer:
    status: str
    headers: list[tuple[str, str]]
    body: list[bytes]


class _Quiet(WSGIRequestHandler):
    def log_message(self, format: str, *args: object) -> None:
        log.debug(format, *args)


class MetricsServer:
    """Serves `snapshot()` as Prometheus text; `healthy()` decides /healthz (200 or 503)."""

    def __init__(
        self,
        address: Address,
        snapshot: Callable[[], Snapshot],
        healthy: Callable[[], bool],
        *,
        fresh_s: float = FRESH_S,
        apart_s: float = APART_S,
    ) -> None:
        """Bind at once, so that a taken port is said before anything else starts.

        Figures are at most `fresh_s` old; between two answers are `apart_s` at least.
        """
        registry = CollectorRegistry(auto_describe=False)
        registry.register(Families(snapshot))
        self._metrics = make_wsgi_app(registry)
        self._healthy = healthy
        self._fresh_s, self._apart_s = fresh_s, apart_s
        self._lock = threading.Lock()
        self._answers: dict[tuple[str | None, ...], _Answer] = {}
        self._made_s = self._answered_s = float("-inf")
        try:
            self._server = make_server(
                address.host, address.port, self._app, ThreadingWSGIServer, _Quiet
            )
        except OSError as error:
            raise OperatorError(
                f"metrics: cannot listen on {address.host} port {address.port}: {error.strerror}",
                hint="choose another [metrics] port in the configuration, or stop what uses it",
            ) from error
        self.port = self._server.server_port
        self._thread = threading.Thread(
            target=self._server.serve_forever, name="metrics", daemon=True
        )

    def start(self) -> None:
        """Answer scrapes from now on."""
        self._thread.start()

    def stop(self) -> None:
        """Close the address."""
        self._server.shutdown()
        self._server.server_close()
        self._thread.join(timeout=5)

    def _app(self, environ: dict[str, Any], start_response: _StartResponse) -> Iterable[bytes]:
        with self._lock:
            time.sleep(max(0.0, self._answered_s + self._apart_s - time.monotonic()))
            self._answered_s = time.monotonic()
            return self._answer(environ, start_response)

    def _answer(self, environ: dict[str, Any], start_response: _StartResponse) -> Iterable[bytes]:
        path = environ.get("PATH_INFO", "/")
        if path == "/metrics":
            answer = self._figures(environ)
            start_response(answer.status, answer.headers)
            return answer.body
        if path == "/healthz":
            good = self._healthy()
            status = "200 OK" if good else "503 Service Unavailable"
            start_response(status, [("Content-Type", "text/plain; charset=utf-8")])
            return [b"ok\n" if good else b"no poll was completed lately\n"]
        start_response("404 Not Found", [("Content-Type", "text/plain; charset=utf-8")])
        return [b"there are /metrics and /healthz\n"]

    def _figures(self, environ: dict[str, Any]) -> _Answer:
        """The answer of this second to what is wanted; made now if it is the first of its kind."""
        if time.monotonic() - self._made_s >= self._fresh_s or len(self._answers) >= _MOST_KINDS:
            self._answers.clear()
            self._made_s = time.monotonic()
        wanted = tuple(environ.get(name) for name in _WANTED)
        if wanted not in self._answers:
            began: list[tuple[str, list[tuple[str, str]]]] = []
            body = list(self._metrics(environ, lambda *head: began.append(head)))
            self._answers[wanted] = _Answer(*began[0], body)
        return self._answers[wanted]
