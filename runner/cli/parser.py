"""The command line: every command, its arguments, its help with one example."""

import argparse
import difflib
import textwrap
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NoReturn

from runner.cli import exits, log_arguments
from runner.cli.versions import version_text
from runner.safe_text import safe


@dataclass(frozen=True, slots=True)
class Command:
    """One command. The function of the same name in `module` of `runner.cli` runs it."""

    name: str
    module: str
    summary: str
    about: str
    example: str
    arguments: Callable[[argparse.ArgumentParser], None]


class _Parser(argparse.ArgumentParser):
    """argparse whose messages cannot steer the terminal, however odd the words typed."""

    def error(self, message: str) -> NoReturn:
        self.exit(exits.Exit.USAGE, f"{self.prog}: {safe(message)}\nSee: {self.prog} --help\n")


def _plain(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--plain", action="store_true", help="line prompts instead of the full screen; works through pipes"
    )


def _settings(parser: argparse.ArgumentParser) -> None:
    group = parser.add_argument_group("settings (see witnessmark paths)")
    group.add_argument("--logs", metavar="FOLDER", help="the folder that logs are kept in")
    group.add_argument(
        "--performer", metavar="NAME", help="a name to offer at the start; still to be confirmed"
    )
    group.add_argument("--bench", metavar="NAME", help="the name of this bench, kept in the log")
    group.add_argument(
        "--torque-unit", metavar="UNIT", help="show torques in this unit as well, such as lbf·ft"
    )
    group.add_argument(
        "--sign-key", metavar="FILE", help="sign the seal with this private key (see witnessmark key)"
    )
    group.add_argument("--ascii", action=argparse.BooleanOptionalAction, help="draw with ASCII letters only")
    group.add_argument("--color", action=argparse.BooleanOptionalAction, help="use colour")


LONGEST_REASON = 200
"""Characters of a reason to run a procedure unproved: it stands in every picture of the run."""


def _reason(text: str) -> str:
    reason = " ".join(text.split())
    if not reason:
        raise argparse.ArgumentTypeError("say why it is run unproved; the reason stays in the log")
    if safe(reason) != reason:
        raise argparse.ArgumentTypeError("a reason is one line of plain text, without control characters")
    if len(reason) > LONGEST_REASON:
        raise argparse.ArgumentTypeError(f"a reason has at most {LONGEST_REASON} characters")
    return reason


def _procedure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "procedure", metavar="PROCEDURE", help="a YAML file, or the name of a shipped procedure"
    )
    _plain(parser)
    parser.add_argument(
        "--unproved",
        metavar="REASON",
        type=_reason,
        help="run a procedure that is not proved, without last-chance gates; the reason stays in the log and on "
        "the screen. Refused where the procedure is proved",
    )
    _settings(parser)


def _resume(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "log",
        metavar="LOG",
        nargs="?",
        help="the log of an unfinished run; not needed where there is one only",
    )
    _plain(parser)
    _settings(parser)


def _demo(parser: argparse.ArgumentParser) -> None:
    _plain(parser)
    _settings(parser)


def _check(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "procedures", metavar="PROCEDURE", nargs="*", help="a YAML file, or the name of a shipped procedure"
    )
    parser.add_argument(
        "--explain",
        metavar="RULE",
        nargs="?",
        const="",
        help="the page of a rule, by its name or number, and nothing else; without RULE a list of all",
    )
    parser.add_argument("--strict", action="store_true", help="warnings count as errors")
    parser.add_argument(
        "--whole-paths", action="store_true", help="leave nothing out of a long path that shows a finding"
    )
    parser.add_argument("--verbose", action="store_true", help="say as well what the proof does not cover")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    form.add_argument(
        "--sarif", action="store_true", help="print SARIF 2.1.0 for code hosts and nothing else"
    )


def _map(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "procedure", metavar="PROCEDURE", help="a YAML file, or the name of a shipped procedure"
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--svg", metavar="FILE", help="a picture for landscape A4; - for standard output")
    form.add_argument("--mermaid", action="store_true", help="flowchart text for Mermaid")
    parser.add_argument(
        "--finding",
        metavar="N",
        type=int,
        help="mark the path of this finding, counted among those with a path, not of the first error",
    )
    parser.add_argument("--ascii", action=argparse.BooleanOptionalAction, help="draw with ASCII letters only")


def _review(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("log", metavar="LOG", help="the log of a run, sealed or not")


def _toolbox(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--toolbox", metavar="FILE", help="read this toolbox and no other")
    parser.add_argument(
        "--logs", metavar="FOLDER", help="the folder that logs and the shop's toolbox are kept in"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")


def _tools(parser: argparse.ArgumentParser) -> None:
    for name, words, text in (
        ("--deviation", "NAME", "judge this tool of the toolbox by one reading"),
        ("--set", "TORQUE", "what was set on it, or what it showed"),
        ("--reference", "TORQUE", "what the reference device read"),
    ):
        parser.add_argument(name, metavar=words, nargs="+", help=text)
    _toolbox(parser)


def _ready(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "procedure", metavar="PROCEDURE", help="a YAML file, or the name of a shipped procedure"
    )
    parser.add_argument("--toolbox", metavar="FILE", help="read this toolbox and no other")
    parser.add_argument(
        "--logs", metavar="FOLDER", help="the folder that logs and the shop's toolbox are kept in"
    )
    parser.add_argument(
        "--torque-unit", metavar="UNIT", help="show torques in this unit as well, such as lbf·ft"
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--html", metavar="FILE", help="a page for paper, A4 or Letter; - for standard output")
    form.add_argument("--json", action="store_true", help="print one JSON document and nothing else")
    parser.add_argument("--ascii", action=argparse.BooleanOptionalAction, help="draw with ASCII letters only")


def _setting(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "torque", metavar="TORQUE", nargs="*", help="what is to reach the fastener, such as 60 N·m"
    )
    for name, words, text in (
        ("--length", "LENGTH", "of the wrench, from the force mark on its handle to the square drive"),
        (
            "--extension",
            "LENGTH",
            "from the square drive to the fastener; none for an adapter in line with it",
        ),
        (
            "--angle",
            "ANGLE",
            "between extension and wrench: 0° straight on (taken where none is said), 180° back",
        ),
        ("--graduation", "STEP", "from one mark of the wrench to the next"),
        ("--range", "RANGE", "the lowest and the highest marked value, such as 20 to 130 N·m"),
        ("--wrench", "NAME", "a wrench of the toolbox, with its unit, range, graduation and length"),
        ("--set", "TORQUE", "the inverse: what reaches the fastener when this is set"),
    ):
        parser.add_argument(name, metavar=words, nargs="+", help=text)
    parser.add_argument("--unit", metavar="UNIT", help="of the wrench; with --set of the answer")
    _toolbox(parser)


def _preload(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "thread", metavar="THREAD", help='such as M10x1.5, M10, "1/2-20 UNF", 5/16-18 or #10-32'
    )
    parser.add_argument("strength", metavar="CLASS", help='8.8, 10.9 or 12.9; "gr. 2", "gr. 5" or "gr. 8"')
    parser.add_argument("torque", metavar="TORQUE", nargs="+", help="such as 60 N·m")
    known = parser.add_mutually_exclusive_group()
    known.add_argument(
        "--friction",
        metavar="LOW..HIGH",
        help="in thread and under the head, such as 0.10..0.16 or 0.12; 0.10 to 0.16 is assumed, and said so",
    )
    known.add_argument(
        "--nut-factor", metavar="LOW..HIGH", help="K instead of a friction, such as 0.18..0.22"
    )
    known.add_argument(
        "--condition",
        metavar="WORD",
        help="the published K of: nonplated, zinc-plated, cadmium-plated, lubricated, anti-seize, low-friction nuts",
    )
    parser.add_argument(
        "--prevailing",
        metavar="TORQUE",
        nargs="+",
        help="the drag of a self-locking nut that TORQUE holds; it is taken off",
    )
    parser.add_argument(
        "--head", metavar="LENGTH", nargs="+", help="outer diameter of the face that the head or nut bears on"
    )
    parser.add_argument("--hole", metavar="LENGTH", nargs="+", help="diameter of the hole under it")
    parser.add_argument("--bearing", metavar="LENGTH", nargs="+", help="the mean of both, instead of both")
    parser.add_argument(
        "--tightening-factor",
        metavar="αA",
        help="FMmax/FMmin of VDI 2230, such as 1.6: the scatter about a nut factor, or the least at assembly",
    )
    for name, words, text in (
        (
            "--angle",
            "ANGLE",
            "turned on after the torque: what it stretches, with --grip what preload it adds",
        ),
        ("--grip", "LENGTH", "clamped, from under the head to the first thread that carries"),
        ("--pull", "FORCE", "an outer load on the joint, with --grip: what the bolt has of it"),
        ("--turn-of-nut", "LENGTH", "of the whole bolt: the turn from snug by the RCSC rule"),
    ):
        parser.add_argument(name, metavar=words, nargs="+", help=text)
    parser.add_argument(
        "--form",
        metavar="FORM",
        default="exact",
        help="of the formula: exact (where none is said), iso 16047, linear, vdi 2230, shigley, jis b 1083",
    )
    parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")


COMMANDS = (
    Command(
        "run",
        "working",
        "carry out a procedure, guided, with a log",
        "Carry out a procedure on a work piece. Its proof comes first: one with errors is not run. Nothing is "
        "written before the start is confirmed; from then on every entry is in the log before the screen shows "
        "it as recorded.",
        "witnessmark run wheel-change",
        _procedure,
    ),
    Command(
        "resume",
        "working",
        "go on with an unfinished run",
        "Go on with a run that was paused or interrupted. The log's own procedure is used, never the file. "
        "Without LOG the only unfinished run is taken; where there are several they are listed.",
        "witnessmark resume",
        _resume,
    ),
    Command(
        "rehearse",
        "working",
        "carry out a procedure without a work piece",
        "The same as run, but with no work piece: the log is marked as a rehearsal for ever.",
        "witnessmark rehearse procedures/wheel-change.yaml",
        _procedure,
    ),
    Command(
        "check",
        "checking",
        "prove procedures over every path",
        "Read procedures and prove them over every path: every answer, every put-off step taken up or passed by. "
        "Everything wrong is reported, not only the first. Each finding begins FILE:LINE:COL: and has the "
        "shortest way that shows it.",
        "witnessmark check procedures/*.yaml",
        _check,
    ),
    Command(
        "map",
        "mapping",
        "draw a procedure: its steps, ways and put-off work",
        "Draw the steps of a procedure in order, with the ways out of them, what is put off and where its window "
        "is, and the conditions that hold. Where the proof finds an error, the path that shows it is marked.",
        "witnessmark map lower-arm --svg lower-arm.svg",
        _map,
    ),
    Command(
        "ready",
        "ready",
        "list what to lay out before a procedure is begun",
        "Print the ready sheet of a procedure, gathered over all its ways: people, tools with the steps that need "
        "them, parts, supplies, every torque with the setting for each wrench of the shop, the time by the author's "
        "estimates, and what must wait. With --html a page for paper, which any browser prints to PDF.",
        "witnessmark ready lower-arm --html lower-arm.html",
        _ready,
    ),
    Command(
        "review",
        "reading",
        "show what was done in a run, exceptions first",
        "Print what a log says: exceptions first, then everything in its order. The procedure file is not "
        "needed.",
        "witnessmark review logs/sample-lower-arm.jsonl",
        _review,
    ),
    Command(
        "verify",
        "verifying",
        "check that logs are whole and unchanged",
        "Check the chain of each log; a fault is told with its line, its byte and why. Exit code 0 only where all are "
        "complete and sealed, 1 where one is broken or not a log, 4 where one has a torn tail, 3 where one is open. "
        "Of several the worst counts, in this order. With --receipt 1 where no log has an entry with that code, with "
        "--key 1 where a log is not sealed with a good signature of that key.",
        "witnessmark verify logs/*.jsonl",
        log_arguments.verify,
    ),
    Command(
        "export",
        "exporting",
        "write a log as plain JSON Lines, and list its scars",
        "Print the entries of a log, one JSON value a line, and nothing else: what crashes left of entries is in the "
        "list of scars. A broken log is refused with its first bad line. The exit code is the one of verify, so it is "
        "0 only for a log that is complete. No file is ever written over.",
        "witnessmark export logs/sample-lower-arm.jsonl --to lower-arm.jsonl",
        log_arguments.export,
    ),
    Command(
        "key",
        "signing",
        "make or show the shop's key for signing seals",
        "With a key, the setting sign_key or --sign-key, the seal of each run is signed (Ed25519), and verify --key "
        "tells a log that was written anew or cut and sealed again from the one that was signed.",
        "witnessmark key new",
        log_arguments.key,
    ),
    Command(
        "demo",
        "working",
        "rehearse the shipped demonstration",
        "Rehearse the shipped demonstration, the lower arms of an invented car. Its log goes to your data "
        "folder, marked as a rehearsal; the current folder stays as it is.",
        "witnessmark demo",
        _demo,
    ),
    Command(
        "setting",
        "setting",
        "what to set on a wrench, with an extension or in another unit",
        "Print the number to set on the wrench so that TORQUE reaches the fastener, rounded to its marks, with the "
        "formula, what the rounding does and where it comes from. With --set the inverse.",
        "witnessmark setting 60 N·m --length 400 mm --extension 50 mm --angle 0°",
        _setting,
    ),
    Command(
        "tools",
        "tools",
        "list the shop's torque wrenches and what is overdue",
        "List the tools of toolbox.yaml, which stands beside the logs or in your settings folder (see witnessmark "
        "paths), with what is overdue and every error in the file at its place. With --deviation: by how much a tool "
        "deviates from the reference reading of a calibration, and whether its type and class may.",
        "witnessmark tools --deviation Click wrench 130 --set 100 N·m --reference 104.1 N·m",
        _tools,
    ),
    Command(
        "preload",
        "preload",
        "what preload a torque gives a bolt, and whether it is sane",
        "Print the preload that TORQUE gives a bolt, as an interval because friction is one, its share of the proof "
        "and the yield load, with formulas, inputs and sources. A torque that makes no sense is named with the "
        "likely slip, and past yield no preload is told.",
        "witnessmark preload M10x1.5 10.9 60 N·m --friction 0.10..0.16",
        _preload,
    ),
    Command(
        "paths",
        "folders",
        "list every folder used, and how to remove all",
        "List every folder that this program reads or writes, which setting comes from where, and how to "
        "remove everything.",
        "witnessmark paths",
        _settings,
    ),
)
"""All commands, in the order of the help. No command at all opens the start screen."""


def build_parser() -> argparse.ArgumentParser:
    """Return the parser; `command` is empty where no command was given."""
    parser = _Parser(
        prog="witnessmark",
        description="Guided procedures: a gate at each step, put-off work called up in time, a log of all.",
        epilog=f"Without a command the start screen opens.\n\nExample:\n  witnessmark demo\n\n"
        f"Exit codes:\n{exits.table()}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=version_text())
    parser.set_defaults(command="")
    commands = parser.add_subparsers(
        title="commands", metavar="COMMAND", dest="command", parser_class=_Parser, required=False
    )
    for command in COMMANDS:
        added = commands.add_parser(
            command.name,
            help=command.summary,
            description=textwrap.fill(command.about, 78),
            epilog=f"Example:\n  {command.example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        command.arguments(added)
    return parser


def parse(arguments: Sequence[str]) -> argparse.Namespace:
    """Return the parsed command line; ends the program with USAGE for a wrong one, with OK after a help."""
    first = next((each for each in arguments if not each.startswith("-")), None)
    names = [command.name for command in COMMANDS]
    if first is not None and first not in names and arguments[0] == first:
        alike = difflib.get_close_matches(first[:40], names, n=1)
        near = f"Nearest: {alike[0]}" if alike else f"Known: {', '.join(names)}"
        build_parser().error(f"no such command: {first}. {near}")
    return build_parser().parse_args(arguments)
