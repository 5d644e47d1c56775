"""`key`: the shop's key for signing seals, made and shown."""

import argparse
from pathlib import Path

from runner.cli.exits import Exit
from runner.log.keys import PUBLIC_NAME, make_keys, public_key
from runner.places import user_places
from runner.safe_text import safe


def key(parsed: argparse.Namespace) -> int:
    """Make a key or show one. Raises KeyUnusable, whose message says why not."""
    own = user_places().settings
    if parsed.deed == "show":
        path = Path(parsed.file) if parsed.file else own / PUBLIC_NAME
        print(f"{public_key(path).hex()}  {safe(str(path))}")
        return Exit.OK
    private, public, letters = make_keys(Path(parsed.to).absolute() if parsed.to else own)
    for line in (
        f"Private key: {private}",
        f"Public key:  {public}",
        f"             {letters.hex()}",
        "",
        "Whoever has the private key can sign as this shop; it has no password. Keep a copy where only the owner can",
        "reach it, and the public key, or its 64 letters on paper, away from this machine: with whom the logs are for.",
        f"To sign seals, put this line into {user_places().settings_file}, or the shop's witnessmark.toml:",
        f"  sign_key = {_toml(private)}",
    ):
        print(safe(line))
    return Exit.OK


def _toml(path: Path) -> str:
    """The path as a string of TOML."""
    escaped = str(path).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
