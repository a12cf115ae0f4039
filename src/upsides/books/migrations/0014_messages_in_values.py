"""Messages of readings are kept by code and values from here on.

Recordings are never changed, so rows of before stay as they were written, [code, sentence, count], and are read so
(`Recorded.messages`, `upsides.books.outings`). What this changes is that an earlier program refuses these books.
"""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("books", "0013_decisions_about_races"),
    ]

    operations = [
        migrations.AlterField(
            model_name="recorded",
            name="messages",
            field=models.JSONField(blank=True, default=list, help_text="a code and the values of its sentence, each"),
        ),
    ]
