"""The scrape address: /metrics and /healthz in a thread of its own."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterable
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


class _Quiet(WSGIRequestHandler):
    def log_message(self, format: str, *args: object) -> None:
        log.debug(format, *args)


class MetricsServer:
    """Serves `snapshot()` as Prometheus text; `healthy()` decides /healthz (200 or 503)."""

    def __init__(
        self, address: Address, snapshot: Callable[[], Snapshot], healthy: Callable[[], bool]
    ) -> None:
        """Bind at once, so that a taken port is said before anything else starts."""
        registry = CollectorRegistry(auto_describe=False)
        registry.register(Families(snapshot))
        self._metrics = make_wsgi_app(registry)
        self._healthy = healthy
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
        path = environ.get("PATH_INFO", "/")
        if path == "/metrics":
            answer: Iterable[bytes] = self._metrics(environ, start_response)
            return answer
        if path == "/healthz":
            good = self._healthy()
            status = "200 OK" if good else "503 Service Unavailable"
            start_response(status, [("Content-Type", "text/plain; charset=utf-8")])
            return [b"ok\n" if good else b"no poll was completed lately\n"]
        start_response("404 Not Found", [("Content-Type", "text/plain; charset=utf-8")])
        return [b"there are /metrics and /healthz\n"]
