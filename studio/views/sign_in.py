"""Getting in: sign-in, sign-out, the first run, and the closed door."""

from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.shortcuts import redirect, render
from django.utils.decorators import method_decorator

from studio import access, data_folder
from studio.errors import NotPossible
from studio.forms import CodeForm, FirstRunForm, SignInForm
from studio.models import Person, Studio
from studio.services import open_studio
from studio.web import DONE, INVALID

TOO_MANY_TRIES = 429
PASSWORD_BACKEND = "django.contrib.auth.backends.ModelBackend"
HALF_IN = "half_in"  # the session's word for: the password was right, the code is still to come
TIME_FOR_THE_CODE = timedelta(minutes=5)
WRONG_CODE = (
    "That code does not fit. Each works once and for half a minute, and after a wrong one you have "
    "to wait a little: 1 second, then 2, 4 and so on. Or type one of your recovery codes."
)


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """Sign in with name and password."""

    template_name = "studio/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_invalid(self, form):
        return self.render_to_response(self.get_context_data(form=form), status=INVALID)

    def form_valid(self, form):
        person = form.get_user()
        if access.second_factor(person) is None:
            return super().form_valid(form)
        self.request.session[HALF_IN] = {
            "person": person.pk,
            "password": person.get_session_auth_hash(),
            "until": (self.request.now + TIME_FOR_THE_CODE).timestamp(),
            "next": self.get_redirect_url(),
        }
        return redirect("studio:sign_in_code")


@login_not_required
def sign_in_code(request):
    """The second step, for who has a second factor: the code from the telephone."""
    half_in = request.session.get(HALF_IN) or {}
    person = _who_is_half_in(half_in, request.now)
    if person is None:
        return redirect("studio:sign_in")
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if access.passes_second_factor(person, form.cleaned_data["code"], request.now):
            del request.session[HALF_IN]
            login(request, person, backend=PASSWORD_BACKEND)
            return redirect(half_in["next"] or "studio:today")
        form.add_error("code", WRONG_CODE)
    status = INVALID if form.is_bound else DONE
    return render(request, "studio/sign_in_code.html", {"form": form}, status=status)


def _who_is_half_in(half_in: dict, now: datetime) -> Person | None:
    """Who gave the right password a moment ago, and still has that password and job."""
    if half_in.get("until", 0) < now.timestamp():
        return None
    person = Person.objects.filter(pk=half_in["person"], is_active=True).first()
    unchanged = person is not None and person.get_session_auth_hash() == half_in["password"]
    return person if unchanged else None


def locked_out(request, credentials, *args, **kwargs):
    """Too many wrong passwords: say so, and for how long."""
    return render(request, "studio/locked_out.html", status=TOO_MANY_TRIES)


@login_not_required
def first_run(request):
    """Open the studio: works once, and only with the code from the terminal."""
    if Studio.objects.exists():
        return redirect("studio:sign_in")
    form = FirstRunForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            _, owner = open_studio(form.changes, form.owner)
        except NotPossible:
            return redirect("studio:sign_in")
        data_folder.forget_first_run_code(settings.DATA_DIR)
        login(request, owner, backend=PASSWORD_BACKEND)
        return redirect("studio:today")
    status = INVALID if form.is_bound else 200
    return render(request, "studio/first_run.html", {"form": form}, status=status)
