"""What a person does with clients, and with whom a production is made for."""

from django.db import transaction

from clients.models import Client, Commission, Contact
from clients.trade.names import name_key
from shots.models import Production
from shots.services import floor
from studio.errors import NotPossible
from studio.services import restore, save_changes


@transaction.atomic
def add_client(fields: dict) -> Client:
    """Take a client on. Raises NotPossible for a name another client has."""
    _refuse_taken_name(fields["name"])
    return Client.objects.create(**fields)


@transaction.atomic
def change_client(client: Client, read_version: int, fields: dict) -> Client:
    """Change a client's details. Raises NotPossible for a name another client has."""
    _refuse_taken_name(fields["name"], client)
    return save_changes(client, read_version, fields)


@transaction.atomic
def restore_client(client: Client) -> None:
    """Bring an archived client back. Raises NotPossible where another has the name by now."""
    _refuse_taken_name(client.name, client)
    restore(client)


def _refuse_taken_name(name: str, client: Client | None = None) -> None:
    # Compared here: a database folds the capitals of some alphabets only.
    others = Client.objects.current().exclude(pk=client.pk if client else None)
    for other in others.values_list("name", flat=True):
        if name_key(other) == name_key(name):
            raise NotPossible(
                f"There is a client called “{other}” already. Open that one, or add a place or a "
                "year to this name.",
                "name",
            )


@transaction.atomic
def add_contact(client: Client, fields: dict) -> Contact:
    """Add a person at the client's."""
    return Contact.objects.create(client=client, **fields)


@transaction.atomic
def open_production(client: Client, fields: dict) -> Production:
    """Open a production that is made for this client."""
    production = floor.start_production(fields)
    Commission.objects.create(production=production, client=client)
    return production


@transaction.atomic
def link_production(production: Production, client: Client | None, seen: int | None) -> None:
    """Say whom a production is made for; None is nobody yet.

    `seen` is the key of the client the person read there. Raises NotPossible where that changed
    since.
    """
    Production.objects.select_for_update().get(pk=production.pk)
    commission = Commission.objects.filter(production=production).select_related("client").first()
    if (commission.client_id if commission else None) != seen:
        stands = commission.client if commission else "no client"
        raise NotPossible(
            f"Meanwhile somebody linked it to {stands}. Look again, then save.",
            "client",
        )
    if client:
        Commission.objects.update_or_create(production=production, defaults={"client": client})
    elif commission:
        commission.delete()
