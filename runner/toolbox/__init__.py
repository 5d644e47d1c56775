"""The shop's measuring tools: `toolbox.yaml` read, found, and asked which tool is best for a torque."""

from runner.toolbox.choosing import Choice, best_for, fit_for
from runner.toolbox.finding import EXAMPLE, TOOLBOX_NAME, find_toolbox, toolbox_files
from runner.toolbox.model import Toolbox
from runner.toolbox.reader import read_toolbox

__all__ = [
    "EXAMPLE",
    "TOOLBOX_NAME",
    "Choice",
    "Toolbox",
    "best_for",
    "find_toolbox",
    "fit_for",
    "read_toolbox",
    "toolbox_files",
]
