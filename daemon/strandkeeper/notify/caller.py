"""The heartbeat child: one GET of an address out of stdin, which may be a secret."""

from __future__ import annotations

import json
import sys
import urllib.error
import urllib.request

from strandkeeper.notify.sealed import without_secrets

__all__ = ["main"]

_TIMEOUT_S = 30


def main() -> int:
    """Call it; JSON {ok, why} on stdout."""
    url = str(json.load(sys.stdin)["url"])
    why = ""
    if not url.startswith(("http://", "https://")):
        why = "the address does not begin with http:// or https://"
    else:
        try:
            with urllib.request.urlopen(url, timeout=_TIMEOUT_S) as answer:
                answer.read(1000)
        except (OSError, ValueError) as error:
            why = str(error)
    json.dump({"ok": not why, "why": without_secrets(why, url)}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
