"""Second factor, recovery codes, own password, and the browsers a person is signed in with."""

import re
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from django_otp.plugins.otp_totp import models as totp

from studio import access
from studio.models import RecoveryCode, SignedIn
from tests import factories

SIGN_IN, CODE, ME = (reverse(f"studio:{name}") for name in ("sign_in", "sign_in_code", "me"))
ON, OFF = reverse("studio:second_factor_on"), reverse("studio:second_factor_off")

# RFC 6238, appendix B: this key at these seconds gives these codes (their last six digits).
RFC_6238_KEY = b"12345678901234567890".hex()
RFC_6238_ROWS = [(59, "287082"), (1111111109, "081804"), (1234567890, "005924")]


@pytest.fixture
def clock(monkeypatch):
    """Sets the clock the codes are checked by."""

    class Clock:
        seconds = RFC_6238_ROWS[0][0]

        def time(self):
            return self.seconds

    clock = Clock()
    monkeypatch.setattr(totp, "time", clock)
    return clock


@pytest.fixture
def device(owner, clock) -> totp.TOTPDevice:
    """The owner's second factor, switched on."""
    return totp.TOTPDevice.objects.create(user=owner, key=RFC_6238_KEY, name="Authenticator")


def password_given(browser: Client, name="ida", **where):
    return browser.post(SIGN_IN, {"username": name, "password": factories.PASSWORD} | where)


@pytest.mark.parametrize(("seconds", "code"), RFC_6238_ROWS)
def test_the_codes_of_rfc_6238_let_in(device, clock, seconds, code):
    clock.seconds = seconds
    browser = Client()
    assert password_given(browser).url == CODE
    assert browser.get("/").status_code == 302, "the password alone does not let in"
    assert browser.post(CODE, {"code": code}).status_code == 302
    assert browser.get("/").status_code == 200


def test_after_the_code_one_is_where_one_wanted_to_be(device):
    browser = Client()
    password_given(browser, next="/studio/")
    assert browser.post(CODE, {"code": "287082"}).url == "/studio/"


def test_a_code_works_once(device):
    for passed in (True, False):
        browser = Client()
        password_given(browser)
        assert (browser.post(CODE, {"code": "287082"}).status_code == 302) == passed


@pytest.mark.parametrize("typed", ["", "000000", "28708", "２８７０８２", "x" * 50, "'; --"])
def test_a_wrong_code_stays_outside_with_a_sentence(device, typed):
    browser = Client()
    password_given(browser)
    response = browser.post(CODE, {"code": typed})
    assert response.status_code == 422
    assert browser.get("/").status_code == 302


def test_guesses_are_slowed_down_even_for_the_right_code(device):
    browser = Client()
    password_given(browser)
    browser.post(CODE, {"code": "000000"})
    assert browser.post(CODE, {"code": "287082"}).status_code == 422


@pytest.mark.parametrize("change", ["too late", "new password", "left", "no password given"])
def test_the_second_step_needs_a_first_that_still_holds(device, owner, change, monkeypatch):
    browser = Client()
    if change != "no password given":
        password_given(browser)
    if change == "too late":
        late = timezone.now() + timedelta(minutes=6)
        monkeypatch.setattr("studio.middleware.timezone.now", lambda: late)
    elif change == "new password":
        owner.set_password("paper lanterns at noon")
    elif change == "left":
        owner.is_active = False
    owner.save()
    assert browser.post(CODE, {"code": "287082"}).url == SIGN_IN
    assert browser.get("/").status_code == 302


def switched_on(browser: Client, owner) -> list[str]:
    """Switch the second factor on in the browser; the recovery codes the page shows."""
    browser.get(ON)
    totp.TOTPDevice.objects.filter(user=owner).update(key=RFC_6238_KEY)
    page = browser.post(ON, {"code": "287082"}).content.decode()
    return re.findall(r"<code>([A-Z2-9-]{19})</code>", page)


def test_switching_on_shows_the_key_then_ten_recovery_codes_once(owner, owner_client, clock):
    page = owner_client.get(ON).content.decode()
    assert "data:image/svg+xml" in page
    key = totp.TOTPDevice.objects.get(user=owner)
    assert access.key_to_type(key) in page
    codes = switched_on(owner_client, owner)
    assert len(set(codes)) == 10
    assert not any(code in owner_client.get(ME).content.decode() for code in codes)
    kept = set(RecoveryCode.objects.values_list("digest", flat=True))
    assert not kept & set(codes), "only hashes are kept"


def test_a_wrong_first_code_switches_nothing_on(owner, owner_client, clock):
    owner_client.get(ON)
    assert owner_client.post(ON, {"code": "000000"}).status_code == 422
    assert access.second_factor(owner) is None


def test_a_recovery_code_lets_in_once_however_it_is_typed(owner, owner_client, clock):
    code = switched_on(owner_client, owner)[0]
    for typed, passed in ((code.lower().replace("-", " "), True), (code, False)):
        browser = Client()
        password_given(browser)
        assert (browser.post(CODE, {"code": typed}).status_code == 302) == passed
    assert access.recovery_codes_left(owner) == 9


def test_switching_off_needs_a_code(owner, owner_client, clock):
    code = switched_on(owner_client, owner)[0]
    owner_client.post(OFF, {"code": "000000"})
    assert access.second_factor(owner) is not None
    owner_client.post(OFF, {"code": code})
    assert access.second_factor(owner) is None
    assert not RecoveryCode.objects.exists()


def test_switching_on_signs_every_other_browser_out(owner, owner_client, clock):
    other = Client()
    password_given(other)
    switched_on(owner_client, owner)
    assert other.get("/").status_code == 302
    assert owner_client.get("/").status_code == 200


def test_the_owner_lets_somebody_in_again_who_lost_their_telephone(
    crew, owner_client, crew_client, clock
):
    totp.TOTPDevice.objects.create(user=crew, name="Authenticator")
    owner_client.post(reverse("studio:person_sign_out", args=[crew.pk]))
    assert access.second_factor(crew) is None
    assert crew_client.get("/").status_code == 302


def test_the_command_lets_an_owner_in_again(owner, device):
    call_command("second_factor_off", "IDA")
    assert access.second_factor(owner) is None
    with pytest.raises(CommandError, match="Nobody signs in as “nobody”"):
        call_command("second_factor_off", "nobody")


@pytest.mark.parametrize(
    ("user_agent", "name"),
    [
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0",
         "Firefox on Linux"),
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Version/18.0 Safari/604.1",
         "Safari on iPhone"),
        ("<script>alert(1)</script>", "A browser on an unknown system"),
        ("", "A browser on an unknown system"),
    ],
)  # fmt: skip
def test_a_browser_is_called_as_people_call_it(user_agent, name):
    assert access.browser_name(user_agent) == name


def test_a_person_sees_their_own_browsers_and_ends_the_others(owner, crew_client):
    desk = Client(headers={"User-Agent": "X11; Linux Firefox/140.0"})
    phone = Client(headers={"User-Agent": "iPhone Safari/604.1"})
    password_given(desk), password_given(phone)
    page = desk.get(ME).content.decode()
    assert "Firefox on Linux" in page
    assert "Safari on iPhone" in page
    desk.post(reverse("studio:sign_out_everywhere"))
    assert phone.get("/").status_code == 302
    assert desk.get("/").status_code == 200
    assert crew_client.get("/").status_code == 200


def test_a_session_notes_its_use_once_an_hour(owner, owner_client, monkeypatch):
    began = SignedIn.objects.get().seen_at
    owner_client.get(ME)
    assert SignedIn.objects.get().seen_at == began
    later = timezone.now() + timedelta(hours=2)
    monkeypatch.setattr("studio.middleware.timezone.now", lambda: later)
    owner_client.get(ME)
    assert SignedIn.objects.get().seen_at == later


def test_anybody_changes_their_own_password_and_stays_in(crew, crew_client):
    other = Client()
    password_given(other, crew.sign_in_name)
    new = "paper lanterns at noon"
    assert crew_client.post(ME, {"present": factories.PASSWORD, "new": new}).status_code == 302
    crew.refresh_from_db()
    assert crew.check_password(new)
    assert crew_client.get("/").status_code == 200
    assert other.get("/").status_code == 302


@pytest.mark.parametrize(
    ("present", "new", "sentence"),
    [
        ("wrong", "paper lanterns at noon", "That is not your present password."),
        (factories.PASSWORD, "short", "at least 10 characters"),
        (factories.PASSWORD, "1234567890123", "entirely numeric"),
    ],
)
def test_a_password_that_will_not_do_is_refused_in_words(crew_client, present, new, sentence):
    response = crew_client.post(ME, {"present": present, "new": new})
    assert response.status_code == 422
    assert sentence in response.content.decode()
