"""Loudness and true peak against published cases and a second meter."""

import math

import numpy as np
import pyloudnorm
import pytest

from clients.trade.checks.loudness import SoundMeter, weighting

STEREO = ["FL", "FR"]
SURROUND = ["FL", "FR", "FC", "LFE", "SL", "SR"]


def tone(level: float, seconds: float, rate: int = 48_000, hertz: float = 1000) -> np.ndarray:
    """One channel at a peak of ``level`` dBFS."""
    time = np.arange(round(seconds * rate)) / rate
    return (10 ** (level / 20) * np.sin(2 * np.pi * hertz * time)).astype(np.float32)


def stereo(*parts: tuple[float, float]) -> np.ndarray:
    one = np.concatenate([tone(level, seconds) for level, seconds in parts])
    return np.stack([one, one])


def measured(sound: np.ndarray, positions=STEREO, rate: int = 48_000, piece: int = 4099):
    meter = SoundMeter(rate, positions)
    for start in range(0, sound.shape[1], piece):
        meter.add(sound[:, start : start + piece])
    meter.finish()
    return meter


# EBU Tech 3341 (minimum requirements), cases 1 to 5: expected within 0.1 LU. Levels and
# expectations as in libebur128-type test suites; the durations of case 5 from memory.
@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ([(-23, 20)], -23.0),
        ([(-33, 20)], -33.0),
        ([(-36, 10), (-23, 60), (-36, 10)], -23.0),
        ([(-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)], -23.0),
        ([(-26, 20), (-20, 20.1), (-26, 20)], -23.0),
    ],
)
def test_tech_3341_stereo(parts, expected):
    sound = stereo(*parts)
    loudness = measured(sound).loudness()
    assert loudness == pytest.approx(expected, abs=0.1)
    second = pyloudnorm.Meter(48_000, filter_class="DeMan").integrated_loudness(sound.T)
    assert loudness == pytest.approx(second, abs=0.02)


def test_tech_3341_case_6_surround():
    levels = {"FL": -28, "FR": -28, "FC": -24, "LFE": -24, "SL": -30, "SR": -30}
    sound = np.stack([tone(levels[name], 20) for name in SURROUND])
    assert measured(sound, SURROUND).loudness() == pytest.approx(-23.0, abs=0.1)


def test_full_scale_tone_in_one_channel():
    """BS.1770-4: 0 dBFS at 997 Hz in one front channel reads -3.01 LKFS (from memory)."""
    sound = np.stack([tone(0, 5, hertz=997), np.zeros(240_000, np.float32)])
    assert measured(sound).loudness() == pytest.approx(-3.01, abs=0.01)


def test_weighting_at_48_khz_is_the_published_one():
    """ITU-R BS.1770-4 tables 1 and 2, as quoted by pyloudnorm: two sections in a row."""
    first_samples = weighting(48_000, 4800)[:3]
    b1, b2 = 1.53512485958697, -2.69169618940638
    a1, a2 = -1.69065929318241, -1.99004745483398
    # The product of the two sections' polynomials, divided out by hand to two terms.
    assert first_samples[0] == pytest.approx(b1, abs=1e-9)
    assert first_samples[1] == pytest.approx(b2 - 2 * b1 - (a1 + a2) * b1, abs=1e-9)


@pytest.mark.parametrize("rate", [22_050, 44_100, 96_000])
def test_other_sample_rates_read_the_same(rate):
    one = tone(-23, 10, rate)
    loudness = measured(np.stack([one, one]), rate=rate).loudness()
    assert loudness == pytest.approx(-23.0, abs=0.1)


def test_pieces_do_not_matter():
    rng = np.random.default_rng(5)
    sound = (0.1 * rng.normal(size=(2, 101_234))).astype(np.float32)
    readings = {round(measured(sound, piece=piece).loudness(), 6) for piece in (1, 1024, 200_000)}
    readings_close = max(readings) - min(readings)
    assert readings_close < 1e-4
    second = pyloudnorm.Meter(48_000, filter_class="DeMan").integrated_loudness(sound.T)
    assert max(readings) == pytest.approx(second, abs=0.02)


def test_silence_and_shortness_have_no_loudness():
    assert measured(np.zeros((2, 48_000), np.float32)).loudness() == -math.inf
    assert measured(np.zeros((2, 48_000), np.float32)).true_peak() == -math.inf
    assert math.isnan(measured(stereo((-23, 0.3))).loudness())


# EBU Tech 3341 true-peak signals: a quarter of the sample rate, struck between the samples, peaks
# at 0 dBTP though no sample passes -3.01 dBFS; allowed +0.2 / -0.4 dB (tolerance from memory).
@pytest.mark.parametrize(("divider", "phase"), [(4, 45), (6, 60), (8, 67.5), (4, 0)])
def test_peaks_between_samples_are_found(divider, phase):
    samples = np.arange(48_000)
    one = np.sin(2 * np.pi * samples / divider + np.radians(phase)) * 10 ** (-6 / 20)
    ramp = np.minimum(1, np.minimum(samples, samples[::-1]) / 4800)  # no click at the ends
    sound = np.stack([one * ramp, one * 0]).astype(np.float32)
    peak = measured(sound).true_peak()
    assert -6.4 <= peak <= -5.8


def test_peak_at_a_seam_between_pieces_is_found():
    """The same isolated burst anywhere gives the same peak."""
    peaks = []
    for at in (4790, 4800, 43_190, 43_200, 43_210, 86_399):
        sound = np.zeros((1, 96_000), np.float32)
        sound[0, at : at + 2] = 0.5
        peaks.append(measured(sound, ["FC"]).true_peak())
    assert max(peaks) - min(peaks) < 1e-5
    assert peaks[0] > 20 * math.log10(0.5) + 1
