"""The quote builder: its start, what is typed, what is refused, and what a price rests on."""

from datetime import timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import DayRate, LineTemplate, Quote, QuoteLine, QuoteSequence
from clients.queries import quotes as queries
from clients.services import quote_drafts
from clients.trade.quoting.draft import Draft
from clients.trade.quoting.option import Option, Sequence
from shots.models import Difficulty, Session, SessionShot, Shot
from tests import factories
from tests.clients.quote_cast import TODAY, builder_data, drafted, with_lists


@pytest.fixture
def client(studio):
    return with_lists(factories.ClientFactory(name="Żółć & Ωmega 工房"))


@pytest.fixture
def quote(client, owner):
    return drafted(client, owner)


def post(browser, quote, name="quote", htmx=False, **changes):
    address = reverse(f"clients:{name}", args=[quote.pk])
    headers = {"HX-Request": "true"} if htmx else {}
    return browser.post(address, builder_data(quote, **changes), headers=headers)


def new_data(client, **changes) -> dict:
    easy = Difficulty.objects.get(name="easy").pk
    return {
        "client": client.pk, "title": "The Felt Fox", "day_rate": "320", "tax_rate": "20",
        "rate": "24", "seconds": "12", "exposure": "2", "difficulty": easy, "setups": "2",
    } | changes  # fmt: skip


def test_a_quote_starts_from_a_length_and_keeps_the_day_rate(client, owner, owner_client):
    owner_client.post(reverse("clients:quote_new"), new_data(client))
    quote = Quote.objects.get()
    assert queries.draft_of(quote).options[0].frames == 288
    assert {line.tax_rate for line in quote.lines.all()} == {Decimal(20)}
    assert quote.lines.first().rate == 320
    assert DayRate.objects.get().person == owner
    again = owner_client.get(reverse("clients:quote_new")).content.decode()
    assert 'value="320"' in again
    assert 'value="20"' in again


def test_a_quote_starts_from_a_pasted_shot_list(client, owner_client):
    shots = (
        "Code;Set-up;Difficulty;Length;Held frames;Holds\n"
        "A010;Kitchen;easy;4;24;1\nA020;Kitchen;Hard;2;;\nA030;Kitchen;easy;1;;\n"
    )
    owner_client.post(reverse("clients:quote_new"), new_data(client, pasted=shots))
    rows = [
        (row.label, row.seconds, row.difficulty.name, row.held_seconds, row.setups)
        for row in QuoteSequence.objects.all()
    ]
    assert rows == [
        ("Kitchen, easy, 2 shots", 5, "easy", 1, 1),
        ("Kitchen, hard, 1 shot", 2, "hard", 0, 0),
    ]


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"pasted": "Code;Length\nA010;soon\n"}, "Line 2: Length: “soon” is not a length"),
        ({"pasted": "Code;Length;Difficulty\nA010;2;wild\n"}, "“wild” is not one of"),
        ({"pasted": "nothing"}, "Length"),
        ({"seconds": ""}, "How long is the film?"),
        ({"seconds": "0"}, "greater than or equal to 0.01"),
        ({"day_rate": "0"}, "greater than or equal to 0.01"),
        ({"tax_rate": "101"}, "less than or equal to 100"),
        ({"rate": "0"}, "must be more than 0"),
    ],
)
def test_a_start_that_cannot_be_says_why(client, owner_client, change, sentence):
    page = owner_client.post(reverse("clients:quote_new"), new_data(client, **change))
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert not Quote.objects.exists()


LISTED = "Code;Set-up;Difficulty;Length\nA010;Kuchnia śnieżna;easy;4\nA020;Ulica;hard;2\n"


@pytest.mark.parametrize(
    ("codec", "named"),
    [
        ("utf-8", ""), ("utf-8-sig", ""), ("utf-16", ""), ("cp1250", "cp1250"),
        ("iso8859-2", "iso8859-2"),
    ],
)  # fmt: skip
def test_a_quote_starts_from_a_file_in_any_usual_encoding(client, owner_client, codec, named):
    file = SimpleUploadedFile("shots.csv", LISTED.encode(codec))
    address = reverse("clients:quote_new")
    owner_client.post(address, new_data(client, file=file, encoding=named))
    labels = [row.label for row in QuoteSequence.objects.all()]
    assert labels == ["Kuchnia śnieżna, easy, 1 shot", "Ulica, hard, 1 shot"]


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (LISTED.replace("4", "soon").encode(), "Line 2: Length: “soon” is not a length"),
        (LISTED.replace("hard", "wild").encode(), "Line 3: “wild” is not one of"),
        (LISTED.encode("cp1250"), "The file is not Unicode"),
        (b"PK\x03\x04rest of a workbook", "spreadsheet workbook, not CSV"),
        (b"%PDF-1.7 a paper", "The first row must name the columns"),
        (b"", "The file is empty."),
    ],
)
def test_a_file_that_cannot_be_read_says_why(client, owner_client, content, sentence):
    file = SimpleUploadedFile("shots.csv", content)
    page = owner_client.post(reverse("clients:quote_new"), new_data(client, file=file))
    assert page.status_code == 422
    assert sentence in page.content.decode()
    assert not Quote.objects.exists()


def test_a_file_with_wrong_rows_stands_in_the_entry_to_be_corrected(client, owner_client):
    file = SimpleUploadedFile("shots.csv", LISTED.replace("4", "soon").encode())
    page = owner_client.post(reverse("clients:quote_new"), new_data(client, file=file))
    assert "Kuchnia śnieżna;easy;soon" in page.context["form"]["pasted"].value()


def test_of_many_wrong_rows_the_first_twenty_are_said(client, owner_client):
    rows = "".join(f"A{n};soon\n" for n in range(50))
    page = owner_client.post(
        reverse("clients:quote_new"), new_data(client, pasted=f"Code;Length\n{rows}")
    )
    errors = page.context["form"].errors["pasted"]
    assert (len(errors), errors[-1]) == (21, "And 30 rows more.")


def test_a_list_of_more_sequences_than_a_quote_holds_is_refused(client, owner_client):
    rows = "".join(f"A{n};Set {n};1\n" for n in range(401))
    page = owner_client.post(
        reverse("clients:quote_new"), new_data(client, pasted=f"Code;Set-up;Length\n{rows}")
    )
    assert "401 sequences" in page.content.decode()


def test_a_quote_starts_as_a_copy_with_everything_but_the_number(quote, client, owner_client):
    owner_client.post(reverse("clients:quote_new"), new_data(client, copy_of=quote.pk, title="B"))
    copy = Quote.objects.exclude(pk=quote.pk).get()
    assert (copy.title, copy.number) == ("B", None)
    assert queries.draft_of(copy) == queries.draft_of(quote)


def test_lines_in_stock_stand_on_every_new_quote(quote, client, owner, owner_client):
    post(owner_client, quote, act="keep:l2", **{"l2-rate": "450"})
    kept = LineTemplate.objects.get()
    assert (kept.label, kept.rate) == ("Preparation", 450)
    LineTemplate.objects.update(usual=True)
    labels = [line.label for line in drafted(client, owner, title="Next").lines.all()]
    assert labels == ["Animation", "Contingency", "Preparation"]


def test_a_first_quote_is_priced_from_the_assumed_pace(quote, studio):
    priced = queries.price_quote(quote, studio, TODAY)
    (offer,) = priced.offers
    # 30 s at 24 on twos (360 pictures) of easy, at 20 an hour.
    assert offer.priced.work.pictures == 360
    assert offer.hours == 18
    assert offer.priced.days.chosen >= offer.priced.days.even >= 3
    assert offer.priced.totals.gross == 300 * offer.priced.days.chosen
    assert "nothing measured yet" in priced.evidence.paces[0].next.words


def test_measured_sessions_move_the_pace(quote, studio):
    easy = Difficulty.objects.get(name="easy")
    film = factories.ProductionFactory(stage="delivered")
    shot = factories.ShotFactory(production=film, difficulty=easy, screen_frames=800, status="shot")
    session = factories.SessionFactory(production=film)
    factories.SessionShotFactory(session=session, shot=shot, kept=400)
    behind = queries.evidence(studio, None, TODAY).paces[0].next
    # 400 pictures in 4 hours, with the assumed 20 an hour counted as 20 hours more.
    assert (behind.difficulty, behind.pace) == ("easy", Decimal("33.33"))
    assert (behind.pictures, behind.sessions) == (400, 1)


def finished_at_half_the_assumed_pace(films=4, days=20):
    """Finished films whose every day of 7 hours kept 70 easy pictures, where 140 were assumed."""
    easy = Difficulty.objects.get(name="easy")
    for _ in range(films):
        film = factories.ProductionFactory(stage="delivered")
        shots = [
            Shot(
                production=film, code=f"B{n}", position=n, difficulty=easy, status="shot",
                screen_frames=140, exposure=2,
            )
            for n in range(days)
        ]  # fmt: skip
        Shot.objects.bulk_create(shots)
        for n, shot in enumerate(shots):
            first = factories.SessionFactory.started_at + timedelta(days=n)
            session = Session.objects.create(
                production=film, day=first.date(), started_at=first,
                ended_at=first + timedelta(hours=7),
            )  # fmt: skip
            SessionShot.objects.create(session=session, shot=shot, kept=70)


def test_slowness_measured_counts_once_in_the_days(quote, studio):
    """Half the pace, 80 days long: about twice the days, not four times as many."""
    assumed = queries.price_quote(quote, studio, TODAY).offers[0].priced
    finished_at_half_the_assumed_pace()
    known = queries.evidence(studio, None, TODAY)
    assert Decimal(10) < known.pace["easy"] < Decimal("10.5")
    assert known.paces[0].expected == pytest.approx(10, rel=0.12)
    measured = queries.price_quote(quote, studio, TODAY).offers[0].priced
    assert 1.5 <= measured.days.even / assumed.days.even <= 2.4


def test_the_builder_saves_what_is_typed(quote, owner_client):
    done = post(owner_client, quote, **{"o0s0-seconds": "4s12f", "title": "The Felt Fox, longer"})
    assert done.status_code == 302
    assert QuoteSequence.objects.get().seconds == Decimal("4.5")
    assert Quote.objects.get().title == "The Felt Fox, longer"


def test_a_line_keeps_everything_typed(quote, owner_client):
    typed = {
        "label": "Voices", "kind": "sound", "basis": "quantity × price", "quantity": "5 / 8 / 14",
        "rate": "12,5", "tax_rate": "8.25", "unit": "takes", "of": "", "option": "0",
        "group": "Voices", "hidden": "on", "optional": "",
    }  # fmt: skip
    post(owner_client, quote, **{f"l2-{name}": text for name, text in typed.items()})
    line = QuoteLine.objects.get(label="Voices")
    assert (line.quantity_best, line.quantity, line.quantity_worst) == (5, 8, 14)
    assert (line.rate, line.tax_rate, line.unit) == (Decimal("12.5"), Decimal("8.25"), "takes")
    assert (line.hidden, line.optional, line.option.label) == (True, False, "The film")
    again = builder_data(quote)
    assert {name: again[f"l2-{name}"] for name in typed} == typed | {"rate": "12.5"}


def test_saving_what_stands_changes_no_row(quote, owner_client):
    before = queries.draft_of(quote)
    post(owner_client, quote)
    assert queries.draft_of(queries.quote_with_parts(quote.pk)) == before


def test_a_second_editor_is_told_and_nothing_is_lost(quote, owner_client):
    mine = builder_data(quote, title="Mine", **{"o0s0-seconds": "99"})
    post(owner_client, quote, title="Theirs")
    late = owner_client.post(reverse("clients:quote", args=[quote.pk]), mine)
    page = late.content.decode()
    assert late.status_code == 409
    assert "Theirs" in page
    assert 'value="99"' in page
    assert Quote.objects.get().title == "Theirs"
    version = Quote.objects.get().version
    owner_client.post(reverse("clients:quote", args=[quote.pk]), mine | {"read_version": version})
    assert Quote.objects.get().title == "Mine"


def test_the_price_follows_what_is_typed_and_saves_nothing(quote, owner_client):
    page = post(owner_client, quote, "quote_price", htmx=True, **{"o0s0-exposure": "1"})
    assert "720" in page.content.decode()  # pictures: 30 s at 24 on ones
    assert QuoteSequence.objects.get().exposure == 2


def typed(response) -> list[list[str]]:
    """Labels of the sequences of every option, then of the lines, as the page has them."""
    sheet = response.context["builder"].sheet
    return [
        *([row.texts["label"] for row in option.sequences] for option in sheet.options),
        [row.texts["label"] for row in sheet.lines],
    ]


FIRST = [
    "Animation", "Contingency", "Preparation", "Puppets and sets", "Edit, grade and export",
    "Sound", "Materials",
]  # fmt: skip


@pytest.mark.parametrize(
    ("act", "wanted", "sequences", "lines"),
    [
        ("sequence:o0", "", [["The film", "Sequence 2"]], FIRST),
        ("option", "", [["The film"], ["The film"]], FIRST),
        ("copy:o0s0", "", [["The film", "The film"]], FIRST),
        ("drop:o0s0", "", [["The film"]], FIRST),  # the last one stays
        ("drop:o0", "", [["The film"]], FIRST),
        ("drop:l6", "", [["The film"]], FIRST[:-1]),
        ("up:l1", "", [["The film"]], ["Contingency", "Animation", *FIRST[2:]]),
        ("down:l0", "", [["The film"]], ["Contingency", "Animation", *FIRST[2:]]),
        ("up:l0", "", [["The film"]], FIRST),
        ("line", "kind:clean-up", [["The film"]], [*FIRST, "Clean-up"]),
        ("line", "kind:nonsense", [["The film"]], FIRST),
        ("nonsense", "", [["The film"]], FIRST),
    ],
)
def test_buttons_change_rows_and_save_nothing(quote, owner_client, act, wanted, sequences, lines):
    page = post(owner_client, quote, act=act, line=wanted)
    assert typed(page) == [*sequences, lines]
    assert QuoteSequence.objects.count() == 1
    assert QuoteLine.objects.count() == 7


def test_somebodys_days_become_a_line(quote, crew, owner_client):
    rate = DayRate.objects.create(person=crew, rate=210)
    page = post(owner_client, quote, act="line", line=f"person:{rate.pk}")
    assert typed(page)[-1][-1] == "Animation, Teo Lind"


def test_one_tax_is_put_on_every_line_but_discounts(quote, owner_client):
    discount = {
        "l6-label": "Friends", "l6-kind": "discount", "l6-basis": "percent of", "l6-rate": "5",
    }  # fmt: skip
    page = post(owner_client, quote, act="tax", tax_rate="23", **discount)
    rates = [row.texts["tax_rate"] for row in page.context["builder"].sheet.lines]
    assert rates == ["23"] * 6 + ["0"]


def test_a_line_of_one_option_follows_it_and_prices_it_alone(quote, studio, owner_client):
    draft = queries.draft_of(quote)
    two = (draft.options[0], Option("Short", Fraction(24), draft.options[0].sequences))
    quote_drafts.save_draft(
        quote, quote.version, {}, Draft(two, draft.lines, draft.payments, "EUR"), stood={}
    )
    seen = queries.quote_with_parts(quote.pk)
    page = post(owner_client, seen, act="up:o1", **{"l2-option": "1", "l2-rate": "1000"})
    sheet = page.context["builder"].sheet
    assert [row.texts["label"] for row in sheet.options] == ["Short", "The film"]
    assert sheet.lines[2].texts["option"] == "0"
    short, film = page.context["priced"].offers
    assert short.priced.totals.net - film.priced.totals.net == 1000


@pytest.mark.parametrize(
    ("entry", "value", "sentence"),
    [
        ("l0-rate", "0", "enter a number above 0"),
        ("l0-rate", "-5", "enter a number above 0"),
        ("l0-rate", "many", "is not a number"),
        ("l0-rate", "1e400", "beyond what can be kept"),
        ("l0-rate", "1.23456", "more than 4 decimals"),
        ("l0-tax_rate", "101", "enter 100 or less"),
        ("l0-tax_rate", "-1", "enter 0 or more"),
        ("l0-kind", "bribe", "Choose one of the list"),
        ("l0-quantity", "5/8", "write one number, or best"),
        ("l0-quantity", "9/8/14", "out of order"),
        ("l2-rate", "-1", "enter 0 or more"),
        ("l2-kind", "usage licence", "needs a territory, media and a term"),
        ("l2-label", "", "Give it a name"),
        ("l2-label", "x" * 121, "at most 120 characters"),
        ("p0-percent", "140", "enter 100 or less"),
        ("p0-percent", "-1", "enter a number above 0"),
        ("p0-amount", "5", "keep one"),
        ("p0-due_on", "soon", "is not a date"),
        ("o0s0-seconds", "", "How long is it?"),
        ("o0s0-seconds", "0", "enter a number above 0"),
        ("o0s0-seconds", "NaN", "is not a length"),
        ("o0s0-exposure", "0", "at least 1 frame"),
        ("o0s0-setups", "-1", "is not a whole number"),
        ("o0s0-characters", "99999", "9999 or less"),
        ("o0s0-difficulty", "wild", "Choose one of the list"),
        ("o0s0-held_seconds", "500", "lower them or lengthen the shot"),
        ("o0-rate", "1/0", "0"),
        ("o0-rate", "0", "must be more than 0"),
        ("o0-runtime", "-4", "enter a number above 0"),
        ("currency", "XYZ", "XYZ"),
        ("valid_days", "0", "greater than or equal to 1"),
    ],
)
def test_what_cannot_be_is_refused_at_its_entry_and_what_was_typed_stays(
    quote, owner_client, entry, value, sentence
):
    page = post(owner_client, quote, **{entry: value})
    assert page.status_code == 422
    assert sentence in page.content.decode()
    if value and entry not in ("l0-kind", "o0s0-difficulty", "l2-kind"):
        assert f'value="{value}"' in page.content.decode()
    live = post(owner_client, quote, "quote_price", htmx=True, **{entry: value})
    assert live.status_code == 200
    assert sentence in live.content.decode()


@pytest.mark.parametrize("lost", ["o0-", "o0s", "l", "p"])
def test_a_post_with_parts_missing_is_no_server_error(quote, owner_client, lost):
    data = {k: v for k, v in builder_data(quote).items() if not k.startswith(lost)}
    for name in ("quote", "quote_price", "quote_fits"):
        address = reverse(f"clients:{name}", args=[quote.pk])
        assert owner_client.post(address, data).status_code in (200, 302, 422)
    for act in ("option", "sequence:o0", "drop:o9", "copy:", "line", "keep:l99"):
        address = reverse("clients:quote", args=[quote.pk])
        assert owner_client.post(address, data | {"act": act}).status_code == 200


def test_a_discount_larger_than_the_sum_is_said_beside_the_price(quote, owner_client):
    discount = {
        "l6-label": "Friends", "l6-kind": "discount", "l6-basis": "fixed", "l6-rate": "10000000",
    }  # fmt: skip
    page = post(owner_client, quote, "quote_price", htmx=True, **discount).content.decode()
    assert "The discount “Friends” of 10000000.00 EUR is more than" in page


def test_payments_that_leave_money_unpaid_are_said_beside_the_price(quote, owner_client):
    page = post(owner_client, quote, "quote_price", htmx=True, **{"p2-percent": "10"})
    assert "of the total unpaid" in page.content.decode()


@pytest.mark.parametrize(("currency", "decimals"), [("JPY", 0), ("EUR", 2), ("KWD", 3)])
def test_totals_have_the_currencys_own_decimals(quote, studio, currency, decimals):
    # ISO 4217: yen has no minor unit, euro two digits, Kuwaiti dinar three.
    Quote.objects.update(currency=currency)
    priced = queries.price_quote(queries.quote_with_parts(quote.pk), studio, TODAY)
    assert -priced.offers[0].priced.totals.gross.as_tuple().exponent == decimals


def test_a_budget_buys_the_longest_film_of_each_kind(quote, owner_client):
    page = post(owner_client, quote, "quote_fits", htmx=True, budget="3000", seconds_per_setup="5")
    fits = page.context["fits"]
    assert {(fit.exposure, fit.difficulty) for fit in fits} == {
        (exposure, name) for exposure in (1, 2) for name in ("easy", "medium", "hard")
    }
    assert all(fit.net <= 3000 for fit in fits if fit.seconds)


def test_a_budget_nothing_fits_says_what_the_cheapest_second_costs(quote, owner_client):
    page = post(owner_client, quote, "quote_fits", budget="1", seconds_per_setup="5")
    assert page.status_code == 422
    assert "Nothing fits 1 EUR" in page.content.decode()


def test_the_page_asks_the_same_for_few_and_many_rows(quote, owner, client, owner_client):
    address = reverse("clients:quote", args=[quote.pk])

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries_asked:
            assert owner_client.get(address).status_code == 200
            post(owner_client, quote, "quote_price", htmx=True)
        return len(queries_asked)

    asked()
    few = asked()
    draft = queries.draft_of(quote)
    rows = tuple(Sequence(f"S{n}", Decimal(2), 2, "hard") for n in range(30))
    many = tuple(Option(f"Option {n}", Fraction(24), rows) for n in range(3))
    quote_drafts.save_draft(
        quote, quote.version, {}, Draft(many, draft.lines * 10, draft.payments, "EUR"), stood={}
    )
    assert asked() == few


def test_eighty_lines_and_a_very_long_client_name_still_print(quote, client, owner_client):
    client.name = "The Society for Felt, Wire, Clay and Paper Puppets of Every Valley " * 2
    client.save()
    draft = queries.draft_of(quote)
    quote_drafts.save_draft(
        quote,
        quote.version,
        {},
        Draft(draft.options, draft.lines[:1] * 80, draft.payments, "EUR"),
        stood={},
    )
    paper = owner_client.get(reverse("clients:quote_draft_paper", args=[quote.pk]))
    assert paper.content.startswith(b"%PDF")


def test_day_rates_and_stock_are_kept_on_their_page(quote, owner, owner_client):
    rate = DayRate.objects.get()
    address = reverse("clients:quote_stock")
    data = {
        "rate-TOTAL_FORMS": "1", "rate-INITIAL_FORMS": "1", "rate-0-id": rate.pk,
        "rate-0-person": owner.pk, "rate-0-rate": "410", "line-TOTAL_FORMS": "0",
        "line-INITIAL_FORMS": "0",
    }  # fmt: skip
    assert owner_client.post(address, data).status_code == 302
    assert DayRate.objects.get().rate == 410
    refused = owner_client.post(address, data | {"rate-0-rate": "0"})
    assert refused.status_code == 422
    assert "greater than or equal to 0.0001" in refused.content.decode()
