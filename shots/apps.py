from django.apps import AppConfig


class ShotsConfig(AppConfig):
    """The floor: productions, set-ups, shots, sessions, pace, call sheets."""

    name = "shots"

    def ready(self) -> None:
        from shots import notices  # noqa: F401  tells Today what needs a hand
        from shots.services.floor import lay_out_lists
        from studio.services import studio_opened

        studio_opened.connect(lay_out_lists, dispatch_uid="floor lists")
