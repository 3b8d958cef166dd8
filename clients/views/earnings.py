"""What productions earned: side by side, and one with its account."""

from django.contrib import messages
from django.shortcuts import redirect, render

from clients.forms.earnings import AccountForm
from clients.queries import earnings as queries
from clients.services.earnings import save_account
from shots.views.productions import get_production
from studio.web import DONE, owner_required, save_or_explain


@owner_required
def earnings(request):
    """Productions that came from a quote, and what the next quote should assume."""
    page = queries.earnings_page(request.studio, request.today)
    return render(request, "clients/earnings.html", {"page": page})


@owner_required
def film_earnings(request, code: str):
    """One production against its quote; POST says what it really cost."""
    page = queries.film_earnings_page(get_production(code), request.studio)
    context, status = {"page": page, "production": page.production}, DONE
    if page.film:
        form = context["form"] = AccountForm(
            request.POST or None,
            instance=page.account,
            costs=page.film.costs,
            currency=page.film.quote.currency,
        )
        if request.method == "POST":
            status = save_or_explain(
                form,
                lambda: save_account(
                    page.production, form.version_seen, form.changes["hours_off_set"],
                    form.actual_costs,
                ),
            )  # fmt: skip
            if status == DONE:
                messages.success(request, "Saved.")
                return redirect("clients:film_earnings", page.production.code)
    return render(request, "clients/film_earnings.html", context, status=status)
