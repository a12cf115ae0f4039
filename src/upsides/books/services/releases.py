"""Writes about inside information: to whom it is released, until when."""

from django.db import transaction

from upsides.books import clock
from upsides.books.models import Horse, Inside, Person, Post, Release, Role
from upsides.books.queries.visitors import STAFF, inside_roles, shares_of
from upsides.books.services.people import is_trainer
from upsides.errors import ReleaseRefusedError, TrainersOnlyError
from upsides.errors.wording import gettext as _


@transaction.atomic
def release(
    by: Person, what: Inside, *, person: Person | None = None, role: Role | None = None, horse: Horse | None = None
) -> Release:
    """Make inside information open to one person or to everybody of a role, for one horse or for all.

    Raises:
        TrainersOnlyError: `by` is no trainer.
        ReleaseRefusedError: it is for nobody or for two, is open anyway, or would open nothing.
    """
    if not is_trainer(by):
        raise TrainersOnlyError
    if person is not None and role is None:
        _check_person(person, what, horse)
    elif role is not None and person is None:
        _check_role(role, what)
    else:
        raise ReleaseRefusedError(_("a release is for one person or for one role; choose one of the two"))
    values = {"what": what, "horse": horse, "person": person, "role": role or ""}
    if Release.objects.filter(**values, ended_at=None).exists():
        raise ReleaseRefusedError(_("just this is released already; end that release first if it is to be given anew"))
    given = Release(**values, given_by=by, given_at=clock.now())
    given._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
    given.save()
    return given


@transaction.atomic
def end_release(given: Release, by: Person) -> None:
    """End a release; one that has ended stays as it is.

    Raises:
        TrainersOnlyError: `by` is no trainer.
    """
    if not is_trainer(by):
        raise TrainersOnlyError
    held = Release.objects.select_for_update().get(pk=given.pk)
    if held.ended_at is None:
        held.ended_at = clock.now()
        held._history_user = by  # type: ignore[attr-defined]  # simple_history reads it
        held.save()


def _check_person(person: Person, what: Inside, horse: Horse | None) -> None:
    roles = {Role(role) for role in Post.objects.filter(person=person).values_list("role", flat=True)}
    if not person.is_active:
        raise ReleaseRefusedError(_("the sign-in of {name} is closed; open it first", name=person.name))
    if roles & inside_roles(what):
        raise ReleaseRefusedError(_("{name} sees it all without a release; there is nothing to give", name=person.name))
    if horse is not None and not roles & STAFF and horse.pk not in shares_of(person):
        raise ReleaseRefusedError(
            _(
                "{name} owns no share of {horse}, so the horse is not shown there at all",
                name=person.name,
                horse=horse.name,
            )
        )


def _check_role(role: Role, what: Inside) -> None:
    if role in inside_roles(what):
        raise ReleaseRefusedError(
            _("it is open to every {label} without a release; there is nothing to give", label=role.label)
        )
