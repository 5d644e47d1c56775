"""What a second person must not see before giving the second reading: the first one, wherever it is written."""

from runner.job.state import Deviation, Job, Progress
from runner.procedure.linked import Node


def first_hidden(job: Job, node: Node, name: str, index: int) -> bool:
    """Whether the first reading number `index` of `name` is still to be kept from the second person."""
    reading = next((r for r in node.readings if r.name == name), None)
    if reading is None or not reading.blind_second:
        return False
    return any(_second_to_come(progress, name, index) for progress in _in_hand(job, node))


def deviation_hidden(job: Job, point: Deviation) -> bool:
    """Whether an open point would tell the value of a first reading that is to be kept hidden."""
    node = job.procedure.by_id.get(point.node)
    if node is None or point.kind not in ("out of band", "other value"):
        return False
    reading = next((r for r in node.readings if r.name == point.subject), None)
    return reading is not None and any(
        first_hidden(job, node, reading.name, index) for index in range(1, reading.times + 1)
    )


def _in_hand(job: Job, node: Node) -> list[Progress]:
    """The progress of the step where it is in hand or set aside for something taken up."""
    own = [job.progress] if job.node is not None and job.node.id == node.id else []
    return own + [progress for _, _, progress in job.set_aside]


def _second_to_come(progress: Progress, name: str, index: int) -> bool:
    given = progress.taken.get(name, 0) >= index
    return given and f"{name} {index}" not in progress.seconds and f"reading {name}" not in progress.waived
