"""A picture of the screen as SVG, made by the app itself, for documents."""

import re

from runner.bench.app import BenchApp
from runner.bench.engine import BenchRun
from runner.bench.theme import Look

_LINKS = re.compile(r"@font-face \{[^}]*\}\s*|<!-- .*? -->\s*")
_FONTS = "ui-monospace, 'DejaVu Sans Mono', Menlo, Consolas, monospace"


async def svg_of(
    run: BenchRun, width: int, height: int, look: Look | None = None, keys: tuple[str, ...] = ()
) -> str:
    """The bench on `run` at a size, after some keys, as one SVG file that links to nothing and asks for no font."""
    app = BenchApp(run, look or Look())
    try:
        async with app.run_test(size=(width, height)) as pilot:
            await pilot.pause()
            await pilot.press(*keys)
            await pilot.pause()
            return without_links(app.export_screenshot(title="Witnessmark"))
    finally:
        app.recorder.close()


def without_links(svg: str) -> str:
    """The SVG without the web fonts that the toolkit links to, set in whatever monospaced font the reader has.

    Its unique numbers, drawn from the content, stay: the same screen gives the same bytes.
    """
    plain = _LINKS.sub("", svg).replace('font-family: "Fira Code", monospace', f"font-family: {_FONTS}")
    return re.sub(r"font-family: Fira Code[^;]*;", f"font-family: {_FONTS};", plain)
