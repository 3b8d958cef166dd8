"""What a browser sends of pages that edit several rows at once."""


def rows_sent(*formsets) -> dict:
    """Every field as it was shown, with what its reader saw; nothing is ticked for removal."""
    sent = {}
    for formset in formsets:
        for name, value in formset.management_form.initial.items():
            sent[f"{formset.prefix}-{name}"] = value
        for form in formset:
            for bound in form:
                sent |= _sent(bound)
    return sent


def _sent(bound) -> dict:
    value = bound.value()
    shown = "" if value is None else value
    if bound.name == "DELETE":
        return {}
    sent = {} if value is False else {bound.html_name: shown}
    if bound.field.show_hidden_initial:
        sent[bound.html_initial_name] = shown
    return sent
