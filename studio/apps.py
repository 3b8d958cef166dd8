from django.apps import AppConfig


class StudioConfig(AppConfig):
    """The house: settings, people, calendar, money, paper."""

    name = "studio"

    def ready(self) -> None:
        from studio import access, checks  # noqa: F401  they register themselves
        from studio.backup import asked  # noqa: F401  it registers the daily backup
