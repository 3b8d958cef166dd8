"""For an owner whose telephone and recovery codes are both lost."""

from django.core.management.base import BaseCommand, CommandError

from studio import access
from studio.models import Person


class Command(BaseCommand):
    help = "Switch somebody's second factor off and sign them out everywhere."

    def add_arguments(self, parser):
        parser.add_argument("sign_in_name")

    def handle(self, *, sign_in_name: str, **options):
        person = Person.objects.filter(sign_in_name__iexact=sign_in_name).first()
        if person is None:
            raise CommandError(f"Nobody signs in as “{sign_in_name}”.")
        access.switch_second_factor_off(person)
        access.sign_out_everywhere(person)
        self.stdout.write(f"{person} now signs in with the password alone.")
