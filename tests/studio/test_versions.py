"""Every row that is edited has a version, stands in one that has, or says what its reader saw."""

from studio.backup.rows import kept_models

# With the version of the row they belong to; saved together with it.
PARTS = {
    "clients.ChangeLine", "clients.ShotChange", "clients.InvoiceLine", "clients.InvoicePart",
    "clients.QuoteLine", "clients.QuoteOption", "clients.QuotePayment", "clients.QuoteSequence",
    "clients.ActualCost", "shots.CallSheetPerson", "shots.CallSheetShot", "shots.Lamp",
    "shots.SessionCheck", "shots.SessionShot",
}  # fmt: skip
# Made once; afterwards only taken back, revoked or answered, which cannot overwrite anything.
NEVER_EDITED = {
    "clients.Acceptance", "clients.ChangeAcceptance", "clients.ChangeOrderLink",
    "clients.ClientAnswer", "clients.ClientLink", "clients.DeliveredFile", "clients.Delivery",
    "clients.DeliveryLink", "clients.FileCheck", "clients.IssuedInvoice",
    "clients.SentChangeOrder", "clients.SentQuote", "otp_totp.TOTPDevice", "shots.Absence",
    "shots.CalendarLink", "shots.CallSheetIssue", "shots.Incident", "shots.PlanStep",
    "shots.Preview", "shots.Promise", "shots.QuotedDays", "shots.QuotedPace", "studio.DayOff",
    "studio.RecoveryCode",
}  # fmt: skip
# Rows of a list that is edited as a whole: forms of studio.forms.ListRowForm.
LISTS = {"clients.DayRate", "clients.LineTemplate", "shots.Difficulty", "shots.PreShootCheck"}
# One choice at a time, set by a button that says it; the page shows who chose last.
CHOSEN = {"clients.Commission", "shots.Picture"}


def test_every_row_is_safe_from_two_at_once_or_says_why_it_need_not_be():
    without = {
        model._meta.label
        for model in kept_models()
        if not model._meta.auto_created
        and not hasattr(model, "instance_type")  # a history is written by nobody's hand
        and "version" not in {field.name for field in model._meta.concrete_fields}
    }
    assert without == PARTS | NEVER_EDITED | LISTS | CHOSEN
