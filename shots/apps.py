from django.apps import AppConfig


class ShotsConfig(AppConfig):
    """The floor: productions, set-ups, shots, sessions, pace, call sheets."""

    name = "shots"

    def ready(self) -> None:
        from shots import notices, today  # noqa: F401  tell the Today page what to show
        from shots.services.floor import lay_out_lists
        from studio.services import studio_opened

        studio_opened.connect(lay_out_lists, dispatch_uid="floor lists")
