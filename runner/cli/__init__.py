"""The commands. Each calls one function; nothing heavy is imported before a command needs it."""

from runner.cli.entry import main

__all__ = ["main"]
