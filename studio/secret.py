"""Secrets that are told once, of which only the digest is kept."""

import hashlib
import secrets

SECRET_BYTES = 32


def new_secret() -> str:
    """A secret of 256 random bits, fit for an address."""
    return secrets.token_urlsafe(SECRET_BYTES)


def digest(secret: str) -> str:
    """SHA-256 in hex. What is random enough needs no salt: there is no list to try."""
    return hashlib.sha256(secret.encode()).hexdigest()
