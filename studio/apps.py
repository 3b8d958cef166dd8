from django.apps import AppConfig


class StudioConfig(AppConfig):
    """The house: settings, people, calendar, money, paper."""

    name = "studio"

    def ready(self) -> None:
        from studio import checks  # noqa: F401  registers our system checks
