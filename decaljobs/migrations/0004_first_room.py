"""The room that everything dries in until the owner says otherwise."""

from django.db import migrations


def begin(apps, schema_editor):
    room = apps.get_model("decaljobs", "Room").objects.create(name="Workshop", is_default=True)
    for log in ("StageEvent", "SheetEvent"):
        apps.get_model("decaljobs", log).objects.update(room=room)
    for name, begun in (("Decal", "stage_at"), ("Sheet", "worked_at")):
        records = apps.get_model("decaljobs", name).objects.exclude(**{begun: None})
        for record in records.only("pk", begun).iterator():
            record.stays = [[getattr(record, begun).isoformat(), room.pk]]
            record.save(update_fields=["stays"])


def end(apps, schema_editor):
    for name in ("StageEvent", "SheetEvent", "Decal", "Sheet"):
        apps.get_model("decaljobs", name).objects.update(room=None)
    apps.get_model("decaljobs", "Reading").objects.all().delete()
    apps.get_model("decaljobs", "Room").objects.all().delete()


class Migration(migrations.Migration):
    dependencies = [("decaljobs", "0003_rooms")]
    operations = [migrations.RunPython(begin, end)]
