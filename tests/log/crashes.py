"""A scripted run that loses its power after every system call, and what must be true of what is found."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from random import Random

from runner.log.errors import Broken, NotRecorded, Refused, Sealed
from runner.log.record import Report
from runner.log.scan import scan
from runner.log.writer import LogWriter, create, reopen
from tests.doubles import SetOutside
from tests.log.medium import FOLDER, PATH, Medium, PowerGone


@dataclass
class Said:
    """What the screen of the run had said when the power went."""

    started: bool = False
    notes: list[int] = field(default_factory=list)
    trying: int | None = None
    sealed: bool = False
    sealing: bool = False

    def note(self, writer: LogWriter, number: int, size: int, outside: SetOutside) -> None:
        """Record one numbered note, once more where the disk was full."""
        self.trying = number
        for _ in range(2):
            try:
                writer.append("note", {"number": number, "text": "n" * size}, outside.now())
            except NotRecorded as error:
                if not error.may_retry:
                    raise
            else:
                self.notes.append(number)
                self.trying = None
                return

    def seal(self, writer: LogWriter, outside: SetOutside) -> None:
        """Record the end."""
        self.sealing = True
        writer.seal({"end": "finished"}, outside.now())
        self.sealed = True


def scripted(medium: Medium, seed: int) -> Said:
    """Start, notes, a full disk, a clock that jumps, a second opening, a seal; stops where the power goes."""
    draw, outside, said = Random(seed), SetOutside(files=medium), Said()
    medium.short = {3: draw.randrange(0, 200)}
    try:
        with create(FOLDER, PATH.name, {}, outside) as writer:
            said.started = True
            said.note(writer, 0, draw.randrange(30), outside)
            said.note(writer, 1, draw.randrange(900), outside)
            outside.set_wall(draw.choice((-3_600_000, 86_400_000)))
            said.note(writer, 2, draw.randrange(700), outside)
        with reopen(PATH, outside)[0] as writer:
            said.note(writer, 3, draw.randrange(1_500), outside)
            said.note(writer, 4, draw.randrange(30), outside)
            said.seal(writer, outside)
    except PowerGone:
        pass
    return said


def notes(report: Report) -> list[int]:
    """The numbered notes of a log."""
    return [entry.data["number"] for entry in report.records if entry.kind == "note"]


def crashes(seed: int) -> Iterator[tuple[Medium, Said]]:
    """The scripted run, stopped after its first call, its second, until it comes to its end."""
    stop = 0
    while True:
        stop += 1
        medium = Medium()
        medium.stop_after = stop
        said = scripted(medium, seed)
        yield medium, said
        if medium.made < stop:
            return


def judge(
    image: bytes | None, said: Said, *, may_be_broken: bool = False, medium: Medium | None = None
) -> str:
    """Take up what a crash left, go on, and tell how it was found; an error for anything lost or made up.

    `medium` is where the image is, if it is to lose its power again.
    """
    medium = medium or Medium(image)
    allowed = [said.notes] if said.trying is None else [said.notes, [*said.notes, said.trying]]
    try:
        found = reopen(PATH, outside := SetOutside(files=medium))
    except Refused:
        assert not said.started, "a started run cannot be taken up"
        return "not started"
    except Sealed:
        assert said.sealing
        assert notes(scan(medium.durable or b"")) in allowed
        return "sealed"
    except Broken:
        if not may_be_broken:
            raise
        assert notes(scan(image or b"")) in allowed
        return "broken"
    writer, report = found
    assert not said.sealed, "a sealed run was taken up"
    assert notes(report) in allowed, (notes(report), allowed)
    with writer:
        after = Said(True, notes(report))
        after.note(writer, 90, 5, outside)
        after.note(writer, 91, 5, outside)
    final = scan(medium.durable or b"")
    assert final.state == "open", final.summary()
    assert notes(final) == after.notes
    assert (medium.durable or b"").startswith(image or b"")
    return report.state


def again(image: bytes, said: Said, draw: Random, judged: Callable[[str, str], None], step: int) -> None:
    """Lose the power after every call of the recovery too, and judge each `step`-th state that leaves behind."""
    stop = 0
    while True:
        stop += 1
        medium = Medium(image)
        medium.stop_after = stop
        known = Said(said.started, list(said.notes), said.trying, said.sealed, said.sealing)
        try:
            writer, report = reopen(PATH, outside := SetOutside(files=medium))
            known = Said(True, notes(report))
            with writer:
                known.note(writer, 90, 5, outside)
        except PowerGone:
            pass
        except Sealed:
            return
        if medium.made < stop:
            return
        left = [each for each in medium.images(draw, garbage=0) if each[0] != "no file"]
        for sort, second in left[draw.randrange(step) :: step]:
            judged(sort, judge(second, known))
