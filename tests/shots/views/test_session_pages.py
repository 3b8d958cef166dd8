"""Sessions, page by page: with and without htmx, and what is refused."""

from datetime import UTC, date, datetime, timedelta

import pytest

from shots.models import Session, SessionShot
from tests import factories

HTMX = {"HX-Request": "true"}


@pytest.fixture
def production(studio):
    return factories.ProductionFactory(code="FELT")


@pytest.fixture
def shot(production):
    return factories.ShotFactory(production=production, code="A010")


@pytest.fixture
def running(production):
    return factories.SessionFactory(production=production, running=True)


def count_address(session, shot) -> str:
    return f"/productions/FELT/sessions/{session.pk}/count/{shot.pk}/"


def entry(shot, **fields) -> dict:
    return {
        "day": "2026-03-02", "start": "09:00", "ended": "13:00", "setup_minutes": "30",
        "break_minutes": "15", f"kept_{shot.pk}": "12", f"discarded_{shot.pk}": "",
    } | fields  # fmt: skip


def test_starting_twice_leads_to_the_running_session(crew_client, crew, production):
    address = "/productions/FELT/sessions/start/"
    first = crew_client.post(address, {"people": crew.pk})
    again = crew_client.post(address, {"people": crew.pk})
    assert first.url == again.url == f"/productions/FELT/sessions/{Session.objects.get().pk}/"


def test_the_start_page_takes_the_set_up_from_its_address(crew_client, production):
    setup = factories.SetupFactory(production=production)
    page = crew_client.get(f"/productions/FELT/sessions/start/?setup={setup.pk}")
    assert f'value="{setup.pk}" selected' in page.content.decode()
    assert crew_client.get("/productions/FELT/sessions/start/?setup=x").status_code == 200


def test_starting_needs_somebody(crew_client, production):
    response = crew_client.post("/productions/FELT/sessions/start/", {"setup": ""})
    assert response.status_code == 422
    assert "Tick who is here" in response.content.decode()
    assert not Session.objects.exists()


def test_a_tap_answers_with_the_parts_that_changed(crew_client, running, shot):
    tap = {"count": "kept", "add": "1"}
    response = crew_client.post(count_address(running, shot), tap, headers=HTMX)
    part = response.content.decode()
    assert response.status_code == 200
    assert "<html" not in part
    assert 'name="read" value="1"' in part
    assert "+1 kept, A010" in part


def test_a_tap_without_javascript_leads_back_with_its_undo(crew_client, running, shot):
    response = crew_client.post(count_address(running, shot), {"count": "kept", "add": "5"})
    assert response.status_code == 302
    page = crew_client.get(response.url.partition("#")[0]).content.decode()
    assert "+5 kept, A010" in page
    assert 'name="add" value="-5"' in page


@pytest.mark.parametrize("headers", [HTMX, {}], ids=["htmx", "plain"])
@pytest.mark.parametrize(
    ("typed", "status", "says"),
    [
        ({"value": "-1", "read": "3"}, 422, "0 or more"),
        ({"value": "4.5", "read": "3"}, 422, "whole numbers"),
        ({"value": "many", "read": "3"}, 422, "whole numbers"),
        ({"value": "", "read": "3"}, 422, "whole numbers"),
        ({"value": "9" * 40, "read": "3"}, 422, "More than 100000"),
        ({"add": "-4"}, 422, "below 0"),
        ({"add": "9" * 40}, 422, "less than or equal"),
        ({"value": "20", "read": "1"}, 409, "3 kept stand for A010, you typed 20"),
    ],
)
def test_a_bad_or_stale_count_changes_nothing(
    crew_client, running, shot, headers, typed, status, says
):
    SessionShot.objects.create(session=running, shot=shot, kept=3)
    response = crew_client.post(
        count_address(running, shot), {"count": "kept"} | typed, headers=headers
    )
    assert response.status_code == status
    assert says in response.content.decode()
    assert SessionShot.objects.get().kept == 3


@pytest.mark.parametrize("headers", [HTMX, {}], ids=["htmx", "plain"])
def test_a_tap_in_a_finished_session_is_refused_in_words(crew_client, shot, headers):
    session = factories.SessionFactory(production=shot.production)
    response = crew_client.post(
        count_address(session, shot), {"count": "kept", "add": "1"}, headers=headers, follow=True
    )
    assert "This session is finished" in response.content.decode()
    assert not SessionShot.objects.exists()


def test_another_films_shot_is_not_counted(crew_client, running):
    stranger = factories.ShotFactory()
    response = crew_client.post(count_address(running, stranger), {"count": "kept", "add": "1"})
    assert response.status_code == 404


def test_an_incident_needs_a_known_kind_and_shot(crew_client, running, shot):
    address = f"/productions/FELT/sessions/{running.pk}/incident/"
    for bad in ({"kind": ""}, {"kind": "fire"}, {"kind": "bump", "shot": "x"},
                {"kind": "bump", "picture": "-1"}):  # fmt: skip
        crew_client.post(address, bad)
    assert not running.incidents.exists()
    crew_client.post(address, {"kind": "bump", "shot": shot.pk})
    assert running.incidents.get().picture == 0


def test_a_session_is_entered_past_midnight(crew_client, shot):
    response = crew_client.post(
        "/productions/FELT/sessions/enter/", entry(shot, start="22:00", ended="02:00")
    )
    assert response.status_code == 302
    session = Session.objects.get()
    assert session.day == date(2026, 3, 2)
    # Warsaw in winter is an hour ahead of UTC.
    assert session.started_at == datetime(2026, 3, 2, 21, tzinfo=UTC)
    assert session.ended_at - session.started_at == timedelta(hours=4)
    assert session.output.get().kept == 12


@pytest.mark.parametrize(
    ("fields", "field", "says"),
    [
        ({"ended": "09:00"}, "ended", "not after its start"),
        ({"day": "2999-01-01"}, "start", "future"),
        ({"break_minutes": "240"}, "break_minutes", "longer than the session"),
        ({"break_minutes": "-1"}, "break_minutes", "greater than or equal to 0"),
        ({"setup_minutes": "9999999999999999999999"}, "setup_minutes", "less than or equal"),
        ({"setup_minutes": "soon"}, "setup_minutes", "whole number"),
        ({"day": "31.02.2026"}, "day", "valid date"),
        ({"start": "25:00"}, "start", "valid time"),
        ({"day": ""}, "day", "required"),
    ],
)
def test_impossible_entries_are_answered_at_their_field(crew_client, shot, fields, field, says):
    response = crew_client.post("/productions/FELT/sessions/enter/", entry(shot, **fields))
    assert response.status_code == 422
    assert says in str(response.context["form"].errors[field])
    assert not Session.objects.exists()


@pytest.mark.parametrize("count", ["-1", "4.5", "many", "9" * 40])
def test_impossible_counts_are_answered_at_their_field(crew_client, shot, count):
    typed = entry(shot, **{f"kept_{shot.pk}": count})
    response = crew_client.post("/productions/FELT/sessions/enter/", typed)
    assert response.status_code == 422
    assert f"kept_{shot.pk}" in response.context["form"].errors
    assert not Session.objects.exists()


def test_an_overlap_names_the_other_session(crew_client, shot):
    factories.SessionFactory(production=shot.production)  # 09:00 to 13:00 in Warsaw
    response = crew_client.post(
        "/productions/FELT/sessions/enter/", entry(shot, start="12:59", ended="14:00")
    )
    assert response.status_code == 422
    assert "02.03.2026, 09:00 to 13:00" in str(response.context["form"].errors["start"])


def test_the_second_of_two_correctors_sees_both_versions(owner_client, crew_client, shot):
    session = factories.SessionFactory(production=shot.production)
    address = f"/productions/FELT/sessions/{session.pk}/correct/"
    mine = entry(shot, read_version="1", break_minutes="20")
    theirs = entry(shot, read_version="1", **{f"kept_{shot.pk}": "14"})
    assert owner_client.post(address, mine).status_code == 302
    response = crew_client.post(address, theirs)
    assert response.status_code == 409
    told = {row.label: (str(row.current), row.mine) for row in
            response.context["form"].differences}  # fmt: skip
    assert told == {"Breaks (min)": ("20", "15"), "A010 kept": ("12", "14")}
    assert session.output.get().kept == 12


def test_a_correction_left_as_it_was_changes_nothing(crew_client, shot):
    session = factories.SessionFactory(production=shot.production)
    address = f"/productions/FELT/sessions/{session.pk}/correct/"
    form = crew_client.get(address).context["form"]
    sent = {name: form[name].value() for name in form.fields}
    crew_client.post(address, {name: value for name, value in sent.items() if value is not None})
    session.refresh_from_db()
    assert session.version == 1
    assert session.started_at == datetime(2026, 3, 2, 8, tzinfo=UTC)


@pytest.mark.parametrize("act", ["pause", "resume", "finish", "reopen", "archive", "restore"])
def test_acts_need_a_sign_in_and_a_post(client, crew_client, running, act):
    address = f"/productions/FELT/sessions/{running.pk}/{act}/"
    assert client.post(address).url.startswith("/sign-in/")
    if act != "finish":
        assert crew_client.get(address).status_code == 405


def test_every_session_page_opens(crew_client, running, shot):
    factories.SessionShotFactory(session=running, shot=shot)
    archived = factories.SessionFactory(
        production=shot.production, running=True, archived_at=datetime(2026, 3, 3, tzinfo=UTC)
    )
    pages = [
        "",
        "enter/",
        "archived/",
        "?page=99",
        "?page=x",
        f"{running.pk}/",
        f"{running.pk}/?shot={'9' * 30}",
        f"{running.pk}/finish/",
        f"{archived.pk}/",
    ]
    for page in pages:
        assert crew_client.get(f"/productions/FELT/sessions/{page}").status_code == 200


def test_queries_do_not_grow_with_history(crew_client, shot, django_assert_max_num_queries):
    def fill(days: range) -> None:
        for day in days:
            started = datetime(2026, 1, 1, 8, tzinfo=UTC) + timedelta(days=day)
            session = factories.SessionFactory(
                production=shot.production,
                setup=factories.SetupFactory(production=shot.production),
                day=started.date(),
                started_at=started,
                ended_at=started + timedelta(hours=4),
            )
            factories.SessionShotFactory(session=session, shot=shot)

    fill(range(1))
    with django_assert_max_num_queries(50) as one:
        crew_client.get("/productions/FELT/sessions/")
    fill(range(1, 40))
    with django_assert_max_num_queries(50) as many:
        page = crew_client.get("/productions/FELT/sessions/")
    assert len(many) == len(one)
    assert page.content.decode().count('class="sheet day"') == 14


def test_queries_beside_the_set_do_not_grow_with_shots(
    crew_client, running, django_assert_max_num_queries
):
    def open_page() -> int:
        with django_assert_max_num_queries(50) as queries:
            crew_client.get(f"/productions/FELT/sessions/{running.pk}/")
        return len(queries)

    def fill(count: int) -> None:
        for _ in range(count):
            shot = factories.ShotFactory(production=running.production)
            factories.SessionShotFactory(session=running, shot=shot)

    fill(1)
    one = open_page()
    fill(30)
    assert open_page() == one
