"""Getting in: sign-in, sign-out, the first run, and the closed door."""

from django.conf import settings
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.shortcuts import redirect, render
from django.utils.decorators import method_decorator

from studio import data_folder
from studio.errors import NotPossible
from studio.forms import FirstRunForm, SignInForm
from studio.models import Studio
from studio.services import open_studio
from studio.web import INVALID

TOO_MANY_TRIES = 429


@method_decorator(login_not_required, name="dispatch")
class SignIn(LoginView):
    """Sign in with name and password."""

    template_name = "studio/sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_invalid(self, form):
        return self.render_to_response(self.get_context_data(form=form), status=INVALID)


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
        login(request, owner, backend="django.contrib.auth.backends.ModelBackend")
        return redirect("studio:today")
    status = INVALID if form.is_bound else 200
    return render(request, "studio/first_run.html", {"form": form}, status=status)
