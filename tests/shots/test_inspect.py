"""A folder judged from a terminal."""

import io
import json

import pytest
from django.core.management import CommandError, call_command

from shots.management.commands.inspect import (
    Command,
    inspect_folder,
    list_files,
    progress_bar,
)
from shots.reading import PictureError
from tests.stills import Set, still

SET = Set((640, 360), 4, puppet=0.06)


@pytest.fixture(scope="module")
def stills():
    return [still(SET, n) for n in range(4)]


@pytest.fixture
def folder(tmp_path, stills):
    for one in stills:
        (tmp_path / one.name).write_bytes(one.data)
    return tmp_path


def inspected(folder, *options) -> tuple[int, str, str]:
    """Exit status, output and errors."""
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("inspect", str(folder), *options, stdout=out, stderr=err)
    except SystemExit as stop:
        return stop.code, out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def test_a_clean_folder_is_fine_and_its_report_has_the_agreed_shape(folder):
    status, out, err = inspected(folder, "--json")
    assert (status, err) == (0, "")
    report = json.loads(out)
    assert set(report) == {"frames", "missing", "session", "unreadable"}
    assert [frame["file"] for frame in report["frames"]] == [f"P000{n}.jpg" for n in range(1, 5)]
    assert set(report["frames"][0]) == {"file", "flags", "measure", "not_measurable"}
    assert set(report["frames"][0]["measure"]) == {"gain", "rb", "dx", "dy", "rot", "sharp"}
    assert report["session"] == {
        "start": "2026-03-02T15:55:55",
        "end": "2026-03-02T15:56:55",
        "gap_s": 600,
        "breaks": [],
        "active_s": 60.0,
        "pictures": 4,
        "per_hour": 240.0,
    }


def test_something_flagged_is_status_one_and_said_in_words(folder):
    (folder / "P0003.jpg").write_bytes(still(SET, 2, gain=1.1).data)
    status, out, _ = inspected(folder)
    assert status == 1
    assert "P0003.jpg: light +" in out
    assert "in this picture only" in out


def test_a_hold_alone_is_fine(folder):
    (folder / "P0003.jpg").write_bytes(still(SET, 2, pose=1).data)
    status, out, _ = inspected(folder)
    assert status == 0
    assert "P0003.jpg: nothing moved since P0002.jpg: held" in out


def test_each_bad_file_has_its_sentence_and_the_rest_go_on(folder, stills):
    (folder / "P0005.jpg").write_bytes(b"")
    (folder / "P0006.jpg").write_bytes(stills[0].data[:5000])
    (folder / "notes.txt").write_text("felt, wire")
    (folder / ".hidden").write_text("left by the system")
    (folder / "inside").mkdir()
    status, out, err = inspected(folder, "--json")
    assert status == 1
    assert err.splitlines() == json.loads(out)["unreadable"]
    assert [line.split()[0] for line in err.splitlines()] == ["notes.txt", "P0005.jpg", "P0006.jpg"]
    assert len(json.loads(out)["frames"]) == 4
    assert json.loads(out)["missing"] == []


def test_missing_numbers_are_something_to_look_at(folder):
    (folder / "P0003.jpg").unlink()
    status, out, _ = inspected(folder)
    assert status == 1
    assert "Missing numbers: 3" in out


def test_what_could_not_be_done_is_status_two(tmp_path):
    for wrong in (tmp_path / "none", tmp_path):
        with pytest.raises(CommandError) as refused:
            call_command("inspect", str(wrong))
        assert refused.value.returncode == 2
    (tmp_path / "notes.txt").write_text("felt")
    assert inspected(tmp_path)[0] == 2


def test_declared_changes_are_no_fault(folder):
    (folder / "P0003.jpg").write_bytes(still(SET, 2, gain=1.1, shift=(3.0, 0, 0)).data)
    assert inspected(folder, "--light-change", "--camera-move")[0] == 0


def test_files_come_in_the_order_of_their_numbers(tmp_path):
    for name in ("P10.jpg", "P9.jpg", "P1.JPG", "Thumbs.db"):
        (tmp_path / name).write_bytes(b"x")
    assert [path.name for path in list_files(tmp_path)] == ["P1.JPG", "P9.jpg", "P10.jpg"]


def test_each_file_is_counted_as_it_is_done(folder):
    seen = []
    inspect_folder(folder, progress=lambda done, of: seen.append((done, of)))
    assert seen == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_a_folder_that_is_a_file_is_refused(folder):
    with pytest.raises(PictureError, match="cannot be opened as a folder"):
        inspect_folder(folder / "P0001.jpg")


def test_a_name_commands_no_terminal(tmp_path, capsys):
    (tmp_path / "bad\033[31m.jpg").write_bytes(b"no picture")
    with pytest.raises(SystemExit):
        call_command("inspect", str(tmp_path))
    assert "bad[31m.jpg is not a picture" in capsys.readouterr().err


def test_the_bar_is_drawn_on_a_terminal_only():
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    terminal, pipe = Terminal(), io.StringIO()
    for stderr in (terminal, pipe):
        progress_bar(Command(stderr=stderr, force_color=True).stderr)(15, 30)
    assert terminal.getvalue() == "\r███████████████░░░░░░░░░░░░░░░ 15 of 30"
    assert pipe.getvalue() == ""
