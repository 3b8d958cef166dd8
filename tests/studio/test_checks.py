"""Our own system checks say what is wrong and how to mend it."""

from studio import checks, data_folder


def test_a_key_others_can_read_is_an_error_with_the_command_that_mends_it(settings):
    data_folder.prepare(settings.DATA_DIR)
    key = settings.DATA_DIR / data_folder.SECRET_KEY_FILE
    assert checks.secret_key_is_private(None) == []
    key.chmod(0o644)
    (found,) = checks.secret_key_is_private(None)
    assert found.id == "stillcount.E001"
    assert f"chmod 600 {key}" in found.hint


def test_a_missing_key_is_said_outside_the_tests(settings):
    settings.TESTING = False
    (found,) = checks.secret_key_is_kept(None)
    assert "manage.py start" in found.hint
    data_folder.prepare(settings.DATA_DIR)
    assert checks.secret_key_is_kept(None) == []
