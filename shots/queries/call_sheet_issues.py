"""What was issued of a call sheet, and what changed since."""

from dataclasses import dataclass

from django.conf import settings

from shots.documents.call_sheet import DayPlan
from shots.models import CallSheet, CallSheetIssue
from shots.trade.call_sheet_changes import SheetContents, changes
from studio.models import Person


@dataclass(frozen=True)
class Issues:
    """The revisions of a call sheet, newest first; `since` is what changed after the newest."""

    all: tuple[CallSheetIssue, ...]
    since: tuple[str, ...]
    mail_to: tuple[Person, ...]
    without_mail: tuple[str, ...]
    can_mail: bool

    @property
    def last(self) -> CallSheetIssue | None:
        return self.all[0] if self.all else None

    @property
    def next_letter(self) -> str:
        return CallSheetIssue(revision=self.last.revision + 1 if self.last else 1).letter


def issues(sheet: CallSheet, plan: DayPlan) -> Issues:
    """The revisions of a sheet whose present words are in `plan`."""
    rows = tuple(sheet.issues.defer("pdf").select_related("issued_by"))
    since = changes(SheetContents.read(rows[0].contents), contents(plan)) if rows else ()
    people = [one.person for one in sheet.people.select_related("person")]
    return Issues(
        all=rows,
        since=since,
        mail_to=tuple(person for person in people if person.email),
        without_mail=tuple(person.name for person in people if not person.email),
        can_mail=bool(settings.EMAIL_HOST),
    )


def contents(plan: DayPlan) -> SheetContents:
    """What a call sheet says that somebody may have to know has changed."""
    people: dict[str, str] = {}
    for one in plan.people:
        name = one.name
        while name in people:  # namesakes
            name += "’"
        people[name] = one.call
    return SheetContents(
        day=plan.date,
        call=plan.call,
        wrap=plan.wrap,
        people=people,
        shots={shot.shot: shot.pictures for block in plan.setups for shot in block.shots},
        place=plan.place,
        directions=plan.directions,
        emergency_care=plan.emergency_care,
        notes=plan.notes,
    )
