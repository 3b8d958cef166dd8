"""Each fault a delivery can have is caught in the file itself, and a clean file has none."""

import os
import shutil
from dataclasses import replace
from fractions import Fraction

import pytest

from clients.reading.check import check_file
from clients.reading.film import CheckStopped, FileRefused
from clients.trade.specification import CHECKS, from_json
from tests.films import BLACK, GREY, RED, WHITE, Film, held, make

WANTED = {
    "container": "mp4",
    "video_codec": {"codec": "h264", "profile": "Constrained Baseline"},
    "width": 128,
    "height": 96,
    "pixel_aspect": "1:1",
    "scan": "progressive",
    "frame_rate": "24",
    "constant_rate": True,
    "length": {"frames": 48, "tolerance": 0},
    "duration": {"seconds": 2, "tolerance": 0.02},
    "bit_depth": 8,
    "chroma": "4:2:0",
    "colour_primaries": "bt709",
    "colour_transfer": "bt709",
    "colour_matrix": "bt709",
    "colour_range": "limited",
    "size": 50_000,
    "name": "{production}_{deliverable}_v{version}.mp4",
    "black": {"head": 0, "inside": 0, "tail": 0},
    "freeze": {"longest": 12},
    "cadence": {"exposure": 2},
    "audio": "present",
    "audio_codec": "aac",
    "sample_rate": 48_000,
    "channels": 2,
    "loudness": {"target": -23.0, "tolerance": 0.5},
    "true_peak": -1.0,
    "captions": "srt",
    "flash": {"general": 3, "red": 3},
}
CAPTIONS = "1\n00:00:00,100 --> 00:00:00,900\nA felt fox wakes.\n"
CLEAN = Film()
TWOS = CLEAN.pictures


def swapped(pictures: dict) -> tuple:
    return tuple(pictures.get(frame, picture) for frame, picture in enumerate(TWOS))


def blinking(colour: str, ground: str, every: int) -> tuple:
    return tuple(colour if (frame // every) % 2 else ground for frame in range(48))


# One recipe for each check that must fail, and what it must have found.
FAULTS = {
    "container": (replace(CLEAN, name="PUP_film_v01.mov"), "mov"),
    "video_codec": (replace(CLEAN, codec="mpeg4"), "mpeg4"),
    "width": (replace(CLEAN, width=144), 144),
    "height": (replace(CLEAN, height=80), 80),
    "pixel_aspect": (replace(CLEAN, aspect=Fraction(16, 15)), "16:15"),
    "scan": (replace(CLEAN, interlaced=True), "interlaced"),
    "frame_rate": (replace(CLEAN, rate=Fraction(24000, 1001)), "24000/1001"),
    "constant_rate": (replace(CLEAN, jitter=(20,)), "uneven, first at frame 20"),
    "frame_count": (replace(CLEAN, pictures=TWOS[:46]), 46),
    "duration": (replace(CLEAN, pictures=TWOS[:46]), 1.917),
    "bit_depth": (replace(CLEAN, pixels="yuv420p10le"), 10),
    "chroma": (replace(CLEAN, pixels="yuv422p"), "4:2:2"),
    # H.273 (same numbers in H.264 tables E-3 to E-5): 9 is BT.2020, 16 PQ, 6 BT.601, 2 not said.
    "colour_primaries": (replace(CLEAN, tags=(9, 1, 1, 1)), 9),
    "colour_transfer": (replace(CLEAN, tags=(1, 16, 1, 1)), 16),
    "colour_matrix": (replace(CLEAN, tags=(1, 1, 6, 1)), 6),
    "colour_range": (replace(CLEAN, tags=(1, 1, 1, 2)), "full"),
    "size": (replace(CLEAN, options={"crf": "1", "preset": "ultrafast"}), None),
    "name": (replace(CLEAN, name="PUP film final.mp4"), "PUP film final.mp4"),
    "black": (
        replace(CLEAN, pictures=swapped(dict.fromkeys((0, 1, 20, 21), BLACK))),
        {"head": 2, "inside": ["frames 20–21"], "tail": 0},
    ),
    "freeze": (
        replace(CLEAN, pictures=swapped(dict.fromkeys(range(10, 24), 5))),
        "frames 10–23",
    ),
    "cadence": (
        replace(CLEAN, pictures=TWOS[:21] + TWOS[22:] + (24,)),
        "every picture twice; broken: 1 × at frame 20",
    ),
    "audio": (replace(CLEAN, sound=None), "none"),
    "audio_codec": (replace(CLEAN, sound="mp3"), "mp3"),
    "sample_rate": (replace(CLEAN, sample_rate=44_100), 44_100),
    "channels": (replace(CLEAN, layout="mono"), 1),
    "loudness": (replace(CLEAN, level=-17.0), -17.0),
    "true_peak": (replace(CLEAN, level=0.5), None),
    "captions": (CLEAN, "srt, 1 caption, 1 fault"),
    "flash": (replace(CLEAN, pictures=blinking(WHITE, GREY, 3)), None),
}


@pytest.fixture(scope="session")
def shelf(tmp_path_factory):
    """Makes each film once."""
    made = {}

    def get(film: Film):
        key = repr(film)
        if key not in made:
            made[key] = make(film, tmp_path_factory.mktemp("film"))
            made[key].with_suffix(".srt").write_text(CAPTIONS)
        return made[key]

    return get


def checked(path, wanted: dict):
    return {result.check: result for result in check_file(path, from_json(wanted)).results}


def test_clean_film_passes_every_check(shelf):
    results = checked(shelf(CLEAN), WANTED)
    assert list(results) == list(CHECKS)
    assert {name: r.found for name, r in results.items() if not r.fits} == {}
    assert {r.advice for r in results.values()} == {""}


def test_every_check_has_a_film_that_fails_it():
    assert list(FAULTS) == list(CHECKS)


@pytest.mark.parametrize("check", FAULTS)
def test_fault_is_caught_and_named(check, shelf, tmp_path):
    film, found = FAULTS[check]
    path = shelf(film)
    if check == "captions":
        path = shutil.copy(path, tmp_path / film.name)
        path.with_suffix(".srt").write_text(CAPTIONS.replace("00,900", "02,900"))
    result = checked(path, WANTED)[check]
    assert not result.fits
    assert result.advice.endswith(".")
    if found is not None:
        assert result.found == found


@pytest.mark.parametrize(
    ("check", "advice"),
    [
        ("container", "Export again as mp4; renaming is not enough."),
        ("scan", "Export every frame as progressive."),
        ("frame_rate", "Export from a timeline at exactly 24 frames per second."),
    ],
)
def test_advice_reads_as_a_sentence(check, advice, shelf):
    assert checked(shelf(FAULTS[check][0]), WANTED)[check].advice == advice


def test_a_missing_sound_is_asked_for_once(shelf):
    results = checked(shelf(replace(CLEAN, sound=None)), WANTED)
    depend = ("audio_codec", "sample_rate", "channels", "loudness", "true_peak")
    assert results["audio"].advice == "Add the sound: the file has none."
    assert {(results[name].found, results[name].fits, results[name].advice) for name in depend} == {
        ("no sound", False, "There is no sound to measure.")
    }


def test_red_flashes_are_counted_where_luminance_hardly_changes(shelf):
    """WCAG 2.2, red flash: to and from saturated red, whatever the luminance does."""
    flash = checked(shelf(replace(CLEAN, pictures=blinking(RED, GREY, 3))), {"flash": True})[
        "flash"
    ]
    assert flash.found["red"] > 3
    assert not flash.fits
    assert "not a certificate" in flash.advice


@pytest.mark.parametrize("suffix", ["mkv", "webm", "avi", "ts"])
def test_other_containers_are_known_by_content(suffix, shelf):
    codec, sound = ("libvpx-vp9", "libopus") if suffix == "webm" else ("libx264", "aac")
    film = replace(
        CLEAN, name=f"film.{suffix}", codec=codec, sound=sound, pictures=TWOS[:12], options={}
    )
    results = checked(shelf(film), {"container": suffix, "frame_rate": "24", "frame_count": 12})
    assert all(result.fits for result in results.values()), results


def test_wrong_extension_is_told(shelf, tmp_path):
    path = shutil.copy(shelf(replace(CLEAN, name="film.mkv")), tmp_path / "film.mp4")
    result = checked(path, {"container": "matroska"})["container"]
    assert (result.found, result.fits) == ("matroska, named .mp4", False)


def test_coarse_time_stamps_do_not_blur_the_rate(shelf):
    """Matroska counts in milliseconds, where 24000/1001 cannot be written exactly."""
    film = replace(CLEAN, name="film.mkv", rate=Fraction(24000, 1001))
    results = checked(shelf(film), {"frame_rate": "24000/1001", "constant_rate": True})
    assert all(result.fits for result in results.values()), results


def test_rotation_flag_is_refused(shelf):
    result = checked(shelf(replace(CLEAN, rotation=90)), {"width": 128})["width"]
    assert not result.fits
    assert "turns it by" in result.found


def test_several_sound_streams_are_told(shelf):
    film = replace(CLEAN, sound_streams=2)
    result = checked(shelf(film), {"audio": "present"})["audio"]
    assert result.found == "present, 2 streams, the first measured"


def test_film_on_threes_is_not_on_twos(shelf):
    film = replace(CLEAN, pictures=held(48, 3))
    result = checked(shelf(film), {"cadence": {"exposure": 2}})["cadence"]
    assert result.found.startswith("every picture 3 times; broken: 3 × at frames 0–2")
    assert checked(shelf(film), {"cadence": {"exposure": 3}})["cadence"].fits


def test_doubled_frame_is_named(shelf):
    pictures = (*TWOS[:21], TWOS[20], *TWOS[21:47])
    result = checked(shelf(replace(CLEAN, pictures=pictures)), WANTED)["cadence"]
    assert "3 × at frames 20–22" in result.found


# --- files that are no whole film --------------------------------------------------------


def refusal(path) -> str:
    with pytest.raises(FileRefused) as refused:
        check_file(path, from_json(WANTED))
    sentence = str(refused.value)
    assert sentence.endswith(".")
    assert len(sentence) < 300
    return sentence


KINDS = {
    "index last": replace(CLEAN, name="film.mp4"),
    "index first": replace(CLEAN, name="film.mp4", container_options={"movflags": "faststart"}),
    "matroska": replace(CLEAN, name="film.mkv"),
    "avi": replace(CLEAN, name="film.avi"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_cut_gives_a_sentence(kind, shelf, tmp_path):
    """Twenty cuts from the first byte to the last but one."""
    whole = shelf(KINDS[kind]).read_bytes()
    path = tmp_path / KINDS[kind].name
    for cut in range(20):
        path.write_bytes(whole[: (len(whole) - 1) * cut // 19])
        sentence = refusal(path)
        assert any(word in sentence for word in ("empty", "cut off", "not a film", "damaged"))


def test_damage_in_the_middle_is_not_a_pass(shelf, tmp_path):
    data = bytearray(shelf(KINDS["index first"]).read_bytes())
    middle = len(data) // 2
    data[middle : middle + 2000] = b"\xff" * 2000
    path = tmp_path / "film.mp4"
    path.write_bytes(data)
    assert "damaged" in refusal(path)


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"", "empty"),
        (b"x", "not a film"),
        (b"The fox is made of felt.\n" * 50, "not a film"),
        (b"#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\n/etc/hostname\n", "not a film"),
        (b"ffconcat version 1.0\nfile '/etc/hostname'\n", "not a film"),
        (b"\x00" * 4096, "not a film"),
        (b"\x1a\x45\xdf\xa3", "cut off"),
    ],
)
def test_what_is_no_film_is_refused(content, word, tmp_path):
    path = tmp_path / "film.mp4"
    path.write_bytes(content)
    assert word in refusal(path)


def test_a_file_with_sound_only_is_refused(shelf, tmp_path):
    import av

    path = tmp_path / "sound.mp4"
    with av.open(str(shelf(CLEAN))) as source, av.open(str(path), "w") as out:
        stream = out.add_stream_from_template(source.streams.audio[0])
        for packet in source.demux(source.streams.audio[0]):
            if packet.dts is not None:
                packet.stream = stream
                out.mux(packet)
    assert "no pictures" in refusal(path)


def test_folders_pipes_and_missing_files_are_refused(tmp_path):
    os.mkfifo(tmp_path / "pipe.mp4")
    assert "folder" in refusal(tmp_path)
    assert "ordinary file" in refusal(tmp_path / "pipe.mp4")
    assert "no such file" in refusal(tmp_path / "nothing.mp4")
    assert "cannot be used" in refusal(tmp_path / "nul\0.mp4")


def test_captions_that_are_not_text_are_refused(shelf, tmp_path):
    path = shutil.copy(shelf(CLEAN), tmp_path / CLEAN.name)
    path.with_suffix(".srt").write_bytes(b"\xff\xfe1\x00")
    assert "UTF-8" in refusal(path)


# --- progress and stop -------------------------------------------------------------------


def test_progress_only_grows_and_ends_at_one(shelf):
    told = []
    check_file(shelf(KINDS["matroska"]), from_json({"width": 128}), told.append)
    assert told[-1] == 1.0
    assert all(0 <= done <= 1 for done in told)
    assert told == sorted(told)


def test_stop_ends_the_check(shelf):
    told = []
    with pytest.raises(CheckStopped):
        check_file(shelf(CLEAN), from_json(WANTED), told.append, lambda: len(told) > 3)
    assert told[-1] < 1
