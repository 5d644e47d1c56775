"""Settings: from a file, the environment and the command line. Each wrong one is a message with its place."""

import os
from pathlib import Path

import pytest

from runner.places import Places
from runner.settings import Settings, SettingsError, load_settings
from tests.hostile.strings import MARKS, MARKUP, REFUSED, TERMINAL, WORKS, raw_controls


@pytest.fixture
def places(tmp_path: Path) -> Places:
    (tmp_path / "settings").mkdir()
    return Places(tmp_path / "settings", tmp_path / "data", tmp_path / "cache")


def loaded(places: Places, text: str | bytes, **around: str) -> Settings | tuple[str, ...]:
    """The settings, or what is wrong with them."""
    data = text if isinstance(text, bytes) else text.encode("utf-8", "surrogatepass")
    places.settings_file.write_bytes(data)
    try:
        return load_settings({}, around, places, places.data)
    except SettingsError as error:
        problems = error.problems
    assert not any(map(raw_controls, problems))
    return problems


BOMBS = {
    "lists": ("a = " + "[" * 8000, "nested too deeply"),
    "lists that close": ("a = " + "[" * 4000 + "]" * 4000, "nested too deeply"),
    "tables": ("a = " + "{a=" * 2600, "nested too deeply"),
    "dotted": (".".join("a" * 4000) + " = 1", "no such setting: a"),
    "dotted table": ("[" + ".".join("a" * 4000) + "]", "no such setting: a"),
    "dotted value": ("performer." + ".".join("a" * 4000) + " = 1", "text in quotes is expected"),
    "digits": ("ascii = " + "9" * 8000, "out of all proportion"),
    "digits in sixteens": ("ascii = 0x" + "f" * 8000, "a number out of all proportion"),
    "exponent": ("performer = 1e999", "text in quotes is expected, not inf"),
    "not a number": ("color = nan", "true or false is expected, not nan"),
    "infinity": ("color = -inf", "true or false is expected, not -inf"),
    "date": ("bench = 9999-12-31", "text in quotes is expected"),
    "no date": ("bench = 9999-99-99", ":1:"),
    "many keys": ("\n".join(f"a{n}=1" for n in range(1000)), "more is wrong than can be shown"),
    "many lists": ("[[a]]\n" * 1300, "no such setting: a"),
    "size": ("a = " + "1" * 100_000_000, "not longer than"),
    "byte order mark": (b"\xef\xbb\xbfascii = true", ":1:1"),
    "no UTF-8": (b"performer = '\xff'", "not UTF-8"),
    "half a letter": ('performer = "\\ud800"', ":1:"),
    "twice": ("ascii = true\nascii = false", "Cannot overwrite"),
}


@pytest.mark.parametrize("name", BOMBS)
def test_a_bomb_is_a_message(name: str, places: Places) -> None:
    text, says = BOMBS[name]
    problems = loaded(places, text)
    assert isinstance(problems, tuple)
    assert len(problems) <= 21
    assert any(says in problem for problem in problems), problems[:2]
    assert all(len(problem) < 500 + len(str(places.settings_file)) for problem in problems)


@pytest.mark.parametrize("character", [*REFUSED, *MARKS], ids=lambda c: f"U+{ord(c):04X}")
@pytest.mark.parametrize("key", ["performer", "bench", "logs", "torque_unit"])
def test_no_hidden_character_comes_into_a_name(character: str, key: str, places: Places) -> None:
    written = f'{key} = "/x\\u{ord(character):04x}y"'
    for got in (
        loaded(places, written),
        loaded(places, "", **{f"WITNESSMARK_{key.upper()}": f"/x{character}y"}),
    ):
        if key == "logs" and not isinstance(got, tuple):
            assert got.logs == Path(f"/x{character}y")  # a folder may have any name; it is shown written out
            continue
        assert isinstance(got, tuple)
        assert key in got[0] or key.upper() in got[0]


@pytest.mark.parametrize("name", [*WORKS, *MARKUP])
def test_names_of_any_script_and_markup_are_data(name: str, places: Places) -> None:
    text = WORKS.get(name) or MARKUP[name]
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    got = loaded(places, f'performer = "{escaped}"\nbench = "{escaped}"')
    assert isinstance(got, Settings)
    assert got.performer == got.bench == text


@pytest.mark.parametrize("name", TERMINAL)
def test_a_key_or_variable_that_steers_is_written_out(name: str, places: Places) -> None:
    escaped = "".join(f"\\u{ord(each):04x}" for each in TERMINAL[name])
    problems = loaded(places, f'"{escaped}" = 1', **{f"WITNESSMARK_{TERMINAL[name]}": "1"})
    assert isinstance(problems, tuple)
    assert len(problems) == 2


@pytest.mark.parametrize("kind", ["fifo", "directory", "device", "loop"])
def test_what_is_no_file_is_not_waited_for(kind: str, places: Places) -> None:
    path = places.settings_file
    if kind == "fifo":
        if not hasattr(os, "mkfifo"):
            pytest.skip("not run here: this system has no FIFOs")
        os.mkfifo(path)
    elif kind == "directory":
        path.mkdir()
    elif kind == "device":
        path.symlink_to("/dev/zero")
    else:
        path.symlink_to(path)
    with pytest.raises(SettingsError, match="cannot be read"):
        load_settings({}, {}, places, places.data)


def test_a_logs_folder_with_a_name_too_long_is_a_message(places: Places) -> None:
    with pytest.raises(SettingsError, match="cannot be read"):
        load_settings({"logs": "/" + "a" * 5000}, {}, places, places.data)
