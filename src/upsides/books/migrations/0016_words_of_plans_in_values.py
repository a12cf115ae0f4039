"""Sentences of plans are kept by code and values from here on.

Answers are never changed, so plans of before stay as they were written, in English, and are read so
(`upsides.planning.work.said`). What this changes is that an earlier program refuses these books.
"""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("books", "0015_limits_of_mornings_and_horses"),
    ]

    operations = [
        migrations.AlterField(
            model_name="answer",
            name="values",
            field=models.JSONField(default=dict, help_text="sentences in it by code and values"),
        ),
    ]
