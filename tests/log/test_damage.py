"""Damage by any cause: every cut, every flipped bit, every other byte, every line in another place; and forgers."""

import secrets
from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest

from runner.log import line
from runner.log.names import find_logs
from runner.log.record import Report
from runner.log.scan import scan
from runner.log.shop import missing_runs, note_seal, note_start, read_shop
from runner.log.writer import create
from tests.doubles import SetOutside
from tests.log.makelog import fill, sealed_bytes, start
from tests.log.tally import SHARE, Tally


def lines_of(data: bytes) -> list[bytes]:
    return [each + b"\n" for each in data.split(b"\n")[:-1]]


def whole(folder: Path) -> bytes:
    """A sealed log of 9 entries with a scar in it."""
    data = sealed_bytes(folder, scar=True)
    assert len(data) >= 2_000
    return data


# Cuts


def test_cut_at_every_byte_it_is_an_exact_prefix_and_never_complete(tmp_path: Path) -> None:
    data = whole(tmp_path)
    full, tally = scan(data).records, Tally("cut at every byte", least=2_000)
    for size in range(len(data)):
        report = scan(data[:size])
        tally.add(report.state)
        assert report.records == full[: report.count]
        if size and report.tail is not None:
            assert report.tail.byte + report.tail.size == size
    tally.close()
    assert tally.seen == {"not a log": 1, "open": 8, "torn": len(data) - 9}


# Bytes


def require_found(data: bytes, place: int, value: int) -> str:
    """The verdict on `data` with another byte at `place`, which must be a fault at or before that byte.

    One honest exception, at the very end of an open log: a sector that is all NUL, or a NUL in the place of the last
    line feed, is what a crash leaves.
    """
    changed = bytearray(data)
    changed[place] = value
    report = scan(bytes(changed))
    if report.state == "torn":
        assert value == 0
        assert report.good_bytes == data.rfind(b"\n", 0, -1) + 1 <= place
        return "torn by a NUL in the last line"
    if (
        value == 0x0A and place < 2
    ):  # the first line is empty, or a brace as in any JSON: nothing says it was a log
        assert report.state == "not a log"
        return "not a log"
    assert report.state == "broken", (place, value)
    assert report.fault is not None
    assert report.fault.byte <= place
    assert report.fault.line <= data[:place].count(b"\n") + 1
    return "broken"


def flip_bits(data: bytes, places: Iterator[int], tally: Tally) -> None:
    for place in places:
        require_found(data, place // 8, data[place // 8] ^ 1 << place % 8)
        tally.add("bits flipped")


@pytest.mark.parametrize("seal", [True, False])
def test_a_flipped_bit_is_broken_at_or_before_its_line(tmp_path: Path, seal: bool) -> None:
    data = sealed_bytes(tmp_path, scar=True, seal=seal)
    tally = Tally("bit flips", least=1_000, seed=20261125)
    flip_bits(data, iter(Random(tally.seed).sample(range(len(data) * 8), 1_000)), tally)
    tally.close()


@pytest.mark.deep
@pytest.mark.parametrize("seal", [True, False])
def test_every_flipped_bit_is_broken_at_or_before_its_line(tmp_path: Path, seal: bool) -> None:
    data = sealed_bytes(tmp_path, scar=True, seal=seal)
    tally = Tally("bit flips", least=len(data) * 8)
    flip_bits(data, iter(range(len(data) * 8)), tally)
    tally.close()


def test_another_byte_is_broken(tmp_path: Path) -> None:
    data = sealed_bytes(tmp_path, seal=False)
    tally, draw = Tally("bytes changed", least=1_000, seed=7), Random(7)
    for _ in range(1_000):
        place = draw.randrange(len(data))
        tally.add(require_found(data, place, (data[place] + draw.randrange(1, 256)) % 256))
    tally.close()


@pytest.mark.deep
@pytest.mark.parametrize("seal", [True, False])
def test_every_byte_changed_to_every_other_is_broken(tmp_path: Path, seal: bool) -> None:
    data = sealed_bytes(tmp_path, count=1 if seal else 3, seal=seal, scar=seal)
    assert len(data) >= 1_000
    tally = Tally("bytes changed", least=int(len(data) * 255 * SHARE))
    step = round(1 / SHARE)
    for place in range(0, len(data), step):
        for value in range(256):
            if value != data[place]:
                tally.add(require_found(data, place, value))
    tally.close()
    # The NUL in the place of the last line feed: even a seal may lose that in a crash. It is never COMPLETE.
    assert tally.seen["torn by a NUL in the last line"] == 1


def test_a_nul_in_place_of_the_last_line_feed_alone_reads_as_a_crash(tmp_path: Path) -> None:
    data = sealed_bytes(tmp_path, seal=False)
    assert require_found(data, len(data) - 1, 0) == "torn by a NUL in the last line"
    for place in range(data.rfind(b"\n", 0, -1) + 1, len(data) - 1):
        assert require_found(data, place, 0) == "broken" or (place + 1) % 512 == 0


# Lines


def damages(lines: list[bytes]) -> Iterator[tuple[str, bytes]]:
    """Each line removed, doubled, blanked, ended otherwise; each pair swapped; each line moved to each other place."""
    for i, each in enumerate(lines):
        before, after = b"".join(lines[:i]), b"".join(lines[i + 1 :])
        yield "doubled", before + each + each + after
        yield "blank before it", before + b"\n" + each + after
        yield "CRLF", before + each[:-1] + b"\r\n" + after
        yield "trailing space", before + each[:-1] + b" \n" + after
        yield "foreign before it", before + b'{"a":1}\n' + each + after
        if i < len(lines) - 1:
            yield "removed", before + after
        rest = [*lines[:i], *lines[i + 1 :]]
        for j in range(len(lines)):
            if j < i:
                swapped = list(lines)
                swapped[i], swapped[j] = swapped[j], swapped[i]
                yield "swapped", b"".join(swapped)
            if j != i:
                yield "moved", b"".join([*rest[:j], each, *rest[j:]])


def line_damages(folder: Path, tally: Tally, step: int) -> None:
    lines = lines_of(sealed_bytes(folder, count=28, seal=False))
    assert len(lines) >= 30
    made = list(damages(lines))
    for sort, data in made[Random(tally.seed).randrange(step) :: step]:
        report = scan(data)
        # A swap of neighbours is both a move up and a move down; what begins with another line is no log at all.
        first = data.startswith(lines[0])
        assert report.state == "broken" or (not first and report.state == "not a log"), sort
        tally.add(sort)


def test_lines_removed_doubled_swapped_moved_are_not_overlooked(tmp_path: Path) -> None:
    tally = Tally("lines damaged", least=180, seed=3)
    line_damages(tmp_path, tally, 8)
    tally.close()
    assert len(tally.seen) == 8


@pytest.mark.deep
def test_every_line_removed_doubled_swapped_moved_is_not_overlooked(tmp_path: Path) -> None:
    tally = Tally("lines damaged", least=5 * 30 + 29 + 30 * 29 // 2 + 30 * 29)
    line_damages(tmp_path, tally, 1)
    tally.close()
    assert {"swapped", "moved", "removed", "doubled", "CRLF", "trailing space"} <= set(tally.seen)


def test_without_its_seal_a_log_is_open(tmp_path: Path) -> None:
    data = b"".join(lines_of(whole(tmp_path))[:-1])
    report = scan(data)
    assert report.state == "open"
    lines = data.count(b"\n")
    assert report.summary() == f"OPEN: 8 entries, not sealed; it ends after line {lines}, byte {len(data)}."


def test_a_line_of_another_run_does_not_verify(tmp_path: Path) -> None:
    """Not even one of the same content at the same place, put there by an honest writer."""
    outside, tally = SetOutside(), Tally("lines pasted", least=80)
    logs = []
    for name in ("one.jsonl", "two.jsonl"):
        outside.wall_ms, outside.mono_ms = 1_780_000_000_000, 5_000
        with start(tmp_path, outside, name) as writer:
            fill(writer, outside, 8)
        logs.append(lines_of(writer.path.read_bytes()))
    mine, theirs = logs
    assert mine[3][:-73] == theirs[3][:-73]
    for i in range(len(mine)):
        for pasted in theirs[1:]:
            data = b"".join([*mine[: i + 1], pasted, *mine[i + 1 :]])
            assert scan(data).state == "broken"
            tally.add("inserted" if i + 1 < len(mine) else "at the end")
        replaced = b"".join([*mine[:i], theirs[i], *mine[i + 1 :]])
        assert scan(replaced).state == "broken"
        tally.add("in the same place")
    tally.close()


# Forgers


def forged(lines: list[bytes], heads: list[bytes], i: int, last: int) -> bytes:
    """Line `i` rewritten, and the chain values from there up to `last` computed anew."""
    made, head = list(lines), heads[i]
    made[i] = made[i].replace(b'"mono_ms":', b'"mono_ms":1')
    for at in range(i, last + 1):
        made[at], head = line.link(head, made[at][:-73] + b"}")
    return b"".join(made)


def open_log(folder: Path) -> tuple[list[bytes], list[bytes], Report]:
    lines = lines_of(sealed_bytes(folder, count=28, seal=False))
    original = scan(b"".join(lines))
    return lines, [line.root(), *(entry.head for entry in original.records)], original


def test_only_the_last_line_can_be_rewritten_unseen(tmp_path: Path) -> None:
    """Its own hash recomputed and nothing else: seen everywhere but at the very end, where only a receipt tells."""
    lines, heads, original = open_log(tmp_path)
    tally = Tally("own hash recomputed", least=29)
    for i in range(1, len(lines)):
        report = scan(forged(lines, heads, i, i))
        at_end = i == len(lines) - 1
        assert report.state == ("open" if at_end else "broken")
        tally.add("not seen" if at_end else "broken")
        if at_end:
            assert not line.same_receipt(line.receipt(original.head), report.head)
    tally.close()
    assert tally.seen["not seen"] == 1


def test_a_chain_computed_anew_and_a_plain_cut_are_found_by_the_receipt_only(tmp_path: Path) -> None:
    """What a chain without a key does not protect against; the page says so in the same words."""
    lines, heads, original = open_log(tmp_path)
    written = line.receipt(original.head)
    tally = Tally("chain computed anew, or cut", least=58)
    for i in range(1, len(lines)):
        rewritten = scan(forged(lines, heads, i, len(lines) - 1))
        cut = scan(b"".join(lines[:i]))
        for report in (rewritten, cut):
            assert report.state == "open"
            assert not any(line.same_receipt(written, entry.head) for entry in report.records)
            tally.add("found by the receipt alone")
    tally.close()


def test_a_seal_taken_off_and_a_log_made_anew_are_found_by_the_shops_list(tmp_path: Path) -> None:
    outside = SetOutside()
    with create(tmp_path, "a.jsonl", {}, outside) as writer:
        note_start(tmp_path, writer.run, "wheel", writer.head, outside)
        fill(writer, outside, 3)
        sealed = writer.seal({"end": "finished"}, outside.now())
        note_seal(tmp_path, writer.run, sealed.n, sealed.head, outside)
    listed, path = read_shop(tmp_path), writer.path
    assert missing_runs(listed, find_logs(tmp_path)) == ()
    lines = lines_of(path.read_bytes())
    heads = [line.root(), *(entry.head for entry in scan(path.read_bytes()).records)]
    path.write_bytes(b"".join(lines[:-1]))
    assert scan(path.read_bytes()).state == "open"
    assert len(missing_runs(listed, find_logs(tmp_path))) == 1
    anew = forged(lines[:-1], heads, 1, len(lines) - 2)
    before = scan(anew)
    body = lines[-1][:-73].replace(heads[-2].hex().encode(), before.head.hex().encode()) + b"}"
    path.write_bytes(anew + line.link(before.head, body)[0])
    assert scan(path.read_bytes()).state == "complete"
    assert len(missing_runs(listed, find_logs(tmp_path))) == 1


@pytest.mark.deep
def test_many_changes_at_once_never_give_a_wrong_entry(tmp_path: Path) -> None:
    """Any number of bytes changed, put in and taken out of a sealed log: what is read is a prefix of what was there."""
    data = whole(tmp_path)
    full = scan(data).records
    tally = Tally("changes at once", least=int(20_000 * SHARE), seed=secrets.randbelow(1_000_000))
    draw = Random(tally.seed)
    while tally.total < tally.least:
        changed = bytearray(data)
        for _ in range(draw.randrange(1, 6)):
            place = draw.randrange(len(changed))
            size = draw.randrange(1, 40)
            changed[place : place + draw.choice((0, size))] = draw.randbytes(draw.choice((0, size)))
        report = scan(bytes(changed))
        assert report.records == full[: report.count]
        assert report.state != "complete" or bytes(changed) == data
        tally.add(report.state)
    tally.close()
