"""Books of format 1 held horses only: give them a yard, and each horse the start of its history."""

from datetime import UTC, date, datetime, time
from typing import Any

from django.db import migrations

INVENTED, ITS_DAY = "invented:", date(2026, 6, 20)


def begin(apps: Any, _schema_editor: Any) -> None:
    horses = apps.get_model("books", "Horse").objects.all()
    if not horses.exists():
        return
    yard = apps.get_model("books", "Yard")
    demo = not horses.exclude(horse_key__startswith=INVENTED).exists()
    if not yard.objects.exists():
        place = {"jurisdiction": "XU", "fixed_day": ITS_DAY} if demo else {}
        _remember(apps, "Yard", yard.objects.create(pk=1, name="The yard", **place), date(2000, 1, 1))
    for horse in horses:
        _remember(apps, "Horse", horse, horse.joined)


def _remember(apps: Any, name: str, row: Any, day: date) -> None:
    values = {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}
    since = datetime.combine(day, time(), UTC)
    apps.get_model("books", f"Historical{name}").objects.create(**values, history_type="+", history_date=since)


class Migration(migrations.Migration):
    dependencies = [("books", "0002_the_yard")]

    operations = [migrations.RunPython(begin, migrations.RunPython.noop)]
