"""switches"""

from flask import Blueprint

__all__ = ["page"]
page = Blueprint("switches", __name__)


@page.get("/switches")
def index() -> str:
    return ""
