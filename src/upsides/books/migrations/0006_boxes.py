"""A horse's barn becomes a row of its own: a box without a name in that barn, from the day it was written down."""

from datetime import date, datetime
from itertools import groupby
from typing import Any

from django.db import migrations


def give_boxes(apps: Any, _schema_editor: Any) -> None:
    past = apps.get_model("books", "HistoricalHorse").objects.exclude(history_type="-")
    boxes: dict[str, Any] = {}
    for _, changes in groupby(past.order_by("id", "history_date", "history_id"), key=lambda row: row.id):
        barn = ""
        days: dict[date, tuple[str, datetime, int]] = {}
        for row in changes:
            if row.barn != barn:
                days[row.history_date.date() if days else row.joined] = (row.barn, row.history_date, row.id)
                barn = row.barn
        for day, (name, at, horse) in days.items():
            if apps.get_model("books", "Horse").objects.filter(pk=horse).exists():
                box = _box(apps, boxes, name, at) if name else None
                _remember(apps, "Stand", at, horse_id=horse, box=box, first_day=day)
    for name, box in boxes.items():  # a barn is known since its first horse was
        first = apps.get_model("books", "HistoricalHorse").objects.filter(barn=name).order_by("history_date").first()
        apps.get_model("books", "HistoricalBox").objects.filter(id=box.pk).update(history_date=first.history_date)


def _box(apps: Any, boxes: dict[str, Any], barn: str, at: datetime) -> Any:
    if barn not in boxes:
        boxes[barn] = _remember(apps, "Box", at, barn=barn, name="", position=len(boxes) + 1)
    return boxes[barn]


def _remember(apps: Any, table: str, at: datetime, **values: Any) -> Any:
    row = apps.get_model("books", table).objects.create(**values)
    told = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    apps.get_model("books", f"Historical{table}").objects.create(**told, history_type="+", history_date=at)
    return row


def three_feeds(apps: Any, _schema_editor: Any) -> None:
    times = ["morning", "noon", "evening"]
    apps.get_model("books", "Yard").objects.update(feed_times=times)
    apps.get_model("books", "HistoricalYard").objects.update(feed_times=times)


class Migration(migrations.Migration):
    dependencies = [("books", "0005_what_the_yard_knows")]

    operations = [
        migrations.RunPython(give_boxes, migrations.RunPython.noop),
        migrations.RunPython(three_feeds, migrations.RunPython.noop),
    ]
