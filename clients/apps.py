from django.apps import AppConfig


class ClientsConfig(AppConfig):
    """The desk: clients, quotes, deliverables, delivery sheets."""

    name = "clients"

    def ready(self) -> None:
        from clients import notices  # noqa: F401  tells Today what needs a hand
