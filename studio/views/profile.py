"""The studio's own pages: profile, people, days off."""

from datetime import timedelta

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from studio import access, queries, services
from studio.forms import DayOffForm, PersonForm, StudioForm
from studio.models import DayOff, Person, Studio
from studio.web import DONE, INVALID, owner_required, save_or_explain

NEXT_DAYS_OFF = timedelta(days=366)


@owner_required
def profile(request):
    """Name, money, paper, working week, holidays, circuit."""
    form = StudioForm(request.POST or None, instance=Studio.objects.get())
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form, lambda: services.save_changes(request.studio, form.version_seen, form.changes)
        )
        if status == DONE:
            messages.success(request, "Saved.")
            return redirect("studio:profile")
    return render(request, "studio/profile.html", {"form": form}, status=status)


@owner_required
def people(request):
    """Everybody who works here."""
    return render(request, "studio/people.html", {"people": Person.objects.all()})


@owner_required
def person_new(request):
    """Add somebody."""
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        person = services.add_person(form.changes, form.cleaned_data["password"])
        messages.success(request, f"{person} was added.")
        return redirect("studio:people")
    status = INVALID if form.is_bound else DONE
    return render(request, "studio/person.html", {"form": form}, status=status)


@owner_required
def person_edit(request, pk: int):
    """Change somebody's details, role or password."""
    person = get_object_or_404(Person, pk=pk)
    form = PersonForm(request.POST or None, instance=Person.objects.get(pk=pk))
    status = DONE
    if request.method == "POST":
        status = save_or_explain(
            form,
            lambda: services.change_person(
                person, form.version_seen, form.changes, form.cleaned_data["password"]
            ),
        )
        if status == DONE:
            messages.success(request, f"{person} was saved.")
            return redirect("studio:people")
    return render(request, "studio/person.html", {"form": form, "person": person}, status=status)


@owner_required
@require_POST
def person_sign_out(request, pk: int):
    """Sign somebody out everywhere, and let them in with their password alone: a lost telephone."""
    person = get_object_or_404(Person, pk=pk)
    access.sign_out_everywhere(person)
    access.switch_second_factor_off(person)
    messages.success(request, f"{person} is signed out everywhere; their second factor is off.")
    return redirect("studio:person_edit", pk)


@owner_required
def calendar(request):
    """Days off, our own and the public ones, for the year ahead."""
    form = DayOffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        services.add_days_off(**form.cleaned_data)
        messages.success(request, "Days off added. Finish dates move, days left do not.")
        return redirect("studio:calendar")
    ahead = queries.days_off(request.studio, request.today, request.today + NEXT_DAYS_OFF)
    own = DayOff.objects.filter(last__gte=request.today)
    status = INVALID if form.is_bound else DONE
    context = {"form": form, "own": own, "ahead": ahead}
    return render(request, "studio/calendar.html", context, status=status)


@owner_required
@require_POST
def day_off_remove(request, pk: int):
    """Take a stretch of days off back."""
    stretch = get_object_or_404(DayOff, pk=pk)
    stretch.delete()
    messages.success(request, f"“{stretch}” was taken back: those days count again.")
    return redirect("studio:calendar")
