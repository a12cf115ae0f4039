"""Limits of the yard's mornings; whom a horse carries, and with whom it does not go."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("books", "0014_messages_in_values"),
    ]

    operations = [
        migrations.AddField(
            model_name="caution",
            name="apart",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="caution",
            name="apart_from",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name="+", to="books.horse"
            ),
        ),
        migrations.AddField(
            model_name="caution",
            name="heaviest_kg",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="caution",
            name="not_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="gallop",
            name="slots",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalcaution",
            name="apart",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="historicalcaution",
            name="apart_from",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="books.horse",
            ),
        ),
        migrations.AddField(
            model_name="historicalcaution",
            name="heaviest_kg",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalcaution",
            name="not_by",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="historicalgallop",
            name="slots",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalyard",
            name="fast_most",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="historicalyard",
            name="rides_each",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="yard",
            name="fast_most",
            field=models.JSONField(blank=True, default=list),
        ),
        migrations.AddField(
            model_name="yard",
            name="rides_each",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddConstraint(
            model_name="caution",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("heaviest_kg__isnull", True),
                    models.Q(("heaviest_kg__gte", 30), ("heaviest_kg__lte", 150)),
                    _connector="OR",
                ),
                name="caution_weighs_a_rider",
            ),
        ),
        migrations.AddConstraint(
            model_name="caution",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("apart_from__isnull", True),
                    models.Q(("apart_from", models.F("horse")), _negated=True),
                    _connector="OR",
                ),
                name="caution_keeps_a_horse_from_another",
            ),
        ),
    ]
