"""The second factor: a code from an app beside the password."""

import qrcode  # type: ignore[import-untyped]  # it ships no types
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from upsides.books.models import Person

QUIET = 4
"""Width of the empty margin around a code in squares; ISO/IEC 18004 asks for four."""
WIDTH = 232
"""Width of the picture in CSS pixels."""
WORDS = {
    "incorrect_code": gettext_lazy("This code does not fit. Take the one that the app shows now."),
    "cannot_delete_authenticator": gettext_lazy("The second step cannot be turned off."),
    "cannot_generate_recovery_codes": gettext_lazy("Spare codes come with the second step; turn that on first."),
}


class CodesFromAnApp(DefaultMFAAdapter):  # type: ignore[misc]  # allauth ships no types
    """Our words and our picture."""

    error_messages = DefaultMFAAdapter.error_messages | WORDS

    def get_totp_label(self, user: Person) -> str:
        """Return the sign-in name: the app shows it, and it is nothing personal."""
        return user.login or ""

    def build_totp_svg(self, url: str) -> SafeString:
        """Return a picture of an address that apps can read, black on white in the dark too."""
        return picture(url)


def picture(text: str) -> SafeString:
    """Return a text as a QR code in SVG, without any style written into it."""
    code = qrcode.QRCode(border=QUIET)
    code.add_data(text)
    rows = code.get_matrix()
    squares = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, black in enumerate(row) if black)
    return format_html(
        '<svg class="qr" role="img" aria-label="{}" viewBox="0 0 {size} {size}" width="{width}" height="{width}" '
        'shape-rendering="crispEdges"><rect width="{size}" height="{size}" fill="#fff"/>'
        '<path d="{}" fill="#000"/></svg>',
        _("A square of dots for the app's camera"),
        squares,
        size=len(rows),
        width=WIDTH,
    )


def has_second_factor(person: Person) -> bool:
    """Return whether a person signs in with a code as well."""
    return bool(Authenticator.objects.filter(user=person, type=Authenticator.Type.TOTP).exists())


def forget_second_factor(person: Person) -> bool:
    """Take away a person's second factor and spare codes, for one who has lost both; return whether there was one."""
    removed, _each = Authenticator.objects.filter(user=person).delete()
    return bool(removed)
