"""Arguments of the commands that read logs for others: verify and export; and of the shop's key."""

import argparse


def verify(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `verify`."""
    parser.add_argument(
        "files", metavar="LOG", nargs="+", help="a log, or the shop's list of runs, shop.jsonl"
    )
    parser.add_argument(
        "--receipt",
        metavar="CODE",
        action="append",
        help="a receipt code from paper, which must be that of an entry in one of the logs; may be given again",
    )
    parser.add_argument(
        "--key", metavar="PUBLIC", help="the shop's public key, with which every log must be signed"
    )
    parser.add_argument("--json", action="store_true", help="print one JSON document and nothing else")


def export(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `export`."""
    parser.add_argument("log", metavar="LOG", help="a log, sealed or not, or the shop's list of runs")
    form = parser.add_mutually_exclusive_group()
    form.add_argument(
        "--to",
        metavar="FILE",
        default="-",
        help="write the entries to a new FILE and the scars to FILE.scars.json; - for standard output",
    )
    form.add_argument("--scars", action="store_true", help="print the list of scars instead of the entries")
    parser.add_argument(
        "--until-fault", action="store_true", help="export what is in order before the fault of a broken log"
    )


def key(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `key`."""
    deeds = parser.add_subparsers(title="what to do", metavar="new|show", dest="deed", required=True)
    new = deeds.add_parser(
        "new",
        help="make a private and a public key",
        description="Make a pair of keys, never over another.",
        epilog="Example:\n  witnessmark key new",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    new.add_argument(
        "--to", metavar="FOLDER", help="where to put them; your settings folder where none is said"
    )
    show = deeds.add_parser(
        "show",
        help="print a public key as 64 letters",
        description="Print a public key as the 64 letters that verify and a seal name it by.",
        epilog="Example:\n  witnessmark key show",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    show.add_argument(
        "file",
        metavar="PUBLIC",
        nargs="?",
        help="the public key's file; the one in your settings folder else",
    )
