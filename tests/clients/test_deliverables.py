"""Files promised, their checks, and the sheet that goes with them."""

from datetime import UTC, datetime
from fractions import Fraction
from io import BytesIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from clients.models import Deliverable, DeliverableCheck
from clients.queries.deliverables import deliverables_page, wanted_of
from clients.services.deliverables import move_deliverable, set_tick
from clients.services.specifications import add_specification
from clients.trade.delivery import FIRST_CHECKS
from clients.trade.specification import MEASURED
from studio.errors import EditedMeanwhile
from tests import factories

NOW = datetime(2026, 11, 25, 13, 30, tzinfo=UTC)
NEW = {"name": "HD web master", "checks": "Plays\n\n  Spelled   right \n"}


@pytest.fixture
def film(studio):
    return factories.ProductionFactory(code="FELT")


@pytest.fixture
def check(film):
    return factories.DeliverableCheckFactory(deliverable__production=film)


def words(response) -> str:
    return " ".join(response.content.decode().split())


def of_check(check: DeliverableCheck) -> str:
    file = check.deliverable
    return f"/productions/{file.production.code}/deliverables/{file.pk}/checks/{check.pk}/"


def names(film) -> list[str]:
    return [row.deliverable.name for row in deliverables_page(film).promised]


def test_empty_pages_say_what_to_do_next(owner_client):
    assert "No production yet." in words(owner_client.get("/deliveries/"))
    factories.ProductionFactory(code="FELT")
    assert "List each file the client is to get" in words(owner_client.get("/deliveries/"))
    page = words(owner_client.get("/productions/FELT/deliverables/"))
    assert "Add each file the client is to get" in page


def test_a_new_file_starts_from_the_films_rate_and_follows_its_length(owner_client, film):
    form = owner_client.get("/productions/FELT/deliverables/new/").context["form"]
    assert form["rate"].value() == "24"
    assert form["frames"].value() is None
    assert form["frames"].help_text.startswith("Empty follows the film, 30 s 00 f now. Else as 4.5")
    assert form["checks"].value().splitlines() == list(FIRST_CHECKS)


def test_a_file_is_promised_with_its_checks_one_a_line(owner_client, film):
    data = NEW | {"width": "1920", "height": "1080", "rate": "23.976", "frames": "4s06f"}
    assert owner_client.post("/productions/FELT/deliverables/new/", data).status_code == 302
    row = film.deliverables.get()
    assert row.rate == Fraction(24000, 1001)
    assert row.frames == 102
    assert [check.text for check in row.checks.all()] == ["Plays", "Spelled right"]


def test_a_length_typed_that_is_not_the_films_is_said_and_an_empty_one_follows(owner_client, film):
    typed = NEW | {"rate": "24", "frames": "4 s"}
    owner_client.post("/productions/FELT/deliverables/new/", typed)
    page = "/productions/FELT/deliverables/"
    assert "Its length was typed; the film is 30 s 00 f." in words(owner_client.get(page))
    row = film.deliverables.get()
    row.frames = None
    row.specification = add_specification("Loop", {"frame_count": {"frames": 96, "tolerance": 1}})
    row.save()
    said = "Its specification’s length was typed; the film is 30 s 00 f."
    assert said in words(owner_client.get(page))
    row.specification = None
    row.save()
    shown = words(owner_client.get(page))
    assert "Its length was typed" not in shown
    assert "720 frames" in shown
    film.contracted_frames = 744
    film.save()
    assert "744 frames" in words(owner_client.get(page))


def test_what_is_typed_counts_beside_a_specification_that_asks_for_nothing(film):
    empty, archive = (
        add_specification(*one)
        for one in (("Empty", {}), ("Pictures", {"name": "a_v{version}.tar"}))
    )
    row = factories.DeliverableFactory(production=film, specification=empty, width=1920, height=816)
    assert (wanted_of(row).width, wanted_of(row).frame_count.frames) == (1920, 720)
    row.specification = archive
    assert not wanted_of(row).wants(*MEASURED)


def test_a_length_without_a_rate_counts_at_the_productions(owner_client, film):
    owner_client.post("/productions/FELT/deliverables/new/", NEW | {"frames": "4 s"})
    row = film.deliverables.get()
    assert row.rate is None
    assert row.frames == 96


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("name", "", "required"),
        ("width", "0", "1 to 65535 pixels, got 0"),
        ("width", "-5", "got -5"),
        ("height", "9" * 25, "1 to 65535 pixels"),
        ("height", "1080", "width and height both"),
        ("rate", "0", "more than 0"),
        ("rate", "1/0", "“1/0”"),
        ("frames", "0", "“0”"),
        ("frames", "-4", "-4"),
        ("frames", "soon", "soon"),
        ("frames", "9" * 20, "24 hours"),
        ("file_name", "a/b.mp4", "not safe on every system: /"),
        ("file_name", "../b.mp4", "not safe on every system"),
        ("file_name", "{film}.mp4", "asks for 'film'; the fields are"),
        ("file_name", "a\x07.mp4", "not safe on every system"),
        ("file_name", "-rf.mp4", "starts with a hyphen"),
        ("checks", "x" * 201, "200 characters at most"),
        ("checks", "x\n" * 101, "At most 100 checks"),
    ],
)
def test_bad_input_is_answered_in_words_at_its_field(owner_client, film, field, value, sentence):
    response = owner_client.post("/productions/FELT/deliverables/new/", NEW | {field: value})
    assert response.status_code == 422
    at = "width" if (field, value) == ("height", "1080") else field
    assert sentence in " ".join(response.context["form"].errors[at])
    assert not Deliverable.objects.exists()


def test_two_files_cannot_share_a_name_on_disk(owner_client, film):
    factories.DeliverableFactory(production=film, name="First", file_name="FELT_v01.mp4")
    response = owner_client.post(
        "/productions/FELT/deliverables/new/", NEW | {"file_name": "felt_V01.mp4"}
    )
    assert "“First” has this file name already" in words(response)
    pattern = "{production}_{deliverable}_v{version}.mp4"
    for name, status in [("Web master", 302), ("Web  Master!", 422), ("Square cut", 302)]:
        sent = NEW | {"name": name, "file_name": pattern}
        assert owner_client.post("/productions/FELT/deliverables/new/", sent).status_code == status


def test_two_people_editing_get_both_versions(owner_client, check):
    row = check.deliverable
    address = f"/productions/FELT/deliverables/{row.pk}/"
    owner_client.post(address, {"name": "Theirs", "read_version": 1})
    late = owner_client.post(address, {"name": "Mine", "rate": "25", "read_version": 1})
    assert late.status_code == 409
    assert [row.label for row in late.context["form"].differences] == ["Name", "Frame rate"]
    assert "Theirs" in words(late)


def test_changing_a_ticked_file_asks_to_look_again(owner_client, owner, check):
    set_tick(check, 1, True, owner, NOW)
    page = owner_client.post(
        f"/productions/FELT/deliverables/{check.deliverable.pk}/",
        {"name": "HD web master", "rate": "25", "read_version": 1},
        follow=True,
    )
    assert "ticked before this change" in words(page)
    check.refresh_from_db()
    assert check.is_ticked


def test_a_copy_follows_the_first_with_nothing_ticked_and_no_file_name(owner_client, owner, film):
    first = factories.DeliverableFactory(
        production=film, name="A", width=1920, height=1080, file_name="a.mp4", position=0
    )
    factories.DeliverableFactory(production=film, name="B", position=1)
    set_tick(factories.DeliverableCheckFactory(deliverable=first), 1, True, owner, NOW)
    owner_client.post(f"/productions/FELT/deliverables/{first.pk}/duplicate/")
    assert names(film) == ["A", "A (copy)", "B"]
    copy = film.deliverables.get(name="A (copy)")
    assert (copy.width, copy.height, copy.file_name) == (1920, 1080, "")
    assert [(check.text, check.is_ticked) for check in copy.checks.all()] == [
        ("Titles spelled as approved", False)
    ]


def test_files_move_up_and_down_and_stop_at_the_ends(film):
    a, b, c = (
        factories.DeliverableFactory(production=film, name=name, position=n)
        for n, name in enumerate("ABC")
    )
    move_deliverable(c, -1)
    assert names(film) == ["A", "C", "B"]
    move_deliverable(a, -1)
    move_deliverable(b, 1)
    assert names(film) == ["A", "C", "B"]
    move_deliverable(a, 1)
    assert names(film) == ["C", "A", "B"]


def test_archiving_a_file_offers_an_undo(owner_client, check):
    address = f"/productions/FELT/deliverables/{check.deliverable.pk}/"
    page = words(owner_client.post(f"{address}archive/", follow=True))
    assert "HD web master was archived." in page
    assert f'action="{address}restore/"' in page
    assert owner_client.get(address).status_code == 404
    owner_client.post(f"{address}restore/")
    assert owner_client.get(address).status_code == 200


def test_a_tick_saves_who_and_when_and_can_be_taken_back(owner_client, owner, check):
    address = f"{of_check(check)}tick/"
    part = owner_client.post(
        address, {"ticked": "yes", "read_version": 1}, headers={"HX-Request": "true"}
    )
    assert "1 of 1 ticked" in words(part)
    assert "<html" not in words(part)
    check.refresh_from_db()
    assert check.ticked_by == owner
    page = owner_client.post(address, {"ticked": "no", "read_version": 2}, follow=True)
    assert "0 of 1 ticked" in words(page)
    check.refresh_from_db()
    assert (check.ticked_at, check.ticked_by) == (None, None)
    # Who had ticked it is not forgotten.
    assert check.history.filter(ticked_by=owner).exists()


def test_of_two_people_ticking_at_once_the_first_stands(owner, crew, check):
    set_tick(check, 1, True, owner, NOW)
    set_tick(check, 1, True, crew, NOW)
    check.refresh_from_db()
    assert check.ticked_by == owner
    assert check.version == 2


def test_nobody_vouches_for_words_they_have_not_seen(owner_client, owner, check):
    owner_client.post(of_check(check), {"text": "Other words", "read_version": 1})
    late = owner_client.post(
        f"{of_check(check)}tick/",
        {"ticked": "yes", "read_version": 1},
        headers={"HX-Request": "true"},
    )
    assert late.status_code == 409
    assert "Somebody changed this check meanwhile" in words(late)
    with pytest.raises(EditedMeanwhile):
        set_tick(check, 1, True, owner, NOW)


def test_new_words_of_a_check_start_unticked(owner_client, owner, check):
    set_tick(check, 1, True, owner, NOW)
    owner_client.post(of_check(check), {"text": check.text, "read_version": 2})
    check.refresh_from_db()
    assert check.is_ticked
    owner_client.post(of_check(check), {"text": "Other words", "read_version": 2})
    check.refresh_from_db()
    assert not check.is_ticked


def test_a_check_is_added_taken_off_and_brought_back(owner_client, check):
    base = f"/productions/FELT/deliverables/{check.deliverable.pk}/checks/"
    assert owner_client.post(base, {"text": ""}).status_code == 422
    owner_client.post(base, {"text": "Ёжик spelled right"})
    assert [row.text for row in check.deliverable.checks.all()][-1] == "Ёжик spelled right"
    page = words(owner_client.post(f"{of_check(check)}archive/", follow=True))
    assert "0 of 1 ticked" in page
    assert "Taken off" in page
    owner_client.post(f"{of_check(check)}restore/")
    assert "0 of 2 ticked" in words(owner_client.get("/productions/FELT/deliverables/"))


def test_an_uneven_rate_is_said_on_the_page(owner_client):
    film = factories.ProductionFactory(code="FELT", rate_numerator=30)
    factories.DeliverableFactory(production=film, rate_numerator=24, rate_denominator=1)
    page = words(owner_client.get("/productions/FELT/deliverables/"))
    assert "15 into 24 is uneven" in page
    assert "Nearest even delivery: 30." in page


def test_deliveries_count_what_is_in_hand(owner_client, owner, check):
    factories.CommissionFactory(production=check.deliverable.production, client__name="Ωmega")
    set_tick(check, 1, True, owner, NOW)
    factories.DeliverableCheckFactory(deliverable=check.deliverable)
    factories.DeliverableCheckFactory(deliverable=check.deliverable, archived_at=NOW)
    factories.DeliverableCheckFactory(
        deliverable__production=check.deliverable.production, deliverable__archived_at=NOW
    )
    page = words(owner_client.get("/deliveries/"))
    assert "1 of 2" in page
    assert "Ωmega" in page


def test_the_newest_production_stands_first_among_deliveries(owner_client):
    films = [factories.DeliverableFactory().production for _ in range(3)]
    assert owner_client.get("/deliveries/").context["promised"] == films[::-1]


@pytest.mark.parametrize(("paper", "width"), [("A4", 595.276), ("Letter", 612.0)])
def test_the_sheet_comes_on_the_studios_paper_in_its_time_zone(
    owner_client, owner, studio, check, paper, width
):
    studio.paper = paper
    studio.save()
    factories.CommissionFactory(
        production=check.deliverable.production, client__name="紙のきつね Ωmega"
    )
    set_tick(check, 1, True, owner, NOW)
    response = owner_client.get("/productions/FELT/delivery-sheet.pdf")
    page = PdfReader(BytesIO(response.content)).pages[0]
    assert float(page.mediabox.width) == pytest.approx(width, abs=0.001)
    assert "紙のきつね Ωmega" in page.extract_text()
    # 13:30 UTC is 14:30 in Warsaw in winter (IANA time zone database).
    assert "Ida Morrow, 25 Nov 2026, 14:30" in page.extract_text()


@pytest.mark.parametrize("address", ["/deliveries/", "/productions/FELT/deliverables/"])
def test_pages_take_as_many_queries_for_many_rows_as_for_one(owner_client, check, address):
    factories.CommissionFactory(production=check.deliverable.production)
    with CaptureQueriesContext(connection) as one:
        owner_client.get(address)
    for _ in range(10):
        factories.DeliverableCheckFactory(deliverable__production=check.deliverable.production)
        other = factories.DeliverableCheckFactory()
        factories.CommissionFactory(production=other.deliverable.production)
    with CaptureQueriesContext(connection) as many:
        owner_client.get(address)
    assert len(one) == len(many)
