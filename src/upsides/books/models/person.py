"""A person of the yard or around it, who may be able to sign in, and what the person is there for."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from upsides.books.models.remembered import Remembered


class Role(models.TextChoices):
    """What somebody is there for; a person may have several."""

    TRAINER = "trainer", _("trainer")
    ASSISTANT = "assistant", _("assistant trainer")
    HEAD_PERSON = "head_person", _("head person")
    CARER = "carer", _("looks after horses")
    RIDER = "rider", _("work rider")
    SECRETARY = "secretary", _("secretary")
    VET = "vet", _("vet")
    OWNER = "owner", _("owner")


class Skill(models.IntegerChoices):
    """What somebody rides; what a horse's cautions ask for is on the same scale."""

    UNKNOWN = 0, _("not said")
    LEARNING = 1, _("learning")
    QUIET = 2, _("quiet horses")
    MOST = 3, _("most horses")
    ANY = 4, _("any horse")


class People(BaseUserManager["Person"]):
    """People by their sign-in name."""

    def get_by_natural_key(self, username: str | None) -> "Person":
        """Return the person who signs in under that name."""
        return self.get(login=username)


class Person(Remembered, AbstractBaseUser):
    """One person. Everything personal stands here and nowhere else; other rows hold the number only.

    `login` is empty for somebody who never signs in, `pin` (hashed) for somebody who does not use a barn phone.
    `trust` counts up to make every token given to the person's devices worthless.
    `born`, `weight_kg` and `skill` (of `Skill`) are what riding work takes; `claim_lb` and `minimum_lb`, the least
    weight that a jockey rides at, matter in races.
    """

    login = models.CharField(max_length=60, unique=True, null=True, blank=True)
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True)
    phone = models.CharField(max_length=40, blank=True)
    barn = models.CharField(max_length=60, blank=True)
    pin = models.CharField(max_length=200, blank=True)
    born = models.DateField(null=True, blank=True)
    weight_kg = models.FloatField(null=True, blank=True)
    skill = models.PositiveSmallIntegerField(choices=Skill, default=Skill.UNKNOWN)
    claim_lb = models.PositiveSmallIntegerField(null=True, blank=True)
    minimum_lb = models.PositiveSmallIntegerField(null=True, blank=True)
    trust = models.PositiveIntegerField(default=1)
    is_active = models.BooleanField(default=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    history = HistoricalRecords(excluded_fields=["password", "pin", "last_login", "trust"])
    objects: ClassVar[People] = People()

    USERNAME_FIELD = "login"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        """Order and constraints."""

        ordering = ("name", "pk")

    def __str__(self) -> str:
        return self.name

    def get_session_auth_hash(self) -> str:
        """Return what a session must match: a new password or lost trust ends the person's sessions."""
        return f"{super().get_session_auth_hash()}{self.trust}"

    def save(self, *args: Any, **kwargs: Any) -> None:
        """Keep an absent sign-in name as none, so that many may have none."""
        self.login = self.login or None
        super().save(*args, **kwargs)


class Post(Remembered):
    """One role of a person."""

    person = models.ForeignKey(Person, on_delete=models.CASCADE, related_name="posts")
    role = models.CharField(max_length=12, choices=Role)

    history = HistoricalRecords()

    class Meta:
        """Constraints."""

        ordering = ("role",)
        constraints = (
            models.UniqueConstraint(fields=("person", "role"), name="post_once_a_person"),
            models.CheckConstraint(condition=models.Q(role__in=Role.values), name="post_is_a_known_role"),
        )

    def __str__(self) -> str:
        return self.role
