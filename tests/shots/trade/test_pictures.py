"""The picture check on synthetic shots: every planted fault, and what must not be taken for one.

The full table by strength is printed by `python -m tests.stills`; this is a small, seeded part.
"""

import io
from dataclasses import replace
from functools import cache

import colour
import numpy as np
import pytest
from PIL import Image

from shots.reading import read_picture
from shots.trade.pictures import Declared, Facts, Measure, Settings, judge, measure
from shots.trade.pictures.measure import LINEAR, grid_of
from tests.stills import (
    Fault,
    Set,
    Still,
    faults_in,
    measured,
    overlap,
    shot,
    shot_with,
    still,
)

SIZE = (800, 450)
ALONE = "intruder: no picture on one side to compare with"
BLANK = "blank: one tone all over; only how bright it is can be told"


@cache
def base() -> tuple[Set, tuple[Measure, ...]]:
    """One clean shot of 26 pictures; tests plant their faults in it at picture 20."""
    set_ = Set(SIZE, 4, puppet=0.06, step=0.003)
    return set_, tuple(measured(one) for one in shot(set_, 26))


def with_picture(at: int, one: Still) -> list[Measure]:
    pictures = list(base()[1])
    pictures[at] = measured(one)
    return pictures


def kinds(report) -> list[tuple[int, str]]:
    return [(n, flag["kind"]) for n, flag in faults_in(report.to_json())]


def test_a_clean_shot_has_no_flags_and_stays_where_it_is():
    report = judge(base()[1])
    assert kinds(report) == []
    places = np.array([[f.measure["dx"], f.measure["dy"]] for f in report.frames])
    assert np.median(np.hypot(*np.diff(places, axis=0).T)) < 0.02


def with_fault(fault: Fault) -> list[Measure]:
    set_, clean = base()
    stills = shot_with(set_, len(clean), fault)
    return [measured(one) if one else picture for one, picture in zip(stills, clean, strict=True)]


@pytest.mark.parametrize(
    ("fault", "kind", "mode"),
    [
        (Fault("flicker", 0.0075), "flicker", "once"),
        (Fault("flicker", 0.01, stay=True), "flicker", "stay"),
        (Fault("lamp", 0.02), "flicker", "lamp"),
        (Fault("colour", 0.01), "colour", "once"),
        (Fault("bump", 0.5), "bump", "once"),
        (Fault("bump", 0.5, stay=True), "bump", "stay"),
        (Fault("bump", 12.0), "bump", "once"),
        (Fault("turn", 0.1), "bump", "once"),
        (Fault("blur", 0.8), "focus", "once"),
        (Fault("hand", 0.03), "intruder", None),
        (Fault("shadow", 0.1), "intruder", None),
    ],
    ids=lambda value: f"{value.kind} {value.strength}" if isinstance(value, Fault) else None,
)
def test_a_planted_fault_is_found_on_its_picture(fault, kind, mode):
    found = faults_in(judge(with_fault(fault)).to_json())
    assert [(n, flag["kind"], flag.get("mode")) for n, flag in found] == [(20, kind, mode)]


def test_a_drift_is_told_from_flicker():
    found = faults_in(judge(with_fault(Fault("drift", 0.04))).to_json())
    assert [flag["kind"] for _, flag in found] == ["drift"]
    assert found[0][1]["change"] == pytest.approx(0.04, abs=0.005)


def test_a_bump_is_told_with_direction_and_size():
    report = judge(with_picture(20, still(base()[0], 20, shift=(3.0, -1.5, 0.0))))
    flag = next(f for f in report.frames[20].flags if f["kind"] == "bump")
    assert flag["dx"] == pytest.approx(3.0, abs=0.1)
    assert flag["dy"] == pytest.approx(-1.5, abs=0.1)
    assert flag["size"] == pytest.approx(3.354, abs=0.15)


def test_a_hand_is_boxed_in_native_pixels():
    one = still(base()[0], 20, hand=(0.1, 0.2, 0.06))
    report = judge(with_picture(20, one))
    flag = next(f for f in report.frames[20].flags if f["kind"] == "intruder")
    assert overlap(flag["box"], one.box) > 0.5
    assert flag["why"] == "object"


# Traps


def test_a_hold_is_said_and_not_counted():
    set_ = Set(SIZE, 4, puppet=0.06, holds=frozenset({4, 5}))
    report = judge([measured(still(set_, n)) for n in range(8)])
    assert kinds(report) == []
    held = [n for n, f in enumerate(report.frames) for x in f.flags if x.get("sub") == "held"]
    assert held == [4, 5]


def test_a_puppet_over_a_third_of_the_frame_is_no_fault():
    set_ = Set(SIZE, 1, puppet=0.33, step=0.002)
    report = judge([measured(still(set_, n)) for n in range(12)])
    assert kinds(report) == []
    assert "intruder: not over what moves" in report.frames[6].not_measurable


def test_walking_in_and_out_is_no_fault():
    set_ = Set(SIZE, 4, puppet=0.05, step=0.04)
    set_.path, set_.angle = np.array([1.0, 0.5]), 0.0  # reaches the right edge at picture 20
    report = judge([measured(still(set_, n)) for n in range(8, 34)])
    assert [k for k in kinds(report) if k[1] != "intruder"] == []


def moving_camera(way) -> list[Measure]:
    set_ = Set(SIZE, 4, puppet=0.05)
    return [measured(still(set_, n, shift=(way(n), 0.0, 0.0))) for n in range(12)]


def test_a_smooth_camera_move_is_no_bump():
    report = judge(moving_camera(lambda n: 2.0 * max(0, n - 3)))
    assert "bump" not in [kind for _, kind in kinds(report)]
    assert report.frames[11].measure["dx"] == pytest.approx(16, abs=0.3)


def test_a_declared_camera_move_is_no_bump_however_jerky():
    pictures = moving_camera(lambda n: 4.0 * (n // 4))
    assert "bump" in [kind for _, kind in kinds(judge(pictures))]
    declared = judge(pictures, Declared(camera_move=True))
    assert "bump" not in [kind for _, kind in kinds(declared)]


def test_a_declared_light_change_is_no_flicker():
    pictures = with_picture(20, still(base()[0], 20, gain=1.05))
    assert kinds(judge(pictures)) == [(20, "flicker")]
    assert kinds(judge(pictures, Declared(light_change=True))) == []


def test_a_new_set_starts_afresh_and_says_so():
    other = Set(SIZE, 2, puppet=0.06)
    report = judge([*base()[1][:6], *(measured(still(other, n)) for n in range(6, 12))])
    assert kinds(report) == []
    assert any("new set" in words for words in report.frames[6].not_measurable)
    alone = [n for n, frame in enumerate(report.frames) if ALONE in frame.not_measurable]
    assert alone == [0, 5, 6, 11]  # no hand can be told on the edges of a scene


def blank(code_value: int, sha256: str = "blank") -> Measure:
    frame = np.full((450, 800, 3), code_value, np.uint8)
    return measure(frame, replace(base()[1][8].facts, sha256=sha256))


@pytest.mark.parametrize(("code_value", "sign"), [(0, -1), (255, 1)])
def test_a_black_or_white_picture_inside_a_shot_is_the_fault_and_the_shot_goes_on(code_value, sign):
    pictures = list(base()[1][:14])
    pictures[8] = blank(code_value)
    pictures[11] = measured(still(base()[0], 11, shift=(2.0, 0, 0)))
    report = judge(pictures)
    assert kinds(report) == [(8, "flicker"), (11, "bump")]
    assert report.frames[8].flags[0]["change"] * sign > 0.9
    assert report.frames[8].not_measurable == [BLANK]
    assert report.frames[8].measure["dx"] is None
    assert "new set" not in str([frame.not_measurable for frame in report.frames])
    alone = [n for n, frame in enumerate(report.frames) if ALONE in frame.not_measurable]
    assert alone == [0, 7, 9, 13]
    assert (8, "flicker") not in kinds(judge(pictures, Declared(light_change=True)))


@pytest.mark.parametrize("at", [0, 1, 13])
def test_a_black_picture_first_second_or_last_upsets_nothing_else(at):
    pictures = list(base()[1][:14])
    pictures[at] = blank(0)
    assert {n for n, _ in kinds(judge(pictures))} <= {at}


def test_two_black_pictures_in_a_row_are_two_faults():
    pictures = list(base()[1][:14])
    pictures[8], pictures[9] = blank(0), blank(0, "other")
    assert kinds(judge(pictures)) == [(8, "flicker"), (9, "flicker")]


def test_half_a_code_value_in_the_dark_is_no_shadow():
    """A night scene of which one corner is nearly black; in the fourth picture part of it is
    darker by half a code value, as noise and its reduction make it."""
    pictures = []
    for n, one in enumerate(shot(base()[0], 7)):
        frame = np.asarray(Image.open(io.BytesIO(one.data))).copy()
        frame[:225, :400] = 6 + frame[:225, :400] // 32
        if n == 3:
            frame[60:160, 100:240:2] -= 1
        pictures.append(measure(frame, Facts(f"{n}.jpg", str(n), *SIZE)))
    assert kinds(judge(pictures)) == []


def test_a_colour_shift_is_no_lamp():
    pictures = with_picture(20, still(base()[0], 20, red=1.05))
    assert kinds(judge(pictures)) == [(20, "colour")]


def test_lens_breathing_is_no_bump():
    """A phone's lens scales the picture a little as it focuses."""
    pictures = []
    for n, one in enumerate(shot(base()[0], 8)):
        image = Image.open(io.BytesIO(one.data))
        by = 1 + 0.0006 * (n % 2)
        across, down = SIZE[0] / by, SIZE[1] / by
        box = ((SIZE[0] - across) / 2, (SIZE[1] - down) / 2)
        image = image.resize(SIZE, Image.Resampling.BICUBIC, (*box, box[0] + across, box[1] + down))
        pictures.append(measure(np.asarray(image), Facts(f"{n}.jpg", str(n), *SIZE)))
    assert "bump" not in [kind for _, kind in kinds(judge(pictures))]


def test_a_phone_that_tones_one_picture_otherwise_is_no_bump_and_no_hand():
    """High dynamic range: shadows lifted, lights held back, as a phone does on its own."""
    code = np.asarray(Image.open(io.BytesIO(still(base()[0], 20).data)), np.float32) / 255
    toned = (code + 0.06 * np.sin(np.pi * code) * (0.5 - code) * 2) * 255
    pictures = list(base()[1])
    pictures[20] = measure(toned.round().clip(0, 255).astype(np.uint8), pictures[20].facts)
    found = kinds(judge(pictures))
    assert (20, "flicker") in found
    assert set(found) <= {(20, "flicker"), (20, "colour"), (20, "focus")}


def test_a_night_scene_is_judged_where_it_can_be():
    """Black all over but for one lamp that is burnt out."""
    rng = np.random.default_rng(1)
    pictures = []
    for n in range(6):
        frame = rng.integers(0, 3, (450, 800, 3)).astype(np.uint8)
        frame[100:200, 100:200] = 255
        pictures.append(measure(frame, Facts(f"{n}.jpg", str(n), *SIZE)))
    report = judge(pictures)
    assert kinds(report) == []
    assert report.frames[3].measure["gain"] is None
    assert any(words.startswith("light:") for words in report.frames[3].not_measurable)


@pytest.mark.parametrize("colour_value", [0, 128, 255])
def test_blank_pictures_are_not_measurable_rather_than_clean(colour_value):
    frame = np.full((450, 800, 3), colour_value, np.uint8)
    report = judge([measure(frame, Facts(f"{n}.jpg", str(n), *SIZE)) for n in range(4)])
    assert kinds(report) == []
    assert report.frames[2].measure["sharp"] is None


def test_no_picture_one_picture_and_two():
    assert judge([]).to_json() == {"frames": [], "missing": [], "session": None}
    assert kinds(judge(base()[1][:1])) == []
    assert kinds(judge(base()[1][:2])) == []
    bumped = [base()[1][0], measured(still(base()[0], 1, shift=(2.0, 0, 0)))]
    assert kinds(judge(bumped)) == [(1, "bump")]


def test_pictures_of_another_size_are_judged_apart():
    tall = Set((450, 800), 4, puppet=0.06)
    pictures = [*base()[1][:5], measured(still(tall, 5)), *base()[1][6:9]]
    report = judge(pictures)
    assert kinds(report) == []
    assert "450 × 800, unlike most of the shot: judged apart" in report.frames[5].not_measurable


def test_png_and_jpeg_can_be_mixed():
    pictures = list(base()[1][:8])
    lossless = io.BytesIO()
    Image.open(io.BytesIO(still(base()[0], 4).data)).save(lossless, "PNG")
    lossless.seek(0)
    reading = read_picture(lossless, "P0005.png")
    pictures[4] = measure(reading.pixels, reading.facts)
    assert kinds(judge(pictures)) == []


def test_a_double_is_found_and_a_copy_is_named():
    set_, clean = base()
    double = measured(still(set_, 4, pose=3))
    soon = clean[3].facts.taken.replace(second=clean[3].facts.taken.second + 1)
    double = replace(double, facts=replace(double.facts, taken=soon))
    copy = replace(clean[2], facts=replace(clean[2].facts, name="P0009.jpg"))
    report = judge([*clean[:4], double, *clean[5:8], copy])
    flags = [(n, f["sub"]) for n, f in faults_in(report.to_json()) if f["kind"] == "duplicate"]
    assert flags == [(4, "double"), (8, "copy")]


def test_settings_are_held_against_the_lock_card():
    report = judge(base()[1][:2], lock=Settings(iso=200))
    assert report.frames[0].flags == [{"kind": "exif", "field": "iso", "old": 200, "new": 100}]


# The measure


def test_a_measure_is_small_and_survives_storing():
    for picture in base()[1][:2]:
        data = picture.to_bytes()
        assert len(data) < 32_000
        assert Measure.from_bytes(data) == picture


def test_judging_stored_measures_is_judging_them_fresh():
    stored = [Measure.from_bytes(picture.to_bytes()) for picture in base()[1][:6]]
    assert judge(stored).to_json() == judge(base()[1][:6]).to_json()


def test_a_damaged_measure_is_refused():
    damaged = replace(base()[1][0], packed=b"no planes")
    with pytest.raises(ValueError, match="damaged"):
        judge([damaged])


def test_linear_light_follows_the_srgb_curve():
    # IEC 61966-2-1 by colour-science, an independent implementation
    expected = colour.models.eotf_sRGB(np.arange(256) / 255)
    np.testing.assert_allclose(LINEAR, expected, atol=1e-6)
    # WCAG 2.2, "relative luminance": code 188 is half the light
    assert LINEAR[188] == pytest.approx(0.502886, abs=1e-6)


def test_tiles_hold_the_mean_of_linear_light():
    frame = np.zeros((450, 800, 3), np.uint8)
    frame[:, ::2] = 188
    light = measure(frame, Facts("a", "b", *SIZE)).planes().light
    assert np.exp(light).mean() == pytest.approx(0.502886 / 2, rel=0.01)


@pytest.mark.parametrize("size", [(1920, 1080), (4032, 3024), (3024, 4032), (1280, 720)])
def test_the_grid_has_about_900_tiles(size):
    rows, columns = grid_of(*size)
    assert 860 < rows * columns < 940


def test_measuring_refuses_other_arrays():
    with pytest.raises(ValueError, match="uint8"):
        measure(np.zeros((10, 10)), Facts("a", "b", 10, 10))
