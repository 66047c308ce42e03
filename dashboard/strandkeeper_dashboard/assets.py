"""Scripts, styles and pictures: named by their content, so a browser may keep them for ever."""

from __future__ import annotations

import gzip
import hashlib
import mimetypes
import re
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from flask import Blueprint, Flask, Response, abort, current_app, request, url_for

__all__ = ["PLOT_SCRIPT", "Asset", "Assets", "install"]

PLOT_SCRIPT: Final = "plotly.js"
_FOR_EVER: Final = "public, max-age=31536000, immutable"
# if(!document.getElementById("<64 hexadecimal digits>")){ ... style element ... }
_STYLE_GUARD: Final = re.compile(r'if\(!document\.getElementById\("([0-9a-f]{64})"\)\)')
_SHRINKS: Final = (".css", ".js", ".svg")


@dataclass(frozen=True)
class Asset:
    """One file. Bytes and compressed bytes are made when first asked for, then kept."""

    name: str
    path: Path

    @cached_property
    def tag(self) -> str:
        """16 hexadecimal digits of the content's SHA-256."""
        return hashlib.sha256(self.path.read_bytes()).hexdigest()[:16]

    @cached_property
    def gzipped(self) -> bytes:
        """The content compressed, always the same bytes for the same content."""
        return gzip.compress(self.path.read_bytes(), 6, mtime=0)

    @property
    def mimetype(self) -> str:
        """The media type by the name's ending."""
        return mimetypes.guess_type(self.name)[0] or "application/octet-stream"


class Assets:
    """Everything under static/, and the plot script out of the installed plotly package."""

    def __init__(self) -> None:
        static = Path(str(files("strandkeeper_dashboard"))) / "static"
        found = {path.name: Asset(path.name, path) for path in sorted(static.iterdir())}
        found[PLOT_SCRIPT] = Asset(PLOT_SCRIPT, _plot_script())
        self._by_name = found

    def __getitem__(self, name: str) -> Asset:
        return self._by_name[name]

    def url(self, name: str) -> str:
        """Where the asset of that name is; changes when its content does. Raises KeyError."""
        return url_for("assets.asset", tag=self[name].tag, name=name)

    def plot_style_ids(self) -> list[str]:
        """Identifiers of the style elements that the plot script would add as it loads."""
        return self._plot_style_ids

    @cached_property
    def _plot_style_ids(self) -> list[str]:
        script = self[PLOT_SCRIPT].path.read_text("utf-8")
        return sorted(set(_STYLE_GUARD.findall(script)))

    def find(self, tag: str, name: str) -> Asset | None:
        """The asset of that name and content, None if there is none."""
        asset = self._by_name.get(name)
        return asset if asset is not None and asset.tag == tag else None


def _plot_script() -> Path:
    # find_spec locates the package without running it: importing plotly costs time and memory.
    spec = find_spec("plotly")
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError("the plotly package is not installed; install strandkeeper again")
    return Path(spec.submodule_search_locations[0]) / "package_data" / "plotly.min.js"


def install(app: Flask) -> Assets:
    """Serve the assets of `app` and offer `asset_url` to its templates."""
    assets = Assets()
    page = Blueprint("assets", __name__)

    @page.get("/assets/<tag>/<name>")
    def asset(tag: str, name: str) -> Response:
        found = assets.find(tag, name)
        if found is None:
            abort(404)
        return _response(found)

    app.register_blueprint(page)
    app.jinja_env.globals.update(asset_url=assets.url, plot_style_ids=assets.plot_style_ids)
    return assets


def _response(asset: Asset) -> Response:
    if asset.name.endswith(_SHRINKS) and request.accept_encodings["gzip"] > 0:
        response = current_app.response_class(asset.gzipped, mimetype=asset.mimetype)
        response.headers["Content-Encoding"] = "gzip"
    else:
        response = current_app.response_class(asset.path.read_bytes(), mimetype=asset.mimetype)
    response.headers["Vary"] = "Accept-Encoding"
    response.headers["Cache-Control"] = _FOR_EVER
    return response
