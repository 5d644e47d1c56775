"""Settings: who wins, and that nothing is silently without effect."""

from pathlib import Path

import pytest

from runner.places import Places
from runner.settings import KEYS, Settings, SettingsError, load_settings


@pytest.fixture
def places(tmp_path: Path) -> Places:
    for name in ("settings", "data", "cache", "here"):
        (tmp_path / name).mkdir()
    return Places(tmp_path / "settings", tmp_path / "data", tmp_path / "cache")


def load(places: Places, options: dict[str, str | bool | None] | None = None, **environment: str) -> Settings:
    return load_settings(options or {}, environment, places, places.data.parent / "here")


def write_user(places: Places, text: str) -> None:
    places.settings_file.write_text(text, encoding="utf-8")


def shop_folder(places: Places, text: str) -> Path:
    folder = places.data.parent / "here" / "logs"
    folder.mkdir()
    (folder / "witnessmark.toml").write_text(text, encoding="utf-8")
    return folder


def problems(places: Places, **environment: str) -> str:
    with pytest.raises(SettingsError) as caught:
        load(places, **environment)
    return str(caught.value)


def test_without_any_file_logs_go_to_the_users_data_folder(places: Places) -> None:
    settings = load(places)
    assert settings.logs == places.data / "logs"
    assert (settings.performer, settings.torque_unit, settings.color, settings.ascii) == ("", "", True, False)


def test_a_logs_folder_counts_only_where_it_holds_a_settings_file(places: Places) -> None:
    (places.data.parent / "here" / "logs").mkdir()
    assert load(places).logs == places.own_logs
    (places.data.parent / "here" / "logs" / "witnessmark.toml").touch()
    assert load(places).logs == places.data.parent / "here" / "logs"


def test_option_beats_environment_beats_shop_beats_user(places: Places) -> None:
    write_user(places, 'performer = "user"\nbench = "user"\nascii = true\ntorque_unit = "Nm"\n')
    shop_folder(places, 'performer = "shop"\nbench = "shop"\ntorque_unit = "ft-lb"\n')
    settings = load(
        places, {"performer": "option", "bench": None}, WITNESSMARK_PERFORMER="env", WITNESSMARK_BENCH="env"
    )
    assert settings.performer == "option"
    assert settings.bench == "env"
    assert settings.torque_unit == "lbf·ft"
    assert settings.ascii is True
    assert settings.origin["performer"] == "--performer"
    assert settings.origin["bench"] == "WITNESSMARK_BENCH"
    assert settings.origin["torque_unit"].endswith("logs/witnessmark.toml:3")


def test_the_users_logs_folder_beats_the_default_and_its_file_is_read(places: Places, tmp_path: Path) -> None:
    shop_folder(places, 'bench = "not this one"\n')
    other = tmp_path / "other"
    other.mkdir()
    (other / "witnessmark.toml").write_text('bench = "other"\n')
    write_user(places, f'logs = "{other}"\n')
    settings = load(places)
    assert (settings.logs, settings.bench) == (other, "other")


def test_a_relative_folder_from_the_command_line_is_from_here(places: Places) -> None:
    assert load(places, {"logs": "kept"}).logs == places.data.parent / "here" / "kept"


def test_no_color_is_heard_unless_something_nearer_speaks(places: Places) -> None:
    assert load(places, NO_COLOR="1").color is False
    assert load(places, NO_COLOR="").color is True
    assert load(places, NO_COLOR="1", WITNESSMARK_COLOR="yes").color is True
    assert load(places, {"color": True}, NO_COLOR="1").color is True


def test_unknown_keys_name_place_and_nearest_word(places: Places) -> None:
    write_user(places, '# mine\nperformr = "Ann"\n\n[bench]\nname = "x"\n')
    said = problems(places, WITNESSMARK_TORQUE_UNITS="Nm")
    assert "witnessmark.toml:2: no such setting: performr. Nearest: performer" in said
    assert "witnessmark.toml:4: bench: text in quotes is expected" in said
    assert "WITNESSMARK_TORQUE_UNITS: no such setting. Nearest: WITNESSMARK_TORQUE_UNIT" in said


def test_an_unlike_word_gets_the_whole_list(places: Places) -> None:
    write_user(places, "zzz = 1\n")
    assert all(key in problems(places) for key in KEYS)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("ascii = 1", ":1: ascii: true or false is expected, not 1"),
        ("performer = 3", ":1: performer: text in quotes is expected, not 3"),
        ('torque_unit = "J"', ":1: torque_unit: "),
        ('torque_unit = "bar"', ":1: torque_unit: "),
        ('performer = "a\\nb"', ":1: performer: one line"),
        ('logs = "kept"', ":1: logs: a whole path"),
        ('logs = ""', ":1: logs: a folder is expected"),
        ("performer = ", ":1:13: "),
        ("a = 1\na = 2", ":2:6: "),
    ],
)
def test_wrong_values_name_the_line(places: Places, text: str, said: str) -> None:
    write_user(places, text + "\n")
    assert "witnessmark.toml" + said in problems(places)


def test_files_that_are_no_settings(places: Places) -> None:
    places.settings_file.write_bytes(b"\xff\xfe")
    assert "not UTF-8" in problems(places)
    places.settings_file.write_bytes(b"#" * 70_000)
    assert "not longer than" in problems(places)
    places.settings_file.unlink()
    places.settings_file.mkdir()
    assert "cannot be read" in problems(places)


def test_a_logs_folder_cannot_send_logs_elsewhere(places: Places) -> None:
    shop_folder(places, 'logs = "/tmp"\n')
    assert "cannot say that logs are kept elsewhere" in problems(places)


def test_flags_in_the_environment_are_words(places: Places) -> None:
    assert load(places, WITNESSMARK_ASCII="on").ascii is True
    assert "yes or no is expected" in problems(places, WITNESSMARK_ASCII="perhaps")


def test_hostile_settings_text_stays_text(places: Places) -> None:
    write_user(places, '"\\u001b[2J" = 1\n')
    assert "\x1b" not in problems(places)
