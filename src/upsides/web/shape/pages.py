"""What the pages about a horse's shape show."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import uuid4

from django.http import Http404
from django.utils.safestring import SafeString
from django.utils.text import get_text_list
from django.utils.translation import gettext as _

from upsides.books.diary.trait_words import WORDS, Words
from upsides.books.models import Horse, Person
from upsides.books.queries import moments
from upsides.books.queries import shape as reads
from upsides.books.queries.moments import Moment
from upsides.books.queries.shape import Judgement
from upsides.trip.traits import TRAITS, Summary, summary
from upsides.web.shape import sentences
from upsides.web.shape.forms import asked, typed_scores
from upsides.web.shape.pictures import Dot, line


@dataclass(frozen=True, slots=True)
class Judge:
    """Somebody who scored a horse.

    Args:
        person: who, with the name of the moment.
        mark: the letters that stand for the name in pictures, unlike those of the others.
        own: whether it is the reader.
        judgement: the scores.
    """

    person: Person
    mark: str
    own: bool
    judgement: Judgement

    @property
    def day(self) -> date:
        """Return the day on which the person looked at the horse last."""
        return self.judgement.looked.date()

    @property
    def scored(self) -> int:
        """Return how many traits were scored."""
        return len(self.judgement.scores)


@dataclass(frozen=True, slots=True)
class Line:
    """One trait as those who scored it see it.

    Args:
        words: the trait in words.
        differ: that they see it differently, in words; empty where they do not.
        scores: who gave what, in words.
        mean: the mean in words, empty for one person.
        picture: the same as dots on a line.
    """

    words: Words
    differ: str
    scores: str
    mean: str
    picture: SafeString


def horse_at(number: int, moment: Moment) -> Horse:
    """Return a horse as it stood at the moment.

    Raises:
        Http404: there was none of that number.
    """
    found = moments.rows(Horse, moment).filter(id=number).first()
    if found is None:
        raise Http404(_("There is no horse %(number)s in this string.") % {"number": number})
    return found


def shape_page(horse: Horse, who: Person, moment: Moment) -> dict[str, Any] | None:
    """Return what people see in a horse; None for somebody who had not scored it."""
    judgements = reads.shape_of(horse.pk, moment)
    if not any(one.judge == who.pk for one in judgements):
        return None
    found = summary([one.scores for one in judgements])
    judges = _judges(judgements, who, moment)
    each, overall = reads.agreement_of_yard(moment)
    return {
        "moment": moment,
        "horse": horse,
        "draft": _draft(horse, who),
        "sentence": sentences.about_shape(horse.name, len(judges), found),
        "judges": judges,
        "traits": len(TRAITS),
        "sections": _sections(found, judges),
        "unscored": get_text_list([str(WORDS[one.name].about) for one in TRAITS if one.name not in found], _("and")),
        "agreement": sentences.about_agreement(each, overall),
        "correcting": reads.entered_today(who, horse.pk, moment) is not None,
    }


def score_page(
    horse: Horse, who: Person, moment: Moment, typed: Mapping[str, str] | None = None, wrong: str = ""
) -> dict[str, Any]:
    """Return the form: empty, with what was refused, or with what the same person entered today."""
    judgements = reads.shape_of(horse.pk, moment)
    mine = next((one for one in judgements if one.judge == who.pk), None)
    today = reads.entered_today(who, horse.pk, moment)
    values = {name: str(score) for name, score in today.values.items()} if today else {}
    others = len(judgements) - (mine is not None)
    again = sentences.scoring(horse.name, correcting=today is not None, before=mine is not None)
    return {
        "moment": moment,
        "horse": horse,
        "sentence": again or sentences.before_scoring(horse.name, others),
        "groups": asked(typed_scores(typed) if typed else values, {} if today else _before(mine)),
        "traits": len(TRAITS),
        "draft": _draft(horse, who),
        "client_id": typed.get("client_id") if typed else uuid4(),
        "corrects": typed.get("corrects", "") if typed else today.client_id if today else "",
        "seen": typed.get("seen", "") if typed else "",
        "scored_before": mine is not None,
        "wrong": wrong,
    }


def _draft(horse: Horse, who: Person) -> dict[str, str]:
    """Return under which name a browser keeps what is not entered yet, and which entry the books had last."""
    last = reads.last_recorded(who, horse.pk)
    return {"key": f"shape-{who.pk}-{horse.pk}", "entered": str(last.client_id) if last else ""}


def _before(mine: Judgement | None) -> dict[str, str]:
    if mine is None:
        return {}
    days = {name: sentences.day_of(seen.date()) for name, seen in mine.seen.items()}
    return {name: sentences.last_time(score, days[name]) for name, score in mine.scores.items()}


def _judges(judgements: Sequence[Judgement], who: Person, moment: Moment) -> list[Judge]:
    people = _people([one.judge for one in judgements], moment)
    marks = marks_of([sentences.called(people[one.judge]) for one in judgements])
    return [
        Judge(people[one.judge], mark, one.judge == who.pk, one) for one, mark in zip(judgements, marks, strict=True)
    ]


def _people(numbers: Sequence[int], moment: Moment) -> dict[int, Person]:
    """Return people as they were; who was erased since then stays erased."""
    now = Person.objects.in_bulk(numbers)
    then = {one.pk: one for one in moments.rows(Person, moment).filter(id__in=numbers)} if moment.at else now
    return {number: now[number] if now[number].erased_at else then.get(number, now[number]) for number in numbers}


def marks_of(names: Sequence[str]) -> list[str]:
    """Return for each name its first and last initials, numbered where two would be the same."""
    found: list[str] = []
    for name in names:
        words = name.split() or ["?"]
        mark = (words[0][0] + (words[-1][0] if len(words) > 1 else "")).upper()
        same = sum(one.rstrip("0123456789") == mark for one in found)
        found.append(f"{mark}{same + 1}" if same else mark)
    return found


def _sections(found: Mapping[str, Summary], judges: Sequence[Judge]) -> list[tuple[str, list[Line]]]:
    """Return the traits under what people do about them: differ, agree, or leave to one."""
    sorted_lines: dict[str, list[Line]] = {"apart": [], "alike": [], "alone": []}
    for name, one in found.items():
        kind = "alone" if one.judges == 1 else "apart" if one.spread >= sentences.APART else "alike"
        sorted_lines[kind].append(_line(name, one, judges))
    alone = _("Scored by one person") if len(judges) > 1 else _("What you scored")
    titles = {"apart": _("Seen differently"), "alike": _("Seen alike"), "alone": alone}
    return [(titles[kind], lines) for kind, lines in sorted_lines.items() if lines]


def _line(name: str, one: Summary, judges: Sequence[Judge]) -> Line:
    gave = [(judge, judge.judgement.scores[name]) for judge in judges if name in judge.judgement.scores]
    dots = [Dot(judge.mark, score, judge.own) for judge, score in gave]
    along = sorted(gave, key=lambda one: one[1])
    said = [sentences.said(sentences.called(judge.person), score, _older(judge, name)) for judge, score in along]
    return Line(
        WORDS[name],
        sentences.seen_differently(name, one, min(score for _judge, score in gave)),
        ", ".join(said),
        sentences.mean_of(one),
        line(dots, one.mean if one.judges > 1 else None),
    )


def _older(judge: Judge, name: str) -> str:
    """Return the day of a score that is older than the person's last look."""
    when = judge.judgement.seen[name]
    return sentences.day_of(when.date()) if when != judge.judgement.looked else ""
