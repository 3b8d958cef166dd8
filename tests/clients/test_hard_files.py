"""Files that are whole but odd, files that are cut off, and files of many hours."""

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import pytest
from django.core.management import CommandError, call_command

from clients.reading.check import check_file
from clients.reading.film import FileRefused
from clients.trade.specification import from_json
from tests.films import Film, held, make

SMALL = replace(Film(), width=32, height=32, pictures=held(6, 2), sound=None)
SAID = ("empty", "cut off", "not a film", "damaged", "no picture")


def copied(
    source: Path,
    path: Path,
    stamp: Callable[[int], int] | None = None,
    times: int = 1,
    streams: int = 1,
) -> Path:
    """The pictures of ``source`` without decoding: over again, at other times, in more streams.

    ``stamp`` gives the time of each frame in 24ths of a second.
    """
    with av.open(str(path), "w") as out, av.open(str(source)) as first:
        copies = [out.add_stream_from_template(first.streams.video[0]) for _ in range(streams)]
        number = 0
        for _ in range(times):
            with av.open(str(source)) as again:
                for packet in again.demux(video=0):
                    if not packet.size:
                        continue
                    data = bytes(packet)
                    for copy in copies:
                        frame = av.Packet(data)
                        frame.is_keyframe = packet.is_keyframe
                        frame.pts = frame.dts = stamp(number) if stamp else number
                        frame.time_base, frame.stream = Fraction(1, 24), copy
                        out.mux(frame)
                    number += 1
    return path


@pytest.fixture(scope="module")
def small(tmp_path_factory) -> Path:
    return make(SMALL, tmp_path_factory.mktemp("small"))


def found(path: Path, wanted: dict) -> dict:
    return {r.check: (r.found, r.fits) for r in check_file(path, from_json(wanted)).results}


def refusal(path: Path) -> str:
    with pytest.raises(FileRefused) as refused:
        check_file(path, from_json({"width": 32, "black": "none", "loudness": -23}))
    return str(refused.value)


# --- odd but whole -----------------------------------------------------------------------


def test_of_several_video_streams_the_first_is_checked_and_the_others_named(small, tmp_path):
    path = copied(small, tmp_path / "two.mp4", streams=2)
    results = found(path, {"container": "mp4", "width": 32, "frame_count": 6})
    assert results["container"] == ("mp4 with 2 video streams", False)
    assert (results["width"], results["frame_count"]) == ((32, True), (6, True))


@pytest.mark.parametrize("degrees", [90, 180, 270])
def test_a_rotation_flag_is_told_from_an_upright_picture(degrees, tmp_path):
    path = make(replace(SMALL, rotation=degrees), tmp_path)
    (width, fits), (height, _) = found(path, {"width": 32, "height": 32}).values()
    assert "with a flag that turns it by" in width
    assert "with a flag that turns it by" in height
    assert not fits


def test_a_variable_rate_is_told_by_the_first_odd_frame(small, tmp_path):
    path = copied(small, tmp_path / "uneven.mp4", stamp=[0, 1, 2, 5, 6, 9].__getitem__)
    results = found(path, {"constant_rate": True, "frame_rate": "24", "frame_count": 6})
    assert results["constant_rate"] == ("uneven, first at frame 3", False)
    assert not results["frame_rate"][1]
    assert results["frame_count"] == (6, True)


@pytest.mark.parametrize("name", ["film.avi", "film.jpg", "film.mp4.txt", "film"])
def test_a_wrong_extension_is_told_and_the_film_checked_all_the_same(name, small, tmp_path):
    path = tmp_path / name
    path.write_bytes(small.read_bytes())
    results = found(path, {"container": "mp4", "width": 32})
    assert results["container"][1] is False
    assert results["width"] == (32, True)


def test_a_file_nobody_else_may_read_is_refused_in_a_sentence(small):
    """Truly forbidden: the tests may run as root, so they step down to a user without rights."""
    nobody = 65_534
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "film.mp4"
        path.write_bytes(small.read_bytes())
        path.chmod(0)
        os.chmod(folder, 0o755)
        was = os.geteuid()
        try:
            if was == 0:
                os.seteuid(nobody)
            sentence = refusal(path)
        finally:
            os.seteuid(was)
    assert sentence == "The file may not be read; change its permissions."


# --- cut off -----------------------------------------------------------------------------

CONTAINERS = {
    "index last": replace(SMALL, name="film.mp4"),
    "index first": replace(SMALL, name="film.mp4", container_options={"movflags": "faststart"}),
    "quicktime": replace(SMALL, name="film.mov"),
    "matroska": replace(SMALL, name="film.mkv"),
}


@pytest.mark.parametrize("kind", CONTAINERS)
def test_a_small_file_cut_at_any_byte_is_refused_in_a_sentence(kind, tmp_path):
    film = replace(CONTAINERS[kind], pictures=held(4, 2))
    whole = make(film, tmp_path).read_bytes()
    path = tmp_path / f"cut-{film.name}"
    for cut in range(len(whole)):
        path.write_bytes(whole[:cut])
        sentence = refusal(path)
        assert any(word in sentence for word in SAID), (cut, sentence)


def test_verify_refuses_twenty_cuts_of_a_film_with_sound(tmp_path, capsys):
    whole = make(replace(Film(), pictures=held(12, 2)), tmp_path).read_bytes()
    spec = tmp_path / "spec.json"
    spec.write_text(json.dumps({"width": 128, "loudness": -23, "cadence": 2, "flash": True}))
    path = tmp_path / "cut.mp4"
    for cut in range(20):
        path.write_bytes(whole[: len(whole) * cut // 20])
        with pytest.raises(CommandError) as end:
            call_command("verify", str(path), spec=str(spec), json=True)
        assert end.value.returncode == 2
        answer = json.loads(capsys.readouterr().out)
        assert answer["file"] == str(path)
        assert answer["sha256"] == hashlib.sha256(path.read_bytes()).hexdigest()
        assert (answer["fits"], answer["checks"]) == (False, [])
        assert any(word in answer["error"] for word in SAID)


# --- long --------------------------------------------------------------------------------


def test_a_file_of_ten_hours_is_measured_to_its_end(small, tmp_path):
    """6000 frames of 6 s: its time stamps and counts are those of ten hours."""
    path = copied(small, tmp_path / "long.mp4", stamp=lambda n: 144 * n, times=1000)
    wanted = {"duration": 36_000, "constant_rate": True, "freeze": 4}
    results = found(path, wanted | {"frame_count": 6000, "black": "none", "flash": True})
    assert results["duration"] == (36_000.0, True)
    assert results["frame_count"] == (6000, True)
    assert all(fits for _, fits in results.values())


def test_memory_does_not_grow_with_length(small, tmp_path):
    """Ten minutes of frames take no more memory than one, but for some bytes a frame."""
    minute = copied(small, tmp_path / "minute.mp4", times=240)
    ten_minutes = copied(small, tmp_path / "ten-minutes.mp4", times=2400)
    assert peak_memory(ten_minutes) - peak_memory(minute) < 10


def peak_memory(path: Path) -> float:
    """The most memory a check in a process of its own held, in MB."""
    program = (
        "import resource, sys; from pathlib import Path;"
        "from clients.reading.check import check_file;"
        "from clients.trade.specification import from_json;"
        "check_file(Path(sys.argv[1]), from_json({'cadence': 2, 'freeze': True, 'flash': True}));"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    command = [sys.executable, "-c", program, str(path)]
    return float(subprocess.run(command, capture_output=True, check=True, text=True).stdout)
