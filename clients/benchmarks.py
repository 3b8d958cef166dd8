"""Figures of the desk for `manage.py bench`."""

from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from urllib.parse import urlencode

import av
from django.urls import reverse

from clients.forms.quote import Builder
from clients.models import Client, Quote
from clients.queries import quotes as queries
from clients.reading.check import check_file
from clients.services import quote_drafts
from clients.trade.quoting.draft import Draft
from clients.trade.quoting.option import Option, Sequence
from clients.trade.specification import from_json
from studio.benchmarks import Bench, Figure, Row, milliseconds
from studio.models import Person


def price_quote(bench: Bench) -> Figure:
    """A key typed in a quote of 4 options of 40 sequences: read, forecast, priced, drawn."""
    quote = _quote_of_four_options()
    address = reverse("clients:quote_price", args=[quote.pk])
    typed = urlencode(Builder(queries.quote_with_parts(quote.pk)).entries)

    def price():
        answer = bench.browser.post(
            address, typed, "application/x-www-form-urlencoded", headers={"HX-Request": "true"}
        )
        assert b"Option 4" in answer.content, "The quote was not priced."

    return Figure(milliseconds(price), aim="under 100")


def _quote_of_four_options() -> Quote:
    sequences = tuple(
        Sequence(f"Sequence {n}", Decimal("3.5"), 1 + n % 2, ("easy", "medium", "hard")[n % 3])
        for n in range(40)
    )
    options = tuple(Option(f"Option {n}", Fraction(23 + n), sequences) for n in range(1, 5))
    fields = {
        "title": "Four ways", "first_day": None, "tax_rate": Decimal(20), "day_rate": Decimal(300),
    }  # fmt: skip
    quote = quote_drafts.start_quote(
        Client.objects.first(), fields, options[0], Person.objects.get(role=Person.Role.OWNER)
    )
    draft = queries.draft_of(quote)
    whole = Draft(options, draft.lines, draft.payments, draft.currency)
    return quote_drafts.save_draft(quote, quote.version, {}, whole, Builder(quote).entries)


EVERYTHING = from_json({
    "container": "mp4", "video_codec": "h264", "width": 1920, "height": 1080, "scan": "progressive",
    "frame_rate": "24", "constant_rate": True, "length": 1440, "bit_depth": 8, "chroma": "4:2:0",
    "colour_primaries": "bt709", "black": "none", "freeze": 48, "cadence": 2, "flash": True,
    "audio": "present", "sample_rate": 48_000, "loudness": -23.0, "true_peak": -1.0,
})  # fmt: skip


def check_a_minute(bench: Bench) -> Figure:
    """A minute of HD with sound, every check, against decoding it and nothing else: the best of
    three by turns, so that both meet the same machine."""
    # The recipe of the film lives with the tests; it is read only when asked for.
    from tests.films import Film, held, make

    options = {"crf": "20", "preset": "veryfast"}
    film = Film(width=1920, height=1080, pictures=held(1440, 2), options=options)
    path = make(film, bench.folder)
    decoding, checking = [], []
    for _ in range(3):
        decoding.append(milliseconds(lambda: _decode(path), runs=1))
        checking.append(milliseconds(lambda: check_file(path, EVERYTHING), runs=1))
    return Figure(min(checking) / min(decoding), "×", "at most 1.5")


def _decode(path: Path) -> None:
    with av.open(str(path)) as container:
        container.streams.video[0].thread_type = "AUTO"
        for _ in container.decode(*container.streams):
            pass


ROWS: dict[str, Row] = {
    "a quote of 4 options of 40 sequences, priced": price_quote,
    "a minute of HD checked, times decoding it": check_a_minute,
}
