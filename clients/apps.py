from django.apps import AppConfig


class ClientsConfig(AppConfig):
    """The desk: clients, quotes, deliverables, delivery sheets."""

    name = "clients"

    def ready(self) -> None:
        from clients import checks, notices  # noqa: F401  heard by registering themselves
        from clients.services.specifications import lay_out_specifications
        from studio.services import studio_opened

        studio_opened.connect(lay_out_specifications, dispatch_uid="desk specifications")
