"""The start screen: three lists, keys alone, and nothing decided."""

from pathlib import Path

import pytest
from rich.cells import cell_len

from runner.bench.beginning import Choice, StartApp, lines_of, start_rows
from runner.bench.rows import text_of, texts
from runner.bench.theme import ASCII, UNICODE, Look
from runner.start import FoundProcedure, FoundRun, Start


def run(name: str, *, sealed: bool = False, rehearsal: bool = False) -> FoundRun:
    return FoundRun(
        path=Path(f"/logs/{name}.jsonl"),
        title=f"Wheel change {name}",
        procedure="wheel-change",
        revision="2",
        last="2026-11-25 09:04",
        rehearsal=rehearsal,
        sealed=sealed,
    )


def procedure(name: str, title: str = "") -> FoundProcedure:
    return FoundProcedure(Path(f"/shop/{name}.yaml"), name, title, "3", shipped=True)


START = Start(
    (procedure("lower-arm", "Front lower arm"), procedure("wheel-change")),
    (run("a"),),
    (run("z", sealed=True),),
)


def test_the_lists_stand_under_their_headings_with_what_is_unfinished_first() -> None:
    lines = "\n".join(texts(start_rows(lines_of(START), 1, 80, 24, UNICODE)))
    order = [
        "Unfinished runs",
        "Wheel change a",
        "Procedures",
        "Front lower arm",
        "wheel-change",
        "Finished logs",
        "Wheel change z",
    ]
    places = [lines.index(words) for words in order]
    assert places == sorted(places)
    assert "▶  2  Front lower arm" in lines
    assert "/shop/lower-arm.yaml" in lines
    assert "R rehearse it" in lines


def test_nothing_found_is_said() -> None:
    lines = "\n".join(texts(start_rows(lines_of(Start((), (), ())), 0, 80, 24, UNICODE)))
    assert "Procedures, to carry out: none" in lines
    assert "Nothing to begin with was found." in lines


@pytest.mark.parametrize("size", [(80, 24), (40, 10), (160, 50)])
@pytest.mark.parametrize("signs", [UNICODE, ASCII])
def test_many_and_hostile_names_fill_any_size_exactly(size: tuple[int, int], signs: object) -> None:
    many = tuple(procedure(f"p{n}", "[/]\x1b[2J\u202e漢字" * 9) for n in range(90))
    lines = lines_of(Start(many, (), ()))
    for picked in (0, 45, 89):
        rows = start_rows(lines, picked, *size, signs)  # type: ignore[arg-type]
        assert len(rows) == size[1]
        assert {cell_len(text_of(each)) for each in rows} == {size[0]}
        assert any(f"{picked + 1}  " in text_of(each) for each in rows), "the picked line is in sight"


@pytest.mark.parametrize(
    ("keys", "wanted"),
    [
        (("enter",), Choice("resume", Path("/logs/a.jsonl"))),
        (("down", "enter"), Choice("run", Path("/shop/lower-arm.yaml"))),
        (("3", "r"), Choice("rehearse", Path("/shop/wheel-change.yaml"))),
        (("end", "enter"), Choice("review", Path("/logs/z.jsonl"))),
        (("r", "escape"), None),
        (("q",), None),
    ],
)
async def test_keys_pick(keys: tuple[str, ...], wanted: Choice | None) -> None:
    app = StartApp(START, Look())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press(*keys)
        await pilot.pause()
    assert app.beginning == wanted
