"""about"""

from flask import Blueprint

__all__ = ["page"]
page = Blueprint("about", __name__)


@page.get("/about")
def index() -> str:
    return ""
