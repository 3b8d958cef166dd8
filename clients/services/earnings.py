"""What a person does with a production's account: say what it really took."""

from collections.abc import Mapping
from decimal import Decimal

from django.db import transaction

from clients.models import ActualCost, FilmAccount
from clients.queries.earnings import account_of
from shots.models import Production
from studio.errors import EditedMeanwhile


@transaction.atomic
def save_account(
    production: Production,
    read_version: int,
    hours_off_set: Decimal | None,
    costs: Mapping[str, Decimal],
) -> FilmAccount:
    """Save the account whole. Raises EditedMeanwhile where somebody saved it since it was read."""
    # Whoever saves the account of a production saves alone, the first time too.
    Production.objects.select_for_update(of=("self",)).get(pk=production.pk)
    account = account_of(production)
    if account.version != read_version:
        raise EditedMeanwhile(account)
    account.hours_off_set = hours_off_set
    account.version += 1
    account.save()
    account.costs.all().delete()
    ActualCost.objects.bulk_create(
        ActualCost(account=account, label=label, amount=amount, position=position)
        for position, (label, amount) in enumerate(costs.items())
    )
    return account
