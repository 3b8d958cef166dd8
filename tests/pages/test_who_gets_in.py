"""Every address of the site, and what nobody, crew and owner get there. New ones must be listed."""

import re
from datetime import date

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from clients import demo_studio
from clients.models import ChangeOrder, DeliveredFile, Delivery, Quote
from clients.services import change_orders, deliveries, quotes
from shots.services import calendar_links
from studio.models import Person
from tests import factories
from tests.pages.routes import routes

OPEN = {"studio:sign_in", "studio:sign_in_code", "studio:first_run", "studio:health"}
BY_LINK = {
    "clients:client_quote", "clients:client_quote_pdf", "clients:client_change",
    "clients:client_change_pdf", "shots:calendar_feed",
    "clients:client_delivery", "clients:client_delivery_paper", "clients:client_delivery_manifest",
    "clients:client_delivery_file",
}  # fmt: skip
ALL_SIGNED_IN = {
    "shots:what_if", "shots:record", "shots:calibration",
    "studio:me", "studio:second_factor_on", "studio:second_factor_off",
    "studio:sign_out_everywhere", "studio:all_work", "studio:work", "studio:work_stop",
    "studio:today", "studio:sign_out", "shots:productions", "shots:film",
    "shots:setups", "shots:setup_new", "shots:setup",
    "shots:setup_edit", "shots:setup_archive", "shots:setup_restore",
    "shots:sessions", "shots:session_start", "shots:session_enter",
    "shots:sessions_archived", "shots:session", "shots:session_count",
    "shots:session_shot_status", "shots:session_incident", "shots:session_incident_take_back",
    "shots:session_check", "shots:session_pause", "shots:session_resume",
    "shots:session_finish", "shots:session_reopen", "shots:session_correct",
    "shots:session_archive", "shots:session_restore",
    "shots:plan", "shots:plan_undo", "shots:plan_shot", "shots:plan_people", "shots:absence_remove",
    "shots:call_sheet_from_plan", "shots:call_sheet_issue", "shots:call_sheet_issue_pdf",
    "shots:call_sheet_send", "shots:camera_paper", "shots:blank_exposure_sheet", "shots:gauge",
    "shots:gauge_pdf", "shots:camera_report", "shots:beats", "shots:exposure_sheet",
    "shots:calendar_links", "shots:calendar_link_revoke", "shots:calendar_download",
    "shots:edit_import",
    "shots:paperwork", "shots:call_sheet", "shots:call_sheet_new", "shots:call_sheet_edit",
    "shots:call_sheet_pdf", "shots:call_sheet_archive", "shots:call_sheet_restore",
    "shots:shots", "shots:shot_new", "shots:pictures", "shots:shot_import", "shots:shot_export",
    "shots:shot", "shots:shot_changes", "shots:session_changes",
    "shots:shot_row", "shots:shot_duplicate", "shots:shot_move",
    "shots:shot_split", "shots:shot_retake", "shots:shot_cut", "shots:shot_bring_back",
    "shots:shot_archive", "shots:shot_restore", "shots:storyboard", "shots:storyboard_remove",
    "shots:picture_shots", "shots:pictures_log", "shots:day_contact_sheet", "shots:picture",
    "shots:picture_verdict", "shots:picture_hold", "shots:picture_thumbnail",
    "shots:picture_original", "shots:picture_difference", "shots:shot_pictures",
    "shots:pictures_add", "shots:picture_known", "shots:pictures_judge",
    "shots:pictures_declare", "shots:shot_picture_play", "shots:shot_frames",
    "shots:shot_contact_sheet", "shots:film_preview", "shots:film_preview_file",
    "shots:shot_preview", "shots:shot_preview_file",
}  # fmt: skip
OWNER = {
    "shots:pictures_keep_originals", "clients:quote_changes", "clients:deliverable_changes",
    "studio:person_sign_out", "studio:backups", "studio:backup_make", "studio:backup_download",
    "studio:backup_check",
    "studio:profile", "studio:people", "studio:person_new", "studio:person_edit",
    "studio:calendar", "studio:day_off_remove", "shots:production_new", "shots:production_edit",
    "shots:stage", "shots:archive", "shots:restore", "shots:floor_lists", "clients:clients",
    "clients:client_new", "clients:client", "clients:client_edit", "clients:client_archive",
    "clients:client_restore", "clients:contact_new", "clients:contact_edit",
    "clients:contact_archive", "clients:contact_restore", "clients:production_new",
    "clients:production_link", "clients:commission", "clients:deliveries",
    "clients:deliverables", "clients:deliverable_new", "clients:deliverable_edit",
    "clients:deliverable_duplicate", "clients:deliverable_move", "clients:deliverable_archive",
    "clients:deliverable_restore", "clients:check_new", "clients:check_edit",
    "clients:check_tick", "clients:check_archive", "clients:check_restore",
    "clients:delivery_sheet",
    "clients:production_deliveries", "clients:delivery_new", "clients:delivery",
    "clients:delivery_paper", "clients:delivery_manifest", "clients:delivery_file",
    "clients:delivery_offer",
    "clients:delivery_answer", "clients:delivery_link_new", "clients:delivery_link_revoke",
    "clients:deliverable_file", "clients:file_check_path", "clients:file_check_upload",
    "clients:exception_new", "clients:exception_take_back",
    "clients:specifications", "clients:specification_new", "clients:specification_import",
    "clients:specification", "clients:specification_export", "clients:specification_copy",
    "clients:specification_archive", "clients:specification_restore",
    "shots:what_if_save", "shots:what_if_undo",
    "clients:quotes", "clients:quote_new", "clients:quote_stock", "clients:quote",
    "clients:quote_price", "clients:quote_fits", "clients:quote_draft_paper",
    "clients:quote_send", "clients:quote_sent", "clients:quote_paper", "clients:quote_compare",
    "clients:quote_revise", "clients:quote_decline", "clients:quote_lapse",
    "clients:quote_accept", "clients:quote_archive", "clients:quote_restore",
    "clients:earnings", "clients:film_earnings",
    "clients:link_new", "clients:link_revoke",
    "clients:production_money", "clients:money_invoice_parts", "clients:change_new",
    "clients:change_order", "clients:change_length", "clients:change_cut",
    "clients:change_shot_new", "clients:change_shot_drop", "clients:change_line_new",
    "clients:change_line_drop", "clients:change_draft_paper", "clients:change_paper",
    "clients:change_send", "clients:change_accept", "clients:change_decline",
    "clients:change_lapse", "clients:change_archive", "clients:change_restore",
    "clients:change_link_new", "clients:change_link_revoke", "clients:invoices",
    "clients:invoice_new", "clients:invoices_csv", "clients:invoice", "clients:invoice_issue",
    "clients:invoice_paper", "clients:invoice_credit", "clients:invoice_archive",
    "clients:invoice_restore", "clients:payment_new", "clients:payment_archive",
    "clients:payment_restore",
}  # fmt: skip


def filled(route: str) -> str:
    """A route with its holes filled by what is not there."""
    filled = re.sub(r"<int:\w+>", "999999", re.sub(r"<str:\w+>", "NONE", route))
    return re.sub(r"<\w+:\w+>", "NONE", filled)


ADDRESSES = {name: filled(route) for name, route in routes()}


def test_every_address_is_listed_once():
    listed = [*OPEN, *BY_LINK, *ALL_SIGNED_IN, *OWNER]
    assert len(listed) == len(set(listed))
    assert set(ADDRESSES) == set(listed)


@pytest.mark.parametrize("name", sorted(set(ADDRESSES) - OPEN - BY_LINK))
def test_nobody_is_led_to_the_sign_in(studio, name):
    response = Client().get(ADDRESSES[name])
    assert response.status_code in {302, 405}
    if response.status_code == 302:
        assert response.url.startswith("/sign-in/")


@pytest.mark.parametrize("name", sorted(OWNER))
def test_crew_are_refused_at_the_owners_pages(crew_client, name):
    assert crew_client.get(ADDRESSES[name]).status_code == 403
    assert crew_client.post(ADDRESSES[name]).status_code == 403


@pytest.mark.parametrize("name", sorted(ALL_SIGNED_IN))
def test_crew_reach_the_floor(crew_client, name):
    assert crew_client.get(ADDRESSES[name]).status_code in {200, 302, 404, 405}


@pytest.mark.parametrize("name", sorted(set(ADDRESSES) - OPEN))
def test_owner_is_refused_nowhere(owner_client, name):
    assert owner_client.get(ADDRESSES[name]).status_code in {200, 302, 404, 405}


@pytest.mark.parametrize("name", sorted(BY_LINK))
@pytest.mark.parametrize("browser", ["client", "crew_client", "owner_client"])
def test_a_private_address_without_its_secret_opens_nothing(studio, request, name, browser):
    answer = request.getfixturevalue(browser).get(ADDRESSES[name])
    assert answer.status_code == 404
    assert "opens nothing any more" in answer.content.decode()


@pytest.fixture
def secrets_told(db) -> dict[str, str]:
    """The secret of one private address of each kind."""
    demo_studio.fill(date(2026, 11, 25))
    now, owner = timezone.now(), Person.objects.get(role=Person.Role.OWNER)
    sent = Quote.objects.exclude(status=Quote.Status.DRAFT).first()
    return {
        "quote": quotes.make_link(sent, now),
        "change": change_orders.make_link(ChangeOrder.objects.get(status="sent"), now),
        "delivery": deliveries.make_link(Delivery.objects.get(), now),
        "calendar": calendar_links.make_link(sent.production, "Phone", owner, now)[1],
    }


def test_a_private_address_opens_its_own_paper_and_no_other(secrets_told, client):
    """Nor a page that needs a sign-in, in the same browser afterwards."""
    file = DeliveredFile.objects.first().pk
    for name in BY_LINK:
        route = dict(routes())[name].replace("<int:pk>", str(file))
        for kind, secret in secrets_told.items():
            answer = client.get(re.sub(r"<str:\w+>", secret, route))
            assert answer.status_code == (200 if kind in name else 404), (name, kind)
    beyond = reverse("clients:client_delivery_file", args=[secrets_told["delivery"], file + 1])
    assert client.get(beyond).status_code == 404
    assert client.get("/").status_code == 302


def test_answers_carry_the_security_policy(owner_client):
    headers = owner_client.get("/").headers
    policy = headers["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"


@pytest.mark.parametrize("browser", ["owner_client", "crew_client"])
def test_an_address_that_is_none_answers_with_a_page_in_words(browser, request):
    response = request.getfixturevalue(browser).get("/nothing/here.pdf")
    assert response.status_code == 404
    assert "Nothing here" in response.content.decode()


def test_a_number_no_row_can_have_leads_nowhere(owner_client):
    assert owner_client.get(f"/quotes/{10**30}/").status_code == 404
    assert owner_client.post(f"/quotes/1/links/{2**63}/revoke/").status_code == 404


@pytest.mark.parametrize("next_page", ["today", "//evil.example/", "https://evil.example/", "\\x"])
def test_nobody_is_led_away_or_into_an_error_by_a_made_up_next(owner_client, next_page):
    production = factories.ProductionFactory(code="FELT")
    address = f"/productions/{production.code}/pictures/log/"
    answer = owner_client.post(address, {"next": next_page})
    assert answer.url == "/productions/FELT/pictures/"
