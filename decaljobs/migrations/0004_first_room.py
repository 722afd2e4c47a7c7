"""The room that everything dries in until the owner says otherwise."""

from django.db import migrations


def rows(apps, schema_editor, name):
    """The rows of one kind in the database that is being changed."""
    return apps.get_model("decaljobs", name).objects.using(schema_editor.connection.alias)


def begin(apps, schema_editor):
    room = rows(apps, schema_editor, "Room").create(name="Workshop", is_default=True)
    for log in ("StageEvent", "SheetEvent"):
        rows(apps, schema_editor, log).update(room=room)
    for name, begun in (("Decal", "stage_at"), ("Sheet", "worked_at")):
        records = rows(apps, schema_editor, name).exclude(**{begun: None})
        for record in records.only("pk", begun).iterator():
            record.stays = [[getattr(record, begun).isoformat(), room.pk]]
            record.save(update_fields=["stays"])


def end(apps, schema_editor):
    for name in ("StageEvent", "SheetEvent", "Decal", "Sheet"):
        rows(apps, schema_editor, name).update(room=None)
    rows(apps, schema_editor, "Reading").all().delete()
    rows(apps, schema_editor, "Room").all().delete()


class Migration(migrations.Migration):
    dependencies = [("decaljobs", "0003_rooms")]
    operations = [migrations.RunPython(begin, end)]
