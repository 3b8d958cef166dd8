"""System checks of the desk, each with a hint that mends it."""

from django.conf import settings
from django.core.checks import Error, Warning, register

SETTING = "STILLCOUNT_DELIVERY_FOLDERS"


@register()
def delivery_folders_are_safe(app_configs, **kwargs):
    """Whoever signs in as the owner may have any film in these folders opened."""
    found = []
    for folder in settings.DELIVERY_FOLDERS:
        if not folder.is_absolute():
            said = f"{SETTING} names “{folder}”, which does not start at the top."
            found.append(Error(said, hint="Write it in full, as /films.", id="stillcount.E002"))
        elif settings.DATA_DIR.is_relative_to(folder.resolve()):
            said = f"{SETTING} names “{folder}”, which holds the data folder."
            hint = "Name a folder that holds finished films and nothing else."
            found.append(Error(said, hint=hint, id="stillcount.E003"))
        elif not folder.is_dir():
            said = f"{SETTING} names “{folder}”, which is no folder."
            found.append(Warning(said, hint="Make it, or take it out.", id="stillcount.W002"))
    return found
