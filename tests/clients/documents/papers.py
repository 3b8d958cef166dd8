"""Invented papers for the tests of the desk's PDFs."""

from clients.documents.change_order import ChangeOrderPaper
from clients.documents.invoice import CreditNotePaper, InvoicePaper
from clients.documents.money_tables import Party, PriceRow, SumRow
from clients.documents.quote import QuotedOption, QuotePaper

STUDIO = Party("Atelier Feutre & Fil", ("12 Paper Lane", "4020 Woolwich", "Tax number 000 111"))
CLIENT = Party("Żółć Ωmega Puppets", ("東京 paper shop", "1 Clay Street"))
LONG_CLIENT = Party("The Very Long Named Society for Felt, Wire, Clay and Paper Puppets " * 4)
LONGER_THAN_A_PAGE = Party("Felt and wire and clay and paper " * 400)
NO_SPACES = Party("Feltfoxfeltfoxfeltfox" * 12)

LINES = (
    PriceRow("Storyboard", "1 140.00 €", "Preparation", "3 days × 380.00 €"),
    PriceRow("Puppets: fox and hen", "1 281.00 €", "Preparation", "2 × 640.50 €"),
    PriceRow("Animation", "11 765.00 €", "Animation", "", ("Animator", "Assistant", "Set-ups")),
    PriceRow("Clean-up", "674.50 €", "Finishing", "17.75 h × 38.00 €"),
    PriceRow("Edit", "975.00 €", "Finishing", "2.5 days × 390.00 €"),
    PriceRow("Sound", "850.00 €", "Finishing", "8.5 days × 100.00 €"),
    PriceRow("Licence: Europe, online, two years", "2 285.19 €", "Usage licence", "12.5 %"),
    PriceRow("Returning client", "−1 028.34 €", "Discount", "5 %"),
)
SUMS = (
    SumRow("Before tax", "17 942.35 €"),
    SumRow("Tax 20 % of 17 942.35 €", "3 588.47 €"),
    SumRow("To pay", "21 530.82 €", strong=True),
)
PAYMENTS = (
    ("on acceptance", "30 %", "6 459.25 €"),
    ("at picture lock", "40 %", "8 612.33 €"),
    ("on delivery", "30 %", "6 459.24 €"),
)
ASSUMPTIONS = (
    "The film lasts 15 s 00 f at 24 frames per second.",
    "It is animated 10 s on twos and 5 s on ones: 213 pictures in all.",
    "5 set-ups of camera, set and lamps are included.",
    "At most 2 characters on screen at a time.",
    "2 revision rounds are included.",
    "A change is anything that adds or lengthens a shot, adds a character or a set-up, or asks for "
    "approved pictures to be taken again; it is priced as a change order before it is shot.",
)
TAX_NOTE = "Which tax is due follows local law; ask a licensed adviser where in doubt."


def option(label="12 on ones", lines=LINES, difference=""):
    return QuotedOption(
        label=label,
        length="15 s 00 f",
        pictures="213",
        days="18",
        finish="9 April 2026",
        total="21 530.82 €",
        lines=lines,
        sums=SUMS,
        extras=(PriceRow("Making-of", "600.00 €"),),
        difference=difference,
        payments=PAYMENTS,
        assumptions=ASSUMPTIONS,
    )


def quote(options=None, receiver=CLIENT, paper="A4", **more):
    return QuotePaper(
        number="2026-014",
        revision=2,
        title="The felt fox counts hens",
        film="A fox of grey felt counts paper hens until she falls asleep: 15 seconds.",
        date="1 March 2026",
        valid_until="31 March 2026",
        sender=STUDIO,
        receiver=receiver,
        included=("Storyboard and two puppets", "Animation, edit and sound", "A master file"),
        options=options or (option(),),
        dates=(("Shooting begins", "16 March 2026"), ("Delivery", "17 April 2026")),
        changes=(("easy", "419.18 €"), ("hard", "848.00 €")),
        tax_note=TAX_NOTE,
        paper=paper,
        **more,
    )


def change_order(receiver=CLIENT, paper="A4", lines=LINES[:3]):
    return ChangeOrderPaper(
        number="2026-014-1",
        quote_number="2026-014, revision 2",
        title="The felt fox counts hens",
        reason="The hen takes a bow at the end, and the wide shot of the barn goes.",
        date="2 April 2026",
        valid_until="9 April 2026",
        sender=STUDIO,
        receiver=receiver,
        shots=(
            ("Opening", "lengthened from 10 s to 15 s", "+5 s 00 f", "+60"),
            ("Coda", "added", "+2 s 00 f", "+24"),
            ("Chase", "cut", "−5 s 00 f", "−128"),
        ),
        lines=lines,
        sums=SUMS,
        effects=(
            ("Length", "15 s 00 f", "17 s 00 f"),
            ("Finish", "9 April 2026", "13 April 2026"),
            ("Price", "21 530.82 €", "22 490.82 €"),
        ),
        tax_note=TAX_NOTE,
        paper=paper,
    )


def invoice(receiver=CLIENT, paper="A4", lines=LINES):
    return InvoicePaper(
        number="2026-031",
        title="The felt fox counts hens: first of three payments, on acceptance",
        date="3 March 2026",
        due="17 March 2026",
        supplied="March 2026",
        sender=STUDIO,
        receiver=receiver,
        lines=lines,
        sums=SUMS,
        how_to_pay=("Account 000 111 222 at Woolwich Savings", "Please give the invoice number"),
        tax_note=TAX_NOTE,
        paper=paper,
    )


def credit_note(receiver=CLIENT, paper="A4", lines=LINES[:1]):
    return CreditNotePaper(
        number="2026-032",
        invoice_number="2026-031",
        invoice_date="3 March 2026",
        title="The felt fox counts hens",
        reason="The storyboard was drawn by the client.",
        date="5 March 2026",
        sender=STUDIO,
        receiver=receiver,
        lines=lines,
        sums=SUMS,
        tax_note=TAX_NOTE,
        paper=paper,
    )
