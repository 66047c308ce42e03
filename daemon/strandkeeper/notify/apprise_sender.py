"""The delivery child: one message to one service address, both on stdin; the only use of apprise.

stdin is JSON {url, title, body}, stdout JSON {ok, why}. It is a process of its own because the
library is large, may hang, and may not take the daemon with it when it fails. It ends with the
daemon: a message is then tried again after the next start.
"""

from __future__ import annotations

import ctypes
import json
import logging
import signal
import sys

from strandkeeper.notify.sealed import without_secrets

__all__ = ["main"]

_PR_SET_PDEATHSIG = 1  # prctl(2)


class _Said(logging.Handler):
    """Keeps what the library says of a failure."""

    def __init__(self) -> None:
        super().__init__(level=logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(record.getMessage())


def _send(url: str, title: str, body: str) -> tuple[bool, str]:
    import apprise  # here and nowhere else, in the child alone

    said = _Said()
    for name in ("apprise", ""):
        logging.getLogger(name).addHandler(said)
    asset = apprise.AppriseAsset(
        app_id="Strandkeeper",
        app_desc="Strandkeeper",
        app_url="",
        async_mode=False,
        image_url_mask=None,
        image_url_logo=None,
    )
    service = apprise.Apprise(asset=asset)
    if not service.add(_also_as_html(url)):
        return False, "the address is not one that the notification library knows"
    ok = service.notify(title=title, body=body, body_format=apprise.NotifyFormat.TEXT)
    return bool(ok), "; ".join(dict.fromkeys(said.lines))


def _also_as_html(url: str) -> str:
    """A mail holds the plain text first and the same as HTML, unless the address says otherwise.

    Every other service gets what its address says, which is plain text without a word.
    """
    scheme, _, rest = url.partition("://")
    if scheme.lower() not in ("mailto", "mailtos") or "format=" in rest.lower():
        return url
    return f"{url}{'&' if '?' in rest else '?'}format=html"


def main() -> int:
    """Deliver; the exit code is 0 also for a failure that could be told on stdout."""
    ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL)
    job = json.load(sys.stdin)
    try:
        ok, why = _send(job["url"], job["title"], job["body"])
    except Exception as error:  # noqa: BLE001  whatever the library raises is a failed delivery
        ok, why = False, f"{type(error).__name__}: {error}"
    json.dump({"ok": ok, "why": "" if ok else without_secrets(why, job["url"])}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
