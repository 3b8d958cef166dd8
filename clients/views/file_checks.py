"""One deliverable's file: checked in the background, its results, and what was accepted."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from clients.forms.file_check import ExceptionForm, PathForm, UploadForm
from clients.models import AcceptedException, FileCheck
from clients.queries import file_checks as queries
from clients.services import file_checks as services
from clients.views.deliverables import get_deliverable
from studio.web import DONE, owner_required, page_or_part, save_or_explain


@owner_required
def deliverable_file(request, code: str, pk: int):
    """What was found in the newest file, and the way to check another."""
    return _page(request, code, pk)


def _page(
    request: HttpRequest,
    code: str,
    pk: int,
    *,
    path: PathForm | None = None,
    upload: UploadForm | None = None,
    exception: ExceptionForm | None = None,
    status: int = DONE,
) -> HttpResponse:
    deliverable = get_deliverable(code, pk)
    folders = services.allowed_folders()
    context = {
        "page": queries.file_page(deliverable, folders),
        "production": deliverable.production,
        "folders": folders,
        "path": path or PathForm(),
        "upload": upload or UploadForm(),
        "exception": exception or ExceptionForm(),
        "largest": settings.LARGEST_FILM_UPLOAD_BYTES,
    }
    return page_or_part(
        request, "clients/deliverable_file.html", "clients/_file_check.html", context, status
    )


@owner_required
@require_POST
def file_check_path(request, code: str, pk: int):
    """Check a film on the server's own machine."""
    deliverable, form = get_deliverable(code, pk), PathForm(request.POST)
    status = save_or_explain(
        form,
        lambda: services.begin_check(
            deliverable,
            services.file_on_this_machine(form.cleaned_data["path"]),
            request.user,
            request.now,
        ),
    )
    if status == DONE:
        return redirect("clients:deliverable_file", code, pk)
    return _page(request, code, pk, path=form, status=status)


@owner_required
@require_POST
def file_check_upload(request, code: str, pk: int):
    """Check a film from the browser's machine."""
    deliverable, form = get_deliverable(code, pk), UploadForm(request.POST, request.FILES)
    status = save_or_explain(
        form,
        lambda: services.begin_uploaded_check(
            deliverable, **form.cleaned_data, person=request.user, now=request.now
        ),
    )
    if status == DONE:
        return redirect("clients:deliverable_file", code, pk)
    return _page(request, code, pk, upload=form, status=status)


@owner_required
@require_POST
def exception_new(request, code: str, pk: int, file_check: int):
    """Note that somebody accepted in writing what does not fit."""
    row = get_object_or_404(FileCheck, deliverable=get_deliverable(code, pk), pk=file_check)
    form = ExceptionForm(request.POST)
    status = save_or_explain(
        form,
        lambda: services.accept_exception(
            row, **form.cleaned_data, person=request.user, now=request.now
        ),
    )
    if status == DONE:
        messages.success(request, "It stands on the delivery sheet.")
        return redirect("clients:deliverable_file", code, pk)
    return _page(request, code, pk, exception=form, status=status)


@owner_required
@require_POST
def exception_take_back(request, code: str, pk: int, exception: int):
    """It was not accepted after all."""
    of_file = {"file_check__deliverable": get_deliverable(code, pk)}
    row = get_object_or_404(AcceptedException.objects.current(), pk=exception, **of_file)
    services.take_back_exception(row, request.now)
    messages.success(request, "It is no longer taken as accepted.")
    return redirect("clients:deliverable_file", code, pk)
