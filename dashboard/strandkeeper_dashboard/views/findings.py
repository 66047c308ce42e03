"""findings"""

from flask import Blueprint

__all__ = ["page"]
page = Blueprint("findings", __name__)


@page.get("/findings")
def index() -> str:
    return ""
