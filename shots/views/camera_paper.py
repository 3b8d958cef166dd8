"""Paper beside the camera: camera reports, exposure sheets, beats, the spacing gauge."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render

from shots.documents.camera_report import camera_report as report_printed
from shots.documents.exposure_sheet import ExposureSheet
from shots.documents.exposure_sheet import exposure_sheet as sheet_printed
from shots.documents.spacing_gauge import SpacingGauge, spacing_gauge
from shots.forms.camera_paper import BeatsForm, BlankSheetForm, GaugeForm
from shots.models import Beats, Session
from shots.queries import camera_paper as queries
from shots.services.beats import keep_beats
from shots.trade.beats import BeatError
from shots.trade.spacing import positions
from shots.views.productions import get_production
from studio.web import DONE, INVALID, page_or_part, pdf_response, save_or_explain, wants_part


def camera_paper(request, code: str):
    """Everything to print beside the camera."""
    production = get_production(code)
    return _paper_page(request, production, BlankSheetForm(production=production), DONE)


def _paper_page(request, production, blank: BlankSheetForm, status: int):
    page = queries.camera_paper(production)
    context = {"page": page, "production": production, "blank": blank}
    return render(request, "shots/camera_paper.html", context, status=status)


def camera_report(request, code: str, pk: int):
    """The camera report of a finished session."""
    production = get_production(code)
    sessions = Session.objects.filter(production=production, ended_at__isnull=False)
    session = get_object_or_404(sessions.select_related("production", "setup"), pk=pk)
    filename = f"{production.code}_camera-report_{session.day.isoformat()}_{session.pk}.pdf"
    printed = report_printed(queries.camera_report_of(session), request.studio.paper)
    return pdf_response(printed, filename)


def exposure_sheet(request, code: str, pk: int):
    """The exposure sheet of a shot; blank where asked, or where it has no beats."""
    production = get_production(code)
    shots = production.shots.current().select_related("setup", "production")
    shot = get_object_or_404(shots, pk=pk)
    try:
        sheet = queries.exposure_sheet_of(shot, blank="blank" in request.GET)
    except BeatError as error:  # the exposure changed since they were written
        messages.error(request, f"The beats of {shot.code} need a look first. {error}")
        return redirect("shots:beats", production.code, pk)
    return _sheet_response(request, sheet, f"{production.code}_exposure-sheet_{shot.code}.pdf")


def blank_exposure_sheet(request, code: str):
    """An exposure sheet without a shot, to fill in by hand."""
    production = get_production(code)
    form = BlankSheetForm(request.GET, production=production)
    if not form.is_valid():
        return _paper_page(request, production, form, INVALID)
    sheet = queries.blank_sheet(
        production, form.cleaned_data["length"], form.cleaned_data["exposure"]
    )
    return _sheet_response(request, sheet, f"{production.code}_exposure-sheet.pdf")


def _sheet_response(request, sheet: ExposureSheet, filename: str):
    return pdf_response(sheet_printed(sheet, request.studio.paper), filename)


def beats(request, code: str, pk: int):
    """The beats of a shot, with frames and pictures recomputed as they are typed."""
    production = get_production(code)
    shots = production.shots.current().with_counts().select_related("setup")
    shot = get_object_or_404(shots, pk=pk)
    kept = Beats.objects.filter(shot=shot).first() or Beats(shot=shot)
    form = BeatsForm(request.POST or None, instance=kept, shot=shot, rate=production.rate)
    act = request.POST.get("act", "")
    status = DONE
    if request.method == "POST" and (act == "look" or wants_part(request)):
        status = DONE if form.is_valid() else INVALID
    elif request.method == "POST":
        set_length = act == "set"
        status = save_or_explain(
            form,
            lambda: keep_beats(
                shot, form.version_seen, form.cleaned_data["text"], form.beats, set_length
            ),
        )
        if status == DONE:
            done = "Kept, and the shot has their length now." if set_length else "Kept."
            messages.success(request, done)
            return redirect("shots:beats", production.code, pk)
    context = {
        "form": form,
        "production": production,
        "shot": shot,
        "read": queries.beats_read(form.beats, shot),
    }
    return page_or_part(request, "shots/beats.html", "shots/_beats.html", context, status)


def gauge(request, code: str):
    """A move's positions, and the way to its gauge."""
    production = get_production(code)
    form = GaugeForm(request.GET if "travel" in request.GET else None)
    rows, status = (), DONE
    if form.is_bound:
        printed = _gauge(form, request.studio.paper)
        status = DONE if printed else INVALID
        rows = positions(form.cleaned_data["move"]) if printed else ()
    context = {
        "form": form,
        "production": production,
        "rows": rows,
        "query": request.GET.urlencode(),
    }
    return render(request, "shots/gauge.html", context, status=status)


def gauge_pdf(request, code: str):
    """The gauge at 1:1."""
    production = get_production(code)
    printed = _gauge(GaugeForm(request.GET), request.studio.paper)
    if printed is None:
        return gauge(request, code)
    return pdf_response(printed, f"{production.code}_spacing-gauge.pdf")


def _gauge(form: GaugeForm, paper: str) -> bytes | None:
    """The gauge as PDF; None, with the reason on the form, where there can be none."""
    if not form.is_valid():
        return None
    said = form.cleaned_data
    try:
        radius = said["radius"] if said["radius"] is not None else 80.0
        title = said["title"] or "Spacing gauge"
        return spacing_gauge(SpacingGauge(title, said["move"], radius), paper)
    except ValueError as error:
        form.add_error(None, str(error))
        return None
