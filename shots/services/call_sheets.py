"""What a person does with a call sheet: make it, change it, put it aside and bring it back."""

from collections.abc import Mapping
from datetime import date, time

from django.db import transaction

from shots.models import CallSheet, CallSheetPerson, CallSheetShot, Production
from shots.trade.call import day_words
from studio.errors import NotPossible
from studio.services import restore, save_changes


@transaction.atomic
def make_call_sheet(
    production: Production, fields: dict, pictures: Mapping[int, int], calls: Mapping[int, time]
) -> CallSheet:
    """Make the call sheet of a day.

    `pictures` are by shot in shooting order, `calls` by person, both by primary key. Raises
    NotPossible where the day has a sheet already.
    """
    _keep_day_free(production, fields["day"])
    sheet = CallSheet.objects.create(production=production, **fields)
    _lay_out(sheet, pictures, calls)
    return sheet


@transaction.atomic
def change_call_sheet(
    sheet: CallSheet,
    read_version: int,
    fields: dict,
    pictures: Mapping[int, int],
    calls: Mapping[int, time],
) -> CallSheet:
    """Change a call sheet, its shots and its people, as one. Raises as `make_call_sheet` does, and
    EditedMeanwhile where somebody saved since `read_version`."""
    _keep_day_free(sheet.production, fields["day"], but=sheet)
    current = save_changes(sheet, read_version, fields)
    if _lay_out(current, pictures, calls) and current.version == read_version:
        current.version += 1
        current.save(update_fields=["version"])
    return current


@transaction.atomic
def restore_call_sheet(sheet: CallSheet) -> None:
    """Bring an archived call sheet back. Raises NotPossible where its day has another by now."""
    _keep_day_free(sheet.production, sheet.day, but=sheet)
    restore(sheet)


def _keep_day_free(production: Production, day: date, but: CallSheet | None = None) -> None:
    """Hold the production while looking: two people may make the same day's sheet at once."""
    Production.objects.select_for_update().get(pk=production.pk)
    others = production.call_sheets.current().filter(day=day)
    if others.exclude(pk=but.pk if but else None).exists():
        raise NotPossible(
            f"{day_words(day)} has a call sheet already. Change that one, or choose another day.",
            "day",
        )


def _lay_out(sheet: CallSheet, pictures: Mapping[int, int], calls: Mapping[int, time]) -> bool:
    """Put these shots and people on the sheet; False where they stood there already."""
    stood = list(sheet.shots.values_list("shot_id", "pictures"))
    called = dict(sheet.people.values_list("person_id", "call"))
    if stood == list(pictures.items()) and called == dict(calls):
        return False
    sheet.shots.all().delete()
    sheet.people.all().delete()
    CallSheetShot.objects.bulk_create(
        CallSheetShot(call_sheet=sheet, shot_id=shot, pictures=count, position=position)
        for position, (shot, count) in enumerate(pictures.items())
    )
    CallSheetPerson.objects.bulk_create(
        CallSheetPerson(call_sheet=sheet, person_id=person, call=call)
        for person, call in calls.items()
    )
    return True
