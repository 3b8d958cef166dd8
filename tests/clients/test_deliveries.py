"""Files leaving the house: named, copied, sealed, listed, read by the client and signed off."""

import hashlib
import io
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import bagit
import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client as Browser
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from clients.models import ClientAnswer, DeliveredFile, Delivery, DeliveryLink, FileCheck
from clients.queries import deliveries as queries
from clients.queries.deliveries import Letter
from clients.services import deliveries as services
from clients.services import file_checks, private_links
from clients.services.deliveries import Chosen
from clients.services.specifications import add_specification
from studio import long_work
from studio.errors import NotPossible
from studio.models import LongWork
from tests import factories
from tests.clients.at_once import at_the_same_moment
from tests.clients.quote_cast import drafted, with_lists
from tests.clients.test_deliverables import words
from tests.films import Film, held, make

NOW = datetime(2026, 11, 25, 13, 30, tzinfo=UTC)
LETTER = Letter(date(2026, 11, 25), "The second act is shorter.", "Europe, online, two years")


@pytest.fixture(scope="module")
def exports(tmp_path_factory) -> dict[str, bytes]:
    """Two exports of one film: right, and with the sound too loud."""
    folder = tmp_path_factory.mktemp("exports")
    film = replace(Film(), pictures=held(24, 2))
    right = make(film, folder).read_bytes()
    return {"right": right, "loud": make(replace(film, level=-3.0), folder).read_bytes()}


@pytest.fixture
def films(settings, tmp_path) -> Path:
    folder = tmp_path / "films"
    folder.mkdir()
    settings.DELIVERY_FOLDERS = [folder]
    return folder


@pytest.fixture
def file(studio):
    return factories.DeliverableFactory(
        production=factories.ProductionFactory(code="FELT", contracted_frames=24),
        specification=add_specification("Small", {"width": 128, "true_peak": -1.0}),
        file_name="{production}_{deliverable}_v{version}.mp4",
    )


@pytest.fixture
def check(owner, films, exports):
    """A function that has an export checked for a deliverable."""

    def of(file, content: bytes | None = None) -> FileCheck:
        path = films / f"export-{file.pk}.mp4"
        path.write_bytes(content or exports["right"])
        row = file_checks.begin_check(file, path, owner, NOW)
        long_work.carry_out.call(row.work.pk)
        row.refresh_from_db()
        assert row.ended_at, row.work.note
        return row

    return of


def seen(file) -> Chosen:
    """The deliverable with the newest check of a file for it, if there is any."""
    newest = file.file_checks.first()
    return Chosen(file.pk, newest.pk if newest else 0)


def deliver(file, owner, *others, changed: str = "") -> LongWork:
    chosen = [replace(seen(one), changed=changed) for one in (file, *others)]
    work = services.begin_delivery(file.production, chosen, LETTER, owner)
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    return work


@pytest.fixture
def delivery(file, owner, check) -> Delivery:
    check(file)
    work = deliver(file, owner)
    assert work.state == "done", work.note
    return Delivery.objects.get()


def kept(delivery: Delivery) -> Path:
    return Path(default_storage.path(f"deliveries/{delivery.production_id}/{delivery.number}"))


def test_a_delivery_is_a_bag_that_another_reader_finds_whole(delivery):
    bag = bagit.Bag(str(kept(delivery)))  # the Library of Congress's reader of RFC 8493
    bag.validate()
    assert list(bag.payload_files()) == ["data/FELT_HD-web-master_v01.mp4"]
    assert delivery.manifest == (kept(delivery) / "manifest-sha256.txt").read_text()


def test_what_is_kept_is_what_was_checked(delivery, exports):
    row = DeliveredFile.objects.get()
    assert row.sha256 == hashlib.sha256(exports["right"]).hexdigest()
    assert row.size == len(exports["right"])
    assert row.file.read() == exports["right"]


def test_the_delivery_says_where_it_can_be_seen(delivery, owner_client):
    work = LongWork.objects.get(kind__endswith="make_delivery")
    assert work.note == "Delivery 1 of FELT stands. Give the client its private address."
    shown = words(owner_client.get(work.result_url))
    assert "FELT_HD-web-master_v01.mp4" in shown
    assert "waiting for the client" in shown


def sheet_text(answer) -> str:
    assert answer.status_code == 200
    return " ".join(
        "\n".join(
            page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages
        ).split()
    )


def test_the_sheet_has_every_result_the_licence_and_room_to_sign(delivery, owner_client):
    text = sheet_text(owner_client.get("/productions/FELT/deliveries/1/sheet.pdf"))
    for said in (
        "Delivery sheet 1", "HD web master, version 1", "Picture width", "128 px", "Cadence",
        "True peak", "fits", "The second act is shorter.", "Europe, online, two years",
        "A reminder only", "Signature", "FELT_HD-web-master_v01.mp4",
    ):  # fmt: skip
        assert said in text, said


def test_versions_count_upwards_and_a_new_one_names_what_changed(
    delivery, file, owner, check, exports, owner_client
):
    check(file, exports["loud"])
    work = deliver(file, owner, changed="The bell is louder.")
    assert work.state == "done", work.note
    second = Delivery.objects.first()
    version = second.versions.get()
    assert (second.number, version.version) == (2, 2)
    said = version.changed.splitlines()
    assert said[0] == "The bell is louder."
    assert said[1].startswith("True peak: −")
    assert "before −" in said[1]
    assert version.files.get().name == "FELT_HD-web-master_v02.mp4"
    # The first stays as it was, apart.
    assert (kept(delivery) / "data" / "FELT_HD-web-master_v01.mp4").read_bytes() == exports["right"]
    bagit.Bag(str(kept(second))).validate()
    text = sheet_text(owner_client.get("/productions/FELT/deliveries/2/sheet.pdf"))
    assert "Changed since version 1: The bell is louder." in text


def test_the_same_bytes_again_are_called_the_same(delivery, file, owner, check):
    check(file)
    deliver(file, owner)
    changed = Delivery.objects.first().versions.get().changed
    assert changed == "The same file, byte for byte, as version 1."


def test_an_archived_deliverable_brought_back_goes_on_counting(delivery, file, owner, check):
    file.archived_at = NOW
    file.save()
    file.archived_at = None
    file.save()
    check(file)
    assert queries.ready(file.production)[0].version == 2


def test_what_is_not_ready_stays_here_and_says_why(file, owner, check, exports, owner_client):
    page = words(owner_client.get("/productions/FELT/deliveries/new/"))
    assert "No file was checked for it yet." in page
    with pytest.raises(NotPossible, match="No file was checked for it yet"):
        deliver(file, owner)
    check(file)
    file.specification.items = {"width": 1920}
    file.specification.save()
    with pytest.raises(NotPossible, match="check it again"):
        deliver(file, owner)
    check(file)
    with pytest.raises(NotPossible, match="does not fit: picture width"):
        deliver(file, owner)
    row = FileCheck.objects.first()
    file_checks.accept_exception(row, "width", "Noor Haddad", "Letter of 3 May", owner, NOW)
    assert deliver(file, owner).state == "done"
    text = sheet_text(owner_client.get("/productions/FELT/deliveries/1/sheet.pdf"))
    assert "Accepted in writing by Noor Haddad: Letter of 3 May" in text


def test_nothing_chosen_is_no_delivery(file, owner):
    with pytest.raises(NotPossible, match="Choose at least one file"):
        services.begin_delivery(file.production, [], LETTER, owner)


def test_a_file_changed_since_its_check_does_not_leave_and_nothing_stays(file, owner, check, films):
    check(file)
    work = services.begin_delivery(file.production, [seen(file)], LETTER, owner)
    (films / f"export-{file.pk}.mp4").write_bytes(b"another export")
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert "is not the file that was checked: check it again" in work.note
    assert not Delivery.objects.exists()
    assert not any(path.is_file() for path in Path(default_storage.location).rglob("*"))


def test_a_delivery_that_is_stopped_leaves_nothing(file, owner, check, monkeypatch):
    check(file)
    work = services.begin_delivery(file.production, [seen(file)], LETTER, owner)
    told = long_work.Report.progress

    def stopped_meanwhile(report, done, total, note=""):
        long_work.ask_to_stop(work)
        told(report, done, total, note)

    monkeypatch.setattr(long_work.Report, "progress", stopped_meanwhile)
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert work.state == "stopped"
    assert not Delivery.objects.exists()
    assert not any(path.is_file() for path in Path(default_storage.location).rglob("*"))


def test_what_a_cut_off_attempt_left_is_not_delivered(file, owner, check):
    check(file)
    place = Path(default_storage.path(f"deliveries/{file.production_id}/1/data"))
    place.mkdir(parents=True)
    (place / "FELT_HD-web-master_v01.mp4").write_bytes(b"half a film")
    assert deliver(file, owner).state == "done"
    bagit.Bag(str(kept(Delivery.objects.get()))).validate()


def test_a_file_the_owner_did_not_see_does_not_leave(file, owner, check, exports):
    check(file)
    before = [seen(file)]
    work = services.begin_delivery(file.production, before, LETTER, owner)
    check(file, exports["loud"])
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert work.note == "Another file was checked for HD web master meanwhile: look at it first."
    with pytest.raises(NotPossible, match="meanwhile"):
        services.begin_delivery(file.production, before, LETTER, owner)


def test_one_delivery_of_a_film_is_made_at_a_time(file, owner, check):
    check(file)
    services.begin_delivery(file.production, [seen(file)], LETTER, owner)
    with pytest.raises(NotPossible, match="is being made already"):
        services.begin_delivery(file.production, [seen(file)], LETTER, owner)


def test_an_attempt_thought_dead_takes_nothing_from_the_one_that_took_its_place(
    file, owner, check, monkeypatch, exports
):
    check(file)
    work = services.begin_delivery(file.production, [seen(file)], LETTER, owner)
    seal = services._Bag.seal

    def after_the_other(bag) -> str:
        monkeypatch.setattr(services._Bag, "seal", seal)
        services.make_delivery(long_work.Report(work.pk), **work.arguments)
        return seal(bag)

    monkeypatch.setattr(services._Bag, "seal", after_the_other)
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert work.note == "Another delivery was made meanwhile: make this one anew."
    bagit.Bag(str(kept(Delivery.objects.get()))).validate()


def test_two_files_of_one_name_do_not_leave_together(file, owner, check):
    twin = factories.DeliverableFactory(
        production=file.production, name="Other", file_name="felt_hd-web-master_v{version}.mp4"
    )
    check(file)
    check(twin)
    with pytest.raises(NotPossible, match="Two files would be called"):
        deliver(file, owner, twin)


def test_captions_leave_beside_their_film(file, owner, check, films):
    file.specification.items = {"captions": {"kind": "any"}}
    file.specification.save()
    (films / f"export-{file.pk}.vtt").write_text("WEBVTT\n\n00:00.000 --> 00:00.400\nRain.\n")
    check(file)
    assert deliver(file, owner).state == "done"
    names = [row.name for row in DeliveredFile.objects.all()]
    assert names == ["FELT_HD-web-master_v01.mp4", "FELT_HD-web-master_v01.vtt"]
    bagit.Bag(str(kept(Delivery.objects.get()))).validate()


@pytest.mark.django_db(transaction=True)
def test_an_upload_is_taken_off_the_disk_once_it_left(file, owner, exports):
    film = SimpleUploadedFile("a.mp4", exports["right"])
    row = file_checks.begin_uploaded_check(file, film, None, owner, NOW)
    long_work.carry_out.call(row.work.pk)
    assert deliver(file, owner).state == "done"
    assert not Path(row.path).exists()
    assert DeliveredFile.objects.get().file.size == len(exports["right"])


def test_the_form_makes_the_delivery_the_owner_chose(file, owner_client, check):
    check(file)
    file.checks.create(text="Plays")
    page = words(owner_client.get("/productions/FELT/deliveries/new/"))
    assert "FELT_HD-web-master_v01.mp4" in page
    assert "0 of 1 checks are ticked. The sheet shows the others as not ticked." in page
    row = FileCheck.objects.get()
    data = {
        "day": "2026-11-25", f"leaves_{file.pk}": "on", f"seen_{file.pk}": row.pk,
        "words": "Enjoy.",
    }  # fmt: skip
    response = owner_client.post("/productions/FELT/deliveries/new/", data)
    work = LongWork.objects.get(kind__endswith="make_delivery")
    assert response.url == reverse("studio:work", args=[work.pk])
    long_work.carry_out.call(work.pk)
    delivery = Delivery.objects.get()
    assert (delivery.words, delivery.day) == ("Enjoy.", date(2026, 11, 25))
    assert delivery.versions.get().offered is False


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        ({"day": "2026-11-25"}, "Choose at least one file"),
        ({"day": "soon", "leaves_{pk}": "on"}, "Enter a valid date"),
        ({"leaves_{pk}": "on"}, "This field is required"),
    ],
)
def test_a_delivery_that_cannot_be_is_refused_in_words(file, owner_client, check, data, sentence):
    check(file)
    filled = {name.format(pk=file.pk): value for name, value in data.items()}
    filled[f"seen_{file.pk}"] = FileCheck.objects.get().pk
    response = owner_client.post("/productions/FELT/deliveries/new/", filled)
    assert response.status_code == 422
    assert sentence in words(response)


def test_the_quotes_licence_is_the_reminder(owner, studio):
    quote = drafted(with_lists(factories.ClientFactory()), owner)
    quote.lines.create(
        label="Licence", kind="usage licence", basis="fixed", rate=900,
        territory="Europe", media="online", term="two years",
    )  # fmt: skip
    quote.production = factories.ProductionFactory()
    quote.save()
    assert "Licence, Europe, online, two years" in queries.licence_of(quote.production)


@pytest.mark.django_db(transaction=True)
def test_of_two_who_sign_off_at_once_the_first_stands(delivery):
    version = delivery.versions.get()

    def sign(name: str):
        return lambda: services.answer(version, "signed off", name, "", NOW)

    said = at_the_same_moment(sign("Noor Haddad"), sign("Emre Işık"))
    [late] = [one for one in said if isinstance(one, NotPossible)]
    assert "signed off already, by" in late.sentence
    assert ClientAnswer.objects.count() == 1


# --- the client's page ---------------------------------------------------------------------


@pytest.fixture
def address(delivery) -> str:
    return f"/d/{services.make_link(delivery, datetime.now(UTC))}/"


@pytest.fixture
def client_browser() -> Browser:
    return Browser()


def test_the_client_reads_downloads_and_signs_off(delivery, address, client_browser, exports):
    page = client_browser.get(address)
    assert "no-store" in page.headers["Cache-Control"]
    assert "noindex" in page.headers["X-Robots-Tag"]
    assert "HD web master, version 1" in words(page)
    assert "Delivery sheet 1" in sheet_text(client_browser.get(f"{address}sheet.pdf"))
    manifest = client_browser.get(f"{address}manifest/")
    assert manifest.content.decode() == delivery.manifest
    row = DeliveredFile.objects.get()
    download = client_browser.get(f"{address}files/{row.pk}/")
    assert b"".join(download.streaming_content) == exports["right"]
    assert 'filename="FELT_HD-web-master_v01.mp4"' in download.headers["Content-Disposition"]
    said = {"of": row.of_id, "kind": "signed off", "name": "Noor Haddad", "words": "Lovely."}
    assert client_browser.post(address, said).status_code == 302
    signed = ClientAnswer.objects.get()
    assert (signed.name, signed.words, signed.kind) == ("Noor Haddad", "Lovely.", "signed off")
    assert signed.by_link == DeliveryLink.objects.get()
    assert "Signed off by Noor Haddad" in words(client_browser.get(address))
    assert "Signed off by Noor Haddad" in sheet_text(client_browser.get(f"{address}sheet.pdf"))
    again = client_browser.post(address, said | {"name": "Emre Işık"})
    assert again.status_code == 422
    assert ClientAnswer.objects.count() == 1


@pytest.mark.parametrize("who", ["client", "owner"])
def test_a_download_that_broke_off_goes_on_where_it_was(
    who, delivery, address, client_browser, owner_client, exports
):
    """RFC 9110 14.2 and 13.1.5: the tag is the SHA-256 of the manifest."""
    row, film = DeliveredFile.objects.get(), exports["right"]
    browser = client_browser if who == "client" else owner_client
    base = address if who == "client" else "/productions/FELT/deliveries/1/"
    first = browser.get(f"{base}files/{row.pk}/")
    tag = first.headers["ETag"]
    assert tag.strip('"') in delivery.manifest
    assert first.headers["Content-Type"] == "application/octet-stream"
    assert b"".join(first.streaming_content) == film
    rest = browser.get(f"{base}files/{row.pk}/", headers={"Range": "bytes=1000-", "If-Range": tag})
    assert (rest.status_code, b"".join(rest.streaming_content)) == (206, film[1000:])
    assert rest.headers["Content-Range"] == f"bytes 1000-{len(film) - 1}/{len(film)}"
    none = browser.get(f"{base}files/{row.pk}/", headers={"Range": f"bytes={len(film)}-"})
    assert none.status_code == 416


def test_the_client_asks_for_a_change_and_the_owner_hears_of_it(
    delivery, address, client_browser, owner_client, owner, file, check, exports
):
    of = {"of": delivery.versions.get().pk, "kind": "change", "name": "Noor Haddad"}
    silent = client_browser.post(address, of | {"words": ""})
    assert silent.status_code == 422
    assert "Say what is to be changed." in words(silent)
    client_browser.post(address, of | {"words": "The fox is too red. <script>"})
    # Enter in the name's field presses the first button (HTML, implicit submission).
    form = silent.content.decode()
    assert form.index('value="change"') < form.index('value="signed off"')
    shown = owner_client.get("/productions/FELT/deliveries/1/")
    assert "a change is asked for" in words(shown)
    assert "<script>" not in shown.content.decode().split("<main")[1]
    assert "Noor Haddad asked for a change of HD web master, version 1" in words(
        owner_client.get("/")
    )
    check(file, exports["loud"])
    assert "is the file that left" not in words(owner_client.get("/productions/FELT/deliverables/"))
    deliver(file, owner, changed="Less red.")
    assert "is the file that left" in words(owner_client.get("/productions/FELT/deliverables/"))
    assert "1 replaced since" in words(owner_client.get("/productions/FELT/deliveries/"))
    assert "asked for a change" not in words(owner_client.get("/"))
    old = words(client_browser.get(address))
    assert "replaced by version 2" in old
    assert "Version 2 took its place. It has a private address of its own" in old
    late = client_browser.post(address, of | {"kind": "signed off"})
    assert "Version 2 took its place" in words(late)


def test_what_is_no_longer_offered_is_not_downloaded(
    delivery, address, client_browser, owner_client
):
    row = DeliveredFile.objects.get()
    owner_client.post(f"/productions/FELT/deliveries/1/offer/{row.of_id}/", {"offered": "no"})
    assert "handed over another way" in words(client_browser.get(address))
    assert client_browser.get(f"{address}files/{row.pk}/").status_code == 404
    owner_client.post(f"/productions/FELT/deliveries/1/offer/{row.of_id}/", {"offered": "yes"})
    assert client_browser.get(f"{address}files/{row.pk}/").status_code == 200


def test_a_link_opens_its_own_delivery_only(delivery, address, client_browser, studio, owner):
    other = Delivery.objects.create(
        production=factories.ProductionFactory(code="CLAY"), number=1, day=NOW.date(),
        paper=delivery.paper, manifest="", made_at=NOW,
    )  # fmt: skip
    token = services.make_link(other, datetime.now(UTC))
    row = DeliveredFile.objects.get()
    assert client_browser.get(f"/d/{token}/files/{row.pk}/").status_code == 404
    said = {"of": row.of_id, "kind": "signed off", "name": "Somebody else"}
    assert client_browser.post(f"/d/{token}/", said).status_code == 404
    assert not ClientAnswer.objects.exists()


@pytest.mark.parametrize("end", ["revoked", "expired", "mistyped"])
def test_a_closed_link_opens_nothing(delivery, address, client_browser, end):
    if end == "revoked":
        private_links.revoke_link(DeliveryLink.objects.get(), NOW)
    elif end == "expired":
        DeliveryLink.objects.update(expires_at=datetime.now(UTC) - timedelta(seconds=1))
    else:
        address = address[:-2] + "x/"
    row = DeliveredFile.objects.get()
    for place in ("", "sheet.pdf", "manifest/", f"files/{row.pk}/"):
        answer = client_browser.get(address + place)
        assert answer.status_code == 404
        assert "FELT" not in answer.content.decode()


def test_only_the_hash_of_an_address_is_kept(delivery, address):
    secret = address.split("/")[2]
    assert len(secret) >= 43  # 256 random bits in base64
    row = DeliveryLink.objects.get()
    assert row.token_hash == hashlib.sha256(secret.encode()).hexdigest()


def test_the_owner_gives_an_address_out_once_and_closes_it(delivery, owner_client, client_browser):
    page = owner_client.post(f"/deliveries/{delivery.pk}/links/new/")
    fresh = page.context["fresh"]
    assert fresh in words(page)
    assert fresh not in words(owner_client.get("/productions/FELT/deliveries/1/"))
    path = fresh.removeprefix("http://testserver")
    assert client_browser.get(path).status_code == 200
    link = DeliveryLink.objects.get()
    owner_client.post(f"/deliveries/{delivery.pk}/links/{link.pk}/revoke/")
    assert client_browser.get(path).status_code == 404


def test_the_owner_notes_an_answer_that_came_another_way(delivery, owner_client, owner):
    said = {"of": delivery.versions.get().pk, "kind": "signed off", "name": "Noor Haddad"}
    address = "/productions/FELT/deliveries/1/answer/"
    assert owner_client.post(address, said | {"name": ""}).status_code == 422
    assert owner_client.post(address, said).status_code == 302
    assert ClientAnswer.objects.get().noted_by == owner
    assert "1 of 1" in words(owner_client.get("/productions/FELT/deliveries/"))


def test_pages_ask_the_same_of_the_database_for_one_file_and_for_many(
    delivery, file, owner, owner_client, check, address, client_browser
):
    def asked(browser, path: str) -> int:
        with CaptureQueriesContext(connection) as captured:
            assert browser.get(path).status_code == 200
        return len(captured)

    pages = [
        (owner_client, "/productions/FELT/deliveries/"),
        (owner_client, "/productions/FELT/deliveries/new/"),
        (owner_client, "/productions/FELT/deliveries/1/"),
        (client_browser, address),
    ]
    one = [asked(*page) for page in pages]
    first = delivery.versions.get()
    for n in range(12):
        twin = factories.DeliverableFactory(
            production=file.production, name=f"Cut {n}", specification=file.specification
        )
        row = FileCheck.objects.get(deliverable=file)
        row.pk, row.work, row.deliverable = None, None, twin
        row.save()
        version = delivery.versions.create(deliverable=twin, file_check=row, version=1)
        version.files.create(name=f"{n}.mp4", size=1, sha256="0" * 64, file=f"x/{n}.mp4")
        services.answer(version, "change", "Noor", "Longer", NOW)
        Delivery.objects.create(
            production=file.production, number=n + 2, day=NOW.date(), paper=delivery.paper,
            manifest="", made_at=NOW,
        )  # fmt: skip
    assert first.version == 1
    assert [asked(*page) for page in pages] == one
    assert max(one) <= 25
