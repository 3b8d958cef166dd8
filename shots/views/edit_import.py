"""Taking in an edit: compare first, then take over what is chosen."""

import tempfile
from pathlib import Path

from django.contrib import messages
from django.shortcuts import redirect, render

from shots.edit_reading import Edit, read_edit_apart
from shots.forms.edit_import import EditFileForm, TakeOverForm, signed, usual_difficulty
from shots.models import Production
from shots.queries.edit_import import KINDS, edit_page, with_codes
from shots.services.edit_import import take_over
from shots.services.plan import Hand
from shots.views.productions import get_production
from studio.errors import NotPossible
from studio.web import CONFLICT, DONE, INVALID


def edit_import(request, code: str):
    """Choose a file; see what grew, shrank, appeared and went; take over the chosen ones."""
    production = get_production(code)
    if request.method == "POST" and "edit" in request.POST:
        return _take_over(request, production)
    form = EditFileForm(request.POST, request.FILES) if request.method == "POST" else EditFileForm()
    status = DONE
    if request.method == "POST":
        status = INVALID
        if form.is_valid():
            try:
                edit = _read(form, production)
                shots = with_codes(edit.shots)
                difficulty = usual_difficulty(production)
                page = edit_page(production, shots, difficulty, request.studio, request.today)
            except ValueError as error:  # EditError among them
                form.add_error("file", str(error))
            else:
                chosen = TakeOverForm(
                    initial={"edit": signed(shots), "difficulty": difficulty, "take_order": False}
                )
                return _compared(request, production, page, chosen, DONE, notes=edit.notes)
    context = {"form": form, "production": production}
    return render(request, "shots/edit_import.html", context, status=status)


def _read(form: EditFileForm, production: Production) -> Edit:
    """Read the upload under a name of ours: what a visitor calls a file is no path."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"edit{form.suffix if form.suffix.isascii() else ''}"
        path.write_bytes(form.cleaned_data["file"].read())
        return read_edit_apart(path, production.rate)


def _take_over(request, production: Production):
    form = TakeOverForm(request.POST)
    if not form.is_valid():
        messages.error(request, "This comparison is damaged. Choose the file again.")
        return redirect("shots:edit_import", production.code)
    said = form.cleaned_data
    difficulty = said["difficulty"] or usual_difficulty(production)
    if "compare" not in request.POST:
        hand = Hand(request.studio, request.user, request.now)
        chosen = request.POST.getlist("take")
        try:
            count = take_over(
                production, said["edit"], chosen, difficulty, said["take_order"], hand
            )
        except NotPossible as refusal:
            form.add_error(None, refusal.sentence)
        else:
            words = f"{count} change{'s' if count != 1 else ''} taken over"
            order = ", and the order of the edit" if said["take_order"] else ""
            messages.success(request, f"{words}{order}.")
            return redirect("shots:shots", production.code)
    page = edit_page(production, said["edit"], difficulty, request.studio, request.today)
    return _compared(
        request,
        production,
        page,
        form,
        CONFLICT if form.errors else DONE,
        request.POST.getlist("take"),
    )


def _compared(request, production, page, form, status: int, ticked=None, notes=()):
    context = {
        "production": production,
        "page": page,
        "form": form,
        "notes": notes,
        "ticked": ticked,
        "groups": [
            (title, [row for row in page.rows if row.kind == kind]) for kind, title in KINDS
        ],
    }
    return render(request, "shots/edit_compared.html", context, status=status)
