"""Long work: queued with what it is about, watched, stopped, and begun again after a cut."""

import errno
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import transaction
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from studio import long_work
from studio.errors import NotPossible
from studio.models import LongWork

pytestmark = pytest.mark.django_db


@long_work.long_work
def count_stills(report, *, to: int) -> str:
    for n in range(to):
        report._last = 0  # every report is written, as if half a second had passed
        report.progress(n, to, f"still {n}")
    report.result_at("/")
    return f"{to} stills counted."


@long_work.long_work
def refuse(report) -> str:
    raise NotPossible("There is no film in that file: export it again.")


@long_work.long_work
def fill_the_disk(report) -> str:
    raise OSError(errno.ENOSPC, "No space left on device")


@long_work.long_work
def break_off(report) -> str:
    raise ZeroDivisionError("secret detail")


@pytest.fixture
def open_for_work():
    long_work.closing.clear()
    yield
    long_work.closing.clear()


def begun(kind, owner=None, **arguments) -> LongWork:
    return long_work.begin(kind, "Count the stills", owner, **arguments)


def carried_out(kind, **arguments) -> LongWork:
    work = begun(kind, **arguments)
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    return work


def test_work_says_how_far_it_is_and_how_it_ended():
    work = carried_out(count_stills, to=8)
    assert (work.state, work.note) == ("done", "8 stills counted.")
    assert (work.done, work.total, work.percent) == (8, 8, 100)
    assert work.result_url == "/"
    assert work.ended_at is not None


def test_work_is_queued_only_with_what_it_is_about():
    with transaction.atomic():
        begun(count_stills, to=1)
        transaction.set_rollback(True)  # the film was not saved after all
    assert not LongWork.objects.exists()
    assert not DBTaskResult.objects.exists()


def test_a_function_that_was_not_marked_is_no_long_work():
    with pytest.raises(ValueError, match="mark it with @long_work"):
        begun(timezone.now)


@pytest.mark.parametrize(
    ("kind", "sentence"),
    [
        (refuse, "There is no film in that file: export it again."),
        (fill_the_disk, "There is no space left on the disk. Make room, then ask for it again."),
        (
            break_off,
            "It broke off for a reason we did not foresee; the log of the server says where.",
        ),
    ],
)  # fmt: skip
def test_work_that_fails_says_why_in_a_sentence(kind, sentence):
    work = carried_out(kind)
    assert (work.state, work.note) == ("failed", sentence)


def test_work_that_waits_is_stopped_at_once_and_never_begins():
    work = begun(count_stills, to=3)
    long_work.ask_to_stop(work)
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert (work.state, work.attempts) == ("stopped", 0)


def test_work_that_runs_stops_at_its_next_report(monkeypatch):
    work = begun(count_stills, to=3)
    progress = long_work.Report.progress

    def stopped_meanwhile(report, done, total, note=""):
        long_work.ask_to_stop(work)
        progress(report, done, total, note)

    monkeypatch.setattr(long_work.Report, "progress", stopped_meanwhile)
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert (work.state, work.done, work.stop_wanted) == ("stopped", 0, False)


def test_what_a_closing_process_was_doing_goes_on_in_the_next(open_for_work):
    work = begun(count_stills, to=3)
    long_work.closing.set()
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert work.state == "waiting"
    long_work.closing.clear()
    long_work.carry_out.call(work.pk)
    work.refresh_from_db()
    assert (work.state, work.attempts) == ("done", 2)


def cut_off(work: LongWork, attempts: int) -> None:
    """As a power cut leaves it: running, and nobody there."""
    last_sign = timezone.now() - timedelta(minutes=2)
    LongWork.objects.filter(pk=work.pk).update(
        state="running", attempts=attempts, alive_at=last_sign
    )


def test_what_was_cut_off_is_begun_again_once():
    work = begun(count_stills, to=3)
    cut_off(work, attempts=1)
    queued = DBTaskResult.objects.count()
    long_work.begin_again_what_was_cut_off(timezone.now())
    long_work.begin_again_what_was_cut_off(timezone.now())
    work.refresh_from_db()
    assert work.state == "waiting"
    assert DBTaskResult.objects.count() == queued + 1


def test_what_waits_without_a_task_is_queued_again():
    lost, queued = begun(count_stills, to=3), begun(count_stills, to=3)
    DBTaskResult.objects.filter(args_kwargs__args=[lost.pk]).update(status="RUNNING")
    long_work.queue_again_what_was_lost()
    long_work.queue_again_what_was_lost()
    ready = DBTaskResult.objects.filter(status="READY").values_list("args_kwargs", flat=True)
    assert sorted(one["args"][0] for one in ready) == sorted([lost.pk, queued.pk])


def test_what_was_cut_off_three_times_is_given_up_in_words():
    work = begun(count_stills, to=3)
    cut_off(work, attempts=3)
    long_work.begin_again_what_was_cut_off(timezone.now())
    work.refresh_from_db()
    assert (work.state, work.note) == (
        "failed", "It was cut off 3 times before its end, and given up."
    )  # fmt: skip


def test_work_with_a_fresh_sign_of_life_is_left_alone():
    work = begun(count_stills, to=3)
    cut_off(work, attempts=1)
    long_work._at_work.add(work.pk)
    try:
        long_work.give_sign_of_life(timezone.now())
    finally:
        long_work._at_work.clear()
    long_work.begin_again_what_was_cut_off(timezone.now())
    work.refresh_from_db()
    assert work.state == "running"


def test_a_daily_duty_that_fails_keeps_no_other_from_its_turn(monkeypatch, studio):
    seen = []

    def fail(today):
        raise OSError("the disk is away")

    monkeypatch.setattr(long_work, "_duties", [fail, seen.append])
    today = studio.today(timezone.now())
    long_work.see_to_daily_duties(today)
    assert seen == [today]


def test_crew_see_and_stop_only_their_own_work(owner, crew, owner_client, crew_client):
    owners, crews = begun(count_stills, owner, to=2), begun(count_stills, crew, to=2)
    assert owner_client.get(reverse("studio:work", args=[crews.pk])).status_code == 200
    assert crew_client.get(reverse("studio:work", args=[owners.pk])).status_code == 404
    assert crew_client.post(reverse("studio:work_stop", args=[owners.pk])).status_code == 404
    assert crew_client.post(reverse("studio:work_stop", args=[crews.pk])).status_code == 302
    crews.refresh_from_db()
    assert crews.state == "stopped"
    seen = crew_client.get(reverse("studio:all_work")).context["all_work"]
    assert list(seen) == [crews]


def test_the_page_asks_again_until_the_work_is_over(owner, owner_client):
    work = begun(count_stills, owner, to=2)
    address = reverse("studio:work", args=[work.pk])
    waiting = owner_client.get(address, headers={"HX-Request": "true"})
    assert 'hx-trigger="every 1s"' in waiting.content.decode()
    long_work.carry_out.call(work.pk)
    over = owner_client.get(address, headers={"HX-Request": "true"})
    assert "every 1s" not in over.content.decode()
    assert "2 stills counted." in over.content.decode()
    assert over.headers["HX-Trigger"] == "work-over"


@pytest.mark.parametrize("rows", [1, 40])
def test_the_list_of_long_work_asks_the_database_no_more_with_much_work(
    rows, owner, owner_client, django_assert_num_queries
):
    for _ in range(rows):
        begun(count_stills, owner, to=1)
    owner_client.get(reverse("studio:all_work"))
    with django_assert_num_queries(4):
        owner_client.get(reverse("studio:all_work"))


@pytest.mark.django_db(transaction=True)
def test_a_process_takes_its_work_from_the_queue(owner):
    work = begun(count_stills, owner, to=2)
    call_command("db_worker", batch=True, startup_delay=False, interval=0, reload=False)
    work.refresh_from_db()
    assert (work.state, work.note) == ("done", "2 stills counted.")
