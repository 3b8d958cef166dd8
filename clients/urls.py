from django.urls import path

from clients.views import (
    change_link,
    change_orders,
    client_delivery,
    client_link,
    clients,
    commissions,
    deliverables,
    deliveries,
    earnings,
    file_checks,
    invoices,
    production_money,
    quotes,
    sent_quotes,
    specifications,
)

app_name = "clients"

of_client = "clients/<int:pk>/"
of_contact = f"{of_client}contacts/<int:contact>/"
of_film = "productions/<str:code>/"
of_file = f"{of_film}deliverables/<int:pk>/"
of_check = f"{of_file}checks/<int:check>/"

of_specification = "specifications/<int:pk>/"
of_delivery = f"{of_film}deliveries/<int:number>/"
of_quote = "quotes/<int:pk>/"
of_change = "change-orders/<int:pk>/"
of_invoice = "invoices/<int:pk>/"
of_payment = f"{of_invoice}payments/<int:payment>/"

urlpatterns = [
    path("clients/", clients.clients, name="clients"),
    path("clients/new/", clients.client_new, name="client_new"),
    path(of_client, clients.client, name="client"),
    path(f"{of_client}edit/", clients.client_edit, name="client_edit"),
    path(f"{of_client}archive/", clients.client_archive, name="client_archive"),
    path(f"{of_client}restore/", clients.client_restore, name="client_restore"),
    path(f"{of_client}contacts/new/", clients.contact_new, name="contact_new"),
    path(of_contact, clients.contact_edit, name="contact_edit"),
    path(f"{of_contact}archive/", clients.contact_archive, name="contact_archive"),
    path(f"{of_contact}restore/", clients.contact_restore, name="contact_restore"),
    path(f"{of_client}productions/new/", commissions.production_new, name="production_new"),
    path(f"{of_client}productions/link/", commissions.production_link, name="production_link"),
    path(f"{of_film}client/", commissions.commission, name="commission"),
    path("deliveries/", deliverables.deliveries, name="deliveries"),
    path(f"{of_film}deliverables/", deliverables.deliverables, name="deliverables"),
    path(f"{of_film}deliverables/new/", deliverables.deliverable_new, name="deliverable_new"),
    path(of_file, deliverables.deliverable_edit, name="deliverable_edit"),
    path(f"{of_file}duplicate/", deliverables.duplicate, name="deliverable_duplicate"),
    path(f"{of_file}move/", deliverables.move, name="deliverable_move"),
    path(f"{of_file}archive/", deliverables.deliverable_archive, name="deliverable_archive"),
    path(f"{of_file}restore/", deliverables.deliverable_restore, name="deliverable_restore"),
    path(f"{of_file}file/", file_checks.deliverable_file, name="deliverable_file"),
    path(f"{of_file}file/path/", file_checks.file_check_path, name="file_check_path"),
    path(f"{of_file}file/upload/", file_checks.file_check_upload, name="file_check_upload"),
    path(
        f"{of_file}file/<int:file_check>/exceptions/",
        file_checks.exception_new,
        name="exception_new",
    ),
    path(
        f"{of_file}file/exceptions/<int:exception>/take-back/",
        file_checks.exception_take_back,
        name="exception_take_back",
    ),
    path(f"{of_file}checks/", deliverables.check_new, name="check_new"),
    path(of_check, deliverables.check_edit, name="check_edit"),
    path(f"{of_check}tick/", deliverables.tick, name="check_tick"),
    path(f"{of_check}archive/", deliverables.check_archive, name="check_archive"),
    path(f"{of_check}restore/", deliverables.check_restore, name="check_restore"),
    path(f"{of_film}delivery-sheet.pdf", deliverables.delivery_sheet, name="delivery_sheet"),
    path(f"{of_film}deliveries/", deliveries.production_deliveries, name="production_deliveries"),
    path(f"{of_film}deliveries/new/", deliveries.delivery_new, name="delivery_new"),
    path(of_delivery, deliveries.delivery, name="delivery"),
    path(f"{of_delivery}sheet.pdf", deliveries.delivery_paper, name="delivery_paper"),
    path(f"{of_delivery}manifest/", deliveries.delivery_manifest, name="delivery_manifest"),
    path(f"{of_delivery}offer/<int:version>/", deliveries.delivery_offer, name="delivery_offer"),
    path(f"{of_delivery}answer/", deliveries.delivery_answer, name="delivery_answer"),
    path("deliveries/<int:pk>/links/new/", deliveries.delivery_link_new, name="delivery_link_new"),
    path(
        "deliveries/<int:pk>/links/<int:link>/revoke/",
        deliveries.delivery_link_revoke,
        name="delivery_link_revoke",
    ),
    path("d/<str:token>/", client_delivery.client_delivery, name="client_delivery"),
    path(
        "d/<str:token>/sheet.pdf",
        client_delivery.client_delivery_paper,
        name="client_delivery_paper",
    ),
    path(
        "d/<str:token>/manifest/",
        client_delivery.client_delivery_manifest,
        name="client_delivery_manifest",
    ),
    path(
        "d/<str:token>/files/<int:pk>/",
        client_delivery.client_delivery_file,
        name="client_delivery_file",
    ),
    path("specifications/", specifications.specifications, name="specifications"),
    path("specifications/new/", specifications.specification_new, name="specification_new"),
    path(
        "specifications/import/", specifications.specification_import, name="specification_import"
    ),
    path(of_specification, specifications.specification, name="specification"),
    path(
        f"{of_specification}SPEC.json",
        specifications.specification_export,
        name="specification_export",
    ),
    path(f"{of_specification}copy/", specifications.specification_copy, name="specification_copy"),
    path(
        f"{of_specification}archive/",
        specifications.specification_archive,
        name="specification_archive",
    ),
    path(
        f"{of_specification}restore/",
        specifications.specification_restore,
        name="specification_restore",
    ),
    path("earnings/", earnings.earnings, name="earnings"),
    path(f"{of_film}earnings/", earnings.film_earnings, name="film_earnings"),
    path("quotes/", quotes.quotes, name="quotes"),
    path("quotes/new/", quotes.quote_new, name="quote_new"),
    path("quotes/stock/", quotes.quote_stock, name="quote_stock"),
    path(of_quote, quotes.quote, name="quote"),
    path(f"{of_quote}price/", quotes.quote_price, name="quote_price"),
    path(f"{of_quote}fits/", quotes.quote_fits, name="quote_fits"),
    path(f"{of_quote}draft.pdf", quotes.quote_draft_paper, name="quote_draft_paper"),
    path(f"{of_quote}send/", sent_quotes.quote_send, name="quote_send"),
    path(f"{of_quote}sent/", sent_quotes.quote_sent, name="quote_sent"),
    path(f"{of_quote}paper.pdf", sent_quotes.quote_paper, name="quote_paper"),
    path(f"{of_quote}compare/", sent_quotes.quote_compare, name="quote_compare"),
    path(f"{of_quote}revise/", sent_quotes.quote_revise, name="quote_revise"),
    path(f"{of_quote}decline/", sent_quotes.quote_decline, name="quote_decline"),
    path(f"{of_quote}lapse/", sent_quotes.quote_lapse, name="quote_lapse"),
    path(f"{of_quote}accept/", sent_quotes.quote_accept, name="quote_accept"),
    path(f"{of_quote}archive/", sent_quotes.quote_archive, name="quote_archive"),
    path(f"{of_quote}restore/", sent_quotes.quote_restore, name="quote_restore"),
    path(f"{of_quote}links/new/", sent_quotes.link_new, name="link_new"),
    path(f"{of_quote}links/<int:link>/revoke/", sent_quotes.link_revoke, name="link_revoke"),
    path("q/<str:token>/", client_link.client_quote, name="client_quote"),
    path("q/<str:token>/quote.pdf", client_link.client_quote_pdf, name="client_quote_pdf"),
    path(f"{of_film}money/", production_money.production_money, name="production_money"),
    path(f"{of_film}money/invoice/", production_money.invoice_parts, name="money_invoice_parts"),
    path(f"{of_film}money/change-order/", change_orders.change_new, name="change_new"),
    path(of_change, change_orders.change_order, name="change_order"),
    path(f"{of_change}length/", change_orders.change_length, name="change_length"),
    path(f"{of_change}cut/", change_orders.change_cut, name="change_cut"),
    path(f"{of_change}shots/new/", change_orders.change_shot_new, name="change_shot_new"),
    path(
        f"{of_change}shots/<int:row>/drop/", change_orders.change_shot_drop, name="change_shot_drop"
    ),
    path(f"{of_change}lines/new/", change_orders.change_line_new, name="change_line_new"),
    path(
        f"{of_change}lines/<int:row>/drop/", change_orders.change_line_drop, name="change_line_drop"
    ),
    path(f"{of_change}draft.pdf", change_orders.change_draft_paper, name="change_draft_paper"),
    path(f"{of_change}paper.pdf", change_orders.change_paper, name="change_paper"),
    path(f"{of_change}send/", change_orders.change_send, name="change_send"),
    path(f"{of_change}accept/", change_orders.change_accept, name="change_accept"),
    path(f"{of_change}decline/", change_orders.change_decline, name="change_decline"),
    path(f"{of_change}lapse/", change_orders.change_lapse, name="change_lapse"),
    path(f"{of_change}archive/", change_orders.change_archive, name="change_archive"),
    path(f"{of_change}restore/", change_orders.change_restore, name="change_restore"),
    path(f"{of_change}links/new/", change_orders.change_link_new, name="change_link_new"),
    path(
        f"{of_change}links/<int:link>/revoke/",
        change_orders.change_link_revoke,
        name="change_link_revoke",
    ),
    path("c/<str:token>/", change_link.client_change, name="client_change"),
    path("c/<str:token>/change-order.pdf", change_link.client_change_pdf, name="client_change_pdf"),
    path("invoices/", invoices.invoices, name="invoices"),
    path("invoices/new/", invoices.invoice_new, name="invoice_new"),
    path("invoices/list.csv", invoices.invoices_csv, name="invoices_csv"),
    path(of_invoice, invoices.invoice, name="invoice"),
    path(f"{of_invoice}issue/", invoices.invoice_issue, name="invoice_issue"),
    path(f"{of_invoice}paper.pdf", invoices.invoice_paper, name="invoice_paper"),
    path(f"{of_invoice}credit/", invoices.invoice_credit, name="invoice_credit"),
    path(f"{of_invoice}archive/", invoices.invoice_archive, name="invoice_archive"),
    path(f"{of_invoice}restore/", invoices.invoice_restore, name="invoice_restore"),
    path(f"{of_invoice}payments/new/", invoices.payment_new, name="payment_new"),
    path(f"{of_payment}archive/", invoices.payment_archive, name="payment_archive"),
    path(f"{of_payment}restore/", invoices.payment_restore, name="payment_restore"),
]
