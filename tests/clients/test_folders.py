"""Which files a page may open: none outside the allowed folders, whatever leads there."""

import os
from pathlib import Path

import pytest
from django.core.checks import run_checks

from clients.reading.film import FileRefused
from clients.reading.folders import DEEPEST, allowed_file, newest_files


@pytest.fixture
def films(tmp_path) -> Path:
    folder = tmp_path / "films"
    folder.mkdir()
    (folder / "fox.mp4").write_bytes(b"film")
    (tmp_path / "secret.key").write_text("secret")
    return folder


def refused(typed: str, folder: Path) -> str:
    with pytest.raises(FileRefused) as refusal:
        allowed_file(typed, [folder])
    return str(refusal.value)


def test_a_file_is_found_by_its_whole_path_or_from_an_allowed_folder(films):
    (films / "may").mkdir()
    (films / "may" / "owl.mov").write_bytes(b"film")
    assert allowed_file(str(films / "fox.mp4"), [films]) == films / "fox.mp4"
    assert allowed_file(" fox.mp4 ", [films]) == films / "fox.mp4"
    assert allowed_file("may/owl.mov", [films.parent / "other", films]) == films / "may" / "owl.mov"


def test_a_link_inside_is_followed_to_the_file_itself(films):
    (films / "latest.mp4").symlink_to(films / "fox.mp4")
    assert allowed_file("latest.mp4", [films]) == films / "fox.mp4"


def test_an_allowed_folder_may_itself_be_a_link(films, tmp_path):
    (tmp_path / "drive").symlink_to(films)
    assert allowed_file(str(tmp_path / "drive" / "fox.mp4"), [tmp_path / "drive"]).name == "fox.mp4"


@pytest.mark.parametrize("typed", ["/etc/passwd", "/", "/films-and-more/fox.mp4"])
def test_a_path_outside_is_refused_and_says_where_files_may_lie(films, typed):
    said = refused(typed, films)
    assert str(films) in said or "path of one file" in said


def test_a_folder_whose_name_only_begins_alike_is_outside(films):
    beside = films.with_name("films2")
    beside.mkdir()
    (beside / "fox.mp4").write_bytes(b"film")
    assert "allowed folder" in refused(str(beside / "fox.mp4"), films)


@pytest.mark.parametrize(
    "typed", ["../secret.key", "may/../../secret.key", "..", "{top}/../secret.key"]
)
def test_climbing_is_refused(films, typed):
    assert "climb" in refused(typed.format(top=films), films)


def test_a_link_that_leads_out_is_refused(films, tmp_path):
    (films / "out.mp4").symlink_to(tmp_path / "secret.key")
    (films / "away").symlink_to(tmp_path)
    assert "leads out" in refused("out.mp4", films)
    assert "leads out" in refused("away/secret.key", films)


def test_links_in_a_circle_are_no_file(films):
    (films / "a.mp4").symlink_to(films / "b.mp4")
    (films / "b.mp4").symlink_to(films / "a.mp4")
    assert "no such file" in refused("a.mp4", films)


@pytest.mark.parametrize("typed", ["fox\x00.mp4", "fox\n.mp4", "\x1b[31mfox.mp4", "fox\udcff.mp4"])
def test_control_characters_are_refused(films, typed):
    assert "control character" in refused(typed, films)


def test_a_name_that_no_page_can_show_is_neither_listed_nor_opened(films):
    odd = os.fsencode(films) + b"/\xff.mp4"
    Path(os.fsdecode(odd)).write_bytes(b"film")
    (films / "plain.mp4").symlink_to(os.fsdecode(odd))
    assert "rename the file" in refused("plain.mp4", films)
    assert [path.name for path in newest_files([films], (".mp4",), most=9)] == ["fox.mp4"]


@pytest.mark.parametrize("typed", ["", "   ", ".", "none.mp4", "x" * 5000])
def test_what_is_no_file_is_said_in_words(films, typed):
    assert refused(typed, films).endswith((".", "path."))


def test_only_ordinary_files_are_opened(films):
    (films / "folder.mp4").mkdir()
    os.mkfifo(films / "pipe.mp4")
    assert "not an ordinary file" in refused("folder.mp4", films)
    assert "not an ordinary file" in refused("pipe.mp4", films)


def test_the_newest_films_are_listed_without_links_and_hidden_folders(films, tmp_path):
    for place in (".hidden/x.mp4", "a/b/c/deep.mp4", "a/b/c/d/deeper.mp4", "notes.txt", "old.MOV"):
        (films / place).parent.mkdir(parents=True, exist_ok=True)
        (films / place).write_bytes(b"film")
    (films / "out.mp4").symlink_to(tmp_path / "secret.key")
    os.utime(films / "old.MOV", (1, 1))
    os.utime(films / "fox.mp4", (2_000_000_000, 2_000_000_000))
    listed = newest_files([films, tmp_path / "gone"], (".mp4", ".mov"), most=3)
    assert [path.name for path in listed] == ["fox.mp4", "deep.mp4", "old.MOV"]
    assert DEEPEST == 3


@pytest.mark.parametrize(
    ("folder", "name"),
    [("films", "stillcount.E002"), ("{data}/..", "stillcount.E003"), ("/none", "stillcount.W002")],
)
def test_an_unsafe_folder_is_reported_at_the_start(settings, tmp_path, folder, name):
    settings.DATA_DIR = tmp_path / "data"
    settings.DELIVERY_FOLDERS = [Path(folder.format(data=settings.DATA_DIR))]
    assert name in {found.id for found in run_checks()}
