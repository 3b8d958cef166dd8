"""What the list of clients and one client's page show."""

from dataclasses import dataclass

from django.core.paginator import Page, Paginator
from django.db.models import Count, Prefetch, Q, QuerySet

from clients.models import Client, Contact
from clients.trade.names import holds_all, name_key
from shots.models import Production

ON_A_PAGE = 20


@dataclass(frozen=True)
class ClientRow:
    """A client in the list."""

    client: Client
    contacts: tuple[Contact, ...]
    productions: int


@dataclass(frozen=True)
class ClientList:
    """A page of the clients a search found, how many there are, and those put aside."""

    words: str
    rows: tuple[ClientRow, ...]
    page: Page
    everybody: int
    archived: tuple[Client, ...]


def clients(words: str, page_number: str | None) -> ClientList:
    """A page of clients whose name, notes or contacts hold every one of the words; all for none.

    Searched and sorted here, not in the database: that folds capitals of some alphabets only.
    """
    contacts = Prefetch("contacts", Contact.objects.current(), to_attr="current_contacts")
    everything = sorted(
        Client.objects.annotate(
            productions=Count("commissions", Q(commissions__production__archived_at=None))
        ).prefetch_related(contacts),
        key=lambda client: name_key(client.name),
    )
    in_hand = [client for client in everything if not client.archived_at]
    found = [client for client in in_hand if holds_all(words, *_searched(client))]
    page = Paginator(found, ON_A_PAGE).get_page(page_number)
    return ClientList(
        words=words,
        rows=tuple(
            ClientRow(client, tuple(client.current_contacts), client.productions)
            for client in page.object_list
        ),
        page=page,
        everybody=len(in_hand),
        archived=tuple(client for client in everything if client.archived_at),
    )


def _searched(client: Client) -> list[str]:
    contacts = [text for row in client.current_contacts for text in (row.name, row.email)]
    return [client.name, client.notes, *contacts]


@dataclass(frozen=True)
class ClientPage:
    """A client, the people there, and the films made for them."""

    client: Client
    contacts: tuple[Contact, ...]
    archived_contacts: tuple[Contact, ...]
    productions: tuple[Production, ...]
    unlinked: tuple[Production, ...]


def client_page(client: Client) -> ClientPage:
    """One client's page."""
    contacts = list(client.contacts.all())
    return ClientPage(
        client=client,
        contacts=tuple(row for row in contacts if not row.archived_at),
        archived_contacts=tuple(row for row in contacts if row.archived_at),
        productions=tuple(Production.objects.filter(commission__client=client)),
        unlinked=tuple(unlinked_productions()),
    )


def unlinked_productions() -> QuerySet[Production]:
    """Productions in hand that nobody is said to have commissioned."""
    return Production.objects.current().filter(commission=None)


def client_of(production: Production) -> Client | None:
    """Whom a production is made for."""
    return Client.objects.filter(commissions__production=production).first()
