"""From a procedure or a log to a run: the heavy part, loaded when a run is really opened."""

from pathlib import Path

from runner.cli.not_opened import Needless, NotOpened
from runner.cli.proving import checked
from runner.job.gates import Gates
from runner.log.keys import SealKey
from runner.log.names import look_at
from runner.outside import Files, Outside
from runner.places import user_places
from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure
from runner.run import Run
from runner.settings import Settings
from runner.start import find_procedures
from runner.toolbox.finding import find_toolbox


def begin(path: Path, settings: Settings, logs: Path, *, rehearsal: bool, unproved: str = "") -> Run:
    """Load a procedure, prove it and begin a run of it, with the gates of the proof.

    With a reason in `unproved` a procedure that is not proved is run all the same, with no gates. Raises NotOpened
    where it cannot be linked, or is not proved and no reason is given; Needless where it is proved and one is
    given: a run without gates is less safe, and nobody should have it by habit.
    """
    of = checked(path)
    if of.procedure is None or of.verdict is None or not (of.proved or unproved):
        raise NotOpened(of)
    if of.proved and unproved:
        raise Needless(of)
    return Run.begin(
        of.procedure,
        Outside(),
        logs,
        rehearsal=rehearsal,
        bench=settings.bench,
        gates=of.verdict.gates if of.proved else Gates(),
        unproved=unproved,
        torque_unit=settings.torque_unit,
        toolbox=find_toolbox(user_places().settings, logs),
        key=_key(settings),
    )


def resume(path: Path, settings: Settings) -> Run:
    """Take a run up from its log. Raises the errors of runner.log."""
    return Run.resume(
        path,
        Outside(),
        current=_file_now(path),
        torque_unit=settings.torque_unit,
        toolbox=find_toolbox(user_places().settings, settings.logs),
        key=_key(settings),
    )


def _key(settings: Settings) -> SealKey | None:
    return SealKey(settings.sign_key) if settings.sign_key is not None else None


def _file_now(log: Path) -> Procedure | None:
    """Return the procedure's file as it is today, where one of its name is at hand: only to tell what changed."""
    found = look_at(log, Files())
    header = found.header if found is not None else None
    recorded = header.get("procedure") if header is not None else None
    if not isinstance(recorded, dict):
        return None
    files = recorded.get("files")
    first = files[0] if isinstance(files, list) and files else None
    main = first[0] if isinstance(first, list) and first else None
    for each in find_procedures(Path.cwd()):
        if each.path.name == main:
            procedure, _ = load_procedure(each.path)
            if procedure is not None and procedure.procedure == recorded.get("procedure"):
                return procedure
    return None
