"""The frame of everything printed: one HTML file, nothing fetched, made for A4 and Letter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

__all__ = ["listed", "page", "paragraphs", "section", "table"]

_STYLE = """
@page { margin: 12mm }
body { font: 10.5pt/1.4 "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif; color: #111;
  background: #fff; max-width: 180mm; margin: 6mm auto; padding: 0 4mm }
h1 { font-size: 17pt; margin: 0 0 1mm } h2 { font-size: 12.5pt; margin: 6mm 0 1.5mm;
  border-bottom: .3mm solid #444 }
section { break-inside: avoid } p { margin: 1mm 0 }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums }
th, td { border: .2mm solid #999; padding: .8mm 2mm; text-align: left; vertical-align: top }
th { background: #eee; -webkit-print-color-adjust: exact; print-color-adjust: exact }
svg { width: 100%; height: auto } svg text { font-size: 10px; fill: #111 }
.grid { stroke: #ccc; stroke-width: .6 } .limit { stroke: #111; stroke-dasharray: 2 3 }
.planned { fill: none; stroke: #777; stroke-width: 1.4; stroke-dasharray: 6 3 }
.reserve { fill: #e9e9e9 } .band { fill: #888; fill-opacity: .16 } svg .power { font-weight: 600 }
.reserve, .band { -webkit-print-color-adjust: exact; print-color-adjust: exact }
.line { fill: none; stroke: #111; stroke-width: 1.8 }
.caution { border-left: 1.2mm solid #111; padding-left: 2mm } .tag { font-weight: 600 }
ol li, ul li { margin: .8mm 0 }
.card { font-size: 9pt; line-height: 1.27 } .card h1 { font-size: 14pt; line-height: 1.15 }
.card h2 { margin: 2.2mm 0 .8mm; font-size: 10.5pt } .card + .card { break-before: page }
.card p { margin: .5mm 0 } .card ol { margin: 0; padding-left: 6mm } .card li { margin: .5mm 0 }
.card th, .card td { padding: .35mm 1.5mm } .card .columns { column-count: 2; column-gap: 6mm }
.card .columns p { break-inside: avoid }
@media print { body { margin: 0 auto; padding: 0; max-width: none } .card { break-inside: avoid } }
"""


def page(title: str, body: Iterable[str]) -> str:
    """The whole file."""
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(body)
        + "\n</body>\n</html>\n"
    )


def section(title: str, *parts: str) -> str:
    """A heading and what belongs to it; empty if nothing does."""
    inner = "\n".join(part for part in parts if part)
    return f"<section><h2>{escape(title)}</h2>\n{inner}</section>" if inner else ""


def paragraphs(sentences: Iterable[str], kind: str = "") -> str:
    """One paragraph a sentence."""
    mark = f' class="{kind}"' if kind else ""
    return "".join(f"<p{mark}>{escape(sentence)}</p>" for sentence in sentences if sentence)


def listed(items: Iterable[str], tag: str = "ul") -> str:
    """A list; empty without items."""
    inner = "".join(f"<li>{escape(item)}</li>" for item in items)
    return f"<{tag}>{inner}</{tag}>" if inner else ""


def table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table, the first cell of a row being its head; empty without rows."""
    body = "".join(
        f'<tr><th scope="row">{escape(row[0])}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in row[1:])
        + "</tr>"
        for row in rows
    )
    if not body:
        return ""
    head = "".join(f'<th scope="col">{escape(h)}</th>' for h in heads)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
