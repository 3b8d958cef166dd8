from fractions import Fraction

import opentimelineio as otio
import pytest

from shots.edit_reading import EditError, read_edit, read_edit_apart

RATE = Fraction(24)


def clip(name, frames, rate=24, start=0):
    return otio.schema.Clip(
        name,
        source_range=otio.opentime.TimeRange(
            otio.opentime.RationalTime(start, rate), otio.opentime.RationalTime(frames, rate)
        ),
    )


def gap(frames, rate=24):
    return otio.schema.Gap(duration=otio.opentime.RationalTime(frames, rate))


def track(*items, kind=otio.schema.TrackKind.Video, **more):
    return otio.schema.Track(children=list(items), kind=kind, **more)


@pytest.fixture
def edit(tmp_path):
    """Write tracks to a file as OpenTimelineIO itself writes it, and read it back."""

    def write_and_read(*tracks, rate=RATE):
        timeline = otio.schema.Timeline("cut", tracks=list(tracks))
        path = tmp_path / "cut.otio"
        otio.adapters.write_to_file(timeline, str(path))
        return read_edit(path, rate)

    return write_and_read


def lengths(edit):
    return [(shot.code, shot.frames) for shot in edit.shots]


def test_clips_are_shots_in_order_with_their_lengths(edit):
    found = edit(track(clip("A10", 48), clip("A20", 100, start=12)))
    assert lengths(found) == [("A10", 48), ("A20", 100)]
    assert found.notes == ()


def test_lengths_are_those_of_opentimelineio_itself(edit):
    # the library's own objects as the reference
    picture = track(clip("A10", 48), gap(7), clip("A20", 101))
    found = edit(picture)
    assert sum(shot.frames for shot in found.shots) + 7 == picture.duration().to_frames()
    assert found.notes == ("7 frames of the edit are empty and belong to no shot.",)


def test_a_bundled_archive_is_read_too(edit, tmp_path):
    shot = clip("A10", 48)
    shot.media_reference = otio.schema.ExternalReference("A10.mov")
    timeline = otio.schema.Timeline("cut", tracks=[track(shot)])
    path = tmp_path / "cut.otioz"
    otio.adapters.write_to_file(timeline, str(path), media_policy="AllMissing")
    assert lengths(read_edit(path, RATE)) == [("A10", 48)]


def test_sound_does_not_count(edit):
    sound = track(clip("music", 500), kind=otio.schema.TrackKind.Audio)
    assert lengths(edit(track(clip("A10", 48)), sound)) == [("A10", 48)]


def test_an_upper_track_covers_the_one_below(edit):
    found = edit(track(clip("A10", 48)), track(gap(24), clip("A15", 12), gap(12)))
    assert lengths(found) == [("A10", 36), ("A15", 12)]
    assert "“A10” comes more than once: its lengths are added up." in found.notes


def test_a_nested_edit_is_opened_and_trimmed(edit):
    inner = otio.schema.Stack("scene 2", children=[track(clip("B10", 40), clip("B20", 40))])
    inner.source_range = otio.opentime.TimeRange(
        otio.opentime.RationalTime(10, 24), otio.opentime.RationalTime(40, 24)
    )
    found = edit(track(clip("A10", 48), inner))
    assert lengths(found) == [("A10", 48), ("B10", 30), ("B20", 10)]
    assert found.notes == ("“scene 2” is nested: its shots were taken one by one.",)


def test_the_end_of_a_file_name_is_not_part_of_the_code(edit):
    found = edit(track(clip("A10.mov", 48), clip("scene 1.2", 12), clip(".hidden", 1)))
    assert [shot.code for shot in found.shots] == ["A10", "scene 1", ".hidden"]


def test_another_frame_rate_is_converted_in_time_without_drifting(edit):
    found = edit(track(*[clip(f"A{n}", 10, rate=25) for n in range(10)]))
    # 10 frames at 25 = 0.4 s = 9.6 frames at 24; 4 s in all = 96 frames
    assert [shot.frames for shot in found.shots] == [10, 9, 10, 9, 10, 10, 9, 10, 9, 10]
    assert found.notes == (
        "The edit runs at 25 frames a second, the production at 24: lengths were converted.",
    )


def test_a_slowed_rate_counts_frame_for_frame(edit):
    found = edit(track(clip("A10", 24_000, rate=24000 / 1001)))
    assert lengths(found) == [("A10", 24_000)]
    assert found.notes == (
        "The edit runs at 23.976 frames a second, the production at 24: lengths were converted.",
    )


def test_a_missing_file_keeps_its_length_but_a_clip_without_one_is_left_out(edit):
    found = edit(track(clip("A10", 48), otio.schema.Clip("A20"), clip("", 12)))
    assert lengths(found) == [("A10", 48), ("Clip 2", 12)]
    assert found.notes == (
        "Clip “A20” has no length and was left out.",
        "The clip at place 2 has no name: it is called “Clip 2” here.",
    )


def test_a_transition_is_left_out_and_said(edit):
    fade = otio.schema.Transition(
        in_offset=otio.opentime.RationalTime(6, 24), out_offset=otio.opentime.RationalTime(6, 24)
    )
    found = edit(track(clip("A10", 48), fade, clip("A20", 48)))
    assert lengths(found) == [("A10", 48), ("A20", 48)]
    assert found.notes == ("A transition was left out: shots are measured up to its cut.",)


def test_an_edit_without_picture_is_refused(edit):
    with pytest.raises(EditError, match="no clip with a length on a picture track"):
        edit(track(clip("music", 500), kind=otio.schema.TrackKind.Audio))
    with pytest.raises(EditError, match="no clip with a length"):
        edit()


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("cut.otio", b"\x00\xff not an edit", "could not be read as an edit"),
        ("cut.otio", b"", "could not be read as an edit"),
        ("cut.otio", clip("A10", 48).to_json_string().encode(), "holds Clip and not one edit"),
        ("cut.pdf", b"%PDF", "cut.pdf is not an edit that can be read here; export it as .otio"),
    ],
)
def test_a_file_that_is_no_edit_is_refused_in_a_sentence(tmp_path, name, content, sentence):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(EditError, match=sentence):
        read_edit(path, RATE)


@pytest.mark.parametrize(
    "content", [b'{"OTIO_SCHEMA": "Timeline.1", "tracks": null}', b"[" * 100_000]
)
def test_a_file_that_ends_the_process_it_is_read_in_is_refused_all_the_same(tmp_path, content):
    """Both do so with OpenTimelineIO 0.18.1."""
    path = tmp_path / "cut.otio"
    path.write_bytes(content)
    with pytest.raises(EditError, match="could not be read as an edit"):
        read_edit_apart(path, RATE)


def test_a_clip_of_impossible_length_is_left_out(edit):
    found = edit(track(clip("A10", 48), clip("A20", -5), clip("A30", 48, 1e-300)))
    assert lengths(found) == [("A10", 48)]
