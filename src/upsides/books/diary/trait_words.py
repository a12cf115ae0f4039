"""The traits of a horse's shape in words that can be translated; `upsides.trip.traits` says what each of them is."""

from dataclasses import dataclass
from typing import Final

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy


@dataclass(frozen=True, slots=True)
class Words:
    """One trait in words.

    Args:
        title: what it is called.
        low: its lowest score, under its title.
        high: its highest score, under its title.
        as_low: what a horse that scores low is said to be or have.
        as_high: what a horse that scores high is said to be or have.
        about: the trait as what people look at, as in "they see the walk differently".
    """

    title: Promise
    low: Promise
    high: Promise
    as_low: Promise
    as_high: Promise
    about: Promise


WORDS: Final = {
    "frame": Words(
        _("Frame"),
        pgettext_lazy("frame", "compact"),
        pgettext_lazy("frame", "rangy"),
        _("compact"),
        _("rangy"),
        _("the frame"),
    ),
    "barrel": Words(
        _("Barrel"),
        pgettext_lazy("barrel", "deep and round"),
        pgettext_lazy("barrel", "shallow and narrow"),
        _("round-barrelled"),
        _("narrow"),
        _("the barrel"),
    ),
    "body_weight": Words(
        _("Weight of the body"),
        pgettext_lazy("body", "light"),
        pgettext_lazy("body", "heavy-topped"),
        _("light of body"),
        _("heavy-topped"),
        _("the weight of the body"),
    ),
    "leg_length": Words(
        _("Length of leg"),
        pgettext_lazy("leg", "short"),
        pgettext_lazy("leg", "long"),
        _("short-legged"),
        _("leggy"),
        _("the length of leg"),
    ),
    "neck_length": Words(
        _("Neck"),
        pgettext_lazy("neck", "short"),
        pgettext_lazy("neck", "long"),
        _("short neck"),
        _("long neck"),
        _("the neck"),
    ),
    "shoulder_slope": Words(
        _("Slope of the shoulder"),
        pgettext_lazy("shoulder", "upright"),
        pgettext_lazy("shoulder", "sloping"),
        _("upright shoulder"),
        _("sloping shoulder"),
        _("the slope of the shoulder"),
    ),
    "shoulder_weight": Words(
        _("Weight of the shoulder"),
        pgettext_lazy("shoulder", "light"),
        pgettext_lazy("shoulder", "heavy"),
        _("light shoulder"),
        _("heavy shoulder"),
        _("the weight of the shoulder"),
    ),
    "forearm": Words(
        _("Forearm"),
        pgettext_lazy("forearm", "light"),
        pgettext_lazy("forearm", "strong"),
        _("light forearm"),
        _("strong forearm"),
        _("the forearm"),
    ),
    "back_length": Words(
        _("Back"),
        pgettext_lazy("back", "short"),
        pgettext_lazy("back", "long"),
        _("short back"),
        _("long back"),
        _("the back"),
    ),
    "loin": Words(
        _("Loin"),
        pgettext_lazy("loin", "narrow"),
        pgettext_lazy("loin", "broad"),
        _("narrow loin"),
        _("broad loin"),
        _("the loin"),
    ),
    "quarters": Words(
        _("Quarters"),
        pgettext_lazy("quarters", "light"),
        pgettext_lazy("quarters", "strong"),
        _("light quarters"),
        _("strong quarters"),
        _("the quarters"),
    ),
    "second_thigh": Words(
        _("Second thigh"),
        pgettext_lazy("second thigh", "light"),
        pgettext_lazy("second thigh", "strong"),
        _("light second thigh"),
        _("strong second thigh"),
        _("the second thigh"),
    ),
    "bone": Words(
        _("Bone"),
        pgettext_lazy("bone", "fine"),
        pgettext_lazy("bone", "plenty"),
        _("fine bone"),
        _("plenty of bone"),
        _("the bone"),
    ),
    "knees": Words(
        _("Knees"),
        pgettext_lazy("knees", "back at the knee"),
        pgettext_lazy("knees", "over at the knee"),
        _("back at the knee"),
        _("over at the knee"),
        _("the knees"),
    ),
    "hock_height": Words(
        _("Height of the hocks"),
        pgettext_lazy("hocks", "high"),
        pgettext_lazy("hocks", "well let down"),
        _("high hocks"),
        _("hocks well let down"),
        _("the height of the hocks"),
    ),
    "hock_angle": Words(
        _("Angle of the hocks"),
        pgettext_lazy("hocks", "straight"),
        pgettext_lazy("hocks", "sickle"),
        _("straight hocks"),
        _("sickle hocks"),
        _("the angle of the hocks"),
    ),
    "pasterns": Words(
        _("Pasterns"),
        pgettext_lazy("pasterns", "short and upright"),
        pgettext_lazy("pasterns", "long and sloping"),
        _("short upright pasterns"),
        _("long sloping pasterns"),
        _("the pasterns"),
    ),
    "toes": Words(
        _("Toes"),
        pgettext_lazy("toes", "turned in"),
        pgettext_lazy("toes", "turned out"),
        _("toes turned in"),
        _("toes turned out"),
        _("the toes"),
    ),
    "walk": Words(
        _("Walk"),
        pgettext_lazy("walk", "short"),
        pgettext_lazy("walk", "overtracks"),
        _("short walk"),
        _("overtracks"),
        _("the walk"),
    ),
}
"""The words of each trait by its name, the first three as in `TRAITS`."""
