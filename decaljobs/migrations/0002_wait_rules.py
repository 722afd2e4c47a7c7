"""The waits of the trade as the owner finds them: every figure can be changed."""

from django.db import migrations

COMMON = "common practice, no source"
FROM_MEMORY = "common practice, from memory"

# kind, clock, reference hours at 20 °C and 50 % RH, floor hours, source
RULES = [
    ("printed_inkjet", "water", 12, 0.5, COMMON),
    ("printed_laser", "solvent", 0.25, 0.1, COMMON),
    ("coat_water", "water", 0.5, 0.25, COMMON),
    ("coat_solvent", "solvent", 0.5, 0.25, COMMON),
    ("last_coat_inkjet_water", "water", 24, 4, COMMON),
    ("last_coat_inkjet_solvent", "solvent", 24, 4, COMMON),
    ("last_coat_laser_water", "water", 4, 1, COMMON),
    ("last_coat_laser_solvent", "solvent", 4, 1, COMMON),
    ("base_cured", "water_under_film", 12, 8, COMMON),
    ("layer_set", "water_under_film", 12, 8, COMMON),
    ("set_overcoat", "water", 24, 12, FROM_MEMORY),
    ("overcoat_handled", "water", 24, 12, FROM_MEMORY),
    ("overcoat_masked", "water", 48, 24, FROM_MEMORY),
]


def seed(apps, schema_editor):
    rule = apps.get_model("decaljobs", "WaitRule")
    rule.objects.using(schema_editor.connection.alias).bulk_create(
        rule(kind=kind, clock=clock, reference_hours=hours, floor_hours=floor, source=source)
        for kind, clock, hours, floor, source in RULES
    )


def empty(apps, schema_editor):
    rules = apps.get_model("decaljobs", "WaitRule").objects
    rules.using(schema_editor.connection.alias).all().delete()


class Migration(migrations.Migration):
    dependencies = [("decaljobs", "0001_initial")]
    operations = [migrations.RunPython(seed, empty)]
