"""From a procedure or a log to a run: the heavy part, loaded when a run is really opened."""

from pathlib import Path

from runner.cli.not_opened import NotOpened
from runner.log.names import look_at
from runner.outside import Files, Outside
from runner.procedure.link import load_procedure
from runner.procedure.linked import Procedure
from runner.run import Run
from runner.settings import Settings
from runner.start import find_procedures


def begin(path: Path, settings: Settings, logs: Path, *, rehearsal: bool) -> Run:
    """Load a procedure and begin a run of it. Raises NotOpened where its file has errors."""
    procedure, findings = load_procedure(path)
    if procedure is None:
        raise NotOpened(path, findings)
    return Run.begin(
        procedure,
        Outside(),
        logs,
        rehearsal=rehearsal,
        bench=settings.bench,
        torque_unit=settings.torque_unit,
    )


def resume(path: Path, settings: Settings) -> Run:
    """Take a run up from its log. Raises the errors of runner.log."""
    return Run.resume(path, Outside(), current=_file_now(path), torque_unit=settings.torque_unit)


def _file_now(log: Path) -> Procedure | None:
    """Return the procedure's file as it is today, where one of its name is at hand: only to tell what changed."""
    found = look_at(log, Files())
    header = found.header if found is not None else None
    recorded = header.get("procedure") if header is not None else None
    if not isinstance(recorded, dict):
        return None
    for each in find_procedures(Path.cwd()):
        if [each.path.name] == [file[0] for file in recorded.get("files", ())][:1]:
            procedure, _ = load_procedure(each.path)
            if procedure is not None and procedure.procedure == recorded.get("procedure"):
                return procedure
    return None
