"""Where a toolbox stands, and which entry wins."""

from pathlib import Path

import pytest

from runner.toolbox.finding import TOOLBOX_NAME, find_toolbox, toolbox_files
from runner.toolbox.model import Toolbox


@pytest.fixture
def folders(tmp_path: Path) -> tuple[Path, Path]:
    for name in ("settings", "logs"):
        (tmp_path / name).mkdir()
    return tmp_path / "settings", tmp_path / "logs"


def put(folder: Path, *names: str, high: int = 130) -> Path:
    path = folder / TOOLBOX_NAME
    entries = "".join(f"  - {{kind: click, range: 20 to {high} N·m, name: {name}}}\n" for name in names)
    path.write_text("tools:\n" + entries, encoding="utf-8")
    return path


def test_there_may_be_none(folders):
    assert find_toolbox(*folders) == Toolbox()
    assert find_toolbox(*folders).path is None


def test_the_one_beside_the_logs_comes_first_and_wins(folders):
    settings, logs = folders
    own, shop = put(settings, "mine", "Big  one"), put(logs, "small", "big one", high=200)
    box = find_toolbox(settings, logs)
    assert box.paths == (shop, own)
    assert [(each.name, each.high) for each in box.wrenches] == [
        ("small", "200"),
        ("big one", "200"),
        ("mine", "130"),
    ]
    (finding,) = box.problems
    assert (finding.grade, finding.file, finding.line) == ("warning", str(own), 3)
    assert str(shop) in finding.message
    assert finding.excerpt[finding.column - 1 :].startswith("Big  one")
    assert box.errors == ()


def test_one_folder_for_both_is_read_once(folders):
    put(folders[1], "a")
    assert [each.name for each in find_toolbox(folders[1], folders[1]).wrenches] == ["a"]


def test_something_else_of_that_name_is_found_to_be_wrong_not_passed_over(folders):
    (folders[0] / TOOLBOX_NAME).mkdir()
    (folders[1] / TOOLBOX_NAME).symlink_to("nowhere")
    assert len(toolbox_files(*folders)) == 2
    said = [each.message for each in find_toolbox(*folders).errors]
    assert ["no such file" in said[0], "directory" in said[1]] == [True, True]


def test_a_tool_is_found_by_its_name_as_people_write_it(folders):
    put(folders[0], "Click wrench 130")
    box = find_toolbox(*folders)
    assert box.named("click  WRENCH 130") is box.wrenches[0]
    assert box.named("click wrench") is None
