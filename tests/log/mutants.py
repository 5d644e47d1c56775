# ruff: noqa: E501  one fault a line
"""Faults planted in the log's code, one at a time, and the quick test that must notice each.

A fault is a line of a function rewritten; wherever the log holds the function, the changed one takes its place. A line
that is not found fails the test, so that the table follows the code.
"""

import importlib
import inspect
import itertools
import sys
import textwrap
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from runner.log import chainfile, line, place, scan, tail, takeup, writer
from tests.log.makelog import sealed_bytes

CRASH = "test_crash.test_whatever_a_crash_leaves_the_run_goes_on"
MEDIUM = "test_crash.test_after_a_failed_sync_only_the_medium_is_believed"
ORDER = "test_calls.test_each_write_is_on_the_medium_before_the_next_one"
CALLS = "test_calls.test_the_order_of_calls_is_what_durability_rests_on"
SYNC = "test_calls.test_a_failed_sync_is_never_tried_again"
FULL = "test_calls.test_a_full_disk_may_be_tried_again_and_leaves_no_trace"
DEAD = "test_calls.test_any_other_failed_write_ends_the_writer"
SHORT = "test_short_writes.test_short_writes_leave_one_scar"
MENDING = "test_short_writes.test_short_writes_while_mending_are_mended_too"
AGAIN = "test_short_writes.test_what_is_torn_again_and_again_is_never_more_than_a_reader_steps_over"
STILL_READ = "test_short_writes.test_whatever_is_torn_and_can_be_resumed_stays_readable"
COUNTS = "test_short_writes.test_what_a_short_write_left_counts_for_nothing"
CUT = "test_damage.test_cut_at_every_byte_it_is_an_exact_prefix_and_never_complete"
BITS = "test_damage.test_a_flipped_bit_is_broken_at_or_before_its_line"
LINES = "test_damage.test_lines_removed_doubled_swapped_moved_are_not_overlooked"
OWN = "test_damage.test_only_the_last_line_can_be_rewritten_unseen"
PASTE = "test_damage.test_a_line_of_another_run_does_not_verify"
WRONG = "test_scan.test_a_right_chain_does_not_excuse_wrong_entries"
BEHIND = "test_scan.test_the_bytes_behind_the_last_entry"
SCAR = "test_scan.test_a_scar_must_account_for_its_fragment"
WHOLE = "test_scan.test_a_sealed_log_is_complete_and_tells_everything"
NEAR_WHOLE = "test_scan.test_a_whole_entry_without_its_line_feed_is_known"
FIRST = "test_scan.test_a_first_line_alone_is_judged_by_its_end"
OTHERS = "test_scan.test_other_files_are_not_logs"
FAULT = "test_scan.test_the_fault_says_line_byte_and_why"
SECTOR = "test_scan.test_an_entry_with_an_empty_sector_is_torn"
EDGES = "test_scan.test_sectors_are_those_of_the_file_also_behind_a_cut_mark"
HALF = "test_scan.test_half_a_cut_mark_at_the_edge_of_a_sector_is_torn"
SEALED = "test_scan.test_nothing_may_follow_a_seal"
VERSION = "test_scan.test_an_unknown_version_is_refused_by_name"
OLDER = "test_scan.test_an_older_version_is_raised_step_by_step"
BOOT = "test_scan.test_boot_and_offset_are_those_last_named"
LEAP = "test_clock.test_a_leap_second_written_as_60_is_read"
CLOCK = "test_clock.test_a_clock_that_is_set_is_recorded_and_order_stays"
ANY_CLOCK = "test_clock.test_any_clock_is_told_and_refuses_nothing"
TORN = "test_writer.test_a_torn_end_stays_in_the_file_as_a_scar"
HEAL = "test_writer.test_an_entry_without_its_line_feed_is_healed_and_pointed_at"
CHANGED = "test_writer.test_a_changed_log_is_not_resumed_and_not_touched"
UNSTARTED = "test_writer.test_what_is_no_started_run_is_not_resumed"
FOREIGN = "test_writer.test_a_foreign_byte_stops_the_log"
TAKEN = "test_writer.test_a_log_taken_from_under_the_writer_stops_it"
HELD = "test_writer.test_the_lock_outlives_an_unrelated_reader_in_the_same_process"
CLOSED = "test_writer.test_a_closed_writer_takes_nothing"
UNFIT = "test_writer.test_what_cannot_be_written_is_refused_and_the_log_goes_on"
AFTER_SEAL = "test_writer.test_nothing_follows_a_seal"
LINKS = "test_writer.test_links_and_other_things_are_refused_not_followed"
MODES = "test_writer.test_who_else_may_write_is_remarked_or_refused"
RESUMED = "test_writer.test_resuming_records_who_when_and_what_was_found"


@dataclass(frozen=True)
class Mutant:
    """One line of the log's code made wrong."""

    module: ModuleType
    name: str
    old: str
    new: str
    noticed_by: str
    """The quick test that fails with it, as module and function of `tests/log`."""

    def plant(self, patch: pytest.MonkeyPatch) -> None:
        """Put the wrong function where the right one is held."""
        holder: Any = self.module
        *owners, last = self.name.split(".")
        for owner in owners:
            holder = getattr(holder, owner)
        right = inspect.getattr_static(holder, last)
        source = textwrap.dedent(inspect.getsource(right))
        assert source.count(self.old) == 1, f"{self.name} has not one {self.old!r}"
        made: dict[str, Any] = {}
        changed = compile(source.replace(self.old, self.new), self.module.__file__ or "", "exec")
        exec(changed, vars(self.module), made)
        patch.setattr(holder, last, made[last])
        for name, module in list(sys.modules.items()):
            if name.startswith(("runner.", "tests.log.")):
                for key, held in list(vars(module).items()):
                    if held is right:
                        patch.setattr(module, key, made[last])


def run(test: str, folder: Path) -> None:
    """Run a quick test as pytest would, with each of its parameters; its error is what notices a fault."""
    where, name = test.split(".")
    function = getattr(importlib.import_module(f"tests.log.{where}"), name)
    cases: list[dict[str, Any]] = [{}]
    for mark in getattr(function, "pytestmark", []):
        if mark.name == "parametrize":
            names = mark.args[0].split(",") if isinstance(mark.args[0], str) else mark.args[0]
            values = [each if len(names) > 1 else (each,) for each in mark.args[1]]
            more = [dict(zip(names, each, strict=True)) for each in values]
            cases = [{**one, **two} for one, two in itertools.product(cases, more)]
    wanted = inspect.signature(function).parameters
    for number, case in enumerate(cases):
        here = folder / str(number)
        (here / "whole").mkdir(parents=True)
        with pytest.MonkeyPatch.context() as patch:
            given = {"tmp_path": here, "monkeypatch": patch}
            if "whole" in wanted:
                given["whole"] = sealed_bytes(here / "whole", scar=True)
            function(**case, **{key: value for key, value in given.items() if key in wanted})


MUTANTS = (
    # chainfile: the end of the file, and what is made of the system's answers
    Mutant(chainfile, "ChainFile.go_on_from", "good_bytes + len(fragment)", "good_bytes", TORN),
    Mutant(chainfile, "ChainFile.go_on_from", "self._fragment = fragment", "self._fragment = b''", TORN),
    Mutant(chainfile, "ChainFile.go_on_from", "self.head = head", "pass", RESUMED),
    Mutant(chainfile, "ChainFile.go_on_from", "self.count = count", "pass", RESUMED),
    Mutant(chainfile, "ChainFile.put", "if self._why_latched is not None:", "if False:", "test_chainfile.test_a_sync_is_not_tried_again_by_hand"),
    Mutant(chainfile, "ChainFile.put", "len(canonical) + _FRAME > limit", "False", UNFIT),
    Mutant(chainfile, "ChainFile.put", "self.mend(stamp)", "pass", TORN),
    Mutant(chainfile, "ChainFile.mend", "if self._fragment:", "if True:", RESUMED),
    Mutant(chainfile, "ChainFile.sync", "self._files.fdatasync(self._fd)", "pass", CRASH),
    Mutant(chainfile, "ChainFile.sync", "if self._why_latched is not None:", "if False:", "test_chainfile.test_a_sync_is_not_tried_again_by_hand"),
    Mutant(chainfile, "ChainFile.sync", "raise self._latch(f\"the disk did not confirm the entry ({_reason(error)})\") from error", "raise NotRecorded('the disk did not confirm the entry', may_retry=False) from error", SYNC),
    Mutant(chainfile, "ChainFile.close", "self._why_latched or \"the log is closed\"", "self._why_latched", CLOSED),
    Mutant(chainfile, "ChainFile.close", "self._files.close(fd)", "pass", HELD),
    Mutant(chainfile, "ChainFile.close", "if self._fd >= 0:", "if True:", "test_chainfile.test_closing_twice_closes_once"),
    Mutant(chainfile, "ChainFile._put_scar", "self.sync()\n    fragment", "fragment", ORDER),
    Mutant(chainfile, "ChainFile._put_scar", "self._fragment += line.CUT\n    self.sync()", "self._fragment += line.CUT", ORDER),
    Mutant(chainfile, "ChainFile._put_scar", "self._fragment = b\"\"\n    self.sync()", "self._fragment = b\"\"", ORDER),
    Mutant(chainfile, "ChainFile._put_scar", "self._size - len(fragment)", "self._size", TORN),
    Mutant(chainfile, "ChainFile._put_scar", "self._write(line.CUT)", "pass", TORN),
    Mutant(chainfile, "ChainFile._put_scar", "self._fragment += line.CUT", "pass", MENDING),
    Mutant(chainfile, "ChainFile._put_scar", "self._fragment = b\"\"", "pass", TORN),
    Mutant(chainfile, "ChainFile._put_scar", "len(fragment) + _SCAR_ROOM > line.SCAR_LIMIT", "False", AGAIN),
    Mutant(chainfile, "ChainFile._put_scar", "len(fragment) + _SCAR_ROOM > line.SCAR_LIMIT", "True", TORN),
    Mutant(chainfile, "ChainFile._put_line", "self.count += 1", "pass", RESUMED),
    Mutant(chainfile, "ChainFile._put_line", "self.head = head", "pass", RESUMED),
    Mutant(chainfile, "ChainFile._write", "self._require_untouched()", "pass", FOREIGN),
    Mutant(chainfile, "ChainFile._write", "if error.errno in _FULL:", "if True:", DEAD),
    Mutant(chainfile, "ChainFile._write", "if error.errno in _FULL:", "if False:", FULL),
    Mutant(chainfile, "ChainFile._write", "if written == len(data) - 1:", "if False:", SHORT),
    Mutant(chainfile, "ChainFile._write", "self._size += written\n    self._fragment", "self._fragment", SHORT),
    Mutant(chainfile, "ChainFile._write", "self._fragment += data[:written]", "pass", SHORT),
    Mutant(chainfile, "ChainFile._write", "self._fragment += data[:written]", "self._fragment = data[:written]", MENDING),
    Mutant(chainfile, "ChainFile._write", "if written == len(data):", "if True:", SHORT),
    Mutant(chainfile, "ChainFile._require_untouched", "found.st_size != self._size", "False", FOREIGN),
    Mutant(chainfile, "ChainFile._require_untouched", "not os.path.samestat(ours, found)", "False", TAKEN),
    Mutant(chainfile, "ChainFile._require_untouched", "found.st_nlink != 1", "False", TAKEN),
    Mutant(chainfile, "ChainFile._latch", "self._why_latched = why", "pass", FOREIGN),
    Mutant(chainfile, "ChainFile._latch", "self.close()", "pass", "test_chainfile.test_a_writer_that_stopped_gives_the_run_free"),
    # takeup: resuming
    Mutant(takeup, "lock", "files.flock(fd)", "pass", HELD),
    Mutant(takeup, "_held", "(record.RUN, record.OPENED)", "(record.OPENED,)", HELD),
    Mutant(takeup, "reread", "files.fdatasync(fd)", "pass", CALLS),
    Mutant(takeup, "reread", "files.fadvise(fd)", "pass", MEDIUM),
    Mutant(takeup, "reread", "if report.state == \"broken\":", "if False:", CHANGED),
    Mutant(takeup, "reread", "if report.header is None:", "if False:", UNSTARTED),
    Mutant(takeup, "reread", "files.fsync_dir(chain.path.parent)", "pass", CALLS),
    Mutant(takeup, "reread", "if report.tail else b\"\"", "if False else b\"\"", TORN),
    Mutant(takeup, "reread", "report.tail.kind != \"whole\"", "True", HEAL),
    Mutant(takeup, "reread", "chain.heal_line_end()", "pass", HEAL),
    Mutant(takeup, "reread", "chain.sync()", "pass", "test_chainfile.test_a_healed_line_feed_is_synced_before_anything_follows"),
    Mutant(takeup, "reread", "tail=report.tail", "tail=None", HEAL),
    Mutant(takeup, "reread", "chain.go_on_from(healed.count, healed.head, healed.good_bytes, b\"\")", "pass", HEAL),
    # scan: the verdict
    Mutant(scan, "Scanner.__iter__", "self._entry(raw) or self._mend(raw)", "self._entry(raw)", CUT),
    Mutant(scan, "Scanner.__iter__", "\"complete\" if self._sealed else \"open\"", "\"complete\"", CUT),
    Mutant(scan, "Scanner._start", "not versions.known(self._version)", "False", VERSION),
    Mutant(scan, "Scanner._start", "line.follow(self._head, raw)", "pass", VERSION),
    Mutant(scan, "Scanner._start", "self._head = line.root(self._version)", "pass", VERSION),
    Mutant(scan, "Scanner._start", "not tail.looks_like_first(raw)", "False", OTHERS),
    Mutant(scan, "Scanner._start", "raw.endswith(b\"\\n\") or", "", BITS),
    Mutant(scan, "Scanner._start", "or self._begins_whole(raw)", "", FIRST),
    Mutant(scan, "Scanner._entry", "if self._sealed:", "if False:", SEALED),
    Mutant(scan, "Scanner._entry", "entry.kind == record.SCAR", "False", WRONG),
    Mutant(scan, "Scanner._read", "tail.out_of_place(raw, self._n) or str(error)", "str(error)", FAULT),
    Mutant(line, "said", "type(value) is not dict or value.keys() != _KEYS", "type(value) is not dict", WRONG),
    Mutant(line, "said", "type(read_off.data) is not dict or", "", WRONG),
    Mutant(line, "said", "type(read_off.mono_ms) is not int or", "", WRONG),
    Mutant(line, "said", "or type(read_off.n) is not int", "", WRONG),
    Mutant(scan, "Scanner._read", "n != self._n", "False", WRONG),
    Mutant(scan, "Scanner._read", "not line.is_kind(kind) or", "", WRONG),
    Mutant(scan, "Scanner._read", "or (kind == self._first_kind) != (n == 0)", "", WRONG),
    Mutant(scan, "Scanner._read", "self._version != line.VERSION", "False", OLDER),
    Mutant(scan, "Scanner._read", "n == 0 or kind in record.OWN_KINDS", "False", WRONG),
    Mutant(scan, "Scanner._require_own_fields", "abs(data[\"offset_min\"]) > 24 * 60", "False", WRONG),
    Mutant(scan, "Scanner._require_own_fields", "or type(data.get(\"offset_min\")) is not int", "", WRONG),
    Mutant(scan, "Scanner._require_own_fields", "data.get(\"head\") != self._head.hex() or", "", WRONG),
    Mutant(scan, "Scanner._require_own_fields", "or data.get(\"count\") != n", "", WRONG),
    Mutant(scan, "Scanner._stamp", "n == 0 or kind in (record.OPENED, record.CLOCK)", "n == 0", BOOT),
    Mutant(scan, "Scanner._stamp", "seconds is not None and", "", "test_chainfile.test_the_quick_way_to_read_a_time_takes_no_other_second"),
    Mutant(scan, "Scanner._take", "self._head = entry.head", "pass", WHOLE),
    Mutant(scan, "Scanner._take", "self._byte += size", "pass", WHOLE),
    Mutant(scan, "Scanner._take", "self._lines = entry.line", "pass", WHOLE),
    Mutant(scan, "Scanner._take", "self._sealed = entry.kind == record.SEAL", "pass", WHOLE),
    Mutant(scan, "Scanner._mend", "not self._sealed and", "", SEALED),
    Mutant(scan, "Scanner._mend", "len(leftover) <= line.SCAR_LIMIT", "len(leftover) <= line.LINE_LIMIT", STILL_READ),
    Mutant(scan, "Scanner._mend", "leftover += raw", "leftover = raw", BEHIND),
    Mutant(scan, "Scanner._mend", "leftover.endswith(line.CUT) and", "", SCAR),
    Mutant(scan, "Scanner._scar", "entry.data == stated", "True", SCAR),
    Mutant(scan, "Scanner._judge_tail", "leftover[whole:] != _LOST_END", "True", NEAR_WHOLE),
    Mutant(scan, "Scanner._judge_tail", "whole is not None and leftover[whole:] != _LOST_END", "False", NEAR_WHOLE),
    Mutant(scan, "Scanner._judge_tail", "not tail.is_torn(leftover, self._byte) or", "", BEHIND),
    Mutant(scan, "Scanner._judge_tail", "line.CUT in leftover and", "False and", "test_chainfile.test_a_scar_without_its_line_feed_is_healed"),
    Mutant(scan, "Scanner._begins_whole", "(b\"\", _LOST_END)", "(b\"\",)", FIRST),
    # tail: a crash or damage
    Mutant(tail, "is_torn", "healing and not _begins_as_cut(piece)", "False", BEHIND),
    Mutant(tail, "is_torn", "len(piece.rstrip(_MARKS)) > line.LINE_LIMIT", "False", BEHIND),
    Mutant(tail, "is_torn", "len(piece) > _LONGEST", "False", BEHIND),
    Mutant(tail, "is_torn", "len(leftover) + len(line.CUT) > line.SCAR_LIMIT", "False", BEHIND),
    Mutant(tail, "is_torn", "or not _may_end(piece, at)", "", BEHIND),
    Mutant(tail, "is_torn", "at += len(piece)", "pass", EDGES),
    Mutant(tail, "is_torn", "healing = not piece.endswith(line.CUT)", "healing = True", BEHIND),
    Mutant(tail, "_may_end", "or piece.endswith(line.CUT)", "", BEHIND),
    Mutant(tail, "_may_end", "or _has_empty_sector(piece, byte)", "", SECTOR),
    Mutant(tail, "_may_end", "or _ends_in_half_a_cut(piece, byte)", "", HALF),
    Mutant(tail, "_begins_as_cut", "in (0, there)", "== there", HALF),
    Mutant(tail, "_ends_in_half_a_cut", "lost > 0 and", "", HALF),
    Mutant(tail, "_has_empty_sector", "(byte + start) % _SECTOR", "start % _SECTOR", SECTOR),
    Mutant(tail, "_has_empty_sector", "start = stop", "return False", SECTOR),
    Mutant(tail, "out_of_place", "int(match[1]) == n", "False", FAULT),
    # line: the chain
    Mutant(line, "follow", "(previous, line[:cut])", "(b\"\", line[:cut])", WHOLE),
    Mutant(line, "follow", "hexlify(head) != line[cut + 6 : -3]", "False", BITS),
    Mutant(line, "whole_until", "sha256(previous)", "sha256()", NEAR_WHOLE),
    # writer: what is recorded when
    Mutant(writer, "LogWriter._record", "if self._sealed:", "if False:", AFTER_SEAL),
    Mutant(writer, "LogWriter._record", "self._chain.sync()  # by itself: a crash may leave one unfinished entry, never two", "pass", ORDER),
    Mutant(writer, "LogWriter._record", "if jump is not None", "if False", CLOCK),
    Mutant(writer, "LogWriter._record", "self._chain.mend(stamp)", "pass", "test_short_writes.test_a_seal_may_follow_a_short_write_at_once"),
    Mutant(writer, "clock_jump", "abs(step_ms) <= CLOCK_SLACK_MS", "step_ms <= CLOCK_SLACK_MS", CLOCK),
    Mutant(writer, "clock_jump", "and before.offset_min == after.offset_min", "", ANY_CLOCK),
    Mutant(writer, "create", "_sync_folder(files, folder)", "pass", CALLS),
    Mutant(writer, "create", "chain.sync()", "pass", CALLS),
    Mutant(writer, "reopen", "if report.state == \"complete\":", "if False:", AFTER_SEAL),
    Mutant(place, "require_regular", "stat.S_ISLNK(found.st_mode)", "False", LINKS),
    Mutant(place, "require_regular", "found.st_nlink != 1", "False", LINKS),
    Mutant(place, "folder_remarks", "found.st_mode & stat.S_IWOTH and", "False and", MODES),
)  # fmt: skip
