"""What a person does to the floor's own lists, and to a production as a whole."""

from django.db import transaction

from shots.models import Difficulty, PreShootCheck, Production
from studio.errors import NotPossible
from studio.services import save_changes

# Pictures an hour to start from (common practice, no source). The first sessions correct it.
FIRST_DIFFICULTIES = [("easy", 20), ("medium", 12), ("hard", 6)]

# Common practice, no source: what spoils a day's pictures when it is forgotten.
FIRST_CHECKS = [
    "Camera locked off: tripod or rig fastened, head tightened",
    "Exposure, focus and white balance on manual, stabiliser off",
    "Daylight blocked, room lights off, only the set’s lamps on",
    "Set and ground fastened down",
    "Remote release connected, nobody touches the camera",
    "Dark clothes, hands clear of the lamps",
    "Focus checked on the subject at full magnification",
    "Card space and power for the whole session",
]


def lay_out_lists(sender, **kwargs) -> None:
    """Give a new studio its first difficulties and pre-shoot checks."""
    Difficulty.objects.bulk_create(
        Difficulty(name=name, pictures_per_hour=pace, position=n)
        for n, (name, pace) in enumerate(FIRST_DIFFICULTIES)
    )
    PreShootCheck.objects.bulk_create(
        PreShootCheck(text=text, position=n) for n, text in enumerate(FIRST_CHECKS)
    )


@transaction.atomic
def start_production(fields: dict) -> Production:
    """Open a production."""
    return Production.objects.create(**fields)


@transaction.atomic
def change_production(production: Production, read_version: int, fields: dict) -> Production:
    """Change a production's details. Shots keep their lengths in frames when the rate changes."""
    return save_changes(production, read_version, fields)


@transaction.atomic
def set_stage(production: Production, seen: str, stage: str) -> Production:
    """Move a production between *at quote*, *running* and *delivered*.

    Raises NotPossible where it is not at the stage `seen` any more.
    """
    current = Production.objects.select_for_update().get(pk=production.pk)
    if current.stage != seen:
        raise NotPossible(
            f"{current.title} was set to {current.get_stage_display()} meanwhile, and that stands. "
            "Set it once more if it is wrong."
        )
    return save_changes(current, current.version, {"stage": Production.Stage(stage)})


@transaction.atomic
def keep_lists(difficulties, checks) -> None:
    """Save the two lists from their valid formsets, keeping the order they stand in."""
    for formset in (difficulties, checks):
        formset.save()
        rows = [form.instance for form in formset.forms if form.instance.pk]
        for position, row in enumerate(rows):
            row.position = position
            row.save(update_fields=["position"])
