"""What is stored of the floor."""

from shots.models.call_sheet import CallSheet, CallSheetPerson, CallSheetShot
from shots.models.picture import Picture
from shots.models.plan import Absence, Beats, CalendarLink, CallSheetIssue, PlanStep, Wish
from shots.models.preview import Preview
from shots.models.production import Difficulty, PreShootCheck, Production
from shots.models.promise import Promise
from shots.models.quoted import QuotedDays, QuotedPace
from shots.models.session import Incident, Session, SessionCheck, SessionShot
from shots.models.setup import Lamp, Setup
from shots.models.shot import Shot

__all__ = [
    "Absence",
    "Beats",
    "CalendarLink",
    "CallSheet",
    "CallSheetIssue",
    "CallSheetPerson",
    "CallSheetShot",
    "Difficulty",
    "Incident",
    "Lamp",
    "Picture",
    "PlanStep",
    "PreShootCheck",
    "Preview",
    "Production",
    "Promise",
    "QuotedDays",
    "QuotedPace",
    "Session",
    "SessionCheck",
    "SessionShot",
    "Setup",
    "Shot",
    "Wish",
]
