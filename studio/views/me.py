"""A person's own sign-in: password, second factor, and where they are signed in."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from studio import access, services
from studio.forms import CodeForm, OwnPasswordForm
from studio.web import DONE, INVALID, save_or_explain


def me(request):
    """Change the password; see the second factor and every browser signed in."""
    form = OwnPasswordForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        services.change_own_password(request.user, form.cleaned_data["new"])
        update_session_auth_hash(request, request.user)
        messages.success(request, "Your password was changed. Other browsers must sign in again.")
        return redirect("studio:me")
    context = {
        "form": form,
        "second_factor": access.second_factor(request.user),
        "codes_left": access.recovery_codes_left(request.user),
        "browsers": access.signed_in_browsers(request.user, request.now),
    }
    return render(request, "studio/me.html", context, status=INVALID if form.is_bound else DONE)


def second_factor_on(request):
    """Set an authenticator up, confirm it with a first code, and show the recovery codes once."""
    form, codes = CodeForm(request.POST or None), []

    def confirm() -> None:
        typed, session = form.cleaned_data["code"], request.session.session_key
        codes.extend(access.switch_second_factor_on(request.user, typed, session))

    status = save_or_explain(form, confirm) if request.method == "POST" else DONE
    if codes:
        return render(request, "studio/recovery_codes.html", {"codes": codes})
    device = access.offer_second_factor(request.user)
    context = {
        "form": form,
        "picture": access.key_as_picture(device),
        "key": access.key_to_type(device),
    }
    return render(request, "studio/second_factor.html", context, status=status)


@require_POST
def second_factor_off(request):
    """Back to the password alone; asks for a code, so that an open browser is not enough."""
    form = CodeForm(request.POST)
    if form.is_valid() and access.passes_second_factor(
        request.user, form.cleaned_data["code"], request.now
    ):
        access.switch_second_factor_off(request.user)
        messages.success(request, "The second factor is off. Your password alone lets you in.")
    else:
        messages.error(request, "That code does not fit, so the second factor stays on. Try again.")
    return redirect("studio:me")


@require_POST
def sign_out_everywhere(request):
    """End every other session of this person."""
    ended = access.sign_out_everywhere(request.user, but=request.session.session_key)
    messages.success(
        request, f"Signed out in {ended} other {'browser' if ended == 1 else 'browsers'}."
    )
    return redirect("studio:me")
