import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("books", "0004_sales"),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalBond",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[("retainer", "retained by an owner"), ("suspension", "suspended")], max_length=10
                    ),
                ),
                ("country", models.CharField(blank=True, max_length=10)),
                ("first_day", models.DateField()),
                ("last_day", models.DateField(blank=True, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical bond",
                "verbose_name_plural": "historical bonds",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalBox",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("barn", models.CharField(max_length=60)),
                ("name", models.CharField(blank=True, max_length=20)),
                ("position", models.PositiveIntegerField(default=0)),
                ("isolation", models.BooleanField(default=False)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical box",
                "verbose_name_plural": "historical boxs",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalCaution",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "about",
                    models.CharField(
                        choices=[
                            ("box", "in the box"),
                            ("riding", "ridden"),
                            ("shoeing", "at shoeing"),
                            ("travel", "travelling"),
                            ("medicine", "medicines"),
                            ("feed", "feed"),
                        ],
                        max_length=10,
                    ),
                ),
                ("text", models.CharField(max_length=200)),
                ("skill", models.PositiveSmallIntegerField(default=0)),
                ("first_day", models.DateField()),
                ("last_day", models.DateField(blank=True, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical caution",
                "verbose_name_plural": "historical cautions",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalDayOff",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("first_day", models.DateField()),
                ("last_day", models.DateField()),
                (
                    "why",
                    models.CharField(
                        choices=[
                            ("day_off", "day off"),
                            ("holiday", "holiday"),
                            ("sick", "off sick"),
                            ("course", "on a course"),
                        ],
                        max_length=8,
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical day off",
                "verbose_name_plural": "historical day offs",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalDeclarable",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("gelded", "gelded"),
                            ("wind_operation", "wind operation"),
                            ("blinkers", "blinkers first time"),
                            ("visor", "visor first time"),
                            ("cheekpieces", "cheekpieces first time"),
                            ("hood", "hood first time"),
                            ("eye_shield", "eye shield first time"),
                            ("eye_cover", "eye cover first time"),
                            ("tongue_strap", "tongue strap first time"),
                        ],
                        max_length=20,
                    ),
                ),
                ("happened_on", models.DateField()),
                ("declared_on", models.DateField(blank=True, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical declarable",
                "verbose_name_plural": "historical declarables",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalEngagement",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("race", models.CharField(max_length=120)),
                ("course", models.CharField(max_length=60)),
                ("country", models.CharField(blank=True, max_length=10)),
                ("zone", models.CharField(max_length=60)),
                ("day", models.DateField()),
                ("off_at", models.DateTimeField(blank=True, null=True)),
                ("distance_m", models.PositiveIntegerField(blank=True, null=True)),
                ("enter_by", models.DateTimeField(blank=True, null=True)),
                ("confirm_by", models.DateTimeField(blank=True, null=True)),
                ("declare_by", models.DateTimeField(blank=True, null=True)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("meant", "meant for it"),
                            ("entered", "entered"),
                            ("confirmed", "confirmed"),
                            ("declared", "declared"),
                            ("withdrawn", "withdrawn"),
                        ],
                        default="meant",
                        max_length=10,
                    ),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical engagement",
                "verbose_name_plural": "historical engagements",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFeed",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("name", models.CharField(db_index=True, max_length=60)),
                (
                    "kind",
                    models.CharField(
                        choices=[("forage", "forage"), ("concentrate", "concentrate"), ("supplement", "supplement")],
                        max_length=12,
                    ),
                ),
                ("energy_mj_kg", models.FloatField()),
                ("dry_matter", models.FloatField()),
                ("starch", models.FloatField(blank=True, null=True)),
                ("protein", models.FloatField(blank=True, null=True)),
                ("used", models.BooleanField(default=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical feed",
                "verbose_name_plural": "historical feeds",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFeedBatch",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("number", models.CharField(blank=True, max_length=60)),
                ("delivered_on", models.DateField()),
                ("kg", models.FloatField()),
                ("opened_on", models.DateField(blank=True, null=True)),
                ("finished_on", models.DateField(blank=True, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical feed batch",
                "verbose_name_plural": "historical feed batchs",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalGallop",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("name", models.CharField(db_index=True, max_length=60)),
                (
                    "surface",
                    models.CharField(
                        choices=[
                            ("turf", "turf"),
                            ("synthetic", "synthetic"),
                            ("woodchip", "woodchip"),
                            ("sand", "sand"),
                            ("other", "other"),
                        ],
                        max_length=10,
                    ),
                ),
                ("length_m", models.PositiveIntegerField(blank=True, null=True)),
                ("rise_m", models.IntegerField(blank=True, null=True)),
                ("used", models.BooleanField(default=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical gallop",
                "verbose_name_plural": "historical gallops",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalIntake",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("horses", "horses"),
                            ("masses", "masses"),
                            ("treatments", "treatments"),
                            ("vaccinations", "vaccinations"),
                            ("bloods", "bloods"),
                            ("exercise", "exercise"),
                        ],
                        max_length=12,
                    ),
                ),
                ("file", models.CharField(max_length=200)),
                ("sha256", models.CharField(max_length=64)),
                ("columns", models.JSONField(default=dict)),
                ("at", models.DateTimeField()),
                ("undone_at", models.DateTimeField(blank=True, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical intake",
                "verbose_name_plural": "historical intakes",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalMove",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "to",
                    models.CharField(
                        choices=[
                            ("training", "in training"),
                            ("turned_out", "turned out"),
                            ("pre_training", "in pre-training"),
                            ("hospital", "in an equine hospital"),
                            ("away", "away"),
                        ],
                        max_length=12,
                    ),
                ),
                ("first_day", models.DateField()),
                ("note", models.CharField(blank=True, max_length=200)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical move",
                "verbose_name_plural": "historical moves",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalOfficialMark",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "ground",
                    models.CharField(
                        choices=[("turf", "turf"), ("synthetic", "synthetic"), ("dirt", "dirt")], max_length=10
                    ),
                ),
                ("country", models.CharField(max_length=10)),
                ("value", models.PositiveSmallIntegerField()),
                ("effective", models.DateField()),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical official mark",
                "verbose_name_plural": "historical official marks",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalRation",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("first_day", models.DateField()),
                ("amounts", models.JSONField(default=list)),
                ("note", models.CharField(blank=True, max_length=200)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical ration",
                "verbose_name_plural": "historical rations",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalShift",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("weekday", models.PositiveSmallIntegerField()),
                ("starts", models.TimeField()),
                ("ends", models.TimeField()),
                ("rides", models.BooleanField(default=False)),
                ("first_day", models.DateField()),
                ("last_day", models.DateField(blank=True, null=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical shift",
                "verbose_name_plural": "historical shifts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalStand",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                ("first_day", models.DateField()),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical stand",
                "verbose_name_plural": "historical stands",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalThing",
            fields=[
                ("id", models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("scale", "scale"),
                            ("thermometer", "thermometer"),
                            ("laboratory", "laboratory"),
                            ("lorry", "lorry"),
                            ("tack", "tack"),
                        ],
                        max_length=12,
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("used", models.BooleanField(default=True)),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
                (
                    "history_type",
                    models.CharField(choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1),
                ),
            ],
            options={
                "verbose_name": "historical thing",
                "verbose_name_plural": "historical things",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Intake",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("horses", "horses"),
                            ("masses", "masses"),
                            ("treatments", "treatments"),
                            ("vaccinations", "vaccinations"),
                            ("bloods", "bloods"),
                            ("exercise", "exercise"),
                        ],
                        max_length=12,
                    ),
                ),
                ("file", models.CharField(max_length=200)),
                ("sha256", models.CharField(max_length=64)),
                ("columns", models.JSONField(default=dict)),
                ("at", models.DateTimeField()),
                ("undone_at", models.DateTimeField(blank=True, null=True)),
            ],
            options={
                "ordering": ("-at", "-pk"),
            },
        ),
        migrations.CreateModel(
            name="Move",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "to",
                    models.CharField(
                        choices=[
                            ("training", "in training"),
                            ("turned_out", "turned out"),
                            ("pre_training", "in pre-training"),
                            ("hospital", "in an equine hospital"),
                            ("away", "away"),
                        ],
                        max_length=12,
                    ),
                ),
                ("first_day", models.DateField()),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ("horse", "first_day", "pk"),
            },
        ),
        migrations.CreateModel(
            name="OfficialMark",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "ground",
                    models.CharField(
                        choices=[("turf", "turf"), ("synthetic", "synthetic"), ("dirt", "dirt")], max_length=10
                    ),
                ),
                ("country", models.CharField(max_length=10)),
                ("value", models.PositiveSmallIntegerField()),
                ("effective", models.DateField()),
            ],
            options={
                "ordering": ("horse", "effective", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Photo",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("sha256", models.CharField(max_length=64, unique=True)),
                ("width", models.PositiveIntegerField()),
                ("height", models.PositiveIntegerField()),
                ("size", models.PositiveIntegerField()),
                ("recorded_at", models.DateTimeField()),
            ],
            options={
                "ordering": ("pk",),
            },
        ),
        migrations.CreateModel(
            name="Ration",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("first_day", models.DateField()),
                ("amounts", models.JSONField(default=list)),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ("horse", "first_day", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Shift",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("weekday", models.PositiveSmallIntegerField()),
                ("starts", models.TimeField()),
                ("ends", models.TimeField()),
                ("rides", models.BooleanField(default=False)),
                ("first_day", models.DateField()),
                ("last_day", models.DateField(blank=True, null=True)),
            ],
            options={
                "ordering": ("person", "weekday", "starts", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Stand",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("first_day", models.DateField()),
            ],
            options={
                "ordering": ("horse", "first_day", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Taken",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("line", models.PositiveIntegerField()),
            ],
            options={
                "ordering": ("intake", "line", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Thing",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("scale", "scale"),
                            ("thermometer", "thermometer"),
                            ("laboratory", "laboratory"),
                            ("lorry", "lorry"),
                            ("tack", "tack"),
                        ],
                        max_length=12,
                    ),
                ),
                ("name", models.CharField(max_length=60)),
                ("used", models.BooleanField(default=True)),
            ],
            options={
                "ordering": ("kind", "name"),
            },
        ),
        migrations.AddField(
            model_name="historicalhorse",
            name="colour",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="historicalhorse",
            name="foaled_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalhorse",
            name="gelded_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalhorse",
            name="life_number",
            field=models.CharField(blank=True, max_length=15),
        ),
        migrations.AddField(
            model_name="historicalhorse",
            name="markings",
            field=models.CharField(blank=True, max_length=400),
        ),
        migrations.AddField(
            model_name="historicalhorse",
            name="microchip",
            field=models.CharField(blank=True, max_length=15),
        ),
        migrations.AddField(
            model_name="historicalhorse",
            name="named",
            field=models.BooleanField(default=True),
        ),
        migrations.AddField(
            model_name="historicalhorse",
            name="passport",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="historicalperson",
            name="born",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalperson",
            name="claim_lb",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalperson",
            name="minimum_lb",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalperson",
            name="skill",
            field=models.PositiveSmallIntegerField(
                choices=[(0, "not said"), (1, "learning"), (2, "quiet horses"), (3, "most horses"), (4, "any horse")],
                default=0,
            ),
        ),
        migrations.AddField(
            model_name="historicalperson",
            name="weight_kg",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="historicalshare",
            name="leased_from",
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
            model_name="historicalshare",
            name="managing",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="historicalyard",
            name="feed_times",
            field=models.JSONField(default=list),
        ),
        migrations.AddField(
            model_name="horse",
            name="colour",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="horse",
            name="foaled_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="horse",
            name="gelded_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="horse",
            name="life_number",
            field=models.CharField(blank=True, max_length=15),
        ),
        migrations.AddField(
            model_name="horse",
            name="markings",
            field=models.CharField(blank=True, max_length=400),
        ),
        migrations.AddField(
            model_name="horse",
            name="microchip",
            field=models.CharField(blank=True, max_length=15),
        ),
        migrations.AddField(
            model_name="horse",
            name="named",
            field=models.BooleanField(default=True),
        ),
        migrations.AddField(
            model_name="horse",
            name="passport",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="person",
            name="born",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="person",
            name="claim_lb",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="person",
            name="minimum_lb",
            field=models.PositiveSmallIntegerField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="person",
            name="skill",
            field=models.PositiveSmallIntegerField(
                choices=[(0, "not said"), (1, "learning"), (2, "quiet horses"), (3, "most horses"), (4, "any horse")],
                default=0,
            ),
        ),
        migrations.AddField(
            model_name="person",
            name="weight_kg",
            field=models.FloatField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="share",
            name="leased_from",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="leases_out",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddField(
            model_name="share",
            name="managing",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="yard",
            name="feed_times",
            field=models.JSONField(default=list),
        ),
        migrations.AlterField(
            model_name="entry",
            name="happened_at",
            field=models.DateTimeField(db_index=True),
        ),
        migrations.AlterField(
            model_name="historicalshare",
            name="kind",
            field=models.CharField(
                choices=[
                    ("sole", "sole owner"),
                    ("partnership", "partnership"),
                    ("syndicate", "syndicate"),
                    ("lease", "lease"),
                    ("club", "club"),
                ],
                default="sole",
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="historicalyard",
            name="format_version",
            field=models.PositiveIntegerField(default=3),
        ),
        migrations.AlterField(
            model_name="share",
            name="kind",
            field=models.CharField(
                choices=[
                    ("sole", "sole owner"),
                    ("partnership", "partnership"),
                    ("syndicate", "syndicate"),
                    ("lease", "lease"),
                    ("club", "club"),
                ],
                default="sole",
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="yard",
            name="format_version",
            field=models.PositiveIntegerField(default=3),
        ),
        migrations.CreateModel(
            name="Bond",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "kind",
                    models.CharField(
                        choices=[("retainer", "retained by an owner"), ("suspension", "suspended")], max_length=10
                    ),
                ),
                ("country", models.CharField(blank=True, max_length=10)),
                ("first_day", models.DateField()),
                ("last_day", models.DateField(blank=True, null=True)),
                (
                    "owner",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="retains",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="bonds", to=settings.AUTH_USER_MODEL
                    ),
                ),
            ],
            options={
                "ordering": ("first_day", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Box",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("barn", models.CharField(max_length=60)),
                ("name", models.CharField(blank=True, max_length=20)),
                ("position", models.PositiveIntegerField(default=0)),
                ("isolation", models.BooleanField(default=False)),
            ],
            options={
                "ordering": ("position", "barn", "name"),
                "constraints": [
                    models.UniqueConstraint(fields=("barn", "name"), name="box_once_in_a_barn"),
                    models.CheckConstraint(condition=models.Q(("barn", ""), _negated=True), name="box_is_in_a_barn"),
                ],
            },
        ),
        migrations.CreateModel(
            name="Caution",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "about",
                    models.CharField(
                        choices=[
                            ("box", "in the box"),
                            ("riding", "ridden"),
                            ("shoeing", "at shoeing"),
                            ("travel", "travelling"),
                            ("medicine", "medicines"),
                            ("feed", "feed"),
                        ],
                        max_length=10,
                    ),
                ),
                ("text", models.CharField(max_length=200)),
                ("skill", models.PositiveSmallIntegerField(default=0)),
                ("first_day", models.DateField()),
                ("last_day", models.DateField(blank=True, null=True)),
                (
                    "horse",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="cautions", to="books.horse"
                    ),
                ),
            ],
            options={
                "ordering": ("horse", "about", "pk"),
            },
        ),
        migrations.CreateModel(
            name="DayOff",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("first_day", models.DateField()),
                ("last_day", models.DateField()),
                (
                    "why",
                    models.CharField(
                        choices=[
                            ("day_off", "day off"),
                            ("holiday", "holiday"),
                            ("sick", "off sick"),
                            ("course", "on a course"),
                        ],
                        max_length=8,
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="days_off",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ("first_day", "person", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Declarable",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("gelded", "gelded"),
                            ("wind_operation", "wind operation"),
                            ("blinkers", "blinkers first time"),
                            ("visor", "visor first time"),
                            ("cheekpieces", "cheekpieces first time"),
                            ("hood", "hood first time"),
                            ("eye_shield", "eye shield first time"),
                            ("eye_cover", "eye cover first time"),
                            ("tongue_strap", "tongue strap first time"),
                        ],
                        max_length=20,
                    ),
                ),
                ("happened_on", models.DateField()),
                ("declared_on", models.DateField(blank=True, null=True)),
                (
                    "horse",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="declarables", to="books.horse"
                    ),
                ),
            ],
            options={
                "ordering": ("horse", "happened_on", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Engagement",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("race", models.CharField(max_length=120)),
                ("course", models.CharField(max_length=60)),
                ("country", models.CharField(blank=True, max_length=10)),
                ("zone", models.CharField(max_length=60)),
                ("day", models.DateField()),
                ("off_at", models.DateTimeField(blank=True, null=True)),
                ("distance_m", models.PositiveIntegerField(blank=True, null=True)),
                ("enter_by", models.DateTimeField(blank=True, null=True)),
                ("confirm_by", models.DateTimeField(blank=True, null=True)),
                ("declare_by", models.DateTimeField(blank=True, null=True)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("meant", "meant for it"),
                            ("entered", "entered"),
                            ("confirmed", "confirmed"),
                            ("declared", "declared"),
                            ("withdrawn", "withdrawn"),
                        ],
                        default="meant",
                        max_length=10,
                    ),
                ),
                (
                    "horse",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="engagements", to="books.horse"
                    ),
                ),
            ],
            options={
                "ordering": ("day", "off_at", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Feed",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=60, unique=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[("forage", "forage"), ("concentrate", "concentrate"), ("supplement", "supplement")],
                        max_length=12,
                    ),
                ),
                ("energy_mj_kg", models.FloatField()),
                ("dry_matter", models.FloatField()),
                ("starch", models.FloatField(blank=True, null=True)),
                ("protein", models.FloatField(blank=True, null=True)),
                ("used", models.BooleanField(default=True)),
            ],
            options={
                "ordering": ("kind", "name"),
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("name", ""), _negated=True), name="feed_is_named"),
                    models.CheckConstraint(
                        condition=models.Q(("energy_mj_kg__gte", 0), ("energy_mj_kg__lte", 40)),
                        name="feed_energy_can_be",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("dry_matter__gt", 0), ("dry_matter__lte", 1)),
                        name="feed_dry_matter_is_a_share",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="FeedBatch",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.CharField(blank=True, max_length=60)),
                ("delivered_on", models.DateField()),
                ("kg", models.FloatField()),
                ("opened_on", models.DateField(blank=True, null=True)),
                ("finished_on", models.DateField(blank=True, null=True)),
                (
                    "feed",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="batches", to="books.feed"
                    ),
                ),
            ],
            options={
                "ordering": ("feed", "delivered_on", "pk"),
            },
        ),
        migrations.CreateModel(
            name="Gallop",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=60, unique=True)),
                (
                    "surface",
                    models.CharField(
                        choices=[
                            ("turf", "turf"),
                            ("synthetic", "synthetic"),
                            ("woodchip", "woodchip"),
                            ("sand", "sand"),
                            ("other", "other"),
                        ],
                        max_length=10,
                    ),
                ),
                ("length_m", models.PositiveIntegerField(blank=True, null=True)),
                ("rise_m", models.IntegerField(blank=True, null=True)),
                ("used", models.BooleanField(default=True)),
            ],
            options={
                "ordering": ("name",),
                "constraints": [
                    models.CheckConstraint(condition=models.Q(("name", ""), _negated=True), name="gallop_is_named")
                ],
            },
        ),
        migrations.AddField(
            model_name="entry",
            name="gallop",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="entries",
                to="books.gallop",
            ),
        ),
        migrations.AddIndex(
            model_name="entry",
            index=models.Index(fields=["horse", "kind", "happened_at"], name="entry_by_horse_and_kind"),
        ),
        migrations.AddField(
            model_name="historicalbond",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalbond",
            name="owner",
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
            model_name="historicalbond",
            name="person",
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
            model_name="historicalbox",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalcaution",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalcaution",
            name="horse",
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
            model_name="historicaldayoff",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicaldayoff",
            name="person",
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
            model_name="historicaldeclarable",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicaldeclarable",
            name="horse",
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
            model_name="historicalengagement",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalengagement",
            name="horse",
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
            model_name="historicalfeed",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalfeedbatch",
            name="feed",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="books.feed",
            ),
        ),
        migrations.AddField(
            model_name="historicalfeedbatch",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalgallop",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalintake",
            name="by",
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
            model_name="historicalintake",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalmove",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalmove",
            name="horse",
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
            model_name="historicalofficialmark",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalofficialmark",
            name="horse",
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
            model_name="historicalration",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalration",
            name="horse",
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
            model_name="historicalshift",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalshift",
            name="person",
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
            model_name="historicalstand",
            name="box",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="books.box",
            ),
        ),
        migrations.AddField(
            model_name="historicalstand",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="historicalstand",
            name="horse",
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
            model_name="historicalthing",
            name="history_user",
            field=models.ForeignKey(
                null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="intake",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="intakes", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="move",
            name="horse",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="moves", to="books.horse"
            ),
        ),
        migrations.AddField(
            model_name="officialmark",
            name="horse",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="marks", to="books.horse"
            ),
        ),
        migrations.AddField(
            model_name="ration",
            name="horse",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="rations", to="books.horse"
            ),
        ),
        migrations.AddField(
            model_name="shift",
            name="person",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="shifts", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="stand",
            name="box",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="stands",
                to="books.box",
            ),
        ),
        migrations.AddField(
            model_name="stand",
            name="horse",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="stands", to="books.horse"
            ),
        ),
        migrations.AddField(
            model_name="taken",
            name="entry",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="+", to="books.entry"
            ),
        ),
        migrations.AddField(
            model_name="taken",
            name="horse",
            field=models.ForeignKey(
                blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name="+", to="books.horse"
            ),
        ),
        migrations.AddField(
            model_name="taken",
            name="intake",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.CASCADE, related_name="rows", to="books.intake"
            ),
        ),
        migrations.AddConstraint(
            model_name="thing",
            constraint=models.UniqueConstraint(fields=("kind", "name"), name="thing_once_a_kind"),
        ),
        migrations.AddConstraint(
            model_name="thing",
            constraint=models.CheckConstraint(condition=models.Q(("name", ""), _negated=True), name="thing_is_named"),
        ),
        migrations.AddConstraint(
            model_name="bond",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind", "suspension"), ("owner__isnull", False), _connector="OR"),
                name="bond_retains_for_somebody",
            ),
        ),
        migrations.AddConstraint(
            model_name="caution",
            constraint=models.CheckConstraint(
                condition=models.Q(("text", ""), _negated=True), name="caution_says_something"
            ),
        ),
        migrations.AddConstraint(
            model_name="caution",
            constraint=models.CheckConstraint(
                condition=models.Q(("skill__lte", 4)), name="caution_asks_for_a_known_skill"
            ),
        ),
        migrations.AddConstraint(
            model_name="dayoff",
            constraint=models.CheckConstraint(
                condition=models.Q(("last_day__gte", models.F("first_day"))), name="day_off_ends_after_it_begins"
            ),
        ),
        migrations.AddConstraint(
            model_name="declarable",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("declared_on__isnull", True), ("declared_on__gte", models.F("happened_on")), _connector="OR"
                ),
                name="declarable_is_declared_after_it_happened",
            ),
        ),
        migrations.AddIndex(
            model_name="engagement",
            index=models.Index(fields=["day"], name="engagement_by_day"),
        ),
        migrations.AddConstraint(
            model_name="engagement",
            constraint=models.UniqueConstraint(
                fields=("horse", "race", "course", "day"), name="engagement_once_a_race"
            ),
        ),
        migrations.AddConstraint(
            model_name="engagement",
            constraint=models.CheckConstraint(
                condition=models.Q(("state__in", ("meant", "entered", "confirmed", "declared", "withdrawn"))),
                name="engagement_is_in_a_known_state",
            ),
        ),
        migrations.AddConstraint(
            model_name="feedbatch",
            constraint=models.CheckConstraint(condition=models.Q(("kg__gt", 0)), name="feed_batch_weighs_something"),
        ),
        migrations.AddConstraint(
            model_name="move",
            constraint=models.UniqueConstraint(fields=("horse", "first_day"), name="move_once_a_day"),
        ),
        migrations.AddConstraint(
            model_name="move",
            constraint=models.CheckConstraint(
                condition=models.Q(("to__in", ("training", "turned_out", "pre_training", "hospital", "away"))),
                name="move_is_to_a_known_place",
            ),
        ),
        migrations.AddConstraint(
            model_name="officialmark",
            constraint=models.UniqueConstraint(
                fields=("horse", "ground", "country", "effective"), name="mark_once_a_day"
            ),
        ),
        migrations.AddConstraint(
            model_name="officialmark",
            constraint=models.CheckConstraint(condition=models.Q(("value__lte", 200)), name="mark_is_no_more_than_200"),
        ),
        migrations.AddConstraint(
            model_name="officialmark",
            constraint=models.CheckConstraint(
                condition=models.Q(("ground__in", ("turf", "synthetic", "dirt"))), name="mark_is_for_a_known_ground"
            ),
        ),
        migrations.AddConstraint(
            model_name="ration",
            constraint=models.UniqueConstraint(fields=("horse", "first_day"), name="ration_once_a_day"),
        ),
        migrations.AddConstraint(
            model_name="shift",
            constraint=models.CheckConstraint(
                condition=models.Q(("weekday__lte", 6)), name="shift_is_on_a_day_of_the_week"
            ),
        ),
        migrations.AddConstraint(
            model_name="shift",
            constraint=models.CheckConstraint(
                condition=models.Q(("ends__gt", models.F("starts"))), name="shift_ends_after_it_starts"
            ),
        ),
        migrations.AddConstraint(
            model_name="stand",
            constraint=models.UniqueConstraint(fields=("horse", "first_day"), name="stand_once_a_day"),
        ),
        migrations.AddConstraint(
            model_name="taken",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("entry__isnull", False), ("horse__isnull", True)),
                    models.Q(("entry__isnull", True), ("horse__isnull", False)),
                    _connector="OR",
                ),
                name="taken_is_one_thing",
            ),
        ),
    ]
