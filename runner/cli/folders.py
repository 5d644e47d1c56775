"""`paths`: every folder that is read or written, and how to remove all."""

import argparse
import os
import shlex
from pathlib import Path

from runner.cli.exits import Exit
from runner.places import SETTINGS_NAME, Places, user_places
from runner.safe_text import plain_ascii, safe
from runner.settings import KEYS, Settings, load_settings


def settings_of(parsed: argparse.Namespace) -> Settings:
    """Return the settings in force for this command line. Raises SettingsError."""
    options = {key: getattr(parsed, key, None) for key in KEYS}
    return load_settings(options, os.environ, user_places(), Path.cwd())


def shown(line: str, settings: Settings) -> str:
    """Return a safe line as this terminal can draw it."""
    return plain_ascii(line) if settings.ascii else line


def paths(parsed: argparse.Namespace) -> int:
    """Print the folders, the settings and where each comes from."""
    places, settings = user_places(), settings_of(parsed)
    for line in paths_lines(places, settings):
        print(line)
    return Exit.OK


def paths_lines(places: Places, settings: Settings) -> list[str]:
    """Return what `paths` prints."""
    from runner.toolbox.finding import TOOLBOX_NAME  # noqa: PLC0415 - most commands ask this module for the settings only

    shop = settings.logs / SETTINGS_NAME
    listed = [
        ("settings, yours", places.settings_file, "only read"),
        ("settings, logs folder", shop, "only read; it comes before yours"),
        ("toolbox, yours", places.settings / TOOLBOX_NAME, "only read"),
        ("toolbox, logs folder", settings.logs / TOOLBOX_NAME, "only read; its tools come before yours"),
        ("logs", settings.logs, "one file for each run, and the list of runs"),
        ("rehearsals of demo", places.own_logs, "never in the current folder"),
        ("crash reports", places.crashes, "only after an error of this program"),
        ("cache", places.cache, "parsed unit definitions; may be removed at any time"),
    ]
    lines = [f"{what:<22} {safe(str(path))}{_presence(path)}\n{'':<22} {note}" for what, path, note in listed]
    lines += ["", "Settings in force:"]
    for key in KEYS:
        value = getattr(settings, key)
        shown = safe(str(value)) if value not in ("", None) else "(not set)"
        lines.append(f"  {key:<12} {shown}  [{safe(settings.origin.get(key, 'default'))}]")
    lines += ["", "Nothing else is written. To remove everything but the logs in a folder of your own:"]
    removed = (places.settings, places.data, places.cache)
    lines += [f"  rm -r -- {safe(shlex.quote(str(path)))}" for path in removed]
    lines.append("Logs are records: keep a copy of those in the data folder before you remove it.")
    return lines


def _presence(path: Path) -> str:
    return "" if path.exists() else "  (not there yet)"
