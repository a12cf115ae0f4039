"""The pages of signing in that allauth has not, or has without what they show here."""

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, cast

from allauth.account.utils import get_next_redirect_url, perform_login
from allauth.account.views import LoginView, PasswordResetFromKeyView
from allauth.mfa.base.views import IndexView
from allauth.usersessions.views import ListUserSessionsView
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from upsides.errors import NoPasswordError
from upsides.web.shell.middleware import VisitedRequest
from upsides.web.signin.demo import demo_password, demo_person, demo_sign_ins
from upsides.web.signin.invitations import invitation_lasts
from upsides.web.signin.sessions import end_one, end_others, signed_in

P = ParamSpec("P")
View = Callable[Concatenate[HttpRequest, P], HttpResponseBase]


def on_own_device(view: View[P]) -> View[P]:
    """Return the view shut on barn phones, where a PIN is enough to be somebody."""

    @wraps(view)
    def answer(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        if cast("VisitedRequest", request).visitor.barn:
            return render(request, "signin/not_here.html", status=403)
        return view(request, *args, **kwargs)

    return answer


def with_a_password(view: View[P]) -> View[P]:
    """Return the view for those who have a password; others are told how to get one."""

    @wraps(view)
    def answer(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponseBase:
        person = cast("VisitedRequest", request).visitor.person
        if not person.has_usable_password():
            raise NoPasswordError(person.name)
        return view(request, *args, **kwargs)

    return answer


class SignInView(LoginView):  # type: ignore[misc]  # allauth ships no types
    """Sign in; an invented yard shows its sign-ins."""

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Return what the page shows."""
        context = cast("dict[str, Any]", super().get_context_data(**kwargs))
        if demo := demo_sign_ins():
            context["form"].fields["login"].widget.attrs.pop("autofocus")  # the buttons stand above it
            context |= {"demo": demo, "demo_password": demo_password()}
        return context


class ChoosePasswordView(PasswordResetFromKeyView):  # type: ignore[misc]  # the same
    """Choose a password on a one-time link."""

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Return what the page shows."""
        context = {"person": self.reset_user, "days": invitation_lasts().days}
        return cast("dict[str, Any]", super().get_context_data(**kwargs)) | context


class SecondStepView(IndexView):  # type: ignore[misc]  # the same
    """Say whether the second step is on, and how many spare codes are left."""

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Return what the page shows."""
        context = cast("dict[str, Any]", super().get_context_data(**kwargs))
        codes = context["authenticators"].get("recovery_codes")
        return context | {"spare": len(codes.get_unused_codes()) if codes else 0}


class SignedInView(ListUserSessionsView):  # type: ignore[misc]  # the same
    """Show where one is signed in; a POST ends all but this."""

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Return what the page shows."""
        rows = signed_in(self.request.user, self.request.session.session_key)
        return cast("dict[str, Any]", super().get_context_data(**kwargs)) | {"rows": rows}

    def form_valid(self, form: Any) -> HttpResponse:
        """End all others."""
        del form
        end_others(self.request, self.request.user)
        messages.success(self.request, _("You are signed out everywhere but here."))
        return redirect("usersessions_list")


@require_POST
def end_session(request: VisitedRequest, number: int) -> HttpResponse:
    """Sign out in one browser."""
    if not end_one(request, request.visitor.person, number):
        raise Http404(_("You are not signed in there."))
    if request.user.is_authenticated:
        messages.success(request, _("You are signed out there."))
    return redirect("usersessions_list")


@require_POST
def come_in(request: HttpRequest) -> HttpResponse:
    """Sign in as one of an invented yard's people."""
    person = demo_person(request.POST.get("role", ""))
    return cast("HttpResponse", perform_login(request, person, redirect_url=get_next_redirect_url(request)))
