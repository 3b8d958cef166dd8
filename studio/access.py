"""Signing in with a second factor, recovery codes, and the browsers a person is signed in with.

The second factor is a time-based one-time password (RFC 6238) from any authenticator; checking it,
slowing down guesses and refusing a code twice is django-otp's. A session begins only when every
factor was given, so no page has to ask again.
"""

import secrets
from base64 import b32encode
from datetime import datetime, timedelta

import segno
from django.contrib.auth.signals import user_logged_in
from django.db import transaction
from django.dispatch import receiver
from django.utils import timezone
from django_otp.plugins.otp_totp.models import TOTPDevice

from studio.data_folder import CODE_ALPHABET
from studio.errors import NotPossible
from studio.models import Person, RecoveryCode, SignedIn
from studio.secret import digest

RECOVERY_CODES = 10
RECOVERY_CODE_LENGTH = 16  # 79 bits: a hash of it cannot be guessed back
SEEN_EVERY = timedelta(hours=1)  # how often a session notes that it is still used

BROWSERS = [
    ("Edg", "Edge"), ("OPR", "Opera"), ("Firefox", "Firefox"), ("Chrome", "Chrome"),
    ("Safari", "Safari"),
]  # fmt: skip
SYSTEMS = [
    ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"),
    ("Mac OS", "Mac"), ("Linux", "Linux"),
]  # fmt: skip


def browser_name(user_agent: str) -> str:
    """What a person calls the browser that sent this User-Agent, as “Firefox on Linux”."""
    browser = next((name for sign, name in BROWSERS if sign in user_agent), "A browser")
    system = next((name for sign, name in SYSTEMS if sign in user_agent), "an unknown system")
    return f"{browser} on {system}"


@receiver(user_logged_in)
def note_browser(sender, request, user, **kwargs) -> None:
    """Keep with a new session which browser it is, for the list of sign-ins."""
    now = timezone.now().isoformat()
    browser = browser_name(request.META.get("HTTP_USER_AGENT", ""))
    request.session.update({"browser": browser, "began_at": now, "seen_at": now})


def note_use(session, now: datetime) -> None:
    """Note that a session is still used, at most once an hour."""
    seen = session.get("seen_at")
    if seen and now - datetime.fromisoformat(seen) > SEEN_EVERY:
        session["seen_at"] = now.isoformat()


def signed_in_browsers(person: Person, now: datetime):
    """A person's sessions that still hold, newest use first."""
    return SignedIn.objects.filter(person=person, expire_date__gt=now).order_by("-seen_at")


@transaction.atomic
def sign_out_everywhere(person: Person, but: str | None = None) -> int:
    """End a person's sessions, all but the one with the key `but`; returns how many."""
    others = SignedIn.objects.filter(person=person).exclude(session_key=but)
    return others.delete()[0]


def second_factor(person: Person) -> TOTPDevice | None:
    """The authenticator a person signs in with, if they switched that on."""
    return TOTPDevice.objects.filter(user=person, confirmed=True).first()


@transaction.atomic
def offer_second_factor(person: Person) -> TOTPDevice:
    """The authenticator about to be set up; the same key until it is confirmed."""
    return TOTPDevice.objects.get_or_create(
        user=person, confirmed=False, defaults={"name": "Authenticator"}
    )[0]


def key_to_type(device: TOTPDevice) -> str:
    """The key as a person types it into an authenticator: base32 in groups of four."""
    key = b32encode(device.bin_key).decode()
    return " ".join(key[n : n + 4] for n in range(0, len(key), 4))


def key_as_picture(device: TOTPDevice) -> str:
    """The key as a QR code to photograph, an SVG data URI."""
    code = segno.make(device.config_url, error="m")
    return code.svg_data_uri(scale=5, border=4, light="white")


@transaction.atomic
def switch_second_factor_on(person: Person, code: str, session_key: str | None) -> list[str]:
    """Confirm the authenticator with a first code; returns the recovery codes, shown only now.

    Every other browser of this person is signed out. Raises NotPossible for a wrong code.
    """
    device = offer_second_factor(person)
    if not _right_now(device, code):
        raise NotPossible(
            "That code does not fit. Type the six digits as they stand on the telephone now; if "
            "they never fit, set its clock by the network.",
            "code",
        )
    TOTPDevice.objects.filter(user=person, confirmed=True).delete()
    device.confirmed = True
    device.save(update_fields=["confirmed"])
    sign_out_everywhere(person, but=session_key)
    return _new_recovery_codes(person)


@transaction.atomic
def switch_second_factor_off(person: Person) -> None:
    """Back to the password alone; the recovery codes go with it."""
    TOTPDevice.objects.filter(user=person).delete()
    RecoveryCode.objects.filter(person=person).delete()


def passes_second_factor(person: Person, typed: str, now: datetime) -> bool:
    """Whether `typed` is this person's present code, or an unused recovery code (used up now)."""
    device = second_factor(person)
    if device is None:
        return False
    return _right_now(device, typed) or _use_recovery_code(person, typed, now)


def recovery_codes_left(person: Person) -> int:
    """How many recovery codes a person has not used yet."""
    return RecoveryCode.objects.filter(person=person, used_at=None).count()


def _right_now(device: TOTPDevice, typed: str) -> bool:
    digits = typed.replace(" ", "")
    return digits.isascii() and digits.isdigit() and device.verify_token(digits)


def _use_recovery_code(person: Person, typed: str, now: datetime) -> bool:
    unused = RecoveryCode.objects.filter(person=person, used_at=None, digest=_digest(typed))
    return unused.update(used_at=now) == 1


def _new_recovery_codes(person: Person) -> list[str]:
    """Replace a person's recovery codes; only their hashes are kept."""
    RecoveryCode.objects.filter(person=person).delete()
    codes = [
        "".join(secrets.choice(CODE_ALPHABET) for _ in range(RECOVERY_CODE_LENGTH))
        for _ in range(RECOVERY_CODES)
    ]
    RecoveryCode.objects.bulk_create(
        RecoveryCode(person=person, digest=_digest(code)) for code in codes
    )
    return ["-".join(code[n : n + 4] for n in range(0, len(code), 4)) for code in codes]


def _digest(code: str) -> str:
    plain = code.upper().replace("-", "").replace(" ", "")
    return digest(plain)
