"""A shot list as text: what is read, what is refused in words, and that writing undoes reading."""

import csv
import io
from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from shots.trade.budget import BudgetError
from shots.trade.shot_list import (
    ListedShot,
    ListError,
    decode,
    guarded,
    plain,
    read,
    tidy,
    write,
)

RATE = Fraction(24)
FOX = ListedShot(
    code="A010",
    description="Fox wakes",
    setup="S1",
    difficulty="medium",
    screen_frames=102,
    exposure=2,
    held_frames=12,
    holds=1,
    reused_frames=0,
    handle_frames=6,
    notes="",
)


def errors_of(text: str) -> list[tuple[str, ...]]:
    return [row.errors for row in read(text, RATE).rows]


def test_written_lines_end_in_crlf_and_awkward_fields_are_quoted():
    """RFC 4180 section 2: rules 1 (CRLF), 6 (quoting) and 7 (doubled quotes)."""
    shot = ListedShot(**{**FOX.__dict__, "description": 'Fox says "oh", sits\nand waits'})
    assert write([(shot, "to shoot")], RATE) == (
        "Code,Description,Set-up,Difficulty,Length,Exposure,Held frames,Holds,Reused frames,"
        "Handle frames,Notes,Pictures,Status\r\n"
        'A010,"Fox says ""oh"", sits\nand waits",S1,medium,4 s 06 f,2,12,1,0,6,,49,to shoot\r\n'
    )


@pytest.mark.parametrize("ending", ["", "\r\n", "\n"])
def test_the_last_line_break_is_optional(ending):
    """RFC 4180 section 2, rule 2."""
    assert len(read("Code,Length\r\nA010,4.5" + ending, RATE).rows) == 1


def test_a_quoted_field_may_hold_line_breaks_and_lines_are_counted_through_them():
    """RFC 4180 section 2, rule 6."""
    text = 'Code,Length,Notes\r\nA010,1,"one\r\ntwo"\r\n\r\nA020,2,\r\n'
    rows = read(text, RATE).rows
    assert [(row.line, row.code, row.notes) for row in rows] == [
        (2, "A010", "one\ntwo"),
        (5, "A020", ""),
    ]


@pytest.mark.parametrize(
    "typed", ["4.25", "4,25", "4.25 s", "102 f", "4s06f", "4 s 06 f", "00:00:04:06"]
)
def test_a_length_is_read_however_it_is_typed(typed):
    assert read(f"Code;Length\nA010;{typed}", RATE).rows[0].screen_frames == 102


@pytest.mark.parametrize("mark", [",", ";", "\t"])
def test_commas_semicolons_and_tabs_are_told_apart(mark):
    text = f"Code{mark}Set-up{mark}Length\nA010{mark}S1{mark}2\n"
    row = read(text, RATE).rows[0]
    assert (row.code, row.setup, row.screen_frames) == ("A010", "S1", 48)


@pytest.mark.parametrize("heading", ["Set-up", "setup", "SET UP", '"set_up"', " Set-up "])
def test_headings_are_known_in_any_spelling(heading):
    assert read(f"Code,Length,{heading}\nA010,1,S1", RATE).rows[0].setup == "S1"


def test_columns_that_are_not_there_say_nothing():
    row = read("Code,Length\nA010,1", RATE).rows[0]
    assert (row.description, row.exposure, row.notes) == (None, None, None)


def test_columns_nobody_reads_are_named():
    assert read("Code,Length,Pictures,Weather\nA010,1,12,rain", RATE).notes == (
        "Not read: Pictures, Weather.",
    )


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        (",1,2", "The code is empty"),
        ("Żółw,1,2", "is not a code"),
        ("A" * 21 + ",1,2", "is not a code"),
        ("A010,0,2", "at least one frame"),
        ("A010,-4,2", "cannot be negative"),
        ("A010,soon,2", "is not a length"),
        ("A010,,2", "The length is empty"),
        ("A010,90000,2", "stops at 24 hours"),
        ("A010,=1+1,2", "is not a length"),
        ("A010,1,0", "Exposure is “0”"),
        ("A010,1,-2", "Exposure is “-2”"),
        ("A010,1,99999999999999999999", "Exposure is “99999999999999999999”"),
        ("A010,1,twos", "Exposure is “twos”"),
        ("A010,1,²", "Exposure is “²”"),
        ("A010,1,2,extra", "4 cells and the headings 3"),
        ("A010,1", "2 cells and the headings 3"),
    ],
)
def test_each_error_stands_on_its_row_in_words(row, sentence):
    (errors,) = errors_of(f"Code,Length,Exposure\n{row}")
    assert any(sentence in error for error in errors), errors


def test_a_code_that_comes_twice_names_its_first_line():
    good, bad = errors_of("Code,Length\nA010,1\na010,2")
    assert good == ()
    assert bad == ("The code a010 stands on line 2 already: give each shot its own.",)


def test_lost_letters_and_long_texts_are_errors():
    (errors,) = errors_of(f"Code,Length,Description,Notes\nA010,1,{'x' * 501},�")
    assert "501 characters" in errors[0]
    assert "�" in errors[1]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "The list is empty"),
        ("   \n", "The list is empty"),
        ("Code,Length\n", "headings but no rows"),
        ("Shot name,Seconds\nA010,1", "Code and Length are missing"),
        ("Code,Description\nA010,x", "Length is missing"),
        ("Code,Length,length\nA010,1,1", "Length is there twice"),
        ('Code,Length\nA010,"1\nA020,2', "starts on line 2"),
        ("Code,Length\nA\x0010,1", "null characters"),
        ("Code,Length,Notes\nA010,1," + "x" * 200_000, "cannot be read"),
    ],
)
def test_what_is_no_list_is_refused_in_words(text, sentence):
    with pytest.raises(ListError, match=sentence):
        read(text, RATE)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_unicode_is_known_by_its_first_bytes(encoding):
    text = "Code,Length,Description\nA010,1,Żółw Ωmega キツネ"
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(encoding, b"")
    assert read(decode(mark + text.encode(encoding)), RATE).rows[0].description == (
        "Żółw Ωmega キツネ"
    )


def test_another_encoding_is_named_with_the_line_and_how_it_would_read():
    content = "Code,Length,Description\r\nA010,1,Żółw".encode("cp1250")
    with pytest.raises(ListError) as refusal:
        decode(content)
    assert "line 2" in str(refusal.value)
    assert "“A010,1,Żółw” in Central European (Windows 1250)" in str(refusal.value)
    assert decode(content, "cp1250").endswith("Żółw")


@pytest.mark.parametrize(("content", "sentence"), [(b"", "empty"), (b"PK\x03\x04rest", "workbook")])
def test_files_that_are_no_text_are_refused(content, sentence):
    with pytest.raises(ListError, match=sentence):
        decode(content)


@pytest.mark.parametrize("cell", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "＝1", "'=1"])
def test_no_cell_begins_a_formula(cell):
    """The characters a spreadsheet takes for a formula: from memory of OWASP's CSV injection."""
    assert guarded(cell) == "'" + cell


@pytest.mark.parametrize("cell", ["it's", "'tis the moon", "A010", "", "4 s 06 f", "a=b"])
def test_harmless_cells_are_left_alone(cell):
    assert guarded(cell) == cell
    assert plain(cell) == cell


texts = st.text(
    st.characters(blacklist_categories=["Cs"], blacklist_characters="\0�"), max_size=30
).map(tidy)


@given(description=texts, notes=texts, frames=st.integers(1, 100_000))
@example(description="'=1", notes="=1\n-2", frames=24)
@example(description="−1", notes="'''@x", frames=1)
def test_a_written_list_reads_back_as_it_was(description, notes, frames):
    shot = ListedShot(
        **{
            **FOX.__dict__,
            "description": description,
            "notes": notes,
            "screen_frames": frames,
            "held_frames": 0,
            "holds": 0,
        }
    )
    (row,) = read(write([(shot, "shot")], RATE), RATE).rows
    assert row.errors == ()
    assert row.over(shot) == shot
    assert (row.description, row.notes) == (description, notes)


def test_the_standard_reader_agrees_on_what_is_written():
    """Against Python's csv module in its strict mode, an outside opinion on RFC 4180."""
    sheet = write([(FOX, "approved")], RATE)
    rows = list(csv.reader(io.StringIO(sheet, newline=""), strict=True))
    assert [len(row) for row in rows] == [13, 13]
    assert rows[1][:5] == ["A010", "Fox wakes", "S1", "medium", "4 s 06 f"]


def test_a_row_is_laid_over_what_stands_and_the_budget_still_holds():
    row = read("Code,Length\nA010,2", RATE).rows[0]
    assert row.over(FOX).pictures == 22  # ceil((48 + 6 - 12) / 2) + 1
    with pytest.raises(BudgetError, match="more than the 7 frames"):
        read("Code,Length\nA010,1 f", RATE).rows[0].over(FOX)


def test_an_emptied_text_is_emptied_and_an_emptied_difficulty_stays():
    row = read("Code,Length,Set-up,Difficulty\nA010,2,,", RATE).rows[0]
    assert (row.over(FOX).setup, row.over(FOX).difficulty) == ("", "medium")
