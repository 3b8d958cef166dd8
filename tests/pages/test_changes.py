"""Who changed what is readable on the page, and what stood before can be opened and saved again."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.db import connection
from django.db.models import F
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import Deliverable, DeliverableCheck, DraftKept, Quote
from clients.queries.quotes import quote_with_parts
from shots.models import Session, SessionShot, Shot
from shots.services.floor import lay_out_lists
from tests import factories
from tests.clients.quote_cast import builder_data, drafted, film

KEEPS_HISTORY = (Shot, Session, SessionShot, Deliverable, DeliverableCheck, Quote)


def an_hour_passes() -> None:
    """What was done so far lies an hour back."""
    for model in KEEPS_HISTORY:
        model.history.update(history_date=F("history_date") - timedelta(hours=1))


def shown(browser, address: str) -> str:
    """A page's words, entries and all."""
    return unescape(browser.get(address).content.decode())


def told(page: str) -> list[tuple[str, ...]]:
    """The rows of what was changed: label, before, after."""
    rows = re.findall(r"<tr><th scope=.row.*?</tr>", page, re.DOTALL)
    cells = [re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL) for row in rows]
    return [tuple(re.sub(r"<[^>]+>", "", cell) for cell in row) for row in cells]


def opens(page: str) -> list[str]:
    """The addresses that open the row as it stood, newest first."""
    return re.findall(r'href="([^"]+as_at=[^"]+)"', page)


def entries(page: str) -> dict[str, str]:
    """What the entries and choices of a page hold."""
    found = dict(re.findall(r'<input[^>]* name="([^"]+)"[^>]* value="([^"]*)"', page))
    for name, inner in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', inner)
        found[name] = chosen[1] if chosen else ""
    return found


@pytest.fixture
def shot(owner):
    film = factories.ProductionFactory(code="FELT", title="The Felt Fox")
    return factories.ShotFactory(production=film, code="A010", screen_frames=48, exposure=2)


def save_shot(browser, shot: Shot, **changes) -> None:
    page = reverse("shots:shot", args=["FELT", shot.pk])
    assert browser.post(page, entries(shown(browser, page)) | changes).status_code == 302


def test_a_shot_tells_who_changed_it_and_goes_back(shot, owner_client, crew_client):
    an_hour_passes()
    save_shot(crew_client, shot, screen_frames="72 f", description="The fox wakes")
    an_hour_passes()
    save_shot(owner_client, shot, exposure="1")

    page = shown(owner_client, reverse("shots:shot_changes", args=["FELT", shot.pk]))
    assert told(page) == [
        ("Exposure", "2", "1"),
        ("What happens", "nothing", "The fox wakes"),
        ("Length", "48 f", "72 f"),
    ]
    assert re.findall(r"</strong>, (Ida Morrow|Teo Lind)", page) == ["Ida Morrow", "Teo Lind"]

    _, first = opens(page)
    before = shown(owner_client, first)
    assert "Nothing is saved yet" in before
    assert (entries(before)["screen_frames"], entries(before)["exposure"]) == ("2 s 00 f", "2")
    shot.refresh_from_db()
    assert shot.screen_frames == 72

    owner_client.post(reverse("shots:shot", args=["FELT", shot.pk]), entries(before))
    shot.refresh_from_db()
    assert (shot.screen_frames, shot.exposure, shot.description) == (48, 2, "")


def test_what_stood_is_saved_over_nobodys_head(shot, owner_client, crew_client):
    """The old values carry today's version: whoever saves meanwhile is met, not overwritten."""
    an_hour_passes()
    save_shot(crew_client, shot, exposure="1")
    page = shown(owner_client, reverse("shots:shot_changes", args=["FELT", shot.pk]))
    before = entries(shown(owner_client, opens(page)[0]))
    save_shot(crew_client, shot, exposure="3")
    answer = owner_client.post(reverse("shots:shot", args=["FELT", shot.pk]), before)
    assert answer.status_code == 409
    shot.refresh_from_db()
    assert shot.exposure == 3


def test_a_session_goes_back_with_people_and_counts(shot, owner, crew, owner_client):
    session = factories.SessionFactory(production=shot.production)
    session.people.add(crew)
    factories.SessionShotFactory(session=session, shot=shot, kept=40, discarded=2)
    an_hour_passes()
    page = reverse("shots:session_correct", args=["FELT", session.pk])
    typed = entries(shown(owner_client, page))
    wrong = {f"kept_{shot.pk}": "4", f"discarded_{shot.pk}": "", "people": [owner.pk]}
    assert owner_client.post(page, typed | wrong).status_code == 302

    changes = shown(owner_client, reverse("shots:session_changes", args=["FELT", session.pk]))
    assert {("People", "Teo Lind", "Ida Morrow"), ("A010 kept", "40", "4")} <= set(told(changes))

    before = shown(owner_client, opens(changes)[-1])
    stood = entries(before)
    assert (stood[f"kept_{shot.pk}"], stood[f"discarded_{shot.pk}"]) == ("40", "2")
    ticked = re.findall(r'name="people" value="(\d+)"[^>]* checked', before)
    assert ticked == [str(crew.pk)]
    owner_client.post(page, stood | {"people": ticked})
    output = session.output.get()
    assert (output.kept, output.discarded) == (40, 2)
    assert list(session.people.all()) == [crew]


def test_a_file_promised_tells_of_its_checks_and_goes_back(shot, owner_client):
    file = factories.DeliverableFactory(production=shot.production, name="HD master")
    check = factories.DeliverableCheckFactory(deliverable=file, text="Seen to the end")
    an_hour_passes()
    page = reverse("clients:deliverable_edit", args=["FELT", file.pk])
    smaller = {"width": "1280", "height": "720"}
    owner_client.post(page, entries(shown(owner_client, page)) | smaller)
    an_hour_passes()
    owner_client.post(
        reverse("clients:check_tick", args=["FELT", file.pk, check.pk]),
        {"ticked": "yes", "read_version": 1},
    )

    changes = shown(owner_client, reverse("clients:deliverable_changes", args=["FELT", file.pk]))
    assert ("Picture width", "nothing", "1280") in told(changes)
    assert ("“Seen to the end” ticked by", "nothing", "Ida Morrow") in told(changes)
    assert "width" not in entries(shown(owner_client, opens(changes)[-1]))


def test_a_draft_quote_tells_of_its_rows_and_goes_back(owner, owner_client):
    lay_out_lists(sender=None)
    quote = drafted(factories.ClientFactory(), owner)
    page = reverse("clients:quote", args=[quote.pk])
    an_hour_passes()
    owner_client.post(page, builder_data(quote, title="The Felt Hare", **{"o0s0-seconds": "45"}))
    an_hour_passes()
    owner_client.post(page, builder_data(quote, **{"l2-label": "Storyboard"}))

    changes = shown(owner_client, reverse("clients:quote_changes", args=[quote.pk]))
    assert ("Title", "The Felt Fox", "The Felt Hare") in told(changes)
    assert ("The film: Length", "30", "45") in told(changes)
    assert ("Storyboard: Kind", "nothing", "pre-production") in told(changes)

    first = shown(owner_client, opens(changes)[-1])
    assert "Nothing is saved yet" in first
    stood = entries(first)
    assert (stood["title"], stood["o0s0-seconds"]) == ("The Felt Fox", "30")
    assert stood["l2-label"] == "Preparation"
    assert owner_client.post(page, builder_data(quote) | stood).status_code == 302
    again = quote_with_parts(quote.pk)
    assert again.title == "The Felt Fox"
    assert again.options.get().sequences.get().seconds == 30


def test_a_sent_quote_offers_no_way_back(owner, owner_client):
    lay_out_lists(sender=None)
    quote = drafted(factories.ClientFactory(), owner)
    Quote.objects.filter(pk=quote.pk).update(
        status="sent", number=1, year=2026, sent_at="2026-03-02T10:00Z", valid_until="2026-04-01"
    )
    assert not opens(shown(owner_client, reverse("clients:quote_changes", args=[quote.pk])))


@pytest.mark.parametrize("moment", ["yesterday", "2026-13-45T99:00", "2026-03-02T10:00", "\x00"])
def test_a_moment_that_cannot_be_is_passed_over(shot, owner_client, moment):
    page = owner_client.get(
        reverse("shots:shot", args=["FELT", shot.pk]), {"as_at": moment}
    ).content.decode()
    assert "Nothing is saved yet" not in page
    assert entries(page)["screen_frames"] == "2 s 00 f"


@pytest.mark.parametrize(
    "moment",
    ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59+00:00", "9999-12-31T23:59:59-14:00"],
)
def test_a_moment_at_the_end_of_all_calendars_breaks_nothing(shot, owner, owner_client, moment):
    session = factories.SessionFactory(production=shot.production)
    file = factories.DeliverableFactory(production=shot.production)
    quote = drafted(factories.ClientFactory(), owner, option=film(difficulty=shot.difficulty.name))
    for page in (
        reverse("shots:shot", args=["FELT", shot.pk]),
        reverse("shots:session_correct", args=["FELT", session.pk]),
        reverse("clients:deliverable_edit", args=["FELT", file.pk]),
        reverse("clients:quote", args=[quote.pk]),
    ):
        assert owner_client.get(page, {"as_at": moment}).status_code == 200


def test_reading_changes_takes_as_many_queries_for_many(shot, owner, owner_client):
    option = film(difficulty=shot.difficulty.name)
    quote = drafted(factories.ClientFactory(), owner, option=option)
    session = factories.SessionFactory(production=shot.production)
    file = factories.DeliverableFactory(production=shot.production)
    addresses = [
        reverse("shots:shot_changes", args=["FELT", shot.pk]),
        reverse("shots:session_changes", args=["FELT", session.pk]),
        reverse("clients:deliverable_changes", args=["FELT", file.pk]),
        reverse("clients:quote_changes", args=[quote.pk]),
    ]

    def asked() -> list[int]:
        counts = []
        for address in addresses:
            with CaptureQueriesContext(
                connection,
            ) as queries:
                assert owner_client.get(address).status_code == 200
            counts.append(len(queries))
        return counts

    def change(n: int) -> None:
        save_shot(owner_client, shot, notes=f"Take {n}")
        other = factories.ShotFactory(production=shot.production, code=f"B{n:03}")
        factories.SessionShotFactory(session=session, shot=other, kept=n + 1)
        session.notes, file.notes = f"Day {n}", f"Cut {n}"
        session.save()
        file.save()
        factories.DeliverableCheckFactory(deliverable=file, text=f"Look {n}")
        owner_client.post(
            reverse("clients:quote", args=[quote.pk]), builder_data(quote, film=f"Film {n}")
        )

    change(0)
    few = asked()
    for n in range(1, 12):
        change(n)
    assert DraftKept.objects.count() == 12
    assert asked() == few
    assert max(few) <= 25
