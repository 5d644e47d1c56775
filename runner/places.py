"""The folders of this user: where settings are read, and where logs, crash reports and the cache go.

Nothing is made here; whoever writes makes the folder it needs. The folders follow the system's custom
(platformdirs: the XDG folders on Linux, `Library` on macOS, `AppData` on Windows).
"""

from dataclasses import dataclass
from pathlib import Path

SETTINGS_NAME = "witnessmark.toml"
"""The name of a settings file, in the user's settings folder and in a logs folder alike."""


@dataclass(frozen=True, slots=True)
class Places:
    """Every folder of this user that the program reads or writes."""

    settings: Path
    """Holds the user's `witnessmark.toml`; only read."""
    data: Path
    """Holds the user's logs (`logs`) and crash reports (`crashes`)."""
    cache: Path
    """Holds pint's parsed unit definitions; may be removed at any time."""

    @property
    def settings_file(self) -> Path:
        """The user's settings file, whether or not there is one."""
        return self.settings / SETTINGS_NAME

    @property
    def own_logs(self) -> Path:
        """The logs folder where no other is set; rehearsals of `demo` go here always."""
        return self.data / "logs"

    @property
    def crashes(self) -> Path:
        """Where a crash report is written."""
        return self.data / "crashes"


def user_places() -> Places:
    """Return the folders of the user who runs this program."""
    from platformdirs import PlatformDirs  # noqa: PLC0415 - `--help` need not pay for it

    folders = PlatformDirs("witnessmark", appauthor=False)
    return Places(folders.user_config_path, folders.user_data_path, folders.user_cache_path)


def default_logs(places: Places, current: Path) -> Path:
    """Return `logs` of the current folder where it holds a settings file, else the user's own logs folder."""
    here = current / "logs"
    return here if (here / SETTINGS_NAME).is_file() else places.own_logs
