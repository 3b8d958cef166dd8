"""The cast every test may call on: a studio, its owner, a crew member, and their browsers."""

import os

import pytest
from django.test import Client
from hypothesis import settings as hypothesis_settings

from tests import factories

# A slow machine is no failed property.
hypothesis_settings.register_profile("house", deadline=None)
hypothesis_settings.load_profile("house")


@pytest.fixture(autouse=True)
def own_data_folder(settings, tmp_path):
    """No test writes into a real data folder, nor spends its time hashing passwords."""
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    settings.DATA_DIR = tmp_path
    settings.MEDIA_ROOT = tmp_path / "files"
    settings.BACKUP_DIR = tmp_path / "backups"


@pytest.fixture
def studio(db):
    return factories.StudioFactory()


@pytest.fixture
def owner(studio):
    return factories.PersonFactory(name="Ida Morrow", sign_in_name="ida", role="owner")


@pytest.fixture
def crew(studio):
    return factories.PersonFactory(name="Teo Lind", sign_in_name="teo", role="crew")


def signed_in(person) -> Client:
    browser = Client()
    browser.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return browser


@pytest.fixture
def owner_client(owner) -> Client:
    """The owner's browser, signed in."""
    return signed_in(owner)


@pytest.fixture
def crew_client(crew) -> Client:
    """A crew member's browser, signed in."""
    return signed_in(crew)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session):
    """On the build machine a check that does not run is a check that fails."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if os.environ.get("CI") and reporter and reporter.stats.get("skipped"):
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
