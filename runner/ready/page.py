"""The ready sheet as one HTML file for paper: no script, nothing fetched, black on white, boxes to tick with a pen.

Any browser prints it to PDF. The page names no paper size, so that A4 and Letter both take it; a line and what belongs
under it stay together where they fit on one page.
"""

from collections.abc import Iterable, Iterator
from html import escape

from runner.ready.facts import Sheet
from runner.ready.wording import CAUTIONS, Line, heading, sections, warnings
from runner.safe_text import safe

_STYLE = """\
@page { margin: 14mm }
* { box-sizing: border-box }
html { color: #000; background: #fff }
body { font: 11pt/1.35 sans-serif; max-width: 186mm; margin: 0 auto; padding: 4mm; overflow-wrap: anywhere }
h1 { font-size: 16pt; margin: 0 0 1mm }
h2 { font-size: 12.5pt; margin: 5mm 0 1mm; border-bottom: 0.4mm solid #000; break-after: avoid }
p { margin: 0.6mm 0 }
ul { list-style: none; margin: 0; padding: 0 }
ul ul { padding-left: 6mm; font-size: 10pt }
li { margin: 0.8mm 0; break-inside: avoid }
.warning { border: 0.6mm solid #000; padding: 1.5mm; font-weight: bold; margin: 2mm 0 }
.cautions { border: 0.3mm solid #000; padding: 1.5mm; margin: 2mm 0 }
.strong > p { font-weight: bold }
.tick > p { padding-left: 6mm; text-indent: -6mm }
.box { display: inline-block; width: 3.6mm; height: 3.6mm; border: 0.35mm solid #000; margin-right: 2.4mm;
  vertical-align: -0.4mm }
.by { margin-top: 6mm; break-inside: avoid }
.by span { display: inline-block; width: 55mm; border-bottom: 0.3mm solid #000; margin: 0 4mm 0 1mm }
@media print { body { padding: 0; max-width: none } }
"""


def page(sheet: Sheet) -> str:
    """The sheet as one HTML document, everything of the procedure and the toolbox escaped."""
    return "\n".join(_page(sheet)) + "\n"


def _page(sheet: Sheet) -> Iterator[str]:
    first, *rest = heading(sheet)
    yield "<!DOCTYPE html>"
    yield '<html lang="en">'
    yield "<head>"
    yield '<meta charset="utf-8">'
    yield "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
    yield '<meta name="viewport" content="width=device-width">'
    yield f"<title>{_text(first)}</title>"
    yield f"<style>\n{_STYLE}</style>"
    yield "</head>"
    yield "<body>"
    yield f"<h1>{_text(first)}</h1>"
    for each in rest:
        yield f"<p>{_text(each)}</p>"
    for each in warnings(sheet):
        yield f'<p class="warning">{_text(each)}</p>'
    yield f'<div class="cautions">{"".join(f"<p>{_text(each)}</p>" for each in CAUTIONS)}</div>'
    for section in sections(sheet):
        yield f"<h2>{_text(section.title)}</h2>"
        yield from _list(section.lines)
    yield '<p class="by">Laid out by <span></span> on <span></span></p>'
    yield "</body>"
    yield "</html>"


def _list(lines: Iterable[Line]) -> Iterator[str]:
    yield "<ul>"
    for line in lines:
        kinds = [kind for kind, so in (("tick", line.tick), ("strong", line.strong)) if so]
        named = f' class="{" ".join(kinds)}"' if kinds else ""
        box = '<span class="box"></span>' if line.tick else ""
        yield f"<li{named}><p>{box}{_text(line.text)}</p>"
        if line.under:
            yield from _list(line.under)
        yield "</li>"
    yield "</ul>"


def _text(text: str) -> str:
    return escape(safe(text))
