"""Procedures loaded from files: what is read, what is hashed, and which files may not be used."""

import hashlib
import os

import pytest
from procedure_text import whole

from runner.procedure.link import load_procedure

USE = whole("steps: [{step: a, do: A}, {use: parts/lift.yaml}]")
LIFT = whole("procedure: lift\nsteps: [{step: raise, do: Raise it.}]")


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "shop" / "parts").mkdir(parents=True)
    (tmp_path / "shop" / "job.yaml").write_text(USE, "utf-8")
    (tmp_path / "shop" / "parts" / "lift.yaml").write_text(LIFT, "utf-8")
    return tmp_path / "shop"


def test_a_procedure_and_its_files_are_hashed_as_read(folder):
    procedure, found = load_procedure(folder / "job.yaml")
    assert found == []
    assert procedure.files == (
        ("job.yaml", hashlib.sha256(USE.encode()).hexdigest()),
        ("parts/lift.yaml", hashlib.sha256(LIFT.encode()).hexdigest()),
    )
    assert procedure.by_id["lift/raise"].mark.file == "parts/lift.yaml"


def test_a_path_is_relative_to_the_file_it_stands_in(folder):
    (folder / "parts" / "lift.yaml").write_text(whole("procedure: lift\nsteps: [{use: more.yaml}]"), "utf-8")
    (folder / "parts" / "more.yaml").write_text(LIFT.replace("procedure: lift", "procedure: more"), "utf-8")
    procedure, _ = load_procedure(folder / "job.yaml")
    assert [name for name, _ in procedure.files] == ["job.yaml", "parts/lift.yaml", "parts/more.yaml"]


def test_findings_of_all_files_come_back_with_their_lines(folder):
    (folder / "job.yaml").write_text(USE.replace("do: A", "do: A, tools: [wrench]"), "utf-8")
    (folder / "parts" / "lift.yaml").write_text(
        LIFT.replace("do: Raise it.", "do: R, tools: [jack]"), "utf-8"
    )
    procedure, found = load_procedure(folder / "job.yaml")
    assert procedure is None
    assert [(one.file, one.rule) for one in found] == [
        ("job.yaml", "unknown-tool"),
        ("parts/lift.yaml", "unknown-tool"),
    ]
    assert "tools: [jack]" in found[1].excerpt


def test_an_error_of_reading_a_used_file_is_reported_once(folder):
    (folder / "job.yaml").write_text(USE.replace("{step: a, do: A}", "{use: parts/lift.yaml}"), "utf-8")
    (folder / "parts" / "lift.yaml").write_text(LIFT.replace("do:", "doo:"), "utf-8")
    procedure, found = load_procedure(folder / "job.yaml")
    assert procedure is None
    assert {(one.file, one.rule) for one in found} == {
        ("parts/lift.yaml", "unknown-key"),
        ("parts/lift.yaml", "missing-key"),
    }
    assert len(found) == len(set(found))


@pytest.mark.parametrize("name", ["missing.yaml", "parts"])
def test_a_main_file_that_cannot_be_read_is_reported(folder, name):
    procedure, found = load_procedure(folder / name)
    assert procedure is None
    assert [one.file for one in found] == [name]


def test_a_missing_file_is_reported_where_it_is_used(folder):
    (folder / "parts" / "lift.yaml").unlink()
    _, found = load_procedure(folder / "job.yaml")
    line = USE[: USE.index("parts/lift")].count("\n") + 1
    assert [(one.file, one.line, one.rule) for one in found] == [("job.yaml", line, "use")]
    assert "there is no file" in found[0].message
    assert found[0].excerpt.startswith("steps:")


def test_a_link_out_of_the_folder_is_refused(folder):
    outside = folder.parent / "outside.yaml"
    outside.write_text(LIFT, "utf-8")
    (folder / "parts" / "lift.yaml").unlink()
    os.symlink(outside, folder / "parts" / "lift.yaml")
    procedure, found = load_procedure(folder / "job.yaml")
    assert procedure is None
    assert "leads out of the folder of job.yaml" in found[0].message


def test_a_linked_folder_out_of_the_tree_is_refused(folder):
    (folder / "parts").rename(folder.parent / "parts")
    os.symlink(folder.parent / "parts", folder / "parts", target_is_directory=True)
    _, found = load_procedure(folder / "job.yaml")
    assert "leads out of the folder of job.yaml" in found[0].message


def test_a_link_within_the_folder_is_the_file_it_leads_to(folder):
    os.symlink(folder / "parts" / "lift.yaml", folder / "same.yaml")
    (folder / "job.yaml").write_text(whole("steps: [{use: same.yaml}, {use: parts/lift.yaml}]"), "utf-8")
    procedure, _ = load_procedure(folder / "job.yaml")
    assert [name for name, _ in procedure.files] == ["job.yaml", "parts/lift.yaml"]


def test_a_link_that_leads_to_itself_is_refused(folder):
    (folder / "parts" / "lift.yaml").unlink()
    os.symlink(folder / "parts" / "lift.yaml", folder / "parts" / "lift.yaml")
    procedure, found = load_procedure(folder / "job.yaml")
    assert procedure is None
    assert found[0].rule == "use"


def test_a_file_that_uses_the_main_one_is_a_circle(folder):
    (folder / "parts" / "lift.yaml").write_text(whole("procedure: lift\nsteps: [{use: back.yaml}]"), "utf-8")
    os.symlink(folder / "job.yaml", folder / "parts" / "back.yaml")
    _, found = load_procedure(folder / "job.yaml")
    assert [one.message for one in found] == [
        "files use each other in a circle: job.yaml → parts/lift.yaml → job.yaml"
    ]


def test_a_relative_path_works_from_the_folder_itself(folder, monkeypatch):
    monkeypatch.chdir(folder)
    from pathlib import Path

    procedure, found = load_procedure(Path("job.yaml"))
    assert found == []
    assert len(procedure.files) == 2
