"""One link."""

from flask import Blueprint

__all__ = ["page"]
page = Blueprint("link", __name__)


@page.get("/links/<slug>")
def index(slug: str) -> str:
    return ""
