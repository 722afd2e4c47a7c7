import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models
from django.db.models import Case, Q, Value, When


def turned_to_degrees(apps, schema_editor):
    """A piece that lay turned lay a quarter anticlockwise."""
    turn = Case(When(turned=True, then=Value(90)), default=Value(0))
    pieces = apps.get_model("decaljobs", "Piece").objects.using(schema_editor.connection.alias)
    pieces.filter(turned__isnull=False).update(degrees=turn)


def degrees_to_turned(apps, schema_editor):
    """Half turns are forgotten."""
    turned = Case(When(degrees__in=(90, 270), then=Value(True)), default=Value(False))
    pieces = apps.get_model("decaljobs", "Piece").objects.using(schema_editor.connection.alias)
    pieces.filter(degrees__isnull=False).update(turned=turned)


PLACE = {"height_mm__gt": 0, "width_mm__gt": 0, "x_mm__gte": 0, "y_mm__gte": 0}
NOWHERE = {f"{field}__isnull": True for field in ("height_mm", "width_mm", "x_mm", "y_mm")}


class Migration(migrations.Migration):
    dependencies = [
        ("decaljobs", "0010_photos_and_panels"),
    ]

    operations = [
        migrations.CreateModel(
            name="LayoutSearch",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("better", "a better layout"),
                            ("squeeze", "a squeeze by outline"),
                        ],
                        max_length=7,
                    ),
                ),
                ("key", models.CharField(max_length=64)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("running", "under way"),
                            ("done", "done"),
                            ("failed", "broken off"),
                        ],
                        default="running",
                        max_length=7,
                    ),
                ),
                ("asked", models.JSONField()),
                ("seconds", models.FloatField()),
                ("share", models.FloatField(default=0)),
                ("stop_asked", models.BooleanField(default=False)),
                ("begun_at", models.DateTimeField()),
                ("beat_at", models.DateTimeField()),
                ("found", models.JSONField(null=True)),
                ("problem", models.CharField(blank=True, max_length=300)),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("kind", "key"), name="searched_once_for_a_layout"
                    ),
                    models.CheckConstraint(
                        condition=Q(kind__in=["better", "squeeze"]), name="search_kind_is_known"
                    ),
                    models.CheckConstraint(
                        condition=Q(state__in=["running", "done", "failed"]),
                        name="search_state_is_known",
                    ),
                    models.CheckConstraint(
                        condition=Q(share__gte=0, share__lte=1), name="search_share_in_range"
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="piece",
            name="degrees",
            field=models.PositiveSmallIntegerField(editable=False, null=True),
        ),
        migrations.AddField(
            model_name="piece",
            name="outline",
            field=models.JSONField(editable=False, null=True),
        ),
        # On the way back the turns are known before the constraint asks for them.
        migrations.RemoveConstraint(model_name="piece", name="piece_place_is_whole_or_none"),
        migrations.RunPython(turned_to_degrees, degrees_to_turned, elidable=True),
        migrations.RemoveField(model_name="piece", name="turned"),
        migrations.AddConstraint(
            model_name="piece",
            constraint=models.CheckConstraint(
                condition=Q(**NOWHERE, degrees__isnull=True)
                | Q(**PLACE, degrees__in=(0, 90, 180, 270)),
                name="piece_place_is_whole_or_none",
            ),
        ),
    ]
