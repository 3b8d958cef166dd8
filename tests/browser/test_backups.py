"""The owner makes a backup with a button, sees it done, and checks it again."""

from django.conf import settings
from django.db import connection

from studio import long_work
from studio.models import LongWork


def do_the_work() -> None:
    long_work.carry_out.call(LongWork.objects.not_over().get().pk)
    connection.close()


def test_a_backup_from_the_button(page, accessible):
    page.goto("/studio/backups/")
    page.get_by_text("No backup yet").wait_for()
    accessible(page)
    page.get_by_role("button", name="Make a backup now").click()
    page.get_by_text("Waiting for its turn").first.wait_for()
    do_the_work()
    page.get_by_role("button", name="Check again").wait_for()
    [made] = settings.BACKUP_DIR.glob("stillcount-*.tar")
    page.get_by_role("button", name="Check again").click()
    page.get_by_text(f"Check {made.name}").first.wait_for()
    do_the_work()
    page.get_by_text(": whole").wait_for()
    accessible(page)
    with page.expect_download() as download:
        page.get_by_role("link", name=made.name).click()
    assert download.value.suggested_filename == made.name
