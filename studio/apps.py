from django.apps import AppConfig


class StudioConfig(AppConfig):
    """The house: settings, people, calendar, money, paper."""

    name = "studio"

    def ready(self) -> None:
        from studio import access, checks  # noqa: F401  they register themselves
        from studio.backup import asked, reminder  # noqa: F401  the daily backup, and its absence
