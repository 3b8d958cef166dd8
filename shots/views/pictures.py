"""Pictures: what a production has, one shot's contact sheet, one picture, taking them in."""

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_GET, require_POST

from shots.documents.contact_sheet import contact_sheet
from shots.forms.picture import DeclareForm, HashForm, LogForm, OnScreenForm, PicturesForm
from shots.models import Picture, Production, Shot
from shots.queries import pictures as queries
from shots.services import picture_intake, picture_judging
from shots.services import pictures as services
from shots.services.picture_log import log_pictures
from shots.thumbnail import difference
from shots.views.productions import get_production
from studio.errors import EditedMeanwhile, NotPossible
from studio.web import (
    DONE,
    INVALID,
    owner_required,
    page_or_part,
    pdf_response,
    safe_next,
    save_or_explain,
)

A_YEAR = 365 * 24 * 3600  # seconds; a thumbnail never changes


def get_picture_shot(code: str, pk: int) -> Shot:
    """The shot of that production, or 404."""
    return get_object_or_404(
        Shot.objects.current().select_related("production", "setup"),
        production=get_production(code),
        pk=pk,
    )


def get_picture(code: str, pk: int) -> Picture:
    """The picture of that production, or 404."""
    return get_object_or_404(
        Picture.objects.slim().select_related("shot__production", "shot__setup", "session"),
        shot__production=get_production(code),
        pk=pk,
    )


def picture_shots(request, code: str):
    """Every shot with its pictures, and what is to be logged; for htmx, what grows."""
    page = queries.picture_shots(get_production(code), request.now)
    context = {"page": page, "production": page.production, "plan": page.plan}
    return page_or_part(request, "shots/picture_shots.html", "shots/_picture_shots.html", context)


def shot_pictures(request, code: str, pk: int):
    """The contact sheet of one shot; for htmx, what grows while pictures come in."""
    return _sheet(request, get_picture_shot(code, pk))


def _sheet(request: HttpRequest, shot: Shot, form=None, status: int = DONE) -> HttpResponse:
    page = queries.shot_pictures(
        shot, request.GET.get("page"), request.GET.get("show") == "flagged", request.now
    )
    context = {
        "page": page,
        "plan": page.plan,
        "shot": shot,
        "production": shot.production,
        "form": form or PicturesForm(),
    }
    return page_or_part(
        request, "shots/picture_sheet.html", "shots/_picture_sheet.html", context, status
    )


@require_POST
def pictures_add(request, code: str, pk: int):
    """Take pictures in: from a plain form all at once, from the script one at a time."""
    shot = get_picture_shot(code, pk)
    form = PicturesForm(request.POST, request.FILES)
    by_script = _by_script(request)
    if not form.is_valid():
        if by_script:
            return JsonResponse({"refused": form.errors["pictures"]}, status=INVALID)
        return _sheet(request, shot, form, INVALID)
    files = [(file.name, file) for file in form.cleaned_data["pictures"]]
    try:
        outcome = picture_intake.take_in_files(shot, files, request.user, request.now)
    except NotPossible as refusal:
        if by_script:
            return JsonResponse({"refused": [refusal.sentence]}, status=INVALID)
        form.add_error("pictures", refusal.sentence)
        return _sheet(request, shot, form, INVALID)
    if by_script:
        _judge_arrivals(outcome)
        answer = {"new": len(outcome.new), "known": outcome.known}
        return JsonResponse(answer | {"refused": outcome.refused, "said": outcome.said})
    _judge_or_say(request, shot)
    for sentence in outcome.refused:
        messages.error(request, sentence)
    for sentence in outcome.said:
        messages.info(request, sentence)
    many = len(outcome.new)
    messages.success(request, f"{many} picture{'s' if many != 1 else ''} came in.")
    return redirect("shots:shot_pictures", code, pk)


def _by_script(request: HttpRequest) -> bool:
    return request.headers.get("Accept") == "application/json"


def _judge_arrivals(outcome: picture_intake.Outcome) -> None:
    try:
        for picture in outcome.new:
            picture_judging.judge_arrival(picture)
    except NotPossible as refusal:
        outcome.said.append(refusal.sentence)


def _judge_or_say(request: HttpRequest, shot: Shot) -> int | None:
    """How many pictures are flagged now; None, and a message, where it could not be written."""
    try:
        return picture_judging.judge_shot(shot, request.now)
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
        return None


@require_GET
def picture_known(request, code: str, pk: int):
    """Whether a file with that hash is in the shot, so that it need not be sent again."""
    shot = get_picture_shot(code, pk)
    form = HashForm(request.GET)
    if not form.is_valid():
        return JsonResponse({"known": False}, status=INVALID)
    found = picture_intake.find(shot, form.cleaned_data["sha256"])
    return JsonResponse({"known": found is not None})


@require_POST
def pictures_judge(request, code: str, pk: int):
    """Judge the whole shot."""
    shot = get_picture_shot(code, pk)
    if _by_script(request):
        try:
            return JsonResponse({"flagged": picture_judging.judge_shot(shot, request.now)})
        except NotPossible as refusal:
            return JsonResponse({"said": [refusal.sentence]}, status=INVALID)
    flagged = _judge_or_say(request, shot)
    if flagged is not None:
        messages.success(
            request, f"Judged. {flagged} picture{'s' if flagged != 1 else ''} with a fault."
        )
    return redirect("shots:shot_pictures", code, pk)


@require_POST
def pictures_declare(request, code: str, pk: int):
    """Say what the shot is meant to do, and judge it again."""
    shot = get_picture_shot(code, pk)
    form = DeclareForm(request.POST)
    if form.is_valid():
        meant = form.cleaned_data
        try:
            services.declare(
                shot, meant["read_version"], meant["camera_moves"], meant["light_changes"]
            )
        except EditedMeanwhile:
            messages.error(
                request, "Somebody changed this shot meanwhile. Look at it again, then choose."
            )
        else:
            if _judge_or_say(request, get_picture_shot(code, pk)) is not None:
                messages.success(request, "Saved, and judged again.")
    return redirect("shots:shot_pictures", code, pk)


@require_POST
def pictures_log(request, code: str):
    """Write the sessions that were shown."""
    production = get_production(code)
    back = safe_next(request, reverse("shots:picture_shots", args=[code]))
    form = LogForm(request.POST, production=production)
    if not form.is_valid():
        messages.error(request, "That session is not there any more. Choose again.")
        return redirect(back)
    try:
        plan = log_pictures(
            production,
            form.cleaned_data["shown"],
            [request.user],
            request.now,
            form.cleaned_data["session"],
        )
    except (NotPossible, EditedMeanwhile) as refusal:
        messages.error(request, getattr(refusal, "sentence", str(refusal)))
    else:
        many = len(plan.sessions)
        messages.success(
            request,
            f"{plan.pictures} picture{'s' if plan.pictures != 1 else ''} logged in {many} "
            f"session{'s' if many > 1 else ''}.",
        )
    return redirect(back)


@owner_required
@require_POST
def pictures_keep_originals(request, code: str):
    """Say whether originals are kept."""
    production = get_production(code)
    wanted = request.POST.get("keep_originals") == "on"
    services.keep_originals(production, wanted)
    messages.success(
        request,
        "Originals are kept from now on."
        if wanted
        else "Only thumbnails and measures are kept from now on.",
    )
    return redirect("shots:picture_shots", code)


def picture(request, code: str, pk: int):
    """One picture: its neighbours, what changed, its flags."""
    return _picture_page(request, get_picture(code, pk))


def _picture_page(request, row: Picture, form=None, status: int = DONE) -> HttpResponse:
    page = queries.picture_page(row)
    context = {
        "page": page,
        "picture": row,
        "shot": row.shot,
        "production": row.shot.production,
        "on_screen": form or OnScreenForm(initial=page.on_screen),
        "verdicts": Picture.Verdict.choices,
    }
    return render(request, "shots/picture.html", context, status=status)


@require_POST
def picture_verdict(request, code: str, pk: int):
    """Keep, discard or leave a picture; the message offers to undo it."""
    row = get_picture(code, pk)
    try:
        before = services.give_verdict(row, request.POST.get("verdict", ""))
    except NotPossible as refusal:
        messages.error(request, refusal.sentence)
        return redirect("shots:picture", code, pk)
    return redirect(f"{reverse('shots:picture', args=[code, pk])}?was={before}")


@require_POST
def picture_hold(request, code: str, pk: int):
    """Say how long a picture stays on screen, and what is shown again after it."""
    row = get_picture(code, pk)
    form = OnScreenForm(request.POST)
    status = save_or_explain(
        form, lambda: services.put_on_screen(row, form.cleaned_data["frames"], form.again)
    )
    if status != DONE:
        return _picture_page(request, row, form, status)
    messages.success(request, "Saved.")
    return redirect("shots:picture", code, pk)


@require_GET
def picture_thumbnail(request, code: str, pk: int):
    """The small picture."""
    content = queries.stored_bytes(get_picture(code, pk).thumbnail)
    if not content:
        raise Http404("That thumbnail is not there any more.")
    return _jpeg(content)


@require_GET
def picture_difference(request, code: str, pk: int, other_pk: int):
    """What differs from another picture of the shot, amplified."""
    one, other = get_picture(code, pk), get_picture(code, other_pk)
    if one.shot_id != other.shot_id:
        raise Http404("Those pictures are of two shots.")
    try:
        changed = difference(
            queries.stored_bytes(other.thumbnail), queries.stored_bytes(one.thumbnail)
        )
    except ValueError as error:
        raise Http404(str(error)) from error
    return _jpeg(changed)


@require_GET
def picture_original(request, code: str, pk: int):
    """The original file, to be saved; never shown by the browser as what it claims to be."""
    row = get_picture(code, pk)
    if not row.original:
        raise Http404("The original was not kept.")
    response = FileResponse(
        row.original.open("rb"),
        as_attachment=True,
        filename=row.name,
        content_type="application/octet-stream",
    )
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


def _jpeg(content: bytes) -> HttpResponse:
    response = HttpResponse(content, content_type="image/jpeg")
    response.headers["Cache-Control"] = f"private, max-age={A_YEAR}, immutable"
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


@require_GET
def shot_frames(request, code: str, pk: int):
    """What the player plays."""

    def address(row: Picture) -> str:
        return reverse("shots:picture_thumbnail", args=[code, row.pk])

    return JsonResponse(queries.frames_to_play(get_picture_shot(code, pk), address))


def shot_play(request, code: str, pk: int):
    """Play the shot."""
    shot = get_picture_shot(code, pk)
    context = {"shot": shot, "production": shot.production, "flashes": queries.flashes(shot)}
    return render(request, "shots/picture_play.html", context)


@require_GET
def shot_contact_sheet(request, code: str, pk: int):
    """The contact sheet of a shot, on paper."""
    shot = get_picture_shot(code, pk)
    contents = queries.contact_sheet_of_shot(shot, request.studio, request.today)
    name = f"contact-sheet-{shot.production.code}-{shot.code}.pdf"
    return pdf_response(contact_sheet(contents, request.studio.paper), name)


@require_GET
def day_contact_sheet(request, code: str, day: str):
    """The contact sheet of a day, on paper."""
    production: Production = get_production(code)
    try:
        date = parse_date(day)
    except ValueError:
        date = None
    if date is None:
        raise Http404("That is no day.")
    contents = queries.contact_sheet_of_day(production, date, request.studio)
    name = f"contact-sheet-{production.code}-{date}.pdf"
    return pdf_response(contact_sheet(contents, request.studio.paper), name)
