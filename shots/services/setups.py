"""What a person does to a set-up. Writes; never sees a request."""

from collections.abc import Sequence

from django.db import transaction
from django.db.models import F, Max

from shots.models import Lamp, Production, Setup
from shots.trade.lamps import LampLine
from studio import services as house
from studio.errors import NotPossible


@transaction.atomic
def add_setup(production: Production, fields: dict, lamps: Sequence[LampLine]) -> Setup:
    """Add a set-up to a production, after its others."""
    last = production.setups.aggregate(last=Max("position"))["last"]
    setup = Setup(production=production, position=0 if last is None else last + 1, **fields)
    _check_code_free(setup, setup.code)
    setup.save()
    _hang(setup, lamps)
    return setup


@transaction.atomic
def change_setup(setup: Setup, read_version: int, fields: dict, lamps: Sequence[LampLine]) -> Setup:
    """Change a set-up's lock card and lamps.

    Raises EditedMeanwhile where somebody saved it since `read_version`.
    """
    _check_code_free(setup, fields["code"])
    setup = house.save_changes(setup, read_version, fields)
    hanging = [LampLine(lamp.name, lamp.watts) for lamp in setup.lamps.all()]
    if hanging == list(lamps):
        return setup
    setup.lamps.all().delete()
    _hang(setup, lamps)
    if setup.version == read_version:
        Setup.objects.filter(pk=setup.pk).update(version=F("version") + 1)
    return setup


@transaction.atomic
def restore_setup(setup: Setup) -> None:
    """Bring an archived set-up back. Raises NotPossible where its code is in use by now."""
    _check_code_free(setup, setup.code)
    house.restore(setup)


def _check_code_free(setup: Setup, code: str) -> None:
    current = Setup.objects.current().filter(production=setup.production_id, code__iexact=code)
    taken = current.exclude(pk=setup.pk).first()
    if taken:
        raise NotPossible(f"The set-up “{taken}” has that code. Choose another.", "code")


def _hang(setup: Setup, lamps: Sequence[LampLine]) -> None:
    Lamp.objects.bulk_create(
        Lamp(setup=setup, name=lamp.name, watts=lamp.watts, position=n)
        for n, lamp in enumerate(lamps)
    )
