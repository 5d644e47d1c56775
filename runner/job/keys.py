"""The keys under which entries are recorded and may be corrected."""


def tightening_key(node: str, item: str, stage: int, member: int) -> str:
    """The key under which one tightening is recorded and may be corrected."""
    return f"tighten {node}|{item}|{stage}|{member}"


def reading_key(node: str, name: str, index: int, *, second: bool = False) -> str:
    """The key under which one reading is recorded and may be corrected."""
    return f"read {node}|{name}|{index}{'|second' if second else ''}"


def answer_key(node: str) -> str:
    """The key under which an answer may be corrected."""
    return f"answer {node}"
