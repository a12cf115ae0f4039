"""Addresses of signing in: those of allauth's that are used here, and no others, so that nobody can sign up."""

from collections.abc import Callable
from typing import Any

from allauth.account import views as account
from allauth.mfa.base import views as mfa
from allauth.mfa.recovery_codes import views as spare
from allauth.mfa.totp import views as app
from django.urls import path, re_path

from upsides.web.shell.access import ANYONE, SIGNED_IN, Roles
from upsides.web.signin import views
from upsides.web.signin.views import on_own_device, with_a_password

_AT_THE_DOOR = [
    path("account/login/", views.SignInView.as_view(), name="account_login"),
    path("account/login/code/", mfa.authenticate, name="mfa_authenticate"),
    path("account/login/demo/", views.come_in, name="come_in"),
    path("account/logout/", account.logout, name="account_logout"),
    path("account/inactive/", account.account_inactive, name="account_inactive"),
    path("account/password/reset/", account.password_reset, name="account_reset_password"),
    path("account/password/reset/done/", account.password_reset_done, name="account_reset_password_done"),
    re_path(
        r"^account/password/reset/key/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>.+)/$",
        views.ChoosePasswordView.as_view(),
        name="account_reset_password_from_key",
    ),
]
_ONES_OWN: tuple[tuple[str, Callable[..., Any], str], ...] = (
    ("password/change/", with_a_password(account.password_change), "account_change_password"),
    ("again/", account.reauthenticate, "account_reauthenticate"),
    ("again/code/", mfa.reauthenticate, "mfa_reauthenticate"),
    ("second/", views.SecondStepView.as_view(), "mfa_index"),
    ("second/on/", app.activate_totp, "mfa_activate_totp"),
    ("second/off/", app.deactivate_totp, "mfa_deactivate_totp"),
    ("second/spare/", spare.view_recovery_codes, "mfa_view_recovery_codes"),
    ("second/spare/new/", spare.generate_recovery_codes, "mfa_generate_recovery_codes"),
    ("second/spare/file/", spare.download_recovery_codes, "mfa_download_recovery_codes"),
    ("devices/", views.SignedInView.as_view(), "usersessions_list"),
    ("devices/<int:number>/end/", views.end_session, "end_session"),
)
"""What one changes about one's own sign-in: never on a barn phone."""

urlpatterns = [
    *_AT_THE_DOOR,
    *(path(f"account/{place}", on_own_device(view), name=name) for place, view, name in _ONES_OWN),
]

ON_OWN_DEVICE = frozenset(name for *_rest, name in _ONES_OWN)

ACCESS: dict[str, Roles] = {str(pattern.name): ANYONE for pattern in _AT_THE_DOOR} | dict.fromkeys(
    ON_OWN_DEVICE, SIGNED_IN
)
